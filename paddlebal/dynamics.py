"""Roll moment of a moving paddle, for as many states as there are."""

import os
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np

from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.units import STANDARD_GRAVITY

_SHARE = 50_000
"""Least number of states for which another thread is worth starting."""


def roll_moment(paddle, theta, omega, domega, accel, inclination=0.0):
    """Moment about +x that the hands must supply to a moving paddle.

    The x component of I·domega + omega x (I·omega) + S x (accel - g), all about O. At rest it
    is minus `roll_torque`. The first call takes about a second to compile it.

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
    factors = numeric("roll_moment_factors")(
        *paddle.first_moment()[1:],
        *paddle.inertia()[np.triu_indices(3)],
        np.asarray(inclination, float),
        STANDARD_GRAVITY,
    )
    factors = np.stack(np.broadcast_arrays(*factors), axis=-1)
    return _in_shares(_moments(), factors, theta, omega, domega, accel)


@cache
def _moments():
    """The generated sum as a generalised function of numpy's, compiled by numba."""
    import sympy
    from numba import guvectorize, njit
    from sympy.codegen.rewriting import create_expand_pow_optimization

    import paddlebal.equations as equations

    arguments, expression = equations.roll_moment_sum()
    squares_as_products = create_expand_pow_optimization(2)
    one = njit(sympy.lambdify(arguments, squares_as_products(expression), "math", cse=True))

    def each(factors, theta, omega, domega, accel, moment):
        moment[0] = one(factors, theta, omega, domega, accel)

    vector = "float64[:]"
    signature = f"void({vector}, float64, {vector}, {vector}, {vector}, {vector})"
    return guvectorize([signature], "(k),(),(v),(v),(v)->()", nopython=True)(each)


def _in_shares(function, factors, theta, *vectors):
    """The function of broadcast arguments, the first axis shared out among the processors."""
    theta = np.asarray(theta, float)
    arrays = [np.asarray(v, float) for v in (factors, *vectors)]
    shape = np.broadcast_shapes(theta.shape, *(a.shape[:-1] for a in arrays))
    shares = min(os.cpu_count() or 1, int(np.prod(shape)) // _SHARE, *shape[:1])
    if shares < 2:
        return function(arrays[0], theta, *arrays[1:])
    theta = np.broadcast_to(theta, shape)
    arrays = [np.broadcast_to(a, (*shape, a.shape[-1])) for a in arrays]
    moments = np.empty(shape)
    bounds = np.linspace(0, shape[0], shares + 1).astype(int)

    def share(start, stop):
        part = slice(start, stop)
        first, *others = (a[part] for a in arrays)
        function(first, theta[part], *others, moments[part])

    with ThreadPoolExecutor(shares) as pool:
        list(pool.map(share, bounds[:-1], bounds[1:]))
    return moments
