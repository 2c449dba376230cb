"""Text files read as UTF-8, and where the data lies."""

from __future__ import annotations

import os
from pathlib import Path

from paddlebal.errors import InputError

_PACKED = Path(__file__).resolve().parents[1] / "data"
"""Where a wheel carries the data; in the project's own tree it lies beside the package."""


def data_path(*parts: str) -> Path:
    """Path of a file or folder in the project's data folder, e.g. ("published", "x.csv").

    Parameters
    ----------
    *parts : str
        Folder and file names.

    Returns
    -------
    Path
    """
    return (_PACKED if _PACKED.is_dir() else _PACKED.parents[1] / "data").joinpath(*parts)


def data_files(folder, *endings):
    """Paths of the plain files in a folder with these endings, such as ".csv", sorted.

    Hidden files and links are left out; InputError if the folder cannot be read.
    """
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        raise InputError(f"cannot be listed ({error.strerror})", file=folder) from error
    return [
        Path(entry.path)
        for entry in entries
        if entry.name.lower().endswith(endings)
        and not entry.name.startswith(".")
        and entry.is_file(follow_symlinks=False)
    ]


def read_bytes(path):
    """The bytes of a file; InputError if it cannot be read."""
    try:
        return Path(path).read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        problem = f"cannot be read ({getattr(error, 'strerror', error)})"
        raise InputError(problem, file=path) from error


def read_text(path, expected):
    """The text of a file that should be `expected`, such as "a CSV file"; see `decode`."""
    return decode(read_bytes(path), expected, path)


def plain_cell(text):
    """A text for a table's cell, such that no spreadsheet takes it for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def decode(content, expected, file=None):
    """The text in a file's bytes, without byte order mark, its lines ended by line feeds.

    Raises InputError if it is not UTF-8, or if it ends with a number and no line break: what
    was cut short within its last number reads like a whole file with another number.
    """
    try:
        text = content.decode("utf-8-sig")
        bad = content.find(b"\0")  # UTF-16 without its mark can pass for UTF-8
    except UnicodeDecodeError as error:
        bad = error.start
    if bad >= 0:
        row = content.count(b"\n", 0, bad) + 1
        raise InputError(f"is not UTF-8 text, expected {expected}", file=file, row=row)
    return whole(text, file)


def whole(text, file=None):
    """A text with its lines ended by line feeds; InputError if it was cut short, see `decode`."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if text.endswith(tuple("0123456789.")):
        problem = "ends with a number and no line break, expected one (was the file cut short?)"
        raise InputError(problem, file=file, row=text.count("\n") + 1)
    return text
