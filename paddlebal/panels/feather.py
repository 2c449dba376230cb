"""Panels on feather: what it does to the roll, and what a counterweight makes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array, Side
from paddlebal.feather import (
    MOST_ADDED,
    POSITIONS,
    FeatherEffects,
    against_feather,
    roll_at,
    with_heavier_left,
)
from paddlebal.limits import Limits
from paddlebal.live.feather import live_feather
from paddlebal.paddle import SIDES, Paddle
from paddlebal.panels.panel import (
    Panel,
    chooser,
    largest_unbalance,
    own_feather,
    paddle_chooser,
    slider,
    unbalance_words,
)
from paddlebal.pictures.curve import CurvePicture
from paddlebal.pictures.feather import FeatherPicture
from paddlebal.pictures.style import signed
from paddlebal.placement import (
    half_unbalance,
    place_counterweight,
    split_by_halves,
)
from paddlebal.units import DEG, GRAM, GRAM_MM, STANDARD_GRAVITY

FEATHERS = np.arange(0.0, 91.0, 5.0)
"""deg, those of the curves."""


@dataclass(frozen=True, eq=False)
class FeatherState:
    """A paddle at its feather, what each blade adds, and what it does at every feather."""

    paddle: Paddle
    theta: float
    unbalances: dict[Side, Array]
    curves: FeatherEffects
    here: FeatherEffects


def feather_state(paddle, feather, control, added, position):
    """The state at a feather [rad], the left blade heavier by `added` [kg]."""
    paddle = replace(with_heavier_left(paddle, added), control=control)
    turned = paddle.with_feather(math.degrees(feather))
    return FeatherState(
        turned,
        roll_at(turned, position),
        {side: half_unbalance(turned, side) for side in SIDES},
        against_feather(paddle, FEATHERS),
        against_feather(turned, math.degrees(feather)),
    )


def feather_rows(state):
    here = state.here
    sizes = [
        (f"unbalance of the {side} blade", unbalance_words(state.unbalances[side]))
        for side in SIDES
    ]
    return [
        *sizes,
        ("their sum", f"{here.unbalance / GRAM_MM:,.0f} g·mm"),
        *((f"to hold at the {side} catch", f"{getattr(here, side):.3f} N·m") for side in SIDES),
        *((f"{name}, from the right catch", _roll(state.paddle, name)) for name in POSITIONS[2:]),
        ("lift a cycle", f"{here.lift:.3f} J"),
        ("couple unbalance", f"{here.couple:.5f} kg·m²"),
    ]


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
    first, most = paddles[0], MOST_ADDED / GRAM
    controls = {
        "paddle": paddle_chooser(paddles),
        "feather": slider("feather [deg]", 0, 90, 1, math.degrees(first.feather), unit=DEG),
        "control": chooser("control hand", [(side, side) for side in SIDES]),
        "added": slider("added to the left blade [g]", -most, most, 1, 0, unit=GRAM),
        "position": chooser("paddle shown", list(POSITIONS)),
    }
    controls["control"].value = first.control
    heaviest = [with_heavier_left(paddle, MOST_ADDED).with_feather(0) for paddle in paddles]
    largest = largest_unbalance(heaviest)
    picture = FeatherPicture(largest, STANDARD_GRAVITY * largest)

    def draw(state):
        picture.update(state.paddle, state.theta, state.unbalances, FEATHERS, state.curves)

    live = partial(live_feather, paddles)
    panel = Panel("feather", controls, [picture], feather_state, draw, feather_rows, live=live)
    panel.follow("paddle", lambda paddle: own_feather(paddle) | {"control": paddle.control})
    return panel.widget


def _roll(paddle, position):
    """Roll angle of a position from the right catch, within half a turn either way, in words."""
    turn = roll_at(paddle, position) - paddle.catch_angle("right")
    return f"{signed(math.degrees(math.remainder(turn, 2 * math.pi)), 0)}°"


ARM = 0.08
"""m; the arm of the counterweights that the ferrule panel compares."""


BARE, ONE, SPLIT = "no counterweight", "one piece", "one piece on each half"


@dataclass(frozen=True, eq=False)
class FerruleState:
    """By case: the mass fitted [kg], what is left at every feather [kg·m], and what is now."""

    used: float
    masses: dict[str, float]
    left: dict[str, Array]
    now: dict[str, FeatherEffects]


def ferrule_state(paddle, fitted, used):
    """The state of a paddle balanced at one feather [rad] and used at another."""
    fitting = paddle.with_feather(math.degrees(fitted))
    limits = Limits.for_paddle(paddle, arm=(0, ARM), mass=(0, 1.0))
    single = place_counterweight(fitting.unbalance(), limits, paddle=fitting)
    halves = split_by_halves(fitting, limits)
    cases = {
        BARE: paddle,
        ONE: fitting.with_counterweights(single.counterweight),
        SPLIT: fitting.with_counterweights(*(half.counterweight for half in halves)),
    }
    return FerruleState(
        used,
        {ONE: single.mass, SPLIT: sum(half.mass for half in halves)},
        {name: against_feather(case, FEATHERS).unbalance for name, case in cases.items()},
        {name: against_feather(case, math.degrees(used)) for name, case in cases.items()},
    )


def ferrule_rows(state):
    masses, now = state.masses, state.now
    return [
        *((f"mass, {name}", f"{1e3 * mass:.0f} g") for name, mass in masses.items()),
        ("ratio of the two masses", f"{masses[SPLIT] / masses[ONE]:.3f}"),
        *((f"residual, {n}", f"{now[n].unbalance / GRAM_MM:,.0f} g·mm") for n in now),
        *(
            (f"to hold at the {s} catch, {ONE}", f"{signed(getattr(now[ONE], s), 3)} N·m")
            for s in SIDES
        ),
    ]


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
        "fitted": slider("balanced at feather [deg]", 0, 90, 1, first, unit=DEG),
        "used": slider("used at feather [deg]", 0, 90, 1, first, unit=DEG),
    }
    largest = largest_unbalance([p.with_feather(0) for p in paddles]) / GRAM_MM
    picture = CurvePicture(
        "feather in use [deg]",
        "residual unbalance [g·mm]",
        (0, 90),
        (-0.06 * largest, 1.12 * largest),
        {BARE: "solid", ONE: (0, (4, 2)), SPLIT: (0, (1, 1.5))},
    )

    def draw(state):
        curves = {name: (FEATHERS, left / GRAM_MM) for name, left in state.left.items()}
        now = state.now[ONE].unbalance / GRAM_MM
        picture.update(curves, (math.degrees(state.used), now), f"{now:,.0f} g·mm")

    panel = Panel("ferrule", controls, [picture], ferrule_state, draw, ferrule_rows)
    panel.follow("paddle", lambda paddle: dict.fromkeys(("fitted", "used"), paddle.feather))
    return panel.widget
