"""Roll moment of a moving paddle, for as many states as there are."""

import math

import numpy as np

from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import STANDARD_GRAVITY

_BLOCK = 8192
"""States evaluated at a time: few enough for their intermediate results to stay in cache."""


def roll_moment(paddle, theta, omega, domega, accel, inclination=0.0):
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
    if np.ndim(inclination):
        accel, inclination = _along_shaft(accel, inclination), 0.0
    vectors = [np.asarray(vector, float) for vector in (omega, domega, accel)]
    shape = np.broadcast_shapes(np.shape(theta), *(vector.shape[:-1] for vector in vectors))
    moment = np.empty(shape or 1)
    theta = np.broadcast_to(np.asarray(theta, float), moment.shape)
    vectors = [np.broadcast_to(vector, (*moment.shape, 3)) for vector in vectors]
    factors = _factors(paddle, inclination)
    step = max(1, _BLOCK // max(1, math.prod(moment.shape[1:])))
    scratch = np.empty((12, moment[:step].size))
    for start in range(0, len(moment), step):
        block = moment[start : start + step]
        states = (vector[start : start + step].reshape(-1, 3) for vector in vectors)
        room = scratch[:, : block.size]
        found = _block(factors, theta[start : start + step].reshape(-1), *states, room)
        block[...] = found.reshape(block.shape)
    return moment if shape else moment[0]


def _along_shaft(accel, inclination):
    """Acceleration (..., 3) that acts on a level shaft as `accel` does on an inclined one."""
    x, y, z = np.moveaxis(np.asarray(accel, float), -1, 0)
    felt = numeric("body_components")(x, y, z + STANDARD_GRAVITY, 0.0, np.asarray(inclination))
    felt = np.stack(np.broadcast_arrays(*felt), axis=-1)
    felt[..., 2] -= STANDARD_GRAVITY
    return felt


def _factors(paddle, inclination):
    """Factors of `equations.roll_moment_factors` for a paddle, each row an array."""
    first_moment, inertia = paddle.first_moment(), paddle.inertia()
    rows = numeric("roll_moment_factors")(
        *first_moment[1:], *inertia[np.triu_indices(3)], inclination, STANDARD_GRAVITY
    )
    return [np.array(row, dtype=float) for row in rows]


def _block(factors, theta, omega, domega, accel, scratch):
    """Roll moments (n,): the products, weighted by their factors and summed, in scratch (12, n).

    Everything is written into scratch: fresh arrays would cost more than the arithmetic.
    """
    by_domega, by_omega, by_cos, by_sin = factors
    products, room = scratch[:9], scratch[9:]
    cosine, sine = _twice_cos_sin(theta, products[:2], room)
    np.multiply(np.matmul(accel, by_cos[:3], out=room[0]), cosine, out=products[2])
    np.multiply(np.matmul(accel, by_sin[:3], out=room[0]), sine, out=products[3])
    x, y, z = omega.T
    for product, first, second in zip(products[4:], (x, x, y, y, z), (y, z, y, z, z), strict=True):
        np.multiply(first, second, out=product)
    weights = np.array([by_cos[3] / 2, by_sin[3] / 2, 0.5, 0.5, *by_omega])
    moment = np.matmul(weights, products, out=room[0])
    moment += np.matmul(domega, by_domega, out=room[1])
    return moment


_QUARTER = [
    2 * (-1) ** k * (math.pi / 2) ** (2 * k + 1) / math.factorial(2 * k + 1) for k in range(8)
]
"""Series of 2 sin(a / 4) in odd powers of the turns a / (2 pi)."""


def _twice_cos_sin(angle, out, room):
    """Twice the cosine and twice the sine of angles (n,), into the two rows of `out`.

    Quicker than numpy's own, which are evaluated one by one where the processor lacks AVX-512.
    Within half a turn the series is exact to rounding for a quarter of the angle; the identities
    2 sin 2x = (2 sin x)(2 cos x) and 2 cos 2x = (2 cos x)² - 2 lead back to the whole. The error
    is below 4e-15, beside that of changing the angle by two units of its last digit.
    """
    cosine, sine = out
    turns = np.multiply(angle, 0.5 / math.pi, out=room[0])
    turns -= np.rint(turns, out=cosine)
    square = np.multiply(turns, turns, out=room[1])
    np.multiply(square, _QUARTER[-1], out=sine)
    for factor in _QUARTER[-2:0:-1]:
        sine += factor
        sine *= square
    sine += _QUARTER[0]
    sine *= turns
    np.subtract(4, np.multiply(sine, sine, out=cosine), out=cosine)
    np.sqrt(cosine, out=cosine)
    for _ in range(2):
        sine *= cosine
        cosine *= cosine
        cosine -= 2
    return out
