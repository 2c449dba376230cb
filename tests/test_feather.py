"""What feather does, against closed forms of two equal blades and by symmetry."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from paddlebal.feather import against_feather
from paddlebal.formats.paddle import load_paddle
from paddlebal.paddle import Counterweight
from paddlebal.units import STANDARD_GRAVITY

PADDLES = Path(__file__).parent.parent / "data" / "paddles"
OCEAN = load_paddle(PADDLES / "ocean.toml")
FEATHERS = np.array([0.0, 17.0, 45.0, 60.0, 90.0])


@pytest.mark.parametrize("control", ["left", "right"])
def test_two_equal_blades(control):
    effects = against_feather(replace(OCEAN, control=control), FEATHERS)
    half, product = np.radians(FEATHERS) / 2, OCEAN.right.mass * OCEAN.right.offset
    assert effects.unbalance == pytest.approx(2 * product * np.cos(half))
    holding = 2 * STANDARD_GRAVITY * product * np.cos(half) ** 2
    assert effects.left == pytest.approx(holding)
    assert effects.right == pytest.approx(holding)
    lift = 2 * STANDARD_GRAVITY * product * np.sin(2 * half)
    assert effects.lift == pytest.approx(lift, abs=1e-12)
    couple = 2 * product * OCEAN.right.x * np.sin(half)
    assert effects.couple == pytest.approx(couple, abs=1e-12)


def test_the_heavier_blade_asks_for_more_at_its_own_catch():
    added = 0.02
    heavier = replace(OCEAN, left=replace(OCEAN.left, mass=OCEAN.left.mass + added))
    effects = against_feather(heavier, FEATHERS)
    moment = STANDARD_GRAVITY * added * OCEAN.left.offset
    expected = moment * (1 - np.cos(np.radians(FEATHERS)))
    assert effects.left - effects.right == pytest.approx(expected, abs=1e-12)


def test_shape_follows_the_feathers():
    assert against_feather(OCEAN, 30.0).lift.shape == ()
    assert against_feather(OCEAN, FEATHERS.reshape(5, 1)).couple.shape == (5, 1)


def test_counterweights_turn_with_their_half():
    weight = Counterweight(0.2, 0.0455, np.pi, x=0.1)
    both = against_feather(OCEAN.with_counterweights(weight), FEATHERS)
    product = OCEAN.right.mass * OCEAN.right.offset
    assert both.unbalance == pytest.approx(np.full(5, product))
