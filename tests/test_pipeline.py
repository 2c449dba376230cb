"""One bench file becomes a fit, a placement and a forecast."""

from dataclasses import replace

import pytest

from paddlebal.errors import InputError
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.paddle import SIDES
from paddlebal.pipeline import WORKSHOP_U, fit_file, paddle_file
from paddlebal.unbalance import catch_torque, roll_torque


def test_a_method_without_friction_has_no_forecast():
    file = data_path("bench", "ocean_add_on.csv")
    assert fit_file(file, read_bench(file)).forecast.startswith("not known")


def test_the_forecast_counts_how_the_piece_is_made():
    """A workshop that works a thousand times worse can promise nothing, with the same fit."""
    file = data_path("bench", "sprint_lever.csv")
    readings = read_bench(file)
    assert fit_file(file, readings).forecast.startswith("stays (9")
    worse = tuple(1000 * u for u in WORKSHOP_U)
    assert fit_file(file, readings, worse).forecast == "rolls (0%)"


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
