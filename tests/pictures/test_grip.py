"""Pictures of the hand: words, ranges, and that they change in place and print."""

import io
import math

import numpy as np
import pytest

from paddlebal.pictures.grip import (
    NEVER,
    EndurancePicture,
    range_words,
    time_range_words,
    time_words,
)


def drawn(picture):
    """What a reader sees, as an array of pixels."""
    picture.figure.canvas.draw()
    return np.asarray(picture.figure.canvas.buffer_rgba()).copy()


def endurance_picture(**more):
    loads = np.array([0.01, 0.1, 0.5])
    times = {"one": np.array([math.inf, 1e3, 1e2]), "two": np.array([math.inf, 2e3, 1e2])}
    return EndurancePicture(loads, times, "held", "Be careful.", ("two sets", "curve"), **more)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (math.inf, "never"),
        (7200, "2 h"),
        (5400, "1.5 h"),
        (1000, "17 min"),
        (42, "42 s"),
        (0, "0 s"),
        (5e6, "1389 h"),
    ],
)
def test_time_in_words(seconds, words):
    assert time_words(seconds) == words


def test_ranges_in_words():
    assert range_words((0.36, 11.93), 1, "%") == "0.4 to 11.9 %"
    assert range_words((2.04, 2.01), 1, "N") == "2.0 N"
    assert range_words((1.0, 2.0), 0) == "1 to 2"
    assert time_range_words(60, math.inf) == "1 min to never"
    assert time_range_words(math.inf, math.inf) == "never"


def test_the_marked_range_is_clipped_to_the_axes():
    picture = endurance_picture()
    picture.update((0.0, 0.1), (500.0, math.inf), "words")
    x, y = picture._box.get_data()
    assert (min(x), max(x)) == (0.1, 10)
    assert (min(y), max(y)) == (500, NEVER)


def test_an_update_in_place_shows_what_a_full_draw_shows():
    picture = endurance_picture(curve=np.array([1e4, 1e3, 1e2]))
    picture.update((0.01, 0.1), (500.0, 5e3), "first")
    before = drawn(picture)
    picture.update((0.02, 0.4), (50.0, math.inf), "second")
    in_place = np.asarray(picture.figure.canvas.buffer_rgba()).copy()
    assert (in_place != before).any()
    np.testing.assert_array_equal(in_place, drawn(picture))


def test_it_prints_as_pdf_with_its_caution():
    picture, page = endurance_picture(), io.BytesIO()
    picture.figure.savefig(page, format="pdf")
    assert page.getvalue().startswith(b"%PDF") and len(page.getvalue()) > 5000
    assert any(text.get_text() == "Be careful." for text in picture.figure.texts)


def test_no_text_leaves_the_picture():
    picture = endurance_picture()
    picture.figure.canvas.draw()
    renderer, frame = picture.figure.canvas.get_renderer(), picture.figure.bbox
    texts = [*picture.figure.texts, *(t for axes in picture.figure.axes for t in axes.texts)]
    for text in texts:
        box = text.get_window_extent(renderer)
        assert frame.x0 <= box.x0 and box.x1 <= frame.x1, text.get_text()
        assert frame.y0 <= box.y0 and box.y1 <= frame.y1, text.get_text()
