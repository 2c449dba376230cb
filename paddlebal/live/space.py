"""The paddle in space, alive: its shaded blades, weights and unbalance, turned by hand."""

from __future__ import annotations

import altair as alt
import numpy as np

from paddlebal.live.expressions import turned
from paddlebal.live.look import GREY, ONE, PRESENT, SIDE, WEIGHT, key
from paddlebal.live.picture import View
from paddlebal.paddle import SIDES

ARROW = 15.0
"""m of arrow for a kg·m of unbalance."""


HALF_LENGTH, HEIGHT = 1.3, 0.45
"""Half of what is shown across [m], and the height over the width."""


LIGHT = (0.35, 0.55, 0.76)
"""Direction to the light for the eye: right, up, toward it."""


def unit_blade(side, stations=4, chords=4):
    """Quadrilaterals of a blade's surface, rows of corners with the surface's direction.

    u runs along the shaft in lengths of the blade from its middle, b along the offset and c to
    the upper edge in widths. Length and width are to scale; outline and hollow are indicated.
    """
    u, a = np.linspace(-0.5, 0.5, stations + 1), np.linspace(-1, 1, chords + 1)
    outer = u if side == "right" else -u
    wide = np.sqrt(np.clip(1 - (2 * outer - 0.25) ** 2 / 1.6, 0.05, None))
    hollow = -0.16 * a**2 - 0.05 * np.clip(a, 0, None) ** 3
    grid = np.stack(
        [
            np.repeat(u[:, None], chords + 1, axis=1),
            wide[:, None] * (hollow - hollow.mean()),
            wide[:, None] * a / 2,
        ],
        axis=-1,
    )
    quads = np.stack([grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]], axis=2)
    quads = quads.reshape(-1, 4, 3)
    faces = np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1])
    columns = "qiubcdef"
    return [
        dict(zip(columns, (q, i, *corner.round(4).tolist(), *face.round(6).tolist()), strict=True))
        for q, (quad, face) in enumerate(zip(quads, faces, strict=True))
        for i, corner in enumerate(quad)
    ]  # fmt: skip


def blade_facts(paddle):
    """What the charts have to know of both blades' size and place along the shaft."""
    return {
        f"{side}_{name}": float(getattr(getattr(paddle, side), name))
        for side in SIDES
        for name in ("x", "length", "width")
    }


def zoom():
    """An expression of the scale that keeps the paddle inside its frame."""
    reach = "max(here.right_x + here.right_length / 2, here.left_length / 2 - here.left_x)"
    rise = "abs(sin(inclination) * cos(tilt) - cos(inclination) * sin(view) * sin(tilt))"
    tallest = "max(here.left_width, here.right_width)"
    return f"min(1, {HEIGHT * HALF_LENGTH} / ({reach} * {rise} + 1.1 * {tallest}))"


def _level(x, y, z):
    """Expressions of a point of the rolled paddle after its shaft is inclined."""
    return (
        f"({x}) * cos(inclination) - ({z}) * sin(inclination)",
        y,
        f"({x}) * sin(inclination) + ({z}) * cos(inclination)",
    )


def _seen(chart, place, names=("across", "above", "toward"), scale="zoom"):
    """A chart with a place (x, y, z) of the rolled paddle in the eye's axes, to a scale."""
    X, Y, Z = names[0] + "_X", names[0] + "_Y", names[0] + "_Z"
    chart = chart.transform_calculate(**dict(zip((X, Y, Z), _level(*place), strict=True)))
    away = f"(datum.{Y} * cos(view) - datum.{X} * sin(view))"
    values = (
        f"datum.{X} * cos(view) + datum.{Y} * sin(view)",
        f"datum.{Z} * cos(tilt) + {away} * sin(tilt)",
        f"datum.{Z} * sin(tilt) - {away} * cos(tilt)",
    )
    scaled = (f"{scale} * ({value})" for value in values)
    return chart.transform_calculate(**dict(zip(names, scaled, strict=True)))


def _encodings():
    scale = alt.Scale(domain=[-HALF_LENGTH, HALF_LENGTH], nice=False)
    tall = alt.Scale(domain=[-HEIGHT * HALF_LENGTH, HEIGHT * HALF_LENGTH], nice=False)
    return {"x": alt.X("across:Q", scale=scale, axis=None),
            "y": alt.Y("above:Q", scale=tall, axis=None)}  # fmt: skip


