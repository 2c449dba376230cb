"""What readings will tell, against what the fit then states and against trying all angles."""

from itertools import combinations

import numpy as np
import pytest

from paddlebal.bench.fit import fit_bench, stated_covariance
from paddlebal.bench.lever import Guess
from paddlebal.bench.plan import (
    even_angles,
    expected_readings,
    first_guess,
    next_angle,
    plan_readings,
    region_size,
)
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench

BENCH = read_bench(data_path("bench", "ocean_lever.csv"))
FIT = fit_bench(BENCH)
GUESS = Guess(FIT.unbalance, FIT.friction, FIT.zero)


@pytest.mark.parametrize("count", [4, 6])
def test_even_angles_are_as_good_as_the_best_of_all_choices(count):
    choices = combinations(even_angles(12), count)
    best = min(region_size(BENCH, chosen, GUESS) for chosen in choices)
    assert region_size(BENCH, even_angles(count), GUESS) == pytest.approx(best, rel=1e-3)


def test_expected_readings_are_fitted_by_what_was_expected():
    fit = fit_bench(expected_readings(BENCH, even_angles(6), GUESS))
    np.testing.assert_allclose(fit.unbalance, GUESS.unbalance, rtol=1e-6)
    assert fit.friction == pytest.approx(GUESS.friction)


def test_a_plan_states_what_the_fit_then_states():
    start = first_guess(0.65, rest=-np.arctan2(*FIT.unbalance[::-1]) - np.pi / 2)
    plan = plan_readings(BENCH, start, np.zeros((2, 2)), 0.65, (12,))
    made = expected_readings(BENCH, plan.angles, GUESS)
    stated = stated_covariance(made, fit_bench(made))
    for each in range(2):
        assert plan.covariance[each, each] ** 0.5 == pytest.approx(
            stated[each, each] ** 0.5, rel=0.1
        )


def test_the_next_angle_is_one_that_was_not_read():
    read = np.radians([0.0, 90.0, 180.0])
    following = next_angle(BENCH, read, GUESS)
    assert np.min(np.abs(np.angle(np.exp(1j * (read - following))))) > np.radians(30)
