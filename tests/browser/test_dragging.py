"""A panel in a real browser: what it shows while a slider is dragged and afterwards."""

import io

import matplotlib.image
import nbformat
import numpy as np
import pytest
from browser.lab import Lab

MAKE = """
import time
import numpy as np
from ipywidgets import FloatSlider
from ipywidgets.widgets.widget import _instances
from paddlebal import load_paddle
from paddlebal.pictures.curve import CurvePicture
from paddlebal.files.text import data_path
from paddlebal.panels.ferrule import ferrule_panel
from paddlebal.panels.canvas import WholeFrameCanvas

paddles = [load_paddle(data_path("paddles", "ocean.toml"))]
prompt, shown = CurvePicture.update, []

def slow(self, curves, point, words):
    time.sleep(0.15)
    shown.append(float(point[0]))
    prompt(self, curves, point, words)

CurvePicture.update = slow

def panel_sliders(widget):
    own = [widget] if isinstance(widget, FloatSlider) else []
    return own + [s for child in getattr(widget, "children", ()) for s in panel_sliders(child)]

def find(widget, kind):
    if isinstance(widget, kind):
        return widget
    found = (find(child, kind) for child in getattr(widget, "children", ()))
    return next((each for each in found if each is not None), None)
"""
SHOW = "panel = ferrule_panel(paddles); panel"
TELL = """
np.save("kernel.npy", np.array(find(panel, WholeFrameCanvas).buffer_rgba()))
print(len(_instances), len(shown), shown[-1])
"""
RUSH = """
CurvePicture.update = prompt
for feather in (10, 80, 5, 35):
    panel_sliders(panel)[1].value = feather
"""


@pytest.fixture(scope="module")
def lab(browser, tmp_path_factory):
    folder = tmp_path_factory.mktemp("drag")
    cells = [nbformat.v4.new_code_cell(text) for text in (MAKE, SHOW, TELL, RUSH)]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3"}}
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata=kernel), folder / "drag.ipynb")
    with Lab(browser, tmp_path_factory.mktemp("lab"), folder, scale=2) as lab:
        yield lab


@pytest.fixture(scope="module")
def page(lab):
    page = lab.open("drag.ipynb")
    page.run_cell(0)
    page.run_cell(1)
    return page


def tell(page):
    """Widgets alive, updates so far, and the last feather shown by the kernel [deg]."""
    page.run_cell(2)
    words = page.cell(2).locator(".jp-OutputArea-output").inner_text().split()
    return int(words[0]), int(words[1]), float(words[2])


def browser_shows_what_the_kernel_drew(lab, page):
    tell(page)
    drawn = np.load(next((lab.folder / "work").glob("*/kernel.npy"))) / 255
    page.page.wait_for_timeout(300)
    seen = matplotlib.image.imread(io.BytesIO(page.pixels(cell=1)))
    return drawn.shape == seen.shape and np.allclose(drawn, seen, atol=1e-3) and drawn.min() < 0.5


def test_the_picture_is_there_at_once(lab, page):
    assert browser_shows_what_the_kernel_drew(lab, page)
    assert page.errors() == []


def test_a_drag_faster_than_the_picture_ends_on_the_last_value(lab, page):
    _, before, _ = tell(page)
    page.drag("used at feather", 0.1, 0.8, moves=60)
    page.page.wait_for_timeout(1000)
    _, after, last = tell(page)
    assert 2 <= after - before <= 30
    assert f"{last:.0f}" == page.value("used at feather").replace("\N{MINUS SIGN}", "-")
    assert last == pytest.approx(0.8 * 90, abs=2)
    assert browser_shows_what_the_kernel_drew(lab, page)


def test_keys_move_a_slider(lab, page):
    _, _, before = tell(page)
    page.press("used at feather", "ArrowRight", times=3)
    page.wait_idle()
    assert tell(page)[2] == pytest.approx(before + 3)


def test_no_frame_is_lost_in_a_rush(lab, page):
    for _ in range(3):
        page.run_cell(3)
        assert browser_shows_what_the_kernel_drew(lab, page)


def test_running_the_cell_again_leaves_no_widgets_behind(lab, page):
    before, _, _ = tell(page)
    page.run_cell(1)
    assert tell(page)[0] == before
    assert browser_shows_what_the_kernel_drew(lab, page)


def test_a_reloaded_page_shows_the_running_panel(lab, page):
    page.page.keyboard.press("Control+s")
    page.wait_idle()
    page.page.reload()
    page.wait_idle()
    page.slider("used at feather").wait_for()
    page.wait_idle()
    assert browser_shows_what_the_kernel_drew(lab, page)
