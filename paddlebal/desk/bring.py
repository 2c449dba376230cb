"""Bring a spreadsheet's readings to the desk: which column is which, in which unit."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from paddlebal.desk.entry import BARE, MOST_ROWS, in_unit
from paddlebal.desk.form import BOTH, CCW, CW, SCALE_UNITS
from paddlebal.errors import InputError
from paddlebal.files.quantities import (
    COMMA,
    POINT,
    could_be_thousands,
    quantity,
    split_number,
    unit_named,
)
from paddlebal.files.si import si_factor
from paddlebal.files.spreadsheet import Cells
from paddlebal.language import _

ANGLE, WITH, AGAINST, PULL, TURNING, ARM, NOTHING = (
    "angle", "with", "against", "pull", "turning", "arm", "",
)  # fmt: skip


SI = {ANGLE: "rad", WITH: "N", AGAINST: "N", PULL: "N", ARM: "m"}


HEADS = {
    ANGLE: "angle roll rotation winkel drehwinkel angolo angulo ángulo hoek vinkel kąt угол",
    WITH: "with mit con avec met med z с",
    AGAINST: "against gegen contro contra contre tegen mot przeciw против",
    TURNING: "turning sense direction drehsinn richtung sinn drehrichtung senso verso sens zin",
    ARM: "arm lever hebel hebelarm braccio leva palanca bras levier brazo hefboom",
    PULL: "pull scale force reading weight load zug waage kraft anzeige gewicht messwert forza "
    "bilancia trazione fuerza balanza tracción force balance kracht weegschaal",
}
"""Words in a column's head that tell what it holds, in several languages."""


SENSES = {
    WITH: "with mit con avec met med + with the pull w",
    AGAINST: "against gegen contro contra contre tegen mot - a",
}


@dataclass(frozen=True)
class Guessed:
    """What a column may be: its head, role and unit, '' where it has to be asked."""

    title: str
    role: str
    unit: str


Column = TypeVar("Column", bound=Guessed)


@dataclass(frozen=True)
class Table:
    """Cells parted into heads and readings, with what each column may be.

    open_mark: whether the decimal mark has to be asked for.
    """

    name: str
    columns: tuple[Guessed, ...]
    rows: tuple[tuple[str, ...], ...]
    mark: str | None
    open_mark: bool

    @property
    def question(self) -> str:
        """By what an answer for tables with the same heads is found again."""
        return "columns: " + " | ".join(each.title.strip().lower() for each in self.columns)


def table_of(cells: Cells, name: str) -> Table:
    """A table of readings; InputError if no row holds two numbers."""
    numeric = [sum(split_number(cell) is not None for cell in row) >= 2 for row in cells.rows]
    if True not in numeric:
        raise InputError(_("holds no row with an angle and a pull"), file=name)
    first = numeric.index(True)
    heads = cells.rows[first - 1] if first else [""] * len(cells.rows[0])
    rows = tuple(
        tuple(row) for row, good in zip(cells.rows[first:], numeric[first:], strict=True) if good
    )
    digits = [digits.lstrip("-") for row in rows for digits, _behind in _numbers(row)]
    doubtful = cells.mark is None and any(could_be_thousands(each) for each in digits)
    columns = [_guessed(head, [row[i] for row in rows], i) for i, head in enumerate(heads)]
    return Table(name, once(columns), rows, cells.mark, doubtful)


def _guessed(head, cells, place):
    title = head.strip() or _("column {number}").format(number=place + 1)
    words = set(re.findall(r"\w+", re.sub(r"[\[(].*?[\])]", " ", head.lower())))
    filled = [cell for cell in cells if cell.strip()]
    role = next((role for role, heads in HEADS.items() if words & set(heads.split())), NOTHING)
    if role != TURNING and not any(split_number(cell) for cell in filled):
        role = TURNING if filled and all(_sense(cell) for cell in filled) else NOTHING
    if role == TURNING and not all(_sense(cell) for cell in filled):
        role = NOTHING
    return Guessed(title, role, _unit(head, filled, role))


def _unit(head, cells, role):
    """The unit that the head or the cells name; degrees if the numbers can be nothing else."""
    if role in (NOTHING, TURNING):
        return ""
    named = re.findall(r"[\[(]\s*(.*?)\s*[\])]", head) + re.split(r"[\s,/]+", head)[1:]
    of_cells = [unit for _digits, unit in _numbers(cells)]
    for word in (*named, *of_cells):
        unit = unit_named(word) if word else None
        if unit and _fits(unit, role):
            return unit
    if role == ANGLE:
        numbers = [digits.replace(",", ".") for digits, _behind in _numbers(cells)]
        if any(re.fullmatch(r"-?\d{2,3}(\.\d*)?", each) for each in numbers):
            return "deg"
    return ""


