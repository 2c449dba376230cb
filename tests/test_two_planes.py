"""Two-plane balance, the kinds of unbalance, the moment of couple unbalance."""

import math
from pathlib import Path

import numpy as np
import pytest

from paddlebal import (
    OCEAN,
    SPRINT,
    Counterweight,
    InputError,
    balance_two_planes,
    load_paddle,
    roll_torque,
)
from paddlebal.compiled import numeric
from paddlebal.two_planes import (
    couple_moment,
    kind_of_unbalance,
    peak_moments,
    static_and_couple,
    with_corrections,
)
from paddlebal.unbalance import magnitude
from paddlebal.work import hand_load, roll_parts

PADDLES = sorted(
    path
    for path in (Path(__file__).parents[1] / "data/paddles").glob("*.toml")
    if path.stem != "glued"
)


def counterweight(vector, x, arm=0.05):
    return Counterweight(magnitude(vector) / arm, arm, math.atan2(vector[1], vector[0]), x)


@pytest.mark.parametrize("path", PADDLES, ids=lambda path: path.stem)
def test_two_corrections_leave_nothing(path):
    paddle = load_paddle(path)
    left, right = balance_two_planes(paddle, -0.5, 0.4)
    balanced = paddle.with_counterweights(counterweight(left, -0.5), counterweight(right, 0.4))
    unbalance, couple = static_and_couple(balanced)
    assert unbalance == pytest.approx([0, 0], abs=1e-15)
    assert couple == pytest.approx([0, 0], abs=1e-15)


def test_paddle_and_its_two_vectors_give_the_same():
    paddle = load_paddle(PADDLES[0])
    whole = balance_two_planes(paddle, -0.5, 0.5)
    parts = balance_two_planes(static_and_couple(paddle), -0.5, 0.5)
    assert np.array(whole) == pytest.approx(np.array(parts))


def test_planes_must_be_two():
    with pytest.raises(InputError, match="coincide"):
        balance_two_planes(([1, 0], [0, 1]), 0.3, 0.3)


def test_kinds_of_unbalance():
    assert kind_of_unbalance(([0, 0], [0, 0]), 0.1) == "none"
    assert kind_of_unbalance(([1, 2], [0.1, 0.2]), 0.1) == "static"
    assert kind_of_unbalance(([0, 0], [0, 1]), 0.1) == "couple"
    assert kind_of_unbalance(([1, 2], [0.5, 1.0]), 0.1) == "quasi-static"
    assert kind_of_unbalance(([1, 2], [0.5, 0.0]), 0.1) == "dynamic"


def test_a_static_counterweight_leaves_couple_unbalance():
    ocean = load_paddle(next(path for path in PADDLES if path.stem == "ocean"))
    assert kind_of_unbalance(ocean, ocean.balance_point) == "dynamic"
    assert kind_of_unbalance(ocean.with_feather(0), ocean.balance_point) == "static"
    balanced = ocean.with_counterweights(counterweight(-ocean.unbalance(), 0.0))
    assert kind_of_unbalance(balanced, balanced.balance_point) == "couple"
    crosswise = ocean.with_feather(180)
    assert kind_of_unbalance(crosswise, crosswise.balance_point) == "couple"


def test_couple_moment_is_the_hands_load_of_a_rolling_paddle():
    paddle = load_paddle(PADDLES[0])
    (_, couple), inertia = static_and_couple(paddle), paddle.inertia()
    omega, domega = np.array([3.0, 0, 0]), np.array([-20.0, 0, 0])
    expected = inertia @ domega + np.cross(omega, inertia @ omega)
    assert couple_moment(couple, 3.0, -20.0) == pytest.approx(expected[1:], rel=1e-12)
    rates = np.linspace(0, 5, 7)
    assert couple_moment(couple, rates, 0.0).shape == (7, 2)


def test_sizes_told_in_the_module_are_those_of_the_ocean_paddle():
    ocean = load_paddle(next(path for path in PADDLES if path.stem == "ocean"))
    unbalance, couple = static_and_couple(ocean)
    assert magnitude(couple) == pytest.approx(0.0085, abs=5e-5)
    turning, time = 0.5, np.linspace(0, 0.5, 2001)
    pace = math.pi / turning
    omega = ocean.feather / 2 * pace * np.sin(pace * time)
    domega = ocean.feather / 2 * pace**2 * np.cos(pace * time)
    peak = np.linalg.norm(couple_moment(couple, omega, domega), axis=-1).max()
    assert peak == pytest.approx(0.175, abs=5e-4)
    assert peak / 0.7 == pytest.approx(0.25, abs=5e-3)
    holding = -roll_torque(unbalance, ocean.catch_angle("right"))
    assert holding == pytest.approx(0.13, abs=5e-3)
    assert holding / ocean.shaft.radius == pytest.approx(9, abs=0.5)
    assert 0.07 * ocean.mass * 9.80665 / 2 == pytest.approx(0.22, abs=5e-3)


def test_equation_satisfies_both_conditions():
    rng = np.random.default_rng(11)
    U, C, x_left, x_right = rng.normal(size=(4, 50))
    left, right = numeric("two_planes")(U, C, x_left, x_right)
    assert left + right + U == pytest.approx(0, abs=1e-10)
    assert x_left * left + x_right * right + C == pytest.approx(0, abs=1e-10)


def test_corrections_on_an_arm_leave_nothing():
    ocean = load_paddle(next(path for path in PADDLES if path.stem == "ocean"))
    balanced = with_corrections(ocean, 0.08, -0.5, 0.4)
    assert [w.x for w in balanced.counterweights] == [-0.5, 0.4]
    assert {w.arm for w in balanced.counterweights} == {0.08}
    assert kind_of_unbalance(balanced, balanced.balance_point) == "none"
    with pytest.raises(InputError, match="coincide"):
        with_corrections(ocean, 0.08, 0.1, 0.1)


@pytest.mark.parametrize("stroke", [OCEAN, SPRINT], ids=["ocean", "sprint"])
def test_peak_moments_are_those_of_the_hands_and_leave_with_what_causes_them(stroke):
    ocean = load_paddle(next(path for path in PADDLES if path.stem == "ocean"))
    motion = stroke.motion(ocean)
    time, before = motion.times(200), peak_moments(ocean, motion)
    assert before.gravity == pytest.approx(9.80665 * magnitude(ocean.unbalance()), rel=0.01)
    load = hand_load(ocean, motion, time)
    assert load.shape == (6, 200)
    assert load[3] == pytest.approx(sum(roll_parts(ocean, motion, time)), abs=1e-12)
    assert before.across == pytest.approx(np.hypot(load[4], load[5]).max())
    static = ocean.with_counterweights(counterweight(-ocean.unbalance(), 0.0))
    one, two = (
        peak_moments(static, motion),
        peak_moments(with_corrections(ocean, 0.08, -0.5, 0.5), motion),
    )
    assert one.gravity == pytest.approx(0, abs=1e-15)
    assert one.couple_across == pytest.approx(before.couple_across)
    assert one.couple_along == pytest.approx(before.couple_along, rel=0.01)
    assert two.couple_along < 0.01 * before.couple_along
    assert two.couple_across == pytest.approx(0, abs=1e-14)
    doubled = peak_moments(ocean, motion.with_rate(2 * motion.strokes_per_minute))
    assert doubled.gravity == before.gravity
    for name in ("couple_along", "couple_across"):
        assert getattr(doubled, name) == pytest.approx(4 * getattr(before, name))
