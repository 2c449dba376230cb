"""Bench files: what was read at the bench, checked and brought to SI.

A file opens with lines that start with '#': what follows the '#' is TOML, which names the
method and states the standard uncertainties, the unit in each name. One row of column names
with their units in brackets comes next, then the readings, one a row:

    # method = "lever"
    # support = "rollers"
    # pull_direction = "vertical"
    # ...
    roll [deg],arm [mm],pull [N],turning
    0,200,1.134,with
    0,200,1.105,against

Any unit of the right kind may be used. A pull in a unit of mass is what a scale shows that is
marked in grams: that mass times standard gravity.
"""

import csv
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import islice
from pathlib import Path

import numpy as np

from paddlebal.errors import InputError, refuse, shown
from paddlebal.files import read_text
from paddlebal.paddle import STANDARD_GRAVITY, Table, parse_toml

SUPPORTS = ("rollers", "rails")
PULL_DIRECTIONS = ("vertical", "tangential")
TURNING = {"with": 1.0, "against": -1.0}

_MM, _G, _DEG = 1e-3, 1e-3, math.pi / 180


@dataclass(frozen=True, eq=False)
class LeverReadings:
    """Pulls that turn the paddle slowly, the shaft level. All SI; arrays (n,).

    Parameters
    ----------
    roll : ndarray
        Roll angle [rad].
    arm : ndarray
        Arm of the pull from the shaft axis [m]; positive if the pull turns the paddle about
        +x. A vertical pull goes up, on a lever that is clamped level at each reading, forward
        (+) or backward (-). A tangential pull goes level over the top of the shaft, backward
        (+) or forward (-), and its arm is the shaft's radius.
    pull : ndarray
        What the scale shows [N].
    turning : ndarray
        +1 while the paddle turns with the pull, -1 while it turns against it.
    support : str
        'rollers', on which the shaft axis stays in place, or 'rails', on which it rolls.
    pull_direction : str
        'vertical' or 'tangential'.
    radius : float
        Shaft radius [m].
    clamp_mass, clamp_arm : float
        Mass [kg] of lever and clamp, and the distance [m] of its centre from the shaft axis
        towards the pull.
    scale_u, angle_u : float
        Standard uncertainty of each pull [N] and of each angle [rad].
    arm_u, angle_zero_u, clamp_arm_u : float
        Standard uncertainty, common to all readings, of the arm [m] about the line on which
        the paddle turns, of the angle's zero [rad] and of the clamp's arm [m].
    paddle : str
        Name of the paddle's data file, if given.
    """

    roll: np.ndarray
    arm: np.ndarray
    pull: np.ndarray
    turning: np.ndarray
    support: str
    pull_direction: str
    radius: float
    clamp_mass: float
    clamp_arm: float
    scale_u: float
    angle_u: float
    arm_u: float
    angle_zero_u: float
    clamp_arm_u: float
    paddle: str = ""


@dataclass(frozen=True, eq=False)
class SwingReadings:
    """Timed swings about rest. All SI; arrays (n,).

    amplitude [rad]: the mean of the first and the last amplitude, from rest to the turning
    point, or the first one if that alone was read. periods: how many were timed. time [s] they
    took. time_u [s], amplitude_u [rad]: standard uncertainty of each time and of each of these
    amplitudes.
    """

    amplitude: np.ndarray
    periods: np.ndarray
    time: np.ndarray
    support: str
    time_u: float
    amplitude_u: float
    paddle: str = ""


@dataclass(frozen=True, eq=False)
class AddOnReadings:
    """Trials in which a mass on an arm made the paddle stay at any angle. SI; arrays (n,).

    mass [kg] at the distance arm [m] from the shaft axis, in the direction angle [rad] from
    +y toward +z in body axes. mass_u [kg], arm_u [m], angle_u [rad]: standard uncertainties,
    common to all trials.
    """

    mass: np.ndarray
    arm: np.ndarray
    angle: np.ndarray
    mass_u: float
    arm_u: float
    angle_u: float
    paddle: str = ""


