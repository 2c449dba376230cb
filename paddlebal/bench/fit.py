"""From bench readings to unbalance and friction with their uncertainty.

Uncertainty is propagated as in JCGM 100:2008 (GUM) and checked by the Monte Carlo method of
JCGM 101:2008. Errors that all readings share, such as a lever measured too long, don't average
out and are carried through the fit on their own.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench import doubts
from paddlebal.bench.films import fit_films
from paddlebal.bench.lever import Guess, balances, lever_equations, solve, solved
from paddlebal.bench.readings import AddOnReadings, FilmReadings, LeverReadings, Readings
from paddlebal.bench.result import BenchFit
from paddlebal.bench.scatter import region_widening, significant
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.unbalance import weight_errors
from paddlebal.units import GRAM_MM, turn_deg


def fit_bench(readings: Readings) -> BenchFit:
    """Unbalance with its uncertainty, and friction where the method measures it.

    Lever readings give friction and scale zero too, films friction and roll inertia.

    An added mass is only known to balance within friction, so the trials must come to it from
    every side for their scatter to show that. Scatter from few trials is itself uncertain: it
    counts as the variance of Student's t distribution, so that twice the standard uncertainty
    holds about 95 % from four trials on.

    Parameters
    ----------
    readings : LeverReadings, AddOnReadings or FilmReadings

    Returns
    -------
    BenchFit
        Of films a `FilmsFit`.

    Raises
    ------
    InputError
        If the readings cannot give what is asked; the sentence names the unknown.
    """
    if isinstance(readings, LeverReadings):
        return _fit_lever(readings)
    if isinstance(readings, AddOnReadings):
        return _fit_add_on(readings)
    if isinstance(readings, FilmReadings):
        return fit_films(readings)
    raise InputError(
        "one swing gives the roll inertia, not the unbalance: measure with the lever or with a "
        "known mass"
    )


def _fit_lever(readings, look=True):
    """The fit; look tells whether to look for a wrong reading, which takes a fit without it."""
    equations, solution = solved(readings)
    given = solution.unknowns.size
    spare = readings.pull.size - given
    chi_square = float(solution.white @ solution.white)
    widening = region_widening(chi_square, spare)
    unknowns = np.zeros(4)
    unknowns[:given] = solution.unknowns
    fit = BenchFit(
        unbalance=unknowns[:2],
        covariance=_covariance(readings, solution, widening),
        friction=float(unknowns[2]),
        zero=float(unknowns[3]),
        residuals=solution.residuals,
        birge=math.sqrt(chi_square / spare) if spare else None,
        enlarged=widening > 1,
        spare=spare,
    )
    suspect = without = None
    if look:
        suspect, without = _without_the_wrong_one(readings, equations, solution)
    regular, gain = doubts.systematic(readings, equations, solution)
    # What explains more of the residuals is told: one wrong reading, or what is in all alike.
    named = suspect is not None and suspect.statistic**2 > gain
    explained = [_words_for(suspect, without)] if named else regular
    left = (without.birge or 0.0) if named and without else 0.0
    if not named and spare:
        left = math.sqrt(max(chi_square - gain, 0.0) / spare)
    if left > doubts.SCATTERED:
        named, explained = False, [doubts.scatter_words(fit.birge)]
    return replace(
        fit,
        doubts=(*explained, *_further_doubts(readings, solution, fit)),
        wrong=suspect.wrong if suspect and named else None,
        without=without if named else None,
    )


def _covariance(readings, solution, widening=1.0):
    """Covariance (4, 4) of the unknowns, what the readings' own errors do multiplied."""
    given = solution.unknowns.size
    scatter, shared = np.zeros((4, 4)), np.zeros((4, solution.shared.shape[1]))
    scatter[:given, :given] = solution.covariance * widening
    shared[:given] = solution.shared
    if readings.zero_u is not None:  # the scale was set to zero, to within this
        shared[3, -1] = -readings.zero_u
    return scatter + shared @ shared.T


def stated_covariance(readings: LeverReadings, fit: BenchFit | Guess) -> Array:
    """Covariance (4, 4) that the stated uncertainties alone would give, in BenchFit's order.

    It hardly depends on the pulls, so it also tells what other instruments would give.

    Parameters
    ----------
    readings : LeverReadings
    fit : BenchFit or Guess
        Of them, of others at the same angles, or what they are expected to give.

    Returns
    -------
    ndarray (4, 4)
    """
    equations = lever_equations(readings, (*fit.unbalance, fit.friction, fit.zero))
    return _covariance(readings, solve(equations))


def _without_the_wrong_one(readings, equations, solution):
    """The `Outlier` and the fit without it; None and None if no reading stands out.

    Among readings that scatter more than stated, one has to stand out by that much more.
    """
    suspect = doubts.outlier(readings, equations, solution)
    if suspect is None:
        return None, None
    try:
        without = _fit_lever(readings.without(suspect.wrong), look=False)
    except InputError:  # too little is left
        return suspect, None
    scatter, spare = without.birge or 1.0, without.spare
    many = significant(scatter**2 * spare, spare, doubts.CLEAR)
    limit = suspect.limit * (scatter if many else 1.0)
    return (suspect, without) if abs(suspect.statistic) > limit else (None, None)


