"""Sliders for the place of a counterweight and its cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from html import escape

import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from paddlebal.cost import Cost, counterweight_cost
from paddlebal.limits import WEIGHT_CAUTIONS, Limits, material_densities
from paddlebal.live.placement import live_placement
from paddlebal.paddle import Counterweight, Paddle, counterweight_adding
from paddlebal.panels.panel import (
    Panel,
    chooser,
    largest_unbalance,
    paddle_chooser,
    slider,
    unbalance_words,
)
from paddlebal.pictures.placement import LONGEST_ARM, SHORTEST_ARM, PlacementPicture
from paddlebal.pictures.style import signed
from paddlebal.placement import Trade, mass_against_arm, place_counterweight
from paddlebal.units import DEG, MM


def cautions():
    """What to say beside every counterweight, as a widget."""
    return widgets.HTML(
        f"<ul>{''.join(f'<li>{escape(each)}</li>' for each in WEIGHT_CAUTIONS)}</ul>"
    )


@dataclass(frozen=True, eq=False)
class PlacementState:
    """A counterweight on a paddle, the trade of mass against arm, and what it costs."""

    bare: Paddle
    limits: Limits
    after: Paddle
    weight: Counterweight
    trade: Trade
    clear: NDArray[np.bool_]
    diameter: float
    length: float
    cost: Cost


def placement_state(paddle, material, arm, error, x, heaviest):
    """The state at an arm [m], an error of the angle [rad] and a place along the shaft [m].

    The piece has at most `heaviest` [kg]. Whether it can sit there is not asked.
    """
    limits = Limits.for_paddle(paddle, material=material, arm=(0, LONGEST_ARM), mass=(0, heaviest))
    U = paddle.unbalance()
    curve, here = mass_against_arm(U, limits), mass_against_arm(U, limits, [arm])
    kind = curve.materials.index(material)
    exact = counterweight_adding(-U, arm, x, limits.density)
    weight = replace(exact, angle=exact.angle + error)
    after = paddle.with_counterweights(weight)
    return PlacementState(
        paddle,
        limits,
        after,
        weight,
        curve,
        curve.clearance[kind] >= 0,
        float(here.diameter[kind, 0]),
        float(here.length[kind, 0]),
        counterweight_cost(paddle, after),
    )


def placement_rows(state):
    """The rows; InputError if the piece cannot sit where it is."""
    weight, spent = state.weight, state.cost
    place_counterweight(
        state.bare.unbalance(), state.limits, arm=weight.arm, x=weight.x, paddle=state.bare
    )
    return [
        ("counterweight", f"{1e3 * weight.mass:.0f} g"),
        (
            "piece, diameter × length",
            f"{1e3 * state.diameter:.0f} × {1e3 * state.length:.0f} mm",
        ),
        ("residual unbalance", unbalance_words(state.after.unbalance())),
        ("balance point moves by", f"{signed(1e3 * spent.balance_shift, 0)} mm"),
        ("swing inertia added", f"{spent.swing_inertia:.5f} kg·m²"),
        ("torque to hold at the catch, before", f"{spent.holding_torque_before:.3f} N·m"),
        ("torque to hold at the catch, after", f"{spent.holding_torque_after:.3f} N·m"),
        (
            f"lifting work added a cycle, lifted {1e3 * spent.lift_height:.0f} mm",
            f"{signed(-spent.work_saved, 3)} J",
        ),
        ("still carried afloat", f"{signed(1e3 * spent.flotation, 0)} g"),
    ]


def placement_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Place a counterweight: arm, material, place along the shaft, and what it costs.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    half = max(paddle.shaft.length for paddle in paddles) / 2 + 0.06
    ends = SHORTEST_ARM / MM, LONGEST_ARM / MM
    controls = {
        "paddle": paddle_chooser(paddles),
        "material": chooser("material", list(material_densities())),
        "arm": slider("arm [mm]", *ends, 1, 80, unit=MM),
        "error": slider("angle error [deg]", -20, 20, 0.5, 0, 1, DEG),
        "x": slider("place along the shaft [mm]", -700, 700, 5, 100, unit=MM),
    }
    largest = largest_unbalance(paddles)
    heaviest = 1.1 * largest / SHORTEST_ARM
    picture = PlacementPicture(largest, LONGEST_ARM, heaviest, half)

    def draw(state):
        after, trade = state.after, state.trade
        pieces = [(state.weight, state.length)]
        picture.update(after, after.unbalance(), trade.arm, trade.mass, state.clear, pieces)

    state = partial(placement_state, heaviest=heaviest)
    live = partial(live_placement, paddles)
    panel = Panel("placement", controls, [picture], state, draw, placement_rows, live=live)
    panel.widget.children += (cautions(),)
    return panel.widget
