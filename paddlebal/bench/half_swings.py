"""The angles of several swings at once, half swing by half swing, by collocation.

Between two turning points dry friction keeps its sign and a swing is smooth. There the angle's
second derivative is a short Chebyshev series, found by Newton's method together with the time of
the next turning point (collocation at Chebyshev points: Trefethen, "Spectral Methods in MATLAB",
2000, from memory). `record.swing_angles` gives the same by numerical integration.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.polynomial import chebyshev

from paddlebal.compiled import numeric
from paddlebal.units import STANDARD_GRAVITY

TERMS = 32
"""Of a series."""


TRIALS = 20


SMALL, LAST = 1e-9, 1e-6
"""Of the greatest term: where Newton's method ends, and what the last terms may be. Of the angle
they are a thousandth of that, being integrated twice."""


@cache
def _matrices():
    """Points (n,), and a series' value, first and second integral from -1 there; its whole."""
    points = np.cos(np.pi * (np.arange(TERMS) + 0.5) / TERMS)[::-1]
    once, twice = (chebyshev.chebint(np.eye(TERMS), order, lbnd=-1) for order in (1, 2))
    values = chebyshev.chebvander(points, TERMS - 1)
    integrals = chebyshev.chebval(points, once).T, chebyshev.chebval(points, twice).T
    return points, values, *integrals, chebyshev.chebval(1.0, once)


@cache
def _twice():
    """From a series to that of its second integral from -1, (TERMS + 2, TERMS)."""
    return chebyshev.chebint(np.eye(TERMS), 2, lbnd=-1)


def _values(series, x):
    """A series at places x (n,)."""
    return np.cos(np.outer(np.arccos(np.clip(x, -1, 1)), np.arange(len(series)))) @ series


def _moved(angle, rate, way, swing, radius):
    """Acceleration and its slopes with the angle and the rate; swing has columns (p, 1)."""
    stiffness, friction, drag = swing
    inertia = STANDARD_GRAVITY / stiffness
    brake = -(way * friction * STANDARD_GRAVITY + drag * inertia * rate)
    state = angle, rate, 1.0, inertia + 2 * radius, 0.0, radius, STANDARD_GRAVITY, brake
    by_angle, by_rate, by_brake = numeric("braked_rolling_slopes")(*state)
    acceleration = numeric("braked_rolling_acceleration")(*state)
    return acceleration, by_angle, by_rate - by_brake * drag * inertia


def _begin(start, rate, way, swing):
    """Half of the time to the next turning point, and a series, of the small swing."""
    points, values, *_ = _matrices()
    stiffness, friction, _ = swing
    offset = start + way * friction
    w = np.sqrt(stiffness) * (1 - np.minimum(offset**2, 4.0) / 16)
    half = np.arctan2(np.abs(rate) / w, offset * way) / w / 2
    time = half * (points + 1)
    second = -(w**2) * (offset * np.cos(w * time) + rate / w * np.sin(w * time))
    return half, np.linalg.solve(values, (half**2 * second).T).T


def half_swing(start, rate, way, swing, radius):
    """The way of several swings to their next turning points.

    Parameters
    ----------
    start, rate : ndarray (p,)
        Angle from rest [rad] and rate [rad/s].
    way : ndarray (p,)
        Sign of the rate until then.
    swing : ndarray (3, p)
        Stiffness [1/s²], friction and drag [1/s] as `record.swing_angles` takes them.
    radius : float

    Returns
    -------
    half : ndarray (p,)
        Half of the time [s] until then.
    series : ndarray (p, TERMS)
        Of the angle's second derivative by x, which runs from -1 to 1 meanwhile.
    found : ndarray (p,) of bool
        False where a series is too short for the motion, or none was found.
    """
    points, values, once, twice, whole = _matrices()
    start, rate, way = (np.asarray(each, dtype=float)[:, None] for each in (start, rate, way))
    swing = np.asarray(swing, dtype=float)[:, :, None]
    half, series = _begin(start, rate, way, swing)
    count = len(series)
    with np.errstate(all="ignore"):
        for _ in range(TRIALS):
            angle = start + rate * half * (points + 1) + series @ twice.T
            now = rate + series @ once.T / half
            acceleration, by_angle, by_rate = _moved(angle, now, way, swing, radius)
            slopes = np.empty((count, TERMS + 1, TERMS + 1))
            slopes[:, :-1, :-1] = values - half[:, :, None] * (
                (half * by_angle)[:, :, None] * twice + by_rate[:, :, None] * once
            )
            slopes[:, :-1, -1] = (
                by_rate * (series @ once.T)
                - 2 * half * acceleration
                - half**2 * by_angle * rate * (points + 1)
            )
            slopes[:, -1, :-1], slopes[:, -1, -1] = whole, rate[:, 0]
            off = np.empty((count, TERMS + 1))
            off[:, :-1] = series @ values.T - half**2 * acceleration
            off[:, -1] = rate[:, 0] * half[:, 0] + series @ whole
            try:
                change = np.linalg.solve(slopes, off[..., None])[..., 0]
            except np.linalg.LinAlgError:
                return half[:, 0], series, np.zeros(count, dtype=bool)
            series, half = series - change[:, :-1], half - change[:, -1:]
            size = np.abs(series).max(axis=1)
            if np.all(np.abs(change).max(axis=1) <= SMALL * size):
                break
        ended = np.abs(change).max(axis=1) <= SMALL * size
        short = np.abs(series[:, -2:]).max(axis=1) <= LAST * size
    return half[:, 0], series, ended & short & (half[:, 0] > 0)


def swings(time, swing, start, rate, radius=0.0):
    """Angles from rest of several paddles that swing under dry friction and drag.

    Parameters
    ----------
    time : ndarray (n,)
        s, growing; each swing starts at the first.
    swing : ndarray (3, p)
        Stiffness [1/s²], friction and drag [1/s].
    start, rate : ndarray (p,)
        Angle [rad] and rate [rad/s] at the first time.
    radius : float
        Of a shaft that rolls on rails without slip [m]; 0 on rollers.

    Returns
    -------
    angles : ndarray (p, n)
        rad; as `record.swing_angles` gives them one by one.
    found : ndarray (p,) of bool
        False where a swing has no such series, as one that goes round; its angles mean nothing.
    """
    swing, now = np.asarray(swing, dtype=float), np.full(len(start), time[0])
    angle, rate = np.array(start, dtype=float), np.array(rate, dtype=float)
    angles, found = np.empty((len(angle), len(time))), np.ones(len(angle), dtype=bool)
    while True:
        moves = (rate != 0) | (np.abs(np.sin(angle)) > swing[1])
        active = np.flatnonzero(found & moves & (now < time[-1]))
        if not active.size:
            break
        way = np.where(rate != 0, np.sign(rate), -np.sign(np.sin(angle)))[active]
        half, series, well = half_swing(angle[active], rate[active], way, swing[:, active], radius)
        found[active] = well
        for i, h, terms in zip(active, half, series, strict=True):
            twice = _twice() @ terms
            seen = slice(*np.searchsorted(time, (now[i], now[i] + 2 * h)))
            x = (time[seen] - now[i]) / h - 1
            angles[i, seen] = angle[i] + rate[i] * h * (x + 1) + _values(twice, x)
            angle[i] += rate[i] * h * 2 + twice.sum()
            now[i], rate[i] = now[i] + 2 * h, 0.0
    for row, begun, stays in zip(angles, now, angle, strict=True):
        row[np.searchsorted(time, begun) :] = stays
    return angles, found
