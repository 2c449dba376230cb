"""Why a paddle rolls, alive: roll, feather and inclination, and the paddle in space."""

from __future__ import annotations

import math
from collections.abc import Sequence

from paddlebal.live.balance import paddle_facts, roll_params, torque_view
from paddlebal.live.expressions import turned
from paddlebal.live.look import DARK, PRESENT
from paddlebal.live.picture import Choice, Grab, LivePicture, Slider, Turn, words
from paddlebal.live.shapes import end_on_view, roll_grabs
from paddlebal.live.space import blade_facts, space_view, zoom
from paddlebal.paddle import SIDES, Paddle
from paddlebal.placement import half_unbalance
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY


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
        "half": paddle.shaft.length / 2,
        **blade_facts(paddle),
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
        "tilt": "tilt_deg * PI / 180",
        "zoom": zoom(),
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
            Slider("tilt_deg", "look from above [deg]", -90, 90, 5, 15),
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
        turn=Turn(2, "view_deg", "tilt_deg"),
    )  # fmt: skip
