"""The one exception that input can raise: a sentence a reader can act on."""

from __future__ import annotations

import re
from pathlib import Path


class InputError(ValueError):
    """Input that cannot be used, told in one sentence.

    Parameters
    ----------
    problem : str
        What is wrong and what was expected, without a full stop.
    file, row, field : optional
        Where it is wrong. `row` counts lines of the file from 1.
    """

    def __init__(
        self,
        problem: str,
        *,
        file: str | Path | None = None,
        row: int | None = None,
        field: str | None = None,
    ) -> None:
        place = [
            str(file) if file is not None else None,
            f"row {row}" if row is not None else None,
            f"field '{_short(field)}'" if field is not None else None,
        ]
        where = ", ".join(part for part in place if part)
        told = f"{where}: {problem}." if where else f"{problem[:1].upper()}{problem[1:]}."
        super().__init__(_on_one_line(told))
        self.problem = problem
        self.file = file
        self.row = row
        self.field = field


def refuse(error):
    """What a reader does with the first thing wrong: it raises that InputError."""
    raise error


def shown(value):
    """A value of a file as a sentence shows it, not at full length if it is long."""
    try:
        text = value.isoformat() if hasattr(value, "isoformat") else repr(value)
    except ValueError:  # Python refuses to write out a whole number of thousands of digits
        text = "a number of thousands of digits"
    return _short(text)


def _short(text):
    return text if len(text) <= 60 else f"{text[:50]}... ({len(text)} characters)"


def _on_one_line(text):
    """The text with line breaks and other characters that cannot be shown written as escapes."""
    return re.sub(r"[^ -~]", lambda found: _escaped(found[0]), text)


def _escaped(character):
    return character if character.isprintable() else ascii(character)[1:-1]
