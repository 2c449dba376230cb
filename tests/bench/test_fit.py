"""Bench files and fits, against benches simulated without the fit's equations."""

import importlib.util
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2, f, ncx2, norm

from paddlebal import InputError, acceptance, fit_bench, fit_swing, load_paddle, read_bench
from paddlebal.bench.fit import monte_carlo_fit, stated_covariance
from paddlebal.bench.readings import AddOnReadings, SwingReadings, SwingRecord
from paddlebal.bench.record import fit_swing_record
from paddlebal.bench.result import BenchFit
from paddlebal.bench.scatter import birge_ratio
from paddlebal.compiled import numeric
from paddlebal.units import STANDARD_GRAVITY

ROOT = Path(__file__).parents[2]
DEMO_BENCHES = sorted((ROOT / "data/bench").glob("*.csv"))
KNOWN_BENCHES = [path for path in DEMO_BENCHES if path.stem != "glued_lever"]
"""Those of paddles known by their parts; tests/test_outside.py has the other."""


_spec = importlib.util.spec_from_file_location("make_demo_bench", ROOT / "tools/make_demo_bench.py")
demo = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(demo)


def bench_case(name):
    """Paddle, plan, true friction and true scale zero of a demo bench."""
    paddle = load_paddle(ROOT / f"data/paddles/{name}.toml")
    case = demo.BENCHES[name]
    plan = demo.plan_lever(paddle, case["bench"], case["arm"], case["friction"])
    return paddle, plan, case["friction"], case["zero"]


def without_errors(paddle, plan, friction, zero):
    """Readings free of error; the plan's stated uncertainties are kept for the fit."""
    names = ("scale_u", "angle_u", "arm_u", "angle_zero_u", "clamp_arm_u")
    exact = replace(plan, **dict.fromkeys(names, 0.0))
    rng = np.random.default_rng(0)
    return replace(plan, pull=demo.simulate_lever(paddle, exact, friction, zero, rng).pull)


# The moment of a pull


def test_a_vertical_pull_keeps_its_level_arm_on_rails():
    assert numeric("pull_arm")(0.2, 0.03, 0.0, 1.0, 0.0) == 0.2
    assert numeric("pull_arm")(0.2, 0.03, 0.0, 1.0, 0.0146) == 0.2


def test_a_tangential_pull_at_the_top_has_arm_2R_on_rails():
    assert numeric("pull_arm")(0.0, 0.0146, -1.0, 0.0, 0.0) == pytest.approx(0.0146)
    assert numeric("pull_arm")(0.0, 0.0146, -1.0, 0.0, 0.0146) == pytest.approx(2 * 0.0146)


def test_the_line_of_contact_stays_put():
    for angle in np.linspace(0, 6, 7):
        assert numeric("pull_arm")(0.0, -0.0146, np.cos(angle), np.sin(angle), 0.0146) == 0


# The lever fit


@pytest.mark.parametrize("name", demo.BENCHES)
def test_readings_without_error_give_the_truth(name):
    """Levers on both sides: the simulation finds the sense of friction by itself."""
    paddle, plan, friction, zero = bench_case(name)
    assert set(np.sign(plan.arm)) == {-1, 1}
    fit = fit_bench(without_errors(paddle, plan, friction, zero))
    U = paddle.unbalance()
    assert np.hypot(*(fit.unbalance - U)) <= 1e-12 * np.hypot(*U)
    assert fit.friction == pytest.approx(friction, rel=1e-12)
    assert fit.zero == pytest.approx(zero, rel=1e-12)


@pytest.mark.parametrize("support", ["rollers", "rails"])
@pytest.mark.parametrize("direction", ["vertical", "tangential"])
def test_either_pull_on_either_support_gives_the_truth(direction, support):
    paddle, plan, friction, zero = bench_case("ocean")
    bench = replace(plan, support=support, pull_direction=direction)
    fit = fit_bench(without_errors(paddle, bench, friction, zero))
    assert fit.unbalance == pytest.approx(paddle.unbalance(), abs=1e-12)
    assert (fit.friction, fit.zero) == pytest.approx((friction, zero), rel=1e-9)
    assert fit.residuals == pytest.approx(np.zeros(plan.roll.size), abs=1e-12)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("support", ["rollers", "rails"])
