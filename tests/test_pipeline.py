"""One bench file becomes a fit, a placement and a forecast."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from make_demo_bench import simulate_lever

from paddlebal.bench.fit import stated_covariance
from paddlebal.errors import InputError
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.formats.paddle import load_paddle
from paddlebal.paddle import SIDES
from paddlebal.pipeline import WORKSHOP_U, _percent, fit_file, paddle_file
from paddlebal.trim import trim_words
from paddlebal.unbalance import catch_torque, magnitude, roll_torque


def test_a_method_without_friction_has_no_forecast():
    file = data_path("bench", "ocean_add_on.csv")
    assert fit_file(file, read_bench(file)).forecast.startswith("not known")


def test_the_forecast_counts_how_the_piece_is_made():
    """A workshop that works a thousand times worse can promise nothing, with the same fit."""
    file = data_path("bench", "sprint_lever.csv")
    readings = read_bench(file)
    assert fit_file(file, readings).forecast.startswith("stays (9")
    worse = tuple(1000 * u for u in WORKSHOP_U)
    assert fit_file(file, readings, workshop_u=worse).forecast == "rolls (0%)"


@pytest.mark.parametrize("name", ["", "nowhere.toml"])
def test_a_paddle_that_is_not_found_is_told(tmp_path, name):
    with pytest.raises(InputError, match="field 'paddle'"):
        paddle_file(tmp_path / "x.csv", name)


@pytest.mark.parametrize("name", ["/etc/passwd", "../ocean.toml", "..", "a\\b.toml", "x" * 300])
def test_a_paddle_file_is_named_without_folders(tmp_path, name):
    with pytest.raises(InputError, match="expected a plain file name"):
        paddle_file(tmp_path / "x.csv", name)


def test_a_paddle_beside_the_bench_file_comes_before_one_in_the_next_folder(tmp_path):
    (tmp_path / "bench").mkdir()
    (tmp_path / "paddles").mkdir()
    beside, apart = tmp_path / "bench" / "my.toml", tmp_path / "paddles" / "my.toml"
    apart.touch()
    assert paddle_file(tmp_path / "bench" / "x.csv", "my.toml") == apart
    beside.touch()
    assert paddle_file(tmp_path / "bench" / "x.csv", "my.toml") == beside


def changed(**values):
    file = data_path("bench", "ocean_lever.csv")
    readings = read_bench(file)
    return fit_file(file, replace(readings, **{k: v(readings) for k, v in values.items()}))


def test_a_good_bench_raises_no_doubt():
    assert changed().doubts == ()


@pytest.mark.parametrize(
    ("values", "doubt"),
    [
        ({"arm": lambda r: abs(r.arm)}, "look at the arm's sign"),
        ({"pull": lambda r: 1e-3 * r.pull}, "below its uncertainty"),
        ({"turning": lambda r: -r.turning}, "are 'with' and 'against' exchanged"),
        ({"arm": lambda r: 0.6 * r.arm}, "would be 15,762 g·mm at 330°, the bench found"),
    ],
)
def test_a_slip_at_the_bench_is_doubted(values, doubt):
    assert any(doubt in sentence for sentence in changed(**values).doubts)


def test_the_cost_is_that_of_the_unbalance_found_not_of_the_file():
    fitting = changed(arm=lambda r: 0.6 * r.arm)
    U, paddle = fitting.fit.unbalance, fitting.paddle
    torques = [abs(float(roll_torque(U, paddle.catch_angle(side)))) for side in SIDES]
    assert fitting.cost.holding_torque_before == pytest.approx(max(torques))
    assert fitting.cost.holding_torque_after == pytest.approx(0, abs=1e-9)
    assert max(torques) < 0.7 * catch_torque(paddle)


def test_a_verdict_that_is_not_settled_carries_its_remedy():
    file = data_path("bench", "ocean_lever.csv")
    readings = read_bench(file)
    coarse = fit_file(file, replace(readings, scale_u=2 * readings.scale_u))
    assert coarse.forecast.startswith("not settled")
    for then, now in re.findall(r"\((\d+)% in place of (\d+)%\)", coarse.remedy):
        assert f"({now}%)" in coarse.forecast and int(then) > int(now)
    assert coarse.remedy.startswith("What would settle it: a scale that reads twice as finely (")
    assert fit_file(file, readings).remedy == ""


def test_the_remedy_is_what_better_instruments_would_give():
    """A bench read with the better scale settles what the remedy says it would."""
    file = data_path("bench", "glued_lever.csv")
    readings = read_bench(file)
    fitting = fit_file(file, readings)
    chance = int(re.search(r"(\d+)% in place", fitting.remedy)[1])
    stated = stated_covariance(readings, fitting.fit)
    finer = stated_covariance(replace(readings, scale_u=readings.scale_u / 2), fitting.fit)
    better = replace(fitting.fit, covariance=fitting.fit.covariance + finer - stated)
    assert f"({chance}%)" in replace(fitting, fit=better).forecast


@pytest.mark.parametrize(
    ("probability", "shown"),
    [(0.9499, "94%"), (0.95, "95%"), (0.999, "100%"), (0.0501, "6%"), (0.05, "5%"), (0.0, "0%")],
)
def test_a_percentage_never_shows_the_limit_that_it_misses(probability, shown):
    assert _percent(probability) == shown


@pytest.mark.parametrize("pieces", ["pair", "halves"])
def test_two_pieces_are_forecast_together(pieces):
    file = data_path("bench", "ocean_lever.csv")
    readings = read_bench(file)
    fitting = fit_file(file, readings, pieces=pieces)
    assert len(fitting.pieces) == 2
    weights = [weight for piece in fitting.pieces for weight in piece.counterweights]
    left = fitting.fit.unbalance + sum(weight.unbalance for weight in weights)
    assert fitting.residual == pytest.approx(left)
    assert fitting.forecast.startswith("stays")
    assert fitting.balanced.mass == pytest.approx(
        fitting.paddle.mass + sum(weight.mass for weight in weights)
    )


def test_halves_need_the_halves():
    file = data_path("bench", "glued_lever.csv")
    with pytest.raises(InputError, match="glued_lever.csv: what each half weighs is not known"):
        fit_file(file, read_bench(file), pieces="halves")


def test_a_weight_that_is_on_is_changed_and_a_second_one_comes_only_on_request():
    file = data_path("bench", "ocean_fitted_lever.csv")
    readings = read_bench(file)
    fitting = fit_file(file, readings)
    assert fitting.trim is not None and fitting.doubts == ()
    (weight,), (piece,) = fitting.paddle.counterweights, fitting.pieces
    assert piece.mass == pytest.approx(weight.mass + fitting.trim.added)
    assert fitting.balanced.mass == pytest.approx(fitting.paddle.mass + fitting.trim.added)
    assert fitting.present == "rolls (0%)" and fitting.forecast.startswith("stays")
    second = fit_file(file, readings, second=True)
    assert second.trim is None and second.pieces[0].mass < 0.1
    assert second.balanced.mass == pytest.approx(second.paddle.mass + second.pieces[0].mass)


def test_a_weight_on_a_paddle_known_from_outside_is_part_of_its_mass(tmp_path):
    bench = data_path("bench", "ocean_fitted_lever.csv")
    (tmp_path / "ocean_fitted.toml").write_text(
        data_path("paddles", "glued.toml").read_text(encoding="utf-8")
        + "[[counterweight]]\nmass_g = 197\narm_mm = 80\nangle_deg = 150\n"
        "x_mm = 70\ndensity_kg_m3 = 8500\n",
        encoding="utf-8",
    )
    fitting = fit_file(tmp_path / "x.csv", read_bench(bench))
    assert fitting.trim is not None
    assert fitting.balanced.mass == pytest.approx(0.637 + fitting.trim.added)
    assert len(fitting.balanced.counterweights) == 1
    assert fitting.cost.holding_torque_before > 1e-3
    assert fitting.cost.holding_torque_after == pytest.approx(0, abs=1e-12)


def test_coarse_steps_offer_a_heavier_piece_on_the_sheet():
    file = data_path("bench", "ocean_lever.csv")
    steps = dict(mass_step=0.01, arm_step=0.005, arm=(0.0, 0.08))
    fitting = fit_file(file, read_bench(file), **steps)
    assert fitting.better is not None
    assert magnitude(fitting.better.residual) < magnitude(fitting.residual) / 2
    sheet = fitting.sheet("2026-01-02")
    assert any(str(fitting.better) in note for note in sheet.beside[2].notes)


def test_a_paddle_that_was_balanced_well_is_said_to_stay():
    """What is left lies below its uncertainty: with the weight on that is no doubt but the aim."""
    file = data_path("bench", "ocean_fitted_lever.csv")
    fitted = load_paddle(data_path("paddles", "ocean_fitted.toml"))
    (weight,) = fitted.counterweights
    exact = replace(weight, mass=weight.mass * 1.0004, angle=math.radians(150))
    balanced = replace(fitted, counterweights=(exact,))
    readings = simulate_lever(
        balanced, replace(read_bench(file), rest=None), 3.5e-3, -0.05, np.random.default_rng(1)
    )
    fitting = fit_file(file, readings)
    assert fitting.fit.direction_open and fitting.doubts == ()
    assert fitting.present.startswith("stays (")
    assert trim_words(fitting.paddle, fitting.trim).startswith("Change nothing")
    assert fitting.pieces[0].mass == fitting.paddle.counterweights[0].mass
    assert fitting.residual is fitting.fit.unbalance and fitting.forecast.startswith("stays (")
    assert any("Change nothing" in note for note in fitting.sheet("2026-01-02").first[0].notes)
