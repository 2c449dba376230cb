"""How long a grip can be held: the three-compartment model of fatigue and endurance curves.

The model splits a muscle into shares that are active, resting and fatigued (MA, MR and MF,
together 1). A controller C drives MA toward the load; active muscle tires at the rate F,
fatigued muscle recovers at the rate R, times r while the hand rests:

    dMA/dt = C - F MA,   dMR/dt = -C + R MF,   dMF/dt = F MA - R MF

    C = L (load - MA)   while muscle at rest suffices, or the load is too small
    C = L MR            when it does not

Xia and Frey Law, J. Biomechanics 41 (2008) 3046 (from memory); the rest multiplier r: Looft,
Herkert and Frey-Law, J. Biomechanics 77 (2018) 16. The task fails when MA + MR = 1 - MF, all
that is not fatigued, falls below the load.

Published parameters disagree, and none is tuned here: `endurance_band` shows all of them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from numbers import Real
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.files.published import published_rows

CONTROLLER = 10.0
"""1/s, the rate L at which force develops and relaxes (Xia and Frey Law 2008; from memory)."""


ENDURANCE_CONCLUSIONS = {
    "may": "The published models agree that a smaller share of maximum grip, or more rest "
    "between holds, is held longer; so by them less holding torque is never worse.",
    "may not": "They do not agree on how long: at the same load one may fail within minutes "
    "and another never. Nobody can read from them how many minutes a hand will last, "
    "and no test of them at the pace of a paddle stroke was found.",
}
"""What a coach may and may not conclude."""


class FatigueSet(NamedTuple):
    """Rates F and R [1/s, above 0] and the rest multiplier r, as published under `source`."""

    name: str
    fatigue: float
    recovery: float
    rest_multiplier: float
    source: str = ""


class Course(NamedTuple):
    """A hold over time: s, and the shares (n,) that are active, resting and fatigued.

    failed_at [s] is when the task failed, the last of `time`, or infinite if it had not by then.
    """

    time: Array
    active: Array
    resting: Array
    fatigued: Array
    failed_at: float


class Band(NamedTuple):
    """Least and greatest endurance [s] of the published figures; `members` maps name to s.

    Infinite means never: by that figure the load can be held for ever.
    """

    least: float
    greatest: float
    members: dict[str, Any]


def _source(row):
    return f"{row['authors']} ({row['year']}), {row['title']}, {row['place']}; {row['how_read']}"


def fatigue_sets() -> tuple[FatigueSet, ...]:
    """The published parameter sets for the hand, data/published/fatigue_parameters.csv.

    Returns
    -------
    tuple of FatigueSet
    """
    numbers = ("fatigue", "recovery", "rest_multiplier")
    return tuple(
        FatigueSet(row["name"], source=_source(row), **{field: row[field] for field in numbers})
        for row in published_rows("fatigue_parameters", numbers)
    )


def _phases(load, duty, period):
    """Length of hold and rest [s], once load, duty and period have been found sound."""
    if not (isinstance(load, Real) and 0 <= float(load) < math.inf):
        raise InputError("expected one share of maximum grip, 0 or more", field="load")
    if not (isinstance(duty, Real) and 0 < float(duty) <= 1):
        raise InputError("expected a fraction of the time, above 0 and up to 1", field="duty")
    if duty == 1:
        return 60.0, 0.0  # holds that follow each other at once: any length gives the same
    if not (isinstance(period, Real) and 0 < float(period) < math.inf):
        raise InputError("holding with rests needs the period of hold and rest", field="period")
    return duty * period, (1 - duty) * period


def _recovery(load, rates):
    return rates.recovery if load > 0 else rates.rest_multiplier * rates.recovery


def _flows(state, load, rates):
    """Rates of change [1/s] of the active and the fatigued share."""
    active, fatigued = state
    resting = 1 - active - fatigued
    drive = CONTROLLER * min(load - active, resting)
    tiring = rates.fatigue * active
    return drive - tiring, tiring - _recovery(load, rates) * fatigued


def fatigue_course(
    load: float, rates: FatigueSet, duration: float, duty: float = 1.0, period: float | None = None
) -> Course:
    """The three compartments over time, by numerical integration, until failure or the end.

    Parameters
    ----------
    load : float
        Share of maximum grip while holding.
    rates : FatigueSet
    duration : float
        s.
    duty, period : float
        Part of each period [s] that is held; the hold comes first, then the rest.

    Returns
    -------
    Course
    """
    hold, rest = _phases(load, duty, period)
    phases = [(hold, load), (rest, 0.0)] if rest else [(hold, load)]

    def spare(_, state, target):
        return 1 - state[1] - target

    def flows(_, state, target):
        return _flows(state, target, rates)

    spare.terminal = True  # type: ignore[attr-defined]
    now, state, failed_at = 0.0, np.zeros(2), math.inf
    times, states = [np.zeros(1)], [np.zeros((2, 1))]
    for length, target in itertools.cycle(phases):
        if now >= duration:
            break
        if target and spare(now, state, target) <= 0:
            failed_at = now
            break
        part = solve_ivp(
            flows,
            (now, min(now + length, duration)),
            state,
            method="LSODA",
            events=spare if target else None,
            args=(target,),
            rtol=1e-8,
            atol=1e-10,
        )
        times.append(part.t[1:])
        states.append(part.y[:, 1:])
        now, state = float(part.t[-1]), part.y[:, -1]
        if part.status == 1:
            failed_at = now
            break
    time, (active, fatigued) = np.concatenate(times), np.concatenate(states, axis=1)
    return Course(time, active, 1 - active - fatigued, fatigued, failed_at)


def _transition(load, rates, duration):
    """Matrix (3, 3) that carries (MA, MF, 1) over a phase while the controller keeps up."""
    rise, recovery = CONTROLLER + rates.fatigue, _recovery(load, rates)
    active = CONTROLLER * load / rise
    fatigued = rates.fatigue * active / recovery
    fast, slow = math.exp(-rise * duration), math.exp(-recovery * duration)
    tired = rates.fatigue * (slow - fast) / (rise - recovery)
    return np.array(
        [
            [fast, 0.0, active * (1 - fast)],
            [tired, slow, fatigued * (1 - slow) - active * tired],
            [0.0, 0.0, 1.0],
        ]
    )


def _cycles_until(fails, cycle):
    """Number of whole cycles before the hold that fails, and the state at its start.

    Fatigue at the start of a hold only grows from cycle to cycle, so powers of two of the
    cycle bracket the number and then make it up.
    """
    count, start = 0, np.array([0.0, 0.0, 1.0])
    if fails(start):
        return count, start
    powers = [cycle]
    while not fails(powers[-1] @ start):
        powers.append(powers[-1] @ powers[-1])
    for order, power in reversed(list(enumerate(powers))):
        if not fails(power @ start):
            count, start = count + 2**order, power @ start
    return count + 1, cycle @ start


def endurance_time(
    load: float, rates: FatigueSet, duty: float = 1.0, period: float | None = None
) -> float:
    """Time [s] until a hold fails by the three-compartment model; infinite if it never does.

    Until failure the controller keeps up and the model is linear, so a phase is one matrix and
    many cycles are a power of their product: exact, and quick. `fatigue_course` integrates
    the same model step by step.

    Parameters
    ----------
    load : float
        Share of maximum grip while holding; from 1 on the time is 0.
    rates : FatigueSet
    duty : float
        Part of each period that is held, 1 for a sustained hold.
    period : float
        s, needed if duty is below 1. Much below a second the controller, a tenth of a second
        slow, no longer reaches the load, and the model says little.

    Returns
    -------
    float

    Raises
    ------
    InputError
        If load, duty or period make no sense.
    """
    hold, rest = _phases(load, duty, period)
    limit = 1 - load
    if limit <= 0:
        return 0.0
    holding = _transition(load, rates, hold)
    cycle = _transition(0.0, rates, rest) @ holding

    def peak(start):
        return max(start[1], (holding @ start)[1])

    steady = np.linalg.solve(np.eye(2) - cycle[:2, :2], cycle[:2, 2])
    if peak(np.append(steady, 1.0)) - limit < 1e-9:
        return math.inf
    cycles, start = _cycles_until(lambda start: peak(start) >= limit, cycle)

    def excess(time):
        return (_transition(load, rates, time) @ start)[1] - limit

    within = brentq(excess, 0.0, hold) if excess(0.0) < 0 else 0.0
    return cycles * (hold + rest) + within


def endurance_curve(load: ArrayLike) -> Array:
    """Sustained endurance [s] by the published power curve for the hand, a load^b.

    Frey Law and Avin (2010), a fit to many experiments; data/published/endurance_curve.csv.
    load is a share of maximum grip, array_like, above 0; above 1 the time is 0.

    Parameters
    ----------
    load : array_like (...)
        Share of maximum grip, above 0.

    Returns
    -------
    ndarray (...)
        s.
    """
    (curve,) = published_rows("endurance_curve", ["coefficient_s", "exponent"])
    load = np.asarray(load, dtype=float)
    return np.where(load <= 1, curve["coefficient_s"] * load ** curve["exponent"], 0.0)[()]


def endurance_band(
    load: float | Sequence[float], duty: float = 1.0, period: float | None = None
) -> Band:
    """Least and greatest endurance of all published sets and, for a sustained hold, the curve.

    Parameters
    ----------
    load : float or (least, greatest)
        Share of maximum grip while holding. Of a range, as from `grip.share_range`, the
        greatest gives the least endurance and the least the greatest: interval arithmetic.
    duty, period : float
        As in `endurance_time`.

    Returns
    -------
    Band
        Its members are taken at the greatest load.
    """
    light, heavy = load if isinstance(load, Sequence) else (load, load)
    longest, shortest = (_members(share, duty, period) for share in (light, heavy))
    return Band(min(shortest.values()), max(longest.values()), shortest)


def _members(load, duty, period):
    members = {rates.name: endurance_time(load, rates, duty, period) for rates in fatigue_sets()}
    if duty == 1:
        members["power curve"] = float(endurance_curve(load)) if load else math.inf
    return members