@pytest.mark.parametrize("direction", ["vertical", "tangential"])
def test_turning_with_the_pull_needs_more_on_either_side(direction, support, side):
    paddle, plan, friction, _ = bench_case("ocean")
    bench = replace(
        plan,
        arm=np.full(plan.roll.size, side * plan.radius),
        support=support,
        pull_direction=direction,
    )
    pull = without_errors(paddle, bench, friction, 0.0).pull
    arm = plan.radius * (2 if (direction, support) == ("tangential", "rails") else 1)
    assert pull[::2] - pull[1::2] == pytest.approx(2 * friction / arm)


def test_a_tangential_pull_on_rails_is_half_of_that_on_rollers():
    paddle, plan, friction, _ = bench_case("mended")
    plan = replace(plan, pull_direction="tangential")
    rails, rollers = (
        without_errors(paddle, replace(plan, support=support), friction, 0.0).pull
        for support in ("rails", "rollers")
    )
    assert rollers == pytest.approx(2 * rails)


def test_masses_hung_on_a_string_pull_alike_on_rails_and_on_rollers():
    paddle, plan, friction, _ = bench_case("mended")
    rails, rollers = (
        without_errors(paddle, replace(plan, support=support), friction, 0.0).pull
        for support in ("rails", "rollers")
    )
    assert rollers == pytest.approx(rails) and min(rails) > 0


@pytest.mark.parametrize("name", ["ocean", "mended"])
def test_the_stated_region_covers_and_the_counterweight_holds(name):
    """500 benches: the 95 % region covers the truth in 93 to 99 % of them, and a counterweight
    of exactly minus the fit leaves less than friction in at least 95 %."""
    paddle, plan, friction, zero = bench_case(name)
    rng, U, region = np.random.default_rng(5), paddle.unbalance(), chi2(2).ppf(0.95)
    covered, stays = [], []
    for _ in range(500):
        fit = fit_bench(demo.simulate_lever(paddle, plan, friction, zero, rng))
        error = fit.unbalance - U
        covered.append(error @ np.linalg.solve(fit.unbalance_covariance, error) <= region)
        stays.append(STANDARD_GRAVITY * np.hypot(*error) <= friction)
    assert 0.93 <= np.mean(covered) <= 0.99
    assert np.mean(stays) >= 0.95


@pytest.mark.parametrize("name", demo.BENCHES)
def test_monte_carlo_agrees_with_the_propagated_covariance(name):
    readings, draws = read_bench(ROOT / f"data/bench/{name}_lever.csv"), 4000
    readings = replace(readings, gain_u=0.004, zero_u=0.05 if name == "sprint" else readings.zero_u)
    propagated = stated_covariance(readings, fit_bench(readings))
    u = np.sqrt(np.diag(propagated))
    sampling = np.sqrt((np.outer(u, u) ** 2 + propagated**2) / draws)
    drawn = monte_carlo_fit(readings, draws)
    assert np.all(np.abs(drawn - propagated) <= 4 * sampling)
    assert np.array_equal(drawn, monte_carlo_fit(readings, draws))


def test_common_errors_do_not_average_out():
    paddle, plan, friction, zero = bench_case("ocean")
    readings = without_errors(paddle, plan, friction, zero)
    often = replace(
        readings,
        **{key: np.tile(getattr(readings, key), 400) for key in ("roll", "arm", "pull", "turning")},
    )
    U = paddle.unbalance()
    along = U / np.hypot(*U)
    across = np.array([-along[1], along[0]])
    covariance = fit_bench(often).unbalance_covariance
    arm_share = np.hypot(*U) * plan.arm_u / np.abs(plan.arm[0])
    angle_share = np.hypot(*U) * plan.angle_zero_u
    assert np.sqrt(along @ covariance @ along) == pytest.approx(arm_share, rel=0.02)
    assert np.sqrt(across @ covariance @ across) == pytest.approx(angle_share, rel=0.02)


def test_unexplained_scatter_is_told_and_enlarges_the_covariance():
    paddle, plan, friction, zero = bench_case("ocean")
    worse = replace(plan, scale_u=5 * plan.scale_u, angle_u=0.0, arm_u=0.0, angle_zero_u=0.0)
    rng = np.random.default_rng(2)
    readings = demo.simulate_lever(paddle, worse, friction, zero, rng)
    fit = fit_bench(replace(readings, scale_u=plan.scale_u))
    assert fit.enlarged
    assert 3 < fit.birge < 7
    widened = fit.birge * np.sqrt(2 * f.ppf(0.95, 2, 20) / chi2.ppf(0.95, 2))
    stated = np.sqrt(stated_covariance(replace(readings, scale_u=plan.scale_u), fit)[2, 2])
    assert fit.friction_u == pytest.approx(stated * widened, rel=1e-6)


