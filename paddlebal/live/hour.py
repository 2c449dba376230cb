"""An hour on the water for the hand, alive: three levels of its load, without and with a weight."""

from __future__ import annotations

from collections.abc import Sequence

import altair as alt
import numpy as np

from paddlebal.files.published import published_rows
from paddlebal.grip import GRIP_CAUTIONS, friction_range, hour_load, mean_torque, strength_range
from paddlebal.holding import part_balanced, stroke_series
from paddlebal.live.cycle import (
    MOVED_BY,
    PROPERTIES,
    SAMPLES,
    STATES,
    cycle_layers,
    motion_facts,
    motion_steps,
    rows_of,
    torque_steps,
    with_pieces,
)
from paddlebal.live.expressions import vega
from paddlebal.live.look import BARE, DARK, ONE, PALE, PRESENT, key
from paddlebal.live.picture import Choice, LivePicture, Series, Slider, View, words
from paddlebal.paddle import Paddle
from paddlebal.stroke import OCEAN, STROKE_CAUTION
from paddlebal.units import GRAM, MM, STANDARD_GRAVITY
from paddlebal.work import RollParts, mass_properties

LEVELS = {"static": (8, "9/10"), "median": (20, "half"), "peak": (80, "1/10")}
"""Levels of an hour's load: where the axis ends [%], and how much of the time is above it."""


RATES = (40, 130)


YOUNGEST, OLDEST = 20, 90


HANDS, PEOPLE = ("dry", "wet"), ("woman", "man")


CONCLUSIONS = (
    "You may conclude: gravity's part of the torque goes as the unbalance goes, and it is the part "
    "that never lets go of the hand. Where the static level falls, the hand gets more rest.",
    "You may not conclude: how tired a hand gets, how long it lasts, or that anything heals or is "
    "prevented. The limits are for work, not for sport, and the pull of the stroke is not in it.",
)


def _facts(paddle):
    balanced = part_balanced(paddle)
    piece = balanced.counterweights[-1]
    own = zip(PROPERTIES, mass_properties(paddle), strict=True)
    fastest = [stroke_series(each, RATES[1])[1] for each in (paddle, balanced)]
    return {name: float(value) for name, value in own} | {
        "catch_left": paddle.catch_angle("left"),
        "catch_right": paddle.catch_angle("right"),
        "radius": paddle.shaft.radius,
        "top": float(np.abs(np.sum(fastest, axis=1)).max()),
        **{f"piece_{name}": float(getattr(piece, name)) for name in ("mass", "arm", "angle", "x")},
    }


def _series(paddle, share):
    """The roll torque's size, and its levels over the time; both as `share` begins."""
    made = motion_steps()
    for state in STATES:
        made |= torque_steps(state, RollParts._fields)
    levels = published_rows("load_limits", ["percentile"])
    sums: dict[str, tuple[str | float, str]] = {}
    columns, first = {}, {}
    for state, each in zip(STATES, (paddle, part_balanced(paddle, share)), strict=True):
        time, parts = stroke_series(each)
        size = np.abs(np.sum(parts, axis=0))
        columns[f"{state}_size"] = size[:SAMPLES]
        sums[f"mean_{state}"], first[f"mean_{state}"] = (
            ("mean", f"{state}_size"),
            mean_torque(time, size),
        )
        for row, level in zip(levels, hour_load(time, size), strict=True):
            name = f"{row['level']}_{state}"
            sums[name], first[name] = (row["percentile"] / 100, f"{state}_size"), level.share
    names = (*MOVED_BY, *(f"{s}_{n}" for s in STATES for n in PROPERTIES[2:]))
    return Series(SAMPLES, names, made, tuple(columns), sums, rows_of(columns), first)


def _of_strength(torque, end):
    """Share of strength [%] that a torque takes at an end of the ranges, an expression."""
    name, way = ("grip_force_even", "1") if end == "low" else ("grip_force", "0")
    return f"100 * {vega(name, torque, f'friction[{way}]', 'diameter')} / strength[{way}]"


