"""Paddle files of paddles that are known only from outside."""

import pytest

from paddlebal import InputError, file_problems, load_any_paddle, load_paddle, save_paddle
from paddlebal.files.text import data_path
from paddlebal.outside import OutsidePaddle

LEAST = """\
name = "glued"
mass_g = 655
length_mm = 2150
balance_mm = 4.5
control = "left"
[shaft]
diameter_mm = 29.2
"""


def loaded(tmp_path, text):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return load_any_paddle(path)


def test_five_measurements_are_enough(tmp_path):
    paddle = loaded(tmp_path, LEAST)
    assert isinstance(paddle, OutsidePaddle)
    assert (paddle.mass, paddle.shaft.length) == pytest.approx((0.655, 2.15))
    assert paddle.balance_point == pytest.approx(0.0045)
    assert paddle.shaft.diameters == pytest.approx((0.0292, 0.0292))
    assert paddle.feather is paddle.face is paddle.volume is None and not paddle.faces_known


def test_an_oval_shaft_has_two_diameters(tmp_path):
    paddle = loaded(tmp_path, LEAST.replace("29.2", "[30, 27.5]"))
    assert paddle.shaft.diameters == pytest.approx((0.03, 0.0275))
    assert paddle.shaft.radius == pytest.approx(0.015)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("mass_g = 655\n", "", "field 'mass_g': is missing"),
        ("balance_mm = 4.5", "balance_mm = 2000", "field 'balance_mm': is 2000, expected"),
        ("29.2", "[30, 27, 26]", "expected one number, or two for an oval shaft"),
        ("29.2", "[30, 0]", "field 'shaft.diameter_mm': is 0, expected"),
        ('control = "left"', 'control = "left"\nface_deg = 3', "field 'face_u_deg': is missing"),
        ("[shaft]", "[ferrule]\nx_mm = 0\n[shaft]", "field 'ferrule': is not a known field"),
    ],
)
def test_what_is_wrong_is_told_in_one_sentence(tmp_path, old, new, told):
    with pytest.raises(InputError) as caught:
        loaded(tmp_path, LEAST.replace(old, new))
    assert told in str(caught.value)


def test_a_file_that_holds_just_that_has_no_complaint():
    assert file_problems(LEAST, "paddle") == []


@pytest.mark.parametrize("more", ["", "feather_deg = 45\nface_deg = 3\nface_u_deg = 1\n"])
def test_it_survives_saving(tmp_path, more):
    paddle = loaded(tmp_path, more + LEAST)
    save_paddle(paddle, tmp_path / "copy.toml")
    assert load_any_paddle(tmp_path / "copy.toml") == paddle


def test_where_the_parts_are_needed_such_a_paddle_is_refused():
    with pytest.raises(InputError, match="known only from outside, expected one with its blades"):
        load_paddle(data_path("paddles", "glued.toml"))
