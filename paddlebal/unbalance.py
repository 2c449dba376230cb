"""The unbalance vector at work: rest angle, gravity's roll torque, lift, couple part.

Words as in ISO 21940-2: unbalance U = sum(m r) across the shaft [kg·m], written (U_y, U_z) in
body axes; shown as g·mm, 1 kg·m being 1e6 g·mm.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.outside import AnyPaddle
from paddlebal.paddle import SIDES, Paddle
from paddlebal.units import STANDARD_GRAVITY


def magnitude(U: ArrayLike) -> Array:
    """Size of an unbalance vector (..., 2) [kg·m], shape (...).

    Parameters
    ----------
    U : array_like (..., 2)
        kg·m.

    Returns
    -------
    ndarray (...)
        kg·m.
    """
    U = np.asarray(U, dtype=float)
    return np.hypot(U[..., 0], U[..., 1])


def _rest_angle(U):
    U = np.asarray(U, dtype=float)
    angle = -np.pi / 2 - np.arctan2(U[..., 1], U[..., 0])
    return np.where(angle <= -np.pi, angle + 2 * np.pi, angle)[()]


def rest_angle(U: ArrayLike) -> Array:
    """Roll angle [rad], in (-pi, pi], at which the unbalance points down.

    Parameters
    ----------
    U : array_like (..., 2)
        Unbalance vector [kg·m].

    Returns
    -------
    float or ndarray (...)

    Raises
    ------
    InputError
        If an unbalance is zero: such a paddle rests at any angle.
    """
    if not np.all(magnitude(U) > 0):
        raise InputError("an unbalance of zero has no rest angle: the paddle stays anywhere")
    return _rest_angle(U)


def roll_torque(U: ArrayLike, theta: ArrayLike, inclination: ArrayLike = 0.0) -> Array:
    """Torque of gravity about +x: ``-g cos(inclination) |U| sin(theta - rest angle)``.

    Parameters
    ----------
    U : array_like (..., 2)
        Unbalance vector [kg·m].
    theta, inclination : array_like
        Roll angle and inclination of the shaft to the horizontal [rad]; they broadcast with
        the leading axes of U.

    Returns
    -------
    float or ndarray
        N·m.
    """
    torque = numeric("roll_torque_about_rest")
    return torque(magnitude(U), _rest_angle(U), theta, inclination, STANDARD_GRAVITY)


def weight_errors(mass, arm, angle, mass_u, arm_u, angle_u):
    """What one standard uncertainty of mass, arm and angle each does to a weight's unbalance.

    Parameters
    ----------
    mass, arm, angle : array_like (...)
        Mass [kg], arm [m] and angle [rad] from +y toward +z in body axes.
    mass_u, arm_u, angle_u : float
        Their standard uncertainties [kg, m, rad].

    Returns
    -------
    ndarray (3, ..., 2)
        kg·m; errors E of one weight that are independent have the covariance E.T @ E.
    """
    mass, arm, angle = (np.asarray(part, float)[..., None] for part in (mass, arm, angle))
    direction = np.concatenate([np.cos(angle), np.sin(angle)], axis=-1)
    across = np.concatenate([-np.sin(angle), np.cos(angle)], axis=-1)
    parts = arm * mass_u * direction, mass * arm_u * direction, mass * arm * angle_u * across
    return np.stack(parts)


def lift(U, start, stop):
    """Work [J] to lift and work [J] given back as the paddle rolls from start to stop.

    The lift is the rise of the potential energy summed over the rising parts of the way, the
    other the fall over the falling parts, both positive; their difference is the change of
    energy. Angles in rad.
    """
    rest = _rest_angle(U)
    low, high = sorted((start, stop))
    turns = rest + np.pi * np.arange(np.ceil((low - rest) / np.pi), (high - rest) / np.pi)
    path = np.concatenate([[low], turns, [high]])
    energy = numeric("potential_energy")(0.0, *np.asarray(U, float), path, 0.0, STANDARD_GRAVITY)
    steps = np.diff(energy if stop >= start else energy[::-1])
    return float(steps[steps > 0].sum()), float(-steps[steps < 0].sum())


def cycle_lift(paddle, U=None):
    """Work [J] to lift the unbalance on the way from one catch to the other and back.

    U (2,) [kg·m] is what a bench found; by default the paddle's own.
    """
    left, right = (paddle.catch_angle(side) for side in SIDES)
    U = paddle.unbalance() if U is None else U
    return lift(U, left, right)[0] + lift(U, right, left)[0]


def catch_torques(U, catches, inclination=0.0):
    """Torques (k, ...) [N·m] about +x that the hands supply to hold still at k catch angles.

    U (..., 2) [kg·m]; each catch [rad] and the inclination [rad] broadcast with its leading axes.
    """
    return np.stack([-roll_torque(U, catch, inclination) for catch in catches])


def catch_torque(paddle: AnyPaddle, U: ArrayLike | None = None) -> float:
    """Torque [N·m] that holds the paddle still at a catch, the greater of the two.

    U (2,) [kg·m] is what a bench found; by default the paddle's own.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
        One known from outside needs U.
    U : array_like (2,), optional
        kg·m.

    Returns
    -------
    float
        N·m.
    """
    U = paddle.unbalance() if U is None else U
    return float(np.abs(catch_torques(U, map(paddle.catch_angle, SIDES))).max())


def couple_unbalance(paddle: Paddle) -> Array:
    """Couple unbalance about O, sum(m x r) across the shaft: ndarray (2,) [kg·m²].

    Parameters
    ----------
    paddle : Paddle

    Returns
    -------
    ndarray (2,)
        kg·m² in body axes.
    """
    return -paddle.inertia()[0, 1:]
