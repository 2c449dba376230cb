"""A stroke cycle, alive: roll torque and its parts, work, and what a pair of weights changes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import altair as alt
import numpy as np

from paddlebal.limits import Limits, material_densities
from paddlebal.live.expressions import G, steps, vega
from paddlebal.live.look import BARE, DARK, GREY, ONE, PRESENT, key
from paddlebal.live.picture import Choice, LivePicture, Series, Slider, View, words
from paddlebal.live.placement import piece_diameter, shaft_facts
from paddlebal.paddle import Paddle, counterweight_adding
from paddlebal.pictures.style import TEXT
from paddlebal.placement import HEAVIEST_FITTED, LONGEST_FITTED
from paddlebal.stroke import STROKE_CAUTION, STROKES
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, MM
from paddlebal.work import mass_properties, stroke_torque

RATES = (40.0, 120.0)


MASSES = (0.15, HEAVIEST_FITTED)
"""Strokes per minute and kg that the sliders offer."""


SAMPLES = 400


PROPERTIES = ("M", "S_x", "S_y", "S_z", "I_xx", "I_xy", "I_xz", "I_yy", "I_yz", "I_zz")
"""In the order of `work.mass_properties`."""


PARTS = {
    "gravity": ("gravity", DARK, [1, 0]),
    "inertia": ("roll inertia", "#0072b2", [8, 3]),
    "products": ("couple, gyroscopic", "#7a3e9d", [2, 2]),
    "acceleration": ("acceleration", "#00795a", [8, 3, 2, 3]),
}
"""Parts of the roll torque in the order of `RollParts`: in words, colour, dash."""


STATES = ("bare", "now")
"""Without the counterweights, and with what is fitted of them."""


SPANS = ("one cycle (two strokes)", "500 m", "1000 m", "one hour")


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
    """Largest torque, work, roll work and peak torque that the sliders lead to, about."""
    sizes = []
    for feather in (0, 45, 90):
        turned = paddle.with_feather(feather)
        motion, U = stroke.motion(turned).with_rate(RATES[1]), turned.unbalance()
        arms = [float(magnitude(U)) / mass for mass in MASSES]
        weights = [counterweight_adding(-U, arm) for arm in arms]
        for pieces in ([], *([weight] for weight in weights)):
            side = stroke_torque(turned.with_counterweights(*pieces), motion, SAMPLES)
            torque = max(np.abs(part).max() for part in (*side.parts, side.torque))
            roll = max(side.roll.positive, -side.roll.negative)
            sizes.append([torque, side.full_work.positive, roll, float(side.roll.peak)])
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
    wanted = {
        "left": "2 * ideal - right_near",
        "right": "2 * ideal - left_near",
    }
    made = {
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
        "wanted": f"moved < 0 ? {wanted['left']} : {wanted['right']}",
        **_clear("below", "min(wanted, highest)", stretches, -1),
        **_clear("above", "max(wanted, lowest)", stretches, 1),
        "nearest": "below < lowest ? above : above > highest ? below"
        " : abs(abs(below - wanted) - abs(above - wanted)) < 1e-12"
        " ? (abs(below) < abs(above) ? below : above)"
        " : abs(below - wanted) < abs(above - wanted) ? below : above",
        "x_left": "moved < 0 ? nearest : left_near",
        "x_right": "moved < 0 ? right_near : nearest",
    }
    return made


def _with_pair():
    """Expressions of the mass properties with the pair, by name."""
    y, z, along = "pair_y", "pair_z", "(x_left * x_left + x_right * x_right) / 2"
    middle = "(x_left + x_right) / 2"
    added = {
        "M": "1", "S_x": middle, "S_y": y, "S_z": z,
        "I_xx": f"{y} * {y} + {z} * {z}", "I_xy": f"-{middle} * {y}", "I_xz": f"-{middle} * {z}",
        "I_yy": f"{along} + {z} * {z}", "I_yz": f"-{y} * {z}", "I_zz": f"{along} + {y} * {y}",
    }  # fmt: skip
    return {f"now_{name}": f"bare_{name} + fitted * ({each})" for name, each in added.items()}


def _series():
    """The cycle: the paddle's motion, then torque, power and energy of both states."""
    coordinates = ("theta", "beta", "psi", "x", "y", "z")
    path = [f"{name}_by{order}" for order in range(3) for name in coordinates]
    halves = [f"motion.{each}" for each in ("inclination", "yaw", "sway", "surge", "heave")]
    rolls = "catch_right", "catch_left"
    made = {
        "phase": f"2 * PI * i / {SAMPLES}",
        **steps("stroke_path", "p", path, "phase", *rolls, *halves),
    }
    for order, pace in ((1, "pace"), (2, "pace * pace")):
        made |= {f"{name}_{order}": f"{pace} * {name}_by{order}" for name in coordinates}
    spin = [f"{kind}_{axis}" for kind in ("omega", "domega") for axis in "xyz"]
    angles = ["theta_by0", "beta_by0", "psi_by0"]
    rates = [f"{name}_{order}" for order in (1, 2) for name in coordinates[:3]]
    made |= steps("body_rates", "r", spin, *angles, *rates)
    for order, kind in ((1, "v"), (2, "a")):
        vector = [f"{axis}_{order}" for axis in "xyz"]
        made |= steps("level_components", f"{kind}c", [f"{kind}_{a}" for a in "XYZ"],
                      "psi_by0", *vector)  # fmt: skip
    speed, accel = (["v_X", "v_Y", "v_Z"], ["a_X", "a_Y", "a_Z"])
    made |= steps("body_components", "b", ["u_x", "u_y", "u_z"], *speed, *angles[:2])
    driven = ["theta_by0", *spin, *accel, "beta_by0", G]
    for state in STATES:
        own = [f"{state}_{name}" for name in PROPERTIES]
        load = [f"{state}_{kind}_{axis}" for kind in ("force", "moment") for axis in "xyz"]
        parts = [f"{state}_{part}" for part in PARTS]
        made |= steps("roll_moment_parts", f"{state}_m", parts, *own[2:], *driven)
        made |= steps("hand_load", f"{state}_h", load, *own, *driven)
        moving = ["u_x", "u_y", "u_z", *spin[:3]]
        made[f"{state}_power"] = " + ".join(f"{f} * {v}" for f, v in zip(load, moving, strict=True))
        made[f"{state}_torque"] = " + ".join(parts)
        made[f"{state}_size"] = f"abs({state}_torque)"
        made[f"{state}_against"] = f"-{state}_power"
        made[f"{state}_turning"] = f"{state}_torque * omega_x"
        made[f"{state}_turned"] = f"-{state}_turning"
        made |= {f"{state}_{part}_size": f"abs({state}_{part})" for part in PARTS}
        made[f"{state}_swing"] = vega(
            "kinetic_energy", *own, "theta_by0", *spin[:3], *speed, "beta_by0"
        )
        about_middle = vega("potential_energy", *own[1:4], *angles[:2], G)
        made[f"{state}_lift"] = f"{about_middle} + {own[0]} * {G} * z_by0"
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
    names = ("motion", "pace", *rolls, *(f"{s}_{n}" for s in STATES for n in PROPERTIES))
    columns = ("bare_torque", "now_torque", *(f"now_{part}" for part in PARTS))
    return Series(SAMPLES, names, made, columns, sums)


