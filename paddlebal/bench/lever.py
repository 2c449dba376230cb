"""Lever readings as equations that are linear in what is unknown, and how their errors hang
together.

Readings that follow each other at one angle with the lever on one side belong to one setting:
the angle was set once, so its error is common to them. Errors that all readings share, such as
a lever measured too long, stand apart: they don't average out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.units import STANDARD_GRAVITY

UNKNOWNS = ("U_y", "U_z", "friction", "scale zero")


_NEARLY_SINGULAR = 1e-3


@dataclass(frozen=True, eq=False)
class LeverEquations:
    """Moment balances ``factors @ unknowns = moment + errors`` of n readings.

    Parameters
    ----------
    factors : ndarray (..., n, k)
        Of the k unknowns, the first of UNKNOWNS.
    moment : ndarray (..., n)
        N·m.
    by_pull, by_roll : ndarray (n,)
        What a pull [N] and an angle [rad] read wrong do to the moment.
    variance : ndarray (n,)
        Of each reading's own error [(N·m)²].
    by_setting : ndarray (n,)
        What one standard uncertainty of the setting's angle does [N·m].
    starts : ndarray (s,) of int
        Where each setting begins.
    shared : ndarray (n, c)
        What one standard uncertainty of each error common to all readings does [N·m].
    """

    factors: Array
    moment: Array
    by_pull: Array
    by_roll: Array
    variance: Array
    by_setting: Array
    starts: NDArray[np.intp]
    shared: Array

    @property
    def settings(self):
        """The number of its setting for each reading, (n,)."""
        return np.repeat(np.arange(self.starts.size), np.diff([*self.starts, self.variance.size]))

    def whitened(self, values):
        """Values (n, ...) in coordinates in which readings have independent errors of size 1.

        It takes the symmetric root of the inverse of the readings' own covariance, which is
        diagonal but for one vector a setting.
        """
        shape = (-1,) + (1,) * (np.ndim(values) - 1)
        values = values / np.sqrt(self.variance).reshape(shape)
        common = self.by_setting / np.sqrt(self.variance)
        size = np.add.reduceat(common**2, self.starts)
        shrink = -np.expm1(-np.log1p(size) / 2) / np.where(size, size, 1.0)
        along = np.add.reduceat(common.reshape(shape) * values, self.starts)
        back = (shrink.reshape(shape) * along)[self.settings]
        return values - common.reshape(shape) * back


class Guess(NamedTuple):
    """What readings will give: unbalance (2,) [kg·m], friction [N·m] and scale zero [N]."""

    unbalance: Array
    friction: float
    zero: float = 0.0


class Solution(NamedTuple):
    """Least-squares unknowns (k,), their covariance (k, k) by the readings' own errors, what one
    standard uncertainty of each shared error does to them (k, c), the residuals (n,) [N·m], and
    in whitened coordinates the residuals (n,) and a basis (n, k) of what the unknowns explain."""

    unknowns: Array
    covariance: Array
    shared: Array
    residuals: Array
    white: Array
    basis: Array


def geometry(readings):
    """Arm of the pull and of the clamp [m], the sense of turning about +x, per reading, and how
    many times an error of the arm counts."""
    side = np.sign(readings.arm)
    arm, nothing, one = np.abs(readings.arm), 0.0, 1.0
    travel = readings.radius if readings.support == "rails" else 0.0
    point_and_direction = {
        "vertical": (readings.arm, nothing, nothing, one),
        "tangential": (nothing, arm, -side, nothing),
        "hung": (-readings.arm, nothing, nothing, -one),
    }[readings.pull_direction]
    twice = readings.support == "rails" and readings.pull_direction == "tangential"
    return (
        numeric("pull_arm")(*point_and_direction, travel),
        side * readings.clamp_arm,
        side * readings.turning,
        2.0 if twice else 1.0,
    )


def balances(readings):
    """Factors (..., n, 4) of the unknowns and the moments (..., n) of the readings."""
    arm, clamp_arm, turning, _ = geometry(readings)
    *factors, moment = numeric("pull_equation")(
        readings.roll, readings.pull, arm, readings.clamp_mass, clamp_arm, turning, STANDARD_GRAVITY
    )
    return np.stack(np.broadcast_arrays(*factors), axis=-1), moment


def lever_equations(readings, unknowns):
    """The `LeverEquations` of readings, errors taken at unknowns (4,)."""
    arm, clamp_arm, turning, times = geometry(readings)
    factors, moment = balances(readings)
    by_pull, by_roll, by_arm, by_clamp_arm = np.broadcast_arrays(
        *numeric("pull_sensitivities")(
            *unknowns, readings.roll, readings.pull, arm, readings.clamp_mass, clamp_arm, turning,
            STANDARD_GRAVITY,
        )
    )  # fmt: skip
    side = np.sign(readings.arm)
    shared = [
        times * by_arm * side * readings.arm_u,
        by_roll * readings.angle_zero_u,
        by_clamp_arm * side * readings.clamp_arm_u,
        by_pull * readings.pull * readings.gain_u,
    ]
    if readings.zero_u is not None:
        shared.append(factors[:, 3] * readings.zero_u)
        factors = factors[:, :3]
    new = np.flatnonzero((np.diff(readings.roll) != 0) | (np.diff(side) != 0)) + 1
    return LeverEquations(
        factors=factors,
        moment=moment,
        by_pull=by_pull,
        by_roll=by_roll,
        variance=(by_pull * readings.scale_u) ** 2,
        by_setting=by_roll * readings.angle_u,
        starts=np.concatenate([[0], new]),
        shared=np.stack(shared, axis=-1),
    )


def solve(equations):
    """The `Solution` by weighted least squares."""
    Q, R = np.linalg.qr(equations.whitened(equations.factors))
    white = equations.whitened(equations.moment)
    inverse = np.linalg.inv(R)
    unknowns = inverse @ (Q.T @ white)
    return Solution(
        unknowns=unknowns,
        covariance=inverse @ inverse.T,
        shared=inverse @ (Q.T @ equations.whitened(equations.shared)),
        residuals=equations.moment - equations.factors @ unknowns,
        white=white - Q @ (Q.T @ white),
        basis=Q,
    )


def solved(readings):
    """Equations and solution of readings, in three rounds.

    The error of a reading depends a little on the unknowns. The first round takes them as zero,
    each further one takes the result of the round before.
    """
    check_enough(readings)
    unknowns = np.zeros(4)
    for _round in range(3):
        equations = lever_equations(readings, unknowns)
        solution = solve(equations)
        unknowns[: solution.unknowns.size] = solution.unknowns
    return equations, solution


def check_enough(readings):
    """Raise InputError, naming the unknowns, if the readings cannot tell them apart."""
    factors = balances(readings)[0]
    sought = UNKNOWNS if readings.zero_u is None else UNKNOWNS[:3]
    factors, count = factors[:, : len(sought)], len(factors)
    if count < len(sought):
        names = ", ".join(sought)
        raise InputError(
            _("{count} readings cannot give the {sought} unknowns {names}").format(
                count=count, sought=len(sought), names=names
            )
        )
    scale = np.linalg.norm(factors, axis=0)
    R = np.linalg.qr(factors / np.where(scale, scale, 1), mode="r")
    sizes, directions = np.linalg.svd(R)[1:]
    lost = directions[sizes < _NEARLY_SINGULAR * sizes[0]]
    if lost.size:
        shares = np.linalg.norm(lost, axis=0)
        names = _(" and ").join(np.array(sought)[shares > 0.1])
        advice = _("roll angles spread over a turn")
        if np.ptp(readings.turning) == 0:
            advice += _(", with and against the pull")
        raise InputError(
            _("these readings leave {names} undetermined, expected {advice}").format(
                names=names, advice=advice
            )
        )
