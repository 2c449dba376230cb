"""The book in a real browser: found again, compared, and the next paddle started from it."""

import io

import numpy as np
import pytest
from browser.test_desk import SIZES, kept, opened, read_until_enough, state
from desk.virtual_bench import BENCH, PADDLE, REST, TRUTH, rows
from playwright.sync_api import expect
from python_calamine import CalamineWorkbook

from paddlebal.bench.lever import Guess
from paddlebal.book.book import Book

FACES = {"feather": "60", "face": "20"}
KNOWN = PADDLE | BENCH | REST | FACES


@pytest.fixture
def filled(app):
    """The app beside a book with four paddles, three of them of one model."""
    folder = app.folder / "notebooks"
    empty(folder)
    book, rng = Book(folder), np.random.default_rng(2)
    for i, model in enumerate(("Virtual", "Virtual", "Virtual", "Other")):
        truth = Guess(TRUTH.unbalance + 100e-6 * rng.standard_normal(2), TRUTH.friction, TRUTH.zero)
        texts = rows(range(0, 360, 45), truth=truth)
        book.put(f"e{i}", KNOWN | texts | {"name": f"before {i}", "model": model, "by": "A. Demo"})
    book.close()
    yield app
    empty(folder)


def empty(folder):
    for path in folder.glob("workshop.sqlite*"):
        path.unlink()


def to_book(page, app):
    page.goto(app.page("00_book"))
    page.locator(".book-list tbody tr[data-entry]").first.wait_for(timeout=60_000)


def measured(page):
    """Read angles until it is enough, and print the sheet."""
    read_until_enough(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Fitting sheet (PDF)").click()
    assert download.value.path().read_bytes()[:5] == b"%PDF-"


def fill_faces(page):
    page.get_by_text("More about the paddle").click()
    for label, text in (("feather", "60"), ("gauge when the control", "20")):
        page.get_by_label(label, exact=label == "feather").fill(text)
        page.keyboard.press("Enter")


def test_measure_find_again_and_start_the_next_one(browser, filled):
    page = opened(browser, filled)
    state(page)
    fill_faces(page)
    expect(page.locator(".desk-verdict")).to_contain_text("By 3 paddles of this model and size")
    page.locator("input.pull").first.focus()
    measured(page)
    to_book(page, filled)
    page.get_by_role("searchbox").fill("a virtual m")
    expect(page.locator(".book-count")).to_contain_text("of 4")
    page.locator(".book-models").get_by_role("button", name="Other").click()
    expect(page.locator(".book-count")).to_contain_text("1–1 of 1")
    page.get_by_role("searchbox").fill("")
    expect(page.locator(".book-count")).to_contain_text("of 5")
    page.get_by_role("button", name="A", exact=True).click()
    page.wait_for_url("**/00_desk*")
    expect(page.get_by_label("name", exact=True)).to_have_value("A", timeout=60_000)
    to_book(page, filled)
    page.get_by_label("tick A", exact=True).check()
    page.get_by_role("button", name="Next paddle of this model").click()
    page.wait_for_url("**/00_desk*")
    expect(page.get_by_label("model", exact=True)).to_have_value("Virtual", timeout=60_000)
    for label, text in (("name", "B"), ("mass", "640"), ("balances on a finger at", "1198")):
        page.get_by_label(label, exact=True).fill(text)
        page.keyboard.press("Enter")
    page.get_by_label("let go, it comes to rest at").fill(REST["rest"])
    page.keyboard.press("Enter")
    page.get_by_text("More about the paddle").click()
    page.get_by_label("gauge when the control").fill("20")
    page.keyboard.press("Enter")
    expect(page.locator(".desk-verdict")).to_contain_text("By 4 paddles of this model and size")
    kept(page)
    page.get_by_text("For the book: who measured").click()
    page.get_by_label("paddles of its model before").select_option("counted")
    kept(page)
    page.locator("input.pull").first.focus()
    measured(page)
    expect(page.locator(".desk-verdict")).to_contain_text("by these and the readings together")
    assert page.problems == []
    page.close()


@pytest.mark.parametrize("size", SIZES)
def test_the_book_fits_every_window(browser, filled, size):
    width, height = SIZES[size]
    page = browser.new_page(viewport={"width": width, "height": height})
    problems = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    to_book(page, filled)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for name in ("before 0", "before 3"):
        page.get_by_label(f"tick {name}").check()
    expect(page.locator(".book-compare table")).to_be_visible()
    for kind in ("feather", "bench", "model"):
        page.locator(".book-kinds").select_option(kind)
        expect(page.locator(".book-kinds")).to_have_value(kind)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert problems == []
    page.close()


def test_the_book_by_keyboard_alone(browser, filled):
    page = browser.new_page()
    to_book(page, filled)
    page.get_by_role("searchbox").focus()
    page.keyboard.type("other")
    expect(page.locator(".book-count")).to_contain_text("1–1 of 1")
    box = page.get_by_label("tick before 3")
    while not box.evaluate("e => e === document.activeElement"):
        page.keyboard.press("Tab")
    page.keyboard.press("Space")
    expect(page.locator(".book-ticked")).to_contain_text("1 ticked")
    expect(box).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/00_desk*")
    page.close()


def test_tables_backup_and_erasing(browser, filled, tmp_path):
    page = browser.new_page()
    to_book(page, filled)
    got = {}
    for button in ("Table (CSV)", "Table (XLSX)", "Backup of the whole book, names included"):
        with page.expect_download() as download:
            page.get_by_role("button", name=button, exact=True).click()
        got[button] = download.value.path().read_bytes()
    assert b"before 3" in got["Table (CSV)"] and b"A. Demo" not in got["Table (CSV)"]
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(got["Table (XLSX)"]))
    cells = str(workbook.get_sheet_by_index(0).to_python())
    assert "before 3" in cells and "A. Demo" not in cells
    copy = tmp_path / "copy.sqlite"
    copy.write_bytes(got[button])
    assert b"A. Demo" in got[button]
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_label("A person's name").select_option("A. Demo")
    page.get_by_role("button", name="Take it out of the book").click()
    expect(page.locator(".book-told")).to_contain_text("taken out of 4 entries")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Backup, paddle and bench files").click()
    chooser.value.set_files(copy)
    expect(page.locator(".book-told")).to_contain_text("0 entries and 0 changes")
    page.close()
