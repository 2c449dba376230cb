"""Panel on an adjustable ferrule: what a counterweight makes of every feather."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.feather import FeatherEffects, against_feather
from paddlebal.limits import Limits
from paddlebal.paddle import SIDES, Paddle
from paddlebal.panels.panel import Panel, largest_unbalance, paddle_chooser, slider
from paddlebal.pictures.curve import CurvePicture
from paddlebal.pictures.style import signed
from paddlebal.placement import place_counterweight, split_by_halves
from paddlebal.units import DEG, GRAM_MM

FEATHERS = np.arange(0.0, 91.0, 5.0)
"""deg, those of the curves."""


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
