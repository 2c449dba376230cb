"""The designer's panels and pictures: what a reader does, without a browser."""

import csv
import io
import math
import re
from base64 import b64decode

import ipywidgets as widgets
import numpy as np
import pytest
from panel_parts import find, html, inside, number

from paddlebal import BladeShape, Limits, load_paddle, place_counterweight
from paddlebal.blade import blade_body
from paddlebal.designs import Variant, design_variant
from paddlebal.files.text import data_path
from paddlebal.panels import canvas as panels_canvas
from paddlebal.panels.design import design_panel, tolerance_panel, variants_panel
from paddlebal.pictures.design import TornadoPicture, shades
from paddlebal.placement import half_unbalance
from paddlebal.tolerance import placement_tolerance
from paddlebal.units import GRAM_MM

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
LIMITS = Limits.for_paddle(OCEAN, material="brass", arm=(0, 0.08))
PLACED = place_counterweight(OCEAN.unbalance(), LIMITS, paddle=OCEAN)
MAKERS = {
    "design": lambda: design_panel(OCEAN),
    "variants": lambda: variants_panel(OCEAN),
    "tolerance": lambda: tolerance_panel(OCEAN, PLACED, 0.0035, draws=4000),
}


def canvas(panel):
    (found,) = [w for w in inside(panel) if isinstance(w, panels_canvas.WholeFrameCanvas)]
    return found


def pixels(panel):
    return np.array(canvas(panel).buffer_rgba())


@pytest.fixture(params=MAKERS)
def panel(request):
    made = MAKERS[request.param]()
    canvas(made).draw()
    return made


def test_each_control_changes_the_picture_and_both_ends_are_shown(panel):
    for control in [w for w in inside(panel) if isinstance(w, widgets.FloatSlider)]:
        start, seen = control.value, [pixels(panel)]
        for end in (control.min, control.max):
            control.value = end
            assert html(panel)[0] == ""
            seen.append(pixels(panel))
        assert np.any(seen[1] != seen[2]), control.description
        control.value = start
        assert np.array_equal(pixels(panel), seen[0]), control.description


def test_blitted_picture_is_that_of_a_full_redraw(panel):
    for control in [w for w in inside(panel) if isinstance(w, widgets.FloatSlider)]:
        control.value = control.min
    blitted = pixels(panel)
    canvas(panel).draw()
    assert np.array_equal(blitted, pixels(panel))


def test_a_move_creates_no_artist(panel):
    before = list(map(id, canvas(panel).figure.findobj()))
    for control in [w for w in inside(panel) if isinstance(w, widgets.FloatSlider)]:
        control.value = control.max
    assert list(map(id, canvas(panel).figure.findobj())) == before


def test_design_numbers_are_those_of_the_shape_and_each_map_is_shown():
    panel = design_panel(OCEAN)
    shape = BladeShape()
    assert number(panel, "offset of a blade") == pytest.approx(
        1e3 * blade_body(shape).centre[1], abs=0.05
    )
    expected = design_variant(OCEAN, shape, 0.175, OCEAN.feather, 0.08, 0.0, 0.0)
    assert number(panel, "unbalance") == pytest.approx(expected.unbalance_g_mm, abs=0.5)
    before = number(panel, "counterweight that balances")
    find(panel, widgets.FloatSlider, "mass").value = 87.5 * 2 * 1.2
    assert number(panel, "counterweight that balances") == pytest.approx(1.2 * before, abs=1)
    chooser = find(panel, widgets.Dropdown)
    titles = set()
    for quantity in chooser.options:
        chooser.value = quantity
        assert html(panel)[0] == ""
        titles.add(canvas(panel).figure.axes[2].get_title(loc="left"))
    assert len(titles) == 3


def test_the_band_under_the_cross_holds_the_present_value():
    panel = design_panel(OCEAN)
    axes = canvas(panel).figure.axes[2]
    (image,) = axes.get_images()
    colours, levels = shades(12), np.arange(0, 31, 2.5)
    for crank, feather in ((2.0, 10), (9.0, 75)):
        find(panel, widgets.FloatSlider, "crank").value = crank
        find(panel, widgets.FloatSlider, "feather").value = feather
        rgba = np.asarray(image.get_array())
        row, column = round(feather / 90 * 200), round(crank / 12 * 200)
        band = np.flatnonzero((colours == rgba[row, column]).all(axis=1))[0]
        value = number(panel, "unbalance") / 1e3
        assert levels[band] - 0.1 <= value <= levels[band + 1] + 0.1


