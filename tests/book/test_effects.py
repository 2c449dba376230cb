"""Variance components against published examples, statsmodels and a dense likelihood."""

import numpy as np
import pytest

from paddlebal import InputError
from paddlebal.book.chart import D2, D3, control_chart
from paddlebal.book.effects import nested_effects

# O. L. Davies, P. L. Goldsmith, Statistical Methods in Research and Production, 4th ed. 1972,
# section 6.4: yield of dyestuff from six batches, as the documentation of lme4 prints it with the
# result of its REML fit: standard deviations 42.00 and 49.51, mean 1528, criterion 319.6543.
DYESTUFF = np.array([
    1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495, 1595, 1550, 1605, 1510, 1560,
    1445, 1440, 1595, 1465, 1545, 1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445,
])  # fmt: skip
BATCH = np.repeat(np.arange(6), 5)


def test_dyestuff_yields():
    found = nested_effects(DYESTUFF, np.zeros(30), [BATCH])
    assert found.between[0] ** 0.5 == pytest.approx(42.00, abs=0.005)
    assert found.within**0.5 == pytest.approx(49.51, abs=0.005)
    assert found.criterion == pytest.approx(319.6543, abs=5e-5)
    assert found.mean == pytest.approx(1527.5)


def test_dyestuff_by_the_analysis_of_variance():
    """Balanced, the components follow from the mean squares."""
    means = DYESTUFF.reshape(6, 5).mean(axis=1)
    between = 5 * np.var(means, ddof=1)
    within = ((DYESTUFF.reshape(6, 5) - means[:, None]) ** 2).sum() / 24
    found = nested_effects(DYESTUFF, np.zeros(30), [BATCH])
    assert found.within == pytest.approx(within, rel=1e-5)
    assert found.between[0] == pytest.approx((between - within) / 5, rel=1e-5)


def lopsided(rng):
    model = np.repeat(np.arange(12), [2, 2, 3, 1, 4, 2, 3, 1, 2, 2, 1, 2])
    size = np.repeat(np.arange(model.size), rng.integers(1, 9, model.size))
    values = 50 + rng.normal(0, 3, 12)[model][size] + rng.normal(0, 2, model.size)[size]
    return values + rng.normal(0, 1.5, size.size), size, model


def test_lopsided_and_nested_against_statsmodels():
    import pandas as pd
    import statsmodels.api as sm

    values, size, model = lopsided(np.random.default_rng(1))
    found = nested_effects(values, np.zeros(values.size), [size, model])
    frame = pd.DataFrame({"y": values, "model": model[size], "size": size})
    fit = sm.MixedLM.from_formula(
        "y ~ 1", frame, groups="model", re_formula="1", vc_formula={"size": "0 + C(size)"}
    ).fit(reml=True)
    assert found.within == pytest.approx(fit.scale, rel=2e-3)
    assert found.between[1] == pytest.approx(float(np.squeeze(fit.cov_re)), rel=5e-3)
    assert found.between[0] == pytest.approx(float(fit.vcomp[0]), rel=5e-3)
    assert found.criterion == pytest.approx(-2 * fit.llf, abs=1e-3)


def dense(values, noise, size, model, components):
    """Minus twice the restricted log likelihood by the whole covariance matrix."""
    within, of_size, of_model = components
    owner = model[size]
    V = np.diag(noise + within) + of_size * (size[:, None] == size)
    V = V + of_model * (owner[:, None] == owner)
    X = np.ones((values.size, 1))
    Vi = np.linalg.inv(V)
    XtViX = X.T @ Vi @ X
    mean = np.linalg.solve(XtViX, X.T @ Vi @ values)
    off = values - X @ mean
    told = np.linalg.slogdet(V)[1] + np.linalg.slogdet(XtViX)[1] + off @ Vi @ off
    return told + (values.size - 1) * np.log(2 * np.pi), mean, V, XtViX


