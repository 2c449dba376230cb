"""The paddle end-on beside its torque curve, alive: turned, let go, balanced."""

from __future__ import annotations

from collections.abc import Sequence

import altair as alt

from paddlebal.bench.rolling import DRY_FRICTION, FADE, VISCOUS_FRICTION
from paddlebal.live.expressions import G, half_turn, vega
from paddlebal.live.look import DARK, GREY, LEFT, ONE, PRESENT, RIGHT, WEIGHT, key
from paddlebal.live.picture import Button, Choice, Grab, LivePicture, Slider, Track, View, words
from paddlebal.live.shapes import end_on_view, roll_grabs, weight
from paddlebal.paddle import SIDES, Counterweight, Paddle
from paddlebal.pictures.style import round_step
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY

NO_TORQUE = 0.5e-3
"""N·m; below it a torque reads 0.000 and the paddle stays at any angle."""


HEAVIEST = 0.4
"""kg; the most that the mass slider offers."""


def paddle_facts(paddle):
    """What the charts have to know of a paddle, in SI and rad."""
    (U_y, U_z), inertia = paddle.unbalance(), paddle.inertia()
    return {
        "U_y": float(U_y),
        "U_z": float(U_z),
        "I_xx": float(inertia[0, 0]),
        "I_zz": float(inertia[2, 2]),
        "mass": float(paddle.mass),
        "radius": paddle.shaft.radius,
        "left": paddle.catch_angle("left"),
        "right": paddle.catch_angle("right"),
        **{
            f"{side}_{axis}": float(getattr(blade, axis))
            for side, blade in zip(SIDES, (paddle.left, paddle.right), strict=True)
            for axis in ("offset", "across")
        },
    }


def gravity_torque(angle):
    """Gravity's roll torque [N·m] of the unbalance shown, at an angle [rad]."""
    return vega("roll_torque_about_rest", "size", "rest", angle, "inclination", G)


SIZE_AND_REST = {"size": "sqrt(U_y * U_y + U_z * U_z)", "rest": "-PI / 2 - atan2(U_z, U_y)"}
"""Of the unbalance (U_y, U_z)."""


def roll_params():
    """Rest, size and torque of the unbalance (U_y, U_z) at the angle `roll` [rad]."""
    return {
        **SIZE_AND_REST,
        "seen_rest": f"{G} * size > {NO_TORQUE} ? 1 : 0",
        "torque": gravity_torque("roll"),
        **{f"hold_{side}": f"-({gravity_torque(f'catch_{side}')})" for side in SIDES},
    }


def lift_params(name, y, z):
    """The work [J] to lift an unbalance (y, z) from one catch to the other and back.

    The catches are less than half a turn apart, so that at most one turning point lies between.
    """
    low, high = "min(catch_left, catch_right)", "max(catch_left, catch_right)"
    rest = f"(-PI / 2 - atan2({z}, {y}))"
    turn = f"min({rest} + PI * ceil(({low} - {rest}) / PI), {high})"

    def energy(angle):
        return vega("potential_energy", "0", y, z, angle, "0", G)

    return {
        f"{name}_turn": energy(turn),
        name: f"abs({name}_turn - ({energy(low)})) + abs(({energy(high)}) - {name}_turn)",
    }


