"""The library against check values computed apart from it.

Sources: tests/published/check_values.csv says how its values were made. The two periods were
computed apart as well: the one about a fixed axis by the complete elliptic integral, the one of
rolling by quadrature of the energy.
"""

import csv
from math import cos, radians
from pathlib import Path

import numpy as np
import pytest

from paddlebal import Blade, Paddle, Shaft, rest_angle, roll_torque, swing_period
from paddlebal.unbalance import couple_unbalance, lift, magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY


def check_values():
    path = Path(__file__).with_name("check_values.csv")
    lines = path.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def agrees(value, text):
    """Whether a number, rounded to the six digits of the check value, is that value."""
    return abs(value) < 1e-15 if float(text) == 0 else f"{value:.6g}" == f"{float(text):.6g}"


def two_equal_blades(feather_deg, control):
    left, right = (Blade(0.175, x, 0.052, 0.5, 0.163, 2.05e-4) for x in (-0.93, 0.93))
    shaft = Shaft(0.3, 1.46, 0.0146, 9.1e-4)
    return Paddle("two equal blades", shaft, left, right, radians(feather_deg), control)


@pytest.mark.parametrize("control", ["left", "right"])
@pytest.mark.parametrize("row", check_values(), ids=lambda row: f"{row['feather_deg']}deg")
def test_two_equal_blades(row, control):
    paddle = two_equal_blades(float(row["feather_deg"]), control)
    U = paddle.unbalance()
    there, back = paddle.catch_angle("left"), paddle.catch_angle("right")
    assert agrees(magnitude(U) / GRAM_MM, row["unbalance_g_mm"])
    assert agrees(-roll_torque(U, rest_angle(U) + np.pi / 2), row["peak_torque_n_m"])
    for catch in (there, back):
        assert agrees(abs(roll_torque(U, catch)), row["holding_torque_n_m"])
    up, down = np.add(lift(U, there, back), lift(U, back, there))
    assert agrees(up, row["lift_j"]) and agrees(down, row["lift_j"])
    assert agrees(magnitude(couple_unbalance(paddle)), row["couple_kg_m2"])


def test_the_table_holds_what_its_closed_forms_say():
    """The table itself, from the closed forms in its head: no slip in copying."""
    for row in check_values():
        half = radians(float(row["feather_deg"])) / 2
        unbalance = 2 * 0.175 * 0.052 * cos(half)
        assert agrees(unbalance * 1e6, row["unbalance_g_mm"])
        assert agrees(9.80665 * unbalance, row["peak_torque_n_m"])
        assert agrees(9.80665 * unbalance * cos(half), row["holding_torque_n_m"])
        assert agrees(4 * 9.80665 * 0.175 * 0.052 * np.sin(half) * cos(half), row["lift_j"])
        assert agrees(2 * 0.175 * 0.052 * 0.93 * np.sin(half), row["couple_kg_m2"])


@pytest.mark.parametrize("support, period", [("rollers", "0.545323"), ("rails", "0.479870")])
def test_swing_let_go_at_fifty_degrees(support, period):
    """Shaft radius 14.6 mm, mass 0.65 kg, |U| 0.01575 kg·m, I_x 1.055724e-3 kg·m²."""
    found = swing_period([0.0, -0.01575], 1.055724e-3, radians(50), support, 0.65, 0.0146)
    assert agrees(found, period)


def test_check_values_use_the_librarys_gravity():
    assert STANDARD_GRAVITY == 9.80665
