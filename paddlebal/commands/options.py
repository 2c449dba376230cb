"""Options that take numbers, as tables of (name, default, what it is)."""

import argparse
from collections.abc import Iterable


def add_numbers(
    command: argparse.ArgumentParser, numbers: Iterable[tuple[str, float | None, str]]
) -> None:
    """Add options that take a number; their help tells the default.

    Parameters
    ----------
    command : argparse.ArgumentParser
    numbers : iterable of (str, float or None, str)
        Name, default and what it is; None for no default.
    """
    for name, default, words in numbers:
        told = words if default is None else f"{words} ({default:g})"
        command.add_argument(f"--{name}", type=float, default=default, metavar="X", help=told)