@dataclass(frozen=True, eq=False)
class SwingRecord:
    """Roll angle against time of one swing, from a video or a logger. SI; arrays (n,).

    time [s] grows and need not be even. roll [rad] as everywhere, or from any other zero.
    support: 'rollers', on which the shaft axis stays in place, or 'rails', on which it rolls.
    radius: of the shaft [m]; it matters on rails only. angle_u [rad]: standard uncertainty of
    each angle by itself. paddle: name of the paddle's data file, if given.
    """

    time: np.ndarray
    roll: np.ndarray
    support: str
    radius: float
    angle_u: float
    paddle: str = ""


SWINGS = SwingReadings | SwingRecord
"""Readings of a swing: they tell the roll inertia and not the unbalance."""


def read_bench(path):
    """Read a bench file; see the module's own text for its form.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    LeverReadings, SwingReadings, SwingRecord or AddOnReadings

    Raises
    ------
    InputError
        One sentence naming file, row, field and what was expected.
    """
    return parse_bench(read_text(path, "a CSV file"), Path(path))


def parse_bench(text, file=None, tell=refuse):
    """The readings in a bench file's text.

    tell(error) takes each InputError. By default it raises; if it returns, the reading goes on
    so that all is told, and what is returned is of no use.
    """
    header, read = parse_table(text, file, tell)
    kinds = {"lever": _lever, "swing": _swing, "swing record": _record, "add-on": _add_on}
    method = header.text("method", choices=tuple(kinds))
    if not method:  # on which depends all that follows
        return None
    header.text("note", default="")
    readings = kinds[method](header, read)
    header.finish()
    return readings


def open_table(path):
    """Header and table of a file of this form; see `parse_table`."""
    return parse_table(read_text(path, "a CSV file"), Path(path))


def parse_table(text, file=None, tell=refuse):
    """Header and table of a text of this form.

    Returns the header, read key by key, and read(columns): {name: ndarray (n,)} in SI for a
    sequence of `Column`. Both tell an InputError with the place of what is wrong.
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
    return header, lambda columns: _read_columns(file, lines, head, columns, tell)


def _lever(header, read):
    clamp_mass = header.number("clamp_mass_g", _G, low=0, high=10_000, default=0.0)
    stated = dict(
        support=header.text("support", choices=SUPPORTS),
        pull_direction=header.text("pull_direction", choices=PULL_DIRECTIONS),
        radius=header.number("radius_mm", _MM, above=0, high=1000),
        clamp_mass=clamp_mass,
        clamp_arm=header.number(
            "clamp_arm_mm", _MM, low=-10_000, high=10_000, default=None if clamp_mass else 0.0
        ),
        scale_u=header.number("scale_u_N", low=1e-6, high=1000),
        angle_u=header.number("angle_u_deg", _DEG, low=0, high=180),
        arm_u=header.number("arm_u_mm", _MM, low=0, high=1000),
        angle_zero_u=header.number("angle_zero_u_deg", _DEG, low=0, high=180),
        clamp_arm_u=header.number("clamp_arm_u_mm", _MM, low=0, high=1000, default=0.0),
        paddle=header.text("paddle", default=""),
    )
    values = read(
        (
            Column("roll", "rad", *_TURNED),
            Column(
                "arm", "m", "an arm other than 0, as a force needs its arm, and below 10 m", _arm
            ),
            Column("pull", "N", "a pull below 1000 N", lambda value: np.abs(value) < 1000),
            Column("turning", words=TURNING),
        )
    )
    return LeverReadings(**values, **stated)


def _swing(header, read):
    stated = dict(
        support=header.text("support", choices=SUPPORTS),
        time_u=header.number("time_u_s", low=1e-6, high=1000),
        amplitude_u=header.number("amplitude_u_deg", _DEG, low=0, high=180),
        paddle=header.text("paddle", default=""),
    )
    swing = ("rad", "an angle above 0° and below 180°", lambda value: (value > 0) & (value < np.pi))
    values = read(
        (
            Column("amplitude", *swing),
            Column("end amplitude", *swing, optional=True),
            Column("periods", "", "a number above 0", _positive),
            Column("time", "s", "a time above 0", _positive),
        )
    )
    end = values.pop("end amplitude", None)
    if end is not None:
        values["amplitude"] = (values["amplitude"] + end) / 2
        stated["amplitude_u"] /= math.sqrt(2)  # of the mean of two
    return SwingReadings(**values, **stated)


def _record(header, read):
    stated = dict(
        support=header.text("support", choices=SUPPORTS),
        radius=header.number("radius_mm", _MM, above=0, high=1000),
        angle_u=header.number("angle_u_deg", _DEG, low=1e-6, high=180),
        paddle=header.text("paddle", default=""),
    )
    later = Column("time", "s", "a time after the one before", growing())
    return SwingRecord(**read((later, Column("roll", "rad", *_TURNED))), **stated)


def growing():
    """A check that a column's values grow, for `Column`; it follows them from batch to batch."""
    last = -np.inf

    def later(values):
        nonlocal last
        steps = np.diff(values, prepend=last)
        last = values[-1] if len(values) else last
        return ~(steps <= 0)  # what follows a cell that is no number is not to blame

    return later


