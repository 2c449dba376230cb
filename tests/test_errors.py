"""The sentence that bad input is told in."""

import pytest

from paddlebal import InputError


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


def test_is_a_value_error():
    assert issubclass(InputError, ValueError)
