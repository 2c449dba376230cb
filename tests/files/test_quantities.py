"""Numbers with commas, units and degree signs."""

import math

import pytest
from scipy import constants

from paddlebal import InputError
from paddlebal.files.quantities import decimal_mark, quantity, unit_named


@pytest.mark.parametrize(
    "text, unit, si, value",
    [
        ("12,5", "g", "kg", 0.0125),
        ("12.5", "g", "kg", 0.0125),
        ("1.234,5 g", "g", "kg", 1.2345),
        ("1'234.5", "g", "kg", 1.2345),
        ("12 345,5", "g", "kg", 12.3455),
        ("72.", "g", "kg", 0.072),
        ("0.65 kg", "g", "kg", 0.65),
        ("650 Gramm", "kg", "kg", 0.65),
        ("30°", "rad", "rad", math.pi / 6),
        ("30 Grad", "rad", "rad", math.pi / 6),
        ("−0,5 rad", "deg", "rad", -0.5),
        ("25 cm", "mm", "m", 0.25),
        ('10"', "mm", "m", 10 * constants.inch),
        ("72 g", "N", "N", 0.072 * constants.g),
        ("1 lbf", "N", "N", constants.lbf),
        ("3 oz", "N", "N", 3 * constants.oz * constants.g),
        ("2 kgf", "N", "N", constants.kgf * 2),
        ("1e-1", "N", "N", 0.1),
        ("0,5 %", "%", "", 0.5),
    ],
)
def test_a_number_is_read_with_its_mark_and_unit(text, unit, si, value):
    """Conversion factors are SciPy's (CODATA and NIST SP 811)."""
    assert quantity(text, unit, si) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "twelve",
        "12 g",
        "1..2,3.",
        "nan",
        "inf",
        "12 parsec",
        "30 60",
        "1 2 3",
        "1.23.4,5",
        "12 345 6",
    ],
)
def test_what_is_no_length_is_refused(text):
    with pytest.raises(InputError):
        quantity(text, "mm", "m")


def test_what_can_be_read_in_two_ways_is_told_with_both_readings():
    with pytest.raises(InputError, match=r"expected 1\.234 or 1234"):
        quantity("1,234", "g", "kg")
    assert quantity("1,234", "g", "kg", mark=",") == pytest.approx(1.234e-3)


def test_the_numbers_beside_it_tell_the_mark():
    assert decimal_mark(["1,234", "72,5 g"]) == ","
    assert decimal_mark(["1,234", "1.5"]) == "."
    assert decimal_mark(["1,234", "7"]) is None
    assert decimal_mark(["1.234.567"]) == ","
    with pytest.raises(InputError, match="decimal comma and others"):
        decimal_mark(["72,5", "72.5"])


def test_units_are_known_by_their_words():
    assert [unit_named(word) for word in ("[mN]", "MM", "Pfund", "Zoll", "grad.")] == [
        "mN", "mm", "lb", "in", "deg",
    ]  # fmt: skip
    assert unit_named("stone") is None