def _add_on(header, read):
    stated = dict(
        mass_u=header.number("mass_u_g", _G, low=0, high=10_000),
        arm_u=header.number("arm_u_mm", _MM, low=0, high=1000),
        angle_u=header.number("angle_u_deg", _DEG, low=0, high=180),
        paddle=header.text("paddle", default=""),
    )
    values = read(
        (
            Column("mass", "kg", "a mass above 0 and below 10 kg", _positive_below_10),
            Column("arm", "m", "an arm above 0 and below 10 m", _positive_below_10),
            Column("angle", "rad", *_TURNED),
        )
    )
    return AddOnReadings(**values, **stated)


# A unit such as [Grad], which is read as a thousand million radians, would pass unnoticed.
_TURNED = ("an angle within ten turns", lambda value: np.abs(value) <= 20 * np.pi)


def _positive(value):
    return value > 0


def _positive_below_10(value):
    return (value > 0) & (value < 10)


def _arm(value):
    return (value != 0) & (np.abs(value) < 10)


@dataclass(frozen=True)
class Column:
    """A column: SI unit ('' for a count), what a value must be, or the words allowed."""

    name: str
    unit: str = ""
    expected: str = "a finite number"
    holds: Callable = np.isfinite
    words: dict | None = None
    optional: bool = False


def _rows(path, lines, head):
    """Row number and fields of each row that isn't blank, from line index `head` on."""
    names_line = lines[head] if head < len(lines) else ""
    separator = max(",;\t", key=names_line.count)
    reader = csv.reader(
        islice(lines, head, None), delimiter=separator, skipinitialspace=True, strict=True
    )
    row = head + 1
    try:
        for fields in reader:
            if fields:
                yield row, fields
            row = head + reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"is not a complete CSV row ({error})", file=path, row=row) from error


def _read_columns(path, lines, head, columns, tell):
    """The columns of the table that starts at line index `head`, in SI: {name: (n,)}."""
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
        parts = [[np.empty(0)] * len(places)]
    arrays = map(np.concatenate, zip(*parts, strict=True))
    return {column.name: array for (column, *_), array in zip(places, arrays, strict=True)}


def _batch_values(batch, count, places, complain):
    """The columns of some rows in SI: an array (n,) for each of `places`."""
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
    return arrays


def _places(names, columns, complain):
    """Where each column stands and its factor to SI: [(column, place, factor)].

    The factor is None for a column that was complained of.
    """
    known = {column.name: column for column in columns}
    found: dict[str, tuple] = {}
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


@cache
def _units():
    import pint

    return pint.UnitRegistry()


_UNIT_EXAMPLES = {
    "rad": "an angle such as [deg] or [rad]",
    "m": "a length such as [mm], [cm] or [in]",
    "N": "a force such as [N] or [kgf], or the mass a scale shows such as [g]",
    "kg": "a mass such as [g]",
    "s": "a time such as [s]",
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
        factor = _to_si(1.0 * _units().parse_units(unit.strip()), column.unit)
    except Exception as problem:  # pint raises many kinds for a text that is no unit
        raise InputError(f"has the unknown unit {_bracketed(unit)}, {expected}") from problem
    if factor is None:
        raise InputError(f"has the unit {_bracketed(unit)}, {expected}")
    return factor


def _to_si(one, unit):
    """One of a unit in the SI unit `unit`, None if it is of another kind."""
    if unit == "N" and one.check("[mass]"):
        return one.to("kg").magnitude * STANDARD_GRAVITY
    # To pint an angle has no dimension, so percent or nothing would pass for one.
    plain_number = unit == "rad" and one.to_root_units().units != _units().radian
    if plain_number or not one.is_compatible_with(unit):
        return None
    return one.to(unit).magnitude


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