def torque_view(top, share=0.86):
    """Gravity's roll torque at every roll angle; `top` [N·m] is the largest shown.

    Parameters of the picture: size, rest, inclination, catch_left, catch_right, torque, seen_rest.
    """
    step = round_step(top, 3)
    ticks = [round(n * step, 9) for n in range(-int(top // step), int(top // step) + 1)]
    x = alt.X("deg:Q", scale=alt.Scale(domain=[-180, 180], nice=False),
              axis=alt.Axis(title="roll angle [deg]", values=list(range(-180, 181, 60))),
          )  # fmt: skip
    y = alt.Y("torque:Q", scale=alt.Scale(domain=[-1.15 * top, 1.15 * top], nice=False),
              axis=alt.Axis(title="torque of gravity [N·m]", values=ticks))  # fmt: skip
    encode = {"x": x, "y": y}

    def spot(name, deg, torque, **look):
        return (
            alt.Chart(ONE, name=name)
            .transform_calculate(deg=deg, torque=torque)
            .mark_point(**{"filled": True, "size": 130, "opacity": 1} | look)
            .encode(**encode)
        )

    curve = (
        alt.Chart(alt.sequence(-180, 181, 2, as_="deg"))
        .transform_calculate(torque=gravity_torque("datum.deg * PI / 180"))
        .mark_line(color=GREY, strokeWidth=2.5)
        .encode(**encode)
    )
    level = alt.Chart(ONE).mark_rule(color=GREY).encode(y=alt.datum(0))
    present = (
        alt.Chart(ONE)
        .transform_calculate(deg="roll_deg")
        .mark_rule(color=PRESENT, strokeDash=[8, 3, 2, 3])
        .encode(x=x)
    )
    swings = alt.ExprRef("seen_rest")
    degrees = "({}) * 180 / PI".format
    points = [
        spot("left_catch", degrees("catch_left"), gravity_torque("catch_left"),
               shape="triangle-left", color=LEFT),
        spot("right_catch", degrees("catch_right"), gravity_torque("catch_right"),
               shape="triangle-right", color=RIGHT),
        spot("rest", half_turn(degrees("rest")), "0", shape="triangle-down", color=DARK,
               opacity=swings),
        spot("unstable", half_turn(degrees("rest + PI")), "0", shape="triangle-up",
               color=DARK, filled=False, strokeWidth=2, opacity=swings),
        spot("now", "roll_deg", "torque", shape="circle", color=PRESENT, cursor="grab"),
    ]  # fmt: skip
    keys = key([
        [("triangle-left", LEFT, "left catch"), ("triangle-right", RIGHT, "right catch")],
        [("triangle-down", DARK, "rest"), ("open triangle-up", DARK, "unstable")],
        [("circle", PRESENT, "now")],
    ])  # fmt: skip
    return View(alt.layer(level, curve, present, *points, *keys), aspect=1.0, left=72, share=share)


def live_balance(paddles: Sequence[Paddle]) -> LivePicture:
    """Turn a paddle, let it roll, and balance it with one counterweight at mid-length.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    LivePicture
    """
    largest = 1.5 * max(float(magnitude(paddle.unbalance())) for paddle in paddles)
    params: dict[str, object] = {
        "paddles": [paddle_facts(paddle) for paddle in paddles],
        "here": "paddles[paddle]",
        "roll": "roll_deg * PI / 180",
        "catch_left": "here.left",
        "catch_right": "here.right",
        "mass": f"mass_g * {GRAM}",
        "arm": f"arm_mm * {MM}",
        "angle": "angle_deg * PI / 180",
        "U_y": "here.U_y + mass * arm * cos(angle)",
        "U_z": "here.U_z + mass * arm * sin(angle)",
        "inclination": 0,
        **roll_params(),
        "total": "here.mass + mass",
        "I_zz": "here.I_zz + mass * pow(arm * cos(angle), 2)",
        "I_xx": "here.I_xx + mass * arm * arm",
        "bare": "sqrt(here.U_y * here.U_y + here.U_z * here.U_z)",
        "weight_x": "arm_mm * cos(roll + angle)",
        "weight_y": "arm_mm * sin(roll + angle)",
    }
    density = Counterweight.density
    ball = f"mass > 0 ? pow(3 * mass / (4 * PI * {density}), 1 / 3) / {MM} : 0"
    entries = [("circle", WEIGHT, "weight"), ("triangle-right", PRESENT, "unbalance")]
    end_on = end_on_view(paddles, largest, entries, weight("weight_x", "weight_y", ball))
    controls = (
        Choice("paddle", "paddle", tuple(paddle.name for paddle in paddles)),
        Slider("roll_deg", "roll angle [deg]", -180, 180, 1, 0),
        Slider("mass_g", "counterweight mass [g]", 0, HEAVIEST / GRAM, 0.1, 0),
        Slider("arm_mm", "counterweight arm [mm]", 20, 120, 0.5, 100),
        Slider("angle_deg", "counterweight angle [deg]", -180, 180, 0.1, 150),
    )
    needed = words(f"bare / arm / {GRAM}", ",.0f", "g")
    most = f"' on this arm, more than {HEAVIEST / GRAM:.0f} g: a longer arm needs less.'"
    too_heavy = f"bare / arm > {HEAVIEST} ? 'It takes ' + {needed} + {most} : ''"
    rate = (
        vega("fixed_axis_acceleration", "angle - rest", "rate", "size", "I_xx", G)
        + f" - ({DRY_FRICTION} * (2 / (1 + exp(-2 * rate / {FADE})) - 1)"
        + f" + {VISCOUS_FRICTION} * rate) / I_xx"
    )
    moving = f"{G} * size * abs(sin(roll - rest)) > {DRY_FRICTION}"
    return LivePicture(
        "The paddle seen from its right end, with its unbalance as an arrow; beside it a curve of "
        "gravity's roll torque at every roll angle, with both catches, the rest and the unstable "
        "equilibrium.",
        params,
        controls,
        (end_on, torque_view(STANDARD_GRAVITY * largest)),
        (
            ("unbalance without counterweight", words(f"bare / {GRAM_MM}", ",.0f", "g·mm")),
            ("residual unbalance", words(f"size / {GRAM_MM}", ",.0f", "g·mm")),
            ("torque at this angle", words("torque", ".3f", "N·m")),
            ("largest torque", words(f"{G} * size", ".3f", "N·m")),
            *(
                (f"torque to hold at the {side} catch", words(f"abs(hold_{side})", ".3f", "N·m"))
                for side in SIDES
            ),
            ("total mass", words(f"total / {GRAM}", ".0f", "g")),
            ("swing inertia", words("I_zz", ".4f", "kg·m²")),
        ),
        (
            Button("Balance it", {
                "mass_g": f"bare / arm / {GRAM}",
                "angle_deg": "atan2(-here.U_z, -here.U_y) * 180 / PI",
            }, too_heavy),
            Track("Let it roll", "roll_deg", f"({moving}) ? {rate} : 0",
                  ("rest", "size", "I_xx", "roll"), 6.0),
        ),
        (
            Grab("weight", 0, {
                "arm_mm": "sqrt(grab_x * grab_x + grab_y * grab_y)",
                "angle_deg": "(atan2(grab_y, grab_x) - roll) * 180 / PI",
            }),
            *roll_grabs(),
            Grab("now", 1, {"roll_deg": "grab_x"}),
        ),
    )  # fmt: skip
