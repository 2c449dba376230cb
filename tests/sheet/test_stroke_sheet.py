"""The sheet of counterweights for a stroke: only within arms that somebody stands for."""

from dataclasses import replace

import numpy as np
import pytest

from paddlebal import (
    OCEAN,
    Confirmed,
    Counterweight,
    Envelope,
    InputError,
    Motion,
    MotionLimits,
    balance_for_motion,
    load_paddle,
    specific_force,
    stroke_sheet,
)
from paddlebal.files.text import data_path
from paddlebal.language import speaking
from paddlebal.sheet.stroke import fastening_load
from paddlebal.units import STANDARD_GRAVITY

PADDLE = load_paddle(data_path("paddles", "ocean.toml"))
MOTION = OCEAN.motion(PADDLE)
WIDE = Envelope((0.0, 0.55), (0.08, 0.09))


def found(stations=(-0.52, 0.15, 0.52), envelope=WIDE):
    return balance_for_motion(PADDLE, MOTION, MotionLimits.for_paddle(PADDLE, envelope, stations))


def sheet(pieces, confirmed, **more):
    return stroke_sheet(PADDLE, pieces, MOTION, "ocean preset", confirmed, "2026-11-28", **more)


def words(made):
    return made.html()


def test_the_sheet_says_what_it_rests_on():
    pieces = found()
    text = words(sheet(pieces, Confirmed(WIDE, "A. Demo")))
    assert "nothing of this was tried on the water" in text
    assert "A. Demo states" in text and "90 mm at 550 mm" in text
    assert "Fasten each piece twice" in text
    for piece in pieces.pieces:
        assert f"{1e3 * piece.mass:.1f} g" in text
        assert f"{fastening_load(MOTION, piece):.1f} N" in text
    assert f"{pieces.after:.3f} N·m" in text and "rolls by itself" in text


def test_the_pdf_is_made_and_speaks_german():
    with speaking("de"):
        made = sheet(found(), Confirmed(WIDE, "A. Demo"))
    assert made.pdf()[:4] == b"%PDF"
    assert "Gegengewichte" in words(made)


def test_nothing_beyond_the_hands_without_an_envelope():
    with pytest.raises(InputError, match="beyond the hands"):
        sheet(found(), None)
    between = found(stations=(-0.15, 0.15))
    assert "weight" in words(sheet(between, None))


def test_an_arm_beyond_the_envelope_is_refused():
    narrow = Envelope((0.0, 0.55), (0.08, 0.05))
    with pytest.raises(InputError, match="envelope ends at 5"):
        sheet(found(), Confirmed(narrow, "A. Demo"))
    short = Envelope((0.0, 0.4), (0.09, 0.09))
    with pytest.raises(InputError, match="envelope ends at 0 mm"):
        sheet(found(), Confirmed(short, "A. Demo"))


def test_a_piece_in_a_hand_or_in_the_shaft_is_refused():
    pieces = found()
    inside = replace(pieces, pieces=(Counterweight(0.1, 0.06, 0.0, 0.3),))
    with pytest.raises(InputError, match="finds no room"):
        sheet(inside, Confirmed(WIDE, "A. Demo"))
    flat = replace(pieces, pieces=(Counterweight(0.1, 0.016, 0.0, 0.15),))
    with pytest.raises(InputError, match="touch the shaft"):
        sheet(flat, None)
    with pytest.raises(InputError, match="no piece"):
        sheet(replace(pieces, pieces=()), None)


@pytest.mark.parametrize("bad", [((0.0, 0.0), (0.1, 0.1)), ((0.0,), (0.1, 0.1)), ((0.0,), (2.0,)),
                                 ((-0.1, 0.2), (0.1, 0.1))])  # fmt: skip
def test_envelopes_that_are_none(bad):
    with pytest.raises(InputError, match="xpected"):
        Envelope(*bad)


def turning(rate):
    """A level paddle turned about the vertical at a steady rate [rad/s]."""

    def shape(phase):
        none = np.zeros(np.shape(phase))
        value = np.stack([none, none, phase, none, none, none], axis=-1)
        first = np.zeros((*np.shape(phase), 6))
        first[..., 2] = 1.0
        return np.stack([value, first, np.zeros_like(first)])

    return Motion(2 * np.pi / rate, shape)


def test_the_load_in_a_steady_swing_is_weight_and_centrifugal_force():
    piece = Counterweight(0.1, 0.05, 0.0, 0.5)
    outward = 0.1 * 3.0**2 * np.hypot(0.5, 0.05)
    expected = np.hypot(outward, 0.1 * STANDARD_GRAVITY)
    assert fastening_load(turning(3.0), piece) == pytest.approx(expected, rel=1e-12)


def test_at_rest_it_feels_gravity_upward():
    felt = specific_force(turning(1e-9), [0.0, 1.0], (0.3, 0.0, 0.1))
    assert felt == pytest.approx(np.tile([0, 0, STANDARD_GRAVITY], (2, 1)), abs=1e-9)
