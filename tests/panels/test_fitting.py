"""The panel from a bench file to a sheet: the library's numbers, own files, no stale sheet."""

import math
import re
import shutil
from base64 import b64decode
from html import unescape

import ipywidgets as widgets
import numpy as np
import pytest
from panel_parts import controls, find, html, number

from paddlebal import fitting_panel
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.pipeline import fit_file
from paddlebal.trim import trim_words
from paddlebal.unbalance import roll_torque


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
    assert first[0] == "my <b>lever.csv" and len(others) == 7
    assert all(label.startswith("demo: ") for label, _ in others)
    assert not any("swing" in label or "record" in label for label, _ in others)


@pytest.mark.parametrize("name", ["far_cranked_lever", "ocean_add_on"])
def test_numbers_are_those_of_the_library(panel, name):
    file = data_path("bench", f"{name}.csv")
    parts = controls(panel)
    parts["bench file"].value = file
    parts["longest arm [mm]"].value = 80
    parts["material"].value = "stainless steel"
    limits = {"material": "stainless steel", "arm": (0, 0.08), "reach": 0.5}
    fitting = fit_file(file, read_bench(file), **limits)
    assert alert(panel) == ""
    paddle, U, piece = fitting.paddle, fitting.fit.unbalance, fitting.pieces[0]
    direction = math.degrees(math.atan2(U[1], U[0])) % 360
    angle = math.degrees(math.atan2(-U[1], -U[0])) % 360
    torques = [abs(float(roll_torque(U, paddle.catch_angle(side)))) for side in ("left", "right")]
    rows = {
        "unbalance": (1e6 * np.hypot(*U), 0.5),
        "its direction": (direction, 0.05),
        "counterweight": (1e3 * np.hypot(*U) / 0.08, 0.05),
        "piece, diameter × length": (1e3 * piece.diameter, 0.5),
        "arm": (80, 0.05),
        "angle": (angle, 0.05),
        "place along the shaft": (1e3 * piece.x, 0.5),
        "residual unbalance": (0, 0.5),
        "torque to hold at the catch, before": (max(torques), 5e-4),
        "torque to hold at the catch, after": (0, 5e-4),
        "still carried afloat": (1e3 * fitting.balanced.flotation, 0.5),
    }
    for row, (value, within) in rows.items():
        assert number(panel, row) == pytest.approx(value, abs=within), row
    for row, u in (("unbalance", 2e6 * fitting.fit.polar[2]),
                   ("its direction", 2 * math.degrees(fitting.fit.polar[3]))):  # fmt: skip
        shown = re.search(f">{row}</th><td[^>]*>[^<]*± ([0-9.]+)", table(panel))[1]
        assert float(shown) == pytest.approx(u, rel=0.1), row
    assert f"<td>{fitting.present}</td>" in table(panel)
    assert f"<td>{fitting.forecast}</td>" in table(panel)
    assert "the weights that are on" not in table(panel)


def test_a_paddle_that_carries_a_weight_is_told_how_to_change_it(panel):
    file = data_path("bench", "ocean_fitted_lever.csv")
    controls(panel)["bench file"].value = file
    fitting = fit_file(file, read_bench(file))
    assert fitting.trim is not None and len(fitting.pieces) == 1
    assert trim_words(fitting.paddle, fitting.trim) in unescape(table(panel))
    assert "counterweight, as it is to be" in table(panel)
    assert "<td>rolls (0%)</td>" in table(panel)


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


def test_a_sheet_is_made_of_what_is_shown_or_not_at_all(panel, folder):
    file = folder / "my <b>lever.csv"
    text, shown = file.read_text(encoding="utf-8"), table(panel)
    file.write_text(text.replace(",250.0,", ",290.0,"), encoding="utf-8")
    make = find(panel, widgets.Button, "Make the sheet")
    make.click()
    assert "files have changed" in alert(panel) and links(panel) == {}
    assert table(panel) != shown
    make.click()
    assert alert(panel) == ""
    (text,) = (content.decode() for name, content in links(panel).items() if "html" in name)
    assert f"{number(panel, 'counterweight'):.1f} g" in text


def test_a_looser_fit_makes_the_forecast_worse(panel):
    parts = controls(panel)
    parts["bench file"].value = data_path("bench", "ocean_lever.csv")
    seen = []
    for angle in (0.2, 4.0):
        parts["angle kept to ± [deg]"].value = angle
        words = re.search(r">with the counterweight</th><td>[^<]*\((\d+)%\)", table(panel))
        seen.append(int(words[1]))
    assert seen[0] > 95 > 65 > seen[1]


def test_the_piece_stays_within_reach(panel):
    parts = controls(panel)
    parts["bench file"].value = data_path("bench", "mended_lever.csv")
    assert number(panel, "place along the shaft") > 90
    parts["farthest place [mm]"].value = 100
    assert number(panel, "place along the shaft") < 80


def test_doubts_are_told_beside_the_numbers(panel, folder):
    text = (folder / "my <b>lever.csv").read_text(encoding="utf-8")
    (folder / "my <b>lever.csv").write_text(
        text.replace(",with", ",x").replace(",against", ",with").replace(",x", ",against"),
        encoding="utf-8",
    )
    find(panel, widgets.Button, "List the files again").click()
    assert "&#x27;against&#x27; exchanged?" in "".join(html(panel))
    assert alert(panel) == "" and "<table" in table(panel)


def test_a_sheet_that_cannot_be_made_leaves_the_numbers(panel, folder):
    text = (folder / "ocean.toml").read_text(encoding="utf-8")
    (folder / "ocean.toml").write_text(
        text.replace("radius_mm = 14.6", "radius_mm = 31"), encoding="utf-8"
    )
    find(panel, widgets.Button, "List the files again").click()
    numbers = table(panel)
    find(panel, widgets.Button, "Make the sheet").click()
    assert "62.0 mm across" in alert(panel) and sheet(panel) == ""
    assert numbers and table(panel) == numbers


def test_a_paddle_known_only_from_outside_goes_through(panel):
    controls(panel)["bench file"].value = data_path("bench", "glued_lever.csv")
    assert alert(panel) == ""
    shown = unescape(table(panel))
    assert "<td>not known</td>" in shown and "Whether it floats" in shown
    find(panel, widgets.Button, "Make the sheet").click()
    (text,) = (content.decode() for name, content in links(panel).items() if "html" in name)
    assert "Not known of this paddle" in text and "0: mark" in text


def test_a_wrong_reading_is_left_out_on_demand(panel, folder):
    text = (folder / "my <b>lever.csv").read_text(encoding="utf-8")
    (folder / "my <b>lever.csv").write_text(text.replace("0.1127", "0.1327"), encoding="utf-8")
    find(panel, widgets.Button, "List the files again").click()
    assert any("against all others" in each for each in html(panel))
    before = number(panel, "unbalance")
    controls(panel)["readings"].value = "without a wrong one"
    assert not any("against all others" in each for each in html(panel))
    assert number(panel, "unbalance") != before


def test_pieces_and_holder_reach_the_numbers(panel):
    parts = controls(panel)
    alone = number(panel, "counterweight")
    parts["holder's mass [g]"].value = 30
    parts["holder's arm [mm]"].value = 40
    arm = number(panel, "arm")
    assert number(panel, "counterweight") == pytest.approx(alone - 30 * 40 / arm, abs=0.06)
    parts["pieces"].value = "pair"
    assert "weight 1" in table(panel) and "weight 2" in table(panel)
