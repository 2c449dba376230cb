"""What a counterweight gives and what it costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.paddle import Paddle
from paddlebal.unbalance import catch_torque, cycle_lift
from paddlebal.units import STANDARD_GRAVITY


@dataclass(frozen=True)
class Cost:
    """What counterweights change, after minus before, and what they leave.

    mass [kg]; swing_inertia (I_zz) and roll_inertia (I_xx) about O [kg·m²]; balance_shift
    along x [m]; flotation [kg] that the paddle still carries afterwards, negative when it
    sinks; lifting_work [J] to lift the added mass by lift_height [m] once a stroke;
    roll_work_saved [J] of lifting in roll saved a cycle, from one catch to the other and back;
    holding_torque_before and _after [N·m], the greater of the two catches.
    """

    mass: float
    swing_inertia: float
    roll_inertia: float
    balance_shift: float
    flotation: float
    lift_height: float
    lifting_work: float
    roll_work_saved: float
    holding_torque_before: float
    holding_torque_after: float

    @property
    def sinks(self):
        """Whether the paddle no longer floats in fresh water."""
        return self.flotation < 0

    @property
    def work_saved(self):
        """Lifting work saved a cycle of two strokes [J]; negative: the counterweight costs."""
        return self.roll_work_saved - 2 * self.lifting_work

    @property
    def verdict(self):
        """Which wins on joules, and what the hand gains, in plain sentences."""
        saved = self.work_saved
        joules = (
            f"saves {saved:.3f} J of lifting a cycle"
            if saved > 0
            else f"costs {-saved:.3f} J of lifting a cycle"
        )
        text = (
            f"On joules the counterweight {joules}: {2 * self.lifting_work:z.3f} J more to lift "
            f"{1e3 * self.mass:.0f} g by {1e3 * self.lift_height:.0f} mm twice, "
            f"{self.roll_work_saved:z.3f} J less to roll from catch to catch and back. "
            f"The torque to hold the paddle at the catch goes from "
            f"{self.holding_torque_before:.3f} to {self.holding_torque_after:.3f} N·m."
        )
        if self.sinks:
            text += (
                f" The paddle no longer floats: it lacks {-1e3 * self.flotation:z.0f} g of lift."
            )
        return text


def counterweight_cost(
    before: Paddle, after: Paddle, lift_height: float = 0.1, measured: ArrayLike | None = None
) -> Cost:
    """What the counterweights of `after` cost against `before`.

    Gravity gives back what it takes: work is counted here only where the hands lift, and the
    way down is not set against it. The height by which a stroke lifts the paddle is the
    reader's to state; the default is an assumption, no source.

    Parameters
    ----------
    before, after : Paddle
    lift_height : float
        How far one stroke lifts the added mass [m].
    measured : array_like (2,), optional
        Unbalance of `before` as a bench found it [kg·m], in place of the one that its masses
        and offsets make.

    Returns
    -------
    Cost
    """
    U = before.unbalance() if measured is None else np.asarray(measured, dtype=float)
    U_after = U + after.unbalance() - before.unbalance()
    added = after.mass - before.mass
    inertia = after.inertia() - before.inertia()
    return Cost(
        mass=added,
        swing_inertia=float(inertia[2, 2]),
        roll_inertia=float(inertia[0, 0]),
        balance_shift=float(after.balance_point - before.balance_point),
        flotation=after.flotation,
        lift_height=lift_height,
        lifting_work=added * STANDARD_GRAVITY * lift_height,
        roll_work_saved=cycle_lift(before, U) - cycle_lift(after, U_after),
        holding_torque_before=catch_torque(before, U),
        holding_torque_after=catch_torque(after, U_after),
    )
