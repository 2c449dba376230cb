"""From bench readings to unbalance and friction with their uncertainty, and the verdict.

Uncertainty is propagated as in JCGM 100:2008 (GUM) and checked by the Monte Carlo method of
JCGM 101:2008. Errors that all readings share, such as a lever measured too long, don't average
out and are carried through the fit on their own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.bench.readings import AddOnReadings, LeverReadings, Readings
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.unbalance import magnitude, weight_errors
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY, turn_deg

UNKNOWNS = ("U_y", "U_z", "friction", "scale zero")


SURE = 0.95
"""Probability from which a verdict is given, and at which misfit counts as significant."""


_NEARLY_SINGULAR = 1e-3


SCATTERED = 3
"""Birge ratio above which the readings are doubted, not only their stated uncertainties."""


class Polar(NamedTuple):
    """An unbalance by its size [kg·m] and its direction [rad] from +y toward +z in body axes, and
    the standard uncertainty of each."""

    size: float
    direction: float
    size_u: float
    direction_u: float


@dataclass(frozen=True, eq=False)
class BenchFit:
    """What a bench measurement says about a paddle.

    Parameters
    ----------
    unbalance : ndarray (2,)
        Unbalance vector (U_y, U_z) [kg·m].
    covariance : ndarray (4, 4)
        Of U_y, U_z [kg·m], friction [N·m] and scale zero [N], in this order.
    friction : float
        Friction moment [N·m]; nan if the method doesn't measure it.
    zero : float
        What the scale shows without a pull [N], which also takes up an error in the clamp's
        moment; nan if the method has no scale.
    residuals : ndarray
        Reading minus fit: (n,) [N·m] for the lever, (n, 2) [kg·m] for an added mass.
    birge : float
        Birge ratio: size of the residuals against the one that the stated uncertainties
        explain; nan where that cannot be told.
    enlarged : bool
        True if the residuals are significantly too large (chi-square test at 5 %): then the
        part of the covariance that scatter explains was multiplied by the Birge ratio squared.
    """

    unbalance: Array
    covariance: Array
    friction: float
    zero: float
    residuals: Array
    birge: float = np.nan
    enlarged: bool = False

    @property
    def unbalance_covariance(self) -> Array:
        """Covariance (2, 2) of the unbalance vector [(kg·m)²]."""
        return self.covariance[:2, :2]

    @property
    def friction_u(self) -> float:
        """Standard uncertainty of the friction moment [N·m]."""
        return float(np.sqrt(self.covariance[2, 2]))

    @property
    def polar(self) -> Polar:
        """Size [kg·m] and direction [rad] of the unbalance, then their standard uncertainties.

        The direction counts from +y toward +z in body axes; the uncertainties are to first
        order, for a size well above its own. That of the direction is at most a quarter turn,
        so that twice the uncertainty is half a turn either way: the direction is open.
        """
        size = float(magnitude(self.unbalance))
        y, z = self.unbalance / size if size else (math.nan, math.nan)
        along, across = np.array([y, z]), np.array([-z, y])
        size_u, shift_u = (math.sqrt(v @ self.unbalance_covariance @ v) for v in (along, across))
        direction_u = min(shift_u / size, math.pi / 2) if size else math.nan
        return Polar(size, math.atan2(z, y), size_u, direction_u)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What makes the result doubtful, a tuple of sentences; empty for a good bench."""
        size, _, size_u, _ = self.polar
        found = []
        if self.birge > SCATTERED:
            found.append(
                f"The readings scatter {self.birge:.0f} times as much as stated: look at the arm's "
                "sign, the pull's unit, the clamp."
            )
        if size < 2 * size_u:
            found.append("The unbalance is below its uncertainty: where it points is open.")
        if self.friction < -2 * self.friction_u:
            found.append("The friction is negative: are 'with' and 'against' exchanged?")
        return tuple(found)

    def __str__(self):
        size, direction, size_u, direction_u = self.polar
        size, size_u = (part / GRAM_MM for part in (size, 2 * size_u))
        degrees, degrees_u = turn_deg(direction), math.degrees(2 * direction_u)
        lines = [
            f"unbalance   {size:.0f} ± {size_u:.0f} g·mm",
            f"direction   {degrees:.1f} ± {degrees_u:.1f} degrees",
        ]
        if math.isfinite(self.friction):
            zero_u = 2 * math.sqrt(self.covariance[3, 3])
            lines += [
                f"friction    {1e3 * self.friction:z.1f} ± {2e3 * self.friction_u:z.1f} mN·m",
                f"scale zero  {1e3 * self.zero:z.0f} ± {1e3 * zero_u:z.0f} mN",
            ]
        return "\n".join([*lines, "± is two standard uncertainties, about 95 %", *self.doubts])


