"""Which pieces may go on a paddle for a motion."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from paddlebal.errors import InputError
from paddlebal.language import marked
from paddlebal.limits import Envelope
from paddlebal.paddle import KeepOut, Paddle
from paddlebal.units import DEG

MOTION_CAUTION = marked(
    "A calculation: nothing of this was tried on the water. Weights far out on the shaft swing "
    "past water, hull and face, and make the paddle slower to swing. Where hands, knees and hull "
    "come must stay free, and every piece needs two fastenings."
)
"""What goes with every set of pieces for a motion."""


@dataclass(frozen=True)
class MotionLimits:
    """Which pieces may go on.

    Parameters
    ----------
    total_mass : float
        Of all pieces [kg].
    stations : tuple of float
        Places along the shaft [m].
    arms : tuple of float
        The arm at each station [m].
    angle_step : float
        Between the angles that are tried first [rad]; unless masses are in whole steps, others
        follow where they pay.
    pieces : int, optional
        How many at most.
    mass_step : float
        Masses are whole multiples of it [kg]; 0 for any.
    swing_inertia : float, optional
        Most that is added to I_zz about O [kg·m²].
    balance_shift : float, optional
        How far the balance point may move along the shaft [m].
    stays : bool
        Whether the paddle must also stay at rest at any roll angle.
    stays_within : float
        Unbalance that may then be left [kg·m], such as friction holds.
    """

    total_mass: float = 0.2
    stations: tuple[float, ...] = (-0.5, -0.25, 0.0, 0.25, 0.5)
    arms: tuple[float, ...] = (0.06,) * 5
    angle_step: float = 10 * DEG
    pieces: int | None = None
    mass_step: float = 0.0
    swing_inertia: float | None = None
    balance_shift: float | None = None
    stays: bool = False
    stays_within: float = 1e-6

    def __post_init__(self):
        if len(self.arms) != len(self.stations) or not self.stations:
            raise InputError(
                f"{len(self.stations)} stations and {len(self.arms)} arms were given, expected an "
                "arm for each station"
            )
        for name in ("total_mass", "angle_step", "stays_within"):
            if not 0 < getattr(self, name) < math.inf:
                raise InputError("expected a number above 0", field=name)
        if not all(0 < arm < 1 for arm in self.arms):
            raise InputError("expected arms above 0 and below 1 m")
        if self.mass_step < 0 or (self.pieces is not None and self.pieces < 1):
            raise InputError("expected at least one piece, and a step of the mass of 0 or more")

    @classmethod
    def for_paddle(
        cls, paddle: Paddle, envelope: Envelope, stations: Sequence[float], **stated: object
    ) -> MotionLimits:
        """Limits with an envelope's arms at those stations [m] that keep-outs leave free.

        Parameters
        ----------
        paddle : Paddle
        envelope : Envelope
        stations : sequence of float
        **stated
            Further fields.

        Returns
        -------
        MotionLimits

        Raises
        ------
        InputError
            If no station is free.
        """
        least = paddle.shaft.radius
        free = tuple(
            float(x) for x in stations
            if not _kept_out(paddle.keep_outs, x) and envelope.arm_at(x) > least
        )  # fmt: skip
        if not free:
            raise InputError("every station lies where no weight may go, expected others")
        return cls(stations=free, arms=tuple(map(envelope.arm_at, free)), **stated)  # type: ignore[arg-type]


def _kept_out(keep_outs: Sequence[KeepOut], x: float) -> bool:
    return any(each.start <= x <= each.stop for each in keep_outs)
