"""The couple, half by half and inferred, against paddles whose parts are known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, chi2

from paddlebal import InputError, couple_of_halves, couple_of_one_piece, load_paddle
from paddlebal.bench.fit import fit_bench
from paddlebal.couple import PLACE_U, blade_middles
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.formats.paddle import load_any_paddle
from paddlebal.outside import SIDEWAYS_U, OutsidePaddle, OutsideShaft
from paddlebal.paddle import KeepOut
from paddlebal.two_planes import couple_unbalance
from paddlebal.units import DEG

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
GLUED = load_any_paddle(data_path("paddles", "glued.toml"))
HALVES = [
    (blade.mass * blade.offset * np.array([np.cos(a), np.sin(a)]), np.zeros((2, 2)))
    for blade, a in ((OCEAN.left, OCEAN.blade_angle("left")),
                     (OCEAN.right, OCEAN.blade_angle("right")))
]  # fmt: skip
PLACES = OCEAN.left.x, OCEAN.right.x
OUTSIDE = OutsidePaddle(
    "ocean from outside", OCEAN.mass, 0.0, OutsideShaft(OCEAN.shaft.length, (0.0292, 0.0292)),
    "right", feather=60 * DEG, face=0.0, face_u=1 * DEG,
)  # fmt: skip


def test_check_value_of_two_equal_blades():
    """2 m d sin(feather / 2) x_b, computed independently for 60°: 0.00846300 kg·m²."""
    assert couple_of_halves(HALVES, PLACES).size == pytest.approx(0.00846300, abs=1e-7)


def test_both_ways_give_the_couple_of_the_parts():
    true = couple_unbalance(OCEAN)
    assert couple_of_halves(HALVES, PLACES).couple == pytest.approx(true, abs=1e-9)
    outside = replace(OUTSIDE, face=OCEAN.catch_angle("right"))
    found = couple_of_one_piece(outside, OCEAN.unbalance(), np.zeros((2, 2)), PLACES)
    assert found.couple == pytest.approx(true, abs=1e-9)
    assert 0.0001 < found.size_u < 0.002


@pytest.mark.parametrize("one_piece", [False, True])
def test_the_region_holds_the_couple(one_piece):
    """Places, unbalances, face and blades' masses off by their uncertainties."""
    rng, inside, runs = np.random.default_rng(0), 0, 400
    spread = (50e-6) ** 2 * np.eye(2)
    outside = replace(OUTSIDE, face=OCEAN.catch_angle("right"))
    angles = [OCEAN.blade_angle(side) for side in ("left", "right")]
    for _ in range(runs):
        off = rng.standard_normal(2) * PLACE_U
        places = np.array(PLACES) + off
        sideways = rng.standard_normal(2) * SIDEWAYS_U if one_piece else np.zeros(2)
        face = rng.standard_normal() * outside.face_u if one_piece else 0.0
        vectors = [
            np.hypot(*U) * np.array([np.cos(a + s + face), np.sin(a + s + face)])
            for (U, _c), a, s in zip(HALVES, angles, sideways, strict=True)
        ]
        true = sum(x * U for x, U in zip(places, vectors, strict=True))
        seen = [U + rng.multivariate_normal(np.zeros(2), spread) for U in vectors]
        if one_piece:
            found = couple_of_one_piece(outside, sum(seen), 2 * spread, PLACES)
        else:
            found = couple_of_halves([(U, spread) for U in seen], PLACES)
        gap = found.couple - true
        inside += gap @ np.linalg.solve(found.covariance, gap) < chi2.ppf(0.95, 2)
    low, high = binom.ppf([0.001, 0.999], runs, 0.95)
    assert low <= inside <= high


def test_the_demos_glued_paddle_tells_where_its_blades_are():
    assert blade_middles(GLUED) == pytest.approx((-0.9525, 0.9525))
    fit = fit_bench(read_bench(data_path("bench", "glued_lever.csv")))
    found = couple_of_one_piece(GLUED, fit.unbalance, fit.unbalance_covariance)
    assert 0.003 < found.size < 0.02 and found.size_u < 0.3 * found.size


def test_what_is_not_known_is_said():
    U, none = OCEAN.unbalance(), np.zeros((2, 2))
    with pytest.raises(InputError, match="not known of this paddle"):
        couple_of_one_piece(OUTSIDE, U, none)
    same = replace(OUTSIDE, feather=2 * DEG)
    with pytest.raises(InputError, match="point the same way"):
        couple_of_one_piece(same, U, none, PLACES)
    one = replace(OUTSIDE, keep_outs=(KeepOut("left blade", -OCEAN.shaft.length / 2, -0.7),))
    assert blade_middles(one) is None
