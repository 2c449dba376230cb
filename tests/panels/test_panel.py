"""The panels: what a reader does with the controls, without a browser."""

import re
import threading
from pathlib import Path

import ipywidgets as widgets
import numpy as np
import pytest
from panel_parts import find, html, inside, number

from paddlebal import InputError, load_paddle
from paddlebal.panels import bench as panels_bench
from paddlebal.panels import canvas as panels_canvas
from paddlebal.panels import panel as panels
from paddlebal.panels.ferrule import ferrule_panel
from paddlebal.pictures.curve import CurvePicture

DATA = Path(__file__).parents[2] / "data"
PADDLES = [load_paddle(DATA / "paddles" / f"{n}.toml") for n in ("ocean", "far_cranked", "mended")]
FILES = sorted((DATA / "bench").glob("*lever.csv"))
MAKERS = {
    "ferrule": lambda: ferrule_panel(PADDLES),
    "fit": lambda: panels_bench.fit_panel(FILES),
}


def drawn(panel):
    """The panel's canvases as pixels, after a full draw."""
    canvases = [w for w in inside(panel) if isinstance(w, panels_canvas.WholeFrameCanvas)]
    for canvas in canvases:
        canvas.draw()
    return [np.array(canvas.buffer_rgba()) for canvas in canvases]


@pytest.mark.parametrize("name", MAKERS)
def test_each_control_changes_pictures_and_numbers(name):
    panel = MAKERS[name]()
    controls = [w for w in inside(panel) if isinstance(w, widgets.FloatSlider | widgets.Dropdown)]
    for control in controls:
        pixels = drawn(panel)
        if isinstance(control, widgets.Dropdown):
            control.index = 1
        else:
            control.value -= 4 * control.step
        assert html(panel)[0] == ""
        assert any(np.any(a != b) for a, b in zip(pixels, drawn(panel), strict=True)), control


@pytest.mark.parametrize("name", MAKERS)
def test_sliders_name_their_unit_and_have_room_for_their_words(name):
    for widget in inside(MAKERS[name]()):
        if isinstance(widget, widgets.FloatSlider):
            assert re.search(r" \[(deg|g|mm|× stated)\]$", widget.description)
            assert 7 * len(widget.description) < float(widget.style.description_width[:-2])


def test_fit_panel_finds_the_demo_paddles_unbalance():
    panel = panels_bench.fit_panel([next(f for f in FILES if f.name == "ocean_lever.csv")])
    U_y, U_z = 1e6 * PADDLES[0].unbalance()
    assert number(panel, "unbalance along y") == pytest.approx(U_y, abs=400)
    assert number(panel, "unbalance along z") == pytest.approx(U_z, abs=400)


def test_a_file_of_another_method_is_told():
    alert, numbers, *_ = html(panels_bench.fit_panel([DATA / "bench" / "ocean_swing.csv"]))
    assert "ocean_swing.csv: this panel shows lever readings only" in alert.lower()
    assert numbers == ""


def test_a_bad_file_is_told_in_one_sentence_and_shows_no_old_picture(tmp_path):
    broken = tmp_path / "broken.csv"
    broken.write_text(FILES[0].read_text().replace(",with", ",backwards", 1))
    panel = panels_bench.fit_panel([FILES[0], broken])
    good = drawn(panel)[0]
    find(panel, widgets.Dropdown).value = broken
    alert, numbers, *_ = html(panel)
    assert alert.count('role="alert"') == 1 and "broken.csv" in alert and "turning" in alert
    assert "Traceback" not in alert and numbers == ""
    assert np.mean(drawn(panel)[0] < 200) < np.mean(good < 200)
    find(panel, widgets.Dropdown).value = FILES[0]
    assert html(panel)[0] == "" and np.array_equal(drawn(panel)[0], good)


def nothing(state):
    return None


def fails_above_one(error):
    def state(size):
        if size > 1:
            raise error
        return size

    control = panels.slider("size [mm]", 0, 2, 0.5, 1)
    rows = [lambda size: [("size", f"{size:g} <mm>")]]
    return control, panels.Panel("test", {"size": control}, [], state, nothing, *rows)


