"""The panel for an own blade: what is uploaded is told, mended, and designed with."""

import io
from datetime import UTC, datetime

import ipywidgets as widgets
import numpy as np
import pytest
import trimesh
from panel_parts import controls, find, html, inside

from paddlebal import load_paddle, own_blade_panel
from paddlebal.files.text import data_path
from paddlebal.panels.canvas import WholeFrameCanvas

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))


def drawing(up=1.0, whole=True):
    """Content of a file that trimesh made: an ellipsoid, bent back, in millimetres."""
    mesh = trimesh.creation.icosphere(4)
    x, y, z = mesh.vertices.T
    bent = np.stack([220 * x, up * (14 * y + 20 * (x + 1)), up * 80 * z], axis=1)
    faces = mesh.faces if whole else mesh.faces[40:]
    stream = io.BytesIO()
    trimesh.Trimesh(bent, faces, process=False).export(stream, "stl")
    return stream.getvalue()


def upload(panel, content, name="mine.stl"):
    file = {"name": name, "type": "", "size": len(content), "content": content}
    find(panel, widgets.FileUpload).value = (
        file | {"last_modified": datetime(2026, 11, 26, tzinfo=UTC)},
    )


@pytest.fixture
def panel():
    return own_blade_panel(OCEAN)


def alerts(panel):
    return [text for text in html(panel) if 'role="alert"' in text]


def test_a_good_drawing_gives_maps_and_a_table_to_take_home(panel):
    upload(panel, drawing())
    assert alerts(panel) == []
    assert len([w for w in inside(panel) if isinstance(w, WholeFrameCanvas)]) == 2
    assert "440 × 160 mm" in "".join(html(panel))
    assert "depth of the spoon [mm]" not in controls(panel)
    assert controls(panel)["mass of a blade [g]"].value == 175
    find(panel, widgets.Text, "name of the variant").value = "mine"
    find(panel, widgets.Button, "Add to my table").click()
    assert 'download="variants.csv"' in "".join(html(panel))
    assert "nan" not in "".join(html(panel))


def test_a_power_face_on_the_wrong_side_is_told_and_mended(panel):
    upload(panel, drawing(up=-1.0))
    assert "power face up instead of down" in alerts(panel)[0]
    find(panel, widgets.Button, "Mend this").click()
    assert alerts(panel) == []
    assert controls(panel)["axis that points away from the power face"].value == "-y"


def test_a_hole_is_told_and_closed_when_asked(panel):
    upload(panel, drawing(whole=False))
    (told,) = alerts(panel)
    assert "not closed" in told and "mine.stl" in told
    assert not [w for w in inside(panel) if isinstance(w, WholeFrameCanvas)]
    controls(panel)["mend what can be mended"].value = True
    find(panel, widgets.Button, "Look at the blade").click()
    assert alerts(panel) == [] and "faces added to fill holes" in "".join(html(panel))


@pytest.mark.parametrize(
    ("content", "name", "told"),
    [
        (b"", "mine.stl", "no faces"),
        (b"solid x", "mine.stl", "no faces"),
        (b"<svg/>", "mine.svg", "expected a mesh file"),
        (9_000_000 * b"x", "mine.stl", "expected at most 8,000,000"),
    ],
)
def test_what_is_no_drawing_is_told_in_one_sentence(panel, content, name, told):
    upload(panel, content, name)
    (alert,) = alerts(panel)
    assert told in alert and "could not be computed" not in alert


def test_without_an_upload_the_button_says_what_is_missing(panel):
    find(panel, widgets.Button, "Look at the blade").click()
    assert "expected an upload" in alerts(panel)[0]


def test_a_wrong_unit_is_told_with_the_one_that_fits(panel):
    controls(panel)["its unit"].value = "m"
    upload(panel, drawing())
    assert "its unit could be &#x27;mm&#x27;" in alerts(panel)[0]
