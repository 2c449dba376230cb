"""What a hand has to hold of a paddle: still at a catch, or through a modelled stroke.

One hand is taken to hold all of the roll torque, which is the cautious reading, and the water's
force on the blades is left out, as in `paddlebal.work`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.grip import HourLevel, hour_load, share_range
from paddlebal.limits import Limits
from paddlebal.paddle import Paddle
from paddlebal.placement import place_counterweight
from paddlebal.stroke import OCEAN, Stroke
from paddlebal.work import RollParts, roll_parts


def part_balanced(paddle: Paddle, share: float = 1.0) -> Paddle:
    """The paddle with a brass counterweight that takes away a share, 0 to 1, of its unbalance.

    Parameters
    ----------
    paddle : Paddle
    share : float
        0 to 1.

    Returns
    -------
    Paddle
    """
    if share == 0:
        return paddle
    found = place_counterweight(paddle.unbalance(), Limits.for_paddle(paddle, material="brass"))
    weight = found.counterweight
    return paddle.with_counterweights(replace(weight, mass=share * weight.mass))


SAMPLES = 400
"""Equal steps of a cycle."""


def stroke_series(
    paddle: Paddle, strokes_per_minute: float = OCEAN.strokes_per_minute, stroke: Stroke = OCEAN
) -> tuple[Array, RollParts]:
    """A modelled cycle: times [s], and the roll torque [N·m] by its parts.

    Parameters
    ----------
    paddle : Paddle
    strokes_per_minute : float
        Both sides together; a cycle is two strokes.
    stroke : Stroke
        The path, whose half-ranges are illustrative.

    Returns
    -------
    tuple of ndarray (SAMPLES + 1,), RollParts
        The end of the cycle is included, as `grip.held_fraction` expects.
    """
    motion = stroke.motion(paddle).with_rate(strokes_per_minute)
    time = np.linspace(0, motion.period, SAMPLES + 1)
    return time, roll_parts(paddle, motion, time)


def grip_range(torque, diameter, friction):
    """Least and greatest grip [N] for a torque [N·m]: `share_range` of a strength of 1 N."""
    return share_range(torque, diameter, friction, (1.0, 1.0))


def hour_ranges(
    time: ArrayLike,
    torque: ArrayLike,
    diameter: float,
    friction: Sequence[float],
    strength: Sequence[float],
) -> list[tuple[HourLevel, HourLevel]]:
    """An hour's load at both ends of the ranges: three pairs (least, greatest) of `HourLevel`.

    time [s] and torque [N·m], arrays (n,), are a cycle that stands for the hour; the others
    as for `share_range`.

    Parameters
    ----------
    time : array_like (n,)
        s.
    torque : array_like (n,)
        N·m.
    diameter : float
        m.
    friction : Interval
    strength : Interval
        N.

    Returns
    -------
    list of tuple of HourLevel
    """
    ends = share_range(torque, diameter, friction, strength)
    return list(zip(*(hour_load(time, share) for share in ends), strict=True))
