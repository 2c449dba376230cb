"""Roll moment of a moving paddle, for as many states as there are."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import Paddle
from paddlebal.units import STANDARD_GRAVITY


def roll_moment(
    paddle: Paddle,
    theta: ArrayLike,
    omega: ArrayLike,
    domega: ArrayLike,
    accel: ArrayLike,
    inclination: ArrayLike = 0.0,
) -> Array:
    """Moment about +x that the hands must supply to a moving paddle.

    The x component of I·domega + omega x (I·omega) + S x (accel - g), all about O. At rest it
    is minus `roll_torque`.

    Parameters
    ----------
    paddle : Paddle
    theta : array_like (...)
        Roll angle [rad].
    omega, domega : array_like (..., 3)
        Angular velocity [rad/s] and acceleration [rad/s²] in body axes.
    accel : array_like (..., 3)
        Acceleration of O [m/s²] in world axes; the shaft lies along world X when inclination
        is 0.
    inclination : array_like (...)
        Of the shaft to the horizontal [rad], right end up. All leading axes broadcast.

    Returns
    -------
    float or ndarray (...)
        N·m.

    Raises
    ------
    InputError
        If omega, domega or accel does not have three components.
    """
    for name, vector in (("omega", omega), ("domega", domega), ("accel", accel)):
        if np.shape(vector)[-1:] != (3,):
            raise InputError(f"{name} has shape {np.shape(vector)}, expected (..., 3)")
    return numeric("roll_moment")(
        *paddle.first_moment()[1:],
        *paddle.inertia()[np.triu_indices(3)],
        np.asarray(theta, dtype=float),
        *_components(omega),
        *_components(domega),
        *_components(accel),
        np.asarray(inclination, dtype=float),
        STANDARD_GRAVITY,
    )


def _components(vector: ArrayLike) -> Array:
    return np.moveaxis(np.asarray(vector, dtype=float), -1, 0)
