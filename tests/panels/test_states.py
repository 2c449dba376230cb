"""What panels show, without a widget: values in SI to a state, a state to its rows."""

import math

import numpy as np
import pytest

from paddlebal import BladeShape, Limits, load_paddle, place_counterweight
from paddlebal.files.text import data_path
from paddlebal.panels.bench import lever_rows, lever_state
from paddlebal.panels.design import design_state, tolerance_state, variant_state
from paddlebal.panels.ferrule import ferrule_state
from paddlebal.panels.fitting import fitting_state
from paddlebal.panels.grip import grip_state
from paddlebal.panels.two_planes import rotor_state

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
LEVER = data_path("bench", "ocean_lever.csv")
U = OCEAN.unbalance()
SIZE, AWAY = float(np.hypot(*U)), math.atan2(-U[1], -U[0])
"""kg·m, and the direction [rad] that balances."""


def test_a_lever_state_holds_its_factors():
    state = lever_state(LEVER, scale=2.0, arm=3.0)
    plain = lever_state(LEVER, scale=1.0, arm=1.0)
    assert state.readings.scale_u == 2 * plain.readings.scale_u
    assert state.readings.arm_u == 3 * plain.readings.arm_u
    assert dict(lever_rows(state))["readings"] == str(plain.readings.roll.size)


def test_one_piece_on_each_half_holds_at_every_feather():
    state = ferrule_state(OCEAN, fitted=math.radians(60), used=math.radians(30))
    assert state.left["one piece on each half"] == pytest.approx(0, abs=1e-12)
    assert state.now["one piece"].unbalance == pytest.approx(
        2 * SIZE / (2 * math.cos(math.radians(30))) * math.sin(math.radians(15))
    )


def test_two_planes_leave_neither_static_nor_couple():
    state = rotor_state(OCEAN, "two planes", math.radians(60), -0.5, 0.5, 80.0)
    assert state.peaks.gravity == pytest.approx(0, abs=1e-12)
    assert state.peaks.couple_across == pytest.approx(0, abs=1e-12)


def test_grip_is_halved_with_half_the_unbalance():
    hand = {"diameter": 0.0292, "hand": "dry", "who": "woman", "age": 40, "own": 300.0}
    how = {"task": "catch", "rate": 80.0, "rest": 0.05}
    whole, half = (grip_state(OCEAN, share, **hand, **how) for share in (0.0, 0.5))
    assert half.load == pytest.approx([part / 2 for part in whole.load])
    assert whole.strength == (300.0, 300.0)


def test_a_design_scales_with_the_blades_mass():
    shape, at = BladeShape(), {"crank": 0.1, "feather": 1.0, "arm": 0.08, "depth": 0.035}
    light, heavy = (
        design_state(OCEAN, shape, mass=mass, quantity="unbalance", **at) for mass in (0.15, 0.3)
    )
    assert heavy.maps["unbalance"] == pytest.approx(2 * light.maps["unbalance"])
    assert heavy.now.offset_mm == light.now.offset_mm


def test_a_balanced_variant_stands_on_its_path():
    state = variant_state(OCEAN, BladeShape(), 0.1, 0.175, 1.0, 0.08, 1.0, 0.035)
    assert state.now.unbalance_g_mm == pytest.approx(0, abs=1e-6)
    assert state.mass.path[:, -1] == pytest.approx(state.mass.here)
    assert state.mass.here[0] == pytest.approx(state.now.total_mass_g / 1e3)


def test_the_only_error_is_the_worst():
    limits = Limits.for_paddle(OCEAN, arm=(0, 0.08))
    placed = place_counterweight(U, limits, paddle=OCEAN)
    state = tolerance_state(OCEAN, placed, 0.0035, 4000, 0.0, 0.0, 0.02, 0.0)
    assert state.worst == "angle" and 0 <= state.stays <= 1
    assert state.together == pytest.approx(state.alone["angle"], rel=0.05)


def test_a_fitting_state_keeps_to_the_arm():
    state = fitting_state(
        file=LEVER, readings="all of the file", pieces="one", material="brass", arm=0.07,
        reach=0.5, angle=0.01, holder=0.0, holder_arm=0.0,
    )  # fmt: skip

    assert state.fitting.pieces[0].arm <= 0.07 and state.lever is not None
