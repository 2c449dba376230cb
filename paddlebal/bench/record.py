"""A swing recorded as roll angle against time, fitted whole, from release to standstill.

Dry friction stops the paddle a little off rest and takes the same from each half swing; drag
takes a share of each. Which is which shows only over the whole record. The angle tells nothing
about masses: only ratios come out of it, to the unbalance or to the inertia.

Film along the shaft, from the release on. `paddlebal.read_bench` reads the record:

    # method = "swing record"
    # support = "rollers"
    # radius_mm = 14.6
    # angle_u_deg = 0.4
    time [s],roll [deg]
    0.0173,-5.9

A frame that was dropped is left out; the times need not be even.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import least_squares

from paddlebal.arrays import Array
from paddlebal.bench.half_swings import swings
from paddlebal.bench.readings import SwingRecord
from paddlebal.bench.scatter import birge_ratio
from paddlebal.bench.swing import slope
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

UNKNOWNS = ("stiffness", "friction", "drag", "rest", "start", "rate")
"""What is fitted, in the order of the covariance."""


def swing_angles(time, stiffness, friction, drag, start, rate, radius=0.0):
    """Angles from rest of a paddle that swings under dry friction and drag.

    Parameters
    ----------
    time : ndarray (n,)
        s, growing; the swing starts at the first.
    stiffness : float
        Square of the rate of a small free swing [1/s²]: g |U| over the moment of inertia
        about the line on which the paddle turns at rest.
    friction : float
        Dry friction moment over g |U|: the sine of the greatest angle at which it stays.
    drag : float
        Moment per rate of roll over that moment of inertia [1/s].
    start, rate : float
        Angle [rad] and rate [rad/s] at the first time.
    radius : float
        Of a shaft that rolls on rails without slip [m]; 0 on rollers.

    Returns
    -------
    ndarray (n,)
        rad. Where it turns back within the reach of friction it stays.
    """
    # In units of the unbalance: only ratios matter.
    inertia = STANDARD_GRAVITY / stiffness
    accelerate = numeric("braked_rolling_acceleration")
    fixed = 1.0, inertia + 2 * radius, 0.0, radius, STANDARD_GRAVITY

    def motion(_, state, way):
        angle, rate = state
        brake = way * friction * STANDARD_GRAVITY + drag * inertia * rate
        return rate, accelerate(angle, rate, *fixed, -brake)

    def turning_point(_, state, way):
        return way * state[1]

    turning_point.terminal, turning_point.direction = True, -1  # type: ignore[attr-defined]
    angles, now, angle = np.empty(len(time)), time[0], start
    while now < time[-1] and (rate != 0 or abs(np.sin(angle)) > friction):
        way = np.sign(rate) if rate else -np.sign(np.sin(angle))
        half = solve_ivp(
            motion, (now, time[-1]), (angle, rate), method="DOP853", args=(way,),
            events=turning_point, dense_output=True, rtol=1e-8, atol=1e-10,
        )  # fmt: skip
        covered = (time >= now) & (time <= half.t[-1])
        if covered.any():
            angles[covered] = half.sol(time[covered])[0]
        if half.status == 0:
            return angles
        now, angle, rate = half.t[-1], half.y[0, -1], 0.0
    angles[time >= now] = angle
    return angles


@dataclass(frozen=True, eq=False)
class SwingRecordFit:
    """What a recorded swing says about a paddle and its bench.

    Parameters
    ----------
    stiffness, friction, drag : float
        As `swing_angles` takes them: g |U| over the moment of inertia [1/s²]; dry friction
        moment over g |U|; drag over the moment of inertia [1/s].
    rest : float
        Recorded angle [rad] at which the unbalance points down.
    covariance : ndarray (6, 6)
        In the order of `UNKNOWNS`: stiffness, friction, drag, rest, start angle from rest
        [rad], rate at the start [rad/s].
    residuals : ndarray (n,)
        Recorded minus fitted angle [rad].
    birge, enlarged
        As in BenchFit.
    radius : float
        As `swing_angles` takes it: of the shaft on rails, 0 on rollers.
    other : SwingRecordFit, optional
        Another reading of the record that is hardly less likely: the swing then stops after
        another half swing, with another friction.
    """

    stiffness: float
    friction: float
    drag: float
    rest: float
    covariance: Array
    residuals: Array
    birge: float | None
    enlarged: bool
    radius: float
    other: SwingRecordFit | None = None

    @property
    def doubts(self) -> tuple[str, ...]:
        """What makes the result doubtful, a tuple of sentences."""
        if self.other is None:
            return ()
        here, there = (
            f"friction {each.friction:.3f} and stiffness {each.stiffness:.1f}/s²"
            for each in (self, self.other)
        )
        return (
            f"Where the swing stops is open: {here} explain the record, and so do {there}. Film "
            "it closer, or let it go from another angle.",
        )

    def uncertainty(self, name):
        """Standard uncertainty of one of the `UNKNOWNS`."""
        place = UNKNOWNS.index(name)
        return float(np.sqrt(self.covariance[place, place]))

    def inertia(self, unbalance, mass, unbalance_covariance=None):
        """Roll inertia about the shaft axis and its standard uncertainty [kg·m²].

        From an unbalance (2,) [kg·m] measured in another way, such as with the lever, its
        covariance (2, 2) (by default known exactly), and the paddle's mass [kg], which
        matters on rails only.
        """
        size = float(magnitude(unbalance))
        inertia, by_stiffness, by_size = numeric("small_swing_inertia")(
            self.stiffness, size, mass, self.radius, STANDARD_GRAVITY
        )
        variance = (by_stiffness * self.uncertainty("stiffness")) ** 2
        if unbalance_covariance is not None:
            direction = np.asarray(unbalance) / size
            variance += by_size**2 * (direction @ unbalance_covariance @ direction)
        return inertia, float(np.sqrt(variance))

    def unbalance_size(self, inertia, mass, inertia_u=0.0):
        """Size of the unbalance and its standard uncertainty [kg·m].

        From the roll inertia and its standard uncertainty [kg·m²], and the mass [kg].
        """

        def size(stiffness=self.stiffness, inertia=inertia):
            equation = numeric("small_swing_unbalance")
            return equation(stiffness, inertia, mass, self.radius, STANDARD_GRAVITY)

        by_stiffness = slope(lambda factor: size(stiffness=factor * self.stiffness))
        by_inertia = slope(lambda factor: size(inertia=factor * inertia))
        shares = self.uncertainty("stiffness") / self.stiffness, inertia_u / inertia
        return size(), float(np.hypot(by_stiffness * shares[0], by_inertia * shares[1]))

    def friction_moment(self, unbalance):
        """Dry friction moment [N·m], from the unbalance (2,) [kg·m]."""
        return self.friction * STANDARD_GRAVITY * float(magnitude(unbalance))


def fit_swing_record(
    record: SwingRecord, track: Callable[[Iterable[int]], Iterable[int]] = iter
) -> SwingRecordFit:
    """Fit a swing to a record by least squares, computing it over again for each trial.

    The first swing is fitted by itself, then twice as much, and so on to the whole: so the
    fit keeps count of the swings. Each angle errs by itself with the stated uncertainty; an
    error that all share, such as a clock that runs fast, is not seen.

    Parameters
    ----------
    record : SwingRecord
        From the release on; the hand that let go must be off the paddle.
    track : callable
        Wraps the list of stretches that are fitted in turn, to show progress; such as tqdm.

    Returns
    -------
    SwingRecordFit

    Raises
    ------
    InputError
        If the record is too short: it must pass rest three times, and hold more angles than
        there are unknowns.
    """
    if record.time.size <= len(UNKNOWNS):
        names = ", ".join(UNKNOWNS)
        raise InputError(f"{record.time.size} angles cannot give the unknowns {names}")
    time, angle = record.time - record.time[0], np.asarray(record.roll, dtype=float)
    angle_u = np.broadcast_to(record.angle_u, time.shape)
    radius = record.radius if record.support == "rails" else 0.0

    unknowns, half = _first_guess(time, angle)
    counts = [int(np.searchsorted(time, 3 * half))]
    while counts[-1] < time.size:
        counts.append(int(np.searchsorted(time, 3 * half * 2 ** len(counts))))

    def minimum(unknowns, count):
        misfit = _Misfit(time[:count], angle[:count], angle_u[:count], radius)
        return least_squares(
            misfit.residuals, unknowns, misfit.slopes, x_scale="jac",
            bounds=([1e-6, 0, 0, -np.inf, -np.inf, -np.inf], np.inf),
        )  # fmt: skip

    for count in track(counts):
        found = minimum(unknowns, count)
        unknowns = found.x
    minima = [found]
    fitted = angle - found.fun * angle_u
    stopped = abs(fitted[-1] - fitted[-2]) < 1e-9
    if stopped:  # after how many half swings is a minimum each
        starts = (unknowns * np.where(np.arange(6) == 1, times, 1.0) for times in ELSEWHERE)
        minima += [minimum(start, time.size) for start in starts]
    best, *others = (
        _record_fit(each, angle_u, radius) for each in sorted(minima, key=lambda each: each.cost)
    )
    return replace(best, other=next(filter(partial(_rivals, best, angle_u), others), None))


def swing_covariance(
    time: Array, unknowns: Array, angle_u: float | Array, radius: float = 0.0
) -> Array:
    """Covariance (6, 6) that a record of angles at these times would give.

    Parameters
    ----------
    time : ndarray (n,)
        s, from the start of the swing.
    unknowns : ndarray (6,)
        In the order of `UNKNOWNS`.
    angle_u : float or ndarray (n,)
        Standard uncertainty of each angle by itself [rad].
    radius : float
        Of a shaft that rolls on rails [m]; 0 on rollers.

    Returns
    -------
    ndarray (6, 6)
    """
    slopes = _Misfit(time, np.zeros(time.size), angle_u, radius).slopes(unknowns)
    return np.linalg.inv(slopes.T @ slopes)


ELSEWHERE = (0.8, 1.2)
"""Shares of the friction first found from which another minimum is looked for."""


RIVAL = 11.8
"""Chi-square above the best one below which another minimum is told: 3 sigma of two unknowns."""


def _record_fit(found, angle_u, radius):
    residuals = found.fun * angle_u
    birge, enlarged = birge_ratio(residuals, angle_u**2, len(UNKNOWNS))
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    covariance *= birge**2 if enlarged else 1.0
    stiffness, friction, drag, rest, _, _ = map(float, found.x)
    return SwingRecordFit(
        stiffness, friction, drag, rest, covariance, residuals, birge, enlarged, radius
    )


def _rivals(best, angle_u, other):
    """Whether another minimum lies elsewhere and explains the record hardly worse."""
    apart = abs(other.friction - best.friction) > 2 * best.uncertainty("friction")
    scale = best.birge**2 if best.enlarged else 1.0
    worse = np.sum((other.residuals / angle_u) ** 2) - np.sum((best.residuals / angle_u) ** 2)
    return apart and worse < RIVAL * scale


class _Misfit:
    """A record less a swing with given unknowns, over the angles' uncertainties, and its slopes."""

    STEPS = np.array([1e-5, 1e-5, 1e-4, 1e-4, 1e-4, 1e-3])
    """Of the unknowns, the first one's as a share of it."""

    def __init__(self, time, angle, angle_u, radius):
        self._time, self._angle, self._angle_u, self._radius = time, angle, angle_u, radius
        self._unknowns = self._found = self._slopes = None

    def residuals(self, unknowns):
        self._update(unknowns)
        return self._found

    def slopes(self, unknowns):
        self._update(unknowns)
        return self._slopes

    def _update(self, unknowns):
        """Both come from one sweep over the swing and its neighbours."""
        if self._unknowns is not None and np.array_equal(unknowns, self._unknowns):
            return
        steps = self.STEPS * np.where(np.arange(6) == 0, unknowns[0], 1.0)
        near = np.vstack([unknowns, unknowns + np.diag(steps)])
        stiffness, friction, drag, rest, start, rate = near.T
        swing = np.array([stiffness, friction, drag])
        angles, found = swings(self._time, swing, start, rate, self._radius)
        for i in np.flatnonzero(~found):
            own = stiffness[i], friction[i], drag[i], start[i], rate[i]
            angles[i] = swing_angles(self._time, *own, self._radius)
        off = (self._angle - rest[:, None] - angles) / self._angle_u
        self._unknowns, self._found = np.array(unknowns), off[0]
        self._slopes = ((off[1:] - off[0]) / steps[:, None]).T


def _first_guess(time, angle):
    """Unknowns to begin with, and the time [s] of half a swing."""
    rest = float(np.median(angle))
    away = angle - rest
    largest = np.abs(away).max()
    wide = np.flatnonzero(np.abs(away) > largest / 5)
    turns = np.flatnonzero(np.diff(np.sign(away[wide])))
    if turns.size < 3:
        raise InputError("the record passes rest fewer than three times, expected a longer swing")
    passes = (time[wide[turns]] + time[wide[turns + 1]]) / 2
    half = float(np.median(np.diff(passes)))
    rate = float(np.polyfit(time[:3], angle[:3], 1)[0])
    return np.array([(np.pi / half) ** 2, 0.02, 0.1, rest, away[0], rate]), half
