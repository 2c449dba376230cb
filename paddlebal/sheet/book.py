"""Drawings of the book: unbalance by model and by feather, and the chart of a reference rod."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from paddlebal.book.chart import Chart
from paddlebal.language import _
from paddlebal.sheet.canvas import ACCENT, GREY, INK, PALE, Canvas
from paddlebal.sheet.drawings import Drawing, drawing
from paddlebal.units import GRAM_MM

WIDTH, LEFT, RIGHT = 150.0, 42.0, 146.0


MOST_MODELS = 24
"""Models that have a line of their own."""


class Dot(NamedTuple):
    """A paddle: its model, unbalance [kg·m] and feather [rad] or None, and whether it is marked."""

    model: str
    unbalance: float
    feather: float | None
    marked: bool


def _steps(low, high, most=5):
    """Round numbers from low to high."""
    span = max(high - low, 1e-12)
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(n * power for n in (1, 2, 5, 10) if n * power >= rough)
    return np.arange(math.ceil(low / step), math.floor(high / step) + 1) * step


def _short(text, most=22):
    return text if len(text) <= most else text[: most - 1] + "…"


def by_model(dots: Sequence[Dot]) -> Drawing:
    """Each paddle's unbalance on a line of its model."""
    counts: dict[str, int] = {}
    for dot in dots:
        counts[dot.model] = counts.get(dot.model, 0) + 1
    models = sorted(sorted(counts, key=lambda each: -counts[each])[:MOST_MODELS])
    height = 22.0 + 7.0 * max(len(models), 1)
    canvas = Canvas("book-model", (WIDTH, height))
    shown = [dot for dot in dots if dot.model in models]
    low, high = _range([dot.unbalance / GRAM_MM for dot in shown])
    place = _scale(low, high)
    for value in _steps(low, high):
        canvas.line((place(value), 10), (place(value), height - 8), PALE)
        canvas.words((place(value), 5), f"{value:,.0f}", 9, at="middle", color=GREY)
    for row, model in enumerate(models):
        y = height - 12 - 7.0 * row
        canvas.words((LEFT - 2, y), _short(model) or "–", 9, at="end", up=0.5)
        canvas.line((LEFT, y), (RIGHT, y), PALE)
        for dot in shown:
            if dot.model == model:
                _spot(canvas, (place(dot.unbalance / GRAM_MM), y), dot.marked)
    canvas.words((RIGHT, 0.5), _("unbalance [g·mm]"), 9, at="end")
    left_out = len(counts) - len(models)
    more = _("; {count} models more are not drawn").format(count=left_out) if left_out > 0 else ""
    canvas.words((0, height - 4), _("Each dot a paddle, ticked ones orange") + more, 9)
    return drawing(canvas, _("Unbalance of each paddle by its model."))


def by_feather(dots: Sequence[Dot]) -> Drawing:
    """Each paddle's unbalance against its feather."""
    size = (WIDTH, 80.0)
    canvas = Canvas("book-feather", size)
    shown = [dot for dot in dots if dot.feather is not None]
    low, high = _range([dot.unbalance / GRAM_MM for dot in shown])
    left, right = _range([math.degrees(dot.feather or 0.0) for dot in shown], 5.0)
    across, up = _scale(left, right, 18.0), _scale(low, high, 14.0, size[1] - 12)
    for value in _steps(left, right):
        canvas.words((across(value), 8), f"{value:.0f}°", 9, at="middle", color=GREY)
    for value in _steps(low, high):
        canvas.line((18, up(value)), (RIGHT, up(value)), PALE)
        canvas.words((17, up(value)), f"{value:,.0f}", 9, at="end", color=GREY, up=0.5)
    for dot in sorted(shown, key=lambda each: each.marked):
        _spot(canvas, (across(math.degrees(dot.feather or 0.0)), up(dot.unbalance / GRAM_MM)),
              dot.marked)  # fmt: skip
    canvas.words((0, size[1] - 4), _("unbalance [g·mm]; each dot a paddle, ticked ones orange"), 9)
    canvas.words((RIGHT, 2), _("feather"), 9, at="end")
    return drawing(canvas, _("Unbalance of each paddle against its feather."))


def reference_chart(name: str, chart: Chart, unit: str, factor: float) -> Drawing:
    """Measurements of a reference in their order, with the limits that the first ones set.

    Values times factor are drawn in the unit.
    """
    size = (WIDTH, 48.0)
    canvas = Canvas("book-chart", size)
    values = factor * chart.values
    limits = [factor * each for each in (chart.low, chart.centre, chart.high)]
    low, high = _range([*values.tolist(), *limits])
    up = _scale(low, high, 8.0, size[1] - 12)
    across = _scale(-0.5, values.size - 0.5, 22.0)
    for value, dash in zip(limits, ((2, 1), None, (2, 1)), strict=True):
        canvas.line((22, up(value)), (RIGHT, up(value)), GREY, 0.3, dash)
        canvas.words((20, up(value)), f"{value:.3g}", 9, at="end", color=GREY, up=0.5)
    places = [(across(i), up(value)) for i, value in enumerate(values)]
    canvas.path(places, GREY, 0.25)
    for place, moved in zip(places, chart.moved, strict=True):
        _spot(canvas, place, bool(moved))
    title = _("{name} [{unit}]; orange: something has moved")
    canvas.words((0, size[1] - 4), title.format(name=_short(name, 60), unit=unit), 9)
    canvas.words((RIGHT, 2), _("dashed: usual limits"), 9, at="end", color=GREY)
    return drawing(canvas, _("Chart of a reference rod."))


def _spot(canvas, place, marked):
    canvas.circle(place, 1.3, ACCENT if marked else "none", INK if marked else GREY, 0.35)


def _range(values, least=1.0):
    """From lowest to highest with some room."""
    if not values:
        return 0.0, least
    low, high = min(values), max(values)
    room = max(0.06 * (high - low), least / 2)
    return low - room, high + room


def _scale(low, high, start=LEFT, stop=RIGHT):
    return lambda value: start + (stop - start) * (value - low) / (high - low)
