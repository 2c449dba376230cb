"""What a counterweight gives and what it costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.language import _
from paddlebal.outside import AnyPaddle
from paddlebal.paddle import Paddle
from paddlebal.unbalance import catch_torque, cycle_lift
from paddlebal.units import STANDARD_GRAVITY

LIFT_HEIGHT = 0.1
"""m by which a stroke lifts the paddle; an assumption, no source."""


@dataclass(frozen=True)
class Cost:
    """What counterweights change, after minus before, and what they leave.

    mass [kg]; swing_inertia (I_zz) and roll_inertia (I_xx) about O [kg·m²]; balance_shift
    along x [m]; flotation [kg] that the paddle still carries afterwards, negative when it
    sinks; lifting_work [J] to lift the added mass by lift_height [m] once a stroke;
    roll_work_saved [J] of lifting in roll saved a cycle, from one catch to the other and back;
    holding_torque_before and _after [N·m], the greater of the two catches. None stands for what
    is not known of a paddle known only from outside.
    """

    mass: float
    swing_inertia: float
    roll_inertia: float
    balance_shift: float
    flotation: float | None
    lift_height: float
    lifting_work: float
    roll_work_saved: float | None
    holding_torque_before: float | None
    holding_torque_after: float | None

    @property
    def sinks(self):
        """Whether the paddle is known to float no longer in fresh water."""
        return self.flotation is not None and self.flotation < 0

    @property
    def work_saved(self):
        """Lifting work saved a cycle of two strokes [J]; negative: the counterweight costs."""
        if self.roll_work_saved is None:
            return None
        return self.roll_work_saved - 2 * self.lifting_work

    @property
    def verdict(self):
        """Which wins on joules, and what the hand gains, in plain sentences."""
        more = _(
            "{lifting_work:z.3f} J more to lift {mass:.0f} g by {lift_height:.0f} mm twice"
        ).format(
            lifting_work=2 * self.lifting_work,
            mass=1e3 * self.mass,
            lift_height=1e3 * self.lift_height,
        )
        if self.roll_work_saved is None:
            text = _(
                "The counterweight takes {more} a cycle; what it saves in roll is not known."
            ).format(more=more)
        else:
            saved = self.work_saved
            joules = (
                _("saves {saved:.3f} J of lifting a cycle").format(saved=saved)
                if saved > 0
                else _("costs {saved:.3f} J of lifting a cycle").format(saved=-saved)
            )
            text = _(
                "On joules the counterweight {joules}: {more}, {roll_work_saved:z.3f} J less to "
                "roll from catch to catch and back. The torque to hold the paddle at the catch "
                "goes from {holding_torque_before:.3f} to {holding_torque_after:.3f} N·m."
            ).format(
                joules=joules,
                more=more,
                roll_work_saved=self.roll_work_saved,
                holding_torque_before=self.holding_torque_before,
                holding_torque_after=self.holding_torque_after,
            )
        if self.flotation is not None and self.sinks:
            text += _(" The paddle no longer floats: it lacks {flotation:z.0f} g of lift.").format(
                flotation=-1e3 * self.flotation
            )
        return text


def counterweight_cost(
    before: AnyPaddle,
    after: AnyPaddle,
    lift_height: float = LIFT_HEIGHT,
    measured: ArrayLike | None = None,
) -> Cost:
    """What the counterweights of `after` cost against `before`.

    Gravity gives back what it takes: work is counted here only where the hands lift, and the
    way down is not set against it. The height by which a stroke lifts the paddle is the
    reader's to state; the default is an assumption, no source.

    Parameters
    ----------
    before, after : Paddle or OutsidePaddle
        Known from outside: the same paddle with other counterweights.
    lift_height : float
        How far one stroke lifts the added mass [m].
    measured : array_like (2,), optional
        Unbalance of `before` as a bench found it [kg·m], in place of the one that its masses
        and offsets make; a paddle known from outside needs it.

    Returns
    -------
    Cost
    """
    if isinstance(before, Paddle) and isinstance(after, Paddle):
        inertia = after.inertia() - before.inertia()
        change = after.unbalance() - before.unbalance()
    else:
        with_them, without = _of_weights(after), _of_weights(before)
        change, inertia = (new - old for new, old in zip(with_them, without, strict=True))
    U = np.asarray(before.unbalance() if measured is None else measured, dtype=float)
    added, known = after.mass - before.mass, before.faces_known
    return Cost(
        mass=added,
        swing_inertia=float(inertia[2, 2]),
        roll_inertia=float(inertia[0, 0]),
        balance_shift=float(after.balance_point - before.balance_point),
        flotation=after.flotation,
        lift_height=lift_height,
        lifting_work=added * STANDARD_GRAVITY * lift_height,
        roll_work_saved=cycle_lift(before, U) - cycle_lift(after, U + change) if known else None,
        holding_torque_before=catch_torque(before, U) if known else None,
        holding_torque_after=catch_torque(after, U + change) if known else None,
    )


def _of_weights(paddle):
    """What the counterweights of a paddle make: unbalance (2,) [kg·m], inertia (3, 3) [kg·m²]."""
    unbalance, inertia = np.zeros(2), np.zeros((3, 3))
    for weight in paddle.counterweights:
        place = np.array([weight.x, *weight.unbalance / weight.mass])
        unbalance += weight.unbalance
        inertia += weight.mass * (place @ place * np.eye(3) - np.outer(place, place))
    return unbalance, inertia
