"""The place of a counterweight, alive: end-on, along the shaft, and mass against arm."""

from __future__ import annotations

from collections.abc import Sequence

import altair as alt

from paddlebal.cost import LIFT_HEIGHT
from paddlebal.limits import WEIGHT_CAUTIONS, Limits, material_densities
from paddlebal.live.balance import SIZE_AND_REST, lift_params, paddle_facts
from paddlebal.live.expressions import G, half_turn, vega
from paddlebal.live.look import DARK, GREY, ONE, PALE, PRESENT, WEIGHT, key
from paddlebal.live.picture import Choice, Grab, LivePicture, Slider, View, words
from paddlebal.live.shapes import end_on_view, weight
from paddlebal.paddle import SIDES, Paddle
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, WATER_DENSITY

SHORTEST_ARM, LONGEST_ARM = 0.04, 0.12
"""m; what the slider offers."""


FAR = 99.0
"""m; where a stretch of shaft stands that is none."""


def shaft_facts(paddle, stretches):
    """`paddle_facts`, with the free shaft and its keep-outs in the order of their places."""
    limits = Limits.for_paddle(paddle)
    kept = sorted(limits.keep_outs, key=lambda each: each.start)
    facts = paddle_facts(paddle) | {
        "S_x": float(paddle.first_moment()[0]),
        "volume": paddle.volume,
        "start": limits.x[0],
        "stop": limits.x[1],
        "half": paddle.shaft.length / 2,
    }
    for i in range(stretches):
        name, start, stop = ("", FAR, FAR)
        if i < len(kept):
            name, start, stop = kept[i].name, kept[i].start, kept[i].stop
        facts |= {f"kept_{i}": name, f"from_{i}": start, f"to_{i}": stop}
    return facts


def piece_diameter(mass):
    """Diameter [m] of a piece of a mass [kg], an expression; parameter: density."""
    return f"pow(4 * ({mass}) / (PI * {Limits.slenderness} * density), 1 / 3)"


def _where(stretches):
    """An expression: where the piece stands in words."""
    low, high = "(x - length / 2)", "(x + length / 2)"
    found = "'free'"
    for i in reversed(range(stretches)):
        meets = f"here.from_{i} < {high} && {low} < here.to_{i}"
        found = f"{meets} ? 'in the way: ' + here.kept_{i} : ({found})"
    found = f"{low} < here.start || {high} > here.stop ? 'beyond the free shaft' : ({found})"
    return f"arm < here.radius + diameter / 2 ? 'too near the shaft' : ({found})"


def _trade_view(heaviest):
    x = alt.X("arm:Q", scale=alt.Scale(domain=[0, LONGEST_ARM / MM], nice=False),
              axis=alt.Axis(title="arm [mm]", tickCount=6))  # fmt: skip
    y = alt.Y("mass:Q", scale=alt.Scale(domain=[0, heaviest / GRAM], nice=False),
              axis=alt.Axis(title="counterweight mass [g]", tickCount=6))  # fmt: skip
    base = (
        alt.Chart(alt.sequence(0, 101, 1, as_="step"))
        .transform_calculate(
            r=f"here.radius + ({LONGEST_ARM} - here.radius) * datum.step / 100",
        )
        .transform_calculate(arm=f"datum.r / {MM}", mass=f"size / datum.r / {GRAM}")
    )
    room = f"datum.r - here.radius - {piece_diameter('size / datum.r')} / 2"
    curves = [
        base.transform_filter(f"{room} {sign} 0")
        .mark_line(color=GREY, strokeWidth=2.5, strokeDash=dash, clip=True)
        .encode(x=x, y=y)
        for sign, dash in ((">=", [1, 0]), ("<", [3, 3]))
    ]
    here = alt.Chart(ONE, name="now").transform_calculate(arm="arm_mm", mass=f"mass / {GRAM}")
    point = here.mark_point(filled=True, size=140, color=WEIGHT, opacity=1, cursor="grab")
    keys = key([
        [("line", GREY, "clears the shaft")],
        [("dashed", GREY, "too near the shaft")],
        [("circle", WEIGHT, "weight")],
    ])  # fmt: skip
    return View(alt.layer(*curves, point.encode(x=x, y=y), *keys), 1.0, share=0.66)


def _along_view(half, stretches):
    axis = alt.Axis(title="along the shaft, right is positive [mm]", tickCount=8)
    x = alt.X("x:Q", scale=alt.Scale(domain=[-half / MM, half / MM], nice=False), axis=axis)
    scale = alt.Scale(domain=[-1, 1], nice=False)
    y = alt.Y("up:Q", scale=scale, axis=None)

    def stretch(start, stop, height, name=None, **look):
        made = alt.Chart(ONE, **({"name": name} if name else {}))
        made = made.transform_calculate(
            x=f"({start}) / {MM}", x2=f"({stop}) / {MM}", up=str(height), up2=str(-height)
        )
        return made.mark_rect(clip=True, **look).encode(x=x, x2="x2", y=y, y2="up2")

    shaft = stretch("-here.half", "here.half", 0.08, color=GREY)
    zones = [
        stretch(f"here.from_{i}", f"here.to_{i}", 0.6, fill=PALE, stroke=DARK, strokeDash=[3, 2])
        for i in range(stretches)
    ]
    piece = stretch("x - length / 2", "x + length / 2", 0.4, "piece", color=WEIGHT, cursor="grab")
    centre = alt.Chart(ONE).transform_calculate(x=f"balance_point / {MM}", up="-0.8")
    centre = centre.mark_point(shape="triangle-up", filled=True, size=140, color=PRESENT, opacity=1)
    keys = key([[("square", GREY, "keep free"), ("square", WEIGHT, "piece"),
                 ("triangle-up", PRESENT, "balance point")]])  # fmt: skip
    layers = alt.layer(shaft, *zones, piece, centre.encode(x=x, y=y), *keys)
    return View(layers, 0.1, left=20, right=20, top=34, bottom=46, across=True)


