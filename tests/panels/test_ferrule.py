"""Feather: positions, heavier blades, and the panel on an adjustable ferrule."""

import re
from pathlib import Path

import numpy as np
import pytest
from panel_parts import controls, inside

from paddlebal.feather import POSITIONS, roll_at, with_heavier_left
from paddlebal.formats.paddle import load_paddle
from paddlebal.panels.ferrule import ferrule_panel
from paddlebal.unbalance import roll_torque

PADDLES = Path(__file__).parents[2] / "data" / "paddles"
OCEAN, FAR, MENDED = (
    load_paddle(PADDLES / f"{n}.toml") for n in ("ocean", "far_cranked", "mended")
)


def numbers(panel):
    """Row name to the first number in its value."""
    html = "".join(w.value for w in inside(panel) if type(w).__name__ == "HTML")
    rows = re.findall(r"<th[^>]*>([^<]*)</th><td[^>]*>([^<]*)<", html)
    return {
        what: float(
            re.search(r"[-\d.,]+", value.replace("\N{MINUS SIGN}", "-"))[0].replace(",", "")
        )
        for what, value in rows
    }


def test_positions_are_where_they_say():
    for paddle in (OCEAN, MENDED):
        torque = {p: roll_torque(paddle.unbalance(), roll_at(paddle, p)) for p in POSITIONS}
        assert torque["at rest"] == pytest.approx(0, abs=1e-15)
        assert torque["unstable equilibrium"] == pytest.approx(0, abs=1e-15)
        assert roll_at(paddle, "right catch") == paddle.catch_angle("right")


def test_a_heavier_blade_is_heavier_in_all_its_properties():
    heavier = with_heavier_left(OCEAN, 0.175)
    assert heavier.mass == pytest.approx(OCEAN.mass + 0.175)
    assert heavier.left.inertia == pytest.approx(2 * OCEAN.left.inertia)


def test_one_piece_balances_one_feather_and_two_halves_all():
    panel = ferrule_panel([OCEAN, FAR])
    use, split = controls(panel), "residual, one piece on each half"
    for used in (0, 45, 60, 90):
        use["used at feather [deg]"].value = used
        now = numbers(panel)
        product = OCEAN.right.mass * OCEAN.right.offset * 1e6
        expected = 2 * product * abs(np.sin(np.radians(used - 60) / 2))
        assert now["residual, one piece"] == pytest.approx(expected, abs=1)
        assert now[split] == pytest.approx(0, abs=0.5)
        assert now["ratio of the two masses"] == pytest.approx(1 / np.cos(np.radians(30)), abs=1e-3)
    use["paddle"].value = FAR
    assert use["balanced at feather [deg]"].value == pytest.approx(45)