def handed_over(panel):
    """Name and text of the file behind the link in the panel; None without a link."""
    link = re.search(r'<a download="([^"]*)" href="data:text/csv;base64,([^"]*)"', html(panel)[-2])
    return (link[1], b64decode(link[2]).decode()) if link else None


def test_the_table_of_variants_is_a_download_and_nothing_is_written(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = variants_panel(OCEAN)
    add, drop = (
        find(panel, widgets.Button, words).click for words in ("Add to my table", "Drop the last")
    )
    name = find(panel, widgets.Text, "name of the variant")
    assert handed_over(panel) is None
    name.value = "../flat"
    add()
    find(panel, widgets.FloatSlider, "part").value = 100
    name.value = "=1+1"
    add()
    add()
    drop()
    assert html(panel)[-1].count("<tr>") == 3
    file, text = handed_over(panel)
    head, *rows = csv.reader(io.StringIO(text))
    first, second = (dict(zip(head, row, strict=True)) for row in rows)
    assert file == "variants.csv" and head == list(Variant.__dataclass_fields__)
    assert (first["name"], second["name"]) == ("../flat", "'=1+1")
    assert (first["share_percent"], second["share_percent"]) == ("0", "100")
    assert second["unbalance_g_mm"] == "0" and float(first["unbalance_g_mm"]) > 1000
    assert first["arm_mm"] == f"{find(panel, widgets.FloatSlider, 'arm').value:.1f}"
    drop()
    assert len(handed_over(panel)[1].splitlines()) == 2
    drop()
    assert handed_over(panel) is None
    assert not list(tmp_path.iterdir())


def test_tolerance_panel_names_the_largest_error():
    panel = tolerance_panel(OCEAN, PLACED, 0.0035, draws=4000)
    assert ">angle<" in html(panel)[1]
    find(panel, widgets.FloatSlider, "angle").value = 0
    find(panel, widgets.FloatSlider, "mass").value = 3
    assert ">mass<" in html(panel)[1]
    find(panel, widgets.FloatSlider, "mass").value = 0
    assert ">feather<" in html(panel)[1]
    spread = placement_tolerance(
        PLACED, OCEAN.unbalance(), 0, 5e-4, 0, 4000, np.random.default_rng(1),
        feather_u=math.radians(1), far_half=half_unbalance(OCEAN, "left"),
    )  # fmt: skip
    sizes = (spread.edges[:-1] + spread.edges[1:]) / 2
    stays = 100 * spread.counts[9.80665 * sizes <= 0.0035].sum() / 4000
    assert number(panel, "pieces that stay where they are put") == pytest.approx(stays, abs=0.6)


def test_bars_are_as_long_as_what_they_show_the_longest_on_top():
    picture = TornadoPicture(("a", "b", "c"), 1000, 357)
    picture.update({"a": 100, "b": 300, "c": 200}, 400)
    picture.figure.canvas.draw()
    bars = [p for p in picture.figure.axes[0].patches if p.get_height() > 0]
    assert [bar.get_width() for bar in bars] == [100, 300, 200, 400]
    assert [round(bar.get_y() + 0.31) for bar in bars] == [0, 2, 1, -1]
    stream = io.BytesIO()
    picture.figure.savefig(stream, format="png")
    assert stream.getvalue().startswith(b"\x89PNG")


def test_units_are_grams_and_millimetres():
    one = design_variant(OCEAN, BladeShape(), 0.175, 0.0, 0.08, 1.0, 0.1)
    assert one.unbalance_g_mm == pytest.approx(0, abs=1e-6)
    assert one.fitted_counterweight_g * 80 == pytest.approx(
        2 * 175 * math.hypot(one.offset_mm, 1e3 * blade_body(BladeShape()).centre[2]), rel=1e-9
    )
    assert GRAM_MM * one.fitted_counterweight_g * 80 == pytest.approx(
        one.full_counterweight_g * 1e-3 * 0.08
    )
