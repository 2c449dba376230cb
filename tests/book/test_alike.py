"""Predictions of simulated paddles before they are measured: how often their region holds."""

import math

import numpy as np
import pytest
from scipy.stats import binom

from paddlebal import InputError
from paddlebal.book.alike import CONTRADICT, Alike, Before, bisector
from paddlebal.book.invented import (
    blade_sum as unbalance_of,
)
from paddlebal.book.invented import (
    invented_paddle as outside,
)
from paddlebal.book.invented import (
    invented_workshop,
)
from paddlebal.units import DEG, GRAM_MM

BALANCED = {(f"m{i}", size): 4 for i in range(6) for size in "SML"}
LOPSIDED = {
    ("m0", "S"): 24, ("m0", "M"): 12, ("m1", "S"): 3, ("m1", "L"): 2, ("m2", "M"): 8,
    ("m3", "M"): 2, ("m3", "L"): 5, ("m4", "S"): 1, ("m4", "M"): 3, ("m5", "S"): 4,
}  # fmt: skip
CELLS = {
    "balanced": (BALANCED, {}),
    "lopsided": (LOPSIDED, {}),
    "one model": ({("a", "M"): 12, ("a", "L"): 6}, {}),
    "sizes all alike": (BALANCED, {"sizes": 0.0}),
    "one model loose, one tight": (LOPSIDED, {"spread": {"m0": 400.0, "m1": 50.0}}),
    "a poor bench": (BALANCED, {"bench": 300.0}),
}


def made_by(rng, counts, **more):
    """An invented workshop, its standard deviations in g·mm."""
    scaled = {
        name: {model: each * GRAM_MM for model, each in value.items()}
        if name == "spread" else value if name == "feather_deg" else value * GRAM_MM
        for name, value in more.items()
    }  # fmt: skip
    return invented_workshop(rng, counts, **scaled)


def held(made, every=3):
    """For one in so many paddles, whether its truth lies in the region of the others."""
    for i in range(0, len(made), every):
        own = made[i]
        others = Alike([each.before for j, each in enumerate(made) if j != i])
        found = others.predict(own.paddle, own.before.model, own.before.size)
        if found is None:
            continue
        off = own.truth - found.unbalance
        yield off @ np.linalg.solve(found.covariance, off) <= found.region


@pytest.mark.parametrize("cell", CELLS)
def test_regions_hold_95_percent_left_one_out(cell):
    counts, more = CELLS[cell]
    hits = [
        hit
        for seed in range(4)
        for hit in held(made_by(np.random.default_rng(seed), counts, **more), 5)
    ]
    # Paddles of one workshop share its draw: counted as half as many. One in a thousand in all.
    count = len(hits) // 2
    low = binom.ppf(0.001 / len(CELLS), count, 0.95) / count
    assert np.mean(hits) >= low, (np.mean(hits), low)
    assert np.mean(hits) < 1.0 or count < 60


def test_a_model_with_a_single_paddle_borrows_the_others_spread():
    rng = np.random.default_rng(2)
    hits = []
    for _again in range(60):
        made = made_by(rng, {("a", "M"): 6, ("b", "M"): 5, ("c", "M"): 7, ("lone", "M"): 2})
        alike = Alike([each.before for each in made[:-1]])
        last = made[-1]
        found = alike.predict(last.paddle, "lone", "M")
        assert found.count == 1
        off = last.truth - found.unbalance
        hits.append(off @ np.linalg.solve(found.covariance, off) <= found.region)
    assert np.mean(hits) >= binom.ppf(0.001, 60, 0.95) / 60


def test_what_was_never_measured_is_not_predicted():
    made = made_by(np.random.default_rng(0), {("a", "M"): 3, ("b", "M"): 3})
    alike = Alike([each.before for each in made])
    assert alike.predict(outside(), "new", "M") is None
    assert alike.predict(outside(), "a", "XL") is None  # no model tells how much sizes differ
    assert Alike([]).predict(outside(), "a", "M") is None
    assert Alike([made[0].before]).predict(outside(), "a", "M") is None
    several = made_by(np.random.default_rng(0), {("a", s): 3 for s in "SML"})
    new = Alike([each.before for each in several]).predict(outside(), "a", "XL")
    known = Alike([each.before for each in several]).predict(outside(), "a", "M")
    assert new.count == 0 and new.of_model == 9
    assert np.linalg.det(new.normal) > np.linalg.det(known.normal)


def test_feather_is_converted_as_the_exact_vector_sum():
    """With all mass on the line along each back nothing is lost, whatever the feather."""
    s, d = 9000 * GRAM_MM, 400 * GRAM_MM
    tiny = 1e-18 * np.eye(2)
    before = []
    for model, factor in (("a", 1.0), ("b", 1.1)):
        for feather in (30, 45, 60, 75):
            paddle = outside(feather)
            U = unbalance_of(paddle, s * factor, d * factor)
            before.append(Before.of(model, "M", paddle, U, tiny))
    for feather in (-60, 0, 15, 90):
        paddle = outside(feather)
        found = Alike(before).predict(paddle, "a", "M")
        assert found.unbalance == pytest.approx(unbalance_of(paddle, s, d), rel=1e-3)


