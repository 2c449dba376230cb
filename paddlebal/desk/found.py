"""What an entry comes to: fit, counterweight, what is in doubt, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from paddlebal.bench.doubts import ENOUGH_SPARE
from paddlebal.bench.films import FilmsFit, best_angle
from paddlebal.bench.fit import fit_bench
from paddlebal.bench.lever import Guess
from paddlebal.bench.plan import (
    Plan,
    expected_readings,
    first_guess,
    next_angle,
    plan_readings,
)
from paddlebal.bench.readings import FilmReadings, LeverReadings
from paddlebal.bench.remedy import Way, settling
from paddlebal.bench.result import BenchFit
from paddlebal.book.alike import CONTRADICT, Alike, Prediction
from paddlebal.desk.entry import (
    Trouble,
    Typed,
    bench_from,
    grid_of,
    mounted,
    paddle_from,
    readings_from,
    sense,
)
from paddlebal.desk.films import film_rows, films_from, films_name
from paddlebal.desk.form import COUNTED, FILMS, Field
from paddlebal.errors import InputError
from paddlebal.limits import Holder
from paddlebal.outside import OutsidePaddle
from paddlebal.pipeline import WORKSHOP_U, Fitting, fit_readings
from paddlebal.unbalance import magnitude, weight_errors
from paddlebal.units import turn_deg

USUAL_ARM = 0.055
"""m, of a piece that is not placed yet."""


COUNTS = (6, 8, 9, 10, 12)
"""Numbers of angles that the desk plans, in rows of the grid."""


MOST_ANGLES = 24
"""Beyond so many angles the desk proposes no further one."""


@dataclass(frozen=True, eq=False)
class Found:
    """What an entry comes to; None where it does not come so far.

    grid: where readings go now. films: how many films there are, None where a lever is used. best:
    angle [rad] of the known mass that would tell most in one more film. proposed: roll angles
    [rad] still to read, in this order.
    advice: before anything is read, what to better first if the plan does not settle the verdict.
    problem: why the readings give no result, in a sentence. before: what the paddles of its model
    before say; agreement: probability that the readings lie so far off that by chance. of_model:
    how many paddles of its model were measured before. arm: longest of a counterweight [m].
    """

    grid: str
    sense: float
    troubles: tuple[Trouble, ...]
    missing: tuple[Field, ...]
    paddle: OutsidePaddle | None = None
    bench: LeverReadings | None = None
    readings: LeverReadings | FilmReadings | None = None
    fit: BenchFit | None = None
    fitting: Fitting | None = None
    plan: Plan | None = None
    proposed: tuple[float, ...] = ()
    advice: tuple[Way, ...] = ()
    problem: str = ""
    unit: str = "g"
    material: str = "brass"
    films: int | None = None
    best: float | None = None
    before: Prediction | None = None
    agreement: float | None = None
    of_model: int = 0
    arm: float = 0.06

    @property
    def enough(self) -> bool:
        """Whether no further reading is needed: enough to spare, no doubt, a settled verdict."""
        fitting = self.fitting
        if isinstance(self.readings, FilmReadings):
            return fitting is not None and fitting.settled
        return (
            fitting is not None
            and fitting.fit.spare >= ENOUGH_SPARE
            and not fitting.doubts
            and not fitting.remedy
        )

    def gauge(self, roll: float) -> float:
        """What the gauge shows [degrees] at a roll angle [rad]."""
        return turn_deg(self.sense * roll)


def found(texts: Mapping[str, str], alike: Alike | None = None) -> Found:
    """What the texts of an entry come to, with the paddles that were measured before."""
    typed = Typed(texts)
    weights = mounted(texts)
    grid = grid_of(texts)
    paddle = paddle_from(typed)
    filmed = typed.choice("way") == FILMS
    bench = None if filmed else bench_from(typed)
    limits = _limits(typed)
    if paddle is not None:
        paddle = paddle.with_counterweights(*weights)
    values: dict[str, Any] = {}
    readings: LeverReadings | FilmReadings | None
    if filmed:
        readings, values = _filmed(typed, grid)
    else:
        readings = readings_from(typed, grid, bench)
    if alike is not None and not weights:
        values["of_model"] = alike.count(typed.text("model"))
        if paddle is not None:
            values["before"] = _before(typed, paddle, alike)
    if readings is not None:
        values |= _fitted(paddle, readings, limits)
        values |= _with_before(typed, values, paddle, limits)
    if isinstance(values.get("fit"), FilmsFit):
        values["best"] = best_angle(values["readings"], values["fit"])
    if bench is not None and paddle is not None:
        values |= _planned(bench, paddle, readings, values)
    missing = tuple(dict.fromkeys(typed.missing))
    return Found(
        grid, sense(typed), tuple(typed.troubles), missing, paddle, bench,
        unit=typed.choice("unit"), material=typed.choice("material"), arm=limits["arm"][1],
        **({"readings": readings} | values),
    )  # fmt: skip


def _before(typed, paddle, alike):
    """What the paddles of its model before say; a reference rod is of no model."""
    model = typed.text("model")
    if not model or typed.number("reference") is not None:
        return None
    return alike.predict(paddle, model, typed.text("size"))


def _with_before(typed, values, paddle, limits):
    """How well readings and the paddles before agree, and the pieces placed by both if wanted."""
    before, fit = values.get("before"), values.get("fit")
    if before is None or fit is None:
        return {}
    agreement = before.agreement(fit.unbalance, fit.unbalance_covariance)
    told = {"agreement": agreement}
    if typed.choice("before") != COUNTED or agreement < CONTRADICT or fit.doubts:
        return told
    return told | _fitted(paddle, values["readings"], limits | {"before": before})


def _filmed(typed, grid):
    """Films as readings, how many there are, and why they cannot be taken together."""
    under = films_name(grid)
    values: dict[str, Any] = {"films": len(film_rows(typed.texts, under))}
    try:
        return films_from(typed, under), values
    except InputError as error:
        return None, values | {"problem": str(error)}


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
        return {"fit": fit_bench(readings), "readings": readings, "problem": problem}
    except InputError as error:
        return {"problem": str(error)}


def _planned(bench, paddle, readings, values):
    """The plan, the angles still to read, and what would settle a verdict."""
    fit, fitting = values.get("fit"), values.get("fitting")
    start = first_guess(paddle.mass, bench.rest)
    if values.get("before") is not None:
        start = start._replace(unbalance=values["before"].unbalance)
    making = _making(start)
    plan = plan_readings(bench, start, making, paddle.mass, COUNTS)
    read = np.empty(0) if readings is None else np.unique(readings.roll)
    proposed = [angle for angle in plan.angles if _apart(angle, read)]
    if fit is not None and fit.friction is not None and not proposed and read.size < MOST_ANGLES:
        settled = fitting is not None and not fitting.doubts and not fitting.remedy
        if not settled:
            guess = Guess(fit.unbalance, max(fit.friction, 1e-4), fit.zero or 0.0)
            proposed = [next_angle(bench, read, guess)]
    advice: tuple[Way, ...] = ()
    if readings is None and not plan.settles:
        expected = expected_readings(bench, plan.angles, start)
        advice = settling(expected, start, plan.covariance, np.zeros(2), making, paddle.mass)
    return {"plan": plan, "proposed": tuple(proposed), "advice": advice}


def _apart(angle, read):
    return not read.size or np.abs(np.angle(np.exp(1j * (read - angle)))).min() > math.radians(3)


def _making(guess):
    """Covariance (2, 2) of a counterweight for a guessed unbalance, made as workshops do."""
    direction = math.atan2(guess.unbalance[1], guess.unbalance[0]) + math.pi
    mass = float(magnitude(guess.unbalance)) / USUAL_ARM
    errors = weight_errors(mass, USUAL_ARM, direction, *WORKSHOP_U)
    return errors.T @ errors
