"""Swings by collocation are those of the numerical integration, and their slopes are right."""

import numpy as np
import pytest
from scipy.special import ellipk

from paddlebal.bench import record
from paddlebal.bench.half_swings import half_swing, swings
from paddlebal.bench.readings import SwingRecord
from paddlebal.bench.record import fit_swing_record, swing_angles

TIME = np.linspace(0, 6, 361)


def drawn(rng):
    """Stiffness, friction, drag, start, rate and radius of a swing of up to 115°."""
    size = rng.uniform(0.1, 1.9) * rng.choice([-1, 1])
    swing = rng.uniform(20, 120), rng.uniform(0, 0.1), rng.uniform(0, 0.6)
    return *swing, size, rng.uniform(-1, 1), rng.choice([0.0, 0.0146])


def test_swings_are_those_of_the_integration():
    rng, kept = np.random.default_rng(2), 0
    for _ in range(40):
        *swing, start, rate, radius = drawn(rng)
        angles, found = swings(TIME, np.reshape(swing, (3, 1)), [start], [rate], radius)
        if found[0]:
            kept += 1
            stiffness, friction, drag = swing
            expected = swing_angles(TIME, stiffness, friction, drag, start, rate, radius)
            assert angles[0] == pytest.approx(expected, abs=2e-7)
    assert kept >= 36


def test_several_swings_at_once_are_each_by_itself():
    rng = np.random.default_rng(3)
    several = [drawn(rng)[:5] for _ in range(6)]
    *swing, start, rate = np.transpose(several)
    together, _ = swings(TIME, swing, start, rate)
    for each, angles in zip(several, together, strict=True):
        alone, _ = swings(TIME, np.reshape(each[:3], (3, 1)), [each[3]], [each[4]])
        assert angles == pytest.approx(alone[0], abs=1e-9)


def test_half_a_free_swing_takes_the_time_of_the_elliptic_integral():
    """The pendulum's period, 4 K(sin(a / 2)) / w, by scipy's elliptic integral."""
    for amplitude in (0.1, 1.0, 1.8):
        half, _, found = half_swing([amplitude], [0.0], [-1.0], [[40.0], [0.0], [0.0]], 0.0)
        expected = ellipk(np.sin(amplitude / 2) ** 2) / np.sqrt(40.0)
        assert found[0] and half[0] == pytest.approx(expected, rel=1e-9)


def test_what_goes_round_or_turns_too_far_is_left_to_the_integration():
    _, found = swings(TIME, [[40.0, 40.0], [0.01, 0.01], [0.1, 0.1]], [0.5, 3.0], [40.0, 0.0])
    assert not found.any()


def test_a_fit_is_the_same_when_every_swing_is_integrated(monkeypatch):
    rng = np.random.default_rng(4)
    time = np.linspace(0, 2.5, 151)
    angle = 0.3 + swing_angles(time, 60.0, 0.03, 0.2, 0.8, 0.0)
    seen = SwingRecord(
        time, angle + 0.005 * rng.standard_normal(time.size), "rollers", 0.015, 0.005
    )
    quick = fit_swing_record(seen)

    def never(time, swing, start, rate, radius):
        return np.empty((len(start), len(time))), np.zeros(len(start), dtype=bool)

    monkeypatch.setattr(record, "swings", never)
    slow = fit_swing_record(seen)
    for name in ("stiffness", "friction", "drag", "rest"):
        assert getattr(quick, name) == pytest.approx(getattr(slow, name), rel=1e-5, abs=1e-7)
    assert quick.covariance == pytest.approx(slow.covariance, rel=1e-2, abs=1e-9)
