"""Feather, alive: each blade's unbalance and their sum, and what falls with feather."""

from __future__ import annotations

import math
from collections.abc import Sequence

import altair as alt

from paddlebal.feather import with_heavier_left
from paddlebal.live.balance import lift_params, paddle_facts
from paddlebal.live.expressions import G, vega
from paddlebal.live.look import DASH, LEFT, ONE, PRESENT, RIGHT, SIDE, key
from paddlebal.live.picture import Choice, Grab, LivePicture, Slider, View, words
from paddlebal.live.shapes import blades, gravity_arrow, ground, plane, unbalance_arrow
from paddlebal.paddle import SIDES, Paddle
from paddlebal.pictures.feather import REACH
from paddlebal.pictures.style import round_step
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY

MOST_ADDED = 0.04
"""kg to or from one blade."""


POSITIONS = ("right catch", "left catch", "at rest", "unstable equilibrium")


def _blade_facts(paddle):
    facts = paddle_facts(paddle)
    for side in SIDES:
        blade = getattr(paddle, side)
        facts |= {f"{side}_mass": blade.mass, f"{side}_x": blade.x}
    own = with_heavier_left(paddle, 0.0)
    for side in SIDES:
        _, *products = getattr(own, side).inertia[0]
        facts |= {f"{side}_own_{axis}": -float(p) for axis, p in zip("yz", products, strict=True)}
    facts |= {"feather_deg": math.degrees(paddle.feather), "control": SIDES.index(paddle.control)}
    return facts


def _at(phi):
    """Expressions of what a paddle does at a feather `phi` [rad], by name."""
    made = {}
    for number, side in enumerate(SIDES):
        angle = f"(control == {number} ? 0 : -({phi}))"
        c, s = f"cos{angle}", f"sin{angle}"
        y, z = f"here.{side}_offset", f"here.{side}_across"
        made[f"{side}_y"] = f"mass_{side} * ({y} * {c} - {z} * {s})"
        made[f"{side}_z"] = f"mass_{side} * ({y} * {s} + {z} * {c})"
        made[f"catch_{side}"] = f"-{angle}"
        own_y, own_z = f"here.{side}_own_y", f"here.{side}_own_z"
        made[f"{side}_couple_y"] = (
            f"here.{side}_x * {made[f'{side}_y']} + {own_y} * {c} - {own_z} * {s}"
        )
        made[f"{side}_couple_z"] = (
            f"here.{side}_x * {made[f'{side}_z']} + {own_y} * {s} + {own_z} * {c}"
        )
    for axis in "yz":
        made[f"U_{axis}"] = f"{made[f'left_{axis}']} + {made[f'right_{axis}']}"
    return made


def _holding(at, side):
    torque = vega("roll_torque", at["U_y"], at["U_z"], at[f"catch_{side}"], "0", G)
    return f"-({torque})"


def _against(name, ylabel, top, curves, unit):
    """A chart of curves against feather, by side or name: (expression, colour, dash, words)."""
    x = alt.X("feather:Q", scale=alt.Scale(domain=[0, 90], nice=False),
              axis=alt.Axis(title="feather [deg]", values=list(range(0, 91, 15))))  # fmt: skip
    y = alt.Y("value:Q", scale=alt.Scale(domain=[0, top], nice=False),
              axis=alt.Axis(title=ylabel, tickCount=4))  # fmt: skip
    base = alt.Chart(alt.sequence(0, 91, 1, as_="feather"))
    at = _at("datum.feather * PI / 180")
    now = alt.Chart(ONE).transform_calculate(feather="feather_deg")
    layers = [now.mark_rule(color=PRESENT, strokeDash=[8, 3, 2, 3]).encode(x=x)]
    for expression, present, colour, dash, _ in curves:
        line = base.transform_calculate(value=f"({expression(at)}) / {unit}")
        layers.append(
            line.mark_line(color=colour, strokeWidth=2.5, strokeDash=dash).encode(x=x, y=y)
        )
        point = alt.Chart(ONE, name=f"{name}_{present}")
        point = point.transform_calculate(feather="feather_deg", value=f"{present} / {unit}")
        point = point.mark_point(filled=True, size=130, color=PRESENT, opacity=1, cursor="grab")
        layers.append(point.encode(x=x, y=y))
    keys = [[("dashed" if dash != [1, 0] else "line", colour, text)]
            for _, _, colour, dash, text in curves]  # fmt: skip
    row = [entry for each in keys for entry in each]
    return View(alt.layer(*layers, *key([row])), 0.5, left=72, top=34, bottom=46, share=0.45)


