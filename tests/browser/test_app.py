"""The notebooks as pages without code, served by the command behind `make app`.

Screenshots stay in pytest's temporary folder for whoever wants to look.
"""

import re
import time
from pathlib import Path

import numpy as np
import pytest
import trimesh
from notebook_files import BOOK, DESK, LESSONS, NOTEBOOKS

SIZES = {"laptop": (1280, 800), "projector": (1920, 1080)}


def opened(browser, app, name):
    """The page of a notebook when its panel is alive, and every address it asks for."""
    width, height = SIZES["laptop"]
    page = browser.new_page(viewport={"width": width, "height": height})
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(app.page(name), timeout=90_000)
    page.locator(".paddlebal-numbers td").first.wait_for(timeout=90_000)
    page.locator("h2", has_text="Where to go next").wait_for()
    return page, asked


@pytest.fixture(scope="module", params=("02_feather_effects", "07_dynamic_balance"))
def page(request, browser, app):
    page, _ = opened(browser, app, request.param)
    yield page
    page.close()


def numbers(page):
    return page.locator(".paddlebal-numbers").first.inner_text()


def until(page, holds, seconds=30):
    """Wait until `holds()` is true."""
    stop = time.monotonic() + seconds
    while not holds() and time.monotonic() < stop:
        page.wait_for_timeout(50)
    assert holds()


def changed(page, before):
    """The panel's numbers, once they differ from `before`."""
    until(page, lambda: numbers(page) != before)
    return numbers(page)


def are_described(page):
    """Whether the picture's words hold the panel's numbers."""
    words = page.locator(".paddlebal [role=img]").first.get_attribute("aria-label")
    shown = page.locator(".paddlebal-numbers").first.locator("td").all_inner_texts()
    return all(number in words for number in shown)


def test_the_list_leads_to_every_notebook(browser, app):
    page = browser.new_page()
    page.goto(app.page())
    links = page.get_by_role("link")
    targets = [Path(link.get_attribute("href")).stem for link in links.all()]
    own = [DESK.stem, BOOK.stem]
    lessons = [path.stem for path in NOTEBOOKS if path.stem not in own]
    assert targets == [*own, *lessons, "page_for_a_course"]
    links.nth(targets.index("09_glossary")).click()
    page.locator("h2", has_text="Symbols").first.wait_for()
    page.get_by_role("link", name="All pages").click()
    page.get_by_role("heading", name="Paddle balance").wait_for()
    page.close()


def kernels_started(app):
    return (app.folder / "app.log").read_text().count("Kernel started")


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_opens_without_a_kernel_and_leads_to_the_whole_page(browser, app, path):
    before, asked = kernels_started(app), []
    page = browser.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{app.address}/lessons/{path.stem}.html?token={app.token}")
    page.locator("h2", has_text="Where to go next").wait_for()
    whole = f"/voila/render/{path.name}"
    links = page.get_by_role("link", name="Move this picture").all()
    for link in [page.get_by_role("link", name="The whole page"), *links]:
        assert link.get_attribute("href") == whole
    still = page.locator("img[src^='data:image/png']").count()
    assert still == len(links) + page.locator("noscript img").count()
    assert still + page.locator(".live-place").count() > 0
    assert all(url.startswith((app.address, "data:")) for url in asked)
    assert kernels_started(app) == before
    page.close()


def test_a_live_picture_is_there_soon_and_moves_without_a_kernel(browser, app):
    before, start = kernels_started(app), time.monotonic()
    page = browser.new_page()
    page.goto(f"{app.address}/lessons/04_work_per_stroke.html?token={app.token}")
    page.locator(".live-chart svg").first.wait_for()
    assert time.monotonic() - start < 10
    exact = page.get_by_label("share of it fitted [%], exactly")
    exact.fill("0")
    exact.press("Tab")
    page.locator("tr", has_text="less work of the hands").filter(has_text="neither").wait_for()
    assert kernels_started(app) == before
    page.close()


