"""Panels and pictures for the back row, for the colour-blind, in print, and for the ear.

Colour blindness is simulated in linear RGB with the matrices for severity 1.0 of Machado,
Oliveira & Fernandes, "A physiologically-based model for simulation of color vision deficiency",
IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291.
"""

import re
from html import unescape
from itertools import combinations

import ipywidgets as widgets
import numpy as np
import pytest
from matplotlib.collections import Collection
from matplotlib.colors import to_rgb, to_rgba_array
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Text

from paddlebal import Limits, fitting_panel, load_paddle, place_counterweight
from paddlebal.files.text import data_path
from paddlebal.panels.bench import fit_panel
from paddlebal.panels.design import design_panel, tolerance_panel, variants_panel
from paddlebal.panels.ferrule import ferrule_panel
from paddlebal.panels.film import films_panel, frame_panel
from paddlebal.panels.grip import grip_panel, rests_picture
from paddlebal.panels.many import many_panel
from paddlebal.panels.motion import motion_panel
from paddlebal.panels.panel import picture_view
from paddlebal.panels.two_planes import rotor_panel
from paddlebal.pictures.style import ACCENT, DARK, GREY, PALE

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
PLACED = place_counterweight(OCEAN.unbalance(), Limits.for_paddle(OCEAN, arm=(0, 0.08)))
FILES = sorted(data_path("bench").glob("*lever.csv"))
MAKERS = {
    "fit": lambda: fit_panel(FILES),
    "fitting": lambda: fitting_panel(data_path("bench")),
    "ferrule": lambda: ferrule_panel([OCEAN]),
    "films": lambda: films_panel([OCEAN]),
    "frame": frame_panel,
    "grip": lambda: grip_panel([OCEAN]),
    "many": many_panel,
    "motion": lambda: motion_panel([OCEAN]),
    "rests": lambda: picture_view(rests_picture()),
    "design": lambda: design_panel(OCEAN),
    "variants": lambda: variants_panel(OCEAN),
    "tolerance": lambda: tolerance_panel(OCEAN, PLACED, 0.002),
    "rotor": lambda: rotor_panel(OCEAN),
}


@pytest.fixture(scope="module", params=MAKERS)
def panel(request):
    panel = MAKERS[request.param]()
    for picture in panel._pictures:
        picture.figure.canvas.draw()
    return panel


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def descriptions(panel):
    """What the panel says of its pictures to those who cannot see them."""
    pattern = r'<div role="img" aria-label="([^"]*)"></div>'
    found = (re.fullmatch(pattern, getattr(w, "value", "") or "") for w in texts_of(panel))
    return [unescape(match[1]) for match in found if match]


def texts_of(panel):
    return [w for w in inside(panel) if isinstance(w, widgets.HTML)]


def texts(picture):
    shown = picture.figure.findobj(lambda a: isinstance(a, Text) and a.get_visible())
    return [text for text in shown if text.get_text().strip()]


def test_every_text_in_a_picture_has_14_points(panel):
    assert panel._pictures
    for picture in panel._pictures:
        found = texts(picture)
        assert found
        assert [t.get_text() for t in found if t.get_fontsize() < 13.99] == []


def test_every_text_stands_out_from_the_paper(panel):
    for picture in panel._pictures:
        for text in texts(picture):
            if text.get_text() == "■":
                continue
            assert 1.05 / (luminance(text.get_color()) + 0.05) >= 4.5, text.get_text()


def test_pictures_are_in_greys_and_one_accent(panel):
    for picture in panel._pictures:
        for artist in picture.figure.findobj():
            for r, g, b, _ in drawn_colours(artist):
                grey = max(r, g, b) - min(r, g, b) < 0.01
                assert grey or np.allclose((r, g, b), to_rgb(ACCENT), atol=0.01), artist


def drawn_colours(artist):
    if isinstance(artist, Line2D):
        colours = [artist.get_color(), artist.get_markerfacecolor(), artist.get_markeredgecolor()]
    elif isinstance(artist, Patch | Collection):
        filled = not isinstance(artist, Patch) or artist.get_fill()
        colours = [artist.get_edgecolor(), *([artist.get_facecolor()] * filled)]
    elif isinstance(artist, Text):
        colours = [artist.get_color()]
    else:
        colours = []
    return np.concatenate([to_rgba_array(colour) for colour in colours]) if colours else []


def test_each_picture_is_described_with_the_present_numbers(panel):
    found = descriptions(panel)
    assert len(found) == len(panel._pictures)
    table = next((w.value for w in texts_of(panel) if w.value.startswith("<table")), "")
    rows = re.findall(r"<th[^>]*>(.*?)</th><td[^>]*>(.*?)</td>", table)
    for words, picture in zip(found, panel._pictures, strict=True):
        assert len(picture.shows) > 40 and words.startswith(picture.shows)
        for what, value in rows:
            assert f"{unescape(what)} {unescape(value)}" in words


def test_the_description_follows_a_control():
    panel = fit_panel(FILES)
    scale = next(w for w in inside(panel) if isinstance(w, widgets.FloatSlider))
    before = descriptions(panel)[0]
    scale.value += 4 * scale.step
    assert descriptions(panel)[0] != before


def test_every_control_says_what_it_is(panel):
    for widget in inside(panel):
        if isinstance(widget, widgets.FloatSlider | widgets.Dropdown | widgets.Button):
            assert widget.description
        if isinstance(widget, widgets.FloatSlider | widgets.Dropdown):
            assert widget.tooltip == widget.description


def linear(colour):
    values = np.array(to_rgb(colour))
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def luminance(colour):
    return float(linear(colour) @ (0.2126, 0.7152, 0.0722))


SEEN = {
    "by most": np.eye(3),
    "without red cones": [
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ],
    "without green cones": [
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ],
    "without blue cones": [
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ],
    "in black and white": np.tile((0.2126, 0.7152, 0.0722), (3, 1)),
}
SRGB_TO_XYZ = np.array(
    [(0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505)]
)


def lab(rgb):
    """CIE L*a*b* of a linear RGB colour, white of sRGB."""
    t = SRGB_TO_XYZ @ np.clip(rgb, 0, 1) / SRGB_TO_XYZ.sum(axis=1)
    x, y, z = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / 3 / (6 / 29) ** 2 + 4 / 29)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


@pytest.mark.parametrize("way", SEEN)
def test_colours_are_told_apart(way):
    for one, other in combinations((ACCENT, DARK, GREY, PALE, "white"), 2):
        seen = [lab(SEEN[way] @ linear(colour)) for colour in (one, other)]
        least = 13 if {one, other} == {PALE, "white"} else 15
        assert np.linalg.norm(seen[0] - seen[1]) > least, (one, other)
