"""The panel on counterweights for the stroke."""

from dataclasses import replace

import ipywidgets as widgets
import numpy as np
import pytest

from paddlebal import OCEAN as STROKE
from paddlebal import load_paddle
from paddlebal.files.text import data_path
from paddlebal.motion_balance.programme import AIMS
from paddlebal.panels.motion import FREE, STAYS, motion_panel, motion_state, motion_state_rows
from paddlebal.panels.own_stroke import WITH
from paddlebal.pictures.motion import BARE, BEST, MOST, REST

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
GIVEN = {
    "paddle": OCEAN, "stroke": STROKE, "aim": "mean", "mass": 0.2, "arm": 0.08,
    "far_arm": 0.08, "reach": 0.52, "rest": FREE,
}  # fmt: skip


def mean(state, name):
    return np.abs(state.torques[name]).mean()


def test_the_pieces_leave_less_than_balance_at_rest_and_that_less_than_bare():
    state = motion_state(**GIVEN)
    assert mean(state, BEST) < mean(state, REST) < mean(state, BARE)
    rows = dict(motion_state_rows(state))
    assert rows["mass of the pieces"] == "200 g"
    assert float(rows["no pieces go below"].split()[0]) <= mean(state, BEST) + 1e-4


def test_staying_at_rest_costs():
    stays, free = motion_state(**(GIVEN | {"rest": STAYS})), motion_state(**GIVEN)
    assert dict(motion_state_rows(stays))["unbalance left at rest"] in ("0 g·mm", "1 g·mm")
    assert mean(free, BEST) < mean(stays, BEST) < mean(stays, REST) + 1e-6


@pytest.mark.parametrize("aim", AIMS)
@pytest.mark.parametrize("end", [{"mass": 0.02}, {"mass": 0.4, "arm": 0.12, "far_arm": 0.12},
                                 {"reach": 0.05}, {"reach": 0.6, "far_arm": 0.03}])  # fmt: skip
def test_the_ends_of_the_sliders(aim, end):
    state = motion_state(**(GIVEN | {"aim": aim} | end))
    assert 0 < len(state.found.pieces) <= MOST
    assert state.found.after <= state.found.before


def test_places_leave_hands_ferrule_and_rings_free():
    pieces = motion_state(**GIVEN).found.pieces
    assert pieces
    for piece in pieces:
        assert not any(k.start < piece.x < k.stop for k in OCEAN.keep_outs)


def test_a_shorter_arm_far_out_is_kept_to():
    state = motion_state(**(GIVEN | {"far_arm": 0.04}))
    for piece in state.found.pieces:
        assert piece.arm <= 0.08 - 0.04 * abs(piece.x) / 0.52 + 1e-9


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def find(panel, kind, words):
    return next(w for w in inside(panel) if isinstance(w, kind) and words in w.description)


def html(panel):
    return " ".join(w.value for w in inside(panel) if isinstance(w, widgets.HTML))


def test_the_demo_record_brings_back_the_stroke_it_was_made_from():
    panel = motion_panel([OCEAN])
    find(panel, widgets.Button, "demo record").click()
    find(panel, widgets.Button, "Use this stroke").click()
    strokes = find(panel, widgets.Dropdown, "stroke")
    assert strokes.label == "your own stroke"
    own = motion_state(**(GIVEN | {"stroke": strokes.value}))
    preset = motion_state(**GIVEN)
    for name in (BARE, REST, BEST):
        assert mean(own, name) == pytest.approx(mean(preset, name), rel=0.06)
    assert "cycles spread by" in html(panel)


def test_a_logger_that_is_counted_in_adds_its_weight():
    panel = motion_panel([OCEAN])
    find(panel, widgets.Button, "demo record").click()
    find(panel, widgets.FloatText, "weighs").value = 180
    find(panel, widgets.Dropdown, "the torque is").value = WITH
    find(panel, widgets.Button, "Use this stroke").click()
    record = find(panel, widgets.Dropdown, "stroke").value
    state = motion_state(**(GIVEN | {"stroke": record}))
    assert state.bare.mass == pytest.approx(OCEAN.mass + 0.18)
    alone = motion_state(**(GIVEN | {"stroke": replace(record, counted=False)}))
    assert abs(mean(state, BARE) / mean(alone, BARE) - 1) > 0.05


@pytest.mark.parametrize(("what", "value", "told"), [
    ("upright", "", "was held: upright"), ("face down", "8.0 9.0", "lies within another"),
    ("paddling", "9", "from and to"), ("paddling", "10 11.5", "whole cycles"),
])  # fmt: skip
def test_what_the_form_refuses(what, value, told):
    panel = motion_panel([OCEAN])
    find(panel, widgets.Button, "demo record").click()
    find(panel, widgets.Text, what).value = value
    find(panel, widgets.Button, "Use this stroke").click()
    assert told in html(panel) and 'role="alert"' in html(panel)
    assert find(panel, widgets.Dropdown, "stroke").label != "your own stroke"


def test_no_sheet_beyond_the_hands_before_somebody_stands_for_it():
    panel = motion_panel([OCEAN])
    button = find(panel, widgets.Button, "Make the sheet")
    button.click()
    assert "beyond the hands" in html(panel)
    find(panel, widgets.Checkbox, "stand for it").value = True
    button.click()
    assert "state who measured it" in html(panel).lower()
    find(panel, widgets.Text, "measured by").value = "A. Demo"
    button.click()
    assert 'download="stroke.pdf"' in html(panel)
    find(panel, widgets.FloatSlider, "farthest out").value = 90
    assert not find(panel, widgets.Checkbox, "stand for it").value
    assert 'download="stroke.pdf"' not in html(panel)
