"""Tables of readings: a TOML head in lines that start with '#', then columns with units.

Any unit of the right kind may be used. A pull in a unit of mass is what a scale shows that is
marked in grams: that mass times standard gravity.
"""

import csv
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from paddlebal.errors import InputError, refuse, shown
from paddlebal.files.quantities import could_be_thousands
from paddlebal.files.si import si_factor
from paddlebal.files.text import read_text
from paddlebal.files.toml import Table, parse_toml


def open_table(path):
    """Header and table of a file of this form; see `parse_table`."""
    return parse_table(read_text(path, "a CSV file"), Path(path))


def parse_table(text, file=None, tell=refuse):
    """Header and table of a text of this form.

    Returns the header, read key by key, and read(columns, rows=False): {name: ndarray (n,)} in
    SI for a sequence of `Column`, if wanted with the number of each 'row' in the file. Both
    tell an InputError with the place of what is wrong.
    """
    if not text.strip():
        raise InputError("is empty, expected a bench file", file=file)
    lines = text.split("\n")
    head = next(
        (i for i, line in enumerate(lines) if line.strip()[:1] not in ("", "#")), len(lines)
    )
    stated = "\n".join(line.strip()[1:] for line in lines[:head])
    stated = parse_toml(stated, file, "the lines starting with '#' are")
    header = Table(file, "", stated, tell)

    def read(columns, rows=False):
        values, numbers = _read_columns(file, lines, head, columns, tell)
        return values | {"row": numbers} if rows else values

    return header, read


def growing():
    """A check that a column's values grow, for `Column`; it follows them from batch to batch."""
    last = -np.inf

    def later(values):
        nonlocal last
        steps = np.diff(values, prepend=last)
        last = values[-1] if len(values) else last
        return ~(steps <= 0)  # what follows a cell that is no number is not to blame

    return later


@dataclass(frozen=True)
class Column:
    """A column: SI unit ('' for a count), what a value must be, or the words allowed."""

    name: str
    unit: str = ""
    expected: str = "a finite number"
    holds: Callable[..., Any] = np.isfinite
    words: dict[str, float] | None = None
    optional: bool = False


def _rows(path, lines, head):
    """Row number and fields of each row that isn't blank, from line index `head` on."""
    names_line = lines[head] if head < len(lines) else ""
    separator = max(",;\t", key=names_line.count)
    reader = csv.reader(
        islice(lines, head, None), delimiter=separator, skipinitialspace=True, strict=True
    )
    commas = separator != "," and _decimal_commas(path, lines, head, separator)
    row = head + 1
    try:
        for fields in reader:
            if fields:
                yield row, [_with_point(field) for field in fields] if commas else fields
            row = head + reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"is not a complete CSV row ({error})", file=path, row=row) from error


_WITH_COMMA = re.compile(r"\s*[-+]?\d*,\d+\s*")


_WITH_POINT = re.compile(r"\s*[-+]?\d*\.\d+\s*")


def _decimal_commas(path, lines, head, separator):
    """Whether the numbers between other separators have decimal commas.

    InputError if all that have a comma may be thousands.
    """
    unsure = None
    sure = False
    for index, line in enumerate(islice(lines, head + 1, None), head + 2):
        if "," not in line and (sure or "." not in line):
            continue
        for field in line.split(separator):
            if _WITH_POINT.fullmatch(field):
                return False
            if could_be_thousands(field.strip().lstrip("+-")):
                unsure = unsure or (index, field.strip())
            elif _WITH_COMMA.fullmatch(field):
                sure = True
    if unsure and not sure:
        row, text = unsure
        problem = f"holds {text}, which can be read in two ways, expected a decimal point"
        raise InputError(problem, file=path, row=row)
    return sure


def _with_point(field):
    return field.replace(",", ".") if _WITH_COMMA.fullmatch(field) else field


def _read_columns(path, lines, head, columns, tell):
    """The columns of the table that starts at line index `head`, in SI: {name: (n,)}, and the
    number of each row (n,)."""
    rows = _rows(path, lines, head)
    row, names = next(rows, (None, ()))

    def complain(problem, field=None, row=row):
        tell(InputError(problem, file=path, row=row, field=field))

    places = _places(names, columns, complain)
    # Few at a time, so that the texts of a long file need not all be held.
    batches = iter(lambda: list(islice(rows, 300)), [])
    parts = [_batch_values(batch, len(names), places, complain) for batch in batches]
    if not parts:
        complain("has no readings, expected rows below the column names", row=None)
        parts = [[np.empty(0)] * (len(places) + 1)]
    *arrays, numbers = map(np.concatenate, zip(*parts, strict=True))
    return {c.name: array for (c, *_), array in zip(places, arrays, strict=True)}, numbers


