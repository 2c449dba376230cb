"""A desk's entry: every text that was typed, and the paddle and readings that these make.

An entry is a mapping from names to texts. A field's name is that of the form; a cell of a grid
has the grid, its row from 0 and its column in its name, such as 'bare/3/with'.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from paddlebal.bench.readings import LeverReadings
from paddlebal.desk.form import BOTH, CCW, CW, FILMS, HUNG, VERTICAL, Field, fields
from paddlebal.errors import InputError
from paddlebal.files.quantities import quantity
from paddlebal.files.si import si_factor
from paddlebal.language import _, languages, speaking
from paddlebal.outside import OutsidePaddle, OutsideShaft
from paddlebal.paddle import Counterweight, KeepOut
from paddlebal.units import DEG, MM

HELD = ("left_hand", "right_hand", "ferrule")
"""Fields of stretches without weight."""


BARE, FITTED = "bare", "fitted"
"""Grids: readings of the paddle as it came, and with the weight on it."""


COLUMNS = ("angle", "turns", "with", "against")


MOST_ROWS, MOST_WEIGHTS = 100, 4


RECTANGLE = 1 / math.sqrt(3)
"""Standard uncertainty of a quantity that lies anywhere within ± 1 (JCGM 100:2008, 4.3.7)."""


@dataclass(frozen=True)
class Trouble:
    """What is wrong with a text, and the name under which it stands."""

    name: str
    problem: str


class Typed:
    """Texts read one by one; what is wrong is kept in `troubles`, what is missing in `missing`."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self.texts, self.fields = texts, fields()
        self.troubles: list[Trouble] = []
        self.missing: list[Field] = []

    def text(self, name):
        """The text of a field, its preset if it was never touched."""
        return self.texts.get(name, self.fields[name].preset).strip()

    def choice(self, name):
        value = self.text(name)
        known = [choice for choice, _ in self.fields[name].choices]
        return value if value in known else self.fields[name].preset

    def number(self, name, needed=False):
        """The number of a field in SI; None if it is empty or wrong."""
        field, text = self.fields[name], self.text(name)
        if not text and (needed or not field.optional):
            self.missing.append(field)
        return self.cell(name, field, text)

    def cell(self, name, field, text):
        """The number that a text is by a field's unit and limits; None if it is empty or wrong."""
        if not text:
            return None
        unit = self.choice("unit") if field.unit == "scale" else field.unit
        try:
            value = quantity(text, unit, field.si)
            one = si_factor(unit, field.si) if field.si else 1.0
            _within(value / one, field, unit)
        except InputError as error:
            return self.wrong(name, error.problem)
        return value

    def span(self, name):
        """Both numbers of a range in SI; None if it is empty or wrong."""
        field, text = self.fields[name], self.text(name)
        if not text:
            return None
        parts = [part for part in text.replace("\u2013", " ").replace("-", " ").split() if part]
        try:
            start, stop = sorted(quantity(part, field.unit, field.si) for part in parts)
        except (InputError, ValueError):
            return self.wrong(name, _("expected two numbers, such as 560 780"))
        if start == stop:
            return self.wrong(name, _("expected two numbers, such as 560 780"))
        return start, stop

    def wrong(self, name, problem):
        self.troubles.append(Trouble(name, problem))


def _within(value, field, unit):
    for limit, words, beyond in (
        (field.low, _("expected at least {limit:g} {unit}"), lambda v, x: v < x),
        (field.high, _("expected at most {limit:g} {unit}"), lambda v, x: v > x),
    ):
        if limit is not None and beyond(value, limit):
            raise InputError(words.format(limit=limit, unit="°" if unit == "deg" else unit))


def paddle_from(typed: Typed) -> OutsidePaddle | None:
    """The paddle as it came, without the weight; None if something is missing or wrong."""
    mass, length, balance = (typed.number(name) for name in ("mass", "length", "balance"))
    shaft, across = typed.number("shaft"), typed.number("across")
    feather, face = typed.number("feather"), typed.number("face")
    blade, volume = typed.number("blade"), typed.number("volume")
    spans = {name: typed.span(name) for name in HELD}
    if balance is not None and length is not None and balance > length:
        typed.wrong("balance", _("is beyond the paddle's end"))
        balance = None
    for name, span in spans.items():
        if span and length is not None and span[1] > length:
            typed.wrong(name, _("is beyond the paddle's end"))
    if mass is None or length is None or balance is None or shaft is None:
        return None
    half = length / 2
    taken = [(typed.fields[name].label, *span) for name, span in spans.items() if span]
    if blade is not None:
        taken += [(_("left blade"), 0.0, blade), (_("right blade"), length - blade, length)]
    turned = sense(typed)
    return OutsidePaddle(
        name=typed.text("name") or _("unnamed paddle"),
        mass=mass,
        balance_point=balance - half,
        shaft=OutsideShaft(length, (shaft, across or shaft)),
        control="left" if typed.choice("control") == "left" else "right",
        feather=feather,
        face=None if face is None else turned * face,
        face_u=2 * DEG * RECTANGLE,
        volume=None if volume is None else 1e-6 * volume,
        keep_outs=tuple(
            KeepOut(name, start - half, stop - half)
            for name, start, stop in sorted(taken, key=lambda each: each[1])
        ),
    )


