"""Panels on films: two films and what is found, and one frame."""

import numpy as np
import pytest

from paddlebal import load_paddle
from paddlebal.files.text import data_path
from paddlebal.panels.film import films_panel, films_rows, films_state, frame_rows, frame_state
from paddlebal.unbalance import magnitude
from paddlebal.units import DEG, GRAM_MM

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
FILMS = {
    "paddle": OCEAN, "mass": 0.1, "arm": 0.06, "angle": 30 * DEG, "arm_off": 0.0, "arm_u": 0.6e-3,
    "angle_u": 0.1 * DEG, "rate": 60.0, "camera": 0.0, "strip": "in view", "friction": 0.003,
}  # fmt: skip
FRAME = {"roll": 0.3, "rate": 5.0, "distance": 1.2, "exposure": 4e-3, "askew": 0.0, "light": 1.0}


def test_exact_films_give_the_truth_and_a_wrong_arm_does_not():
    right, wrong = films_state(**FILMS), films_state(**(FILMS | {"arm_off": 1e-3}))
    assert magnitude(right.fit.unbalance - right.truth) < GRAM_MM
    assert magnitude(wrong.fit.unbalance - wrong.truth) > 50 * GRAM_MM
    assert right.exact.polar.size_u < right.fit.polar.size_u
    rows = dict(films_rows(right))
    assert rows["off the truth by"] == "0 g·mm" and "doubt" not in rows


def test_a_rolled_camera_is_found_with_the_strip_and_without():
    strip = films_state(**(FILMS | {"camera": 5 * DEG}))
    none = films_state(**(FILMS | {"camera": 5 * DEG, "strip": "not in view"}))
    for each in (strip, none):
        assert magnitude(each.fit.unbalance - each.truth) < GRAM_MM
    assert strip.fit.camera == pytest.approx(0, abs=1e-6)
    assert none.fit.camera == pytest.approx(5 * DEG)
    assert np.trace(none.fit.covariance[:2, :2]) > np.trace(strip.fit.covariance[:2, :2])
    assert any("to spare" in each for each in none.fit.doubts)


@pytest.mark.parametrize("end", [{"mass": 0.02, "arm": 0.03}, {"mass": 0.2, "arm": 0.1},
                                 {"angle_u": DEG, "rate": 24.0}, {"friction": 0.01},
                                 {"friction": 5e-4, "rate": 240.0}])  # fmt: skip
@pytest.mark.parametrize("angle", [-150, -30, 30, 150])
def test_the_ends_of_the_sliders(end, angle):
    state = films_state(**(FILMS | end | {"angle": angle * DEG}))
    assert magnitude(state.fit.unbalance - state.truth) < 3 * GRAM_MM
    assert np.isfinite(state.angles["loaded"]).all()


def test_a_frame_tells_its_angle_until_it_is_lost():
    near = frame_state(**FRAME)
    assert near.seen == pytest.approx(near.drawn, abs=0.5 * DEG)
    lost = frame_state(**(FRAME | {"exposure": 33e-3, "rate": 15.0}))
    assert dict(frame_rows(lost))["seen at"] == "no marker is found"
    far = dict(frame_rows(frame_state(**(FRAME | {"distance": 5.0}))))
    assert "(too small)" in far["a marker is large"]


def test_the_true_unbalance_stays_in_view_where_the_region_misses_it():
    panel = films_panel([OCEAN])
    picture = panel._pictures[0]
    for off in (-2.0, 2.0):
        slider = next(
            w for w in inside(panel) if getattr(w, "description", "") == "arm off by [mm]"
        )
        slider.value = off
        axes = picture._true.axes
        x, y = (each[0] for each in picture._true.get_data())
        (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
        assert left < x < right and low < y < high


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)
