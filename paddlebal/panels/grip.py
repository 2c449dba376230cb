"""The panel of the hand: how long published figures say that a share of strength is held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import ipywidgets as widgets
import numpy as np

from paddlebal.fatigue import Band, endurance_band, endurance_curve, endurance_time, fatigue_sets
from paddlebal.files.published import published_rows
from paddlebal.grip import (
    GRIP_CAUTIONS,
    Interval,
    friction_range,
    held_fraction,
    held_torque,
    mean_torque,
    share_range,
    strength_range,
)
from paddlebal.holding import grip_range, part_balanced, stroke_series
from paddlebal.paddle import Paddle
from paddlebal.panels.panel import Panel, chooser, paddle_chooser, slider, unbalance_words
from paddlebal.pictures.grip import (
    EndurancePicture,
    range_words,
    time_range_words,
    time_words,
)
from paddlebal.stroke import OCEAN
from paddlebal.unbalance import catch_torque
from paddlebal.units import MM, PERCENT, STANDARD_GRAVITY

CAUTION = " ".join(GRIP_CAUTIONS)
"""What is written in every picture of the hand."""


def endurance_scenery():
    """Loads, the sustained endurance of each published set, the curve and what people held."""
    loads = np.geomspace(0.001, 0.98, 160)
    times = {s.name: np.array([endurance_time(x, s) for x in loads]) for s in fatigue_sets()}
    return loads, times, endurance_curve(loads)


def curve_name():
    """The published curve by name, marked where its figures are from memory."""
    (row,) = published_rows("endurance_curve")
    mark = " (from memory)" if row["how_read"].startswith("from memory") else ""
    return f"published curve{mark}"


def sets_name():
    """How many published sets there are, and how many of them are from memory."""
    rows = published_rows("fatigue_parameters")
    remembered = sum(row["how_read"].startswith("from memory") for row in rows)
    return f"all {len(rows)} published sets ({remembered} from memory)"


def measured_holds(places):
    """What people held, for `EndurancePicture`; places has where to write by who held."""
    points = []
    for row in published_rows("grip_endurance", ["load", "duty", "time_s"]):
        if row["who"] in places:
            error = float(row["standard_error_s"] or 0)
            held = f"{row['time_s']} ± {error} s" if error else time_words(row["time_s"])
            words = f"{row['who'].split(',')[0]}, measured: {held}"
            points.append((row["load"], row["time_s"], error, words, places[row["who"]]))
    return points


def sustained_picture():
    """Endurance without rests: all published sets and the published curve."""
    loads, times, curve = endurance_scenery()
    title = "curves: held without a rest"
    names = sets_name(), curve_name()
    return EndurancePicture(loads, times, title, CAUTION, names, curve)


def rests_picture() -> EndurancePicture:
    """Endurance with rests: all published sets beside the published experiment.

    Returns
    -------
    EndurancePicture
    """
    duty, period = 0.5, 10.0
    loads = np.geomspace(0.02, 0.98, 120)
    times = {
        rates.name: np.array([endurance_time(load, rates, duty, period) for load in loads])
        for rates in fatigue_sets()
    }
    title = f"{duty * period:.0f} s on, {(1 - duty) * period:.0f} s off"
    held = measured_holds({"women": (0.022, 3e3), "men": (0.022, 3e2)})
    names = sets_name(), ""
    return EndurancePicture(loads, times, title, CAUTION, names, measured=held, least=0.02)


@dataclass(frozen=True, eq=False)
class GripState:
    """From a paddle's torque to the share of strength, and how long that is held.

    torque [N·m] to hold; diameter [m], friction and strength [N] of
    the hand; duty, the part of a stroke that is
    held; load and held, the shares of strength shown and while the hand holds.
    """

    paddle: Paddle
    in_a_stroke: bool
    torque: float
    diameter: float
    friction: Interval
    strength: Interval
    duty: float
    load: Interval
    held: Interval
    band: Band


def grip_state(paddle, balanced, diameter, hand, who, age, own, task, rate, rest):
    """The state; diameter [m], own grip [N] or 0, rate [strokes a minute], rest [N·m]."""
    friction = friction_range(hand)
    strength = Interval(own, own) if own else strength_range(who, age)
    now = part_balanced(paddle, balanced)
    time, parts = stroke_series(now, rate)
    series = time, np.sum(parts, axis=0)
    duty, in_a_stroke = held_fraction(*series, rest), task == "stroke"
    torque = mean_torque(*series) if in_a_stroke else catch_torque(now)
    load = share_range(torque, diameter, friction, strength)
    held, band = load, None
    if in_a_stroke and duty:
        held = share_range(held_torque(*series, rest), diameter, friction, strength)
        band = endurance_band(held, duty, 60 / rate)
    return GripState(
        now,
        in_a_stroke,
        torque,
        diameter,
        friction,
        strength,
        duty,
        load,
        held,
        band or endurance_band(load),
    )


def _percent(share):
    return range_words((100 * share.least, 100 * share.greatest), 1, "%")


def grip_rows(state):
    least = grip_range(state.torque, state.diameter, state.friction)
    lasts = time_range_words(*state.band[:2])
    if state.in_a_stroke:
        held = f"held {100 * state.duty:.0f} % of each stroke, mean share then"
        rested = lasts if state.duty else "nothing to hold"
        rests = [(held, _percent(state.held)), ("with these rests, by the models", rested)]
    else:
        rests = [("held without a rest, by the models", lasts)]
    return [
        (
            "torque, mean over the stroke" if state.in_a_stroke else "torque at the catch",
            f"{state.torque:.3f} N·m",
        ),
        ("unbalance left", unbalance_words(state.paddle.unbalance())),
        ("counterweight", _weight_words(state.paddle)),
        ("maximum grip of the hand", range_words(state.strength, 0, "N")),
        ("least grip", range_words(least, 1, "N")),
        ("share of maximum grip", _percent(state.load)),
        *rests,
    ]


def grip_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """How long a paddle's torque can be held, by the published figures of endurance.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    tasks = [("at the catch, held still", "catch"), ("in a stroke", "stroke")]
    controls = {
        "paddle": paddle_chooser(paddles),
        "balanced": slider("unbalance taken away [%]", 0, 100, 1, 0, unit=PERCENT),
        "diameter": slider("shaft diameter [mm]", 24, 34, 0.1, 29.2, 1, MM),
        "hand": chooser("hand", ["dry", "wet"]),
        "who": chooser("who", ["woman", "man"]),
        "age": slider("age [years]", 20, 90, 1, 40),
        "own": slider("own grip, 0: norms [kgf]", 0, 80, 1, 0, unit=STANDARD_GRAVITY),
        "task": chooser("torque", tasks),
        "rate": slider("stroke rate [1/min]", 40, 130, 1, OCEAN.strokes_per_minute),
        "rest": slider("hand rests below [mN·m]", 0, 100, 5, 50, unit=1e-3),
    }
    endurance = sustained_picture()

    def draw(state):
        times = state.band[:2]
        how = "with its rests" if state.in_a_stroke else _percent(state.load)
        endurance.update(state.held, times, f"{how}: {time_range_words(*times)}")

    panel = Panel("grip", controls, [endurance], grip_state, draw, grip_rows)
    panel.follow("paddle", lambda paddle: {"diameter": 2 * paddle.shaft.radius})
    return panel.widget


def _weight_words(paddle):
    if not paddle.counterweights:
        return "none"
    weight = paddle.counterweights[-1]
    return f"{1e3 * weight.mass:.0f} g at {1e3 * weight.arm:.0f} mm"
