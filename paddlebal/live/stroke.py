"""A stroke cycle, alive: roll torque and its parts, work, and what a pair of weights changes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import altair as alt
import numpy as np

from paddlebal.limits import Limits, material_densities
from paddlebal.live.balance import SIZE_AND_REST
from paddlebal.live.cycle import (
    DRIVEN,
    MOVED_BY,
    PROPERTIES,
    SAMPLES,
    SPIN,
    STATES,
    cycle_layers,
    motion_facts,
    motion_steps,
    rows_of,
    torque_steps,
    with_pieces,
)
from paddlebal.live.expressions import G, steps, vega
from paddlebal.live.look import BARE, DARK, GREY, ONE, PRESENT, key
from paddlebal.live.picture import Choice, LivePicture, Series, Slider, View, words
from paddlebal.live.placement import piece_diameter, shaft_facts
from paddlebal.paddle import Paddle, counterweight_adding
from paddlebal.placement import HEAVIEST_FITTED, LONGEST_FITTED, fitted_pair
from paddlebal.stroke import STROKE_CAUTION, STROKES
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, MM
from paddlebal.work import compare_strokes, mass_properties, stroke_torque

RATES = (40.0, 120.0)


MASSES = (0.15, HEAVIEST_FITTED)
"""Strokes per minute and kg that the sliders offer."""


PARTS = {
    "gravity": ("gravity", DARK, [1, 0]),
    "inertia": ("roll inertia", "#0072b2", [8, 3]),
    "products": ("couple, gyroscopic", "#7a3e9d", [2, 2]),
    "acceleration": ("acceleration", "#00795a", [8, 3, 2, 3]),
}
"""Parts of the roll torque in the order of `RollParts`: in words, colour, dash."""


SPANS = ("one cycle (two strokes)", "500 m", "1000 m", "one hour")


FEW = 60
"""Steps of a cycle, enough to choose where an axis ends."""


def by_feather(paddle):
    """Mass properties of a paddle at any feather phi, ten rows of factors (5,) [SI].

    Of 1, cos phi, sin phi, cos 2 phi, sin 2 phi: half the paddle turns, and a first moment turns
    as a vector, an inertia as a tensor, so that nothing else can be in them.
    """
    turns = 2 * np.pi * np.arange(5) / 5
    waves = [np.ones(5), *(f(n * turns) for n in (1, 2) for f in (np.cos, np.sin))]
    at = [mass_properties(paddle.with_feather(math.degrees(turn))) for turn in turns]
    factors = np.linalg.solve(np.transpose(waves), np.array(at, dtype=float))
    return {name: row.tolist() for name, row in zip(PROPERTIES, factors.T, strict=True)}


def largest_shown(paddle, stroke):
    """Largest part of a torque, work and peak torque that the sliders lead to, about [N·m, J]."""
    sizes = []
    for feather in (0, 45, 90):
        turned = paddle.with_feather(feather)
        motion, U = stroke.motion(turned).with_rate(RATES[1]), turned.unbalance()
        arms = [float(magnitude(U)) / mass for mass in MASSES]
        weights = [counterweight_adding(-U, arm) for arm in arms]
        for pieces in ([], *([weight] for weight in weights)):
            side = stroke_torque(turned.with_counterweights(*pieces), motion, FEW)
            torque = max(np.abs(part).max() for part in (*side.parts, side.torque))
            sizes.append([torque, side.full_work.positive, float(side.roll.peak)])
    return np.max(sizes, axis=0)


def _facts(paddle, stretches):
    return shaft_facts(paddle, stretches) | {
        "factors": by_feather(paddle),
        "control_right": int(paddle.control == "right"),
        "feather_deg": math.degrees(paddle.feather),
        "tops": [largest_shown(paddle, stroke).tolist() for stroke in STROKES.values()],
    }


def _clear(name, start, stretches, direction):
    """Expressions of the first place at or beyond `start` where a piece meets no keep-out."""
    made = {f"{name}_0": start}
    order = range(stretches) if direction > 0 else reversed(range(stretches))
    for step, i in enumerate(order):
        at = f"{name}_{step}"
        meets = f"{at} - length / 2 < here.to_{i} && {at} + length / 2 > here.from_{i}"
        out = f"here.to_{i} + length / 2" if direction > 0 else f"here.from_{i} - length / 2"
        made[f"{name}_{step + 1}"] = f"({meets}) ? {out} : {at}"
    return made | {name: f"{name}_{stretches}"}


def _pair(stretches):
    """Expressions of two equal pieces as `placement.fitted_pair` places them."""
    return {
        "arm": "size / mass",
        "angle": "atan2(-U_z, -U_y)",
        "fitted": "share * mass",
        "diameter": piece_diameter("fitted / 2"),
        "length": f"{Limits.slenderness} * diameter",
        "ideal": "fitted > 0 ? -bare_S_x / fitted : 0",
        "lowest": "here.start + length / 2",
        "highest": "here.stop - length / 2",
        **_clear("left_near", "ideal - length / 2", stretches, -1),
        **_clear("right_near", "ideal + length / 2", stretches, 1),
        "moved": "ideal - left_near < right_near - ideal ? -1 : 1",
        "wanted": "moved < 0 ? 2 * ideal - right_near : 2 * ideal - left_near",
        **_clear("below", "min(wanted, highest)", stretches, -1),
        **_clear("above", "max(wanted, lowest)", stretches, 1),
        "nearest": "below < lowest ? above : above > highest ? below"
        " : abs(abs(below - wanted) - abs(above - wanted)) < 1e-12"
        " ? (abs(below) < abs(above) ? below : above)"
        " : abs(below - wanted) < abs(above - wanted) ? below : above",
        "x_left": "moved < 0 ? nearest : left_near",
        "x_right": "moved < 0 ? right_near : nearest",
        "stands": _stands(),
    }


def _stands():
    """An expression: where the pieces stand in words."""
    too_long = words(f"{LONGEST_FITTED / MM}", ".0f", "mm")
    return (
        f"arm > {LONGEST_FITTED} * (1 + 1e-9) ? 'arm longer than ' + {too_long}"
        " : arm * (1 + 1e-9) < here.radius + diameter / 2 ? 'too near the shaft'"
        " : left_near < lowest || right_near > highest ? 'no free place' : 'free'"
    )


def _series(both):
    """The paddle's motion, then torque, power and energy of both states.

    both is the `Comparison` that the controls begin with.
    """
    made = motion_steps()
    speed, moving = ["v_X", "v_Y", "v_Z"], ["u_x", "u_y", "u_z", *SPIN[:3]]
    made |= steps("level_components", "vc", speed, "psi_0", "x_1", "y_1", "z_1")
    made |= steps("body_components", "b", moving[:3], *speed, "theta_0", "beta_0")
    for state in STATES:
        own = [f"{state}_{name}" for name in PROPERTIES]
        load = [f"{state}_{kind}_{axis}" for kind in ("force", "moment") for axis in "xyz"]
        made |= torque_steps(state, PARTS)
        made |= steps("hand_load", f"{state}_h", load, *own, *DRIVEN)
        made[f"{state}_power"] = " + ".join(f"{f} * {v}" for f, v in zip(load, moving, strict=True))
        made[f"{state}_against"] = f"-{state}_power"
        made[f"{state}_turning"] = f"{state}_torque * omega_x"
        made[f"{state}_turned"] = f"-{state}_turning"
        made |= {f"{state}_{part}_size": f"abs({state}_{part})" for part in PARTS}
        swing = vega("kinetic_energy", *own, "theta_0", *SPIN[:3], *speed, "beta_0")
        about_middle = vega("potential_energy", *own[1:4], "theta_0", "beta_0", G)
        made[f"{state}_swing"] = swing
        made[f"{state}_lift"] = f"{about_middle} + {own[0]} * {G} * z_0"
    sums: dict[str, tuple[str | float, str]] = {}
    for state in STATES:
        sums |= {
            f"mean_{state}": ("mean", f"{state}_size"),
            f"peak_{state}": ("largest", f"{state}_size"),
            f"given_{state}": ("positive", f"{state}_power"),
            f"taken_{state}": ("positive", f"{state}_against"),
            f"turning_{state}": ("positive", f"{state}_turning"),
            f"turned_{state}": ("positive", f"{state}_turned"),
            f"lift_{state}": ("rise", f"{state}_lift"),
            f"swing_{state}": ("rise", f"{state}_swing"),
            **{f"{part}_{state}": ("largest", f"{state}_{part}_size") for part in PARTS},
        }
    names = (*MOVED_BY, *(f"{s}_{n}" for s in STATES for n in PROPERTIES))
    columns = ("bare_torque", "now_torque", *(f"now_{part}" for part in PARTS))
    sides = dict(zip(STATES, (both.without, both.balanced), strict=True))
    drawn = {"bare_torque": sides["bare"].torque, "now_torque": sides["now"].torque}
    drawn |= {f"now_{name}": part for name, part in sides["now"].parts._asdict().items()}
    first = dict.fromkeys(sums, 0.0)
    for state, side in sides.items():
        first |= {f"mean_{state}": float(side.roll.mean), f"peak_{state}": float(side.roll.peak)}
        works = (*side.full_work, side.roll.positive, side.roll.negative)
        for name, work in zip(("given", "taken", "turning", "turned"), works, strict=True):
            first[f"{name}_{state}"] = abs(float(work)) / (side.time[1] * SAMPLES)
    return Series(SAMPLES, names, made, columns, sums, rows_of(drawn), first)


def _cycle_view():
    ends = [alt.ExprRef(f"{sign}1.2 * tops[0]") for sign in ("-", "")]
    lines = [
        ("bare_torque", {"color": BARE, "strokeWidth": 7}),
        *(
            (f"now_{part}", {"color": colour, "strokeWidth": 2, "strokeDash": dash})
            for part, (_, colour, dash) in PARTS.items()
        ),
        ("now_torque", {"color": PRESENT, "strokeWidth": 3.5}),
    ]
    entries = [(dash, colour, text.split(",")[0]) for text, colour, dash in PARTS.values()]
    keys = key([
        [("line", PRESENT, "with"), ([1, 0], BARE, "without")],
        entries[:2],
        entries[2:],
    ])  # fmt: skip
    layers = cycle_layers("torque of the hands [N·m]", ends, lines)
    return View(alt.layer(*layers, *keys), 0.8, left=72, cycle=True, rows=2)


def _bars_view(title, bars, form, top, lowest):
    """Pairs of bars; bars has, for each pair, its words and the names of its sums with signs."""
    data = [{"place": i, "state": j} for i in range(len(bars)) for j in range(2)]
    value = "0"
    for i, (_, name, sign) in enumerate(bars):
        for j, state in enumerate(STATES):
            value = f"datum.place == {i} && datum.state == {j} ? {sign}{name}_{state} : ({value})"
    labels = ", ".join(f"'{text}'" for text, *_ in bars)
    axis = alt.Axis(title=None, values=list(range(len(bars))), ticks=False, labelFlush=False,
                    labelExpr=f"split([{labels}][datum.value], '|')")  # fmt: skip
    x = alt.X("from:Q", scale=alt.Scale(domain=[-0.6, len(bars) - 0.4], nice=False), axis=axis)
    domain = [alt.ExprRef(f"{lowest} * {top}"), alt.ExprRef(f"1.2 * {top}")]
    y = alt.Y("value:Q", scale=alt.Scale(domain=domain, nice=False),
              axis=alt.Axis(title=title, tickCount=4))  # fmt: skip
    base = alt.Chart(alt.Data(values=data)).transform_calculate(
        value=value,
        **{"from": "datum.place - 0.42 + 0.43 * datum.state"},
        to="datum.place - 0.01 + 0.43 * datum.state",
        middle="datum.place - 0.215 + 0.43 * datum.state",
        zero="0",
        words=f"format(abs(datum.value), '{form}')",
    )
    layers = [alt.Chart(ONE).mark_rule(color=GREY).encode(y=alt.datum(0))]
    for number, colour in enumerate((BARE, PRESENT)):
        own = base.transform_filter(f"datum.state == {number}")
        bar = own.mark_rect(fill=colour).encode(x=x, x2="to", y=y, y2="zero")
        at = alt.X("middle:Q", axis=axis)
        up, down = (
            own.transform_filter(f"datum.value {sign} 0")
            .mark_text(baseline=side, dy=gap)
            .encode(x=at, y=y, text="words:N")
            for sign, side, gap in ((">=", "bottom", -3), ("<", "top", 3))
        )
        layers += [bar, up, down]
    keys = key([[("square", BARE, "without"), ("square", PRESENT, "with")]])
    return View(alt.layer(*layers, *keys), 0.5, left=72, top=34, bottom=46, share=0.42)


def live_stroke(paddles: Sequence[Paddle], preset: str = "sprint preset") -> LivePicture:
    """A stroke without and with a pair of counterweights, by paddle, feather, rate and mass.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.
    preset : str
        Of `stroke.STROKES`, the one to begin with.

    Returns
    -------
    LivePicture
    """
    stretches = max(len(Limits.for_paddle(paddle).keep_outs) for paddle in paddles)
    waves = ("1", "cos(phi)", "sin(phi)", "cos(2 * phi)", "sin(2 * phi)")
    bare = {
        f"bare_{name}": " + ".join(f"here.factors.{name}[{i}] * {w}" for i, w in enumerate(waves))
        for name in PROPERTIES
    }
    span = "[1, 500 / (motion.speed * period), 1000 / (motion.speed * period), 3600 / period][span]"
    params: dict[str, object] = {
        "paddles": [_facts(paddle, stretches) for paddle in paddles],
        "here": "paddles[paddle]",
        "tops": "here.tops[stroke]",
        "strokes": [motion_facts(stroke) for stroke in STROKES.values()],
        "motion": "strokes[stroke]",
        "period": "120 / rate",
        "pace": "2 * PI / period",
        "cycles": span,
        "phi": "feather_deg * PI / 180",
        "catch_left": "here.control_right ? phi : 0",
        "catch_right": "here.control_right ? 0 : phi",
        "mass": f"mass_g * {GRAM}",
        "share": "share_percent / 100",
        "density": material_densities()["brass"],
        **bare,
        "U_y": "bare_S_y",
        "U_z": "bare_S_z",
        "size": SIZE_AND_REST["size"],
        **_pair(stretches),
        **with_pieces("fitted", "arm", "angle", ("x_left", "x_right")),
    }
    first, stroke, begin = paddles[0], STROKES[preset], 200 * GRAM
    both = compare_strokes(first, fitted_pair(first, begin), stroke.motion(first), SAMPLES)
    least, most = (mass / GRAM for mass in MASSES)
    given, back = "period * ", "-period * "
    works = [
        ("given", "given", given),
        ("taken|back", "taken", back),
        ("given,|shaft", "turning", given),
        ("taken,|shaft", "turned", back),
    ]
    torques = [("mean", "mean", ""), ("peak", "peak", "")]
    return LivePicture(
        "Torque of the hands over one cycle, without and with counterweight, and its four parts "
        "with it; beside it pairs of bars of work and of torque, without and with.",
        params,
        (
            Choice("paddle", "paddle", tuple(each.name for each in paddles), 0,
                   {"feather_deg": "here.feather_deg"}),
            Choice("stroke", "stroke", tuple(STROKES), list(STROKES).index(preset),
                   {"rate": "motion.strokes_per_minute"}),
            Slider("rate", "stroke rate [1/min]", *RATES, 0.1, stroke.strokes_per_minute),
            Slider("feather_deg", "feather [deg]", 0, 90, 1, round(math.degrees(first.feather), 9)),
            Slider("mass_g", "mass for full balance [g]", least, most, 5, begin / GRAM),
            Slider("share_percent", "share of it fitted [%]", 0, 100, 5, 100),
            Choice("span", "sums over", SPANS),
        ),
        (
            _cycle_view(),
            _bars_view("work [J]", works, ".1f", "tops[1]", -1.5),
            _bars_view("torque [N·m]", torques, ".2f", "tops[2]", 0),
        ),
        _numbers(),
        cautions=(STROKE_CAUTION,),
        series=_series(both),
    )  # fmt: skip


def _numbers():
    """Rows of (what, expression of a text)."""
    pieces = words(f"fitted / 2 / {GRAM}", ".0f", "g on")
    at = words(f"arm / {MM}", ".0f", "mm")
    places = (
        f"{words(f'x_left / {MM}', '+.0f')} + ' and ' + {words(f'x_right / {MM}', '+.0f', 'mm')}"
    )
    none = "fitted == 0 ? 'none' : "

    def row(what, name, form, unit, factor="1"):
        before, after = (
            f"replace(format({factor} * {sign}{name}_{state}, {form}), '-', '−')"
            for state in STATES
            for sign in ["-" if name in ("taken", "turned") else ""]
        )
        return what, f"{before} + ' → ' + {after} + ' {unit}'"

    summed = "span == 0 ? ',.3f' : ',.0f'"
    less = "abs({0}_now - {0}_bare) < 1e-9 ? 'neither' : {0}_now < {0}_bare ? 'with' : 'without'"
    return (
        ("counterweight, its arm", f"{none}'2 × ' + {pieces} + ' ' + {at}"),
        ("places along the shaft", f"{none}{places}"),
        ("where the pieces stand", f"{none}stands"),
        ("less work of the hands", less.format("given")),
        ("less holding torque", less.format("mean")),
        ("torque and work of the hands", "'without → with'"),
        row("mean torque", "mean", "'.3f'", "N·m"),
        row("peak torque", "peak", "'.3f'", "N·m"),
        *(row(f"peak of {text}", part, "'.3f'", "N·m") for part, (text, *_) in PARTS.items()),
        row("torque × time", "mean", summed, "N·m·s", "cycles * period"),
        row("work given, all", "given", summed, "J", "cycles * period"),
        row("work taken back, all", "taken", summed, "J", "cycles * period"),
        row("work given about shaft", "turning", summed, "J", "cycles * period"),
        row("work taken back about shaft", "turned", summed, "J", "cycles * period"),
        row("work to lift the paddle", "lift", summed, "J", "cycles"),
        row("work to swing the paddle", "swing", summed, "J", "cycles"),
    )
