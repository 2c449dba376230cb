"""What an entry comes to: fit, counterweight, what is in doubt, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.acceptance import acceptance
from paddlebal.bench.doubts import ENOUGH_SPARE
from paddlebal.bench.fit import BenchFit, fit_bench, stated_covariance
from paddlebal.bench.lever import Guess
from paddlebal.bench.plan import (
    Plan,
    even_angles,
    expected_readings,
    first_guess,
    next_angle,
    plan_readings,
)
from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.scatter import SURE
from paddlebal.desk.entry import (
    BARE,
    FITTED,
    Trouble,
    Typed,
    bench_from,
    mounted,
    paddle_from,
    readings_from,
    sense,
)
from paddlebal.desk.form import Field
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.limits import Holder
from paddlebal.outside import OutsidePaddle
from paddlebal.pipeline import WORKSHOP_U, Fitting, fit_readings
from paddlebal.unbalance import magnitude, weight_errors
from paddlebal.units import turn_deg

USUAL_ARM = 0.055
"""m, of a piece that is not placed yet."""


COUNTS = (6, 8, 9, 10, 12)
"""Numbers of angles that the desk plans, in rows of the grid."""


@dataclass(frozen=True, eq=False)
class Found:
    """What an entry comes to; None where it does not come so far.

    grid: where readings go now. proposed: roll angles [rad] still to read, in this order.
    problem: why the readings give no result, in a sentence.
    """

    grid: str
    sense: float
    troubles: tuple[Trouble, ...]
    missing: tuple[Field, ...]
    paddle: OutsidePaddle | None = None
    bench: LeverReadings | None = None
    readings: LeverReadings | None = None
    fit: BenchFit | None = None
    fitting: Fitting | None = None
    plan: Plan | None = None
    proposed: tuple[float, ...] = ()
    problem: str = ""
    remedies: tuple[str, ...] = ()
    unit: str = "g"
    material: str = "brass"

    @property
    def enough(self) -> bool:
        """Whether no further reading is needed: enough to spare, no doubt, a settled verdict."""
        fitting = self.fitting
        return (
            fitting is not None
            and fitting.fit.spare >= ENOUGH_SPARE
            and not fitting.doubts
            and not self.remedies
        )

    def gauge(self, roll: float) -> float:
        """What the gauge shows [degrees] at a roll angle [rad]."""
        return turn_deg(self.sense * roll)


def found(texts: Mapping[str, str]) -> Found:
    """What the texts of an entry come to."""
    typed = Typed(texts)
    weights = mounted(texts)
    grid = FITTED if weights else BARE
    paddle, bench = paddle_from(typed), bench_from(typed)
    limits = _limits(typed)
    if paddle is not None:
        paddle = paddle.with_counterweights(*weights)
    values: dict[str, Any] = {}
    readings = None
    if bench is not None:
        columns: dict[str, Any] = readings_from(typed, grid, bench)
        if columns["roll"].size:
            readings = replace(bench, **columns)
    if readings is not None:
        values |= _fitted(paddle, readings, limits)
    if bench is not None and paddle is not None:
        values |= _planned(bench, paddle, readings, values)
    missing = tuple(dict.fromkeys(typed.missing))
    return Found(
        grid, sense(typed), tuple(typed.troubles), missing, paddle, bench,
        unit=typed.choice("unit"), material=typed.choice("material"),
        **({"readings": readings} | values),
    )  # fmt: skip


def _limits(typed):
    arm, reach = typed.number("arm"), typed.number("reach")
    holder, holder_arm = typed.number("holder"), typed.number("holder_arm")
    return {
        "material": typed.choice("material"),
        "pieces": typed.choice("pieces"),
        "arm": (0.0, arm or 0.06),
        "reach": reach or math.inf,
        "holder": Holder(holder, holder_arm or 0.0) if holder else None,
    }


def _fitted(paddle, readings, limits):
    """Fit and placement, or why there is none."""
    problem = ""
    if paddle is not None:
        try:
            fitting = fit_readings(paddle, readings, **limits)
            return {"fit": fitting.fit, "readings": fitting.readings, "fitting": fitting}
        except InputError as error:
            problem = str(error)
    try:
        return {"fit": fit_bench(readings), "problem": problem}
    except InputError as error:
        return {"problem": str(error)}


def _planned(bench, paddle, readings, values):
    """The plan, the angles still to read, and what would settle a verdict."""
    fit, fitting = values.get("fit"), values.get("fitting")
    start = first_guess(paddle.mass, bench.rest)
    plan = plan_readings(bench, start, _making(start), paddle.mass, COUNTS)
    read = np.empty(0) if readings is None else np.unique(readings.roll)
    proposed = [angle for angle in plan.angles if _apart(angle, read)]
    remedies: tuple[str, ...] = ()
    settled = False
    if fit is not None and fit.friction is not None:
        guess = Guess(fit.unbalance, max(fit.friction, 1e-4), fit.zero or 0.0)
        if fitting is not None and not fitting.doubts:
            settled = not fitting.remedy
            if not settled and fit.spare >= ENOUGH_SPARE:
                remedies = settling(fitting, bench, np.unique(readings.roll), guess)
        if not proposed and not settled and read.size < 24:
            proposed = [next_angle(bench, read, guess)]
    return {"plan": plan, "proposed": tuple(proposed), "remedies": remedies}


def _apart(angle, read):
    return not read.size or np.abs(np.angle(np.exp(1j * (read - angle)))).min() > math.radians(3)


def _making(guess):
    """Covariance (2, 2) of a counterweight for a guessed unbalance, made as workshops do."""
    direction = math.atan2(guess.unbalance[1], guess.unbalance[0]) + math.pi
    mass = float(magnitude(guess.unbalance)) / USUAL_ARM
    errors = weight_errors(mass, USUAL_ARM, direction, *WORKSHOP_U)
    return errors.T @ errors


def settling(
    fitting: Fitting, bench: LeverReadings, angles: Array, guess: Guess
) -> tuple[str, ...]:
    """What would settle the verdict, in words; if nothing alone does, what helps most.

    Each way is tried on readings expected at the same angles.
    """
    making = fitting.making()
    residual, mass = fitting.residual, fitting.balanced.mass

    def chance(bench, angles, making):
        covariance = stated_covariance(expected_readings(bench, angles, guess), guess)
        return acceptance(
            residual, covariance[:2, :2] + making, guess.friction,
            math.sqrt(covariance[2, 2]), mass, draws=20_000,
        ).probability  # fmt: skip

    now = chance(bench, angles, making)
    ways = list(_ways(bench, angles))
    chances = [(chance(other, where, making), group, words) for group, words, other, where in ways]
    chances.append(
        (chance(bench, angles, making / 4), "piece", _("a piece made and fitted twice as closely"))
    )
    first: dict[str, str] = {}
    for probability, group, words in chances:
        if probability >= SURE or probability <= 1 - SURE:
            first.setdefault(group, words)
    if first:
        return tuple(first.values())
    best, _group, words = max(chances)
    if best <= now + 0.01:
        return (_("nothing alone: a finer scale, a longer lever and more angles together"),)
    return (
        _("{way} helps most ({best:.0%} in place of {now:.0%})").format(
            way=words, best=best, now=now
        ),
    )


def _ways(bench, angles):
    """(group, words, bench, angles) of what could be bettered, the small steps first."""
    for times in (2, 5, 10):
        yield (
            "scale",
            _("a scale with steps {times} times as fine").format(times=times),
            replace(bench, scale_u=bench.scale_u / times),
            angles,
        )
    if bench.pull_direction == "vertical":
        for length in (0.3, 0.4, 0.5):
            if length > abs(bench.arm[0]):
                yield (
                    "lever",
                    _("a lever of {length:.0f} mm").format(length=1e3 * length),
                    replace(bench, arm=np.sign(bench.arm) * length),
                    angles,
                )
    yield (
        "arm",
        _("the lever measured twice as closely"),
        replace(bench, arm_u=bench.arm_u / 2),
        angles,
    )
    yield (
        "angle",
        _("angles set twice as closely"),
        replace(bench, angle_u=bench.angle_u / 2, angle_zero_u=bench.angle_zero_u / 2),
        angles,
    )
    for count in (8, 12, 18, 24):
        if count > len(angles):
            yield "count", _("{count} angles").format(count=count), bench, even_angles(count)