def _batch_values(batch, count, places, complain):
    """The columns of some rows in SI: an array (n,) for each of `places`, and their numbers."""
    whole = []
    for row, fields in batch:
        if len(fields) == count:
            whole.append((row, fields))
        else:
            hint = "was it cut short" if len(fields) < count else "is there a decimal comma"
            complain(f"has {len(fields)} fields, expected {count} ({hint}?)", row=row)
    arrays = []
    for column, place, factor in places:
        if factor is None:
            arrays.append(np.full(len(whole), np.nan))
            continue
        values, bad = _values(column, [fields[place] for _, fields in whole], factor)
        for index, problem in bad:
            complain(problem, column.name, whole[index][0])
        arrays.append(values)
    return [*arrays, np.array([row for row, _ in whole], dtype=float)]


def _places(names, columns, complain):
    """Where each column stands and its factor to SI: [(column, place, factor)].

    The factor is None for a column that was complained of.
    """
    known = {column.name: column for column in columns}
    found: dict[str, tuple[Column, int | None, float | None]] = {}
    for place, title in enumerate(names):
        name, unit = _name_and_unit(title)
        if name not in known:
            complain(f"is not a known column, expected {', '.join(known)}", name)
        elif name in found:
            complain("stands twice, expected one such column", name)
        else:
            try:
                factor = _factor(known[name], unit)
            except InputError as error:
                factor = complain(error.problem, name)
            found[name] = (known[name], place, factor)
    for name, column in known.items():
        if name not in found and not column.optional:
            why = ": a force without its arm is no moment" if name == "arm" else ""
            complain(f"is missing, expected such a column{why}", name)
            found[name] = (column, None, None)
    return list(found.values())


def _name_and_unit(title):
    """The two parts of 'name [unit]'; the unit is None if there are no brackets."""
    name, bracket, unit = title.strip().partition("[")
    if not (bracket and unit.endswith("]")):
        return title.strip().lower(), None
    return name.strip().lower(), unit[:-1]


_UNIT_EXAMPLES = {
    "rad": "an angle such as [deg] or [rad]",
    "m": "a length such as [mm], [cm] or [in]",
    "N": "a force such as [N] or [kgf], or the mass a scale shows such as [g]",
    "kg": "a mass such as [g]",
    "s": "a time such as [s]",
    "1/s²": "[1/s²]",
    "rad/s": "a rate such as [deg/s] or [rad/s]",
    "m/s²": "a specific force such as [m/s²], or [g_0] for standard gravity",
    "kg·m²": "a moment of inertia such as [g·mm²]",
    "": "no unit",
}


def _factor(column, unit):
    """What a value in `unit` is multiplied by to be in the column's SI unit."""
    expected = f"expected {_UNIT_EXAMPLES[column.unit]}"
    if not column.unit:
        if unit:
            raise InputError(f"has the unit {_bracketed(unit)}, {expected}")
        return 1.0
    if not unit or not unit.strip():
        raise InputError(f"has no unit, {expected}")
    try:
        if re.search(r"[\d)]\s*(\*\*|\^)", unit):
            raise ValueError("a power of a number, which can take forever to work out")
        factor = si_factor(unit.strip(), column.unit)
    except Exception as problem:  # pint raises many kinds for a text that is no unit
        raise InputError(f"has the unknown unit {_bracketed(unit)}, {expected}") from problem
    if factor is None:
        raise InputError(f"has the unit {_bracketed(unit)}, {expected}")
    return factor


def _bracketed(unit):
    return f"[{shown(unit)[1:-1]}]"


def _values(column, cells, factor):
    """The cells of one column as SI numbers (n,), and what is wrong: [(index, problem)]."""
    if column.words:
        words = [cell.strip().lower() for cell in cells]
        values = np.array([column.words.get(word, np.nan) for word in words])
        expected = " or ".join(f"'{known}'" for known in column.words)
        bad = np.flatnonzero(np.isnan(values))
        return values, [(i, f"is {shown(cells[i].strip())}, expected {expected}") for i in bad]
    with np.errstate(over="ignore"):
        try:
            if "_" in "".join(cells):
                raise ValueError("to Python 1_0 is ten")
            values = np.array(cells, dtype=float) * factor
        except ValueError:
            values = np.array([_number(cell) for cell in cells]) * factor
    bad = np.flatnonzero(~(np.isfinite(values) & column.holds(values)))
    return values, [(i, _unfit(column, cells[i].strip())) for i in bad]


def _unfit(column, cell):
    """What is wrong with a cell that holds no number that the column allows."""
    if not cell:
        return "is blank, expected a number"
    expected = "a finite number" if math.isnan(_number(cell)) else column.expected
    point = " with a decimal point" if "," in cell else ""
    return f"is {shown(cell)}, expected {expected}{point}"


def _number(cell):
    try:
        return math.nan if "_" in cell else float(cell)
    except ValueError:
        return math.nan
