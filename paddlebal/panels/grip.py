"""The panel of the hand: from a paddle's torque to the share of strength and what it may cost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import ipywidgets as widgets
import numpy as np

from paddlebal.fatigue import endurance_band, endurance_curve, endurance_time, fatigue_sets
from paddlebal.files.published import published_rows
from paddlebal.grip import (
    GRIP_CAUTIONS,
    HourLevel,
    Interval,
    felt_force,
    friction_range,
    held_fraction,
    held_torque,
    mean_torque,
    share_range,
    strength_range,
)
from paddlebal.holding import grip_range, hour_ranges, part_balanced, stroke_series
from paddlebal.paddle import Paddle
from paddlebal.panels.panel import Panel, chooser, paddle_chooser, slider
from paddlebal.pictures.grip import (
    EndurancePicture,
    RowsPicture,
    range_words,
    time_range_words,
    time_words,
)
from paddlebal.stroke import OCEAN
from paddlebal.unbalance import catch_torque, magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY

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


def sustained_picture(caution=CAUTION):
    """Endurance without rests: all published sets and the published curve."""
    loads, times, curve = endurance_scenery()
    title = "curves: held without a rest"
    names = sets_name(), curve_name()
    return EndurancePicture(loads, times, title, caution, names, curve)


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


CHAIN = (
    ("torque", "N·m", 0.4, None),
    ("felt at the surface", "N", 30.0, None),
    ("least grip", "N", 60.0, None),
    ("share of maximum", "%", 30.0, None),
)
"""Rows of the chain picture: name, unit, where the axis ends, no limits marked."""


def chain_picture(present="this paddle"):
    """Torque, felt force, least grip and share of maximum grip below one another."""
    return RowsPicture(CHAIN, present, "without counterweight", CAUTION)


def chain_rows(torques, diameter, friction, strength, words=""):
    """Rows for the chain picture from two torques [N·m], the present one and the bare one.

    diameter [m]; friction and strength [N] as (least, greatest); words say which torque.
    """
    radius = diameter / 2
    forces = [felt_force(torque, radius) for torque in torques]
    grips = [grip_range(torque, diameter, friction) for torque in torques]
    shares = [share_range(torque, diameter, friction, strength) for torque in torques]
    percent = [(100 * low, 100 * high) for low, high in shares]
    mu = range_words(friction, 2)
    return [
        (*[(t, t) for t in torques], [f"{t:.3f} N·m" for t in torques], words),
        (
            *[(f.newton, f.newton) for f in forces],
            [f"{f.newton:.1f} N ({f.kgf:.2f} kgf)" for f in forces],
            f"÷ radius {1e3 * radius:.1f} mm",
        ),
        (
            *grips,
            [range_words(g, 1, "N") for g in grips],
            f"÷ 2μ, friction μ {mu} × π/2",
        ),
        (
            *percent,
            [range_words(p, 1, "%") for p in percent],
            f"÷ strength {range_words(strength, 0)} N",
        ),
    ]


RowValues: TypeAlias = tuple[Sequence[float] | Sequence[str] | str, ...]
"""The present range, the bare one, what is written beside each, and a note."""


HOUR = {"static": (8.0, "9/10"), "median": (20.0, "half"), "peak": (80.0, "1/10")}
"""Levels of an hour's load: where the axis ends [%], and how much of the time is above it."""


def hour_picture(present: str, bare: str) -> RowsPicture:
    """An hour's load by its three levels, the published limits hatched.

    Parameters
    ----------
    present, bare : str
        Names of the two states that are compared.

    Returns
    -------
    RowsPicture
    """
    rows = [
        (f"{row['level']} load", "%", HOUR[row["level"]][0], (100 * low, 100 * high))
        for row in published_rows("load_limits", ["advised", "ceiling"])
        for low, high in [(row["advised"], row["ceiling"])]
    ]
    return RowsPicture(rows, present, bare, CAUTION)


def hour_rows(
    present: Sequence[tuple[HourLevel, HourLevel]], bare: Sequence[tuple[HourLevel, HourLevel]]
) -> list[RowValues]:
    """Rows for the hour picture from two results of `holding.hour_ranges`.

    Parameters
    ----------
    present, bare : list of tuple of HourLevel

    Returns
    -------
    list of tuple
    """
    rows = []
    for pairs in zip(present, bare, strict=True):
        ranges = [(100 * low.share, 100 * high.share) for low, high in pairs]
        note = f"{HOUR[pairs[0][0].level][1]} of the time above it"
        rows.append((*ranges, [range_words(each, 1, "%") for each in ranges], note))
    return rows


