"""The desk in a real browser: from a bare start to the sheet, and what it survives."""

import os
import signal

import psutil
import pytest
from browser.app import App
from desk.virtual_bench import BENCH, PADDLE, REST, read
from film.swung import film, known, swing
from playwright.sync_api import expect
from spreadsheets import xlsx

from paddlebal.bench.films import BARE
from paddlebal.film.drawn import Camera

SIZES = {"laptop": (1366, 768), "projector": (1920, 1080), "phone": (390, 844)}


@pytest.fixture
def own(tmp_path):
    with App(tmp_path) as app:
        yield app


def opened(browser, app, size="laptop"):
    width, height = SIZES[size]
    page = browser.new_page(viewport={"width": width, "height": height})
    page.problems = []
    page.on("pageerror", lambda error: page.problems.append(str(error)))
    page.goto(app.page("00_desk"))
    page.get_by_role("button", name="New paddle").wait_for(timeout=60_000)
    return page


def kept(page):
    expect(page.locator(".desk-status")).to_contain_text("All is kept", timeout=10_000)


def typed(page, text):
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def state(page):
    """Type the paddle and the bench, by keyboard alone from the button for a new paddle on."""
    page.get_by_role("button", name="New paddle").press("Enter")
    expect(page.get_by_label("name", exact=True)).to_be_focused()
    for text in PADDLE.values():
        typed(page, text)
    while not page.get_by_label("lever", exact=True).evaluate("e => e === document.activeElement"):
        page.keyboard.press("Tab")
    typed(page, BENCH["lever"])
    while not page.get_by_label("scale's steps").evaluate("e => e === document.activeElement"):
        page.keyboard.press("Tab")
    typed(page, BENCH["step"])
    typed(page, REST["rest"])
    expect(page.locator("input.pull").first).to_be_focused()
    expect(page.locator("input.angle").first).not_to_have_attribute("placeholder", "")


def angle(page, row):
    cell = page.locator("input.angle").nth(row)
    return cell.input_value() or cell.get_attribute("placeholder")


COUNT = """() => {
  window.done = 0;
  for (const kind of ["keydown", "mousedown"]) {
    addEventListener(kind, (event) => { window.done += event.isTrusted ? 1 : 0; }, true);
  }
}"""
"""Counts keys and clicks in a page."""


@pytest.fixture(scope="module")
def films(tmp_path_factory):
    """Films drawn of swings in MuJoCo, bare and with 100 g on 60 mm at 30°."""
    folder = tmp_path_factory.mktemp("films")
    camera = Camera(960, 540, 1100.0, 1.3, roll=0.02, readout=0.012)
    return [
        film(folder / f"{name}.mp4", camera, swing(put, seconds=4.0), seed=i, blade=2.0, steps=2)
        for i, (name, put) in enumerate((("bare", BARE), ("with", known(30))))
    ]


@pytest.mark.parametrize("size", SIZES)
def test_from_two_films_to_the_sheet(browser, app, films, size):
    """Typed are only the paddle, and the known mass, its arm and its angle."""
    page = opened(browser, app, size)
    page.get_by_role("button", name="New paddle").press("Enter")
    expect(page.get_by_label("name", exact=True)).to_be_focused()
    for text in PADDLE.values():
        typed(page, text)
    page.get_by_label("measured by").select_option("films")
    expect(page.get_by_label("lever", exact=True)).to_be_hidden()
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Bring a film").click()
    chooser.value.set_files(films)
    expect(page.locator("fieldset.film")).to_have_count(2, timeout=60_000)
    expect(page.locator(".desk-verdict")).to_contain_text("same mass on the same place")
    page.get_by_label("known mass on it").nth(1).fill("100")
    page.keyboard.press("Enter")
    for name, text in (("its arm", "60"), ("its angle", "30"), ("its diameter", "30")):
        page.get_by_label(name, exact=True).fill(text)
        page.keyboard.press("Enter")
    expect(page.locator(".desk-verdict")).to_contain_text("Counterweight", timeout=10_000)
    expect(page.locator(".desk-verdict .doubt")).to_have_count(0)
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    with page.expect_download() as sheet:
        page.get_by_role("button", name="Fitting sheet").click()
    assert sheet.value.suggested_filename.endswith(".pdf")
    with page.expect_download() as target:
        page.get_by_role("button", name="Target to print").click()
    assert target.value.suggested_filename.endswith("target.pdf")
    kept(page)
    assert page.problems == []


def test_twelve_angles_take_no_more_than_180_keys_and_clicks(browser, app):
    page = opened(browser, app)
    page.evaluate(COUNT)
    state(page)
    kept(page)
    for row in range(12):
        if not angle(page, row):  # beyond what is needed: the angles between
            page.keyboard.press("Shift+Tab")
            page.keyboard.type(str(30 + 60 * (row - 6)))
            page.keyboard.press("Tab")
            kept(page)
        for text in read(float(angle(page, row))):
            typed(page, text)
        kept(page)
    page.get_by_role("button", name="Fitting sheet (PDF)").focus()
    with page.expect_download():
        page.keyboard.press("Enter")
    assert page.locator("input.pull").nth(23).input_value() != ""
    assert 100 < page.evaluate("window.done") <= 180
    page.close()


def read_until_enough(page):
    row = 0
    while "It is enough" not in page.locator(".desk-next").inner_text():
        assert row < 12
        for text in read(float(angle(page, row))):
            typed(page, text)
        kept(page)
        row += 1


