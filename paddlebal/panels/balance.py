"""Sliders for the balance of a paddle: at rest, let go, and in space."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import ipywidgets as widgets
import numpy as np

from paddlebal.bench.rolling import roll_down
from paddlebal.limits import Limits
from paddlebal.live.balance import live_balance
from paddlebal.live.static import live_static
from paddlebal.paddle import SIDES, Counterweight, Paddle
from paddlebal.panels.panel import (
    Panel,
    largest_unbalance,
    own_feather,
    paddle_chooser,
    slider,
    unbalance_words,
)
from paddlebal.pictures.balance import NO_TORQUE, EndOnPicture, WholePaddle
from paddlebal.pictures.style import signed
from paddlebal.placement import place_counterweight
from paddlebal.unbalance import catch_torques, couple_unbalance, magnitude, rest_angle, roll_torque
from paddlebal.units import DEG, GRAM, MM, STANDARD_GRAVITY


def _rest(U):
    """Where it comes to rest; None if its torque would read 0.000 N·m."""
    return rest_angle(U) if STANDARD_GRAVITY * magnitude(U) > NO_TORQUE else None


def _holding(state):
    catches = map(state.paddle.catch_angle, SIDES)
    torques = catch_torques(state.paddle.unbalance(), catches, state.inclination)
    return [
        (f"torque to hold at the {side} catch", f"{abs(torque):.3f} N·m")
        for side, torque in zip(SIDES, torques, strict=True)
    ]


@dataclass(frozen=True, eq=False)
class BalanceState:
    """A bare paddle, the same with its counterweight, and how it is turned [rad]."""

    bare: Paddle
    paddle: Paddle
    theta: float
    inclination: float = 0.0

    def torque(self, theta):
        """Gravity's torque [N·m] at roll angles [rad]."""
        return roll_torque(self.paddle.unbalance(), theta, self.inclination)


def balance_state(paddle, roll, mass, arm, angle):
    """The state with a counterweight [kg, m, rad]; without one if its mass is zero."""
    weights = [Counterweight(mass, arm, angle)] if mass else []
    return BalanceState(paddle, paddle.with_counterweights(*weights), roll)


def balance_rows(state):
    U = state.paddle.unbalance()
    return [
        ("unbalance without counterweight", unbalance_words(state.bare.unbalance())),
        ("residual unbalance", unbalance_words(U)),
        ("largest torque", f"{STANDARD_GRAVITY * magnitude(U):.3f} N·m"),
        *_holding(state),
        ("total mass", f"{state.paddle.mass * 1e3:.0f} g"),
        ("swing inertia", f"{state.paddle.inertia()[2, 2]:.4f} kg·m²"),
    ]


def draw_end_on(picture, state):
    U = state.paddle.unbalance()
    picture.update(state.paddle, state.theta, U, state.torque, _rest(U), state.inclination)


def balance_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Turn a paddle, let it roll, and balance it with one counterweight at mid-length.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "paddle": paddle_chooser(paddles),
        "roll": slider("roll angle [deg]", -180, 180, 1, 0, unit=DEG),
        "mass": slider("counterweight mass [g]", 0, 400, 0.1, 0, 1, GRAM),
        "arm": slider("counterweight arm [mm]", 20, 120, 0.5, 100, 1, MM),
        "angle": slider("counterweight angle [deg]", -180, 180, 0.1, 150, 1, DEG),
    }
    largest = 1.5 * largest_unbalance(paddles)
    picture = EndOnPicture(largest, STANDARD_GRAVITY * largest)
    draw = partial(draw_end_on, picture)
    live = partial(live_balance, paddles)
    panel = Panel("balance", controls, [picture], balance_state, draw, balance_rows, live=live)

    def balance():
        paddle, arm = (panel.values()[name] for name in ("paddle", "arm"))
        limits = Limits(arm=(0, 0.12), mass=(0, 0.4), shaft_radius=paddle.shaft.radius)
        found = place_counterweight(paddle.unbalance(), limits, arm=arm)
        panel.set(mass=found.mass, angle=found.angle)

    panel.add_button("Balance it", balance)
    _add_free_roll(panel)
    return panel.widget


def _add_free_roll(panel):
    """A button that lets the paddle go at its roll angle; the browser keeps the time."""
    times = np.arange(0, 5, 0.04)
    play = widgets.Play(max=len(times) - 1, interval=40, layout={"display": "none"})
    track = np.zeros(len(times))

    def let_go():
        state = balance_state(**panel.values())
        paddle = state.paddle
        track[:] = roll_down(paddle.unbalance(), paddle.inertia()[0, 0], state.theta, times)
        play.value, play.playing = 0, True

    def frame(change):
        panel.set(roll=math.remainder(track[change.new], 2 * math.pi))

    play.observe(frame, "value")
    panel.add_button("Let it roll", let_go)
    panel.widget.children += (play,)


def static_state(paddle, roll, feather, inclination):
    """The state of a paddle at another feather, its shaft inclined; all in rad."""
    turned = paddle.with_feather(math.degrees(feather))
    return BalanceState(paddle, turned, roll, inclination)


def static_rows(state):
    paddle = state.paddle
    return [
        ("unbalance", unbalance_words(paddle.unbalance())),
        ("torque at this angle", f"{signed(state.torque(state.theta), 3)} N·m"),
        *_holding(state),
        ("couple unbalance", f"{magnitude(couple_unbalance(paddle)):.5f} kg·m²"),
    ]


def static_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Roll, feather and inclination: the unbalance, its torque, and the paddle in space.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    feather = math.degrees(paddles[0].feather)
    controls = {
        "paddle": paddle_chooser(paddles),
        "roll": slider("roll angle [deg]", -180, 180, 1, 0, unit=DEG),
        "feather": slider("feather [deg]", 0, 180, 1, feather, unit=DEG),
        "inclination": slider("shaft inclination [deg]", -30, 30, 1, 0, unit=DEG),
    }
    largest = max(largest_unbalance([p.with_feather(0) for p in paddles]), 1e-6)
    end_on = EndOnPicture(largest, STANDARD_GRAVITY * largest)
    whole = WholePaddle()

    def draw(state):
        draw_end_on(end_on, state)
        whole.update(state.paddle, state.theta, state.inclination)

    live = partial(live_static, paddles)
    panel = Panel("static", controls, [end_on, whole], static_state, draw, static_rows, live=live)
    panel.follow("paddle", own_feather)
    return panel.widget
