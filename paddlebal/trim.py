"""How to change weights that are on the paddle, once it was measured with them."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.outside import AnyPaddle
from paddlebal.paddle import SIDES, Counterweight


@dataclass(frozen=True)
class Trim:
    """A change of the weights that are on: all lighter or heavier alike, all turned alike.

    Parameters
    ----------
    weights : tuple of Counterweight
        As they are to be; arms, places and materials stay.
    added : float
        What they weigh more than now, all together [kg]; negative: less.
    turn : float
        By how much they are turned about +x [rad], from -pi to pi.
    added_u, turn_u : float
        Standard uncertainties by the bench [kg, rad].
    """

    weights: tuple[Counterweight, ...]
    added: float
    turn: float
    added_u: float
    turn_u: float

    @property
    def needed(self) -> bool:
        """Whether the bench shows, by two standard uncertainties, that anything has to change."""
        return abs(self.turn) >= 2 * self.turn_u or abs(self.added) >= 2 * self.added_u


def trim_counterweights(
    weights: tuple[Counterweight, ...], residual: ArrayLike, covariance: ArrayLike | None = None
) -> Trim:
    """The change after which nothing would have been left.

    Parameters
    ----------
    weights : tuple of Counterweight
        As they were fitted.
    residual : array_like (2,)
        The unbalance measured with them on [kg·m].
    covariance : array_like (2, 2), optional
        Of it [(kg·m)²]; by default it is taken as exact.

    Returns
    -------
    Trim

    Raises
    ------
    InputError
        If the weights' own unbalances cancel, or they have no arm.
    """
    present = complex(*sum((each.unbalance for each in weights), np.zeros(2)))
    mass = sum(each.mass for each in weights)
    if abs(present) < 1e-9 * max(mass, 1e-9):
        raise InputError(
            _("weights that balance nothing cannot be trimmed, expected an arm above 0")
        )
    wanted = present - complex(*np.asarray(residual, dtype=float))
    factor, turn = abs(wanted) / abs(present), cmath.phase(wanted / present)
    along = np.array([wanted.real, wanted.imag]) / abs(wanted)
    across = np.array([-along[1], along[0]])
    spread = np.zeros((2, 2)) if covariance is None else np.asarray(covariance)
    along_u, across_u = (math.sqrt(each @ spread @ each) for each in (along, across))
    return Trim(
        weights=tuple(replace(w, mass=factor * w.mass, angle=w.angle + turn) for w in weights),
        added=(factor - 1) * mass,
        turn=turn,
        added_u=mass * along_u / abs(present),
        turn_u=across_u / abs(wanted),
    )


def left_by(pieces, unbalance, trim=None):
    """Unbalance (2,) [kg·m] that pieces leave of a measured one (2,) by the plan.

    With a trim they are those that are on, and were measured, as they are to be.
    """
    if trim is not None:
        return np.zeros(2) if trim.needed else unbalance
    return unbalance + sum(w.unbalance for piece in pieces for w in piece.counterweights)


def turn_words(paddle: AnyPaddle, angle: float, turn: float) -> str:
    """Which way a weight at an angle [rad] is to be turned, in words."""
    sense = _("counterclockwise") if turn > 0 else _("clockwise")
    words = _("{sense}, seen from the right end").format(sense=sense)
    if not paddle.faces_known:
        return words
    marks = {
        _("the {side} blade's back").format(side=_(side)): paddle.blade_angle(side)
        for side in SIDES
    }
    faces = {
        _("the {side} blade's face").format(side=_(side)): paddle.blade_angle(side) + math.pi
        for side in SIDES
    }

    def way(mark):
        return (mark[1] - angle) * math.copysign(1.0, turn) % (2 * math.pi)

    nearest = min(chain(marks.items(), faces.items()), key=way)[0]
    return _("toward {nearest} ({words})").format(nearest=nearest, words=words)


def trim_words(paddle: AnyPaddle, trim: Trim) -> str:
    """The change in a sentence, each ± two standard uncertainties.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
    trim : Trim

    Returns
    -------
    str
    """
    turn, added = math.degrees(abs(trim.turn)), 1e3 * abs(trim.added)
    each = _("the weight") if len(trim.weights) == 1 else _("each weight")
    if not trim.needed:
        return _(
            "Change nothing: {each} sits right as far as the bench can tell, to ± "
            "{turn_u:.1f}° and ± {added_u:.1f} g."
        ).format(each=each, turn_u=math.degrees(2 * trim.turn_u), added_u=2e3 * trim.added_u)
    before = trim.weights[0].angle - trim.turn
    return _(
        "Turn {each} {turn:.1f} ± {turn_u:.1f}° {way}, and {change} {added:.1f} ± {added_u:.1f} "
        "g{in_all}."
    ).format(
        each=each,
        turn=turn,
        turn_u=math.degrees(2 * trim.turn_u),
        way=turn_words(paddle, before, trim.turn),
        change=_("add") if trim.added > 0 else _("take off"),
        added=added,
        added_u=2e3 * trim.added_u,
        in_all=_(" in all") if len(trim.weights) > 1 else "",
    )
