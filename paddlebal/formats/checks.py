"""Everything wrong with a data file, found by the readers themselves."""

from __future__ import annotations

from pathlib import Path, PurePath

from paddlebal.errors import InputError
from paddlebal.formats.bench import parse_bench
from paddlebal.formats.paddle import parse_paddle

_READERS = {"paddle": parse_paddle, "bench": parse_bench}


_KINDS = {".toml": "paddle", ".csv": "bench"}


def kind_of(name):
    """'paddle' or 'bench', by how the file's name ends; InputError for any other name."""
    kind = _KINDS.get(PurePath(name).suffix.lower())
    if kind is None:
        raise InputError(
            "expected a name that ends in .toml (a paddle) or .csv (a bench file)", file=name
        )
    return kind


def file_problems(text: str, kind: str, file: str | Path | None = None) -> list[InputError]:
    """Everything wrong with a file's text, from its first row to its last.

    Where one mistake makes the rest unreadable (broken TOML, an unknown method, an open
    quotation mark) the list ends there.

    Parameters
    ----------
    text : str
    kind : str
        'paddle' or 'bench'.
    file : str or Path, optional
        Name for the sentences.

    Returns
    -------
    list of InputError
        Empty if and only if the reader takes the text.
    """
    found: list[InputError] = []
    try:
        _READERS[kind](text, file, found.append)
    except InputError as error:
        found.append(error)
    return sorted(found, key=lambda error: error.row or 0)