def fit_bench(readings: Readings) -> BenchFit:
    """Unbalance, friction and scale zero from lever readings, or unbalance from an added mass.

    An added mass is only known to balance within friction, so the trials must come to it from
    every side for their scatter to show that. Scatter from few trials is itself uncertain: it
    counts as the variance of Student's t distribution, so that twice the standard uncertainty
    holds about 95 % from four trials on.

    Parameters
    ----------
    readings : LeverReadings or AddOnReadings

    Returns
    -------
    BenchFit

    Raises
    ------
    InputError
        If the readings cannot give what is asked; the sentence names the unknown.
    """
    if isinstance(readings, LeverReadings):
        return _fit_lever(readings)
    if isinstance(readings, AddOnReadings):
        return _fit_add_on(readings)
    raise InputError(
        "timed swings give the roll inertia, not the unbalance: measure with the lever or with a "
        "known mass"
    )


def _lever_geometry(readings):
    """Arm of the pull and of the clamp [m], and the sense of turning about +x, per reading."""
    side = np.sign(readings.arm)
    travel = readings.radius if readings.support == "rails" else 0.0
    if readings.pull_direction == "vertical":
        point_and_direction = readings.arm, 0.0, 0.0, 1.0
    else:
        point_and_direction = 0.0, np.abs(readings.arm), -side, 0.0
    arm = numeric("pull_arm")(*point_and_direction, travel)
    return arm, side * readings.clamp_arm, side * readings.turning


def _lever_equations(readings):
    """Moment balance of each reading: factors (..., n, 4) of the unknowns, moment (..., n)."""
    arm, clamp_arm, turning = _lever_geometry(readings)
    *factors, moment = numeric("pull_equation")(
        readings.roll, readings.pull, arm, readings.clamp_mass, clamp_arm, turning, STANDARD_GRAVITY
    )
    return np.stack(np.broadcast_arrays(*factors), axis=-1), moment


def _lever_errors(readings, unknowns):
    """Errors of the moment: variance (n,) of each reading's own [(N·m)²], and the common ones
    (n, 3) [N·m] that one standard uncertainty of arm, angle zero and clamp arm would cause."""
    arm, clamp_arm, turning = _lever_geometry(readings)
    by_pull, by_roll, by_arm, by_clamp_arm = numeric("pull_sensitivities")(
        *unknowns, readings.roll, readings.pull, arm, readings.clamp_mass, clamp_arm, turning,
        STANDARD_GRAVITY,
    )  # fmt: skip
    side = np.sign(readings.arm)
    variance = (by_pull * readings.scale_u) ** 2 + (by_roll * readings.angle_u) ** 2
    common = np.stack(
        [
            by_arm * side * readings.arm_u,
            by_roll * readings.angle_zero_u,
            by_clamp_arm * side * readings.clamp_arm_u,
        ],
        axis=-1,
    )
    return variance, common


def _fit_lever(readings):
    """Weighted least squares in three rounds.

    The error of a reading depends a little on the unknowns. The first round takes them as zero,
    each further one takes the result of the round before.
    """
    factors, moment = _lever_equations(readings)
    _check_enough(readings, factors)
    unknowns = np.zeros(4)
    for _ in range(3):
        variance, common = _lever_errors(readings, unknowns)
        estimator = _estimator(factors, variance)
        unknowns = estimator @ moment
    residuals = moment - factors @ unknowns
    birge, enlarged = birge_ratio(residuals, variance, len(UNKNOWNS))
    scatter = (estimator * variance) @ estimator.T * (birge**2 if enlarged else 1.0)
    shared = estimator @ common
    return BenchFit(
        unbalance=unknowns[:2],
        covariance=scatter + shared @ shared.T,
        friction=float(unknowns[2]),
        zero=float(unknowns[3]),
        residuals=residuals,
        birge=birge,
        enlarged=enlarged,
    )


def _estimator(factors, variance):
    """Matrix (4, n) that takes the moments to the weighted least-squares unknowns."""
    weight = 1 / np.sqrt(variance)
    Q, R = np.linalg.qr(factors * weight[:, None])
    return np.linalg.solve(R, Q.T) * weight


