"""Options that take numbers, as tables of (name, default, what it is)."""

import argparse
from collections.abc import Iterable
from pathlib import Path

from paddlebal.errors import InputError


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


def refuse_existing(given: argparse.Namespace) -> None:
    """Refuse, before any work, to write over the file that --out names.

    Parameters
    ----------
    given : argparse.Namespace
        With `out` and `overwrite`.

    Raises
    ------
    InputError
        If the file is there and --overwrite is not given.
    """
    if given.out and Path(given.out).exists() and not given.overwrite:
        raise InputError("is there already, expected a new name or --overwrite", file=given.out)
