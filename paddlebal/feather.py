"""What feather does to a paddle: unbalance, holding torque, lift and couple against feather."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.paddle import SIDES, Paddle
from paddlebal.unbalance import catch_torques, couple_unbalance, cycle_lift, magnitude, rest_angle


class FeatherEffects(NamedTuple):
    """One value for each feather, arrays of its shape.

    unbalance, its size [kg·m]; left and right, the torque [N·m] about +x that the hands supply
    at that side's catch, shaft level; lift [J], work to raise the unbalance on the way from one
    catch to the other and back; couple, the size of the couple unbalance about O [kg·m²].
    """

    unbalance: Array
    left: Array
    right: Array
    lift: Array
    couple: Array


def against_feather(paddle: Paddle, feathers_deg: ArrayLike) -> FeatherEffects:
    """What a paddle would do at each feather [deg], as `FeatherEffects`.

    Its counterweights turn with the half on which they sit.

    Parameters
    ----------
    paddle : Paddle
    feathers_deg : array_like (...)

    Returns
    -------
    FeatherEffects
        Arrays (...).
    """
    feathers = np.asarray(feathers_deg, dtype=float)
    rows = [_effects(paddle.with_feather(feather)) for feather in feathers.flat]
    return FeatherEffects(*np.transpose(rows).reshape(-1, *feathers.shape))


def _effects(paddle):
    U = paddle.unbalance()
    return (
        magnitude(U),
        *catch_torques(U, map(paddle.catch_angle, SIDES)),
        cycle_lift(paddle),
        magnitude(couple_unbalance(paddle)),
    )


POSITIONS = ("right catch", "left catch", "at rest", "unstable equilibrium")
"""Roll angles that a picture shows a paddle at."""


MOST_ADDED = 0.04
"""kg to or from one blade, the most that a picture offers."""


def with_heavier_left(paddle, added):
    """The paddle with its left blade's mass changed by `added` [kg], of the same shape."""
    left = replace(paddle.left, mass=paddle.left.mass + added, inertia=None)
    return replace(paddle, left=left)


def roll_at(paddle, position):
    """Roll angle [rad] of one of POSITIONS."""
    rest = rest_angle(paddle.unbalance())
    catches = {f"{side} catch": paddle.catch_angle(side) for side in SIDES}
    return (catches | {"at rest": rest, "unstable equilibrium": rest + math.pi})[position]
