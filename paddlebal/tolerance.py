"""How far the fitted weight may be off before the paddle rolls again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.placement import Placement
from paddlebal.unbalance import magnitude


@dataclass(frozen=True, eq=False)
class Tolerance:
    """Spread of the residual's size over errors of mass, arm, angle and feather.

    quantiles (k,) [kg·m] belong to probabilities (k,); alone gives the quantiles with the
    errors of one input only; counts (n,) of the draws lie between edges (n + 1,) [kg·m].
    """

    draws: int
    probabilities: Array
    quantiles: Array
    alone: dict[str, Array]
    edges: Array
    counts: NDArray[np.int64]


_CHUNK = 2**16
"""Draws at a time: small enough for the processor's cache."""


def placement_tolerance(
    placement: Placement,
    U: ArrayLike,
    mass_u: float,
    arm_u: float,
    angle_u: float,
    draws: int = 1_000_000,
    rng: np.random.Generator | None = None,
    probabilities: Sequence[float] = (0.5, 0.95, 0.99),
    feather_u: float = 0.0,
    far_half: ArrayLike = (0.0, 0.0),
) -> Tolerance:
    """Residual of a placement whose mass, arm and angle are a little off, by Monte Carlo.

    Propagation of distributions as in JCGM 101:2008, all errors normal and independent.
    The draws are made in chunks and kept as a histogram of 20 000 equal bins that reach eight
    standard uncertainties out; a quantile is good to one bin.

    Parameters
    ----------
    placement : Placement
    U : array_like (2,)
        The unbalance it is to balance [kg·m].
    mass_u, arm_u, angle_u : float
        Standard uncertainties [kg, m, rad].
    draws : int
    rng : numpy.random.Generator, optional
    probabilities : sequence of float
    feather_u : float
        Standard uncertainty of the feather set on an adjustable ferrule [rad].
    far_half : array_like (2,)
        Unbalance [kg·m] of the half on which the counterweight does not sit, see
        `half_unbalance`: an error of the feather turns it against the counterweight.

    Returns
    -------
    Tolerance
    """
    rng = np.random.default_rng() if rng is None else rng
    if min(mass_u, arm_u, angle_u, feather_u) < 0 or draws < 1:
        raise InputError("the uncertainties are at least 0 and the draws at least 1")
    nominal = placement.mass * placement.arm
    # Vectors as complex numbers, the real axis along the counterweight's arm: turning is a product.
    back = _unit(-placement.angle)
    unbalance, far = (complex(*np.asarray(vector)) * back for vector in (U, far_half))

    def residual(mass=0.0, arm=0.0, angle=1.0, feather=1.0):
        product = (placement.mass + mass) * (placement.arm + arm)
        return np.abs(unbalance + product * angle + far * (feather - 1))

    reach = (placement.mass + 8 * mass_u) * (placement.arm + 8 * arm_u) - nominal
    reach += nominal * min(8 * angle_u, 2) + abs(far) * min(8 * feather_u, 2)
    edges = np.linspace(0, (residual() + reach) or 1.0, 20_001)
    inputs = {"mass": mass_u, "arm": arm_u, "angle": angle_u, "feather": feather_u}
    counts = {case: np.zeros(edges.size - 1, dtype=np.int64) for case in ("all", *inputs)}
    for start in range(0, draws, _CHUNK):
        drawn = min(_CHUNK, draws - start)
        errors = {name: u * rng.standard_normal(drawn) for name, u in inputs.items()}
        errors |= {name: _unit(errors[name]) for name in ("angle", "feather")}
        for case, count in counts.items():
            sizes = residual(**errors) if case == "all" else residual(**{case: errors[case]})
            bins = np.minimum((sizes / edges[1]).astype(np.int64), count.size - 1)
            count += np.bincount(bins, minlength=count.size)
    at = np.asarray(probabilities, dtype=float)
    quantiles = {
        case: np.interp(at * draws, np.append(0, np.cumsum(count)), edges)
        for case, count in counts.items()
    }
    total = quantiles.pop("all")
    return Tolerance(draws, at, total, quantiles, edges, counts["all"])


def _unit(angle):
    return np.cos(angle) + 1j * np.sin(angle)


def angle_error_residual(U: ArrayLike, angle_error: ArrayLike) -> Array:
    """Residual [kg·m] of a counterweight right but for its angle: ``2 |U| |sin(error / 2)|``.

    U (..., 2) [kg·m] and the error [rad] broadcast.

    Parameters
    ----------
    U : array_like (..., 2)
        kg·m.
    angle_error : array_like (...)
        rad.

    Returns
    -------
    ndarray (...)
        kg·m.
    """
    return numeric("angle_error_residual")(magnitude(U), angle_error)
