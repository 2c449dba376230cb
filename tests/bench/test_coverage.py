"""How often the stated region holds the truth, over many synthetic benches."""

import numpy as np
import pytest
from make_demo_bench import BENCHES, plan_lever, simulate_lever
from scipy.stats import binom

from paddlebal import data_path, fit_bench, load_paddle

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
BENCH = BENCHES["ocean"]
CHI_SQUARE = -2 * np.log(0.05)
"""95 % of a normal distribution in the plane lies within this squared distance."""


def held(count, seed):
    """In how many of so many honest benches the 95 % region holds the true unbalance."""
    rng, inside = np.random.default_rng(seed), 0
    friction, zero = BENCH["friction"], BENCH["zero"]
    plan = plan_lever(OCEAN, BENCH["bench"], BENCH["arm"], friction)
    for _ in range(count):
        fit = fit_bench(simulate_lever(OCEAN, plan, friction, zero, rng))
        off = fit.unbalance - OCEAN.unbalance()
        inside += off @ np.linalg.solve(fit.unbalance_covariance, off) <= CHI_SQUARE
    return inside


def test_the_region_of_an_honest_bench_holds_the_truth_often_enough():
    assert held(60, seed=5) >= binom.ppf(0.001, 60, 0.94)


@pytest.mark.prove
def test_the_region_holds_the_truth_as_often_as_stated():
    """4000 benches; the simulator shares no equation with the fit. At least 94 %, binomial."""
    count = 4000
    assert held(count, seed=6) >= binom.ppf(0.001, count, 0.94)