def test_unequal_noise_against_the_whole_matrix():
    rng = np.random.default_rng(3)
    values, size, model = lopsided(rng)
    noise = rng.uniform(0, 2, values.size) ** 2
    values = values + np.sqrt(noise) * rng.standard_normal(values.size)
    found = nested_effects(values, noise, [size, model])
    own = found.within, *found.between
    assert found.criterion == pytest.approx(dense(values, noise, size, model, own)[0], abs=1e-8)
    for k in range(3):
        for factor in (0.97, 1.03):
            other = [c * (factor if i == k else 1) for i, c in enumerate(own)]
            assert dense(values, noise, size, model, other)[0] > found.criterion - 1e-7


def test_expected_values_of_groups_against_the_whole_matrix():
    """Henderson's best linear unbiased prediction and its variance, by dense matrices."""
    rng = np.random.default_rng(4)
    values, size, model = lopsided(rng)
    noise = rng.uniform(0, 1, values.size)
    found = nested_effects(values, noise, [size, model])
    _told, mean, V, XtViX = dense(values, noise, size, model, found.expected)
    _within, of_size, of_model = found.expected
    k = 5
    c = of_size * (size == k) + of_model * (model[size] == model[k])
    Vi = np.linalg.inv(V)
    expected = mean[0] + c @ Vi @ (values - mean[0])
    d = 1 - Vi.sum(axis=0) @ c
    variance = of_size + of_model - c @ Vi @ c + d**2 / XtViX[0, 0]
    assert found.groups[0].mean[k] == pytest.approx(expected, rel=1e-9)
    assert found.groups[0].variance[k] == pytest.approx(variance, rel=1e-9)


def test_a_component_that_is_none_is_found_none_and_still_expected():
    # G. E. P. Box, G. C. Tiao 1973, section 5.1.2 describe data whose batches differ less than
    # their members; here such data are made.
    rng = np.random.default_rng(0)
    values = rng.standard_normal((6, 5))
    values -= values.mean(axis=1, keepdims=True)
    found = nested_effects(values.ravel(), np.zeros(30), [BATCH])
    assert found.between[0] == 0.0 and found.expected[1] > 0


def test_values_that_cannot_be_used():
    with pytest.raises(InputError, match="two finite values"):
        nested_effects(np.array([1.0]), np.zeros(1), [])
    with pytest.raises(InputError, match="two finite values"):
        nested_effects(np.array([1.0, np.nan]), np.zeros(2), [])


def test_values_all_alike():
    found = nested_effects(np.full(6, 3.0), np.full(6, 0.01), [np.repeat([0, 1], 3)])
    assert found.mean == pytest.approx(3.0) and found.between[0] < 1e-4


# NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2: flow rate of ten batches.
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_control_limits_of_the_handbook():
    chart = control_chart(FLOW, first=10)
    assert chart.centre == pytest.approx(50.81)
    assert chart.low == pytest.approx(45.8159, abs=2e-3)
    assert chart.high == pytest.approx(55.8041, abs=2e-3)
    assert not chart.moved.any()
    steps = chart.spread
    assert steps.centre == pytest.approx(1.8778, abs=5e-5)
    assert steps.high == pytest.approx(3.267 * 1.8778, rel=1e-3) and not steps.moved.any()


def test_constants_of_the_handbook():
    assert round(D2, 3) == 1.128
    assert pytest.approx(3.267, abs=1e-3) == 1 + 3 * D3 / D2


def test_a_bench_that_moved_is_told_and_one_that_did_not_is_not():
    rng = np.random.default_rng(5)
    steady = rng.normal(0, 1, 30)
    assert control_chart(steady).moved.mean() < 0.15
    moved = np.concatenate([rng.normal(0, 1, 12), rng.normal(8, 1, 3)])
    assert control_chart(moved).moved[-3:].all() and control_chart(moved).warns
    with pytest.raises(InputError, match="three or more"):
        control_chart([1.0, 2.0])
