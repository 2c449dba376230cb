"""Balance in two correction planes, and what is left if only one is used.

A counterweight in one plane removes static unbalance: the paddle stays at any roll angle. Two
equal blades at a feather also leave couple unbalance, which no scale at rest can show. Rolling
alone, it asks the hands for a moment across the shaft, that is two opposite forces at the
hands; when the shaft swings, also for a moment along it (`paddlebal.stroke`).

Could a paddler feel it? For the invented ocean paddle (60 deg feather, couple unbalance
0.0085 kg·m²) turned through its feather in half a second along half a cosine, the moment
across the shaft peaks at 0.18 N·m: 0.25 N at each of two hands 0.7 m apart. Gravity asks for
0.13 N·m about the shaft, on a radius of 14.6 mm 9 N. A change of force in the fingers is
noticed from about 7 % (Pang, Tan & Durlach, Manual discrimination of force using active
finger motion, Perception & Psychophysics 49, 1991, 531-540, for 2.5 to 10 N), and half the
paddle's weight in each hand is 3.2 N, of which 7 % is 0.22 N. So with a light hand in the air
it lies at the edge of what can be noticed, and under the pull of a stroke well below it. This
is a comparison of sizes, not a measurement on paddlers.

Words as in ISO 21940-2:2017, part 3.3; the rules in `kind_of_unbalance` are from memory.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import Paddle, counterweight_adding
from paddlebal.stroke import Motion
from paddlebal.unbalance import couple_unbalance
from paddlebal.work import hand_load, roll_parts

Rotor: TypeAlias = Paddle | tuple[ArrayLike, ArrayLike]
"""A paddle, or its unbalance and its couple unbalance."""


class Correction(NamedTuple):
    """Correction vectors (2,) [kg·m] across the shaft in the left and the right plane."""

    left: Array
    right: Array


def static_and_couple(rotor: Rotor) -> tuple[Array, Array]:
    """Unbalance (2,) [kg·m] and couple unbalance about O (2,) [kg·m²].

    Of a Paddle, or of a pair of just these two arrays.

    Parameters
    ----------
    rotor : Paddle or pair of array_like (2,)

    Returns
    -------
    unbalance : ndarray (2,)
        kg·m.
    couple : ndarray (2,)
        kg·m².
    """
    if isinstance(rotor, Paddle):
        return rotor.unbalance(), couple_unbalance(rotor)
    unbalance, couple = rotor
    return np.asarray(unbalance, dtype=float), np.asarray(couple, dtype=float)


def balance_two_planes(rotor: Rotor, x_left: float, x_right: float) -> Correction:
    """The two corrections that remove static and couple unbalance.

    Parameters
    ----------
    rotor : Paddle or (unbalance, couple)
        As `static_and_couple` takes it.
    x_left, x_right : float
        Places of the correction planes along the shaft [m].

    Returns
    -------
    Correction
        A mass m on an arm r in the direction of a vector V balances when ``m r = |V|``.

    Raises
    ------
    InputError
        If the planes coincide: one plane cannot remove a couple.
    """
    if x_left == x_right:
        raise InputError("the correction planes coincide, expected two places along the shaft")
    unbalance, couple = static_and_couple(rotor)
    return Correction(*numeric("two_planes")(unbalance, couple, x_left, x_right))


NEGLIGIBLE = 1e-9
"""kg·m, and kg·m²: an unbalance or a couple as small as this is none."""


def kind_of_unbalance(rotor: Rotor, centre_x: float) -> str:
    """Which unbalance it is in the words of the standard.

    Parameters
    ----------
    rotor : Paddle or (unbalance, couple)
        As `static_and_couple` takes it.
    centre_x : float
        Place of the centre of mass along the shaft [m].

    Returns
    -------
    str
        'none'; 'static': the principal axis of inertia is parallel to the shaft axis, one
        correction in the plane of the centre of mass removes it; 'couple': it crosses the
        shaft axis at the centre of mass; 'quasi-static': it crosses elsewhere, one correction
        in some other plane removes it; 'dynamic': it passes the shaft axis by, two planes are
        needed.
    """
    unbalance, couple = static_and_couple(rotor)
    couple = couple - centre_x * unbalance
    size = np.hypot(*unbalance)
    if np.hypot(*couple) <= NEGLIGIBLE:
        return "none" if size <= NEGLIGIBLE else "static"
    if size <= NEGLIGIBLE:
        return "couple"
    aside = (unbalance[0] * couple[1] - unbalance[1] * couple[0]) / size
    return "quasi-static" if abs(aside) <= NEGLIGIBLE else "dynamic"


def couple_moment(couple: ArrayLike, omega: ArrayLike, domega: ArrayLike) -> Array:
    """Moment across the shaft that the hands supply to a couple unbalance in roll.

    Parameters
    ----------
    couple : array_like (2,)
        Couple unbalance about O [kg·m²].
    omega, domega : array_like
        Roll rate [rad/s] and roll acceleration [rad/s²]; they broadcast.

    Returns
    -------
    ndarray (..., 2)
        N·m along y and z in body axes. Divided by the distance of the hands it is the force
        at each, in opposite directions.
    """
    moment = numeric("couple_moment")(*np.asarray(couple), np.asarray(omega), np.asarray(domega))
    return np.stack(np.broadcast_arrays(*moment), axis=-1)


def with_corrections(paddle: Paddle, arm: float, x_left: float, x_right: float) -> Paddle:
    """The paddle with a counterweight on an arm [m] in each of two planes [m] that balance it.

    Raises InputError if the planes coincide.

    Parameters
    ----------
    paddle : Paddle
    arm : float
        m.
    x_left, x_right : float
        Places of the planes [m].

    Returns
    -------
    Paddle
    """
    vectors = balance_two_planes(paddle, x_left, x_right)
    weights = [
        counterweight_adding(vector, arm, x)
        for vector, x in zip(vectors, (x_left, x_right), strict=True)
    ]
    return paddle.with_counterweights(*weights)


class PeakMoments(NamedTuple):
    """Largest sizes over a stroke cycle of what the hands supply, N·m.

    gravity: about the shaft, against gravity. couple_along: about the shaft, because couple
    unbalance resists the shaft's swing (with gyroscopic effects). couple_across: across the
    shaft, because couple unbalance resists the roll. across: all moment across the shaft, most
    of it to swing the paddle.
    """

    gravity: float
    couple_along: float
    couple_across: float
    across: float


def peak_moments(paddle: Paddle, motion: Motion, samples: int = 200) -> PeakMoments:
    """The `PeakMoments` of a paddle over one cycle of a motion, in so many equal steps.

    Parameters
    ----------
    paddle : Paddle
    motion : Motion
    samples : int
        Steps in a cycle.

    Returns
    -------
    PeakMoments
    """
    time = motion.times(samples)
    parts, state = roll_parts(paddle, motion, time), motion.state(time)
    own = couple_moment(couple_unbalance(paddle), state.omega[:, 0], state.domega[:, 0])
    return PeakMoments(
        float(np.abs(parts.gravity).max()),
        float(np.abs(parts.products).max()),
        float(np.hypot(*own.T).max()),
        float(np.hypot(*hand_load(paddle, motion, time)[4:]).max()),
    )
