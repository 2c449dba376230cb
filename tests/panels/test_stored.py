"""What of a panel is kept in a stored notebook."""

from base64 import b64decode
from io import BytesIO

import ipywidgets as widgets
import pytest
from matplotlib.image import imread
from panel_parts import inside

from paddlebal import (
    balance_panel,
    feather_panel,
    ferrule_panel,
    hour_panel,
    load_paddle,
    placement_panel,
    static_panel,
    stroke_panel,
)
from paddlebal.files.text import data_path
from paddlebal.live.page import LIVE
from paddlebal.live.still import COLUMN, SHARP
from paddlebal.panels import canvas as panels_canvas
from paddlebal.panels import panel as panels

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
LIVING = (balance_panel, static_panel, feather_panel, placement_panel, stroke_panel, hour_panel)


def stored_png(panel):
    return b64decode(panel._repr_mimebundle_()[0]["image/png"])


def test_a_stored_panel_is_a_short_text_and_its_picture():
    panel = ferrule_panel([OCEAN])
    (canvas,) = (w for w in inside(panel) if isinstance(w, panels_canvas.WholeFrameCanvas))
    height, width, _ = imread(BytesIO(stored_png(panel))).shape
    data, metadata = panel._repr_mimebundle_()
    assert data["text/plain"] == "Panel: ferrule" and LIVE not in data
    assert len(metadata["image/png"]["alt"]) > 40
    size = canvas.figure.get_size_inches() * canvas.figure.dpi
    assert (width, height) == tuple(round(each) for each in size)


def test_the_stored_picture_is_the_present_one():
    panel = ferrule_panel([OCEAN])
    used = next(w for w in inside(panel) if "used" in getattr(w, "description", ""))
    before = stored_png(panel)
    assert stored_png(panel) == before
    used.value -= 20
    assert stored_png(panel) != before


@pytest.mark.parametrize("make", LIVING)
def test_a_living_panel_is_stored_with_all_that_a_page_needs(make):
    panel = make([OCEAN])
    data, metadata = panel._repr_mimebundle_()
    assert data["text/plain"] == f"Panel: {make.__name__.removesuffix('_panel')}"
    assert metadata["image/png"]["alt"] == data[LIVE]["shows"]
    names = {control["name"] for control in data[LIVE]["controls"]}
    assert set(panel.shown.values) == names
    pixels = imread(BytesIO(b64decode(data["image/png"])))
    assert pixels.shape[1] == round(2 * COLUMN * SHARP)
    assert 0.01 < (pixels[..., :3].min(axis=2) < 0.7).mean() < 0.5


def test_running_a_cell_again_closes_the_living_panel_it_showed(monkeypatch):
    instances = widgets.widgets.widget._instances
    monkeypatch.setattr(panels, "_cell_id", lambda: "a living cell")
    balance_panel([OCEAN])
    count = len(instances)
    balance_panel([OCEAN])
    assert len(instances) == count
