"""Published figures: tables in data/published, each row with its source."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from functools import cache
from typing import Any

from paddlebal.errors import InputError
from paddlebal.files.text import data_path

SOURCE = ("authors", "year", "title", "place", "how_read")
"""Columns that every table has: who, when, what, where in it, and how the figure was read."""


def table(path, filled, numbers=()):
    """Rows of a CSV file whose columns `filled` are never empty.

    Parameters
    ----------
    path : Path
    filled : sequence of str
        Columns that every row fills.
    numbers : sequence of str
        Columns to read as numbers; all others stay text.

    Returns
    -------
    list of dict
        Column name to value.

    Raises
    ------
    InputError
        If the file is missing or cannot be read, a row is not complete or a number is none.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError("this table cannot be read", file=path) from error
    reader = csv.DictReader(text.splitlines())
    rows = []
    for row in reader:
        if None in row:
            problem = "has more fields than there are columns (is a comma without quotes?)"
            raise InputError(problem, file=path, row=reader.line_num)
        for field in (*filled, *numbers):
            if not row.get(field):
                raise InputError("is empty", file=path, row=reader.line_num, field=field)
        for field in numbers:
            try:
                row[field] = float(row[field])
            except ValueError as error:
                problem = f"expected a number, found '{row[field]}'"
                raise InputError(problem, file=path, row=reader.line_num, field=field) from error
        rows.append(row)
    return rows


def published_rows(name: str, numbers: Sequence[str] = ()) -> list[dict[str, Any]]:
    """Rows of the table data/published/<name>.csv, whose SOURCE columns are filled; see `table`.

    Parameters
    ----------
    name : str
        Of the table.
    numbers : sequence of str
        Columns that hold numbers.

    Returns
    -------
    list of dict
        Values are text, in the columns of `numbers` floats.
    """
    return [dict(row) for row in _kept(name, tuple(numbers))]


@cache
def _kept(name: str, numbers: tuple[str, ...]) -> list[dict[str, Any]]:
    """The rows, read once: panels ask for them at each move of a slider."""
    return table(data_path("published", f"{name}.csv"), SOURCE, numbers)
