"""Panel on the stroke: roll torque, work and holding, without and with a counterweight."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from html import escape
from typing import Any

import ipywidgets as widgets
import numpy as np

from paddlebal.live.stroke import MASSES, RATES, SAMPLES, largest_shown, live_stroke
from paddlebal.paddle import Counterweight, Paddle
from paddlebal.panels.panel import Panel, chooser, own_feather, paddle_chooser, slider
from paddlebal.pictures.stroke import TORQUE_PARTS, StrokePicture
from paddlebal.pictures.style import signed
from paddlebal.placement import fitted_pair
from paddlebal.stroke import STROKE_CAUTION, STROKES, Motion
from paddlebal.units import DEG, GRAM, PERCENT
from paddlebal.work import Comparison, break_even_words, compare_strokes

SPANS = {
    "one cycle (two strokes)": lambda motion: 1.0,
    "500 m": lambda motion: motion.cycles_over(500.0),
    "1000 m": lambda motion: motion.cycles_over(1000.0),
    "one hour": lambda motion: motion.cycles_in(3600.0),
}
"""What sums are taken over: a motion to its number of cycles."""


@dataclass(frozen=True, eq=False)
class StrokeState:
    """A paddle's stroke without and with its pieces; span says what sums are taken over."""

    paddle: Paddle
    preset: str
    pieces: list[Counterweight]
    motion: Motion
    both: Comparison
    span: str


def stroke_state(paddle, preset, rate, feather, mass, share, span):
    """The state; rate [strokes a minute], feather [rad], mass for full balance [kg]."""
    turned = paddle.with_feather(math.degrees(feather))
    motion = STROKES[preset].motion(turned).with_rate(rate)
    pieces = fitted_pair(turned, mass, share)
    both = compare_strokes(turned, pieces, motion, SAMPLES)
    return StrokeState(turned, preset, pieces, motion, both, span)


def stroke_rows(state):
    return [*_pieces(state.pieces), *_rows(state.both, state.span, state.motion)]


def stroke_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """A stroke without and with a counterweight, by paddle, feather, stroke rate and mass.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.

    Returns
    -------
    ipywidgets.VBox
    """
    first, stroke = paddles[0], next(iter(STROKES.values()))
    least, most = (mass / GRAM for mass in MASSES)
    controls = {
        "paddle": paddle_chooser(paddles),
        "preset": chooser("stroke", list(STROKES)),
        "rate": slider("stroke rate [1/min]", *RATES, 0.1, stroke.strokes_per_minute, digits=1),
        "feather": slider("feather [deg]", 0, 90, 1, math.degrees(first.feather), unit=DEG),
        "mass": slider("mass for full balance [g]", least, most, 5, 200, unit=GRAM),
        "share": slider("share of it fitted [%]", 0, 100, 5, 100, unit=PERCENT),
        "span": chooser("sums over", list(SPANS)),
    }
    picture, verdict = StrokePicture(), widgets.HTML()
    scaled: list[Any] = []

    def draw(state):
        chosen = [controls["paddle"].value, state.preset]
        if chosen != scaled:
            picture.scale(*largest_shown(chosen[0], STROKES[state.preset]))
            scaled[:] = chosen
        picture.update(state.both)
        verdict.value = _paragraphs(state.both.verdict())

    panel = Panel(
        "stroke",
        controls,
        [picture],
        stroke_state,
        draw,
        stroke_rows,
        [verdict],
        partial(live_stroke, paddles),
    )
    panel.widget.children += (verdict, widgets.HTML(_paragraphs(STROKE_CAUTION)))

    def search():
        state = stroke_state(**panel.values())
        words = break_even_words(state.paddle, state.pieces, state.motion)
        verdict.value = _paragraphs(*words)

    panel.add_button("Find break-even", search)
    panel.follow("paddle", own_feather)
    panel.follow("preset", lambda name: {"rate": STROKES[name].strokes_per_minute})
    return panel.widget


def _paragraphs(*sentences):
    return "".join(f'<p style="font-size:16px">{escape(sentence)}</p>' for sentence in sentences)


def _pieces(pieces):
    if not pieces:
        return [("counterweight", "none")]
    places = " and ".join(signed(1e3 * piece.x, 0) for piece in pieces)
    words = f"2 × {1e3 * pieces[0].mass:.0f} g on {1e3 * pieces[0].arm:.0f} mm"
    return [("counterweight, its arm", words), ("places along the shaft", f"{places} mm")]


def _rows(both, span, motion):
    sides = both.without, both.balanced
    sums = [side.sums(SPANS[span](motion)) for side in sides]

    def row(what, values, unit, digits):
        before, after = (f"{value:,.{digits}f}".replace("-", "−") for value in values)
        return what, f"{before} → {after} {unit}"

    def peaks(part):
        return [np.abs(side.parts[part]).max() for side in sides]

    digits = 3 if span in list(SPANS)[:1] else 0
    works = {
        "given, all": "full_positive",
        "taken back, all": "full_negative",
        "given about shaft": "roll_positive",
        "taken back about shaft": "roll_negative",
        "to lift the paddle": "lift",
        "to swing the paddle": "swing",
    }
    return [
        ("", "without → with"),
        row("mean torque", [side.roll.mean for side in sides], "N·m", 3),
        row("peak torque", [side.roll.peak for side in sides], "N·m", 3),
        *(row(f"peak of {part}", peaks(i), "N·m", 3) for i, part in enumerate(TORQUE_PARTS)),
        row("torque × time", [each.torque_time for each in sums], "N·m·s", digits),
        *(row(f"work {n}", [getattr(s, f) for s in sums], "J", digits) for n, f in works.items()),
    ]
