"""Weights that are on are changed, not joined by others."""

import math
from dataclasses import replace

import numpy as np
import pytest

from paddlebal import InputError, fit_bench, load_paddle, read_bench, trim_counterweights
from paddlebal.files.text import data_path
from paddlebal.outside import OutsidePaddle, OutsideShaft
from paddlebal.paddle import Counterweight
from paddlebal.trim import trim_words, turn_words

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))


def test_a_trimmed_weight_leaves_nothing_and_stays_in_its_place():
    balanced = Counterweight(0.2, 0.08, 2.6, 0.07, 8500.0)
    wrong = replace(balanced, mass=0.19, angle=2.7)
    change = trim_counterweights((wrong,), wrong.unbalance - balanced.unbalance)
    (better,) = change.weights
    assert better.mass == pytest.approx(0.2) and better.angle == pytest.approx(2.6)
    assert (better.arm, better.x, better.density) == (0.08, 0.07, 8500.0)
    assert change.added == pytest.approx(0.01) and change.turn == pytest.approx(-0.1)
    assert change.added_u == change.turn_u == 0


def test_a_pair_is_trimmed_alike():
    pair = tuple(Counterweight(0.1, 0.08, 2.6, x) for x in (-0.1, 0.1))
    residual = np.array([3e-4, -2e-4])
    change = trim_counterweights(pair, residual)
    now, then = (sum(w.unbalance for w in each) for each in (pair, change.weights))
    assert then == pytest.approx(now - residual)
    assert change.weights[0].mass == pytest.approx(change.weights[1].mass)


def test_the_uncertainty_of_a_change_is_that_of_drawn_residuals():
    weight, covariance = Counterweight(0.2, 0.08, 2.6), np.array([[4e-8, 1e-8], [1e-8, 2e-8]])
    residual = np.array([3e-4, -2e-4])
    change = trim_counterweights((weight,), residual, covariance)
    rng = np.random.default_rng(1)
    drawn = [
        trim_counterweights((weight,), r)
        for r in rng.multivariate_normal(residual, covariance, 20_000)
    ]
    assert np.std([each.added for each in drawn]) == pytest.approx(change.added_u, rel=0.03)
    assert np.std([each.turn for each in drawn]) == pytest.approx(change.turn_u, rel=0.03)


def test_a_weight_measured_on_the_demo_bench_is_turned_back_to_where_it_belongs():
    """The bench was computed with the weight 3 degrees off and nothing else wrong with it."""
    fitted = load_paddle(data_path("paddles", "ocean_fitted.toml"))
    fit = fit_bench(read_bench(data_path("bench", "ocean_fitted_lever.csv")))
    change = trim_counterweights(fitted.counterweights, fit.unbalance, fit.unbalance_covariance)
    assert abs(change.turn + math.radians(3)) < 3 * change.turn_u
    assert abs(change.added) < 3 * change.added_u
    words = trim_words(fitted, change)
    assert words.startswith(f"Turn the weight {-math.degrees(change.turn):.1f} ± ")
    assert " clockwise, seen from the right end" in words.replace("(", " ")


def test_a_weight_that_sits_right_is_left_alone():
    weight, covariance = Counterweight(0.2, 0.08, 2.6), 1e-8 * np.eye(2)
    change = trim_counterweights((weight,), [1e-4, 1e-4], covariance)
    assert trim_words(OCEAN, change).startswith("Change nothing: the weight sits right")


@pytest.mark.parametrize(
    ("angle_deg", "turn", "toward"),
    [(150, 1, "the right blade's face"), (150, -1, "the left blade's face"),
     (10, -1, "the right blade's back"), (200, 1, "the left blade's back")],
)  # fmt: skip
def test_a_turn_is_told_by_the_blades(angle_deg, turn, toward):
    """Right control, feather 60 degrees: backs at 0 and 300, faces at 180 and 120 degrees."""
    words = turn_words(OCEAN, math.radians(angle_deg), 0.1 * turn)
    assert words.startswith(f"toward {toward} (")
    assert ("counterclockwise" in words) == (turn > 0)


def test_a_turn_on_a_paddle_known_from_outside_needs_no_face():
    paddle = OutsidePaddle("x", 0.6, 0.0, OutsideShaft(2.1, (0.029, 0.029)), "right")
    assert turn_words(paddle, 1.0, 0.1) == "counterclockwise, seen from the right end"


def test_weights_that_balance_nothing_cannot_be_trimmed():
    opposite = tuple(Counterweight(0.1, 0.05, angle) for angle in (0.0, math.pi))
    for weights in ((Counterweight(0.1, 0.0, 0.0),), opposite):
        with pytest.raises(InputError, match="^Weights that balance nothing .* above 0[.]$"):
            trim_counterweights(weights, [0.0, 1e-3])
