"""The panel of the hand: what it shows is what the library says."""

import re

import ipywidgets as widgets
import numpy as np
import pytest
from panel_parts import controls, inside

from paddlebal import grip, load_paddle
from paddlebal.fatigue import endurance_band
from paddlebal.files.text import data_path
from paddlebal.holding import part_balanced, stroke_series
from paddlebal.panels.canvas import WholeFrameCanvas
from paddlebal.panels.grip import (
    CAUTION,
    curve_name,
    grip_panel,
    measured_holds,
    rests_picture,
    sets_name,
    sustained_picture,
)
from paddlebal.unbalance import catch_torque

NAMES = ("ocean", "sprint", "far_cranked", "mended")
PADDLES = [load_paddle(data_path("paddles", f"{name}.toml")) for name in NAMES]


@pytest.fixture
def panel():
    return grip_panel(PADDLES)


def _html(panel):
    """The texts of the panel's alert and numbers."""
    return [w.value for w in inside(panel) if isinstance(w, widgets.HTML)][:2]


def rows(panel):
    cells = re.findall(r"<th[^>]*>(.*?)</th><td[^>]*>(.*?)</td>", _numbers(panel))
    return dict(cells)


def _numbers(panel):
    return _html(panel)[1]


def alert(panel):
    return _html(panel)[0]


def test_share_and_endurance_are_the_library_s(panel):
    friction, strength = grip.friction_range("dry"), grip.strength_range("woman", 40)
    load = grip.share_range(catch_torque(PADDLES[0]), 0.0292, friction, strength)
    shown = rows(panel)
    percent = f"{100 * load.least:.1f} to {100 * load.greatest:.1f} %"
    assert shown["share of maximum grip"] == percent
    minutes = endurance_band(load).least / 60
    assert shown["held without a rest, by the models"] == f"{minutes:.0f} min to never"


def test_own_grip_takes_the_place_of_the_norms(panel):
    controls(panel)["own grip, 0: norms [kgf]"].value = 40
    assert rows(panel)["maximum grip of the hand"] == "392 N"


def test_a_balanced_paddle_asks_for_nothing_at_the_catch_but_for_something_in_a_stroke(panel):
    controls(panel)["unbalance taken away [%]"].value = 100
    assert rows(panel)["share of maximum grip"] == "0.0 %"
    assert rows(panel)["held without a rest, by the models"] == "never"
    controls(panel)["torque"].value = "stroke"
    assert rows(panel)["share of maximum grip"] != "0.0 %"


def figure_texts(panel, index):
    canvas = [w for w in inside(panel) if isinstance(w, WholeFrameCanvas)][index]
    figure = canvas.figure
    return [t.get_text() for t in (*figure.texts, *(t for a in figure.axes for t in a.texts))]


def test_in_a_stroke_the_mean_is_that_of_the_whole_stroke(panel):
    """The mean of |torque|, by the trapezium rule of numpy over the modelled cycle."""
    controls(panel)["torque"].value = "stroke"
    friction, strength = grip.friction_range("dry"), grip.strength_range("woman", 40)
    shown = []
    for taken in (0, 50, 100):
        controls(panel)["unbalance taken away [%]"].value = taken
        time, parts = stroke_series(part_balanced(PADDLES[0], taken / 100))
        mean = np.trapezoid(np.abs(sum(parts)), time) / time[-1]
        assert rows(panel)["torque, mean over the stroke"] == f"{mean:.3f} N·m"
        share = grip.share_range(mean, 0.0292, friction, strength)
        percent = f"{100 * share.least:.1f} to {100 * share.greatest:.1f} %"
        assert rows(panel)["share of maximum grip"] == percent
        shown.append(mean)
    assert shown[0] > shown[1] > shown[2] > 0


def test_what_counts_as_rest_does_not_change_the_mean_and_the_title_is_the_rows_time(panel):
    controls(panel)["torque"].value = "stroke"
    share = rows(panel)["share of maximum grip"]
    for rest in (0, 50, 100):
        controls(panel)["hand rests below [mN·m]"].value = rest
        assert rows(panel)["share of maximum grip"] == share
        time = rows(panel)["with these rests, by the models"]
        assert f"with its rests: {time}" in figure_texts(panel, 0)


def test_no_measured_hold_of_an_unnamed_muscle_stands_on_the_grip_axis():
    texts = [t.get_text() for axes in sustained_picture().figure.axes for t in axes.texts]
    assert not any("measured" in text for text in texts)


def test_another_paddle_brings_its_own_shaft(panel):
    controls(panel)["paddle"].value = PADDLES[2]
    assert controls(panel)["shaft diameter [mm]"].value == pytest.approx(30.0)


def test_every_control_can_go_anywhere_without_a_complaint(panel):
    for task in ("catch", "stroke"):
        controls(panel)["torque"].value = task
        for control in controls(panel).values():
            first = control.value
            ends = getattr(control, "min", None), getattr(control, "max", None)
            labelled = getattr(control, "options", ())
            choices = [c[1] if isinstance(c, tuple) else c for c in labelled] or ends
            for value in choices:
                control.value = value
                expected = {"catch": 7, "stroke": 8}[controls(panel)["torque"].value]
                assert alert(panel) == "" and len(rows(panel)) == expected, control.description
            control.value = first


def test_the_caution_is_in_every_picture():
    for sentence in grip.GRIP_CAUTIONS:
        assert sentence in CAUTION
    for picture in (sustained_picture(), rests_picture()):
        shown = " ".join(text.get_text().replace("\n", " ") for text in picture.figure.texts)
        assert CAUTION in shown


def test_what_is_from_memory_is_marked():
    assert curve_name() == "published curve (from memory)"
    assert sets_name() == "all 6 published sets (1 from memory)"


def test_the_experiment_stands_in_the_picture_as_it_was_published():
    women, men = measured_holds({"women": (0.02, 1e3), "men": (0.02, 1e2)})
    assert women[:3] == (0.5, 793.3, 92.5) and "793.3 ± 92.5 s" in women[3]
    assert men[:3] == (0.5, 684.8, 76.3)