def _levels_view():
    """Each level on its own axis: the present range, the bare one, and the limits for work."""
    rows = published_rows("load_limits", ["advised", "ceiling"])
    scale = alt.Scale(domain=[0, 1], nice=False)
    tall = alt.Scale(domain=[len(rows), 0], nice=False)
    x, y = (alt.X("from:Q", scale=scale, axis=None), alt.Y("top:Q", scale=tall, axis=None))
    layers = []

    def words_at(text, place, height, **look):
        chart = alt.Chart(ONE).transform_calculate(
            **{"from": str(place), "top": str(height), "words": text}
        )
        return chart.mark_text(baseline="middle", **look).encode(x=x, y=y, text="words:N")

    for number, row in enumerate(rows):
        level, (end, above) = row["level"], LEVELS[row["level"]]
        title = f"'{level} load, above it {above} of the time'"
        layers.append(words_at(title, 0, number + 0.13, align="left", fontWeight="bold"))
        limits = [100 * row[name] / end for name in ("advised", "ceiling")]
        row_of = {"from": limits[0], "to": limits[1], "top": number + 0.24, "foot": number + 0.76}
        band = alt.Chart(alt.Data(values=[row_of])).mark_rect(
            fill=PALE, stroke=DARK, strokeDash=[3, 2]
        )
        layers.append(band.encode(x=x, x2="to:Q", y=y, y2="foot:Q"))
        for at in limits:
            text = f"'{at * end:.0f} %'"
            layers.append(words_at(text, at, number + 0.86, align="center"))
        layers.append(words_at("'0'", 0, number + 0.86, align="center"))
        for state, colour, top in (("now", PRESENT, 0.27), ("bare", BARE, 0.51)):
            low, high = (f"{level}_{state}_{side} / {end}" for side in ("low", "high"))
            bar = alt.Chart(ONE).transform_calculate(
                **{"from": f"min({low}, 1)", "to": f"min({high}, 1)"},
                top=str(number + top), foot=str(number + top + 0.22),
            )  # fmt: skip
            layers.append(
                bar.mark_rect(fill=colour, stroke=colour, strokeWidth=2)
                .encode(x=x, x2="to:Q", y=y, y2="foot:Q")
            )  # fmt: skip
            over = alt.Chart(ONE).transform_calculate(
                **{"from": "1", "top": str(number + top + 0.11)}
            )
            seen = alt.ExprRef(f"{high} > 1 ? 1 : 0")
            layers.append(
                over.mark_point(shape="triangle-right", size=260, color=colour, filled=True,
                                opacity=seen).encode(x=x, y=y)
            )  # fmt: skip
            layers.append(
                words_at(f"{level}_{state}_words", 1, number + top + 0.11, align="left", dx=14,
                         fontWeight="bold" if state == "now" else "normal")
            )  # fmt: skip
    keys = key([
        [("square", PRESENT, "with"), ("square", BARE, "without")],
        [("square", PALE, "limits for an hour of work, advised to ceiling")],
    ])  # fmt: skip
    return View(alt.layer(*layers, *keys), 1.0, left=16, right=116, top=58, bottom=6, rows=2)


