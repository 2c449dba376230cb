"""Benches that are wrong in one way each: what is said of them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from make_demo_bench import BENCHES, HUNG, LEVER, plan_lever, simulate_lever
from scipy.stats import binom, f

from paddlebal import fit_bench, load_paddle, read_bench
from paddlebal.bench.doubts import (
    outlier,
    rest_doubts,
    side_doubts,
    slip_doubts,
    w_statistics,
)
from paddlebal.bench.lever import lever_equations, solve, solved
from paddlebal.bench.readings import AddOnReadings
from paddlebal.errors import InputError
from paddlebal.files.text import data_path
from paddlebal.pipeline import fit_file
from paddlebal.unbalance import rest_angle
from paddlebal.units import DEG, MM, STANDARD_GRAVITY

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
FILE = data_path("bench", "ocean_lever.csv")
READINGS = read_bench(FILE)
FRICTION, ZERO = BENCHES["ocean"]["friction"], BENCHES["ocean"]["zero"]


def fitted(**changed):
    """A fitting of the demo bench with some of its readings changed."""
    return fit_file(FILE, replace(READINGS, **changed), arm=(0.0, 0.08))


def readings_at(angles, rng, bench=LEVER, arm=250 * MM, **changed):
    plan = plan_lever(OCEAN, bench, arm, FRICTION, angles)
    plan = replace(plan, arm=np.abs(plan.arm), **changed)
    return simulate_lever(OCEAN, plan, FRICTION, ZERO, rng)


# A bench that fits perfectly and is wrong


@pytest.mark.parametrize(
    ("slip", "changed"),
    [
        ("the sign of the arm, or of every pull, is turned over",
         {"arm": -READINGS.arm, "clamp_arm": READINGS.clamp_arm}),
        ("the angles are mirrored", {"roll": -READINGS.roll}),
        ("the angles and the arm are mirrored", {"roll": -READINGS.roll, "arm": -READINGS.arm}),
        ("a quarter turn too small", {"roll": READINGS.roll - math.pi / 2}),
        ("a quarter turn too large", {"roll": READINGS.roll + math.pi / 2}),
    ],
)  # fmt: skip
def test_a_mirrored_bench_is_told_by_where_the_paddle_rests(slip, changed):
    """Perfect fits; before, the forecast for each was 'stays', and the weight doubles it."""
    fitting = fitted(**changed)
    assert fitting.fit.birge < 1.5
    assert any(slip in doubt and "seen to rest" in doubt for doubt in fitting.doubts)
    assert fitting.forecast == fitting.present == "not said while there is a doubt"
    sheet = fitting.sheet("2026-01-02")
    assert any(slip in note for note in sheet.first[0].notes)


def test_a_bench_on_which_nobody_looked_says_so():
    fitting = fitted(rest=None)
    assert fitting.doubts == () and fitting.forecast.startswith("stays (")
    assert fitting.forecast.endswith("where it comes to rest was not looked at")


@pytest.mark.parametrize("off_deg", [-14, 14])
def test_a_look_is_good_enough_within_15_degrees(off_deg):
    U = OCEAN.unbalance()
    assert rest_doubts(rest_angle(U) + off_deg * DEG, U, 0.0) == ()
    (doubt,) = rest_doubts(rest_angle(U) + 2 * off_deg * DEG, U, 0.0)
    assert "Look at the signs" in doubt


def test_a_paddles_file_that_points_elsewhere_is_told_with_its_direction():
    fitting = fitted(roll=READINGS.roll + 0.5, rest=None)
    (doubt,) = fitting.doubts
    assert "g·mm at 330°" in doubt and "g·mm at 302°" in doubt


# One wrong reading


def test_a_wrong_pull_is_named_by_its_row_and_its_fit_without_is_offered():
    pull = READINGS.pull.copy()
    pull[7] += 6 * READINGS.scale_u
    fitting = fitted(pull=pull)
    first = fitting.doubts[0]
    assert first.startswith(f"Row {READINGS.row[7]:.0f} at 90° against all others: its pull is ")
    assert "N too large. Without: " in first
    kept = READINGS.without(np.arange(pull.size) == 7)
    assert fitting.fit.without.unbalance == pytest.approx(fit_bench(kept).unbalance)
    taken = fit_file(FILE, replace(READINGS, pull=pull), arm=(0.0, 0.08), leave_out=True)
    assert f"row {READINGS.row[7]:.0f} at 90°" in str(taken.sheet("2026-01-02").readings.notes)
    assert taken.doubts == () and taken.fit.unbalance == pytest.approx(
        fitting.fit.without.unbalance
    )


def test_a_wrong_reading_is_told_before_the_limit_that_it_breaks():
    pull = READINGS.pull.copy()
    pull[4] += 14.0
    with pytest.raises(InputError) as caught:
        fitted(pull=pull)
    told = str(caught.value)
    assert told.index("against all others") < told.index("the limit is")


def test_an_angle_typed_wrong_is_named_with_its_pair():
    roll = READINGS.roll.copy()
    roll[4:6] += 15 * DEG
    (doubt,) = fitted(roll=roll).fit.doubts
    assert doubt.startswith(f"Row {READINGS.row[4]:.0f} and row {READINGS.row[5]:.0f} at 75°")
    assert "as if its angle were +1" in doubt


def test_with_few_to_spare_the_pair_is_named():
    rng = np.random.default_rng(1)
    readings = readings_at(5, rng)
    pull = readings.pull.copy()
    pull[4] += 30 * readings.scale_u
    doubt = fit_bench(replace(readings, pull=pull)).doubts[0]
    assert doubt.startswith(
        "Reading 5 and reading 6 at 144° against all others: one of them is wrong"
    )


def planted(angles, size, count, seed):
    """How often a pull wrong by so many standard uncertainties is named, by row or pair."""
    rng, named = np.random.default_rng(seed), 0
    for _ in range(count):
        readings = readings_at(angles, rng)
        wrong = rng.integers(readings.pull.size)
        pull = readings.pull.copy()
        pull[wrong] += rng.choice([-1, 1]) * size * readings.scale_u
        equations, solution = solved(replace(readings, pull=pull))
        found = outlier(readings, equations, solution)
        named += found is not None and bool(found.wrong[wrong])
    return named


def test_a_pull_of_six_sigma_is_named():
    assert planted(12, 6, 60, seed=2) >= binom.ppf(0.001, 60, 0.95)


@pytest.mark.prove
@pytest.mark.parametrize("angles", [12, 8, 6])
def test_a_pull_of_six_sigma_is_named_in_95_percent(angles):
    assert planted(angles, 6, 2000, seed=3) >= binom.ppf(0.001, 2000, 0.95)


def test_the_w_test_is_the_mean_shift_test_of_a_statistics_library():
    """statsmodels (Seabold & Perktold 2010): generalised least squares with one more column for
    the suspected error; its t with the scale fixed to 1 is Baarda's w."""
    from statsmodels.regression.linear_model import GLS

    readings = replace(READINGS, arm_u=0.0, angle_zero_u=0.0, clamp_arm_u=0.0, gain_u=0.0)
    equations = lever_equations(readings, np.array([0.0137, -0.0079, 3.5e-3, -0.05]))
    solution = solve(equations)
    same = equations.settings[:, None] == equations.settings
    covariance = np.diag(equations.variance)
    covariance += same * np.outer(equations.by_setting, equations.by_setting)
    n = readings.pull.size
    pulls, errors = w_statistics(equations, solution, equations.by_pull, np.arange(n))
    angles, _ = w_statistics(equations, solution, equations.by_roll, equations.settings)
    found = [(w, np.eye(n)[i] * equations.by_pull) for i, w in enumerate(pulls)]
    found += [(w, (equations.settings == s) * equations.by_roll) for s, w in enumerate(angles)]
    for w, column in found:
        design = np.column_stack([equations.factors, column])
        result = GLS(equations.moment, design, sigma=covariance).fit(cov_type="fixed scale")
        if abs(column).max() > 1e-3:  # an angle at which nothing depends on it is not tested
            assert w == pytest.approx(result.tvalues[-1], rel=1e-5, abs=1e-6)
    last = GLS(equations.moment, np.column_stack([equations.factors, found[n - 1][1]]),
               sigma=covariance).fit()  # fmt: skip
    assert errors[-1] == pytest.approx(last.params[-1], rel=1e-6)