def test_the_region_is_never_narrower_than_stated():
    paddle, plan, friction, zero = bench_case("ocean")
    readings = without_errors(paddle, plan, friction, zero)
    fit = fit_bench(readings)
    assert not fit.enlarged and fit.birge < 1e-9
    assert fit.covariance == pytest.approx(stated_covariance(readings, fit), rel=1e-6, abs=1e-15)


def test_the_birge_ratio_is_the_size_of_the_residuals_for_the_readings_to_spare():
    residuals = np.array([3.0, -3.0, 3.0, -3.0, 3.0, -3.0])
    assert birge_ratio(residuals, np.full(6, 4.0), 4) == (pytest.approx(1.5 * 3**0.5), True)
    assert birge_ratio(residuals, np.full(6, 9.0), 5) == (pytest.approx(6**0.5), True)
    assert birge_ratio(residuals, np.full(6, 36.0), 4) == (pytest.approx(0.5 * 3**0.5), False)


def test_as_many_readings_as_unknowns_cannot_tell_their_scatter():
    paddle, plan, friction, zero = bench_case("ocean")
    chosen = [0, 5, 10, 15]
    fit = fit_bench(some(without_errors(paddle, plan, friction, zero), chosen))
    assert fit.unbalance == pytest.approx(paddle.unbalance(), rel=1e-9)
    assert fit.birge is None and not fit.enlarged and fit.spare == 0


def some(readings, chosen):
    return replace(
        readings,
        **{key: getattr(readings, key)[chosen] for key in ("roll", "arm", "pull", "turning")},
    )


def test_what_cannot_be_found_is_named():
    paddle, plan, friction, zero = bench_case("ocean")
    readings = without_errors(paddle, plan, friction, zero)
    with pytest.raises(InputError, match="the 4 unknowns U_y, U_z, friction, scale zero.$"):
        fit_bench(some(readings, slice(3)))
    with pytest.raises(
        InputError, match="friction and scale zero undetermined, expected roll"
    ) as e:
        fit_bench(some(readings, readings.turning > 0))
    assert str(e.value).endswith("angles spread over a turn, with and against the pull.")
    for angle in (0.0, 0.7):
        one_angle = replace(readings, roll=np.full_like(readings.roll, angle))
        one_side = replace(one_angle, arm=np.abs(readings.arm))
        with pytest.raises(InputError, match="U_z undetermined, expected .*spread over a turn"):
            fit_bench(one_angle)
        with pytest.raises(InputError, match="U_y and U_z and scale zero undetermined"):
            fit_bench(one_side)
    with pytest.raises(
        InputError,
        match="^One swing gives the roll inertia, .* or with a known mass[.]$",
    ):
        fit_bench(read_bench(ROOT / "data/bench/ocean_swing.csv"))


# The added mass


def test_an_added_mass_gives_minus_its_unbalance():
    U = np.array([0.011, -0.008])
    angle = np.full(4, np.arctan2(-U[1], -U[0]))
    exact = AddOnReadings(np.full(4, 0.2), np.full(4, np.hypot(*U) / 0.2), angle, 0.0, 0.0, 0.0)
    fit = fit_bench(exact)
    assert fit.unbalance == pytest.approx(U, rel=1e-12)
    assert (fit.friction, fit.zero, fit.friction_u) == (None, None, None)
    assert fit.unbalance_covariance == pytest.approx(np.zeros((2, 2)), abs=1e-30)
    stated = fit_bench(replace(exact, mass_u=0.002, angle_u=0.01))
    along, across = U / np.hypot(*U), np.array([-U[1], U[0]]) / np.hypot(*U)
    covariance = stated.unbalance_covariance
    assert np.sqrt(along @ covariance @ along) == pytest.approx(0.01 * np.hypot(*U))
    assert np.sqrt(across @ covariance @ across) == pytest.approx(0.01 * np.hypot(*U))


def test_residuals_of_an_added_mass_are_its_trials_about_their_mean():
    arm, angle = np.array([0.08, 0.081, 0.079, 0.08]), np.array([0.0, 0.1, 0.0, -0.1])
    fit = fit_bench(AddOnReadings(np.full(4, 0.2), arm, angle, 0.0, 0.0, 0.0))
    trials = -0.2 * np.column_stack([arm * np.cos(angle), arm * np.sin(angle)])
    assert fit.residuals == pytest.approx(trials - trials.mean(axis=0), abs=1e-15)
    assert fit.covariance.shape == (2, 2)


