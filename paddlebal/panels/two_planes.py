"""Slider panel on dynamic unbalance: feather, correction planes, stroke rate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import ipywidgets as widgets

from paddlebal.designs import with_share
from paddlebal.paddle import SIDES, Paddle, rotation_about_x
from paddlebal.panels.panel import Panel, chooser, slider, unbalance_words
from paddlebal.pictures.two_planes import RotorPicture
from paddlebal.placement import half_unbalance
from paddlebal.stroke import OCEAN
from paddlebal.two_planes import PeakMoments, kind_of_unbalance, peak_moments, with_corrections
from paddlebal.unbalance import couple_unbalance, magnitude, rest_angle
from paddlebal.units import DEG, MM

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


@dataclass(frozen=True, eq=False)
class RotorState:
    """A bare paddle, the same with its corrections, and the moments that are left in a stroke."""

    bare: Paddle
    after: Paddle
    peaks: PeakMoments


def rotor_state(bare, way, feather, left, right, rate):
    """The state; feather [rad], places of the planes [m], rate [strokes a minute]."""
    turned = bare.with_feather(math.degrees(feather))
    after = WAYS[way](turned, left, right)
    return RotorState(turned, after, peak_moments(after, OCEAN.motion(after).with_rate(rate)))


def draw_rotor(picture, state):
    """Show the rotor as it hangs at rest."""
    bare, peaks = state.bare, state.peaks
    hanging = rotation_about_x(rest_angle(bare.unbalance()))[1:, 1:]
    blades = [getattr(bare, side) for side in SIDES]
    corrections = [(weight.x, hanging @ weight.unbalance) for weight in state.after.counterweights]
    names = ("left\ncorrection", "right\ncorrection") if len(corrections) == 2 else ("correction",)
    picture.update(
        [(b.x - b.length / 2, b.x + b.length / 2) for b in blades],
        {s: (getattr(bare, s).x, hanging @ half_unbalance(bare, s)) for s in SIDES},
        corrections,
        names,
        (peaks.gravity, peaks.couple_along, peaks.couple_across),
    )


def rotor_rows(state):
    after, peaks = state.after, state.peaks
    return [
        ("kind of unbalance", kind_of_unbalance(after, after.balance_point)),
        ("unbalance", unbalance_words(after.unbalance())),
        ("couple unbalance", f"{magnitude(couple_unbalance(after)):.5f} kg·m²"),
        ("all moment across the shaft, at most", f"{peaks.across:.2f} N·m"),
        (f"couple's force at hands {HANDS:g} m apart", f"{peaks.couple_across / HANDS:.2f} N"),
        (
            f"counterweights, arm {1e3 * ARM:.0f} mm",
            f"{1e3 * (after.mass - state.bare.mass):z.0f} g",
        ),
        *_in_the_way(after),
        ("swing inertia", f"{after.inertia()[2, 2]:.4f} kg·m²"),
    ]


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
    feather = round(math.degrees(paddle.feather))
    controls = {
        "way": chooser("counterweights", list(WAYS)),
        "feather": slider("feather [deg]", 0, 90, 1, feather, unit=DEG),
        "left": slider("left plane [mm]", -650, -300, 10, -500, unit=MM),
        "right": slider("right plane [mm]", 300, 650, 10, 500, unit=MM),
        "rate": slider("strokes per minute", 40, 120, 1, OCEAN.strokes_per_minute),
    }
    largest = magnitude(paddle.with_feather(0).unbalance())
    half_length = max(abs(b.x) + b.length / 2 for b in (paddle.left, paddle.right)) + 0.06
    picture = RotorPicture(half_length, largest, MOMENTS, 1.1)
    state, draw = partial(rotor_state, paddle), partial(draw_rotor, picture)
    return Panel("rotor", controls, [picture], state, draw, rotor_rows).widget


def _in_the_way(paddle):
    """A row for each counterweight in the middle of a stretch where no weight may sit."""
    return [
        (f"a weight at {1e3 * w.x:.0f} mm", f"is in the way of: {k.name}")
        for w in paddle.counterweights
        for k in paddle.keep_outs
        if k.start < w.x < k.stop
    ]
