"""Sets of pieces compared on a motion: what each leaves and what it costs."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from paddlebal.motion_balance.best import balance_for_motion
from paddlebal.motion_balance.limits import MotionLimits
from paddlebal.paddle import Paddle, counterweight_adding
from paddlebal.placement import fitted_pair
from paddlebal.stroke import Motion
from paddlebal.unbalance import magnitude
from paddlebal.work import stroke_torque


class SetRow(NamedTuple):
    """One row of a table of sets of pieces on a motion.

    Parameters
    ----------
    name : str
    mass, swing_inertia : float
        Of the pieces: kg, and added to I_zz [kg·m²].
    mean, peak : float
        Of the size of the hands' roll torque [N·m].
    work : float
        Positive work of the hands in a cycle [J].
    left : float
        Size of the unbalance at rest [kg·m].
    """

    name: str
    mass: float
    swing_inertia: float
    mean: float
    peak: float
    work: float
    left: float


def set_row(name: str, bare: Paddle, paddle: Paddle, motion: Motion) -> SetRow:
    """What a set of pieces does and costs on a motion.

    Parameters
    ----------
    name : str
    bare, paddle : Paddle
        Without and with the pieces.
    motion : Motion

    Returns
    -------
    SetRow
    """
    torque = stroke_torque(paddle, motion)
    size = np.abs(torque.torque)
    return SetRow(
        name,
        float(paddle.mass - bare.mass),
        float(paddle.inertia()[2, 2] - bare.inertia()[2, 2]),
        float(size.mean()),
        float(size.max()),
        torque.sums().full_positive,
        float(magnitude(paddle.unbalance())),
    )


def sets_at_rest(paddle: Paddle, mass: float) -> dict[str, Paddle]:
    """A paddle bare, and balanced at rest by one weight and by the pair of the same mass [kg].

    Parameters
    ----------
    paddle : Paddle
        Without counterweights.
    mass : float
        kg.

    Returns
    -------
    dict of str to Paddle
    """
    U = paddle.unbalance()
    one = counterweight_adding(-U, float(magnitude(U)) / mass)
    return {
        "bare": paddle,
        "one weight, at rest": paddle.with_counterweights(one),
        "pair, at rest": paddle.with_counterweights(*fitted_pair(paddle, mass)),
    }


def compared_sets(
    paddle: Paddle, motion: Motion, limits: MotionLimits, aim: str = "mean"
) -> tuple[SetRow, ...]:
    """Bare, balanced at rest by one weight and by the pair, and the best pieces: of the same mass,
    of half of it, and of the same that stay at rest.

    Parameters
    ----------
    paddle : Paddle
        Without counterweights.
    motion : Motion
    limits : MotionLimits
        The one weight takes the arm that its total mass needs.
    aim : str
        One of AIMS.

    Returns
    -------
    tuple of SetRow
    """
    mass = limits.total_mass
    sets = sets_at_rest(paddle, mass)
    for name, more in (
        ("best", {}), ("best, half the mass", {"total_mass": mass / 2}),
        ("best that stays", {"stays": True}),
    ):  # fmt: skip
        sets[name] = balance_for_motion(paddle, motion, replace(limits, **more), aim).paddle
    return tuple(set_row(name, paddle, each, motion) for name, each in sets.items())
