"""Slider panel on dynamic unbalance: feather, correction planes, stroke rate."""

from __future__ import annotations

import ipywidgets as widgets
import numpy as np

from paddlebal.designs import with_share
from paddlebal.paddle import SIDES, Paddle, rotation_about_x
from paddlebal.panels.panel import Panel, chooser, slider
from paddlebal.pictures.two_planes import RotorPicture
from paddlebal.placement import half_unbalance
from paddlebal.stroke import OCEAN
from paddlebal.two_planes import kind_of_unbalance, peak_moments, with_corrections
from paddlebal.unbalance import couple_unbalance, magnitude, rest_angle
from paddlebal.units import GRAM_MM

ARM, X, HANDS = 0.08, 0.1, 0.7
"""m: of every counterweight; place of a single one along the shaft; between the hands."""


WAYS = {
    "none": lambda paddle, left, right: paddle,
    "one, near the middle": lambda paddle, left, right: with_share(paddle, 1.0, ARM, X),
    "two planes": lambda paddle, left, right: with_corrections(paddle, ARM, left, right),
}
"""Ways to correct a paddle, by what the list calls them."""


MOMENTS = (
    "about the shaft, from gravity",
    "about the shaft, from couple unbalance",
    "across the shaft, from couple unbalance",
)


def rotor_panel(paddle: Paddle) -> widgets.VBox:
    """A paddle as a rotor: what one counterweight leaves and what two planes take away.

    Parameters
    ----------
    paddle : Paddle
        Without counterweights.

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "way": chooser("counterweights", list(WAYS)),
        "feather": slider("feather [deg]", 0, 90, 1, round(np.degrees(paddle.feather))),
        "left": slider("left plane [mm]", -650, -300, 10, -500),
        "right": slider("right plane [mm]", 300, 650, 10, 500),
        "rate": slider("strokes per minute", 40, 120, 1, OCEAN.strokes_per_minute),
    }
    largest = magnitude(paddle.with_feather(0).unbalance())
    half_length = max(abs(b.x) + b.length / 2 for b in (paddle.left, paddle.right)) + 0.06
    picture = RotorPicture(half_length, largest, MOMENTS, 1.1)

    def show(way, feather, left, right, rate):
        bare = paddle.with_feather(feather)
        after = WAYS[way](bare, 1e-3 * left, 1e-3 * right)
        hanging = rotation_about_x(rest_angle(bare.unbalance()))[1:, 1:]
        blades = [getattr(bare, side) for side in SIDES]
        halves = {s: (getattr(bare, s).x, hanging @ half_unbalance(bare, s)) for s in SIDES}
        corrections = [(weight.x, hanging @ weight.unbalance) for weight in after.counterweights]
        peaks = peak_moments(after, OCEAN.motion(after).with_rate(rate))
        names = (
            ("left\ncorrection", "right\ncorrection") if len(corrections) == 2 else ("correction",)
        )
        picture.update(
            [(b.x - b.length / 2, b.x + b.length / 2) for b in blades],
            halves,
            corrections,
            names,
            (peaks.gravity, peaks.couple_along, peaks.couple_across),
        )
        return [
            ("kind of unbalance", kind_of_unbalance(after, after.balance_point)),
            ("unbalance", f"{magnitude(after.unbalance()) / GRAM_MM:,.0f} g·mm"),
            ("couple unbalance", f"{magnitude(couple_unbalance(after)):.5f} kg·m²"),
            ("all moment across the shaft, at most", f"{peaks.across:.2f} N·m"),
            (
                f"couple's force at hands {HANDS:g} m apart",
                f"{peaks.couple_across / HANDS:.2f} N",
            ),
            (
                f"counterweights, arm {1e3 * ARM:.0f} mm",
                f"{1e3 * (after.mass - bare.mass):z.0f} g",
            ),
            *_in_the_way(after),
            ("swing inertia", f"{after.inertia()[2, 2]:.4f} kg·m²"),
        ]

    return Panel("rotor", controls, [picture], show).widget


def _in_the_way(paddle):
    """A row for each counterweight in the middle of a stretch where no weight may sit."""
    return [
        (f"a weight at {1e3 * w.x:.0f} mm", f"is in the way of: {k.name}")
        for w in paddle.counterweights
        for k in paddle.keep_outs
        if k.start < w.x < k.stop
    ]
