"""A paddle seen end-on, as layers of a live chart: forward is right, up is up, in mm.

The shapes are those of `paddlebal.pictures.balance`; what turns them are expressions.
"""

from __future__ import annotations

import altair as alt

from paddlebal.live.look import DARK, DASH, GREY, LETTERS, ONE, PALE, SIDE, WEIGHT
from paddlebal.paddle import SIDES
from paddlebal.pictures.balance import blade_section
from paddlebal.units import GRAM_MM, MM


def turned(y: str, z: str, angle: str) -> tuple[str, str]:
    """Expressions of forward and up of a point (y, z), turned by an angle [rad]."""
    return (
        f"({y}) * cos({angle}) - ({z}) * sin({angle})",
        f"({y}) * sin({angle}) + ({z}) * cos({angle})",
    )


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
        .mark_line(clip=False, **look)
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


def unbalance_arrow(y, z, per_mm, encode, colour, width=3, dash=(1, 0)):
    """Layers of an unbalance (y, z) [kg·m] in body axes at the angle `roll`.

    1 mm of it is `per_mm` [g·mm].
    """
    forward, up = turned(y, z, "roll")
    scale = GRAM_MM * per_mm
    return arrow(f"({forward}) / {scale}", f"({up}) / {scale}", encode, colour, width, dash)


def gravity_arrow(reach, encode, scale="1"):
    """Layers of the arrow of gravity, in the upper left corner."""
    x, top = str(-0.9 * reach), 0.74 * reach
    foot = f"{top} - {0.36 * reach} * {scale}"
    line = segment([(x, str(top)), (x, foot)], encode, color=DARK, strokeWidth=2)
    head = dot(x, foot, encode, shape="triangle-down", size=90, color=DARK, filled=True, opacity=1)
    text = (
        alt.Chart(ONE)
        .transform_calculate(forward=str(-0.97 * reach), up=str(0.88 * reach))
        .mark_text(text="gravity", align="left", color=DARK, fontSize=LETTERS)
        .encode(**encode)
    )
    return [line, head, text]


def blades(paddles, encode, angle, colours=SIDE):
    """Layers of both blades' sections, the left one first; `angle` has an expression by side.

    The paddle shown is the parameter `paddle`.
    """
    layers = []
    for side in SIDES:
        rows = [
            {"p": p, "i": i, "y": round(float(y), 4), "z": round(float(z), 4)}
            for p, paddle in enumerate(paddles)
            for i, (y, z) in enumerate(blade_section(getattr(paddle, side), 16) / MM)
        ]
        forward, up = turned("datum.y", "datum.z", angle[side])
        layers.append(
            alt.Chart(alt.Data(values=rows), name=f"{side}_blade")
            .transform_filter("datum.p == paddle")
            .transform_calculate(forward=forward, up=up)
            .mark_line(
                interpolate="linear-closed", fill=PALE, fillOpacity=0.75, color=colours[side],
                strokeWidth=2.5, strokeDash=DASH[side], cursor="grab",
            )
            .encode(order=alt.Order("i:Q"), **encode)
        )  # fmt: skip
    return layers


def disc(x, y, radius, encode, name, fill, stroke=DARK, cursor=None):
    """A circle to scale; place and radius [mm] are expressions."""
    ring = alt.Data(values=[{"i": i} for i in range(25)])
    turn = "datum.i * PI / 12"
    cursor = {"cursor": cursor} if cursor else {}
    return (
        alt.Chart(ring, name=name)
        .transform_calculate(
            forward=f"{x} + ({radius}) * cos({turn})", up=f"{y} + ({radius}) * sin({turn})"
        )
        .mark_line(interpolate="linear-closed", fill=fill, color=stroke, strokeWidth=1.5, **cursor)
        .encode(order=alt.Order("i:Q"), **encode)
    )


def weight(x, y, radius, encode):
    """Layers of a counterweight on its arm, with a wide area to take hold of."""
    arm = segment([("0", "0"), (x, y)], encode, color=WEIGHT, strokeWidth=1.5)
    ball = disc(x, y, radius, encode, "weight_ball", WEIGHT)
    hold = dot(x, y, encode, "weight", shape="circle", size=1700, filled=True, color=WEIGHT,
               opacity=0.12, cursor="grab")  # fmt: skip
    return [arm, hold, ball]


def ground(reach, encode):
    """Layers behind all others: the line straight down."""
    down = segment([("0", "0"), ("0", str(-reach))], encode, color=GREY, strokeDash=[2, 3])
    return [down]


def centres(encode, angle):
    """Layers of both blades' centres of mass; `angle` has an expression by side."""
    return [
        dot(*turned(f"here.{side}_offset / {MM}", f"here.{side}_across / {MM}", angle[side]),
            encode, f"{side}_centre", shape="circle", size=60, filled=True, color=SIDE[side],
            opacity=1, cursor="grab")
        for side in SIDES
    ]  # fmt: skip
