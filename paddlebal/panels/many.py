"""Panel on many paddles of one model: what a prediction is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.fit import fit_bench
from paddlebal.bench.lever import Guess
from paddlebal.bench.plan import expected_readings
from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.scatter import REGION
from paddlebal.book.alike import next_variance
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.panels.panel import Panel, slider
from paddlebal.pictures.many import ManyPicture
from paddlebal.units import DEG, GRAM_MM

FEATHER = 60 * DEG
"""Of the paddles in the picture."""


FEWEST, MOST = 3, 16
"""Angles that are read: with fewer than three nothing shows whether they agree."""


MOST_BEFORE = 20


TIGHT, LOOSE = 60 * GRAM_MM, 500 * GRAM_MM
"""kg·m: spread of a tight and of a loose model."""


DIFFERENCE = 0.5
"""Spread of half the difference of the blades over that of half their sum: assumed, no source."""


@cache
def _bench_covariance(angles: int) -> Array:
    """What the demo's lever bench tells with so many angles round the turn, (2, 2) [(kg·m)²]."""
    bench = read_bench(data_path("bench", "ocean_lever.csv"))
    assert isinstance(bench, LeverReadings)
    guess = Guess(fit_bench(bench).unbalance, 3.5e-3)
    round_ = 0.2 + np.arange(angles) * 2 * np.pi / angles
    own: Array = fit_bench(expected_readings(bench, round_, guess)).unbalance_covariance
    return own


def before_covariance(count: int, spread: float, models: float) -> Array:
    """What the paddles before say of the next one's unbalance, along the bisector of its backs
    and across it, (2, 2) [(kg·m)²]."""
    bench = math.sqrt(float(np.trace(_bench_covariance(9))) / 2)
    shares = 2 * math.cos(FEATHER / 2), 2 * math.sin(FEATHER / 2)
    factors = 1.0, DIFFERENCE
    return np.diag([
        share**2 * next_variance(count, factor * spread, factor * models, bench / share)
        for share, factor in zip(shares, factors, strict=True)
    ])  # fmt: skip


def together(first: Array, second: Array) -> Array:
    """Covariance (2, 2) of two independent sources taken together."""
    joint: Array = np.linalg.inv(np.linalg.inv(first) + np.linalg.inv(second))
    return joint


def reach(covariance: Array) -> float:
    """Longest half axis of the 95 % region [kg·m]."""
    return math.sqrt(REGION * float(np.linalg.eigvalsh(covariance)[-1]))


def angles_needed(spread: float, models: float, wanted: float) -> Array:
    """Fewest angles with which readings and paddles before together reach a half axis [kg·m], for
    0, 1, ... paddles before; nan where the most do not."""
    needed = np.full(MOST_BEFORE + 1, np.nan)
    for count in range(MOST_BEFORE + 1):
        before = before_covariance(count, spread, models)
        for angles in range(FEWEST, MOST + 1):
            if reach(together(before, _bench_covariance(angles))) <= wanted:
                needed[count] = angles
                break
    return needed


@dataclass(frozen=True, eq=False)
class ManyState:
    """Covariances by source, the angles needed by model, and what was asked."""

    regions: dict[str, Array]
    needed: dict[str, Array]
    count: int
    angles: int
    wanted: float


def many_state(count, spread, models, angles, wanted):
    """The state; spread, models and the wanted half axis [kg·m]."""
    count, angles = round(count), round(angles)
    before, readings = before_covariance(count, spread, models), _bench_covariance(angles)
    regions = {"before": before, "readings": readings, "together": together(before, readings)}
    needed = {
        name: angles_needed(each, models, wanted)
        for name, each in (("tight", TIGHT), ("loose", LOOSE), ("chosen", spread))
    }
    return ManyState(regions, needed, count, angles, wanted)


def many_rows(state):
    words = {"before": "by the paddles before", "readings": "by readings", "together": "together"}
    told = [
        (f"± {words[name]}", f"{reach(each) / GRAM_MM:.0f} g·mm")
        for name, each in state.regions.items()
    ]
    needed = state.needed["chosen"][state.count]
    if math.isnan(needed):
        return [*told, ("angles to read", f"more than {MOST}")]
    first = state.needed["chosen"][0]
    alone = f"more than {MOST}" if math.isnan(first) else f"{first:.0f}"
    return [*told, ("angles to read", f"{needed:.0f}"), ("the first of its model", alone)]


def many_panel() -> widgets.VBox:
    """What the paddles before are worth for the next one of their model.

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "count": slider("paddles before", 0, MOST_BEFORE, 1, 5),
        "spread": slider("paddles differ by [g·mm]", 20, 800, 10, 100, unit=GRAM_MM),
        "models": slider("models differ by [g·mm]", 200, 2000, 50, 800, unit=GRAM_MM),
        "angles": slider("angles read", FEWEST, MOST, 1, 6),
        "wanted": slider("wanted: ± [g·mm]", 120, 400, 10, 220, unit=GRAM_MM),
    }
    picture = ManyPicture(MOST_BEFORE, MOST)

    def draw(state):
        picture.update(state.regions, state.needed, state.count)

    return Panel("many", controls, [picture], many_state, draw, many_rows).widget