def _numbers(cells):
    """The cells that hold a number, each as `split_number` parts it."""
    return [parts for parts in map(split_number, cells) if parts]


def _fits(unit, role):
    return si_factor(unit, SI[role]) is not None


def once(columns: Iterable[Column]) -> tuple[Column, ...]:
    """The columns, each role given to the first that claims it; without a role there is no unit."""
    seen: set[str] = set()
    found = []
    for each in columns:
        role = NOTHING if each.role in seen else each.role
        seen |= {role} - {NOTHING}
        found.append(replace(each, role=role, unit=each.unit if role else ""))
    return tuple(found)


def _sense(cell):
    """'with' or 'against' if a cell says so, in one of several languages."""
    word = cell.strip().lower()
    return next((sense for sense, words in SENSES.items() if word in words.split()), None)


def texts_from(
    table: Table, answer: Sequence[tuple[str, str]], mark: str | None, form_unit: str
) -> dict[str, str]:
    """The texts that a table's readings make on the desk, by an answer (role, unit) per column.

    Pulls are brought to one unit; a lever's arm and its side go where the desk keeps them.

    Raises
    ------
    InputError
        If a column that is needed is missing, stands twice or has no unit, or a cell cannot be
        read; the sentence names the row.
    """
    places: dict[str, int] = {}
    for place, (role, _unit) in enumerate(answer):
        if role in places:
            raise InputError(_("two columns are said to be the same"), file=table.name)
        if role != NOTHING:
            places[role] = place
    _check(table, places, answer)
    mark = mark or table.mark
    if table.open_mark and mark not in (POINT, COMMA):
        raise InputError(_("say first whether a comma or a point is the decimal mark"))
    unit = next(answer[places[role]][1] for role in (WITH, AGAINST, PULL) if role in places)
    shown_unit = unit if unit in SCALE_UNITS else form_unit

    def value(row, role, number):
        place = places[role]
        try:
            return quantity(row[place], answer[place][1], SI[role], mark)
        except InputError as error:
            raise InputError(
                error.problem, file=table.name, row=number, field=table.columns[place].title
            ) from error

    rows: dict[tuple[float, ...], dict[str, str]] = {}
    arms = set()
    for number, row in enumerate(table.rows, 1):
        angle = value(row, ANGLE, number)
        side = 1.0
        if ARM in places:
            arm = value(row, ARM, number)
            side = -1.0 if arm < 0 else 1.0
            arms.add(round(abs(arm), 6))
        key: tuple[float, ...] = round(angle, 6), side
        cells = rows.setdefault(key, {})
        for column, role in _pulls(row, places, table, number):
            if column in cells:
                key = (*key, number)
                cells = rows.setdefault(key, {})
            cells[column] = in_unit(value(row, role, number), shown_unit, "N")
        cells["angle"] = in_unit(angle, "deg", "rad")
        cells["turns"] = CW if side < 0 else CCW
    if len(arms) > 1:
        raise InputError(_("the arm differs by row, expected one length"), file=table.name)
    if len(rows) > MOST_ROWS:
        raise InputError(_("holds more angles than the desk"), file=table.name)
    texts = {"unit": shown_unit}
    if arms:
        texts["lever"] = in_unit(arms.pop(), "mm", "m")
    sides = {key[1] for key in rows}
    if ARM in places:
        texts["turns"] = BOTH if len(sides) > 1 else CW if -1.0 in sides else CCW
    for index, cells in enumerate(rows.values()):
        for column, text in cells.items():
            texts[f"{BARE}/{index}/{column}"] = text
    return texts


def _check(table, places, answer):
    if ANGLE not in places:
        raise InputError(_("say which column is the angle"), file=table.name)
    if not ({WITH, AGAINST, PULL} & places.keys()):
        raise InputError(_("say which column is the pull"), file=table.name)
    if PULL in places and TURNING not in places:
        raise InputError(
            _("say which column tells whether it turned with the pull or against it"),
            file=table.name,
        )
    for role, place in places.items():
        if role in SI and not answer[place][1]:
            title = table.columns[place].title
            raise InputError(
                _("say in which unit '{title}' is").format(title=title), file=table.name
            )


def _pulls(row, places, table, number):
    """(column of the grid, role) of the pulls in a row."""
    if PULL in places:
        sense = _sense(row[places[TURNING]])
        if sense is None:
            raise InputError(
                _("expected with or against"), file=table.name, row=number,
                field=table.columns[places[TURNING]].title,
            )  # fmt: skip
        return [(sense, PULL)]
    return [
        (role, role) for role in (WITH, AGAINST) if role in places and row[places[role]].strip()
    ]