def test_w_has_unit_spread_with_the_errors_that_all_readings_share():
    rng = np.random.default_rng(4)
    seen = []
    for _ in range(300):
        equations, solution = solved(readings_at(6, rng, gain_u=0.02))
        n = equations.variance.size
        seen.append(w_statistics(equations, solution, equations.by_pull, np.arange(n))[0])
    assert np.std(seen) == pytest.approx(1, abs=0.05)


def test_the_region_is_the_f_region_of_a_statistics_library():
    """On the rim of a region that scatter makes, the F test of statsmodels finds 5 %."""
    from statsmodels.regression.linear_model import GLS

    rng = np.random.default_rng(6)
    readings = readings_at(4, rng, angle_u=0.0)
    exact = dict.fromkeys(("arm_u", "angle_zero_u", "clamp_arm_u"), 0.0)
    readings = replace(readings, scale_u=readings.scale_u / 5, **exact)
    fit = fit_bench(readings)
    assert fit.enlarged
    equations, _ = solved(readings)
    result = GLS(equations.moment, equations.factors, sigma=equations.variance).fit()
    for turn in np.linspace(0, 6, 7):
        way = np.linalg.cholesky(fit.unbalance_covariance) @ [np.cos(turn), np.sin(turn)]
        rim = fit.unbalance + math.sqrt(5.991464547) * way
        test = result.f_test((np.eye(4)[:2], rim))
        assert float(test.pvalue) == pytest.approx(0.05, abs=1e-4)
    assert f.sf(float(test.fvalue), 2, fit.spare) == pytest.approx(0.05, abs=1e-4)


# Too few, or such that they cannot tell


def test_few_readings_ask_for_another_angle():
    fit = fit_bench(readings_at(3, np.random.default_rng(1)))
    assert any("Only 2 readings are to spare" in doubt for doubt in fit.doubts)
    four = fit_bench(readings_at(4, np.random.default_rng(1)))
    assert four.spare == 4 and not any("to spare" in doubt for doubt in four.doubts)


