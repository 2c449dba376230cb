"""A paddle seen end-on, as layers of a live chart: forward is right, up is up, in mm.

The shapes are those of `paddlebal.pictures.balance`; what turns them are expressions.
"""

from __future__ import annotations

import altair as alt

from paddlebal.live.expressions import turned
from paddlebal.live.look import (
    DARK,
    DASH,
    GREY,
    LEFT,
    ONE,
    PALE,
    PRESENT,
    RIGHT,
    SIDE,
    WEIGHT,
    key,
)
from paddlebal.live.picture import Grab, View
from paddlebal.paddle import SIDES
from paddlebal.pictures.balance import REACH, blade_section
from paddlebal.pictures.style import TEXT, round_step
from paddlebal.units import GRAM_MM, MM


def plane(reach):
    """x and y encodings of a square to `reach` [mm] on every side."""
    scale = alt.Scale(domain=[-reach, reach], nice=False)
    ticks = {"values": [-100, 0, 100]}
    return {
        "x": alt.X("forward:Q", scale=scale, axis=alt.Axis(title="forward [mm]", **ticks)),
        "y": alt.Y("up:Q", scale=scale, axis=alt.Axis(title="up [mm]", **ticks)),
    }


def segment(points, encode, **look):
    """A line through points, each a pair of expressions (forward, up) [mm]."""
    data = alt.Data(values=[{"i": i} for i in range(len(points))])
    chart = alt.Chart(data)
    names = {}
    for axis, name in enumerate(("forward", "up")):
        chain = points[-1][axis]
        for i in reversed(range(len(points) - 1)):
            chain = f"datum.i == {i} ? {points[i][axis]} : ({chain})"
        names[name] = chain
    return (
        chart.transform_calculate(**names)
        .mark_line(**look)
        .encode(order=alt.Order("i:Q"), **encode)
    )


def dot(x, y, encode, name=None, **look):
    """A mark at an expression's place (forward, up) [mm]."""
    chart = alt.Chart(ONE, **({"name": name} if name else {}))
    return chart.transform_calculate(forward=x, up=y).mark_point(**look).encode(**encode)


def arrow(x, y, encode, colour, width=3, dash=(1, 0)):
    """Layers of an arrow from the axis to a point, hidden where it is shorter than 3 mm."""
    seen = f"sqrt(pow({x}, 2) + pow({y}, 2)) > 3 ? 1 : 0"
    line = segment([("0", "0"), (x, y)], encode, color=colour, strokeWidth=width,
                   strokeDash=list(dash), opacity=alt.ExprRef(seen))  # fmt: skip
    head = dot(x, y, encode, shape="triangle-up", size=150, color=colour, filled=True,
               opacity=alt.ExprRef(seen), angle=alt.ExprRef(f"90 - atan2({y}, {x}) * 180 / PI"),
               )  # fmt: skip
    return [line, head]


def tip(y, z, per_mm):
    """Where the arrow ends of an unbalance (y, z) [kg·m] in body axes at the angle `roll`.

    1 mm of it is `per_mm` [g·mm].
    """
    forward, up = turned(y, z, "roll")
    scale = GRAM_MM * per_mm
    return f"({forward}) / {scale}", f"({up}) / {scale}"


def unbalance_arrow(y, z, per_mm, encode, colour, width=3, dash=(1, 0)):
    """Layers of the arrow of an unbalance, which ends at its `tip`."""
    forward, up = tip(y, z, per_mm)
    return arrow(forward, up, encode, colour, width, dash)


def gravity_arrow(reach, encode, scale="1"):
    """Layers of the arrow of gravity, in the upper left corner."""
    x, top = str(-0.9 * reach), 0.74 * reach
    foot = f"{top} - {0.36 * reach} * {scale}"
    line = segment([(x, str(top)), (x, foot)], encode, color=DARK, strokeWidth=2)
    head = dot(x, foot, encode, shape="triangle-down", size=90, color=DARK, filled=True, opacity=1)
    text = (
        alt.Chart(ONE)
        .transform_calculate(forward=str(-0.97 * reach), up=str(0.88 * reach))
        .mark_text(text="gravity", align="left", color=DARK, fontSize=TEXT)
        .encode(**encode)
    )
    return [line, head, text]