def live_placement(paddles: Sequence[Paddle]) -> LivePicture:
    """Place a counterweight: arm, material, place along the shaft, and what it costs.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    LivePicture
    """
    largest = max(float(magnitude(paddle.unbalance())) for paddle in paddles)
    stretches = max(len(Limits.for_paddle(paddle).keep_outs) for paddle in paddles)
    densities = material_densities()
    params: dict[str, object] = {
        "paddles": [shaft_facts(paddle, stretches) for paddle in paddles],
        "here": "paddles[paddle]",
        "densities": list(densities.values()),
        "density": "densities[material]",
        "roll": 0,
        "catch_left": "here.left",
        "catch_right": "here.right",
        "arm": f"arm_mm * {MM}",
        "x": f"x_mm * {MM}",
        "size": "sqrt(here.U_y * here.U_y + here.U_z * here.U_z)",
        "exact": "atan2(-here.U_z, -here.U_y)",
        "angle": "exact + error_deg * PI / 180",
        "mass": "size / arm",
        "U_y": "here.U_y + mass * arm * cos(angle)",
        "U_z": "here.U_z + mass * arm * sin(angle)",
        "left_over": SIZE_AND_REST["size"],
        "diameter": piece_diameter("mass"),
        "length": f"{Limits.slenderness} * diameter",
        "balance_point": "(here.S_x + mass * x) / (here.mass + mass)",
        "shift": "balance_point - here.S_x / here.mass",
        "swing": "mass * (x * x + pow(arm * cos(angle), 2))",
        **{
            f"{when}_{side}": f"abs({vega('roll_torque', y, z, f'here.{side}', '0', G)})"
            for when, y, z in (("before", "here.U_y", "here.U_z"), ("after", "U_y", "U_z"))
            for side in SIDES
        },
        "before": "max(before_left, before_right)",
        "after": "max(after_left, after_right)",
        **lift_params("lift_before", "here.U_y", "here.U_z"),
        **lift_params("lift_after", "U_y", "U_z"),
        "work_added": f"2 * mass * {G} * {LIFT_HEIGHT} - (lift_before - lift_after)",
        "afloat": f"{WATER_DENSITY} * (here.volume + mass / density) - here.mass - mass",
        "where": _where(stretches),
        "place_y": "arm_mm * cos(angle)",
        "place_z": "arm_mm * sin(angle)",
    }
    entries = [("circle", WEIGHT, "weight"), ("triangle-right", PRESENT, "left over")]
    piece = weight("place_y", "place_z", f"diameter / 2 / {MM}")
    half = max(paddle.shaft.length for paddle in paddles) / 2 + 0.06
    across, along = words(f"diameter / {MM}", ".0f"), words(f"length / {MM}", ".0f", "mm")
    return LivePicture(
        "The paddle with its counterweight seen from the right end; beside it a curve of "
        "counterweight mass against arm; below them the shaft with its keep-outs, the "
        "counterweight and the balance point.",
        params,
        (
            Choice("paddle", "paddle", tuple(each.name for each in paddles)),
            Choice("material", "material", tuple(densities)),
            Slider("arm_mm", "arm [mm]", SHORTEST_ARM / MM, LONGEST_ARM / MM, 1, 80),
            Slider("error_deg", "angle error [deg]", -20, 20, 0.5, 0),
            Slider("x_mm", "place along the shaft [mm]", -700, 700, 5, 100),
        ),
        (
            end_on_view(paddles, largest, entries, piece, share=0.66),
            _trade_view(1.1 * largest / SHORTEST_ARM),
            _along_view(half, stretches),
        ),
        (
            ("where the piece stands", "where"),
            ("counterweight", words(f"mass / {GRAM}", ".0f", "g")),
            ("piece, diameter × length", f"{across} + ' × ' + {along}"),
            ("residual unbalance", words(f"left_over / {GRAM_MM}", ",.0f", "g·mm")),
            ("balance point moves by", words(f"shift / {MM}", "+.0f", "mm")),
            ("swing inertia added", words("swing", ".5f", "kg·m²")),
            ("torque to hold at the catch, before", words("before", ".3f", "N·m")),
            ("torque to hold at the catch, after", words("after", ".3f", "N·m")),
            (
                f"lifting work added a cycle, lifted {LIFT_HEIGHT / MM:.0f} mm",
                words("work_added", "+.3f", "J"),
            ),
            ("still carried afloat", words(f"afloat / {GRAM}", "+.0f", "g")),
        ),
        grabs=(
            Grab("weight", 0, {
                "arm_mm": "sqrt(grab_x * grab_x + grab_y * grab_y)",
                "error_deg": half_turn("(atan2(grab_y, grab_x) - exact) * 180 / PI"),
            }),
            Grab("now", 1, {"arm_mm": "grab_x"}),
            Grab("piece", 2, {"x_mm": "grab_x"}),
        ),
        cautions=WEIGHT_CAUTIONS,
    )  # fmt: skip
