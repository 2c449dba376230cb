"""Specific force, acceleration less gravity: what a logger shows and a fastening carries."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.stroke import Motion
from paddlebal.work import driven


def force_at(omega: Array, domega: Array, force: Array, place: Array) -> Array:
    """Specific force at a place of a rigid body, by that at its origin.

    Parameters
    ----------
    omega, domega, force : ndarray (n, 3)
        Angular velocity [rad/s] and acceleration [rad/s²], and specific force at the origin
        [m/s²], in the body's axes.
    place : ndarray (3,)
        m.

    Returns
    -------
    ndarray (n, 3)
        m/s².
    """
    return force + np.cross(domega, place) + np.cross(omega, np.cross(omega, place))


def specific_force(motion: Motion, time: ArrayLike, place: ArrayLike) -> Array:
    """Specific force at a place on a paddle in motion, in the paddle's axes.

    Parameters
    ----------
    motion : Motion
    time : array_like (n,)
        s.
    place : array_like (3,)
        In the paddle's axes [m].

    Returns
    -------
    ndarray (n, 3)
        m/s²; standard gravity upward when nothing moves.
    """
    state = motion.state(time)
    of_one_kilogram = numeric("hand_load")(1.0, *np.zeros(9), *driven(state))[:3]
    force = np.stack(np.broadcast_arrays(*of_one_kilogram), axis=-1)
    return force_at(state.omega, state.domega, force, np.asarray(place, dtype=float))