@pytest.mark.parametrize("size", SIZES)
def test_from_a_bare_start_to_the_sheet_by_keyboard(browser, app, size, tmp_path):
    page = opened(browser, app, size)
    state(page)
    read_until_enough(page)
    assert "stays" in page.locator(".desk-verdict").inner_text()
    page.screenshot(path=tmp_path / f"{size}.png")
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= SIZES[size][0]
    sheet = page.get_by_role("button", name="Fitting sheet (PDF)")
    with page.expect_download() as download:
        sheet.press("Enter")
    assert download.value.path().read_bytes()[:5] == b"%PDF-"
    assert page.problems == []
    page.close()


def test_a_spreadsheet_goes_through_with_three_clicks(browser, app, tmp_path):
    page = opened(browser, app)
    state(page)
    lines = ["Winkel;mit;gegen"]
    lines += [";".join([f"{a}°", *(f"{p},0" for p in read(a))]) for a in range(0, 360, 30)]
    semicolons = tmp_path / "table.csv"
    semicolons.write_bytes(("\ufeff" + "\r\n".join(lines)).encode("utf-8"))
    workbook = tmp_path / "table.xlsx"
    rows = [[f"{a}°", *map(float, read(a))] for a in range(0, 360, 30)]
    workbook.write_bytes(xlsx([["Winkel", "mit [g]", "gegen [g]"], *rows]))
    before = semicolons.read_bytes(), workbook.read_bytes()
    for file in (semicolons, workbook):
        with page.expect_file_chooser() as chooser:
            page.get_by_role("button", name="Bring a file").click()
        chooser.value.set_files(file)
        asked = page.get_by_role("dialog")
        expect(asked).to_contain_text("12 rows")
        if file is semicolons:  # its heads name no unit: that is asked
            for title in ("mit", "gegen"):
                asked.get_by_label(f"{title}: unit").select_option("g")
        asked.get_by_role("button", name="Use these readings").click()
        expect(asked).to_have_count(0)
        expect(page.locator(".desk-verdict")).to_contain_text("stays")
    assert (semicolons.read_bytes(), workbook.read_bytes()) == before
    page.close()


def test_a_reload_in_mid_typing_loses_at_most_the_field_that_is_typed(browser, app):
    page = opened(browser, app)
    state(page)
    kept(page)
    page.keyboard.type("12")
    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    page.get_by_role("button", name="New paddle").wait_for(timeout=60_000)
    for label, text in (("mass", PADDLE["mass"]), ("lever", BENCH["lever"])):
        expect(page.get_by_label(label, exact=True)).to_have_value(text)
    page.close()


def test_two_windows_never_overwrite_each_other_silently(browser, app):
    first = opened(browser, app)
    state(first)
    kept(first)
    second = opened(browser, app)
    field = second.get_by_label("mass", exact=True)
    expect(field).to_have_value(PADDLE["mass"])
    field.focus()  # and begins to type, while the first window changes it
    second.keyboard.type("70")
    first.get_by_label("mass", exact=True).fill("641")
    first.keyboard.press("Enter")
    kept(first)
    second.keyboard.press("Tab")
    notice = second.locator(".desk-notices")
    expect(notice).to_contain_text("641")
    expect(field).to_have_value("641")
    first.close()
    second.close()


def told_dead(page):
    expect(page.locator(".desk-status")).to_contain_text("does not answer", timeout=20_000)
    field = page.get_by_label("mass", exact=True)
    assert field.evaluate("e => e.readOnly")


def test_a_killed_kernel_and_a_killed_server_are_told_and_nothing_kept_is_lost(browser, own):
    page = opened(browser, own)
    state(page)
    kept(page)
    page.keyboard.type("9")
    for kernel in kernels(own):
        kernel.kill()
    told_dead(page)
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto(own.page("00_desk"))
    expect(page.get_by_label("mass", exact=True)).to_have_value(PADDLE["mass"], timeout=60_000)
    for process in (psutil.Process(own.server.pid), *kernels(own)):
        os.kill(process.pid, signal.SIGKILL)
    told_dead(page)
    page.close()
    left = [path.name for path in (own.folder / "notebooks").iterdir() if path.name[0] == "."]
    assert left == []


def kernels(app):
    children = psutil.Process(app.server.pid).children(recursive=True)
    return [each for each in children if "ipykernel" in " ".join(each.cmdline())]


def test_a_folder_without_room_is_told_and_the_desk_goes_on(browser, own):
    """A folder in the place of the file: nothing can be kept there."""
    (own.folder / "notebooks" / "workshop.sqlite").mkdir()
    page = opened(browser, own)
    state(page)
    expect(page.locator(".desk-status")).to_contain_text("is lost when the page is closed")
    for text in read(float(angle(page, 0))):
        typed(page, text)
    assert page.problems == []
    page.close()


def test_in_jupyterlab_what_is_typed_is_kept_and_keys_stay_in_their_field(lab):
    """A key typed into a field is no shortcut of the notebook's."""
    notebook = lab.open("00_desk.ipynb")
    notebook.run_all()
    page = notebook.page
    page.get_by_label("name", exact=True).click()
    typed(page, "abxdd")
    typed(page, "637")
    kept(page)
    assert page.get_by_label("name", exact=True).input_value() == "abxdd"
    assert page.locator(".jp-Notebook .jp-Cell").count() == 4
    assert notebook.errors() == []
