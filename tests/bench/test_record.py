"""Recorded swings: the simulation, the fit against the truth, and the demo record."""

import math
from dataclasses import replace

import numpy as np
import pytest
import sympy as sp

from paddlebal import InputError, fit_bench, fit_swing_record, load_paddle, read_bench, rest_angle
from paddlebal import equations as eq
from paddlebal.bench.readings import SwingRecord
from paddlebal.bench.record import UNKNOWNS, swing_angles
from paddlebal.bench.swing import swing_period
from paddlebal.compiled import numeric
from paddlebal.files.text import data_path
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
U, I_X, M, R = OCEAN.unbalance(), OCEAN.inertia()[0, 0], OCEAN.mass, OCEAN.shaft.radius
SIZE = float(magnitude(U))
FREE = STANDARD_GRAVITY * SIZE / I_X
DEMO = data_path("bench", "ocean_record.csv")


def stiffness(support):
    radius = R if support == "rails" else 0.0
    return float(numeric("small_swing")(SIZE, I_X, M, radius, STANDARD_GRAVITY)), radius


def record(support, start=0.8, friction=0.03, drag=0.2, rest=0.3, duration=3.0, seed=0, u=0.007):
    """A record with frames missing and its true stiffness."""
    rng = np.random.default_rng(seed)
    time = np.cumsum(rng.uniform(0.012, 0.022, round(duration / 0.017)))
    time = time[rng.random(time.size) > 0.1]
    kappa, radius = stiffness(support)
    angle = rest + swing_angles(time, kappa, friction, drag, start, 0.0, radius)
    angle += u * rng.standard_normal(time.size)
    return SwingRecord(time, angle, support, R, u), kappa


@pytest.mark.parametrize("support", ["rollers", "rails"])
def test_without_friction_it_has_the_period_of_the_swing_and_comes_back(support):
    kappa, radius = stiffness(support)
    period = swing_period(U, I_X, 0.9, support, M, R)
    angles = swing_angles(period * np.array([0, 0.25, 0.5, 1, 4]), kappa, 0, 0, 0.9, 0, radius)
    assert angles == pytest.approx([0.9, 0, -0.9, 0.9, 0.9], abs=1e-5)


def test_a_small_swing_loses_twice_the_friction_each_half_and_then_stays():
    """Coulomb friction on a linear swing: each half swing is a cosine about plus or minus s."""
    friction, start = 0.002, 0.021
    half = math.pi / math.sqrt(FREE)
    angles = swing_angles(half * np.arange(9), FREE, friction, 0.0, start, 0.0)
    expected = [(-1) ** n * (start - 2 * n * friction) for n in range(6)]
    assert angles[:6] == pytest.approx(expected, rel=0.01)
    assert np.ptp(angles[5:]) < 1e-9 and abs(math.sin(angles[-1])) <= friction


def test_a_small_swing_under_drag_alone_dies_as_an_exponential():
    drag, time = 1.5, np.linspace(0, 2, 41)
    rate = math.sqrt(FREE - drag**2 / 4)
    expected = np.exp(-drag * time / 2) * (
        np.cos(rate * time) + drag / 2 / rate * np.sin(rate * time)
    )
    angles = swing_angles(time, FREE, 0.0, drag, 1e-3, 0.0)
    assert angles / 1e-3 == pytest.approx(expected, abs=1e-5)


def test_a_gap_longer_than_half_a_swing_changes_nothing():
    time = np.linspace(0, 2, 201)
    whole = swing_angles(time, FREE, 0.02, 0.3, 0.8, 0.0)
    seen = (time < 0.4) | (time > 1.5)
    assert swing_angles(time[seen], FREE, 0.02, 0.3, 0.8, 0.0) == pytest.approx(whole[seen])


def test_it_stays_where_friction_holds_it_and_goes_round_if_pushed():
    time = np.linspace(0, 1, 5)
    assert np.all(swing_angles(time, FREE, 0.5, 0.0, 0.4, 0.0) == 0.4)
    assert swing_angles(time, FREE, 0.0, 0.0, 0.0, 3 * math.sqrt(FREE))[-1] > 2 * math.pi


def test_friction_takes_the_energy_it_should():
    """Rate of the energy T - g U cos(theta) is the moment of friction times the roll rate."""
    (_, rate, *_, moment), acceleration = eq.braked_rolling_acceleration()
    lagrangian, height = eq.rolling_lagrangian(eq.theta, rate), eq.g * eq.U * sp.cos(eq.theta)
    energy = lagrangian - 2 * height
    flow = energy.diff(eq.theta) * rate + energy.diff(rate) * acceleration
    assert sp.simplify(flow - moment * rate) == 0


@pytest.mark.parametrize("support", ["rollers", "rails"])
def test_the_fit_finds_the_truth(support):
    readings, kappa = record(support)
    fit = fit_swing_record(readings)
    truth = dict(stiffness=kappa, friction=0.03, drag=0.2, rest=0.3)
    for name, value in truth.items():
        assert abs(getattr(fit, name) - value) < 3.5 * fit.uncertainty(name), name
    assert fit.uncertainty("stiffness") < 2e-3 * kappa
    assert not fit.enlarged and fit.residuals.std() == pytest.approx(0.007, rel=0.15)
    inertia, inertia_u = fit.inertia(U, M)
    assert abs(inertia - I_X) < 3.5 * inertia_u
    size, size_u = fit.unbalance_size(inertia, M)
    assert size == pytest.approx(SIZE, rel=1e-9)
    _, with_inertia = fit.unbalance_size(inertia, M, 0.02 * inertia)
    share = np.hypot(size_u / size, 0.02)
    assert with_inertia / size == pytest.approx(share, rel=0.25)  # less than all of it on rails