def test_mixed_sides_that_hide_the_unbalance_are_told():
    plan = plan_lever(OCEAN, LEVER, 250 * MM, FRICTION, 6)
    half = replace(plan, arm=np.abs(plan.arm) * np.where(plan.roll > 3.1, -1, 1))
    fit = fit_bench(simulate_lever(OCEAN, half, FRICTION, ZERO, np.random.default_rng(1)))
    assert any("hardly tell the unbalance from friction" in doubt for doubt in fit.doubts)
    tared = fit_bench(
        replace(simulate_lever(OCEAN, half, FRICTION, 0.0, np.random.default_rng(1)), zero_u=0.01)
    )
    assert not any("hardly tell" in doubt for doubt in tared.doubts) and tared.zero == 0


def test_exchanged_senses_and_a_negative_friction_are_told():
    fitting = fitted(turning=-READINGS.turning)
    assert any("'with' and 'against' exchanged" in doubt for doubt in fitting.doubts)
    assert fitting.fit.friction < 0 and "below" in fitting.fit.friction_words(1e-3, 1)


# What the bench does


def test_a_level_pull_that_slips_is_told_and_a_hung_mass_is_not():
    string = LEVER | dict(
        support="rails", pull_direction="tangential", clamp_mass=0.0, clamp_arm=0.0, arm_u=1e-4
    )
    rng = np.random.default_rng(1)
    slipping = readings_at(12, rng, string, 14.6 * MM)
    (doubt,) = slip_doubts(slipping, OCEAN.mass)
    needed = np.abs(slipping.pull).max() / STANDARD_GRAVITY / OCEAN.mass
    assert f"friction coefficient of {needed:.2f}" in doubt and needed > 0.5
    hung = readings_at(12, rng, HUNG | dict(support="rails"), 14.6 * MM)
    assert slip_doubts(hung, OCEAN.mass) == slip_doubts(READINGS, OCEAN.mass) == ()


def test_rails_aslant_and_an_oval_shaft_are_told():
    rng = np.random.default_rng(3)
    plan = plan_lever(OCEAN, LEVER, 250 * MM, FRICTION)
    readings = simulate_lever(OCEAN, plan, FRICTION, ZERO, rng)
    slanted = replace(readings, pull=readings.pull + 8e-3 / readings.arm)
    assert any("A constant moment of" in doubt for doubt in fit_bench(slanted).doubts)
    oval = replace(
        readings, pull=readings.pull + 8e-3 * np.cos(2 * readings.roll - 0.6) / readings.arm
    )
    assert any("twice a turn: an oval shaft" in doubt for doubt in fit_bench(oval).doubts)
    assert fit_bench(readings).doubts == ()


def test_a_gain_error_of_the_scale_is_carried_to_the_size():
    stated = fit_bench(replace(READINGS, gain_u=0.03)).polar
    without = fit_bench(READINGS).polar
    extra = math.sqrt(stated.size_u**2 - without.size_u**2)
    assert 0.02 * without.size < extra < 0.06 * without.size


def test_an_error_of_the_radius_counts_twice_for_a_string_on_rails():
    string = LEVER | dict(pull_direction="tangential", clamp_mass=0.0, clamp_arm=0.0, arm_u=2e-4)
    rng, sizes = np.random.default_rng(2), {}
    for support in ("rails", "rollers"):
        exact = dict(support=support, scale_u=1e-5, angle_u=0.0, angle_zero_u=0.0, clamp_arm_u=0.0)
        readings = readings_at(12, rng, string | exact, 14.6 * MM)
        size, _, size_u, _ = fit_bench(readings).polar
        sizes[support] = size_u / size
    assert sizes["rollers"] == pytest.approx(2e-4 / 14.6e-3, rel=0.05)
    assert sizes["rails"] == pytest.approx(2 * 2e-4 / (2 * 14.6e-3), rel=0.05)


# An added mass


def trials(spread, every_side=True):
    added = np.array([-0.0137, 0.0079]) + 1e-4 * np.asarray(spread)
    arm, angle = np.hypot(*added.T) / 0.15, np.arctan2(added[:, 1], added[:, 0])
    return AddOnReadings(np.full(len(arm), 0.15), arm, angle, 0.0, 0.0, 0.0, every_side)


def test_trials_from_one_side_are_told():
    round_about = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1)]
    assert fit_bench(trials(round_about)).doubts == ()
    assert "from every side" in fit_bench(trials(round_about, every_side=False)).doubts[0]
    one_line = [(1, 2), (-1, -2), (0.5, 1), (-2, -4), (0, 0.01)]
    assert "along one line only" in fit_bench(trials(one_line)).doubts[0]
    assert side_doubts(trials(one_line), -np.array(one_line, float)) != ()


def test_trials_know_where_the_paddle_rests():
    found = fit_bench(replace(trials([(1, 0), (-1, 0), (0, 1), (0, -1)]), rest=0.0))
    assert any("seen to rest at 0°" in doubt for doubt in found.doubts)
