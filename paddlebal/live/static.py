"""Why a paddle rolls, alive: roll, feather and inclination, and the paddle in space."""

from __future__ import annotations

import math
from collections.abc import Sequence

import altair as alt
import numpy as np

from paddlebal.live.balance import paddle_facts, roll_params, torque_view
from paddlebal.live.expressions import turned
from paddlebal.live.look import DARK, DASH, GREY, LEFT, PRESENT, RIGHT, SIDE, WEIGHT, key
from paddlebal.live.picture import Choice, Grab, LivePicture, Slider, View, words
from paddlebal.live.shapes import end_on_view, roll_grabs
from paddlebal.paddle import SIDES, Paddle
from paddlebal.pictures.balance import blade_strips
from paddlebal.placement import half_unbalance
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY

ARROW = 15.0
"""m of arrow for a kg·m of unbalance, in space."""


def half_couple(paddle, side):
    """Couple unbalance (2,) [kg·m²] of one half, beside `placement.half_unbalance`."""
    _, left, right, *weights = paddle.bodies()
    mine = [left if side == "left" else right]
    mine += [each for each in weights if paddle.half(each[1][0]) == side]
    return sum(mass * centre[0] * centre[1:] - own[0, 1:] for mass, centre, own in mine)


def _facts(paddle):
    facts = paddle_facts(paddle) | {
        "feather": paddle.feather,
        "feather_deg": math.degrees(paddle.feather),
        "control": SIDES.index(paddle.control),
    }
    for side in SIDES:
        for name, vector in (("half", half_unbalance), ("couple", half_couple)):
            for axis, value in zip("yz", vector(paddle, side), strict=True):
                facts[f"{side}_{name}_{axis}"] = float(value)
    return facts


def _turned_halves():
    """Unbalance and couple at the feather `phi`: the half of the other hand turns with it."""
    params: dict[str, str] = {}
    for name, total in (("half", "U"), ("couple", "C")):
        sums: dict[str, list[str]] = {"y": [], "z": []}
        for number, side in enumerate(SIDES):
            turn = f"(here.control == {number} ? 0 : here.feather - phi)"
            parts = turned(f"here.{side}_{name}_y", f"here.{side}_{name}_z", turn)
            for axis, part in zip("yz", parts, strict=True):
                sums[axis].append(part)
        params |= {f"{total}_{axis}": " + ".join(parts) for axis, parts in sums.items()}
    for number, side in enumerate(SIDES):
        params[f"catch_{side}"] = f"here.control == {number} ? 0 : phi"
    return params


def _outline(blade):
    """The edge (n, 3) [m] of a blade's surface in blade axes."""
    strips = blade_strips(blade, 12)
    upper, lower = strips[:, 0], strips[:, 3]
    return np.concatenate([upper, strips[-1:, 1], strips[-1:, 2], lower[::-1]])


