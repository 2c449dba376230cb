"""How far a piece may be off."""

import math
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from placing import LIMITS, blade, paddle, vectors, weighted

from paddlebal.errors import InputError
from paddlebal.placement import (
    half_unbalance,
    place_counterweight,
)
from paddlebal.tolerance import angle_error_residual, placement_tolerance
from paddlebal.unbalance import magnitude


@given(vectors(), st.floats(-math.pi, math.pi))
def test_an_angle_error_leaves_the_difference_of_two_vectors(U, error):
    c, s = math.cos(error), math.sin(error)
    difference = U - np.array([[c, -s], [s, c]]) @ U
    assert angle_error_residual(U, error) == pytest.approx(magnitude(difference), abs=1e-15)


def test_each_input_alone_agrees_with_its_closed_form():
    U = np.array([0.012, -0.004])
    placed = place_counterweight(U, LIMITS)
    u, two_sigma = (1e-3, 5e-4, math.radians(1)), 1.959964
    spread = placement_tolerance(placed, U, *u, draws=400_000, rng=np.random.default_rng(3))
    q95 = {name: quantiles[1] for name, quantiles in spread.alone.items()}
    assert q95["mass"] == pytest.approx(two_sigma * u[0] * placed.arm, rel=0.01)
    assert q95["arm"] == pytest.approx(two_sigma * u[1] * placed.mass, rel=0.01)
    assert q95["angle"] == pytest.approx(angle_error_residual(U, two_sigma * u[2]), rel=0.01)


def test_the_covariance_of_a_fitted_piece_is_that_of_pieces_fitted_a_little_off():
    rng, placed = np.random.default_rng(4), place_counterweight((0.012, -0.004), LIMITS)
    u = 1e-3, 5e-4, math.radians(1)
    mass, arm, angle = (
        value + uncertainty * rng.standard_normal(200_000)
        for value, uncertainty in zip((placed.mass, placed.arm, placed.angle), u, strict=True)
    )
    drawn = np.cov(mass * arm * [np.cos(angle), np.sin(angle)])
    assert placed.covariance(*u) == pytest.approx(drawn, rel=0.02)


@pytest.mark.parametrize(("x", "far"), [(0.1, "left"), (-0.1, "right")])
def test_an_error_of_feather_leaves_what_the_misset_paddle_has(x, far):
    before = paddle(60.0, right=blade("right", mass=0.19))
    placed = place_counterweight(before.unbalance(), LIMITS, x=x)
    u, two_sigma = math.radians(1), 1.959964
    spread = placement_tolerance(
        placed, before.unbalance(), 0, 0, 0, 400_000, np.random.default_rng(6), (0.95,),
        feather_u=u, far_half=half_unbalance(before, far),
    )  # fmt: skip
    misset = weighted(before, placed).with_feather(60 + math.degrees(two_sigma * u))
    assert spread.alone["feather"][0] == pytest.approx(magnitude(misset.unbalance()), rel=0.01)
    assert spread.quantiles == pytest.approx(spread.alone["feather"], rel=1e-12)


def test_the_histogram_agrees_with_the_draws_kept_whole():
    U = np.array([0.012, -0.004])
    placed = place_counterweight(U, replace(LIMITS, angle_step=math.radians(10)))
    far = np.array([0.006, 0.002])
    spread = placement_tolerance(
        placed, U, 2e-3, 1e-3, 0.03, 300_000, np.random.default_rng(4), (0.1, 0.9), 0.3, far
    )
    rng = np.random.default_rng(5)
    m, r, a, f = (
        value + u * rng.standard_normal(300_000)
        for value, u in ((placed.mass, 2e-3), (placed.arm, 1e-3), (placed.angle, 0.03), (0, 0.3))
    )
    turned = np.array([np.cos(f), np.sin(f)]), np.array([-np.sin(f), np.cos(f)])
    misset = far[0] * turned[0] + far[1] * turned[1] - far[:, None]
    whole = np.hypot(*(U[:, None] + m * r * [np.cos(a), np.sin(a)] + misset))
    assert spread.quantiles == pytest.approx(np.quantile(whole, [0.1, 0.9]), rel=0.01)
    assert tuple(spread.probabilities) == (0.1, 0.9)
    assert spread.counts.sum() == spread.draws == 300_000
    assert spread.edges[-1] > whole.max()


def test_a_perfect_piece_leaves_its_nominal_residual():
    U = np.array([0.012, -0.004])
    placed = place_counterweight(U, replace(LIMITS, angle_step=math.radians(10)))
    spread = placement_tolerance(placed, U, 0.0, 0.0, 0.0, draws=10)
    bin_width = spread.edges[1]
    assert np.all(np.abs(spread.quantiles - magnitude(placed.residual)) <= bin_width * (1 + 1e-9))
    with pytest.raises(InputError, match="at least 0"):
        placement_tolerance(placed, U, -1e-3, 0.0, 0.0)


@pytest.mark.parametrize(
    ("off", "reach"),
    [
        ({"mass_u": 1e-3}, 8e-3 * 0.06),
        ({"arm_u": 1e-3}, 8e-3 * 0.2),
        ({"mass_u": 1e-3, "arm_u": 1e-3}, 8e-3 * (0.2 + 0.06 + 8e-3)),
        ({"angle_u": 0.05}, 0.012 * 0.4),
        ({"angle_u": 1.0}, 0.012 * 2),
        ({"feather_u": 0.05}, 0.005 * 0.4),
        ({"feather_u": 1.0}, 0.005 * 2),
    ],
)
def test_the_histogram_reaches_eight_standard_uncertainties_out(off, reach):
    """An angle's error counts as arc, up to turning round."""
    placed = place_counterweight([0.012, 0.0], LIMITS)
    stated = dict.fromkeys(("mass_u", "arm_u", "angle_u"), 0.0) | off
    spread = placement_tolerance(placed, [0.012, 0.0], draws=1, far_half=(0.003, 0.004), **stated)
    assert spread.edges.size == 20_001
    assert spread.edges[-1] == pytest.approx(reach)
    assert spread.counts.sum() == 1


@pytest.mark.parametrize("name", ["mass_u", "arm_u", "angle_u", "feather_u"])
def test_an_uncertainty_below_zero_is_refused(name):
    placed = place_counterweight([0.012, 0.0], LIMITS)
    stated = dict.fromkeys(("mass_u", "arm_u", "angle_u"), 0.0) | {name: -1e-3}
    with pytest.raises(InputError, match="^The uncertainties are at least 0 and the"):
        placement_tolerance(placed, [0.012, 0.0], draws=10, **stated)


def test_the_same_generator_gives_the_same_spread():
    placed = place_counterweight([0.012, 0.0], LIMITS)
    one, other = (
        placement_tolerance(placed, [0.012, 0.0], 1e-3, 5e-4, 0.02, 1000, np.random.default_rng(1))
        for _ in range(2)
    )
    assert np.array_equal(one.counts, other.counts)


def test_the_draws_are_streamed():
    placed = place_counterweight([0.012, 0.0], LIMITS)
    tracemalloc.start()
    placement_tolerance(placed, [0.012, 0.0], 1e-3, 5e-4, 0.02, 1_000_000, np.random.default_rng(1))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 16e6
