"""A logger's table brought by a form: which column is which, in which unit, when it was held still.

Loggers write many forms of table; none of them has to be known here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from paddlebal.arrays import Array
from paddlebal.desk.bring import NOTHING, Guessed, once
from paddlebal.errors import InputError
from paddlebal.files.quantities import COMMA, split_number
from paddlebal.files.spreadsheet import read_cells
from paddlebal.logger import NEEDED, POSES, LoggerRecord
from paddlebal.units import DEG, STANDARD_GRAVITY

MOST_CELLS = 2_000_000


TIME = "time"


ROLES = (TIME, *(f"{kind} {axis}" for kind in ("rate", "force") for axis in "xyz"))
"""What must be there: a time, angular rate and specific force about and along three axes."""


UNITS = {
    "time": {"s": 1.0, "ms": 1e-3, "µs": 1e-6, "ns": 1e-9},
    "rate": {"rad/s": 1.0, "deg/s": DEG},
    "force": {"m/s²": 1.0, "g": STANDARD_GRAVITY, "mg": 1e-3 * STANDARD_GRAVITY},
}
"""Factors to SI by the kind of column and the unit; g is standard gravity."""


HEADS = {
    "time": "time timestamp zeit t seconds elapsed",
    "rate": "gyro gyroscope gyr rate omega angular rotation w drehrate rotationrate",
    "force": "acc accel acceleration accelerometer force specific beschleunigung a",
}
"""Words in a column's head that tell what it holds."""


SPELLED = {
    "s": "s sec seconds", "ms": "ms", "µs": "us µs", "ns": "ns",
    "rad/s": "rad/s rad/sec radians/s", "deg/s": "deg/s °/s dps deg/sec",
    "m/s²": "m/s² m/s^2 m/s2 m/s/s ms-2", "g": "g g_0 g0", "mg": "mg",
}  # fmt: skip
"""How units are written in a column's head."""


QUIET_RATE, QUIET_FORCE, QUIET_FOR = 0.15, 0.5, 1.0
"""rad/s and m/s² within which a logger counts as held still, and s for which it must be."""


@dataclass(frozen=True)
class Heading(Guessed):
    """What a column of a logger may be, and a cell of it."""

    cell: str


@dataclass(frozen=True, eq=False)
class LoggerTable:
    """A logger's table: its columns, and their numbers (rows, columns), nan where there is none."""

    name: str
    columns: tuple[Heading, ...]
    numbers: Array


def kind_of(role: str) -> str:
    """'time', 'rate' or 'force'."""
    return role.partition(" ")[0]


def logger_table(content: bytes, name: str) -> LoggerTable:
    """The table in a file's bytes.

    Raises
    ------
    InputError
        If it is no table, or has fewer than seven columns.
    """
    cells = read_cells(content, name, MOST_CELLS)
    first = next(
        (i for i, row in enumerate(cells.rows) if sum(map(_is_number, row)) >= len(ROLES)), None
    )
    if first is None:
        raise InputError(
            f"holds no row with {len(ROLES)} numbers, expected a time, three rates and three "
            "specific forces",
            file=name,
        )
    heads = cells.rows[first - 1] if first else [""] * len(cells.rows[first])
    rows = cells.rows[first:]
    columns = once((_guessed(head, rows[0][i], i) for i, head in enumerate(heads)))
    comma = cells.mark == COMMA
    numbers = np.array([[_number(cell, comma) for cell in row] for row in rows])
    return LoggerTable(name, columns, numbers)


def _is_number(cell):
    return split_number(cell) is not None


def _number(cell, comma):
    try:
        return float(cell.replace(".", "").replace(",", ".") if comma else cell)
    except ValueError:
        return np.nan


