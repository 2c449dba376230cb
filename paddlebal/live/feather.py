"""Feather, alive: each blade's unbalance and their sum, and what falls with feather."""

from __future__ import annotations

import math
from collections.abc import Sequence

import altair as alt

from paddlebal.feather import MOST_ADDED, POSITIONS, with_heavier_left
from paddlebal.live.balance import SIZE_AND_REST, lift_params, paddle_facts
from paddlebal.live.expressions import G, half_turn, turned, vega
from paddlebal.live.look import DASH, GREY, LEFT, ONE, PRESENT, RIGHT, SIDE, key
from paddlebal.live.picture import Choice, Grab, LivePicture, Slider, View, words
from paddlebal.live.shapes import blades, plane, segment, surroundings, tip, unbalance_arrow
from paddlebal.paddle import SIDES, Paddle
from paddlebal.pictures.style import round_step
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY

REACH = 0.15
"""m; half the side of the square that shows the arrows."""


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
        made[f"catch_{side}"] = f"-{angle}"
        places = turned(f"here.{side}_offset", f"here.{side}_across", angle)
        own = turned(f"here.{side}_own_y", f"here.{side}_own_z", angle)
        for axis, place, product in zip("yz", places, own, strict=True):
            made[f"{side}_{axis}"] = f"mass_{side} * ({place})"
            made[f"{side}_couple_{axis}"] = f"here.{side}_x * mass_{side} * ({place}) + {product}"
    for axis in "yz":
        made[f"U_{axis}"] = f"{made[f'left_{axis}']} + {made[f'right_{axis}']}"
    return made


def _holding(at, side):
    torque = vega("roll_torque", at["U_y"], at["U_z"], at[f"catch_{side}"], "0", G)
    return f"-({torque})"


def _against(name, ylabel, top, curves, unit):
    """A chart against feather; curves are (expression, its value now, colour, dash, words)."""
    x = alt.X("feather:Q", scale=alt.Scale(domain=[0, 90], nice=False),
              axis=alt.Axis(title="feather [deg]", values=list(range(0, 91, 15))))  # fmt: skip
    y = alt.Y("value:Q", scale=alt.Scale(domain=[0, top], nice=False),
              axis=alt.Axis(title=ylabel, tickCount=4))  # fmt: skip
    base = alt.Chart(alt.sequence(0, 91, 1, as_="feather"))
    now = alt.Chart(ONE).transform_calculate(feather="feather_deg")
    layers = [now.mark_rule(color=PRESENT, strokeDash=[8, 3, 2, 3]).encode(x=x)]
    for expression, present, colour, dash, _ in curves:
        line = base.transform_calculate(value=f"({expression}) / {unit}")
        line = line.mark_line(color=colour, strokeWidth=2.5, strokeDash=dash)
        point = now.transform_calculate(value=f"{present} / {unit}")
        point = point.mark_point(filled=True, size=130, color=PRESENT, opacity=1, cursor="grab")
        point = point.properties(name=f"{name}_{present}")
        layers += [line.encode(x=x, y=y), point.encode(x=x, y=y)]
    row = [("line" if dash == DASH["right"] else "dashed", colour, text)
           for _, _, colour, dash, text in curves]  # fmt: skip
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
        **SIZE_AND_REST,
        "roll": "position == 0 ? catch_right : position == 1 ? catch_left"
        " : position == 2 ? rest : rest + PI",
        **{f"hold_{side}": _holding(here, side) for side in SIDES},
        **{f"size_{side}": f"sqrt(pow({side}_y, 2) + pow({side}_z, 2))" for side in SIDES},
        "couple": "sqrt(pow(left_couple_y + right_couple_y, 2)"
        " + pow(left_couple_z + right_couple_z, 2))",
        **lift_params("lift", "U_y", "U_z"),
        "from_rest": "(rest - catch_right) * 180 / PI",
    }
    names = {side: (f"{side}_y", f"{side}_z") for side in SIDES} | {"sum": ("U_y", "U_z")}
    tips = {name: tip(y, z, per_mm) for name, (y, z) in names.items()}
    level = tips["sum"][0], "0"
    layers = [
        *surroundings(reach, encode),
        *blades(paddles, encode),
        *(
            layer
            for side in SIDES
            for layer in unbalance_arrow(
                f"{side}_y", f"{side}_z", per_mm, encode, SIDE[side], 2.5, DASH[side]
            )
        ),
        segment([tips["left"], tips["sum"], tips["right"]], encode, color=GREY, strokeWidth=1.2),
        segment([tips["sum"], level], encode, color=PRESENT, strokeDash=[8, 3, 2, 3]),
        *unbalance_arrow("U_y", "U_z", per_mm, encode, PRESENT, 4),
        *key([
            [("dashed", LEFT, "left"), ("line", RIGHT, "right"), ("line", PRESENT, "sum")],
            [("", PRESENT, f"arrows: 10 mm is {10 * per_mm:,g} g·mm")],
        ]),
    ]  # fmt: skip
    first, most = paddles[0], MOST_ADDED / GRAM
    own = {"feather_deg": "here.feather_deg", "control": "here.control"}
    along = _at("datum.feather * PI / 180")
    size = f"sqrt(pow({along['U_y']}, 2) + pow({along['U_z']}, 2))"
    curves = [
        _against("sum", "unbalance [g·mm]", 1.1 * largest / GRAM_MM,
                 [(size, "size", PRESENT, DASH["right"], "sum")], GRAM_MM),
        _against("hold", "to hold [N·m]", 1.1 * STANDARD_GRAVITY * largest,
                 [(_holding(along, side), f"hold_{side}", SIDE[side], DASH[side],
                   f"{side} catch") for side in reversed(SIDES)], 1),
    ]  # fmt: skip
    return LivePicture(
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
            ("at rest, from the right catch", words(half_turn("from_rest"), "+.0f") + " + '°'"),
            (
                "unstable equilibrium, from there",
                words(half_turn("from_rest + 180"), "+.0f") + " + '°'",
            ),
            ("lift a cycle", words("lift", ".3f", "J")),
            ("couple unbalance", words("couple", ".5f", "kg·m²")),
        ),
        grabs=(
            Grab("sum_size", 1, {"feather_deg": "grab_x"}),
            *(Grab(f"hold_hold_{side}", 2, {"feather_deg": "grab_x"}) for side in SIDES),
        ),
    )