def _words_for(suspect, without):
    """What is said of a wrong reading, and of the fit without it if there is one."""
    if without is None:
        return suspect.words
    size, direction, size_u, direction_u = without.polar
    return (
        f"{suspect.words} Without: {size / GRAM_MM:,.0f} ± {2 * size_u / GRAM_MM:,.0f} g·mm at "
        f"{turn_deg(direction):.1f} ± {math.degrees(2 * direction_u):.1f}°."
    )


def _further_doubts(readings, solution, fit):
    """Doubts of a lever fit that don't come from its residuals."""
    exchanged = fit.friction < -2 * fit.friction_u
    return (
        *_rest_doubts(readings.rest, fit),
        *doubts.count_doubts(fit.spare),
        *(
            [_("The friction is negative: are 'with' and 'against' exchanged?")]
            if exchanged
            else []
        ),
        *doubts.confusion_doubts(solution),
    )


def _rest_doubts(rest, fit):
    if fit.direction_open:
        return ()
    return doubts.rest_doubts(rest, fit.unbalance, fit.polar.direction_u)


def _fit_add_on(readings):
    """Mean of minus the added unbalance; scatter and the stated, common errors add up."""
    count = readings.mass.size
    if count < 4:
        raise InputError(
            _("{count} trials don't show their scatter, expected at least 4").format(count=count)
        )
    mass, arm, angle = readings.mass, readings.arm, readings.angle
    trials = -(mass * arm * np.array([np.cos(angle), np.sin(angle)])).T
    errors = weight_errors(mass, arm, angle, readings.mass_u, readings.arm_u, readings.angle_u)
    shared = errors.mean(axis=1)
    student = (count - 1) / (count - 3)
    covariance = student * np.cov(trials.T) / count + shared.T @ shared
    unbalance = trials.mean(axis=0)
    fit = BenchFit(unbalance, covariance, None, None, trials - unbalance, spare=2 * count - 2)
    found = *doubts.side_doubts(readings, trials), *_rest_doubts(readings.rest, fit)
    return replace(fit, doubts=found)


def monte_carlo_fit(readings: LeverReadings, draws: int = 4000, seed: int = 0) -> Array:
    """Covariance (4, 4) of a lever fit by the Monte Carlo method, in BenchFit's order.

    Every quantity read is drawn anew about its value, within its stated uncertainty (normal
    distributions), and each draw is fitted with its own equations: nothing is linearised.
    Scatter beyond the stated uncertainties is not part of it.

    Parameters
    ----------
    readings : LeverReadings
    draws, seed : int
        How many draws, and where the random numbers start.

    Returns
    -------
    ndarray (4, 4)
        Of U_y, U_z [kg·m], friction [N·m] and scale zero [N].
    """
    rng = np.random.default_rng(seed)
    fit = _fit_lever(readings, look=False)
    equations = lever_equations(readings, (*fit.unbalance, fit.friction, fit.zero))
    settings, sought = equations.settings, equations.factors.shape[-1]
    side = np.sign(readings.arm)

    def fitted(count):
        def drawn(value, own, common, parts=readings.pull.size):
            value = value + common * rng.standard_normal((count, 1))
            return value + own * rng.standard_normal((count, parts)) if own else value

        turned = drawn(0.0, readings.angle_u, readings.angle_zero_u, equations.starts.size)
        if turned.shape[1] > 1:
            turned = turned[:, settings]
        zero = drawn(0.0, 0.0, readings.zero_u or 0.0)
        radius = drawn(0.0, 0.0, readings.arm_u)
        factors, moment = balances(
            replace(
                readings,
                roll=readings.roll + turned,
                pull=readings.pull * drawn(1.0, 0.0, readings.gain_u)
                + drawn(0.0, readings.scale_u, 0.0)
                - zero,
                arm=side * (np.abs(readings.arm) + radius),
                radius=readings.radius + radius,
                clamp_arm=drawn(readings.clamp_arm, 0.0, readings.clamp_arm_u),
            )
        )
        white = (
            np.moveaxis(equations.whitened(np.moveaxis(part, 1, 0)), 0, 1)
            for part in (factors[..., :sought], moment)
        )
        factors, moment = white
        normal = factors.swapaxes(-1, -2)
        found = np.linalg.solve(normal @ factors, normal @ moment[..., None])[..., 0]
        return found if sought == 4 else np.hstack([found, zero + np.zeros((count, 1))])

    block = max(1, _AT_ONCE // readings.pull.size)
    parts = [fitted(min(block, draws - start)) for start in range(0, draws, block)]
    return np.cov(np.concatenate(parts).T)


_AT_ONCE = 1_000_000
"""Pulls drawn at a time, to bound the memory."""