def sense(typed: Typed) -> float:
    """+1 if the gauge's numbers grow as the roll angle does, as a disc's do; -1 if they fall."""
    return -1.0 if typed.choice("sense") == CW and typed.choice("way") != FILMS else 1.0


def mounted(texts: Mapping[str, str]) -> tuple[Counterweight, ...]:
    """The weights that were said to be on; see `mounting`."""
    weights = []
    for number in range(MOST_WEIGHTS):
        try:
            numbers = [float(part) for part in texts.get(f"on/{number}", "").split()]
        except ValueError:
            numbers = []
        if len(numbers) == 5 and numbers[0] > 0:
            weights.append(Counterweight(*numbers))
    return tuple(weights)


def grid_of(texts: Mapping[str, str]) -> str:
    """The grid into which readings go now."""
    return FITTED if mounted(texts) else BARE


def mounting(weight: Counterweight) -> str:
    """The text under which a weight that is on is kept: mass, arm, angle, x, density, in SI."""
    parts = weight.mass, weight.arm, weight.angle, weight.x, weight.density
    return " ".join(f"{part!r}" for part in map(float, parts))


def row_count(texts: Mapping[str, str], grid: str) -> int:
    """How many rows of a grid there are, up to the last that holds something."""
    rows = [
        int(name.split("/")[1])
        for name, text in texts.items()
        if name.startswith(f"{grid}/") and text.strip() and name.split("/")[1].isdigit()
    ]
    return min(max(rows, default=-1) + 1, MOST_ROWS)


def bench_from(typed: Typed) -> LeverReadings | None:
    """The bench without readings; None if something is missing or wrong.

    It holds one reading of no pull, of which only the arm counts.
    """
    string = typed.choice("pull") != VERTICAL
    lever = None if string else typed.number("lever", needed=True)
    shaft, step = typed.number("shaft"), typed.number("step")
    errors = [typed.number(name) for name in ("angle_step", "plumb", "lever_step", "gain")]
    rest = typed.number("rest")
    if string and shaft is not None:
        lever = shaft / 2
    if lever is None or step is None or None in errors:
        return None
    angle_step, plumb, lever_step, gain = (RECTANGLE * error for error in errors)
    hung = typed.choice("pull") == HUNG
    return LeverReadings(
        roll=np.zeros(1),
        arm=np.array([-lever if typed.choice("turns") == CW else lever]),
        pull=np.zeros(1),
        turning=np.ones(1),
        support=typed.choice("support"),
        pull_direction=typed.choice("pull"),
        radius=0.0 if shaft is None else shaft / 2,
        clamp_mass=0.0,  # the lever's own moment is part of what the scale shows at no pull
        clamp_arm=0.0,
        scale_u=step / 2 * RECTANGLE,
        angle_u=angle_step,
        arm_u=lever_step / 2 if string else lever_step,
        angle_zero_u=plumb,
        clamp_arm_u=0.0,
        gain_u=gain / 100,
        zero_u=0.0 if hung else None,
        rest=None if rest is None else sense(typed) * rest,
    )


def angle_of(typed: Typed, grid: str, row: int) -> float | None:
    """The roll angle [rad] of a row of a grid; None if there is none."""
    name = f"{grid}/{row}/angle"
    text = typed.texts.get(name, "").strip()
    if not text:
        return None
    try:
        angle = quantity(text, "deg", "rad")
    except InputError as error:
        return typed.wrong(name, error.problem)
    if abs(angle) > 4 * np.pi:
        return typed.wrong(name, _("expected an angle within two turns"))
    return sense(typed) * angle


