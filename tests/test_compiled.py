"""Numeric functions say what the symbolic equations say."""

import inspect

import numpy as np
import pytest
from sympy import IndexedBase, flatten, sympify

from paddlebal import equations
from paddlebal.compiled import numeric


def names():
    """The functions of `equations` that return an Equation without being given anything."""
    for name, function in inspect.getmembers(equations, inspect.isroutine):
        own = function.__module__ == equations.__name__ and not name.startswith("_")
        if own and not inspect.signature(function).parameters:
            yield name


def of_numbers(equation):
    """Whether it is an Equation whose arguments are all numbers; `test_motion` has the other."""
    found = isinstance(equation, equations.Equation)
    return found and not any(isinstance(a, IndexedBase) for a in equation.arguments)


EQUATIONS = [name for name in names() if of_numbers(getattr(equations, name)())]


@pytest.mark.parametrize("name", EQUATIONS)
def test_numeric_function_agrees_with_exact_evaluation(name):
    equation = getattr(equations, name)()
    values = np.random.default_rng(1).uniform(0.2, 1.2, len(equation.arguments))
    exact = dict(zip(equation.arguments, map(float, values), strict=True))
    parts = map(sympify, flatten([equation.expression]))
    expected = [float(part.evalf(30, subs=exact)) for part in parts]
    computed = np.array(flatten([numeric(name)(*values)]), dtype=float)
    assert computed == pytest.approx(expected, rel=1e-12, abs=1e-13)


def test_functions_are_generated_once():
    assert numeric("roll_torque") is numeric("roll_torque")


def test_arguments_broadcast():
    torque = numeric("roll_torque")(np.ones(3), 0.0, np.zeros((4, 1)), 0.0, 10.0)
    assert torque.shape == (4, 3)
    assert torque == pytest.approx(-10.0 * np.ones((4, 3)))
