"""The equations as expressions of the Vega language, printed from sympy and never retyped."""

from __future__ import annotations

from functools import cache

import sympy as sp
from sympy.printing.jscode import JavascriptCodePrinter

from paddlebal.units import STANDARD_GRAVITY

G = repr(STANDARD_GRAVITY)
"""m/s²."""


class VegaPrinter(JavascriptCodePrinter):
    """Sympy's printer of JavaScript, in the names that Vega's expressions use.

    Parameters
    ----------
    words : dict of sympy.Symbol to str
        The Vega expression that stands for each symbol.
    """

    def __init__(self, words):
        functions = {name: name for name in ("sin", "cos", "tan", "asin", "acos", "atan", "abs")}
        names = {"Abs": "abs", "log": "log", "exp": "exp", "Max": "max", "Min": "min"}
        super().__init__({"user_functions": functions | names | {"atan2": "atan2"}})
        self._words = words

    def _print_Symbol(self, expr):
        words = self._words[expr]
        return words if words.isidentifier() else f"({words})"

    def _print_Pow(self, expr):
        base, power = (self._print(part) for part in (expr.base, expr.exp))
        if expr.exp == sp.Rational(1, 2):
            return f"sqrt({base})"
        return f"pow({base}, {power})"

    def _print_Pi(self, expr):
        return "PI"


@cache
def _equation(name):
    import paddlebal.equations as equations

    arguments, expression = getattr(equations, name)()
    several = isinstance(expression, tuple)
    return arguments, expression if several else (expression,), several


def vega(name, *words):
    """An equation of `paddlebal.equations` as a Vega expression.

    Parameters
    ----------
    name : str
        Of the equation's function.
    *words : str
        The Vega expression of each argument, in the equation's order.

    Returns
    -------
    str or tuple of str
        A tuple where the equation has several parts.
    """
    arguments, parts, several = _equation(name)
    printer = VegaPrinter(dict(zip(arguments, words, strict=True)))
    printed = tuple(printer.doprint(part) for part in parts)
    return printed if several else printed[0]


def steps(name, prefix, made, *words):
    """An equation with several parts as named expressions that build on each other.

    What parts have in common is computed once, under names that begin with `prefix`.

    Parameters
    ----------
    name : str
        Of the equation's function.
    prefix : str
    made : sequence of str
        The name of each part.
    *words : str
        The Vega expression of each argument, in the equation's order.

    Returns
    -------
    dict of str to str
    """
    arguments, parts, _ = _equation(name)
    common, rest = sp.cse(parts, sp.numbered_symbols(f"{prefix}_"))
    shared = {symbol: symbol.name for symbol, _ in common}
    printer = VegaPrinter(dict(zip(arguments, words, strict=True)) | shared)
    found = {symbol.name: printer.doprint(part) for symbol, part in common}
    return found | {each: printer.doprint(part) for each, part in zip(made, rest, strict=True)}


def half_turn(degrees):
    """An angle [deg], an expression, brought within half a turn either way."""
    return f"(({degrees}) - 360 * round(({degrees}) / 360))"


def turned(y: str, z: str, angle: str) -> tuple[str, str]:
    """Expressions of a point (y, z) across the shaft, turned by an angle [rad]."""
    return (
        f"({y}) * cos({angle}) - ({z}) * sin({angle})",
        f"({y}) * sin({angle}) + ({z}) * cos({angle})",
    )