def _guessed(head, cell, place):
    words = re.findall(r"[^\W\d_]+", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", head).lower())
    kind = next((kind for kind, known in HEADS.items() if set(words) & set(known.split())), "")
    axis = next((word for word in words if word in ("x", "y", "z")), "")
    role = kind if kind == TIME else f"{kind} {axis}" if kind and axis else NOTHING
    return Heading(head.strip() or f"column {place + 1}", role, _unit(head, kind), cell)


def _unit(head, kind):
    named = re.findall(r"[\[(]\s*(.*?)\s*[\])]", head)
    return next(
        (unit for unit in UNITS.get(kind, ()) for word in named
         if word.lower() in SPELLED[unit].split()),
        "",
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Logged:
    """Time [s] from the start on, rates [rad/s] and specific forces [m/s²] (n, 3)."""

    name: str
    time: Array
    rate: Array
    force: Array

    def still(self) -> list[tuple[float, float]]:
        """Stretches [s] in which the logger was held still, from first to last."""
        from scipy.ndimage import label, uniform_filter1d

        step = float(np.median(np.diff(self.time)))
        window = max(3, round(0.3 / step))
        quiet = np.ones(self.time.size, dtype=bool)
        for values, most in ((self.rate, QUIET_RATE), (self.force, QUIET_FORCE)):
            mean = uniform_filter1d(values, window, axis=0)
            spread = uniform_filter1d(values**2, window, axis=0) - mean**2
            quiet &= np.sqrt(np.maximum(spread, 0).sum(axis=1)) < most
        parts, count = label(quiet)
        ends = [self.time[parts == number][[0, -1]] for number in range(1, count + 1)]
        return [(float(a), float(b)) for a, b in ends if b - a >= QUIET_FOR]

    def proposed(self) -> dict[str, tuple[float, float]]:
        """When each pose was held and when the paddle moved [s], the poses in their order."""
        still, margin = self.still(), 0.15
        named = dict(zip(list(POSES)[1:], still, strict=False))
        found = {name: (a + margin, b - margin) for name, (a, b) in named.items()}
        start = max((b for _a, b in named.values()), default=float(self.time[0]))
        following = [a for a, _b in still if a > start]
        stop = min(following, default=float(self.time[-1]))
        return found | {"moving": (start + margin, stop)}


def logged_from(
    table: LoggerTable, answer: Sequence[tuple[str, str]], upside_down: bool = False
) -> Logged:
    """The record in a table, by an answer (role, unit) for each column.

    upside_down: whether the accelerometer shows gravity, downward, in place of specific force.

    Raises
    ------
    InputError
        If a column is missing, stands twice or has no unit, or a cell is no number.
    """
    places: dict[str, int] = {}
    for place, (role, unit) in enumerate(answer):
        if role in places:
            raise InputError(f"two columns are said to be {role}", file=table.name)
        if role != NOTHING:
            places[role] = place
            if unit not in UNITS[kind_of(role)]:
                raise InputError(
                    f"say in which unit '{table.columns[place].title}' is", file=table.name
                )
    missing = [role for role in ROLES if role not in places]
    if missing:
        raise InputError(f"say which column holds {', '.join(missing)}", file=table.name)
    numbers = table.numbers[:, [places[role] for role in ROLES]]
    bad = np.argwhere(~np.isfinite(numbers))
    if bad.size:
        row, column = bad[0]
        raise InputError(
            "expected a number", file=table.name, row=int(row) + 1,
            field=table.columns[places[ROLES[column]]].title,
        )  # fmt: skip
    values = numbers * [UNITS[kind_of(role)][answer[places[role]][1]] for role in ROLES]
    time = values[:, 0] - values[0, 0]
    back = np.flatnonzero(np.diff(time) <= 0)
    if back.size:
        raise InputError(
            "expected a time after the one before", file=table.name, row=int(back[0]) + 2,
            field=table.columns[places[TIME]].title,
        )  # fmt: skip
    sign = -1.0 if upside_down else 1.0
    return Logged(table.name, time, values[:, 1:4], sign * values[:, 4:7])


def record_from(
    logged: Logged, when: Mapping[str, tuple[float, float]], place: Array, place_u: float,
    mass: float = 0.0, counted: bool = False,
) -> LoggerRecord:  # fmt: skip
    """The record, with when each pose was held and when the paddle moved, from and to [s].

    place (3,) and place_u [m], mass [kg] and counted as for `LoggerRecord`.

    Raises
    ------
    InputError
        If a pose that is needed is missing, or two overlap.
    """
    missing = [name for name in (*NEEDED, "moving") if name not in when]
    if missing:
        raise InputError(f"say from when to when the paddle was held: {', '.join(missing)}")
    pose = np.full(logged.time.size, -1)
    for name, (start, stop) in when.items():
        here = (logged.time >= start) & (logged.time <= stop)
        if np.any(pose[here] >= 0):
            raise InputError(f"the time of '{name}' lies within another one's")
        pose[here] = POSES[name]
    used = pose >= 0
    return LoggerRecord(
        logged.time[used], logged.rate[used], logged.force[used], pose[used], place, place_u, mass,
        counted, logged.name,
    )  # fmt: skip
