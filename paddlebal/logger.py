"""A paddle's roll torque from an inertial logger strapped to its shaft.

The logger gives angular rate w and specific force f in its own axes. Turned into the paddle's axes
and carried to O, f_O = f - dw x r - w x (w x r), they give the moment of hands and water together
about O at each instant, M = I dw + w x (I w) + S x f_O, with neither orientation nor an integral
(Newton and Euler; specific force as in D. H. Titterton, J. L. Weston, Strapdown Inertial Navigation
Technology, 2004, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.felt import force_at
from paddlebal.paddle import Counterweight, Paddle
from paddlebal.units import DEG, STANDARD_GRAVITY
from paddlebal.work import mass_properties

POSES = {"moving": 0.0, "level": 1.0, "side": 2.0, "upright": 3.0, "turned": 4.0}
"""How the paddle was held: level with the mark away from the paddler (roll 0); level, rolled a
quarter turn so that the mark is up; upright, the right blade up; level, rolled half a turn."""


UP = {1: (0.0, 0.0, 1.0), 2: (0.0, 1.0, 0.0), 3: (1.0, 0.0, 0.0), 4: (0.0, 0.0, -1.0)}
"""Where up is in the paddle's axes in each still pose."""


NEEDED = ("level", "side", "upright")


STILL = 20
"""Samples of a still pose without which it does not count."""


WINDOW = 0.08
"""s over which a rate is fitted by a cubic to get its slope."""


POSE_U = 1.0 * DEG
"""Standard uncertainty with which a pose is held: assumed, no source."""


GAP = 3.0
"""Sample times without a sample at which a record is refused."""


@dataclass(frozen=True, eq=False)
class LoggerRecord:
    """What a logger on the shaft recorded, in its own axes.

    Parameters
    ----------
    time : ndarray (n,)
        s, growing.
    rate, force : ndarray (n, 3)
        Angular rate [rad/s] and specific force [m/s²].
    pose : ndarray (n,) of int
        By the numbers of POSES.
    place : ndarray (3,)
        Of the logger in the paddle's axes [m].
    place_u : float
        Standard uncertainty of each of its coordinates [m].
    mass : float
        Of the logger [kg].
    counted : bool
        Whether the torque is that of the paddle with the logger on it.
    name : str
        Of the file.
    """

    time: Array
    rate: Array
    force: Array
    pose: NDArray[np.int_]
    place: Array
    place_u: float
    mass: float = 0.0
    counted: bool = False
    name: str = ""

    @property
    def weight(self) -> Counterweight:
        """The logger as a weight on the paddle."""
        x, y, z = (float(each) for each in self.place)
        return Counterweight(self.mass, math.hypot(y, z), math.atan2(z, y), x)


@dataclass(frozen=True, eq=False)
class LoggedTorque:
    """Roll torque of hands and water from a logger.

    Parameters
    ----------
    time : ndarray (n,)
        s, of the moving part, in equal steps.
    torque, torque_u : ndarray (n,)
        About +x [N·m], and its standard uncertainty at each instant.
    omega, domega : ndarray (n, 3)
        Angular velocity [rad/s] and acceleration [rad/s²] in the paddle's axes.
    force : ndarray (n, 3)
        Specific force at O in these axes [m/s²].
    turned : ndarray (3, 3)
        From the logger's axes to the paddle's.
    """

    time: Array
    torque: Array
    torque_u: Array
    omega: Array
    domega: Array
    force: Array
    turned: Array

    @cached_property
    def rows(self) -> Array:
        """What each mass property by itself gives to the torque, (8, n), as `motion_rows`."""
        return _rows(self.omega, self.domega, self.force)

    @cached_property
    def cycles(self) -> tuple[slice, ...]:
        """Whole cycles, a right stroke and a left one each, cut where the paddle's main turning
        goes through zero upward."""
        steps = self.time[1] - self.time[0]
        main = np.linalg.svd(self.omega - self.omega.mean(axis=0), full_matrices=False)[2][0]
        turning = (self.omega - self.omega.mean(axis=0)) @ main
        power = np.abs(np.fft.rfft(turning * np.hanning(turning.size))) ** 2
        frequency = np.fft.rfftfreq(turning.size, steps)
        power[frequency < 0.2] = 0.0
        period = 1 / frequency[int(np.argmax(power))]
        smooth = _smoothed(turning, steps, 0.25 * period)
        up = np.flatnonzero((smooth[:-1] < 0) & (smooth[1:] >= 0)) + 1
        return tuple(
            slice(int(a), int(b)) for a, b in zip(up[:-1], up[1:], strict=True)
            if 0.7 < (b - a) * steps / period < 1.4
        )  # fmt: skip

    def mean_cycle(self, samples: int = 100) -> tuple[Array, Array]:
        """Mean torque [N·m] over a cycle in equal steps (samples,), and how cycles spread."""
        each = self._by_cycle(self.torque, samples)
        return each.mean(axis=0), each.std(axis=0, ddof=1)

    def mean_rows(self, samples: int = 100) -> Array:
        """The rows over a mean cycle (8, samples): a motion for `balance_for_motion`."""
        return np.stack([self._by_cycle(row, samples).mean(axis=0) for row in self.rows])

    def _by_cycle(self, values, samples):
        """Values (n,) over each cycle in equal steps (cycles, samples)."""
        if len(self.cycles) < 2:
            raise InputError(
                f"holds {len(self.cycles)} whole cycles, expected two or more strokes of each side"
            )
        share = np.arange(samples) / samples
        return np.array([
            np.interp(share, np.arange(part.stop - part.start) / (part.stop - part.start),
                      values[part])
            for part in self.cycles
        ])  # fmt: skip