def test_mistakes_are_escaped_and_go_away(caplog):
    control, panel = fails_above_one(InputError("the size <b>must</b> be small"))
    control.value = 2
    alert = panel.alert.value
    assert "The size &lt;b&gt;must&lt;/b&gt; be small." in alert and 'role="alert"' in alert
    assert not caplog.records
    control.value = 0.5
    assert panel.alert.value == "" and "0.5 &lt;mm&gt;" in panel.numbers.value


def test_the_unexpected_is_one_sentence_here_and_a_traceback_in_the_log(monkeypatch):
    logged = []
    monkeypatch.setattr(panels.log, "error", lambda _, exc_info: logged.append(exc_info))
    control, panel = fails_above_one(ZeroDivisionError("deep <inside>"))
    control.value = 2
    assert "ZeroDivisionError" in panel.alert.value
    assert "Traceback" not in panel.alert.value and "<inside>" not in panel.alert.value
    assert [error.args for error in logged] == [("deep <inside>",)]


def test_setting_several_controls_updates_once():
    calls = []

    def state(**values):
        calls.append(values)

    controls = {name: panels.slider(f"{name} [mm]", 0, 9, 1, 0) for name in "ab"}
    panel = panels.Panel("test", controls, [], state, nothing, lambda state: [])
    panel.set(a=3, b=4)
    assert calls == [{"a": 0, "b": 0}, {"a": 3, "b": 4}]


def test_values_are_in_si_and_so_is_what_is_set():
    controls = {
        "arm": panels.slider("arm [mm]", 0, 100, 1, 60, unit=1e-3),
        "turn": panels.slider("turn [deg]", -180, 180, 1, 90, unit=np.pi / 180),
        "rate": panels.slider("rate [1/min]", 0, 100, 1, 70),
    }
    panel = panels.Panel("test", controls, [], dict, nothing, lambda state: [])
    expected = {"arm": 0.06, "turn": np.pi / 2, "rate": 70.0}
    assert panel.values() == pytest.approx(expected)
    panel.set(arm=0.08, turn=-np.pi)
    assert (controls["arm"].value, controls["turn"].value) == (80.0, -180.0)


def test_running_a_cell_again_closes_what_it_showed(monkeypatch):
    instances = widgets.widgets.widget._instances
    monkeypatch.setattr(panels, "_cell_id", lambda: "a cell")
    for make in MAKERS.values():
        make()
    count = len(instances)
    for make in MAKERS.values():
        make()
    assert len(instances) == count
    monkeypatch.setattr(panels, "_cell_id", lambda: "another cell")
    MAKERS["fit"]()
    assert len(instances) > count


def test_the_notebook_gets_whole_frames():
    picture = CurvePicture("x [mm]", "y [mm]", (0, 1), (0, 1), {"one": "solid"})
    canvas = panels_canvas.notebook_canvas(picture)
    frames: list[bytes] = []
    canvas.send_binary = frames.append
    for place in (0.1, 0.1):
        picture.update({"one": (np.array([0, 1]), np.array([0, 1]))}, (place, place), "now")
        canvas.draw()
    assert len(frames) >= 2 and frames[-1] == frames[-2]
    assert not canvas.header_visible and not canvas.footer_visible


def test_saving_in_one_thread_does_not_spoil_what_another_draws():
    panel = ferrule_panel(PADDLES)
    used = find(panel, widgets.FloatSlider, "used")
    (canvas,) = (w for w in inside(panel) if isinstance(w, panels_canvas.WholeFrameCanvas))
    canvas.draw()
    saving = threading.Thread(
        target=lambda: [panels.stacked_png(panel._pictures) for _ in range(6)]
    )
    saving.start()
    while saving.is_alive():
        canvas.draw()
        used.value = (used.value + 7) % 90
    used.value = 30
    moved = np.array(canvas.buffer_rgba())
    assert np.array_equal(moved, drawn(panel)[0])
