"""The sentence that bad input is told in."""

from datetime import date

import pytest

from paddlebal import InputError
from paddlebal.errors import shown


def test_sentence_names_every_place_it_is_given():
    error = InputError("is 3, expected 4", file="bench.csv", row=7, field="pull_n")
    assert str(error) == "bench.csv, row 7, field 'pull_n': is 3, expected 4."
    assert (error.problem, error.file, error.row, error.field) == (
        "is 3, expected 4", "bench.csv", 7, "pull_n",
    )  # fmt: skip


@pytest.mark.parametrize("place", [{"file": "a"}, {"row": 2}, {"field": "mass_g"}])
def test_sentence_leaves_out_what_it_is_not_given(place):
    sentence = str(InputError("is wrong", **place))
    assert sentence.count(",") == 0
    assert str(next(iter(place.values()))) in sentence


def test_sentence_without_a_place_starts_with_a_capital():
    assert str(InputError("a swing needs an unbalance")) == "A swing needs an unbalance."


def test_the_sentence_stays_on_one_line_and_short_enough_to_read():
    error = InputError("is odd", file="a\nb\udcff.csv", field="\x1b[31m" + "x" * 5000)
    assert str(error).startswith("a\\nb\\udcff.csv, field '\\x1b[31mxxx")
    assert str(error).isprintable() and len(str(error)) < 150


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("up", "'up'"),
        (3.5, "3.5"),
        (date(2026, 2, 3), "2026-02-03"),
        ("x" * 500, "'" + "x" * 49 + "... (502 characters)"),
    ],
)
def test_values_are_shown_as_they_stand_in_the_file(value, told):
    assert shown(value) == told


def test_a_number_that_python_will_not_write_out_is_shown_in_words():
    assert shown(16**4000) == "a number of thousands of digits"


def test_is_a_value_error():
    assert issubclass(InputError, ValueError)
