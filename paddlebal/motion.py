"""Roll moment of a moving paddle, for as many states as there are."""

import math

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import STANDARD_GRAVITY

_BLOCK = 16384
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
    room = np.empty((4, moment[:step].size))
    for start in range(0, len(moment), step):
        block = moment[start : start + step].reshape(-1)
        states = (vector[start : start + step].reshape(-1, 3) for vector in vectors)
        angles = theta[start : start + step].reshape(-1)
        _block(factors, angles, *states, block, room[:, : block.size])
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


def _block(factors, theta, omega, domega, accel, moment, room):
    """Write the roll moments of n states into `moment` (n,), with `room` (4, n) to work in.

    Everything is done in place: fresh arrays would cost more than the arithmetic.
    """
    by_domega, (xy, xz, yy, yz, zz), by_cos, by_sin = factors
    x, y, z, term = room
    np.copyto(room[:3], omega.T)
    np.multiply(y, xy, out=moment)
    moment += np.multiply(z, xz, out=term)
    moment *= x
    np.multiply(y, yy, out=x)
    x += np.multiply(z, yz, out=term)
    x *= y
    moment += x
    np.multiply(z, zz, out=term)
    term *= z
    moment += term
    moment += _weighted(domega, by_domega, out=term)
    twice_cos_sin = _twice_cos_sin(theta, room[:2], room[2:])
    for factor, twice in zip((by_cos, by_sin), twice_cos_sin, strict=True):
        _weighted(accel, factor[:3] / 2, out=term)
        term += factor[3] / 2
        term *= twice
        moment += term


def _weighted(vectors, factors, out):
    """Vectors (n, 3) times factors (3,), in pieces too small for BLAS to start threads.

    On a busy machine waiting for those costs more than they save.
    """
    for start in range(0, len(out), 3000):
        piece = slice(start, start + 3000)
        np.matmul(vectors[piece], factors, out=out[piece])
    return out


def _quarter(square):
    """2 sin(a / 4) over a / (2 pi), by the square of the latter."""
    turns = np.sqrt(square)
    return 2 * np.sin(math.pi / 2 * turns) / turns


_QUARTER = Chebyshev.interpolate(_quarter, 6, [0, 0.25]).convert(kind=Polynomial).coef


def _twice_cos_sin(angle, out, room):
    """Twice the cosine and twice the sine of angles (n,), into the two rows of `out`.

    Quicker than numpy's own, which are evaluated one by one where the processor lacks AVX-512.
    A polynomial gives the sine of a quarter of the angle, brought within half a turn; the
    identities 2 sin 2x = (2 sin x)(2 cos x) and 2 cos 2x = (2 cos x)² - 2 lead back to the
    whole. The error is below 4e-15, beside that of changing the angle by two units of its last
    digit.
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
