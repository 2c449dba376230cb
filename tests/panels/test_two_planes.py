"""The panel on dynamic unbalance: what a reader does, without a browser."""

import re

import ipywidgets as widgets
import numpy as np
import pytest
from matplotlib.patches import FancyArrowPatch
from matplotlib.path import Path
from panel_parts import controls, inside

from paddlebal import OCEAN, load_paddle
from paddlebal.files.text import data_path
from paddlebal.panels import canvas as panels_canvas
from paddlebal.panels.two_planes import WAYS, rotor_panel
from paddlebal.pictures.two_planes import Arrow
from paddlebal.two_planes import balance_two_planes, peak_moments
from paddlebal.unbalance import couple_unbalance, magnitude

PADDLE = load_paddle(data_path("paddles", "ocean.toml"))


@pytest.fixture
def panel():
    made = rotor_panel(PADDLE)
    canvas(made).draw()
    return made


def canvas(panel):
    (found,) = [w for w in inside(panel) if isinstance(w, panels_canvas.WholeFrameCanvas)]
    return found


def pixels(panel):
    return np.array(canvas(panel).buffer_rgba())


def sliders(panel):
    return {w.description: w for w in inside(panel) if isinstance(w, widgets.FloatSlider)}


def choose(panel, way):
    next(w for w in inside(panel) if isinstance(w, widgets.Dropdown)).value = way


def cell(panel, row):
    texts = [w.value for w in inside(panel) if isinstance(w, widgets.HTML)]
    assert texts[0] == ""
    return re.search(f">{re.escape(row)}</th><td[^>]*>([^<]*)<", texts[1]).group(1)


def test_each_way_names_its_kind_and_the_numbers_are_the_librarys(panel):
    kinds = {}
    for way in WAYS:
        choose(panel, way)
        kinds[way] = cell(panel, "kind of unbalance")
    assert list(kinds.values()) == ["dynamic", "couple", "none"]
    assert float(cell(panel, "counterweights, arm 80 mm").split()[0]) == pytest.approx(
        1e3 * sum(map(magnitude, balance_two_planes(PADDLE, -0.5, 0.5))) / 0.08, abs=0.5
    )
    choose(panel, "none")
    size = magnitude(couple_unbalance(PADDLE))
    assert float(cell(panel, "couple unbalance").split()[0]) == pytest.approx(size, abs=5e-6)
    peaks = peak_moments(PADDLE, OCEAN.motion(PADDLE))
    shown = [text.get_text() for text in canvas(panel).figure.axes[-1].texts][-3:]
    expected = (peaks.gravity, peaks.couple_along, peaks.couple_across)
    assert [float(text) for text in shown] == pytest.approx(expected, abs=5e-4)


def test_controls_change_the_picture_which_a_full_redraw_leaves(panel):
    choose(panel, "two planes")
    for control in sliders(panel).values():
        seen = []
        for end in (control.min, control.max):
            control.value = end
            seen.append(pixels(panel))
        assert np.any(seen[0] != seen[1]), control.description
    blitted = pixels(panel)
    canvas(panel).draw()
    assert np.array_equal(blitted, pixels(panel))


def test_every_arrow_bar_and_name_stays_inside_its_axes(panel):
    figure = canvas(panel).figure
    for way in WAYS:
        choose(panel, way)
        for feather in (0, 60, 90):
            for place in (300, 650):
                for name, value in (("feather", feather), ("left", -place), ("right", place)):
                    next(s for d, s in sliders(panel).items() if d.startswith(name)).value = value
                sliders(panel)["strokes per minute"].value = 120
                renderer = figure.canvas.get_renderer()
                for axes in figure.axes:
                    frame = axes.get_window_extent(renderer).padded(1)
                    for artist in [*axes.patches, *axes.texts]:
                        if artist.get_visible() and artist.get_animated():
                            box = artist.get_window_extent(renderer)
                            assert frame.x0 <= box.x0 and box.x1 <= frame.x1, (way, feather, place)
                            assert frame.y0 <= box.y0 and box.y1 <= frame.y1, (way, feather, place)


def test_an_arrow_too_short_to_see_is_not_drawn():
    from matplotlib.figure import Figure

    axes = Figure().add_subplot()
    arrow = Arrow(axes, lambda artist: artist, "arrow", color="k")
    assert arrow.show((0, 0), (0, 0.1)) == [] and not arrow.patch.get_visible()
    ((_, tip, direction, _),) = arrow.show((1, 0), (1, -3))
    assert arrow.patch.get_visible() and tip == (1, -3)
    assert direction == pytest.approx(-np.pi / 2)


def test_a_plane_under_a_hand_is_told(panel):
    choose(panel, "two planes")
    right = next(s for name, s in sliders(panel).items() if name.startswith("right"))
    right.value = 350
    assert cell(panel, "a weight at 350 mm") == "is in the way of: right hand"
    right.value = 500
    assert "in the way" not in "".join(
        w.value for w in inside(panel) if hasattr(w, "value") and isinstance(w.value, str)
    )


@pytest.mark.parametrize("kind", ["none", "one, near the middle", "two planes"])
def test_no_name_touches_a_line_or_an_arrow_wherever_the_sliders_stand(kind):
    panel = rotor_panel(PADDLE)
    choose(panel, kind)
    (picture,), use = panel._pictures, controls(panel)
    for feather in (0, 30, 60, 90):
        for left, right in ((-700, 700), (-500, 500), (-200, 150)):
            use["feather [deg]"].value = feather
            use["left plane [mm]"].value, use["right plane [mm]"].value = left, right
            assert touched(picture) == []


def touched(picture):
    """Names that an arrow's shaft or a plane's line crosses, in the picture as it is drawn."""
    picture.figure.canvas.draw()
    renderer, found = picture.figure.canvas.get_renderer(), []
    for axes in picture.figure.axes:
        lines = [
            axes.transData.transform(arrow._posA_posB)
            for arrow in axes.patches
            if isinstance(arrow, FancyArrowPatch) and arrow.get_visible()
        ]
        for line in axes.lines:
            if line.get_linestyle() == "--" and len(line.get_xdata()) % 3 == 0:
                ends = np.reshape(np.transpose(line.get_data()), (-1, 3, 2))[:, :2]
                lines += [axes.transData.transform(each) for each in ends]
        for text in axes.texts:
            if text.get_visible() and text.get_text():
                box = text.get_window_extent(renderer)
                crossed = any(Path(line).intersects_bbox(box, filled=False) for line in lines)
                found += [text.get_text()] * crossed
    return found
