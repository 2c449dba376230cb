"""The couple of a paddle's blades, measured: half by half, or inferred for a paddle of one piece.

A couple is two unbalances that cancel at rest and sit at different places along the shaft; it shows
in motion only. A paddle that parts at the ferrule tells it on the bench, each half by itself. For
one of one piece the in-plane model of `outside` splits the unbalance over the two blades.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.outside import SIDEWAYS_U, OutsidePaddle, refuse_same_way

PLACE_U = 0.02
"""m; standard uncertainty of where along the shaft a blade's mass sits: assumed, no source."""


class MeasuredCouple(NamedTuple):
    """A couple unbalance about O.

    Parameters
    ----------
    couple : ndarray (2,)
        kg·m².
    covariance : ndarray (2, 2)
    """

    couple: Array
    covariance: Array

    @property
    def size(self) -> float:
        """kg·m²."""
        return float(np.hypot(*self.couple))

    @property
    def size_u(self) -> float:
        """Standard uncertainty of the size [kg·m²]."""
        along = self.couple / self.size if self.size else np.array([1.0, 0.0])
        return math.sqrt(along @ self.covariance @ along)


def couple_of_halves(
    halves: Sequence[tuple[ArrayLike, ArrayLike]],
    places: Sequence[float],
    place_u: float = PLACE_U,
) -> MeasuredCouple:
    """The couple of a paddle whose halves were measured each by itself.

    Parameters
    ----------
    halves : sequence of (array_like (2,), array_like (2, 2))
        Unbalance [kg·m] of each half and its covariance, both from the same mark.
    places : sequence of float
        Where along the whole paddle's shaft each half's unbalance sits [m], about the middle of its
        blade.
    place_u : float
        Standard uncertainty of each place [m].

    Returns
    -------
    MeasuredCouple
    """
    vectors = [np.asarray(unbalance, dtype=float) for unbalance, _covariance in halves]
    couple = sum((x * U for x, U in zip(places, vectors, strict=True)), np.zeros(2))
    spread = np.zeros((2, 2))
    for x, U, (_unbalance, covariance) in zip(places, vectors, halves, strict=True):
        spread += x**2 * np.asarray(covariance) + place_u**2 * np.outer(U, U)
    return MeasuredCouple(couple, spread)


def couple_of_one_piece(
    paddle: OutsidePaddle,
    unbalance: ArrayLike,
    covariance: ArrayLike,
    places: tuple[float, float] | None = None,
    place_u: float = PLACE_U,
) -> MeasuredCouple:
    """The couple of a paddle of one piece, inferred: each blade's mass on the line along its back.

    Parameters
    ----------
    paddle : OutsidePaddle
        Whose faces are known.
    unbalance, covariance : array_like (2,), (2, 2)
        As the bench found it [kg·m], and its covariance.
    places : tuple of float, optional
        Of the left and the right blade's mass along the shaft [m]; by default the middles of the
        stretches without weight at the paddle's ends.
    place_u : float
        Standard uncertainty of each place [m].

    Returns
    -------
    MeasuredCouple

    Raises
    ------
    InputError
        If the faces or the blades' places are not known, or the blades point the same way.
    """
    found = blade_middles(paddle) if places is None else places
    if found is None or not paddle.faces_known:
        raise InputError(_("where the blades are and how they face is not known of this paddle"))
    angles = np.array([paddle.blade_angle("left"), paddle.blade_angle("right")])
    refuse_same_way(*angles)

    def couple(U, turned, x):
        backs = np.array([np.cos(angles + turned), np.sin(angles + turned)])
        return backs @ (np.asarray(x) * np.linalg.solve(backs, U))

    U, none = np.asarray(unbalance, dtype=float), np.zeros(2)
    slopes = _slopes(lambda U: couple(U, none, found), U)
    turns = _slopes(lambda turned: couple(U, turned, found), none)
    shifts = _slopes(lambda x: couple(U, none, x), np.array(found))
    both = turns.sum(axis=1, keepdims=True) * paddle.face_u
    spread = slopes @ np.asarray(covariance) @ slopes.T + both @ both.T
    spread += SIDEWAYS_U**2 * turns @ turns.T + place_u**2 * shifts @ shifts.T
    return MeasuredCouple(couple(U, none, found), spread)


def blade_middles(paddle: OutsidePaddle) -> tuple[float, float] | None:
    """Middles of the left and the right blade along the shaft [m], by the stretches without weight
    that reach the paddle's ends; None where there are none."""
    half = paddle.shaft.length / 2
    left = [each for each in paddle.keep_outs if each.start <= -half + 1e-3]
    right = [each for each in paddle.keep_outs if each.stop >= half - 1e-3]
    if not left or not right:
        return None
    return (left[0].start + left[0].stop) / 2, (right[0].start + right[0].stop) / 2


def _slopes(function: Callable[[Array], Array], at: Array) -> Array:
    """Slopes (2, 2) of a function with its argument."""
    step = 1e-6
    return np.column_stack(
        [(function(at + move) - function(at - move)) / (2 * step) for move in step * np.eye(2)]
    )