def space_view(paddles, half_length=1.3):
    """The paddle in space, seen from behind and above; `view_deg` turns the eye about it.

    Parameters of the picture: paddle, roll, inclination, view, catch_left, catch_right.
    """
    height = 0.7
    scale = alt.Scale(domain=[-half_length, half_length], nice=False)
    tall = alt.Scale(domain=[-height * half_length, height * half_length], nice=False)
    encode = {
        "x": alt.X("across:Q", scale=scale, axis=None),
        "y": alt.Y("above:Q", scale=tall, axis=None),
    }

    def seen(chart, x, y, z):
        """A chart whose points, in body axes [m], are brought to the eye's plane."""
        chart = chart.transform_calculate(
            X=f"({x}) * cos(inclination) - ({z}) * sin(inclination)",
            Y=y,
            Z=f"({x}) * sin(inclination) + ({z}) * cos(inclination)",
        )
        tilt = "0.25"
        return chart.transform_calculate(
            across="datum.X * cos(view) + datum.Y * sin(view)",
            above=f"datum.Z * cos({tilt})"
            f" + (datum.Y * cos(view) - datum.X * sin(view)) * sin({tilt})",
        )

    layers = []
    tips = [
        {"p": p, "x": end * paddle.shaft.length / 2}
        for p, paddle in enumerate(paddles)
        for end in (-1, 1)
    ]
    ends = alt.Chart(alt.Data(values=tips))
    ends = ends.transform_filter("datum.p == paddle")
    layers.append(
        seen(ends, "datum.x", "0", "0").mark_line(color=GREY, strokeWidth=6).encode(**encode)
    )
    for side in SIDES:
        rows = [
            {"p": p, "i": i, "x": x, "y": y, "z": z}
            for p, paddle in enumerate(paddles)
            for i, (x, y, z) in enumerate(_outline(getattr(paddle, side)).round(4).tolist())
        ]
        y, z = turned("datum.y", "datum.z", f"(roll - catch_{side})")
        chart = alt.Chart(alt.Data(values=rows)).transform_filter("datum.p == paddle")
        layers.append(
            seen(chart, "datum.x", y, z)
            .mark_line(interpolate="linear-closed", fill=SIDE[side], fillOpacity=0.35,
                       color=SIDE[side], strokeWidth=2, strokeDash=DASH[side])
            .encode(order=alt.Order("i:Q"), **encode)
        )  # fmt: skip
    rows = [
        {"p": p, "x": each.x, "arm": each.arm, "angle": each.angle}
        for p, paddle in enumerate(paddles)
        for each in paddle.counterweights
    ]
    if rows:
        chart = alt.Chart(alt.Data(values=rows)).transform_filter("datum.p == paddle")
        around = "datum.arm * {}(datum.angle + roll)"
        chart = seen(chart, "datum.x", around.format("cos"), around.format("sin"))
        balls = chart.mark_point(filled=True, size=160, color=WEIGHT, opacity=1)
        layers.append(balls.encode(**encode))
    forward, up = (f"({part}) * {ARROW}" for part in turned("U_y", "U_z", "roll"))
    line = alt.Chart(alt.Data(values=[{"i": 0}, {"i": 1}]))
    line = seen(line, "0", f"datum.i * {forward}", f"datum.i * {up}")
    layers.append(
        line.mark_line(color=PRESENT, strokeWidth=4).encode(order=alt.Order("i:Q"), **encode)
    )
    keys = key([[("square", LEFT, "left blade"), ("square", RIGHT, "right blade"),
                 ("line", PRESENT, "unbalance")]])  # fmt: skip
    return View(alt.layer(*layers, *keys), height, left=12, right=12, top=34, bottom=6,
                across=True, share=0.45)  # fmt: skip


def live_static(paddles: Sequence[Paddle]) -> LivePicture:
    """Roll, feather and inclination: the unbalance, its torque, and the paddle in space.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    LivePicture
    """
    flat = [paddle.with_feather(0) for paddle in paddles]
    largest = max(1e-6, *(float(magnitude(paddle.unbalance())) for paddle in flat))
    params: dict[str, object] = {
        "paddles": [_facts(paddle) for paddle in paddles],
        "here": "paddles[paddle]",
        "roll": "roll_deg * PI / 180",
        "phi": "feather_deg * PI / 180",
        "inclination": "inclination_deg * PI / 180",
        "view": "view_deg * PI / 180",
        **_turned_halves(),
        **roll_params(),
        "couple": "sqrt(C_y * C_y + C_z * C_z)",
    }
    entries = [("circle", DARK, "centre of mass"), ("triangle-right", PRESENT, "unbalance")]
    end_on = end_on_view(paddles, largest, entries, gravity="cos(inclination)", share=0.62)
    feather = round(math.degrees(paddles[0].feather), 9)
    return LivePicture(
        "The paddle seen from its right end, with its unbalance as an arrow; beside it a curve of "
        "gravity's roll torque at every roll angle, with both catches, the rest and the unstable "
        "equilibrium; below them the paddle in space.",
        params,
        (
            Choice("paddle", "paddle", tuple(each.name for each in paddles), 0,
                   {"feather_deg": "here.feather_deg"}),
            Slider("roll_deg", "roll angle [deg]", -180, 180, 1, 0),
            Slider("feather_deg", "feather [deg]", 0, 180, 1, feather),
            Slider("inclination_deg", "shaft inclination [deg]", -30, 30, 1, 0),
            Slider("view_deg", "look from the side [deg]", -180, 180, 5, 20),
        ),
        (
            end_on,
            torque_view(STANDARD_GRAVITY * largest, share=0.62),
            space_view(paddles),
        ),
        (
            ("unbalance", words(f"size / {GRAM_MM}", ",.0f", "g·mm")),
            ("torque at this angle", words("torque", ".3f", "N·m")),
            *(
                (f"torque to hold at the {side} catch", words(f"abs(hold_{side})", ".3f", "N·m"))
                for side in SIDES
            ),
            ("couple unbalance", words("couple", ".5f", "kg·m²")),
        ),
        grabs=(
            *roll_grabs(),
            Grab("now", 1, {"roll_deg": "grab_x"}),
        ),
    )  # fmt: skip