def test_a_lesson_of_no_such_name_is_not_found(browser, app):
    page = browser.new_page()
    for name in ("nothing", "..%2Fapp%2Fserve"):
        answer = page.request.get(f"{app.address}/lessons/{name}.html?token={app.token}")
        assert answer.status == 404
    page.goto(f"{app.address}/lessons/00_desk.html?token={app.token}")
    assert page.url.split("?")[0].endswith("/voila/render/00_desk.ipynb")
    page.close()


def test_a_page_that_is_left_ends_its_kernel(browser, app):
    page = browser.new_page()
    page.goto(app.page())
    before = (app.folder / "app.log").read_text().count("Kernel shutdown")
    page.get_by_role("link", name="The desk").click()
    page.locator(".paddlebal input").first.wait_for(timeout=90_000)
    page.get_by_role("link", name="All pages").click()
    page.get_by_role("heading", name="Paddle balance").wait_for()
    until(page, lambda: (app.folder / "app.log").read_text().count("Kernel shutdown") > before)
    page.close()


def test_the_whole_page_seeks_a_break_even_where_the_picture_stands(browser, app):
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(app.page("04_work_per_stroke"), timeout=90_000)
    exact = page.get_by_label("share of it fitted [%], exactly")
    exact.wait_for(timeout=90_000)
    exact.fill("0")
    exact.press("Tab")
    page.wait_for_timeout(1000)
    page.get_by_role("button", name="Find break-even").click()
    page.get_by_role("alert").filter(has_text="no counterweights to compare").wait_for()
    exact.fill("50")
    exact.press("Tab")
    page.wait_for_timeout(1000)
    page.get_by_role("button", name="Find break-even").click()
    page.get_by_role("status").filter(has_text="Break-even of work by stroke rate").wait_for()
    page.close()


def test_it_listens_on_this_machine_only(app):
    port = int(app.address.rsplit(":", 1)[1])
    listening = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    hosts = {host for _, local, _, state, *_ in listening if state == "0A"
             for host, at in [local.split(":")] if int(at, 16) == port}  # fmt: skip
    assert hosts == {"0100007F"}


def test_no_code_and_no_error_is_shown(page):
    text = page.locator("body").inner_text()
    assert "import " not in text and "Traceback" not in text and "Run All" not in text
    assert all(image.get_attribute("alt") for image in page.locator("img").all())
    assert page.locator(".jp-CodeCell .jp-InputArea, .cm-editor, .highlight").count() == 0
    assert not any(page.get_by_role("alert").all_inner_texts())
    assert page.locator("[data-mime-type='application/vnd.jupyter.stderr']").count() == 0