def test_mass_beside_the_back_stays_within_the_converted_region():
    """Blades whose mass lies 2 mm beside the line along their back, in 52 mm, mirrored."""
    rng = np.random.default_rng(8)
    hits = []
    for _again in range(60):
        off = 2.2 * DEG * rng.standard_normal(2)

        def exact(paddle, s, off=off):
            along, turn = bisector(paddle)
            angles = np.array([along + turn, along - turn]) + off
            return s * np.array([np.cos(angles), np.sin(angles)]).sum(axis=1)

        before = []
        for model in "ab":
            for _each in range(5):
                own = 9000 * GRAM_MM * (1 + 0.01 * rng.standard_normal())
                paddle = outside(60)
                U = exact(paddle, own) + 40 * GRAM_MM * rng.standard_normal(2)
                before.append(Before.of(model, "M", paddle, U, (40 * GRAM_MM) ** 2 * np.eye(2)))
        paddle = outside(0)
        found = Alike(before).predict(paddle, "a", "M")
        truth = exact(paddle, 9000 * GRAM_MM * (1 + 0.01 * rng.standard_normal()))
        far = truth - found.unbalance
        hits.append(far @ np.linalg.solve(found.covariance, far) <= found.region)
    assert np.mean(hits) >= 0.85


@pytest.mark.parametrize("control", ["right", "left"])
@pytest.mark.parametrize("feather", [-60, 0, 45, 90])
def test_halves_of_an_exact_paddle(control, feather):
    paddle = outside(feather, face_deg=25, control=control)
    s, d = 8000 * GRAM_MM, 300 * GRAM_MM
    before = Before.of("a", "M", paddle, unbalance_of(paddle, s, d), np.eye(2))
    assert before.s.value == pytest.approx(s)
    if feather:
        assert before.d.value == pytest.approx(d)
    else:
        assert math.isnan(before.d.value)
    again = Before.from_plain("a", "M", before.as_plain())
    assert again == before or feather == 0


def test_readings_and_prediction_are_combined_after_bayes():
    made = made_by(np.random.default_rng(1), {("a", "M"): 8, ("b", "M"): 8})
    found = Alike([each.before for each in made]).predict(outside(), "a", "M")
    covariance = (200 * GRAM_MM) ** 2 * np.array([[1.0, 0.3], [0.3, 0.5]])
    U = found.unbalance + 150 * GRAM_MM
    mean, joint = found.combined(U, covariance)
    precise = np.linalg.inv(covariance) + np.linalg.inv(found.normal)
    assert joint == pytest.approx(np.linalg.inv(precise))
    expected = joint @ (
        np.linalg.solve(covariance, U) + np.linalg.solve(found.normal, found.unbalance)
    )
    assert mean == pytest.approx(expected)


def test_readings_that_contradict_are_told():
    made = made_by(np.random.default_rng(1), {("a", "M"): 8, ("b", "M"): 8})
    found = Alike([each.before for each in made]).predict(outside(), "a", "M")
    far = found.unbalance + 9000 * GRAM_MM
    covariance = (60 * GRAM_MM) ** 2 * np.eye(2)
    assert found.agreement(far, covariance) < CONTRADICT
    assert found.agreement(found.unbalance, covariance) == pytest.approx(1.0)
    with pytest.raises(InputError, match="contradict"):
        found.combined(far, covariance)


def test_a_model_that_varies_much_is_called_loose():
    rng = np.random.default_rng(6)
    tight = made_by(rng, {("a", "M"): 8, ("b", "M"): 8}, tight=80.0)
    assert not Alike([each.before for each in tight]).predict(outside(), "a", "M").loose
    loose = made_by(rng, {("a", "M"): 8, ("b", "M"): 8}, tight=1500.0)
    assert Alike([each.before for each in loose]).predict(outside(), "a", "M").loose


def test_ten_thousand_paddles_are_counted_in_and_a_prediction_made_in_no_time():
    from time import perf_counter

    rng = np.random.default_rng(0)
    counts = {(f"m{i}", size): 17 for i in range(200) for size in "SML"}
    before = [each.before for each in made_by(rng, counts)]
    assert len(before) > 10_000
    best = math.inf
    for _again in range(3):
        start = perf_counter()
        found = Alike(before).predict(outside(), "m7", "M")
        best = min(best, perf_counter() - start)
    assert found.count == 17
    assert best < 3.0, best  # a busy machine takes several times what a quiet one does
