"""The roll torque of a motion as a matrix: one row for each mass property."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.paddle import Paddle
from paddlebal.stroke import Motion
from paddlebal.work import driven, mass_properties

PROPERTIES = 8
"""First moment across the shaft (2) and upper half of the inertia (6): what roll depends on."""


SAMPLES = 240
"""Instants of a cycle in the programme."""


def motion_rows(motions: Sequence[Motion | Array], samples: int = SAMPLES) -> Array:
    """Roll torque of the hands for each mass property by itself.

    Parameters
    ----------
    motions : sequence of Motion or ndarray (8, k)
        An array is such rows already, as `LoggedTorque.mean_rows` gives them.
    samples : int
        Instants of each cycle of a Motion.

    Returns
    -------
    ndarray (8, samples * motions)
        With k for samples where rows were given;
        N·m for each unit of S_y, S_z [kg·m], I_xx, I_xy, I_xz, I_yy, I_yz, I_zz [kg·m²].
    """
    return np.hstack([_rows(each, samples) for each in motions])


def _rows(motion, samples):
    if isinstance(motion, np.ndarray):
        return motion
    each = numeric("roll_moment_rows")(*driven(motion.state(motion.times(samples))))
    return np.stack(np.broadcast_arrays(*each))


def properties_of(paddle: Paddle) -> Array:
    """The mass properties on which the roll torque depends.

    Parameters
    ----------
    paddle : Paddle

    Returns
    -------
    ndarray (8,)
        As in `motion_rows`.
    """
    return np.array(mass_properties(paddle)[2:])


def piece_properties(x: Array, arm: Array, angle: Array) -> Array:
    """Mass properties of one kilogram at each of several places.

    Parameters
    ----------
    x, arm, angle : ndarray (n,)
        m, m and rad.

    Returns
    -------
    ndarray (8, n)
        As in `motion_rows`, for each kilogram.
    """
    y, z = arm * np.cos(angle), arm * np.sin(angle)
    return np.stack([y, z, y**2 + z**2, -x * y, -x * z, x**2 + z**2, -y * z, x**2 + y**2])


def gram_matrix(rows: Array) -> Array:
    """The matrix G (8, 8) with which the mean square of the torque is p' G p.

    Parameters
    ----------
    rows : ndarray (8, n)
        Of `motion_rows`.

    Returns
    -------
    ndarray (8, 8)
    """
    return rows @ rows.T / rows.shape[1]


def mean_square_many(properties: Array, gram: Array) -> Array:
    """Root mean square of the roll torque [N·m] of many paddles.

    Parameters
    ----------
    properties : ndarray (n, 8)
        Of each paddle, as `properties_of` gives them.
    gram : ndarray (8, 8)
        Of `gram_matrix`.

    Returns
    -------
    ndarray (n,)
    """
    return np.sqrt(np.einsum("ni,ij,nj->n", properties, gram, properties))