def live_feather(paddles: Sequence[Paddle]) -> LivePicture:
    """Feather, control hand and unequal blades: the two unbalances, their sum, the torque.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.

    Returns
    -------
    LivePicture
    """
    heaviest = [with_heavier_left(paddle, MOST_ADDED).with_feather(0) for paddle in paddles]
    largest = max(float(magnitude(paddle.unbalance())) for paddle in heaviest)
    reach = REACH / MM
    per_mm = round_step(largest / GRAM_MM, 0.95 * reach)
    encode, here = plane(reach), _at("phi")
    params: dict[str, object] = {
        "paddles": [_blade_facts(paddle) for paddle in paddles],
        "here": "paddles[paddle]",
        "phi": "feather_deg * PI / 180",
        "mass_left": f"here.left_mass + added_g * {GRAM}",
        "mass_right": "here.right_mass",
        **here,
        "size": "sqrt(U_y * U_y + U_z * U_z)",
        "rest": "-PI / 2 - atan2(U_z, U_y)",
        "roll": "position == 0 ? catch_right : position == 1 ? catch_left"
        " : position == 2 ? rest : rest + PI",
        **{f"hold_{side}": _holding(here, side) for side in SIDES},
        **{f"size_{side}": f"sqrt(pow({side}_y, 2) + pow({side}_z, 2))" for side in SIDES},
        "couple": "sqrt(pow(left_couple_y + right_couple_y, 2)"
        " + pow(left_couple_z + right_couple_z, 2))",
        **lift_params("lift", "U_y", "U_z"),
        "from_rest": "(rest - catch_right) * 180 / PI",
    }
    angle = {side: f"roll - catch_{side}" for side in SIDES}
    layers = [
        *ground(reach, encode),
        *gravity_arrow(reach, encode),
        *blades(paddles, encode, angle),
        *(
            layer
            for side in SIDES
            for layer in unbalance_arrow(
                f"{side}_y", f"{side}_z", per_mm, encode, SIDE[side], 2.5, DASH[side]
            )
        ),
        *unbalance_arrow("U_y", "U_z", per_mm, encode, PRESENT, 4),
        *key([
            [("dashed", LEFT, "left"), ("line", RIGHT, "right"), ("line", PRESENT, "sum")],
            [("", PRESENT, f"arrows: 10 mm is {10 * per_mm:,g} g·mm")],
        ]),
    ]  # fmt: skip
    first, most = paddles[0], MOST_ADDED / GRAM
    own = {"feather_deg": "here.feather_deg", "control": "here.control"}
    turn = "({0}) - 360 * round(({0}) / 360)"
    curves = [
        _against("sum", "unbalance [g·mm]", 1.1 * largest / GRAM_MM,
                 [(lambda at: f"sqrt(pow({at['U_y']}, 2) + pow({at['U_z']}, 2))", "size", PRESENT,
                   [1, 0], "sum")], GRAM_MM),
        _against("hold", "to hold [N·m]", 1.1 * STANDARD_GRAVITY * largest,
                 [(lambda at, side=side: _holding(at, side), f"hold_{side}", SIDE[side],
                   DASH[side], f"at the {side} catch") for side in reversed(SIDES)], 1),
    ]  # fmt: skip
    return LivePicture(
        "feather",
        "The unbalance of each blade and their sum as arrows, seen from the right end; beside "
        "them curves of the unbalance and of the torque to hold at each catch against feather.",
        params,
        (
            Choice("paddle", "paddle", tuple(each.name for each in paddles), 0, own),
            Slider("feather_deg", "feather [deg]", 0, 90, 1, round(math.degrees(first.feather), 9)),
            Choice("control", "control hand", SIDES, SIDES.index(first.control)),
            Slider("added_g", "added to the left blade [g]", -most, most, 1, 0),
            Choice("position", "paddle shown", POSITIONS),
        ),
        (View(alt.layer(*layers), 1.0, top=58, rows=2), *curves),
        (
            *(
                (
                    f"unbalance of the {side} blade",
                    words(f"size_{side} / {GRAM_MM}", ",.0f", "g·mm"),
                )
                for side in SIDES
            ),
            ("their sum", words(f"size / {GRAM_MM}", ",.0f", "g·mm")),
            *((f"to hold at the {s} catch", words(f"hold_{s}", ".3f", "N·m")) for s in SIDES),
            ("at rest, from the right catch", words(turn.format("from_rest"), "+.0f") + " + '°'"),
            (
                "unstable equilibrium, from there",
                words(turn.format("from_rest + 180"), "+.0f") + " + '°'",
            ),
            ("lift a cycle", words("lift", ".3f", "J")),
            ("couple unbalance", words("couple", ".5f", "kg·m²")),
        ),
        grabs=(
            Grab("sum_size", 1, {"feather_deg": "grab_x"}),
            *(Grab(f"hold_hold_{side}", 2, {"feather_deg": "grab_x"}) for side in SIDES),
        ),
    )