def live_hour(paddles: Sequence[Paddle], share_percent: float = 50) -> LivePicture:
    """An hour's load on the hand that holds a paddle, part of its unbalance taken away.

    Parameters
    ----------
    paddles : sequence of Paddle
    share_percent : float
        Of the unbalance that is taken away as the picture begins.

    Returns
    -------
    LivePicture
    """
    ages = range(YOUNGEST, OLDEST + 1)
    strengths = [[list(strength_range(who, age)) for age in ages] for who in PEOPLE]
    first = paddles[0]
    levels = [row["level"] for row in published_rows("load_limits")]
    params: dict[str, object] = {
        "paddles": [_facts(paddle) for paddle in paddles],
        "here": "paddles[paddle]",
        "frictions": [list(friction_range(hand)) for hand in HANDS],
        "friction": "frictions[hand]",
        "strengths": strengths,
        "norm": f"strengths[who][age - {YOUNGEST}]",
        "own": f"own_kgf * {STANDARD_GRAVITY}",
        "strength": "own > 0 ? [own, own] : norm",
        "diameter": f"diameter_mm * {MM}",
        "motion": motion_facts(OCEAN),
        "pace": "PI * rate / 60",
        "catch_left": "here.catch_left",
        "catch_right": "here.catch_right",
        "taken": "here.piece_mass * balanced_percent / 100",
        **{f"bare_{name}": f"here.{name}" for name in PROPERTIES},
        **with_pieces("taken", "here.piece_arm", "here.piece_angle", ("here.piece_x",)),
        **{
            f"{what}_{state}_{end}": _of_strength(f"{what}_{state}", end)
            for what in (*levels, "mean")
            for state in STATES
            for end in ("low", "high")
        },
        **{
            f"{level}_{state}_words": _range(f"{level}_{state}")
            for level in levels
            for state in STATES
        },
    }
    curves = [
        ("bare_size", {"color": BARE, "strokeWidth": 5}),
        ("now_size", {"color": PRESENT, "strokeWidth": 3}),
    ]
    keys = key([[("line", PRESENT, "with"), ("line", BARE, "without")]])
    cycle = alt.layer(
        *cycle_layers("size of the torque [N·m]", [0, alt.ExprRef("1.1 * here.top")], curves), *keys
    )
    weight = words(f"taken / {GRAM}", ".0f", "g at")
    return LivePicture(
        "Bars of the static, median and peak load of the hand over an hour, as shares of its "
        "strength, without and with a counterweight, beside the limits for work; and the size of "
        "the torque over one cycle.",
        params,
        (
            Choice("paddle", "paddle", tuple(each.name for each in paddles), 0,
                   {"diameter_mm": f"2 * here.radius / {MM}"}),
            Slider("balanced_percent", "unbalance taken away [%]", 0, 100, 1, share_percent),
            Slider("rate", "stroke rate [1/min]", *RATES, 1, OCEAN.strokes_per_minute),
            Choice("hand", "hand", HANDS),
            Choice("who", "who", PEOPLE),
            Slider("age", "age [years]", YOUNGEST, OLDEST, 1, 40),
            Slider("own_kgf", "own grip, 0: norms [kgf]", 0, 80, 1, 0),
            Slider("diameter_mm", "shaft diameter [mm]", 24, 34, 0.1,
                   round(2 * first.shaft.radius / MM, 9)),
        ),
        (_levels_view(), View(cycle, 0.6, left=72, top=34, cycle=True, share=0.5)),
        (
            ("counterweight", f"taken == 0 ? 'none' : {weight} + ' '"
             f" + {words(f'here.piece_arm / {MM}', '.0f', 'mm')}"),
            ("maximum grip of the hand", _range("strength", ".0f", "N", ("[0]", "[1]"))),
            ("mean torque", words("mean_now", ".3f", "N·m")),
            ("felt at the shaft's surface", words("2 * mean_now / diameter", ".1f", "N")),
            ("mean share of strength", _range("mean_now")),
            *((f"{level} load", f"{level}_now_words") for level in levels),
            *((f"{level} load, without", f"{level}_bare_words") for level in levels),
        ),
        cautions=(*CONCLUSIONS, *GRIP_CAUTIONS, STROKE_CAUTION),
        series=_series(first, share_percent / 100),
    )  # fmt: skip


def _range(name, form=".1f", unit="%", ends=("_low", "_high")):
    """'least to greatest unit', or one number where they read the same, an expression."""
    low, high = (f"format({name}{end}, '{form}')" for end in ends)
    return f"({low} == {high} ? {low} : {low} + ' to ' + {high}) + ' {unit}'"
