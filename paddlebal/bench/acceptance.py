"""Whether a balanced paddle stays where it is put: the verdict of the bench."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.bench.scatter import SURE
from paddlebal.errors import InputError
from paddlebal.language import marked
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

STAYS, OPEN, ROLLS = marked("stays"), marked("not settled"), marked("rolls")


@dataclass(frozen=True)
class Acceptance:
    """Whether a balanced paddle stays where it is put.

    residual [kg·m]: size of the residual unbalance. specific [m]: that over the mass. friction
    [N·m]: the friction moment. probability: that g |U| stays within the friction moment.
    verdict: 'stays' from 95 % on, 'rolls' up to 5 %, else 'not settled'.
    """

    residual: float
    specific: float
    friction: float
    probability: float
    verdict: str


def settled(probability: float) -> bool:
    """Whether the paddle is sure enough to stay, or sure enough to roll."""
    return not 1 - SURE < probability < SURE


def acceptance(
    residual: ArrayLike,
    covariance: ArrayLike,
    friction: float | None,
    friction_u: float | None,
    mass: float,
    draws: int = 200_000,
    seed: int = 0,
) -> Acceptance:
    """Judge a residual unbalance: the paddle stays if ``g |U| <= friction moment``.

    The probability is found by the Monte Carlo method (JCGM 101:2008), from normal
    distributions of the residual and of the friction moment; 200 000 draws give it to 0.1 %.

    Parameters
    ----------
    residual : ndarray (2,)
        Residual unbalance [kg·m]: fitted unbalance plus the counterweights' own.
    covariance : ndarray (2, 2)
        Of the residual [(kg·m)²]: the fit's, and `Placement.covariance` beside it unless the
        balanced paddle itself was measured.
    friction, friction_u : float
        Friction moment and its standard uncertainty [N·m].
    mass : float
        Mass of the balanced paddle [kg].
    draws, seed : int
        How many draws, and where the random numbers start.

    Returns
    -------
    Acceptance

    Raises
    ------
    InputError
        If a number is missing, such as the friction after a fit that doesn't measure it.
    """
    given = [*np.ravel(residual), *np.ravel(covariance), friction, friction_u]
    if friction is None or friction_u is None or not np.all(np.isfinite(given)):
        raise InputError("the verdict needs a residual, a friction moment and their uncertainties")
    rng = np.random.default_rng(seed)
    sizes = magnitude(rng.multivariate_normal(np.asarray(residual), np.asarray(covariance), draws))
    limits = friction + friction_u * rng.standard_normal(draws)
    probability = float(np.mean(STANDARD_GRAVITY * sizes <= limits))
    verdict = OPEN
    if probability >= SURE:
        verdict = STAYS
    elif probability <= 1 - SURE:
        verdict = ROLLS
    size = float(magnitude(residual))
    return Acceptance(size, size / mass, friction, probability, verdict)