def grip_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """From a paddle's torque to the share of strength, with the endurance band beside it.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "paddle": paddle_chooser(paddles),
        "balanced": slider("unbalance taken away [%]", 0, 100, 1, 0),
        "diameter": slider("shaft diameter [mm]", 24, 34, 0.1, 29.2, digits=1),
        "hand": chooser("hand", ["dry", "wet"]),
        "who": chooser("who", ["woman", "man"]),
        "age": slider("age [years]", 20, 90, 1, 40),
        "own": slider("own grip, 0: norms [kgf]", 0, 80, 1, 0),
        "task": chooser(
            "torque", [("at the catch, held still", "catch"), ("in a stroke", "stroke")]
        ),
        "rate": slider("stroke rate [1/min]", 40, 130, 1, OCEAN.strokes_per_minute),
        "rest": slider("hand rests below [mN·m]", 0, 100, 5, 50),
    }
    chain, endurance = chain_picture(), sustained_picture(caution="")

    def show(paddle, balanced, diameter, hand, who, age, own, task, rate, rest):
        diameter, rest = diameter * 1e-3, rest * 1e-3
        friction = friction_range(hand)
        kgf = own * STANDARD_GRAVITY
        strength = Interval(kgf, kgf) if own else strength_range(who, age)
        now = part_balanced(paddle, balanced / 100)
        series = [
            (time, sum(parts))
            for time, parts in (stroke_series(each, rate) for each in (now, paddle))
        ]
        duty = held_fraction(*series[0], rest)
        if task == "catch":
            torques, words = [catch_torque(each) for each in (now, paddle)], "at the catch"
        else:
            torques, words = [mean_torque(*each) for each in series], "mean over the stroke"
        chain.update(chain_rows(torques, diameter, friction, strength, words))
        load = share_range(torques[0], diameter, friction, strength)
        percent = range_words((100 * load.least, 100 * load.greatest), 1, "%")
        if task == "catch":
            band = endurance_band(load)
            endurance.update(load, band[:2], f"{percent}: {time_range_words(*band[:2])}")
            rests = [("held without a rest, by the models", time_range_words(*band[:2]))]
        else:
            held = share_range(held_torque(*series[0], rest), diameter, friction, strength)
            band = endurance_band(held, duty, 60 / rate) if duty else endurance_band(load)
            endurance.update(held, band[:2], f"with its rests: {time_range_words(*band[:2])}")
            share = range_words((100 * held.least, 100 * held.greatest), 1, "%")
            rests = [
                (f"held {100 * duty:.0f} % of each stroke, mean share then", share),
                ("with these rests, by the models", _rested_words(band, duty)),
            ]
        return [
            ("unbalance left", f"{magnitude(now.unbalance()) / GRAM_MM:,.0f} g·mm"),
            ("counterweight", _weight_words(now)),
            ("maximum grip of the hand", range_words(strength, 0, "N")),
            ("least grip", range_words(grip_range(torques[0], diameter, friction), 1, "N")),
            ("share of maximum grip", percent),
            *rests,
            *_hour_words(hour_ranges(*series[0], diameter, friction, strength)),
        ]

    panel = Panel("grip", controls, [chain, endurance], show)
    panel.follow("paddle", lambda paddle: {"diameter": 2e3 * paddle.shaft.radius})
    return panel.widget


def _weight_words(paddle):
    if not paddle.counterweights:
        return "none"
    weight = paddle.counterweights[-1]
    return f"{1e3 * weight.mass:.0f} g at {1e3 * weight.arm:.0f} mm"


def _rested_words(band, duty):
    return time_range_words(*band[:2]) if duty else "nothing to hold"


def _hour_words(levels):
    rows = []
    for low, high in levels:
        share = range_words((100 * low.share, 100 * high.share), 1, "%")
        limits = f"advised {100 * low.advised:.0f}, ceiling {100 * low.ceiling:.0f} %"
        rows.append((f"an hour of strokes: {low.level} load", f"{share} ({limits})"))
    return rows