@pytest.mark.parametrize("size", SIZES)
def test_the_panel_fits_the_screen_and_prose_is_narrow(page, size, tmp_path):
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    page.wait_for_timeout(500)
    parts = page.locator(".paddlebal > .widget-hbox").first
    parts.evaluate("e => e.scrollIntoView()")
    page.screenshot(path=tmp_path / "panel.png")
    box = parts.bounding_box()
    assert box["x"] >= 0 and box["x"] + box["width"] <= width and box["height"] <= height
    side, view = (parts.locator("> *").nth(i).bounding_box() for i in (0, 1))
    assert side["x"] + side["width"] <= view["x"] and abs(side["y"] - view["y"]) < 1
    for canvas in page.locator(".paddlebal canvas:first-child").all():
        place = canvas.bounding_box()
        assert place["x"] + place["width"] <= width
    for cut in parts.locator("label, select, td, th").all():
        assert cut.evaluate("e => e.scrollWidth - e.clientWidth") <= 0, cut.inner_text()
    zoom = page.evaluate("() => Number(getComputedStyle(document.body).zoom)")
    for prose in page.locator(".jp-RenderedMarkdown").all():
        assert prose.bounding_box()["width"] <= 800 * zoom + 1
        assert float(prose.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")) >= 16
    assert page.evaluate("() => document.body.scrollWidth") <= width
    page.mouse.move(width / 2, height / 2)
    page.mouse.wheel(0, 700)
    page.wait_for_timeout(300)
    assert parts.bounding_box()["y"] < -300


def test_a_slider_moves_by_keys(page):
    handle = page.locator(".paddlebal .noUi-handle").first
    handle.scroll_into_view_if_needed()
    before = numbers(page)
    seen = []
    for key in ("ArrowRight", "PageUp", "End", "ArrowLeft", "PageDown", "Home"):
        handle.press(key)
        before = changed(page, before)
        seen.append(float(handle.get_attribute("aria-valuenow")))
        until(page, lambda: are_described(page))
        page.wait_for_timeout(200)  # the kernel's own word on the slider comes back
    low, high = (float(handle.get_attribute(f"aria-value{end}")) for end in ("min", "max"))
    assert seen[0] < seen[1] < seen[2] == high > seen[3] > seen[4] > seen[5] == low


def test_a_slider_moves_by_mouse(page):
    before = numbers(page)
    slider = page.locator(".paddlebal .widget-slider").first
    slider.scroll_into_view_if_needed()
    handle, track = (slider.locator(f".noUi-{part}").bounding_box() for part in ("handle", "base"))
    y = handle["y"] + handle["height"] / 2
    page.mouse.move(handle["x"] + handle["width"] / 2, y)
    page.mouse.down()
    page.mouse.move(track["x"] + 0.7 * track["width"], y, steps=8)
    page.mouse.up()
    changed(page, before)
    now, low, high = (
        float(slider.get_by_role("slider").get_attribute(f"aria-value{which}"))
        for which in ("now", "min", "max")
    )
    assert (now - low) / (high - low) == pytest.approx(0.7, abs=0.05)


def test_a_list_changes_by_keys(page):
    before = numbers(page)
    page.locator(".paddlebal").get_by_role("combobox").first.focus()
    page.keyboard.press("ArrowDown")
    changed(page, before)


def test_an_exercise_says_right_and_wrong(page, tmp_path):
    exercise = page.locator(".widget-vbox", has=page.get_by_label("your answer")).first
    entry = exercise.get_by_label("your answer")
    answer = exercise.locator("details b").text_content().split()[0]
    for typed, said in (("1e9", "Not yet"), (answer, "Right."), ("many", "type one number")):
        entry.fill(typed)
        entry.press("Enter")
        exercise.get_by_role("status").filter(has_text=said).wait_for()
    page.screenshot(path=tmp_path / "exercise.png")


def test_tab_goes_through_the_whole_page_and_every_stop_has_a_name(page):
    reached = page.locator(".widget-text input").last
    page.locator(".paddlebal select").first.focus()
    for _ in range(150):
        page.keyboard.press("Tab")
        if reached.evaluate("e => e === document.activeElement"):
            break
    assert reached.evaluate("e => e === document.activeElement")
    roles = "slider|combobox|textbox|button|link|img"
    nameless = re.findall(rf"^ *- (?:{roles})(?::.*)?$", page.locator("body").aria_snapshot(), re.M)
    assert nameless == []


def test_from_a_copied_file_to_the_sheet_without_code(browser, app, tmp_path):
    page, _ = opened(browser, app, "00_start_here")
    told = page.get_by_role("status")
    for name in ("sprint.toml", "sprint_lever.csv"):
        page.get_by_role("combobox", name="copy a demo file").select_option(name)
        told.filter(has_text=re.compile(f"{name}: (nothing is wrong|every entry)")).wait_for()
        page.get_by_role("textbox", name="file name").fill(f"own {name}")
        page.get_by_role("textbox", name="text of the file").press("Tab")
        text = page.get_by_role("textbox", name="text of the file").input_value()
        page.get_by_role("textbox", name="text of the file").fill(
            text.replace('paddle = "sprint', 'paddle = "own sprint')
        )
        page.get_by_role("button", name="Save").click()
        told.filter(has_text=f"own {name} is saved: nothing is wrong").wait_for()
    page.get_by_role("button", name="List the files again").click()
    chooser = page.get_by_role("combobox", name="bench file")
    chooser.get_by_role("option", name="own sprint_lever.csv").wait_for(state="attached")
    chooser.select_option("own sprint_lever.csv")
    panel = page.locator(".paddlebal", has=chooser)
    for label in panel.locator("label").all():
        assert label.evaluate("e => e.scrollWidth - e.clientWidth") <= 0, label.inner_text()
    panel.get_by_role("cell", name="Demo sprint").wait_for()
    page.get_by_role("button", name="Make the sheet").click()
    link = panel.get_by_role("link", name="own sprint_lever.pdf")
    link.wait_for()
    page.screenshot(path=tmp_path / "sheet.png")
    with page.expect_download() as download:
        link.click()
    assert download.value.suggested_filename == "own sprint_lever.pdf"
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")
    page.close()


def test_a_page_asks_no_other_server(browser, app):
    page, asked = opened(browser, app, "05_grip_and_fatigue")
    assert page.locator(".paddlebal [role=img]").count() == 2
    assert not any(page.get_by_role("alert").all_inner_texts())
    elsewhere = [url for url in asked if not url.startswith((app.address, "data:", "blob:"))]
    assert elsewhere == []
    page.close()


def test_an_own_drawing_goes_from_upload_to_a_downloaded_table(browser, app, tmp_path):
    """The drawing is trimesh's: a sphere stretched and bent, with a hole, power face up."""
    mesh = trimesh.creation.icosphere(4)
    x, y, z = mesh.vertices.T
    bent = np.stack([220 * x, -(14 * y + 20 * (x + 1)), -80 * z], axis=1)
    drawing = tmp_path / "sphere.stl"
    trimesh.Trimesh(bent, mesh.faces[4:], process=False).export(drawing)
    page, _ = opened(browser, app, "06_blade_and_crank")
    panel = page.locator(".paddlebal", has_text="Upload a drawing").first
    panel.scroll_into_view_if_needed()
    with page.expect_file_chooser() as chooser:
        panel.get_by_role("button", name="Upload a drawing").click()
    chooser.value.set_files(drawing)
    panel.get_by_role("alert").filter(has_text="not closed").wait_for()
    panel.get_by_label("mend what can be mended").check()
    panel.get_by_role("button", name="Look at the blade").click()
    panel.get_by_role("alert").filter(has_text="power face up instead of down").wait_for()
    panel.get_by_role("button", name="Mend this").click()
    doubt = panel.get_by_role("alert").filter(has_text="power face up instead of down")
    doubt.wait_for(state="detached")
    panel.get_by_role("rowheader", name="offset of a blade").wait_for()
    panel.get_by_role("textbox", name="name of the variant").fill("my own")
    panel.get_by_role("textbox", name="name of the variant").press("Tab")
    panel.get_by_role("button", name="Add to my table").click()
    link = panel.get_by_role("link", name="variants.csv")
    link.wait_for()
    for size in ((1280, 800), (1920, 1080), (390, 844)):
        page.set_viewport_size(dict(zip(("width", "height"), size, strict=True)))
        page.wait_for_timeout(300)
        panel.screenshot(path=tmp_path / f"own_{size[0]}.png")
    with page.expect_download() as download:
        link.click()
    head, row = Path(download.value.path()).read_text().splitlines()
    assert download.value.suggested_filename == "variants.csv"
    assert head.startswith("name,crank_deg") and row.startswith("my own,0.0,,175.0,")
    page.close()


def test_on_a_phone_a_wide_picture_is_seen_whole_and_handles_suit_a_finger(browser, app):
    window = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = window.new_page()
    page.goto(app.page("07_dynamic_balance"), timeout=90_000)
    page.locator("h2", has_text="Where to go next").wait_for(timeout=90_000)
    page.wait_for_timeout(1000)
    canvases = page.locator(".paddlebal canvas:first-child").all()
    assert canvases
    for canvas in canvases:
        box = canvas.bounding_box()
        assert box["width"] > 300 and box["x"] + box["width"] <= 390
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    handle = page.locator(".paddlebal .noUi-handle").first
    handle.scroll_into_view_if_needed()
    assert handle.bounding_box()["width"] > 26
    under = """(handle) => {
      const box = handle.getBoundingClientRect(), x = box.x + box.width / 2;
      return document.elementFromPoint(x, box.y - 8) === handle;
    }"""
    assert handle.evaluate(under)
    window.close()
