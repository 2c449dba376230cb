"""From a visitor's own bench file to the sheet on the visitor's disk, in JupyterLab."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

ROOT = Path(__file__).resolve().parents[2]
LEVER = ROOT / "data" / "bench" / "sprint_lever.csv"


@pytest.fixture(scope="module")
def notebook(lab):
    notebook = lab.open("00_start_here.ipynb")
    notebook.run_all()
    assert notebook.errors() == []
    return notebook


def upload(page, name, text):
    file = {"name": name, "mimeType": "text/csv", "buffer": text.encode()}
    with page.expect_file_chooser() as chooser:
        page.locator("button.widget-upload").click()
    chooser.value.set_files(file)


def served(lab, name):
    address = f"{lab.address}/files/{lab.notebooks.name}/{name}"
    answer = lab.context.request.get(address, headers={"Referer": f"{lab.address}/lab"})
    assert answer.ok, answer.status
    return answer.body()


def test_bad_numbers_are_told_row_by_row_and_a_good_file_is_saved(lab, notebook, tmp_path):
    page, text = notebook.page, LEVER.read_text(encoding="utf-8")
    lines = text.splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith("0.0,"))
    lines[first] = lines[first].replace("0.0,", "zero,", 1)
    lines[first + 2] += ",extra"
    upload(page, "mine.csv", "\n".join(lines) + "\n")
    panel = page.locator(".jp-OutputArea-output", has_text="files in this folder").last
    told = panel.get_by_role("status")
    expect(told).to_contain_text("mine.csv: 2 problems")
    for row in (first + 1, first + 3):
        expect(panel).to_contain_text(f"row {row}")
    upload(page, "mine.csv", text)
    expect(told).to_contain_text("every entry can be read, but")
    expect(panel).to_contain_text("was not found")
    notebook.click("Save")
    expect(told).to_contain_text("mine.csv is saved")
    page.screenshot(path=tmp_path / "saved.png")
    assert served(lab, "mine.csv").decode() == text


def test_the_sheet_can_be_fetched(lab, notebook):
    before = sorted((lab.folder / "work").rglob("*"))
    for name, begins in (("ocean_lever.pdf", b"%PDF"), ("ocean_lever.html", b"<!doctype html>")):
        link = notebook.page.get_by_role("link", name=name).first
        expect(link).to_be_visible()
        with notebook.page.expect_download() as download:
            link.click()
        assert download.value.suggested_filename == name
        assert Path(download.value.path()).read_bytes().startswith(begins)
    assert sorted((lab.folder / "work").rglob("*")) == before


def test_a_bad_answer_gets_a_hint(notebook):
    entry = notebook.page.get_by_label("your answer").first
    entry.fill("a lot")
    entry.press("Enter")
    hint = notebook.page.get_by_text("Please type one number, such as 0.15.")
    expect(hint.first).to_be_visible()