def _check(record):
    def refuse(problem):
        raise InputError(problem, file=record.name or None)

    steps = np.diff(record.time)
    usual = float(np.median(steps))
    moving = record.pose == 0
    if moving.sum() < 50:
        refuse("holds hardly any motion, expected rows whose pose says moving")
    worst = int(np.argmax(steps * (moving[1:] & moving[:-1])))
    if steps[worst] > GAP * usual and moving[worst] and moving[worst + 1]:
        refuse(
            f"lacks samples after {record.time[worst]:.2f} s, {steps[worst] / usual:.0f} steps at "
            "once: were some dropped, or did the clock jump?"
        )
    for values, what in ((record.rate, "rate"), (record.force, "specific force")):
        for axis, column in zip("xyz", values[moving].T, strict=True):
            if _clipped(column):
                refuse(f"is clipped: the {what} {axis} stays at its greatest value")
    for name in NEEDED:
        count = int(np.sum(record.pose == POSES[name]))
        if count < STILL:
            refuse(f"shows the pose '{name}' in {count} rows, expected {STILL} or more")
    for number in UP:
        still = record.pose == number
        if still.sum() < STILL:
            continue
        size = float(np.linalg.norm(record.force[still].mean(axis=0)))
        if abs(size / STANDARD_GRAVITY - 1) > 0.05:
            refuse(
                f"shows {size:.2f} m/s² while it is held still, expected {STANDARD_GRAVITY:.2f}: "
                "is the unit right?"
            )


def _clipped(column):
    """Whether the greatest size is held over three samples in a row, three times or more."""
    top = np.abs(column) >= np.abs(column).max() * (1 - 1e-9)
    return int(np.sum(top[:-2] & top[1:-1] & top[2:])) >= 3


def _turned(record):
    """Rotation (3, 3) from the logger's axes to the paddle's, the bias of the rates and of the
    forces, and the noise of one sample of each."""
    from scipy.spatial.transform import Rotation

    still = record.pose > 0
    numbers = [number for number in UP if np.sum(record.pose == number) >= STILL]
    means = np.array([record.force[record.pose == number].mean(axis=0) for number in numbers])
    rate = record.rate[still].mean(axis=0)
    force = np.zeros(3)
    if 1 in numbers and 4 in numbers:  # opposite poses: what is left of their sum is bias
        force = (means[numbers.index(1)] + means[numbers.index(4)]) / 2
    wanted = np.array([UP[number] for number in numbers])
    if np.linalg.det(np.linalg.lstsq(means - force, wanted)[0]) < 0:
        raise InputError(
            "has left-handed axes, expected right-handed ones: turn the sign of one axis, of rate "
            "and force alike; or, if a force that points down was logged, of all three forces",
            file=record.name or None,
        )
    turned, _left = Rotation.align_vectors(wanted, means - force)
    noise = [
        float(np.sqrt(np.mean([np.var(values[record.pose == number], axis=0)
                               for number in numbers])))
        for values in (record.rate, record.force)
    ]  # fmt: skip
    return turned.as_matrix(), rate, force, noise


def _count(step, window):
    """Samples in a window [s]: odd, and more than a cubic needs."""
    return max(5, 2 * round(window / step / 2) + 1)


def _smoothed(values, step, window, deriv=0):
    """Values (n, ...) or their slope by a cubic over a window [s]."""
    from scipy.signal import savgol_filter

    count = _count(step, window)
    return savgol_filter(values, min(count, len(values) - 1 + len(values) % 2), 3, deriv=deriv,
                         delta=step, axis=0)  # fmt: skip