def birge_ratio(residuals, variance, unknowns):
    """Birge ratio, and whether the chi-square test finds the residuals (n,) too large.

    variance (n,) is what the stated uncertainties explain; unknowns is how many were fitted.
    R. T. Birge, The calculation of errors by the method of least squares, Phys. Rev. 40 (1932).
    """
    from scipy.special import chdtrc

    spare = residuals.size - unknowns
    if spare == 0:
        return np.nan, False
    chi_square = float(np.sum(residuals**2 / variance))
    return float(np.sqrt(chi_square / spare)), bool(chdtrc(spare, chi_square) < 1 - SURE)


def _check_enough(readings, factors):
    """Raise InputError, naming the unknowns, if the readings cannot tell them apart."""
    count = len(factors)
    if count < len(UNKNOWNS):
        names = ", ".join(UNKNOWNS)
        raise InputError(f"{count} readings cannot give the {len(UNKNOWNS)} unknowns {names}")
    scale = np.linalg.norm(factors, axis=0)
    R = np.linalg.qr(factors / np.where(scale, scale, 1), mode="r")
    _, sizes, directions = np.linalg.svd(R)
    lost = directions[sizes < _NEARLY_SINGULAR * sizes[0]]
    if lost.size:
        shares = np.linalg.norm(lost, axis=0)
        names = " and ".join(np.array(UNKNOWNS)[shares > 0.1])
        advice = "roll angles spread over a turn"
        if np.ptp(readings.turning) == 0:
            advice += ", with and against the pull"
        raise InputError(f"these readings leave {names} undetermined, expected {advice}")


def _fit_add_on(readings):
    """Mean of minus the added unbalance; scatter and the stated, common errors add up."""
    count = readings.mass.size
    if count < 4:
        raise InputError(f"{count} trials don't show their scatter, expected at least 4")
    mass, arm, angle = readings.mass, readings.arm, readings.angle
    trials = -(mass * arm * np.array([np.cos(angle), np.sin(angle)])).T
    errors = weight_errors(mass, arm, angle, readings.mass_u, readings.arm_u, readings.angle_u)
    shared = errors.mean(axis=1)
    covariance = np.full((4, 4), np.nan)
    student = (count - 1) / (count - 3)
    covariance[:2, :2] = student * np.cov(trials.T) / count + shared.T @ shared
    unbalance = trials.mean(axis=0)
    return BenchFit(unbalance, covariance, np.nan, np.nan, trials - unbalance)


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
    fit = _fit_lever(readings)
    variance, _ = _lever_errors(readings, (*fit.unbalance, fit.friction, fit.zero))

    def fitted(count):
        def drawn(value, own, common):
            shape = (count, readings.pull.size)
            value = value + own * rng.standard_normal(shape) if own else value
            return value + common * rng.standard_normal((count, 1))

        side = np.sign(readings.arm)
        factors, moment = _lever_equations(
            replace(
                readings,
                roll=drawn(readings.roll, readings.angle_u, readings.angle_zero_u),
                pull=drawn(readings.pull, readings.scale_u, 0.0),
                arm=side * drawn(np.abs(readings.arm), 0.0, readings.arm_u),
                clamp_arm=drawn(readings.clamp_arm, 0.0, readings.clamp_arm_u),
            )
        )
        weighted = (factors / variance[:, None]).swapaxes(-1, -2)
        return np.linalg.solve(weighted @ factors, weighted @ moment[..., None])[..., 0]

    block = max(1, _AT_ONCE // readings.pull.size)
    parts = [fitted(min(block, draws - start)) for start in range(0, draws, block)]
    return np.cov(np.concatenate(parts).T)


_AT_ONCE = 1_000_000
"""Pulls drawn at a time, to bound the memory."""


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


def acceptance(
    residual: ArrayLike,
    covariance: ArrayLike,
    friction: float,
    friction_u: float,
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
    if not np.all(np.isfinite([*np.ravel(residual), *np.ravel(covariance), friction, friction_u])):
        raise InputError("the verdict needs a residual, a friction moment and their uncertainties")
    rng = np.random.default_rng(seed)
    sizes = magnitude(rng.multivariate_normal(np.asarray(residual), np.asarray(covariance), draws))
    limits = friction + friction_u * rng.standard_normal(draws)
    probability = float(np.mean(STANDARD_GRAVITY * sizes <= limits))
    verdict = "not settled"
    if probability >= SURE:
        verdict = "stays"
    elif probability <= 1 - SURE:
        verdict = "rolls"
    size = float(magnitude(residual))
    return Acceptance(size, size / mass, friction, probability, verdict)
