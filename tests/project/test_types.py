"""Every public function says what it takes and what it returns."""

import inspect
import re
from typing import get_type_hints

import pytest

import paddlebal

OPEN = {
    "published_rows": "cells are text, or numbers in the columns that are asked for",
    "glossary_symbols": "cells are text, or tuples of notebooks",
    "numeric": "each equation has arguments of its own",
    "Limits.for_paddle": "takes the fields of Limits by name",
}
"""Where a type is left open, and why."""


def public_functions():
    """(name, function) of each public function, and each public method of a public class."""
    for name in paddlebal.__all__:
        value = getattr(paddlebal, name)
        if inspect.isroutine(value):
            yield name, inspect.unwrap(value)
        elif inspect.isclass(value):
            for method, part in vars(value).items():
                part = part.fget if isinstance(part, property) else part
                part = getattr(part, "__func__", part)
                own = inspect.isfunction(part) and part.__module__ == value.__module__
                if own and (not method.startswith("_") or method == "__init__"):
                    yield f"{name}.{method}", part


FUNCTIONS = list(public_functions())


def open_hints(function):
    """What a function takes or returns whose type is left open."""
    bare = re.compile(r"\bAny\b|\bndarray\b|\b(list|dict|tuple|Callable|Sequence)\b(?!\[)")
    return {each for each, hint in function.__annotations__.items() if bare.search(str(hint))}


@pytest.mark.parametrize("name, function", FUNCTIONS, ids=[name for name, _ in FUNCTIONS])
def test_a_public_function_is_annotated(name, function):
    taken = {each for each in inspect.signature(function).parameters if each not in ("self", "cls")}
    assert taken | {"return"} == set(get_type_hints(function))
    if name not in OPEN:
        assert not open_hints(function)


@pytest.mark.parametrize("name", OPEN)
def test_a_type_is_open_only_where_a_reason_is_given(name):
    assert open_hints(dict(FUNCTIONS)[name])
