"""Sliders for the place of a counterweight and its cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

import ipywidgets as widgets

from paddlebal.cost import counterweight_cost
from paddlebal.limits import WEIGHT_CAUTIONS, Limits, material_densities
from paddlebal.paddle import Counterweight, Paddle
from paddlebal.panels.panel import (
    Panel,
    chooser,
    largest_unbalance,
    paddle_chooser,
    slider,
    unbalance_words,
)
from paddlebal.pictures.placement import PlacementPicture
from paddlebal.pictures.style import signed
from paddlebal.placement import mass_against_arm, place_counterweight


def cautions():
    """What to say beside every counterweight, as a widget."""
    return widgets.HTML(
        f"<ul>{''.join(f'<li>{escape(each)}</li>' for each in WEIGHT_CAUTIONS)}</ul>"
    )


SHORTEST_ARM, LONGEST_ARM = 0.04, 0.12
"""m; what the placement panel offers."""


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
    controls = {
        "paddle": paddle_chooser(paddles),
        "material": chooser("material", list(material_densities())),
        "arm": slider("arm [mm]", 1e3 * SHORTEST_ARM, 1e3 * LONGEST_ARM, 1, 80),
        "error": slider("angle error [deg]", -20, 20, 0.5, 0, digits=1),
        "x": slider("place along the shaft [mm]", -700, 700, 5, 100),
    }
    largest = largest_unbalance(paddles)
    heaviest = 1.1 * largest / SHORTEST_ARM
    picture = PlacementPicture(largest, LONGEST_ARM, heaviest, half)

    def show(paddle, material, arm, error, x):
        limits = Limits.for_paddle(
            paddle, material=material, arm=(0, LONGEST_ARM), mass=(0, heaviest)
        )
        U, arm, x = paddle.unbalance(), arm * 1e-3, x * 1e-3
        curve, here = mass_against_arm(U, limits), mass_against_arm(U, limits, [arm])
        kind = curve.materials.index(material)
        angle = math.atan2(-U[1], -U[0]) + math.radians(error)
        weight = Counterweight(float(here.mass[0]), arm, angle, x, limits.density)
        after, length = paddle.with_counterweights(weight), float(here.length[kind, 0])
        residual = after.unbalance()
        picture.update(after, residual, curve.arm, curve.mass, curve.clearance[kind] >= 0, length)
        place_counterweight(U, limits, arm=arm, x=x, paddle=paddle)
        spent = counterweight_cost(paddle, after)
        return [
            ("counterweight", f"{1e3 * weight.mass:.0f} g"),
            (
                "piece, diameter × length",
                f"{1e3 * here.diameter[kind, 0]:.0f} × {1e3 * length:.0f} mm",
            ),
            ("residual unbalance", unbalance_words(residual)),
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

    panel = Panel("placement", controls, [picture], show)
    panel.widget.children += (cautions(),)
    return panel.widget