def _cycle_view():
    x = alt.X("share:Q", scale=alt.Scale(domain=[0, 100], nice=False),
              axis=alt.Axis(title="share of the cycle [%]", tickCount=4))  # fmt: skip
    scale = alt.Scale(
        domain=[alt.ExprRef("-1.2 * tops[0]"), alt.ExprRef("1.2 * tops[0]")], nice=False
    )
    axis = alt.Axis(title="torque of the hands [N·m]", tickCount=6)
    base = alt.Chart(alt.NamedData("cycle"))

    def line(column, **look):
        y = alt.Y(f"{column}:Q", scale=scale, axis=axis)
        return base.mark_line(**look).encode(x=x, y=y)

    level = alt.Chart(ONE).mark_rule(color=GREY).encode(y=alt.datum(0))
    middle = alt.Chart(ONE).mark_rule(color=GREY, strokeDash=[2, 3]).encode(x=alt.datum(50))
    names = [
        alt.Chart(ONE)
        .mark_text(text=f"{side} stroke", baseline="bottom", fontSize=TEXT)
        .encode(x=alt.datum(place), y=alt.value(alt.ExprRef("height - 4")))
        for place, side in ((25, "right"), (75, "left"))
    ]
    lines = [
        line("bare_torque", color=BARE, strokeWidth=7),
        *(line(f"now_{part}", color=colour, strokeWidth=2, strokeDash=dash)
          for part, (_, colour, dash) in PARTS.items()),
        line("now_torque", color=PRESENT, strokeWidth=3.5),
    ]  # fmt: skip
    entries = [(dash, colour, text.split(",")[0]) for text, colour, dash in PARTS.values()]
    keys = key([
        [("line", PRESENT, "the whole, with"), ([1, 0], BARE, "without")],
        entries[:2],
        entries[2:],
    ])  # fmt: skip
    layers = alt.layer(level, middle, *lines, *names, *keys)
    return View(layers, 0.8, left=72, cycle=True, rows=2)


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


