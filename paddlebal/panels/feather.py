"""Panels on feather: what it does to the roll, and what a counterweight makes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from paddlebal.feather import against_feather
from paddlebal.limits import Limits
from paddlebal.paddle import SIDES, Paddle
from paddlebal.panels.panel import Panel, chooser, own_feather, paddle_chooser, slider
from paddlebal.pictures.curve import CurvePicture
from paddlebal.pictures.feather import FeatherPicture
from paddlebal.pictures.style import signed
from paddlebal.placement import (
    half_unbalance,
    place_counterweight,
    split_by_halves,
)
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY

FEATHERS = np.arange(0.0, 91.0, 5.0)
"""deg, those of the curves."""


POSITIONS = ("right catch", "left catch", "at rest", "unstable equilibrium")


MOST_ADDED = 0.04
"""kg to or from one blade."""


def with_heavier_left(paddle, added):
    """The paddle with its left blade's mass changed by `added` [kg], of the same shape."""
    left = replace(paddle.left, mass=paddle.left.mass + added, inertia=None)
    return replace(paddle, left=left)


def roll_at(paddle, position):
    """Roll angle [rad] of one of POSITIONS."""
    rest = rest_angle(paddle.unbalance())
    catches = {f"{side} catch": paddle.catch_angle(side) for side in SIDES}
    return (catches | {"at rest": rest, "unstable equilibrium": rest + math.pi})[position]


def feather_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Feather, control hand and unequal blades: the two unbalances, their sum, the torque.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.

    Returns
    -------
    ipywidgets.VBox
    """
    first = paddles[0]
    controls = {
        "paddle": paddle_chooser(paddles),
        "feather": slider("feather [deg]", 0, 90, 1, math.degrees(first.feather)),
        "control": chooser("control hand", [(side, side) for side in SIDES]),
        "added": slider("added to the left blade [g]", -1e3 * MOST_ADDED, 1e3 * MOST_ADDED, 1, 0),
        "position": chooser("paddle shown", list(POSITIONS)),
    }
    controls["control"].value = first.control
    heaviest = [with_heavier_left(paddle, MOST_ADDED).with_feather(0) for paddle in paddles]
    largest = max(magnitude(paddle.unbalance()) for paddle in heaviest)
    picture = FeatherPicture(largest, STANDARD_GRAVITY * largest)

    def show(paddle, feather, control, added, position):
        paddle = replace(with_heavier_left(paddle, 1e-3 * added), control=control)
        curves, paddle = against_feather(paddle, FEATHERS), paddle.with_feather(feather)
        unbalances = {side: half_unbalance(paddle, side) for side in SIDES}
        picture.update(paddle, roll_at(paddle, position), unbalances, FEATHERS, curves)
        here = against_feather(paddle, feather)
        sizes = [
            (f"unbalance of the {side} blade", f"{magnitude(unbalances[side]) / GRAM_MM:,.0f} g·mm")
            for side in SIDES
        ]
        return [
            *sizes,
            ("their sum", f"{here.unbalance / GRAM_MM:,.0f} g·mm"),
            *((f"to hold at the {side} catch", f"{getattr(here, side):.3f} N·m") for side in SIDES),
            *((f"{name}, from the right catch", _roll(paddle, name)) for name in POSITIONS[2:]),
            ("lift a cycle", f"{here.lift:.3f} J"),
            ("couple unbalance", f"{here.couple:.5f} kg·m²"),
        ]

    panel = Panel("feather", controls, [picture], show)
    panel.follow("paddle", lambda paddle: own_feather(paddle) | {"control": paddle.control})
    return panel.widget


def _roll(paddle, position):
    """Roll angle of a position from the right catch, within half a turn either way, in words."""
    turn = roll_at(paddle, position) - paddle.catch_angle("right")
    return f"{signed((math.degrees(turn) + 180) % 360 - 180, 0)}°"


ARM = 0.08
"""m; the arm of the counterweights that the ferrule panel compares."""


def ferrule_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """An adjustable ferrule: one counterweight against one for each half, at every feather.

    Parameters
    ----------
    paddles : sequence of Paddle
        With an adjustable ferrule.

    Returns
    -------
    ipywidgets.VBox
    """
    first = math.degrees(paddles[0].feather)
    controls = {
        "paddle": paddle_chooser(paddles),
        "fitted": slider("balanced at feather [deg]", 0, 90, 1, first),
        "used": slider("used at feather [deg]", 0, 90, 1, first),
    }
    bare, one, split = "no counterweight", "one piece", "one piece on each half"
    largest = max(magnitude(p.with_feather(0).unbalance()) for p in paddles) / GRAM_MM
    picture = CurvePicture(
        "feather in use [deg]",
        "residual unbalance [g·mm]",
        (0, 90),
        (-0.06 * largest, 1.12 * largest),
        {bare: "solid", one: (0, (4, 2)), split: (0, (1, 1.5))},
    )

    def show(paddle, fitted, used):
        fitting = paddle.with_feather(fitted)
        limits = Limits.for_paddle(paddle, arm=(0, ARM), mass=(0, 1.0))
        single = place_counterweight(fitting.unbalance(), limits, paddle=fitting)
        halves = split_by_halves(fitting, limits)
        cases = {
            bare: paddle,
            one: fitting.with_counterweights(single.counterweight),
            split: fitting.with_counterweights(*(half.counterweight for half in halves)),
        }
        curves = {
            name: (FEATHERS, against_feather(case, FEATHERS).unbalance / GRAM_MM)
            for name, case in cases.items()
        }
        now = {name: against_feather(case, used) for name, case in cases.items()}
        left = now[one].unbalance / GRAM_MM
        picture.update(curves, (used, left), f"{left:,.0f} g·mm")
        masses = {one: single.mass, split: sum(half.mass for half in halves)}
        return [
            *((f"mass, {name}", f"{1e3 * mass:.0f} g") for name, mass in masses.items()),
            ("ratio of the two masses", f"{masses[split] / masses[one]:.3f}"),
            *((f"residual, {n}", f"{now[n].unbalance / GRAM_MM:,.0f} g·mm") for n in cases),
            *(
                (f"to hold at the {s} catch, {one}", f"{signed(getattr(now[one], s), 3)} N·m")
                for s in SIDES
            ),
        ]

    panel = Panel("ferrule", controls, [picture], show)
    panel.follow(
        "paddle", lambda paddle: dict.fromkeys(("fitted", "used"), math.degrees(paddle.feather))
    )
    return panel.widget
