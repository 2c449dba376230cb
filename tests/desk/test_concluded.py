"""What entries come to in the book, and how the paddles before come to the desk."""

import json

import numpy as np
import pytest

from paddlebal.bench.readings import LeverReadings
from paddlebal.book.alike import CONTRADICT
from paddlebal.book.book import Book
from paddlebal.desk.concluded import (
    DOUBTED,
    EIGHT,
    MADE,
    MEASURED,
    OPEN,
    PROVED,
    ROLLS,
    alike,
    bring_up,
    conclusion,
    references,
)  # fmt: skip
from paddlebal.desk.entry import texts_of_readings
from paddlebal.desk.found import found
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.units import GRAM_MM

BENCH = read_bench(data_path("bench", "glued_lever.csv"))
PADDLE = {
    "mass": "690", "length": "2120", "balance": "1065", "shaft": "29.2", "feather": "60",
    "face": "-20", "model": "Swift", "size": "M", "lever": "250",
}  # fmt: skip


def entry(rng=None, **more):
    """Texts of an entry with the demo's readings, a little different each."""
    readings = BENCH
    if rng is not None:
        pull = BENCH.pull * (1 + 0.004 * rng.standard_normal()) + 0.002 * rng.standard_normal(
            BENCH.pull.size
        )
        readings = type(BENCH)(**{**vars(BENCH), "pull": pull})
    assert isinstance(readings, LeverReadings)
    return PADDLE | texts_of_readings(readings) | more


def filled(place, count=6, **more):
    book, rng = Book(place), np.random.default_rng(3)
    for i in range(count):
        book.put(f"e{i}", entry(rng, name=f"paddle {i}", **more))
    assert bring_up(book) == 0
    return book


def test_an_entry_is_concluded_with_what_its_readings_give():
    row = conclusion("e", 7, entry(name="A"))
    own = found(entry(name="A"))
    assert row["unbalance"] == pytest.approx(own.fit.polar.size)
    assert row["verdict"] == (DOUBTED if own.fit.doubts else MEASURED)
    told = json.loads(row["conclusion"])
    assert (told["model"], told["size"]) == ("Swift", "M")
    assert np.reshape(told["C"], (2, 2)) == pytest.approx(own.fit.unbalance_covariance)
    assert row == conclusion("e", 7, entry(name="A"), own)


@pytest.mark.parametrize(("more", "verdict"), [
    ({}, MEASURED), ({"on/0": "0.2 0.06 1 0 8500"}, MADE),
    ({"on/0": "0.2 0.06 1 0 8500"} | {f"proof/{a}": "stays" for a in EIGHT}, PROVED),
    ({"on/0": "0.2 0.06 1 0 8500", "proof/0": "rolls"}, ROLLS),
])  # fmt: skip
def test_how_far_an_entry_has_come(more, verdict):
    assert conclusion("e", 1, entry(**more))["verdict"] == verdict


def test_an_entry_without_readings_is_open():
    row = conclusion("e", 1, {"name": "A"})
    assert row["verdict"] == OPEN and row["conclusion"] is None and row["unbalance"] is None


def test_the_paddles_before_come_to_the_next_one(tmp_path):
    book = filled(tmp_path)
    others = alike(book)
    assert others.count("Swift", "M") == 6
    bare = {name: text for name, text in entry().items() if not name.startswith("bare/")}
    result = found(bare, others)
    assert result.fit is None and result.before.count == 6
    true = found(entry()).fit.unbalance
    assert np.hypot(*(result.before.unbalance - true)) < 0.05 * np.hypot(*true)
    assert alike(book, without="e0").count("Swift") == 5
    assert found(bare | {"model": "Other"}, others).before is None
    assert found(bare | {"reference": "12000"}, others).before is None


def test_they_are_counted_in_only_when_wanted_and_stays_is_said_by_the_readings(tmp_path):
    others = alike(filled(tmp_path))
    shown, counted = (found(entry(before=each), others) for each in ("shown", "counted"))
    assert shown.fitting.before is None and counted.fitting.before is not None
    assert shown.agreement == counted.agreement > CONTRADICT
    assert np.array_equal(shown.fit.unbalance, counted.fit.unbalance)
    assert shown.fitting.pieces[0].mass != counted.fitting.pieces[0].mass
    left = counted.fitting.residual
    assert np.hypot(*left) > np.hypot(*shown.fitting.residual)
    assert counted.fitting._outlook.probability <= shown.fitting._outlook.probability
    text = counted.fitting.sheet("2026-11-28").html()
    assert "The paddles of its model before" in text
    assert "before" not in shown.fitting.sheet("2026-11-28").html().split("Will it stay?")[1][:400]


def test_what_contradicts_is_not_counted_in(tmp_path):
    others = alike(filled(tmp_path))
    turned = {"face": "70", "before": "counted"}
    result = found(entry(**turned), others)
    assert result.agreement < CONTRADICT and result.fitting.before is None


def test_reference_rods_are_charted_by_instrument(tmp_path):
    book, rng = Book(tmp_path), np.random.default_rng(4)
    size, direction, *_ = found(entry()).fit.polar
    stated = {
        "reference": f"{size / GRAM_MM:.0f}",
        "reference_angle": f"{np.degrees(direction):.2f}",
    }
    for i in range(4):
        book.put(f"r{i}", entry(rng, instrument="blue scale", **stated))
    bring_up(book)
    rows = references(book)["blue scale"]
    assert len(rows) == 4
    assert max(abs(each[1]) for each in rows) < 0.03
    assert max(abs(each[2]) for each in rows) < np.radians(2)
    assert alike(book).count("Swift") == 0


def test_a_long_book_is_brought_up_part_by_part(tmp_path):
    book = Book(tmp_path)
    for i in range(5):
        book.put(f"e{i}", {"name": f"{i}"})
    assert bring_up(book, most=2) == 3 and bring_up(book, most=2) == 1
    assert bring_up(book, most=2) == 0 and bring_up(book) == 0


def test_a_paddle_whose_rest_was_not_looked_at_does_not_judge_others(tmp_path):
    """A mirrored bench fits perfectly; only a look at the rest tells it."""
    assert "before" in json.loads(conclusion("e", 1, entry(name="A"))["conclusion"])
    told = json.loads(conclusion("e", 1, entry(name="A", rest=""))["conclusion"])
    assert "before" not in told and told["model"] == "Swift"
