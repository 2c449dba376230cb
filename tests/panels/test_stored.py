"""What of a panel is kept in a stored notebook."""

from base64 import b64decode
from io import BytesIO

import ipywidgets as widgets
from matplotlib.image import imread
from panel_parts import inside

from paddlebal import load_paddle
from paddlebal.files.text import data_path
from paddlebal.panels import balance as panels_balance
from paddlebal.panels import canvas as panels_canvas
from paddlebal.panels import placement as panels_placement

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))


def stored_png(panel):
    return b64decode(panel._repr_mimebundle_()[0]["image/png"])


def test_a_stored_panel_is_a_short_text_and_its_pictures():
    panel = panels_balance.static_panel([OCEAN])
    canvases = [w for w in inside(panel) if isinstance(w, panels_canvas.WholeFrameCanvas)]
    sizes = [canvas.figure.get_size_inches() * canvas.figure.dpi for canvas in canvases]
    height, width, _ = imread(BytesIO(stored_png(panel))).shape
    data, metadata = panel._repr_mimebundle_()
    assert data["text/plain"] == "Panel: static"
    assert "end" in metadata["image/png"]["alt"] and "in space" in metadata["image/png"]["alt"]
    assert len(canvases) == 2
    assert (width, height) == (round(sizes[0][0]), sum(round(size[1]) for size in sizes))


def test_the_stored_picture_is_the_present_one():
    panel = panels_placement.placement_panel([OCEAN])
    arm = next(w for w in inside(panel) if isinstance(w, widgets.FloatSlider))
    before = stored_png(panel)
    assert stored_png(panel) == before
    arm.value += 20
    assert stored_png(panel) != before


def test_an_unbalance_of_rounding_only_has_no_rest_angle():
    unbalance = OCEAN.with_feather(180).unbalance()
    assert panels_balance._rest(unbalance) is None
    assert panels_balance._rest(OCEAN.unbalance()) is not None
