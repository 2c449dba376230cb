"""Torque to grip, share of strength and an hour's load."""

import numpy as np
import pytest
import sympy as sp
from scipy import constants

from paddlebal import InputError, equations
from paddlebal import grip as g


def test_a_grip_holds_its_torque_by_friction():
    assert g.grip_force(0.15, 0.5, 0.03) == pytest.approx(10.0)
    assert g.grip_force(-0.15, 0.5, 0.03) == pytest.approx(10.0)
    grips = g.grip_force([0.0, 0.1, 0.2], 0.4, 0.025)
    np.testing.assert_allclose(grips, [0, 10, 20])


def test_grip_by_coulomb_friction_round_the_circumference():
    """Sum friction and clamping force over small patches, for any even spread of pressure."""
    friction, diameter = 0.37, 0.029
    arc = (np.arange(2000) + 0.5) * 2 * np.pi / 2000
    for pressure in (np.ones_like(arc), (np.abs(np.sin(arc)) > 0.9999).astype(float)):
        torque = (friction * pressure * diameter / 2).sum()
        clamp = (pressure * np.sin(arc))[arc < np.pi].sum()
        ratio = clamp / g.grip_force(torque, friction, diameter)
        lowest = 2 / np.pi if pressure.all() else 1.0
        assert ratio == pytest.approx(lowest, rel=1e-3)


def test_even_pressure_needs_two_over_pi_of_the_grip():
    ratio = equations.grip_force_even().expression / equations.grip_force().expression
    assert sp.simplify(ratio - 2 / sp.pi) == 0


@pytest.mark.parametrize("bad", [0, -0.3, np.nan, np.inf, None, "wet", [0.3, 0]])
def test_friction_diameter_and_strength_must_be_positive(bad):
    with pytest.raises(InputError, match="friction"):
        g.grip_force(0.1, bad, 0.03)
    with pytest.raises(InputError, match="diameter"):
        g.grip_force(0.1, 0.3, bad)
    with pytest.raises(InputError, match="strength"):
        g.share_of_strength(0.1, 0.3, 0.03, bad)


def test_a_torque_that_is_not_finite_is_refused():
    with pytest.raises(InputError, match="torque"):
        g.grip_force(np.nan, 0.3, 0.03)


def test_felt_force_carries_its_arm():
    force = g.felt_force(-0.186, 0.0146)
    assert force.newton == pytest.approx(-0.186 / 0.0146)
    assert force.kgf * constants.kgf == pytest.approx(force.newton)
    assert force.arm == 0.0146


@pytest.mark.parametrize("bad", [0, -0.015, None, np.nan])
def test_a_force_without_its_arm_is_refused(bad):
    with pytest.raises(InputError, match="arm"):
        g.felt_force(0.1, bad)
    with pytest.raises(TypeError):
        g.felt_force(0.1)  # type: ignore[call-arg]


def test_friction_ranges():
    dry, wet, soapy = (g.friction_range(c) for c in ("dry", "wet", "soapy"))
    assert dry == pytest.approx((0.38 - 0.13, 1.72 + 0.16))
    assert wet == pytest.approx((0.38 - 0.13, 1.42 + 0.16))
    assert soapy == pytest.approx((0.42, 0.50))
    with pytest.raises(InputError, match="condition"):
        g.friction_range("damp")


def test_strength_falls_with_age_and_is_refused_where_no_norm_exists():
    for sex in ("man", "woman"):
        young, old = g.strength_range(sex, 30), g.strength_range(sex, 80)
        assert 0 < old.least < young.least < young.greatest
        assert old.greatest < young.greatest
    assert g.strength_range("man", 24.9) == g.strength_range("man", 24)
    for sex, age in (("man", 12), ("woman", 95), ("child", 30)):
        with pytest.raises(InputError, match="norm"):
            g.strength_range(sex, age)


def test_share_range_holds_every_share_within_the_ranges():
    friction, strength = g.friction_range("wet"), g.strength_range("woman", 30)
    rng = np.random.default_rng(5)
    frictions, strengths = (rng.uniform(low, high, 500) for low, high in (friction, strength))
    shares = g.share_of_strength(0.15, frictions, 0.029, strengths)
    low, high = g.share_range(0.15, 0.029, friction, strength)
    assert low < shares.min() and shares.max() < high
    assert high == pytest.approx(0.15 / (friction.least * 0.029 * strength.least))
    assert low * np.pi / 2 == pytest.approx(0.15 / (friction.greatest * 0.029 * strength.greatest))


def test_held_fraction_weighs_by_time_not_by_sample():
    times = np.array([0.0, 0.1, 0.2, 0.3, 1.3])
    torque = np.array([1.0, -1.0, 1.0, 0.0, 0.0])
    assert g.held_fraction(times, torque, 0.5) == pytest.approx(0.25 / 1.3)
    time = np.linspace(0, 1, 10001)
    wave = np.sin(2 * np.pi * time)
    assert g.held_fraction(time, wave, 0.5) == pytest.approx(2 / 3, abs=1e-3)


def test_held_torque_is_the_mean_while_held():
    times = np.array([0.0, 0.1, 0.2, 0.3, 1.3])
    torque = np.array([1.0, -3.0, 1.0, 0.0, 0.0])
    assert g.held_torque(times, torque, 0.5) == pytest.approx((0.05 + 0.3 + 0.1) / 0.25)
    assert g.held_torque(times, torque, 3.0) == 0.0


@pytest.mark.parametrize(
    ("times", "torque"), [([0, 1], [1]), ([0, 0], [1, 1]), ([0], [1]), ([0, 1], [1, np.nan])]
)
def test_time_series_must_rise_and_match(times, torque):
    with pytest.raises(InputError):
        g.held_fraction(times, torque, 0.1)
    with pytest.raises(InputError):
        g.hour_load(times, torque)


def test_hour_load_reads_the_amplitude_distribution():
    """A share that grows evenly from 0 to 1 has its percentiles at 0.1, 0.5 and 0.9."""
    times = np.concatenate([np.linspace(0, 0.4, 4000), np.linspace(0.4001, 1, 2000)])
    static, median, peak = g.hour_load(times, times)
    assert (static.share, median.share, peak.share) == pytest.approx((0.1, 0.5, 0.9), abs=1e-3)
    assert (static.percentile, median.percentile, peak.percentile) == (10, 50, 90)


def test_hour_load_stands_beside_its_limits():
    times = np.linspace(0, 1, 1001)
    levels = g.hour_load(times, np.full_like(times, 0.12))
    assert [level.level for level in levels] == ["static", "median", "peak"]
    assert [level.verdict for level in levels] == [
        "above the ceiling",
        "above the advised limit",
        "within the advised limit",
    ]


def test_cautions_say_the_three_things():
    text = " ".join(g.GRIP_CAUTIONS)
    assert "not medical advice" in text and "clinician" in text and "heal" in text


def test_the_mean_over_a_stroke_counts_its_rests():
    times, torque = [0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 0.2, -0.2, 0.0, 0.0]
    assert g.mean_torque(times, torque) == pytest.approx(0.1)
    assert g.held_torque(times, torque, 0.05) == pytest.approx(0.2)


def test_what_is_held_all_the_time_is_held_all_the_time_to_the_last_digit():
    """Shares of uneven steps add up to 1 only within rounding."""
    times = np.cumsum(np.random.default_rng(0).uniform(0.001, 0.1, 999))
    for threshold in (0.0, 0.5):
        assert g.held_fraction(times, np.ones(999), threshold) == 1.0
