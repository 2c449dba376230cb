"""A paddle known only from outside: glued, so that it can be weighed and measured whole.

Body axes as for `Paddle`, but for the zero of the roll angle: it is where the bench's angles
count from, a mark on the shaft that points forward at roll 0. Where the blades' faces stand
from there is known if someone looked with a level.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array, Side
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.paddle import Counterweight, KeepOut, Paddle
from paddlebal.units import WATER_DENSITY


@dataclass(frozen=True)
class OutsideShaft:
    """A shaft by its outside.

    Parameters
    ----------
    length : float
        Of the whole paddle [m].
    diameters : tuple of float
        Across the shaft, in the direction of the mark and across it [m]; equal if it is round.
    """

    length: float
    diameters: tuple[float, float]

    @property
    def radius(self) -> float:
        """Half the larger diameter [m]."""
        return max(self.diameters) / 2


@dataclass(frozen=True)
class OutsidePaddle:
    """A paddle known only from outside.

    Parameters
    ----------
    name : str
    mass : float
        Of all of it [kg], counterweights included.
    balance_point : float
        Place of its centre of mass along the shaft [m] from mid-length, right positive.
    shaft : OutsideShaft
    control : str
        Hand that turns the shaft, 'left' or 'right'.
    feather : float, optional
        rad; None if not known.
    face : float, optional
        Roll angle [rad] at which the control blade's power face stands upright; None if nobody
        looked.
    face_u : float
        Its standard uncertainty [rad].
    volume : float, optional
        Water displaced when immersed [m³]; None if not known.
    keep_outs : tuple of KeepOut
    counterweights : tuple of Counterweight
        Those that are on it.
    note : str
    """

    name: str
    mass: float
    balance_point: float
    shaft: OutsideShaft
    control: Side
    feather: float | None = None
    face: float | None = None
    face_u: float = 0.0
    volume: float | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    counterweights: tuple[Counterweight, ...] = ()
    note: str = ""

    @property
    def faces_known(self) -> bool:
        """Whether it is known where both blades' faces stand."""
        return self.face is not None and self.feather is not None

    def catch_angle(self, side: Side) -> float:
        """Roll angle [rad] at which that side's power face is upright.

        Raises InputError if it is not known.
        """
        if self.face is None or self.feather is None:
            raise InputError("the catch needs the feather and, by a level, the face's angle")
        return self.face if side == self.control else self.face + self.feather

    def blade_angle(self, side: Side) -> float:
        """Angle [rad] from the mark to where a blade's back points; errors as `catch_angle`."""
        return -self.catch_angle(side)

    def unbalance(self) -> Array:
        """Raises InputError: the unbalance of such a paddle is what a bench finds."""
        raise InputError("the unbalance of a paddle known from outside is what a bench finds")

    @property
    def flotation(self) -> float | None:
        """Mass [kg] the immersed paddle can still carry in fresh water; negative sinks."""
        return None if self.volume is None else WATER_DENSITY * self.volume - self.mass

    def without_counterweights(self) -> OutsidePaddle:
        """The paddle with all counterweights, which are part of its mass, taken off."""
        taken = (replace(each, mass=-each.mass) for each in self.counterweights)
        return replace(self.with_counterweights(*taken), counterweights=())

    def with_counterweights(self, *counterweights: Counterweight) -> OutsidePaddle:
        """The paddle with these counterweights added."""
        mass = self.mass + sum(each.mass for each in counterweights)
        along = self.mass * self.balance_point + sum(w.mass * w.x for w in counterweights)
        volume = self.volume
        if volume is not None:
            volume += sum(each.mass / each.density for each in counterweights)
        return replace(
            self,
            mass=mass,
            balance_point=along / mass,
            volume=volume,
            counterweights=self.counterweights + counterweights,
        )


AnyPaddle: TypeAlias = Paddle | OutsidePaddle


