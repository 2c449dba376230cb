"""Roll inertia from timed swings, and the period of a swing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.bench.readings import SUPPORTS, SwingReadings
from paddlebal.bench.scatter import birge_ratio
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

_STEPS = 256


def swing_period(
    U: ArrayLike, inertia: float, amplitude: ArrayLike, support: str, mass: float, radius: float
) -> Array:
    """Period [s] of a frictionless swing about rest.

    Parameters
    ----------
    U : array_like (..., 2)
        Unbalance vector [kg·m].
    inertia : array_like
        Roll inertia I_x about the shaft axis [kg·m²].
    amplitude : array_like
        Angle from rest to the turning point [rad], below pi.
    support : str
        'rollers': the shaft axis stays in place. 'rails': the shaft rolls without slip.
    mass, radius : float
        Mass of the paddle [kg] and radius of its shaft [m]; they matter on rails only.

    Returns
    -------
    float or ndarray

    Raises
    ------
    InputError
        If there is no unbalance, or the amplitude is not that of a swing.
    """
    return _period(magnitude(U), inertia, amplitude, support, mass, radius)


def _period(size, inertia, amplitude, support, mass, radius):
    """Midpoint rule over a quarter swing; on a smooth periodic integrand it converges
    exponentially."""
    if support not in SUPPORTS:
        raise InputError(f"the support is {support!r}, expected {' or '.join(map(repr, SUPPORTS))}")
    if not np.all(size > 0):
        raise InputError("an unbalance of zero does not swing")
    if not np.all(np.abs(amplitude) < np.pi):
        raise InputError("a swing has an amplitude below 180°")
    u = (np.arange(_STEPS) + 0.5) * np.pi / (2 * _STEPS)
    size, inertia, amplitude = (np.asarray(v, float)[..., None] for v in (size, inertia, amplitude))
    if support == "rollers":
        integrand = numeric("fixed_axis_period_integrand")
        values = integrand(u, amplitude, size, inertia, STANDARD_GRAVITY)
    else:
        integrand = numeric("rolling_period_integrand")
        values = integrand(u, amplitude, size, inertia, mass, radius, STANDARD_GRAVITY)
    return values.mean(axis=-1) * np.pi / 2


@dataclass(frozen=True, eq=False)
class SwingFit:
    """Roll inertia I_x about the shaft axis and its standard uncertainty [kg·m²].

    residuals: measured minus computed period (n,) [s]. birge, enlarged: as in BenchFit.
    """

    inertia: float
    inertia_u: float
    residuals: Array
    birge: float | None
    enlarged: bool


def fit_swing(
    readings: SwingReadings,
    unbalance: ArrayLike,
    mass: float,
    radius: float,
    unbalance_covariance: ArrayLike | None = None,
) -> SwingFit:
    """Roll inertia from timed swings: the one that gives the weighted mean period measured.

    A swing dies away, so the period is that of the mean of the first and the last amplitude.
    Friction is left out: while it is small it shortens the swing, not the period.

    Parameters
    ----------
    readings : SwingReadings
    unbalance : ndarray (2,)
        Unbalance vector [kg·m].
    mass, radius : float
        Mass of the paddle [kg] and radius of its shaft [m].
    unbalance_covariance : ndarray (2, 2), optional
        Of the unbalance [(kg·m)²]; by default it is taken as known exactly.

    Returns
    -------
    SwingFit

    Raises
    ------
    InputError
        If there is no unbalance, or the swings are too quick for any inertia: the mass at its
        distance from the axis has at least ``|U|² / M``.
    """
    size = float(magnitude(unbalance))
    amplitudes, which = np.unique(readings.amplitude, return_inverse=True)

    def period(inertia, size=size, stretch=1.0):
        periods = _period(size, inertia, stretch * amplitudes, readings.support, mass, radius)
        return periods[which]

    measured = readings.time / readings.periods
    variance = (readings.time_u / readings.periods) ** 2
    inertia = _inertia(period, measured, variance, size**2 / mass)
    by_amplitude = slope(lambda stretch: period(inertia, stretch=stretch)) / readings.amplitude
    variance = variance + (by_amplitude * readings.amplitude_u) ** 2
    inertia = _inertia(period, measured, variance, size**2 / mass)

    by_inertia = slope(lambda factor: period(factor * inertia)) / inertia
    by_size = slope(lambda factor: period(inertia, size=factor * size)) / size
    estimator = 1 / variance / np.sum(by_inertia / variance)
    residuals = measured - period(inertia)
    birge, enlarged = birge_ratio(residuals, variance, 1)
    total = np.sum(estimator**2 * variance) * (birge**2 if enlarged else 1.0)
    if unbalance_covariance is not None:
        direction = np.asarray(unbalance) / size
        total += (estimator @ by_size) ** 2 * (
            direction @ np.asarray(unbalance_covariance) @ direction
        )
    return SwingFit(inertia, float(np.sqrt(total)), residuals, birge, enlarged)


def _inertia(period, measured, variance, least):
    """Inertia [kg·m²], `least` or more, whose weighted mean period is the one measured."""
    from scipy.optimize import brentq

    def excess(inertia):
        return np.average(period(inertia) - measured, weights=1 / variance)

    if excess(least) > 0:
        raise InputError(
            f"a period of {np.mean(measured):.4g} s is too short for this unbalance and mass, "
            f"expected more than {np.mean(period(least)):.4g} s"
        )
    most = 2 * least
    while excess(most) < 0:
        most *= 2
    return brentq(excess, least, most, xtol=1e-16)


def slope(function):
    """Slope at 1 of a function of a factor, by the central difference."""
    step = 1e-6
    return (function(1 + step) - function(1 - step)) / (2 * step)