def _noise_gain(step, window, deriv):
    """Standard deviation of a smoothed value, or slope, over that of one sample."""
    from scipy.signal import savgol_coeffs

    return float(np.linalg.norm(savgol_coeffs(_count(step, window), 3, deriv=deriv, delta=step)))


def logged_torque(record: LoggerRecord, paddle: Paddle, window: float = WINDOW) -> LoggedTorque:
    """Roll torque of hands and water at every instant of a logger's record.

    The uncertainty holds the noise of rates and forces, what a window half as long would change,
    the logger's place, and how it is turned; not an error of the paddle's mass properties, nor of
    the logger's gain.

    Parameters
    ----------
    record : LoggerRecord
    paddle : Paddle
        Without the logger.
    window : float
        s, over which a rate is fitted to get its slope.

    Returns
    -------
    LoggedTorque

    Raises
    ------
    InputError
        If samples are missing or clipped, a still pose is missing, units or axes are wrong.
    """
    _check(record)
    turned, rate_bias, force_bias, (rate_noise, force_noise) = _turned(record)
    moving = record.pose == 0
    start, stop = record.time[moving][[0, -1]]
    step = float(np.median(np.diff(record.time)))
    time = np.arange(start, stop, step)
    rate, felt = (
        np.column_stack([np.interp(time, record.time[moving], column) for column in values.T])
        for values in ((record.rate[moving] - rate_bias) @ turned.T,
                       (record.force[moving] - force_bias) @ turned.T)
    )  # fmt: skip
    if record.counted:
        paddle = paddle.with_counterweights(record.weight)
    properties = np.array(mass_properties(paddle)[2:])
    place = record.place
    smooth, slope, level = (
        _smoothed(rate, step, window), _smoothed(rate, step, window, 1),
        _smoothed(felt, step, window),
    )  # fmt: skip
    force = force_at(smooth, slope, level, -place)
    torque = properties @ _rows(smooth, slope, force)
    gains = [_noise_gain(step, window, deriv) for deriv in (0, 1)]
    variance = np.zeros(time.size)

    def off(place, rate, slope, force):
        return properties @ _rows(rate, slope, force_at(rate, slope, force, -place)) - torque

    for axis in np.eye(3):
        turn = POSE_U / np.sqrt(2) * axis  # of three poses
        for changed in (
            (place, smooth + gains[0] * rate_noise * axis, slope, level),
            (place, smooth, slope + gains[1] * rate_noise * axis, level),
            (place, smooth, slope, level + gains[0] * force_noise * axis),
            (place + record.place_u * axis, smooth, slope, level),
            (place, *(each + np.cross(turn, each) for each in (smooth, slope, level))),
        ):
            variance += off(*changed) ** 2
    # What a shorter window changes beyond its own noise, over the neighbourhood, is bias.
    shorter = [_smoothed(values, step, window / 2, deriv)
               for values, deriv in ((rate, 0), (rate, 1), (felt, 0))]  # fmt: skip
    bias = np.maximum(_smoothed(off(place, *shorter) ** 2, step, 4 * window), 0.0)
    mere_noise = (np.abs(properties[2]) * _noise_gain(step, window / 2, 1) * rate_noise) ** 2
    variance += np.maximum(bias - mere_noise, 0.0)
    return LoggedTorque(time, torque, np.sqrt(variance), smooth, slope, force, turned)


def _rows(omega, domega, force):
    each = numeric("roll_moment_rows")(0.0, *omega.T, *domega.T, *force.T, 0.0, 0.0)
    return np.stack(np.broadcast_arrays(*each))


def cycle_words(logged: LoggedTorque) -> Sequence[tuple[str, str]]:
    """What a logger's record says, as rows (what, value with unit).

    Parameters
    ----------
    logged : LoggedTorque

    Returns
    -------
    sequence of (str, str)
    """
    mean, spread = logged.mean_cycle()
    lasts = np.array([part.stop - part.start for part in logged.cycles])
    step = float(logged.time[1] - logged.time[0])
    return (
        ("whole cycles", f"{len(logged.cycles)}"),
        ("strokes a minute", f"{120 / (lasts.mean() * step):.1f}"),
        ("mean size of the torque", f"{np.abs(mean).mean():.4f} N·m"),
        ("peak of the mean cycle", f"{np.abs(mean).max():.3f} N·m"),
        ("cycles spread by", f"{spread.mean():.4f} N·m"),
        ("each instant is sure to ±", f"{2 * np.median(logged.torque_u):.4f} N·m"),
    )