def readings_from(typed: Typed, grid: str, bench: LeverReadings | None) -> LeverReadings | None:
    """The readings in a grid, in the order of its rows; None if there is no bench or none of them.

    The arm is that of `bench` where no side stands beside a reading.
    """
    if bench is None:
        return None
    unit, both = typed.choice("unit"), typed.choice("turns") == BOTH
    found: list[tuple[float, float, float, float, int]] = []
    for row in range(row_count(typed.texts, grid)):
        roll = angle_of(typed, grid, row)
        pulls = {}
        for column in ("with", "against"):
            name = f"{grid}/{row}/{column}"
            text = typed.texts.get(name, "").strip()
            if not text:
                continue
            try:
                pulls[column] = quantity(text, unit, "N")
            except InputError as error:
                typed.wrong(name, error.problem)
                continue
            if abs(pulls[column]) > 1000:
                typed.wrong(name, _("expected a pull below 1000 N"))
                del pulls[column]
        if pulls and roll is None and not typed.texts.get(f"{grid}/{row}/angle", "").strip():
            typed.wrong(f"{grid}/{row}/angle", _("expected the angle of these readings"))
        if roll is None:
            continue
        arm = float(bench.arm[0])
        if both:
            arm = -abs(arm) if typed.texts.get(f"{grid}/{row}/turns") == CW else abs(arm)
        for column, pull in pulls.items():
            found.append((roll, arm, pull, 1.0 if column == "with" else -1.0, row + 1))
    if not found:
        return None
    roll, arm, pull, turning, number = np.array(found, dtype=float).T
    return replace(bench, roll=roll, arm=arm, pull=pull, turning=turning, row=number)


def in_unit(value: float, unit: str, si: str) -> str:
    """A number of the SI unit as a field shows it in its own unit."""
    return f"{round(value / si_factor(unit, si), 6):g}"


def _fields_by_keep_out():
    """The field of a stretch without weight, by what it is called in any language."""
    known: dict[str, str] = {}
    for code in languages():
        with speaking(code):
            named = fields()
            known |= {named[name].label.lower(): name for name in HELD}
            known |= {_("left blade").lower(): "blade", _("right blade").lower(): "blade"}
    return known


def texts_of(paddle: OutsidePaddle) -> dict[str, str]:
    """The texts of a form that make this paddle."""
    half = paddle.shaft.length / 2
    first, second = paddle.shaft.diameters
    texts = {
        "name": paddle.name,
        "mass": in_unit(paddle.mass, "g", "kg"),
        "length": in_unit(paddle.shaft.length, "mm", "m"),
        "balance": in_unit(paddle.balance_point + half, "mm", "m"),
        "shaft": in_unit(first, "mm", "m"),
        "control": paddle.control,
    }
    if first != second:
        texts["across"] = in_unit(second, "mm", "m")
    for name, value in (("feather", paddle.feather), ("face", paddle.face)):
        if value is not None:
            texts[name] = in_unit(value, "deg", "rad")
    if paddle.volume is not None:
        texts["volume"] = f"{round(1e6 * paddle.volume, 3):g}"
    known = _fields_by_keep_out()
    for keep_out in paddle.keep_outs:
        name = known.get(keep_out.name.strip().lower())
        start, stop = ((place + half) / MM for place in (keep_out.start, keep_out.stop))
        if name == "blade":
            texts["blade"] = f"{stop - start:g}"
        elif name is not None:
            texts[name] = f"{start:g} {stop:g}"
    return texts


def texts_of_readings(readings: LeverReadings) -> dict[str, str]:
    """The texts of a form and a grid that make these readings, each angle's pair on one row."""
    step = 2 / RECTANGLE
    arms = np.unique(np.abs(readings.arm))
    if arms.size > 1:
        raise InputError(_("the arm differs by row, expected one length"))
    sides = np.unique(np.sign(readings.arm))
    texts = {
        "support": readings.support,
        "pull": readings.pull_direction,
        "turns": BOTH if sides.size > 1 else CW if sides[0] < 0 else CCW,
        "unit": "g",
        "step": in_unit(step * readings.scale_u, "g", "N"),
        "angle_step": in_unit(readings.angle_u / RECTANGLE, "deg", "rad"),
        "plumb": in_unit(readings.angle_zero_u / RECTANGLE, "deg", "rad"),
        "gain": f"{round(100 * readings.gain_u / RECTANGLE, 6):g}",
        "sense": CCW,
    }
    string = readings.pull_direction != VERTICAL
    texts["lever_step"] = in_unit((2 if string else 1) * readings.arm_u / RECTANGLE, "mm", "m")
    if not string:
        texts["lever"] = in_unit(float(arms[0]), "mm", "m")
    if readings.rest is not None:
        texts["rest"] = in_unit(readings.rest, "deg", "rad")
    row, setting = -1, None
    taken: set[str] = set()
    columns = readings.roll, readings.arm, readings.pull, readings.turning
    for roll, arm, pull, turning in zip(*columns, strict=True):
        column = "with" if turning > 0 else "against"
        if setting != (roll, arm) or column in taken:
            row, setting, taken = row + 1, (roll, arm), set()
            texts[f"{BARE}/{row}/angle"] = in_unit(roll, "deg", "rad")
            texts[f"{BARE}/{row}/turns"] = CW if arm < 0 else CCW
        taken.add(column)
        texts[f"{BARE}/{row}/{column}"] = in_unit(pull, "g", "N")
    return texts