def from_outside(paddle: Paddle) -> OutsidePaddle:
    """What a paddle with known parts shows from outside, its weights left out.

    Parameters
    ----------
    paddle : Paddle

    Returns
    -------
    OutsidePaddle
    """
    bare = paddle.without_counterweights()
    ends = (bare.left.x - bare.left.length / 2, bare.right.x + bare.right.length / 2)
    diameter = 2 * bare.shaft.radius
    return OutsidePaddle(
        name=bare.name, mass=bare.mass,
        shaft=OutsideShaft(2 * max(-ends[0], ends[1]), (diameter, diameter)),
        balance_point=bare.balance_point, control=bare.control, feather=bare.feather,
        face=-bare.blade_angle(bare.control), volume=bare.volume, keep_outs=bare.keep_outs,
    )  # fmt: skip


def not_known(paddle: AnyPaddle) -> tuple[tuple[str, str], ...]:
    """What is not known of a paddle, and which measurement would tell: (what, measurement).

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle

    Returns
    -------
    tuple of tuple of str
    """
    if isinstance(paddle, Paddle):
        return ()
    missing = [
        (_("Swing inertia"), _("the time of the whole paddle as a pendulum")),
        (_("Roll inertia"), _("the time of a swing on the bench")),
        (_("Couple of the blades, torque in a stroke"), _("the mass and place of each blade")),
    ]
    if paddle.volume is None:
        missing.insert(
            0, (_("Whether it floats"), _("the water it displaces, sealed and immersed"))
        )
    if not paddle.faces_known:
        both = ((_("the feather"), paddle.feather), (_("the face by a level"), paddle.face))
        lacking = _(" and ").join(words for words, value in both if value is None)
        missing.insert(0, (_("Torque at the catch, work per cycle, each blade"), lacking))
    return tuple(missing)


SIDEWAYS_U = math.radians(2.2)
"""Standard uncertainty of the direction in which a blade's mass lies from its back: 2 mm
sideways in 52 mm; assumed, no source."""


_LEAST_FEATHER = math.radians(5)


class BladeMoments(NamedTuple):
    """Mass times offset of the control blade and the other [kg·m], then their standard
    uncertainties."""

    control: float
    other: float
    control_u: float
    other_u: float


def refuse_same_way(first: float, second: float) -> None:
    """Refuse two blades whose backs point at such angles [rad] that one cannot be told from the
    other.

    Raises
    ------
    InputError
    """
    if abs(math.sin(first - second)) < math.sin(_LEAST_FEATHER):
        raise InputError(_("with blades that point the same way one cannot be told from the other"))


def blade_moments(
    paddle: OutsidePaddle, unbalance: ArrayLike, covariance: ArrayLike
) -> BladeMoments:
    """What each blade weighs on its offset, by an in-plane model.

    The unbalance is taken as the sum of two vectors, each along the back of its blade. An error
    of the face's angle turns both, a blade's sideways mass turns its own.

    Parameters
    ----------
    paddle : OutsidePaddle
        Whose faces are known.
    unbalance : array_like (2,)
        As the bench found it [kg·m].
    covariance : array_like (2, 2)
        Of it [(kg·m)²].

    Returns
    -------
    BladeMoments

    Raises
    ------
    InputError
        If the faces are not known, or the blades point so nearly the same way that the
        unbalance does not tell them apart.
    """
    first, second = (
        paddle.blade_angle(side)
        for side in (paddle.control, "left" if paddle.control == "right" else "right")
    )
    refuse_same_way(first, second)
    angles = np.array([first, second])
    backs = np.array([np.cos(angles), np.sin(angles)])
    across = np.array([-np.sin(angles), np.cos(angles)])
    back = np.linalg.inv(backs)
    moments = back @ np.asarray(unbalance, dtype=float)
    tilted = -back @ (across * moments)
    errors = np.column_stack([tilted * SIDEWAYS_U, tilted.sum(axis=1) * paddle.face_u])
    spread = back @ np.asarray(covariance) @ back.T + errors @ errors.T
    return BladeMoments(*moments.tolist(), *np.sqrt(np.diag(spread)).tolist())
