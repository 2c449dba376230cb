"""Sliders for the balance of a paddle: at rest, let go, and in space."""

from __future__ import annotations

import math
from collections.abc import Sequence

import ipywidgets as widgets
import numpy as np

from paddlebal.bench.rolling import roll_down
from paddlebal.limits import Limits
from paddlebal.paddle import SIDES, Counterweight, Paddle
from paddlebal.panels.panel import (
    Panel,
    largest_unbalance,
    own_feather,
    paddle_chooser,
    slider,
    unbalance_words,
)
from paddlebal.pictures.balance import EndOnPicture, WholePaddle
from paddlebal.pictures.style import signed
from paddlebal.placement import place_counterweight
from paddlebal.unbalance import couple_unbalance, magnitude, rest_angle, roll_torque
from paddlebal.units import STANDARD_GRAVITY


def _rest(U):
    """Where it comes to rest; None if its torque would read 0.000 N·m."""
    return rest_angle(U) if STANDARD_GRAVITY * magnitude(U) > 0.5e-3 else None


def _holding(paddle, torque):
    return [
        (f"torque to hold at the {side} catch", f"{abs(torque(paddle.catch_angle(side))):.3f} N·m")
        for side in SIDES
    ]


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
        "roll": slider("roll angle [deg]", -180, 180, 1, 0),
        "mass": slider("counterweight mass [g]", 0, 400, 0.1, 0, digits=1),
        "arm": slider("counterweight arm [mm]", 20, 120, 0.5, 100, digits=1),
        "angle": slider("counterweight angle [deg]", -180, 180, 0.1, 150, digits=1),
    }
    largest = 1.5 * largest_unbalance(paddles)
    picture = EndOnPicture(largest, STANDARD_GRAVITY * largest)

    def weighted(paddle, mass, arm, angle, **_):
        if mass == 0:
            return paddle
        weight = Counterweight(mass * 1e-3, arm * 1e-3, math.radians(angle))
        return paddle.with_counterweights(weight)

    def show(roll, **values):
        bare, paddle = values["paddle"], weighted(**values)
        U = paddle.unbalance()

        def torque(angle):
            return roll_torque(U, angle)

        picture.update(paddle, math.radians(roll), U, torque, _rest(U))
        return [
            ("unbalance without counterweight", unbalance_words(bare.unbalance())),
            ("residual unbalance", unbalance_words(U)),
            ("largest torque", f"{STANDARD_GRAVITY * magnitude(U):.3f} N·m"),
            *_holding(paddle, torque),
            ("total mass", f"{paddle.mass * 1e3:.0f} g"),
            ("swing inertia", f"{paddle.inertia()[2, 2]:.4f} kg·m²"),
        ]

    panel = Panel("balance", controls, [picture], show)

    def balance():
        paddle, arm = controls["paddle"].value, controls["arm"].value * 1e-3
        limits = Limits(arm=(0, 0.12), mass=(0, 0.4), shaft_radius=paddle.shaft.radius)
        found = place_counterweight(paddle.unbalance(), limits, arm=arm)
        panel.set(mass=found.mass * 1e3, angle=math.degrees(found.angle))

    panel.add_button("Balance it", balance)
    _add_free_roll(panel, weighted)
    return panel.widget


def _add_free_roll(panel, weighted):
    """A button that lets the paddle go at its roll angle; the browser keeps the time."""
    times = np.arange(0, 5, 0.04)
    play = widgets.Play(max=len(times) - 1, interval=40, layout={"display": "none"})
    track = np.zeros(len(times))

    def let_go():
        values = panel.values()
        paddle, start = weighted(**values), math.radians(values["roll"])
        track[:] = roll_down(paddle.unbalance(), paddle.inertia()[0, 0], start, times)
        play.value, play.playing = 0, True

    def frame(change):
        roll = (math.degrees(track[change.new]) + 180) % 360 - 180
        panel.controls["roll"].value = roll

    play.observe(frame, "value")
    panel.add_button("Let it roll", let_go)
    panel.widget.children += (play,)


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
        "roll": slider("roll angle [deg]", -180, 180, 1, 0),
        "feather": slider("feather [deg]", 0, 180, 1, feather),
        "inclination": slider("shaft inclination [deg]", -30, 30, 1, 0),
    }
    largest = max(largest_unbalance([p.with_feather(0) for p in paddles]), 1e-6)
    end_on = EndOnPicture(largest, STANDARD_GRAVITY * largest)
    whole = WholePaddle()

    def show(paddle, roll, feather, inclination):
        paddle, theta, beta = paddle.with_feather(feather), *np.radians([roll, inclination])
        U = paddle.unbalance()

        def torque(angle):
            return roll_torque(U, angle, beta)

        end_on.update(paddle, theta, U, torque, _rest(U), beta)
        whole.update(paddle, theta, beta)
        return [
            ("unbalance", unbalance_words(U)),
            ("torque at this angle", f"{signed(torque(theta), 3)} N·m"),
            *_holding(paddle, torque),
            ("couple unbalance", f"{magnitude(couple_unbalance(paddle)):.5f} kg·m²"),
        ]

    panel = Panel("static", controls, [end_on, whole], show)
    panel.follow("paddle", own_feather)
    return panel.widget
