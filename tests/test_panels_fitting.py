"""The panel from a bench file to a sheet: the library's numbers, own files, no stale sheet."""

import math
import re
import shutil
from base64 import b64decode
from html import unescape

import ipywidgets as widgets
import pytest
from panel_parts import controls, find, html, number

from paddlebal import fitting_panel
from paddlebal.counterweight import trimmed
from paddlebal.files import data_path
from paddlebal.fitting import fit_file
from paddlebal.readings import read_bench
from paddlebal.unbalance import GRAM_MM


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    shutil.copy(data_path("bench", "ocean_lever.csv"), folder / "my <b>lever.csv")
    shutil.copy(data_path("paddles", "ocean.toml"), folder)
    return folder


@pytest.fixture
def panel(folder):
    return fitting_panel(folder)


def alert(panel):
    return next(filter(re.compile('role="alert"').search, html(panel)), "")


def table(panel):
    return next(filter(re.compile("^<table").search, html(panel)), "")


def links(panel):
    """Name and content of the files that the panel hands over."""
    found = re.findall(r'<a download="([^"]*)" href="data:[^;]*;base64,([^"]*)">', sheet(panel))
    return {unescape(name): b64decode(content) for name, content in found}


def sheet(panel):
    return html(panel)[0]


def test_own_files_come_first_then_the_demo(panel):
    first, *others = controls(panel)["bench file"].options
    assert first[0] == "my <b>lever.csv" and len(others) == 8
    assert all(label.startswith("demo: ") for label, _ in others)


@pytest.mark.parametrize("name", ["far_cranked_lever", "ocean_add_on"])
def test_numbers_are_those_of_the_library(panel, name):
    file = data_path("bench", f"{name}.csv")
    parts = controls(panel)
    parts["bench file"].value = file
    parts["longest arm [mm]"].value = 80
    parts["material"].value = "stainless steel"
    fitting = fit_file(file, read_bench(file), material="stainless steel", arm=(0, 0.08))
    assert alert(panel) == ""
    size = fitting.fit.polar[0] / GRAM_MM
    assert number(panel, "unbalance") == pytest.approx(size, abs=0.5)
    piece = fitting.placement
    assert number(panel, "counterweight") == pytest.approx(1e3 * piece.mass, abs=0.05)
    assert number(panel, "arm") == pytest.approx(1e3 * piece.arm, abs=0.05)
    assert number(panel, "place along the shaft") == pytest.approx(1e3 * piece.x, abs=0.5)
    assert f"<td>{fitting.present}</td>" in table(panel)
    assert f"<td>{fitting.forecast}</td>" in table(panel)
    assert "the weight that is on" not in table(panel)


def test_a_paddle_that_carries_a_weight_is_told_how_to_change_it(panel):
    file = data_path("bench", "ocean_fitted_lever.csv")
    controls(panel)["bench file"].value = file
    fitting = fit_file(file, read_bench(file))
    (weight,) = fitting.paddle.counterweights
    better = trimmed(weight, fitting.fit.unbalance)
    heavier, turned = 1e3 * (better.mass - weight.mass), math.degrees(better.angle - weight.angle)
    assert number(panel, "or the weight that is on, heavier by") == pytest.approx(heavier, abs=0.05)
    assert number(panel, "and turned by") == pytest.approx(turned, abs=0.05)
    assert "<td>rolls</td>" in table(panel)


def test_the_sheet_is_handed_over_and_nothing_is_written(panel, folder):
    before = sorted(folder.iterdir())
    find(panel, widgets.Button, "Make the sheet").click()
    made = links(panel)
    assert list(made) == ["my <b>lever.pdf", "my <b>lever.html"]
    assert made["my <b>lever.pdf"].startswith(b"%PDF") and b"<svg" in made["my <b>lever.html"]
    assert "<b>" not in sheet(panel)
    assert sorted(folder.iterdir()) == before


def test_a_sheet_does_not_outlive_its_numbers(panel):
    find(panel, widgets.Button, "Make the sheet").click()
    controls(panel)["longest arm [mm]"].value = 70
    assert links(panel) == {} and sheet(panel) == ""


def test_a_file_that_appears_is_listed_and_the_choice_stays(panel, folder):
    parts, again = controls(panel), find(panel, widgets.Button, "List the files again")
    parts["bench file"].value = chosen = data_path("bench", "sprint_lever.csv")
    (folder / "a.csv").write_text("nothing of use")
    again.click()
    assert parts["bench file"].options[0][0] == "a.csv" and parts["bench file"].value == chosen
    parts["bench file"].value = folder / "a.csv"
    assert "a.csv" in alert(panel) and table(panel) == ""
    (folder / "a.csv").unlink()
    again.click()
    assert parts["bench file"].value == folder / "my <b>lever.csv" and alert(panel) == ""


def test_a_file_mended_meanwhile_is_read_anew(panel, folder):
    (folder / "ocean.toml").rename(folder / "elsewhere.toml")
    again = find(panel, widgets.Button, "List the files again")
    again.click()
    assert "ocean.toml" in alert(panel) and "was not found" in alert(panel)
    find(panel, widgets.Button, "Make the sheet").click()
    assert "was not found" in alert(panel) and links(panel) == {}
    (folder / "elsewhere.toml").rename(folder / "ocean.toml")
    again.click()
    assert alert(panel) == ""


def test_timed_swings_are_refused_in_words(panel):
    controls(panel)["bench file"].value = data_path("bench", "ocean_swing.csv")
    assert "measure with the lever or with a known mass" in alert(panel)
