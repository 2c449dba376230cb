"""What a hand has to hold: catch torque, part balance, the modelled stroke, an hour's load."""

import numpy as np
import pytest

from paddlebal import grip, load_paddle
from paddlebal.files.text import data_path
from paddlebal.holding import grip_range, hour_ranges, part_balanced, stroke_series
from paddlebal.stroke import SPRINT
from paddlebal.unbalance import catch_torque, magnitude

NAMES = ("far_cranked", "mended", "ocean", "sprint")
PADDLES = [load_paddle(data_path("paddles", f"{name}.toml")) for name in NAMES]
OCEAN = PADDLES[2]


def test_catch_torque_of_two_equal_blades():
    """2 g m d cos²(phi/2) for 0.175 kg at 52 mm and a feather of 60 deg."""
    expected = 2 * 9.80665 * 0.175 * 0.052 * np.cos(np.radians(30)) ** 2
    assert catch_torque(OCEAN) == pytest.approx(expected)


@pytest.mark.parametrize("paddle", PADDLES, ids=NAMES)
@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_part_balance_takes_its_share_of_the_torque(paddle, share):
    part = part_balanced(paddle, share)
    whole = magnitude(paddle.unbalance())
    assert magnitude(part.unbalance()) == pytest.approx((1 - share) * whole, abs=1e-9)
    assert catch_torque(part) == pytest.approx((1 - share) * catch_torque(paddle), abs=1e-8)


@pytest.mark.parametrize("paddle", PADDLES, ids=NAMES)
def test_gravity_never_lets_go_between_the_catches(paddle):
    _, parts = stroke_series(paddle)
    assert np.abs(np.sign(parts.gravity).sum()) == parts.gravity.size
    _, balanced = stroke_series(part_balanced(paddle))
    np.testing.assert_allclose(balanced.gravity, 0, atol=1e-8)
    assert np.abs(balanced.inertia).max() > np.abs(parts.inertia).max()


def test_a_cycle_closes_and_takes_two_strokes():
    time, parts = stroke_series(OCEAN, 100.0, SPRINT)
    assert time[-1] == pytest.approx(1.2)
    for part in parts:
        assert part[0] == pytest.approx(part[-1], abs=1e-9)


def test_grip_range_runs_from_the_even_hand_to_the_two_sided_one():
    least, greatest = grip_range(0.15, 0.03, (0.4, 0.8))
    assert greatest == pytest.approx(grip.grip_force(0.15, 0.4, 0.03))
    assert least == pytest.approx(2 / np.pi * grip.grip_force(0.15, 0.8, 0.03))


def test_an_hour_has_three_levels_whose_ranges_hold_the_known_case():
    time, parts = stroke_series(OCEAN)
    torque, friction, strength = sum(parts), (0.3, 0.6), (200.0, 400.0)
    known = grip.hour_load(time, grip.share_of_strength(torque, 0.5, 0.03, 300.0))
    pairs = hour_ranges(time, torque, 0.03, friction, strength)
    assert [low.level for low, _ in pairs] == ["static", "median", "peak"]
    for level, (low, high) in zip(known, pairs, strict=True):
        assert low.share < level.share < high.share


def test_a_counterweight_lowers_the_static_level_most():
    levels = []
    for paddle in (OCEAN, part_balanced(OCEAN)):
        time, parts = stroke_series(paddle)
        share = grip.share_of_strength(sum(parts), 0.5, 0.0292, 300.0)
        levels.append([level.share for level in grip.hour_load(time, share)])
    static, median, peak = np.divide(levels[1], levels[0])
    assert static < median < peak < 1