def live_stroke(paddles: Sequence[Paddle]) -> LivePicture:
    """A stroke without and with a pair of counterweights, by paddle, feather, rate and mass.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.

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
    fields = ("inclination", "yaw", "sway", "surge", "heave", "strokes_per_minute", "speed")
    strokes = [{each: getattr(stroke, each) for each in fields} for stroke in STROKES.values()]
    span = "[1, 500 / (motion.speed * period), 1000 / (motion.speed * period), 3600 / period][span]"
    params: dict[str, object] = {
        "paddles": [_facts(paddle, stretches) for paddle in paddles],
        "here": "paddles[paddle]",
        "tops": "here.tops[stroke]",
        "strokes": strokes,
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
        "size": "sqrt(U_y * U_y + U_z * U_z)",
        **_pair(stretches),
        "pair_y": "arm * cos(angle)",
        "pair_z": "arm * sin(angle)",
        **_with_pair(),
    }
    first, stroke = paddles[0], next(iter(STROKES.values()))
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
            Choice("stroke", "stroke", tuple(STROKES), 0, {"rate": "motion.strokes_per_minute"}),
            Slider("rate", "stroke rate [1/min]", *RATES, 0.1, stroke.strokes_per_minute),
            Slider("feather_deg", "feather [deg]", 0, 90, 1, round(math.degrees(first.feather), 9)),
            Slider("mass_g", "mass for full balance [g]", least, most, 5, 200),
            Slider("share_percent", "share of it fitted [%]", 0, 100, 5, 100),
            Choice("span", "sums over", SPANS),
        ),
        (
            _cycle_view(),
            _bars_view("work [J]", works, ".1f", "tops[1]", -1.2),
            _bars_view("torque [N·m]", torques, ".2f", "tops[3]", 0),
        ),
        _numbers(),
        cautions=(STROKE_CAUTION,),
        series=_series(),
    )  # fmt: skip


def _numbers():
    """Rows of (what, expression of a text)."""
    pieces = words(f"fitted / 2 / {GRAM}", ".0f", "g on")
    at = words(f"arm / {MM}", ".0f", "mm")
    places = (
        f"{words(f'x_left / {MM}', '+.0f')} + ' and ' + {words(f'x_right / {MM}', '+.0f', 'mm')}"
    )
    too_long = words(f"{LONGEST_FITTED / MM}", ".0f", "mm")
    fits = (
        f"arm > {LONGEST_FITTED} * (1 + 1e-9) ? 'arm longer than ' + {too_long}"
        " : arm * (1 + 1e-9) < here.radius + diameter / 2 ? 'too near the shaft'"
        " : left_near < lowest || right_near > highest ? 'no free place' : 'free'"
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
        ("where the pieces stand", f"{none}{fits}"),
        ("less work of the hands", less.format("given")),
        ("less holding torque", less.format("mean")),
        ("", "'without → with'"),
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
