"""Numeric numpy functions generated from the symbolic equations, once each."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any


@cache
def numeric(name: str) -> Callable[..., Any]:
    """Vectorised numpy function of the equation `name` in `paddlebal.equations`.

    Its arguments stand in the order of the equation's own `arguments`; all broadcast.

    Parameters
    ----------
    name : str
        Of a function in `paddlebal.equations` that returns an Equation.

    Returns
    -------
    callable
    """
    import sympy

    import paddlebal.equations as equations

    equation = getattr(equations, name)()
    return sympy.lambdify(equation.arguments, equation.expression, modules="numpy", cse=True)
