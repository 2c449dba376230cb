"""Whole-step pieces: the solver's choice against every combination tried in turn."""

from itertools import product

import numpy as np
import pytest

from paddlebal.errors import InputError
from paddlebal.limits import Limits
from paddlebal.paddle import KeepOut
from paddlebal.pieces import DIRECTIONS, Piece, Place, choose_pieces
from paddlebal.unbalance import magnitude

LIMITS = Limits(mass=(0.0, 0.4), arm=(0.0, 0.06))
KINDS = (Piece("disc", 0.02, 3), Piece("slug", 0.007, 2))


def ring(count, arm=0.05, **more):
    return [Place(arm, angle, **more) for angle in 2 * np.pi * np.arange(count) / count]


def every_choice(U, kinds, places, greatest=np.inf):
    """All combinations within stock, capacity and greatest mass: counts, residual, mass."""
    arms = np.array([p.arm * np.array([np.cos(p.angle), np.sin(p.angle)]) for p in places])
    masses = np.array([kind.mass for kind in kinds])
    spread = [range(kind.stock + 1) for kind in kinds for _ in places]
    counts = np.array(list(product(*spread))).reshape(-1, len(kinds), len(places))
    held = np.einsum("k,nkp->np", masses, counts)
    fits = np.all(counts.sum(axis=2) <= [kind.stock for kind in kinds], axis=1)
    fits &= np.all(held <= np.array([p.capacity for p in places]) + 1e-12, axis=1)
    fits &= held.sum(axis=1) <= greatest + 1e-12
    return counts[fits], U + held[fits] @ arms, held[fits].sum(axis=1)


def objective(residual, mass, enough, mass_price):
    turns = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    measure = np.max(residual @ np.array([np.cos(turns), np.sin(turns)]), axis=-1)
    return np.maximum(measure, enough) + mass_price * mass


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("enough", [0.0, 2e-4])
def test_the_choice_is_the_best_of_all(seed, enough):
    rng = np.random.default_rng(seed)
    U = rng.uniform(-0.003, 0.003, 2)
    places = [
        Place(rng.uniform(0.03, 0.06), rng.uniform(-np.pi, np.pi), capacity=rng.uniform(0.02, 0.06))
        for _ in range(4)
    ]
    chosen = choose_pieces(U, KINDS, places, LIMITS, enough=enough, mass_price=1e-5)
    counts, residuals, masses = every_choice(U, KINDS, places)
    best = objective(residuals, masses, enough, 1e-5).min()
    assert chosen.optimal
    assert any(np.array_equal(chosen.counts, tried) for tried in counts)
    found = objective(chosen.residual, chosen.mass, enough, 1e-5)
    assert found == pytest.approx(best, rel=1e-6, abs=1e-12)
    # The promise about the true size: the directions miss at most 1 / cos(pi / N).
    least = max(magnitude(residuals).min(), enough)
    priced = 1e-5 * masses.max()
    assert magnitude(chosen.residual) <= (least + priced) / np.cos(np.pi / DIRECTIONS) + 1e-12


def test_the_residual_is_that_of_the_pieces_listed():
    U = np.array([0.002, -0.001])
    chosen = choose_pieces(U, KINDS, ring(6), LIMITS)
    left = U + sum(
        w.mass * w.arm * np.array([np.cos(w.angle), np.sin(w.angle)]) for w in chosen.counterweights
    )
    assert np.allclose(chosen.residual, left, atol=1e-15)
    assert chosen.mass == pytest.approx(sum(w.mass for w in chosen.counterweights))
    assert chosen.counts.shape == (2, 6)


def test_of_good_enough_choices_the_lightest_is_taken():
    U = np.array([0.0021, 0.0003])
    _, residuals, masses = every_choice(U, KINDS, ring(5))
    enough = 5e-4
    chosen = choose_pieces(U, KINDS, ring(5), LIMITS, enough=enough)
    inside = objective(residuals, 0.0, 0.0, 0.0) <= enough
    assert chosen.mass == pytest.approx(masses[inside].min())


def test_capacity_stock_and_greatest_mass_hold():
    U = np.array([0.02, 0.0])
    free = choose_pieces(U, KINDS, ring(4), LIMITS, enough=0)
    assert free.counts.sum(axis=1).tolist() == [3, 2]
    held = choose_pieces(U, KINDS, ring(4, capacity=0.025), LIMITS, enough=0)
    assert max(w.mass for w in held.counterweights) <= 0.025 + 1e-12
    light = choose_pieces(U, KINDS, ring(4), Limits(mass=(0.0, 0.05)), enough=0)
    assert light.mass == pytest.approx(0.047)


def test_pieces_stay_off_the_keep_outs_the_shaft_and_forbidden_arms():
    limits = Limits(arm=(0.0, 0.06), keep_outs=(KeepOut("hand", 0.2, 0.4),))
    big = Piece("big", 0.02, 3, across=0.04, along=0.06)
    places = [
        Place(0.05, np.pi, x=0.18),  # the piece would reach into the hand's zone
        Place(0.03, np.pi, x=0.0),  # and here into the shaft
        Place(0.07, np.pi, x=0.0),  # beyond the greatest arm
        Place(0.05, np.pi, x=0.16),
    ]
    chosen = choose_pieces([0.02, 0.0], [big], places, limits)
    assert chosen.counts.tolist() == [[0, 0, 0, 3]]
    with pytest.raises(InputError, match="None of the pieces may go"):
        choose_pieces([0.02, 0.0], [big], places[:3], limits)


def test_a_workshop_sized_choice_is_proven_in_time():
    U = np.array([0.0114, 0.0066])
    kinds = (Piece("disc", 0.02, 10), Piece("slug", 0.007, 6), Piece("5 mm of strip", 0.0015, 40))
    places = [p for arm in (0.045, 0.055) for p in ring(12, arm, capacity=0.1)]
    chosen = choose_pieces(U, kinds, places, LIMITS)
    assert chosen.optimal
    assert magnitude(chosen.residual) <= 1e-5 / np.cos(np.pi / DIRECTIONS)


def test_pieces_and_unbalances_that_make_no_sense_are_refused():
    with pytest.raises(InputError, match="'disc' has mass 0"):
        Piece("disc", 0.0, 3)
    with pytest.raises(InputError, match="expected two finite numbers"):
        choose_pieces([np.nan, 0.0], KINDS, ring(4), LIMITS)
    with pytest.raises(InputError, match="No combination of pieces was found"):
        choose_pieces([0.004, 0.001], KINDS, ring(4), LIMITS, time_limit=0.0)