def _blade(side, shown):
    """The shaded blade of a side, where the expression `shown` holds."""
    length, width = f"here.{side}_length", f"here.{side}_width"
    place = [
        f"here.{side}_x + {length} * datum.u",
        f"here.{side}_offset + {width} * datum.b",
        f"here.{side}_across + {width} * datum.c",
    ]
    face = [f"datum.d / {length}", f"datum.e / {width}", f"datum.f / {width}"]
    for vector in (place, face):
        vector[1:] = turned(vector[1], vector[2], f"(roll - catch_{side})")
    chart = alt.Chart(alt.Data(values=unit_blade(side))).transform_filter(shown)
    chart = _seen(_seen(chart, place), face, ("right", "up", "near"), "1")
    size = "sqrt(pow(datum.right, 2) + pow(datum.up, 2) + pow(datum.near, 2))"
    lit = " + ".join(
        f"{part} * datum.{name}" for part, name in zip(LIGHT, ("right", "up", "near"), strict=True)
    )
    red, green, blue = (int(SIDE[side][i : i + 2], 16) for i in (1, 3, 5))
    mixed = " + ',' + ".join(f"round(255 - {255 - c} * datum.deep)" for c in (red, green, blue))
    chart = chart.transform_calculate(deep=f"1 - 0.7 * abs({lit}) / {size}")
    chart = chart.transform_calculate(tone=f"'rgb(' + {mixed} + ')'")
    return chart.mark_line(interpolate="linear-closed", strokeWidth=0.8).encode(
        detail="q:N", order=alt.Order("i:Q"), fill=alt.Fill("tone:N", scale=None),
        stroke=alt.Stroke("tone:N", scale=None), **_encodings(),
    )  # fmt: skip


def _line(ends, **look):
    chain = [f"datum.i == 0 ? {first} : {last}" for first, last in zip(*ends, strict=True)]
    chart = _seen(alt.Chart(alt.Data(values=[{"i": 0}, {"i": 1}])), chain)
    return chart.mark_line(**look).encode(order=alt.Order("i:Q"), **_encodings())


def _weights(paddles):
    rows = [
        {"p": p, "x": each.x, "arm": each.arm, "angle": each.angle}
        for p, paddle in enumerate(paddles)
        for each in paddle.counterweights
    ]
    if not rows:
        return []
    chart = alt.Chart(alt.Data(values=rows)).transform_filter("datum.p == paddle")
    around = "datum.arm * {}(datum.angle + roll)"
    chart = _seen(chart, ("datum.x", around.format("cos"), around.format("sin")))
    balls = chart.mark_point(filled=True, size=160, color=WEIGHT, opacity=1)
    return [balls.encode(**_encodings())]


def space_view(paddles):
    """The paddle in space; `view` turns the eye about it, `tilt` raises it, both in rad.

    Parameters of the picture: paddle, here with `blade_facts`, roll, inclination, view, tilt,
    `zoom`, catch_left, catch_right, U_y, U_z.
    """
    near = "sin(view) * cos(tilt) * cos(inclination) + sin(inclination) * sin(tilt)"
    tip = [f"({part}) * {ARROW}" for part in turned("U_y", "U_z", "roll")]
    shaft = _line((("-here.half", "0", "0"), ("here.half", "0", "0")), color=GREY, strokeWidth=6)
    arrow = _line((("0", "0", "0"), ("0", *tip)), color=PRESENT, strokeWidth=4)
    head = _seen(alt.Chart(ONE), ("0", *tip)).mark_point(
        filled=True, size=90, color=PRESENT, opacity=1
    )
    layers = [
        _blade("left", f"{near} >= 0"),
        _blade("right", f"{near} < 0"),
        shaft,
        _blade("left", f"{near} < 0"),
        _blade("right", f"{near} >= 0"),
        *_weights(paddles),
        arrow,
        head.encode(**_encodings()),
    ]
    keys = key([[("square", SIDE["left"], "left blade"), ("square", SIDE["right"], "right blade"),
                 ("line", PRESENT, "unbalance")]])  # fmt: skip
    return View(alt.layer(*layers, *keys), HEIGHT, left=12, right=12, top=34, bottom=6,
                across=True, share=0.45)  # fmt: skip