@pytest.mark.parametrize("seed", [1, 4])
def test_the_better_of_two_stops_is_taken(seed):
    """From the first guess alone these came out with a friction of 0.09, three u away."""
    readings, _ = record("rollers", duration=5.0, friction=0.08, drag=0.1, u=0.02, seed=seed)
    fit = fit_swing_record(readings)
    assert abs(fit.friction - 0.08) < 3 * fit.uncertainty("friction")
    assert fit.birge < 1.1 and fit.other is None and fit.doubts == ()


def test_a_stop_that_is_open_is_told_with_both_readings():
    readings, _ = record("rollers", duration=5.0, friction=0.06, drag=0.1, u=0.05, seed=3)
    fit = fit_swing_record(readings)
    assert fit.other is not None
    apart = abs(fit.friction - fit.other.friction)
    assert apart > 2 * fit.uncertainty("friction")
    (doubt,) = fit.doubts
    assert f"{fit.friction:.3f}" in doubt and f"{fit.other.friction:.3f}" in doubt


def test_stated_uncertainties_are_those_of_repeated_records():
    fits = [fit_swing_record(record("rollers", duration=1.2, seed=s)[0]) for s in range(10)]
    for name in UNKNOWNS[:4]:
        spread = np.std([getattr(fit, name) for fit in fits], ddof=1)
        assert spread == pytest.approx(fits[0].uncertainty(name), rel=0.7), name


def test_an_uncertain_unbalance_makes_the_inertia_uncertain():
    fit = fit_swing_record(record("rollers", duration=1.6)[0])
    direction = U / SIZE
    covariance = (0.01 * SIZE) ** 2 * np.outer(direction, direction)
    inertia, alone = fit.inertia(U, M)
    _, both = fit.inertia(U, M, covariance)
    assert both**2 - alone**2 == pytest.approx((0.01 * inertia) ** 2, rel=1e-6)


def test_the_fit_goes_through_the_stretches_it_names():
    readings, seen = record("rollers", duration=1.6)[0], []

    def track(counts):
        for count in counts:
            seen.append(count)
            yield count

    fit = fit_swing_record(readings, track)
    assert seen == sorted(set(seen)) and len(seen) > 1 and seen[-1] == readings.time.size
    assert fit.stiffness == fit_swing_record(readings).stiffness


def test_the_demo_record_agrees_with_the_lever_on_the_same_paddle():
    readings, lever = read_bench(DEMO), fit_bench(read_bench(DEMO.parent / "ocean_lever.csv"))
    assert np.diff(readings.time).max() > 0.15 > 5 * np.median(np.diff(readings.time))
    fit = fit_swing_record(readings)
    assert not fit.enlarged
    inertia, inertia_u = fit.inertia(lever.unbalance, M, lever.unbalance_covariance)
    assert abs(inertia - I_X) < 3 * inertia_u < 0.05 * I_X
    friction = fit.friction_moment(lever.unbalance)
    assert abs(friction - lever.friction) < 3 * lever.friction_u
    assert fit.rest == pytest.approx(rest_angle(U), abs=4 * fit.uncertainty("rest"))
    assert fit.unbalance_size(I_X, M)[0] == pytest.approx(magnitude(lever.unbalance), rel=0.01)


def test_a_record_too_short_or_out_of_order_is_refused(tmp_path):
    readings, _ = record("rollers")
    short = replace(readings, time=readings.time[:25], roll=readings.roll[:25])
    with pytest.raises(InputError, match="fewer than three times"):
        fit_swing_record(short)
    with pytest.raises(InputError, match="1 angles cannot give the unknowns"):
        fit_swing_record(replace(readings, time=readings.time[:1], roll=readings.roll[:1]))
    lines = DEMO.read_text().splitlines()
    lines[20], lines[21] = lines[21], lines[20]
    path = tmp_path / "swapped.csv"
    path.write_text("\n".join([*lines, ""]))
    with pytest.raises(InputError, match="row 22, field 'time'.*after the one before"):
        read_bench(path)
    path.write_text("\n".join([*lines[:15], lines[15].split(",")[0] + ",", ""]))
    with pytest.raises(InputError, match="row 16, field 'roll'.*blank"):
        read_bench(path)


def test_errors_larger_than_stated_enlarge_the_uncertainty():
    readings = record("rollers", duration=1.6)[0]
    honest = fit_swing_record(readings)
    fit = fit_swing_record(replace(readings, angle_u=readings.angle_u / 3))
    assert fit.enlarged and fit.birge == pytest.approx(3 * honest.birge, rel=1e-3)
    ratio = fit.uncertainty("stiffness") / (honest.uncertainty("stiffness") / 3)
    assert ratio == pytest.approx(fit.birge, rel=1e-3)


def test_a_record_with_no_more_angles_than_unknowns_is_refused():
    readings = record("rollers")[0]
    few = slice(0, 6 * 30, 30)
    with pytest.raises(InputError, match="6 angles cannot give the unknowns"):
        fit_swing_record(replace(readings, time=readings.time[few], roll=readings.roll[few]))
