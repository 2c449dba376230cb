"""What a film of a swing would tell, before it is made."""

from __future__ import annotations

import math

import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.films import BARE, KnownMass, OneSwing, loaded_swing, of_swing
from paddlebal.bench.record import swing_covariance
from paddlebal.paddle import Paddle
from paddlebal.units import DEG, STANDARD_GRAVITY


def expected_swing(
    paddle: Paddle,
    known: KnownMass = BARE,
    support: str = "rollers",
    *,
    friction: float = 0.003,
    drag: float = 0.1,
    start: float = 50 * DEG,
    seconds: float = 8.0,
    rate: float = 60.0,
    angle_u: float = 0.1 * DEG,
) -> OneSwing:
    """The swing of a paddle of known parts, and how closely a film would tell it.

    Parameters
    ----------
    paddle : Paddle
    known : KnownMass
        What is on it.
    support : str
        'rollers' or 'rails'.
    friction : float
        Dry friction moment [N·m].
    drag : float
        Moment per rate of roll over the moment of inertia [1/s].
    start : float
        Angle from rest at which it is let go [rad].
    seconds, rate : float
        How long it is filmed, until it has come to rest at the longest; frames a second.
    angle_u : float
        Standard uncertainty of the angle in each frame [rad].

    Returns
    -------
    OneSwing
        Its values are exact.
    """
    radius = paddle.shaft.radius
    rolls = radius if support == "rails" else 0.0
    put = known.mass, known.arm, known.angle, known.inertia
    stiffness, rest, size = loaded_swing(
        paddle.unbalance(), paddle.inertia()[0, 0], put, paddle.mass, rolls
    )
    share = friction / (STANDARD_GRAVITY * size)
    unknowns = np.array([stiffness, share, drag, 0.0, start, 0.0])
    whole = swing_covariance(_frames(unknowns, seconds, rate), unknowns, angle_u, rolls)
    return OneSwing(stiffness, rest, share, of_swing(whole), support, radius)


def _frames(unknowns: Array, seconds: float, rate: float) -> Array:
    """Times of the frames until the swing is small; dry friction takes away four times its own
    angle in each period, drag its share."""
    stiffness, share, drag, _, start, _ = unknowns
    period, left, time = 2 * math.pi / math.sqrt(stiffness), start, 0.0
    while left > 4 * DEG and time < seconds:
        left = left * math.exp(-drag * period / 2) - 4 * share
        time += period
    return np.arange(0, max(min(time, seconds), 2 * period), 1 / rate)