def blades(paddles, encode):
    """Layers of both blades' sections, the left one first.

    Parameters of the picture: paddle, roll, catch_left, catch_right.
    """
    layers = []
    for side in SIDES:
        rows = [
            {"p": p, "i": i, "y": round(float(y), 4), "z": round(float(z), 4)}
            for p, paddle in enumerate(paddles)
            for i, (y, z) in enumerate(blade_section(getattr(paddle, side), 16) / MM)
        ]
        forward, up = turned("datum.y", "datum.z", f"(roll - catch_{side})")
        layers.append(
            alt.Chart(alt.Data(values=rows), name=f"{side}_blade")
            .transform_filter("datum.p == paddle")
            .transform_calculate(forward=forward, up=up)
            .mark_line(
                interpolate="linear-closed", fill=PALE, fillOpacity=0.75, color=SIDE[side],
                strokeWidth=2.5, strokeDash=DASH[side], cursor="grab",
            )
            .encode(order=alt.Order("i:Q"), **encode)
        )  # fmt: skip
    return layers


def disc(x, y, radius, encode, name, fill):
    """A circle to scale; place and radius [mm] are expressions."""
    ring = alt.Data(values=[{"i": i} for i in range(25)])
    turn = "datum.i * PI / 12"
    return (
        alt.Chart(ring, name=name)
        .transform_calculate(
            forward=f"{x} + ({radius}) * cos({turn})", up=f"{y} + ({radius}) * sin({turn})"
        )
        .mark_line(interpolate="linear-closed", fill=fill, color=DARK, strokeWidth=1.5)
        .encode(order=alt.Order("i:Q"), **encode)
    )


def weight(x, y, radius):
    """Layers of a counterweight on its arm, with a wide area to take hold of.

    Its place and its radius [mm] are expressions.
    """
    encode = plane(REACH / MM)
    arm = segment([("0", "0"), (x, y)], encode, color=WEIGHT, strokeWidth=1.5)
    ball = disc(x, y, radius, encode, "weight_ball", WEIGHT)
    hold = dot(x, y, encode, "weight", shape="circle", size=1700, filled=True, color=WEIGHT,
               opacity=0.12, cursor="grab")  # fmt: skip
    return [arm, hold, ball]


def surroundings(reach, encode, gravity="1"):
    """Layers behind a paddle: the line straight down, and gravity's arrow to a scale."""
    down = segment([("0", "0"), ("0", str(-reach))], encode, color=GREY, strokeDash=[2, 3])
    return [down, *gravity_arrow(reach, encode, gravity)]


def centres(encode):
    """Layers of both blades' centres of mass; parameters as for `blades`, and `here`."""
    layers = []
    for side in SIDES:
        offset, across = (f"here.{side}_{axis} / {MM}" for axis in ("offset", "across"))
        look = {"shape": "circle", "size": 60, "filled": True, "opacity": 1, "cursor": "grab"}
        forward, up = turned(offset, across, f"(roll - catch_{side})")
        layers.append(dot(forward, up, encode, f"{side}_centre", color=SIDE[side], **look))
    return layers


def end_on_view(paddles, largest, entries, weights=(), gravity="1", share=0.86):
    """The paddle end-on, to scale, with its unbalance (U_y, U_z) as an arrow.

    Parameters of the picture: as for `blades`, here, U_y, U_z.

    largest [kg·m] is the greatest unbalance of the paddles, and sets the arrow's scale; entries
    are those of the key's second row; weights are layers of `weight`; gravity is the length of
    its arrow, 0 to 1.
    """
    reach = REACH / MM
    encode, per_mm = plane(reach), round_step(largest / GRAM_MM, 0.75 * reach)
    layers = [
        *surroundings(reach, encode, gravity),
        *blades(paddles, encode),
        disc("0", "0", f"here.radius / {MM}", encode, "shaft", "white"),
        *centres(encode),
        *weights,
        *unbalance_arrow("U_y", "U_z", per_mm, encode, PRESENT),
        *key([
            [("dashed", LEFT, "left blade"), ("line", RIGHT, "right blade")],
            entries,
            [("", PRESENT, f"its arrow: 10 mm is {10 * per_mm:,g} g·mm")],
        ]),
    ]  # fmt: skip
    return View(alt.layer(*layers), aspect=1.0, share=share)


def roll_grabs():
    """What turns the paddle when a blade of the first chart, an `end_on_view`, is dragged."""
    return tuple(
        Grab(
            f"{side}_{part}", 0, {"roll_deg": f"(atan2(grab_y, grab_x) + catch_{side}) * 180 / PI"}
        )
        for side in SIDES
        for part in ("blade", "centre")
    )