def test_an_added_mass_needs_repeated_trials():
    few = AddOnReadings(np.full(3, 0.2), np.full(3, 0.08), np.zeros(3), 0.0, 0.0, 0.0)
    with pytest.raises(InputError, match="3 trials don't show their scatter"):
        fit_bench(few)


@pytest.mark.parametrize("count", [4, 6, 12])
def test_two_standard_uncertainties_hold_95_percent_however_few_the_trials(count):
    """Trials that come to rest anywhere within friction, by their number."""
    rng, U, friction = np.random.default_rng(count), np.array([0.016, 0.0]), 3.5e-4
    held = []
    for _ in range(1500):
        turn, reach = 2 * np.pi * rng.random(count), friction * np.sqrt(rng.random(count))
        added = -U + reach[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
        angle = np.arctan2(added[:, 1], added[:, 0])
        arm = np.hypot(*added.T) / 0.15
        fit = fit_bench(AddOnReadings(np.full(count, 0.15), arm, angle, 0.0, 0.0, 0.0))
        held.append(abs(fit.unbalance - U) < 2 * np.sqrt(np.diag(fit.unbalance_covariance)))
    assert np.mean(held) == pytest.approx(0.95, abs=0.015)


# Acceptance


def test_the_probability_is_that_of_the_noncentral_chi_square():
    sigma, friction, residual = 1e-4, 3e-3, np.array([1.5e-4, -1e-4])
    verdict = acceptance(residual, sigma**2 * np.eye(2), friction, 0.0, 0.65)
    limit = (friction / STANDARD_GRAVITY / sigma) ** 2
    exact = ncx2(2, (residual @ residual) / sigma**2).cdf(limit)
    assert verdict.probability == pytest.approx(exact, abs=4e-3)
    assert verdict.verdict == "not settled"
    assert verdict.residual == pytest.approx(np.hypot(150, 100) * 1e-6)
    assert verdict.specific == pytest.approx(np.hypot(1.5e-4, 1e-4) / 0.65)


def test_verdicts():
    known = np.zeros((2, 2))
    edge = 3e-3 / STANDARD_GRAVITY
    assert acceptance((0.0, 0.99 * edge), known, 3e-3, 0.0, 0.65).verdict == "stays"
    assert acceptance((0.0, 1.01 * edge), known, 3e-3, 0.0, 0.65).verdict == "rolls"
    assert acceptance((0.0, edge), known, 3e-3, 1e-4, 0.65).probability == pytest.approx(
        0.5, abs=0.01
    )
    sure = acceptance((0.0, 0.0), known, 0.0, 0.0, 0.65)
    assert (sure.verdict, sure.probability, sure.friction) == ("stays", 1.0, 0.0)
    told, again = (acceptance((0.0, edge), known, 4e-3, 1e-3, 0.65) for _ in range(2))
    assert told.friction == 4e-3 and told.probability == pytest.approx(norm.cdf(1), abs=4e-3)
    assert told == again
    with pytest.raises(InputError, match="needs a residual, a friction moment"):
        acceptance((0.0, 0.0), known, np.nan, np.nan, 0.65)


# The demo files


def test_the_demo_files_are_those_the_tool_makes(tmp_path, monkeypatch):
    (tmp_path / "paddles").symlink_to(ROOT / "data/paddles")
    monkeypatch.setattr(demo, "DATA", tmp_path)
    demo.main()
    assert len(DEMO_BENCHES) == 9
    for path in DEMO_BENCHES:
        assert (tmp_path / "bench" / path.name).read_text() == path.read_text()


@pytest.mark.parametrize("path", KNOWN_BENCHES, ids=lambda path: path.stem)
def test_the_demo_benches_find_the_demo_paddles(path):
    readings = read_bench(path)
    paddle = load_paddle(ROOT / "data/paddles" / readings.paddle)
    if paddle.counterweights:
        paddle = demo.slipped(paddle)
    if isinstance(readings, SwingReadings):
        U, M, R = paddle.unbalance(), paddle.mass, paddle.shaft.radius
        fit = fit_swing(readings, U, M, R)
        assert abs(fit.inertia - paddle.inertia()[0, 0]) < 3 * fit.inertia_u
    elif isinstance(readings, SwingRecord):
        fit = fit_swing_record(readings)
        inertia, inertia_u = fit.inertia(paddle.unbalance(), paddle.mass)
        assert abs(inertia - paddle.inertia()[0, 0]) < 3 * inertia_u
    else:
        fit = fit_bench(readings)
        error = fit.unbalance - paddle.unbalance()
        assert error @ np.linalg.solve(fit.unbalance_covariance, error) < chi2(2).ppf(0.999)
        assert fit.doubts == () and fit.without is None


def test_size_and_direction_spread_like_draws_of_the_vector():
    covariance = np.array([[9e-10, 4e-10], [4e-10, 4e-10]])
    fit = BenchFit(np.array([0.012, -0.009]), covariance, None, None, np.zeros((3, 2)))
    size, direction, size_u, direction_u = fit.polar
    assert (size, direction) == pytest.approx((0.015, np.arctan2(-3, 4)))
    rng = np.random.default_rng(5)
    draws = rng.multivariate_normal(fit.unbalance, fit.unbalance_covariance, 100_000)
    assert size_u == pytest.approx(np.hypot(*draws.T).std(), rel=0.01)
    assert direction_u == pytest.approx(np.arctan2(*draws.T[::-1]).std(), rel=0.01)


def test_an_unbalance_of_zero_has_no_direction():
    fit = BenchFit(np.zeros(2), np.eye(2), None, None, np.zeros((3, 2)))
    size, *others = fit.polar
    assert size == 0 and np.isnan(others).all()


def test_a_fit_is_told_in_plain_words():
    """Each ± is two standard uncertainties; the direction counts from 0 to 360 degrees."""
    covariance = np.diag([1e-4, 4e-4, 5e-4, 0.012]) ** 2
    fit = BenchFit(np.array([0.0, -0.016]), covariance, 0.01234, -0.0345, np.zeros(9))
    assert str(fit).splitlines() == [
        "unbalance   16000 ± 800 g·mm",
        "direction   270.0 ± 0.7 degrees",
        "friction    12.3 ± 1.0 mN·m",
        "scale zero  -34 ± 24 mN",
        "± is two standard uncertainties, about 95 %",
    ]
    vague = BenchFit(np.array([0.0, -1e-4]), covariance, 0.01234, -0.0345, np.zeros(9))
    assert str(vague).splitlines()[1] == "direction   270.0 ± 114.6 degrees"
    told = replace(vague, friction=-1e-4, doubts=("A doubt.",))
    assert str(told).splitlines()[2::3] == ["friction    below 0.9 mN·m", "A doubt."]
    nothing = BenchFit(np.array([0.0, -1e-5]), covariance, 0.01234, -0.0345, np.zeros(9))
    assert "direction   270.0 ± 180.0 degrees" in str(nothing)
    add_on = str(fit_bench(read_bench(ROOT / "data/bench/ocean_add_on.csv")))
    assert "g·mm" in add_on and "friction" not in add_on


def test_a_million_readings(tmp_path):
    """Long files are read and fitted whole."""
    path = ROOT / "data/bench/ocean_lever.csv"
    text = path.read_text()
    start = text.index("\n", text.index("roll [deg]")) + 1
    long = tmp_path / "long.csv"
    long.write_text(text[:start] + text[start:] * (10**6 // 24))
    fit, once = fit_bench(read_bench(long)), fit_bench(read_bench(path))
    assert fit.residuals.size == 999984
    assert fit.unbalance == pytest.approx(once.unbalance)
    assert fit.friction_u < 0.05 * once.friction_u


def test_draws_in_blocks_tell_the_same(monkeypatch):
    readings, counts = read_bench(ROOT / "data/bench/ocean_lever.csv"), []

    def cov(rows):
        counts.append(rows.shape[1])
        return np.dot(rows - rows.mean(1, keepdims=True), rows.T) / (rows.shape[1] - 1)

    monkeypatch.setattr("numpy.cov", cov)
    whole = monte_carlo_fit(readings, draws=4005)
    monkeypatch.setattr("paddlebal.bench.fit._AT_ONCE", 10 * readings.pull.size)
    blocks = monte_carlo_fit(readings, draws=4005)
    assert counts == [4005, 4005]
    assert np.sqrt(np.diag(blocks)) == pytest.approx(np.sqrt(np.diag(whole)), rel=0.1)


def test_a_long_file_does_not_fill_the_memory():
    readings = read_bench(ROOT / "data/bench/ocean_lever.csv")
    columns = {k: np.tile(getattr(readings, k), 100) for k in ("roll", "arm", "pull", "turning")}
    tracemalloc.start()
    monte_carlo_fit(replace(readings, **columns), draws=1500)
    assert tracemalloc.get_traced_memory()[1] < 400e6
    tracemalloc.stop()
