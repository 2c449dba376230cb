"""The fitting sheet printed from a browser: A4 pages at true scale."""

import math
from io import BytesIO
from pathlib import Path

import pdfplumber
import pytest

from paddlebal import Limits, fit_bench, fitting_sheet, load_paddle, place_counterweight, read_bench

DATA = Path(__file__).resolve().parents[2] / "data"
MM = 25.4 / 72


@pytest.mark.parametrize("name", ["sprint", "ocean", "far_cranked", "mended"])
def test_html_prints_on_a4_pages_at_true_scale_and_fits_a_phone(browser, name, tmp_path):
    paddle = load_paddle(DATA / "paddles" / f"{name}.toml")
    readings = read_bench(DATA / "bench" / f"{name}_lever.csv")
    fit = fit_bench(readings)
    limits = Limits.for_paddle(paddle, arm=(0.0, 0.08))
    placement = place_counterweight(fit.unbalance, limits, paddle=paddle)
    path = tmp_path / "sheet.html"
    fitting_sheet(paddle, readings, fit, placement, "2026-11-25").save_html(path)

    page = browser.new_page()
    page.goto(path.as_uri())
    wider = "e => e.scrollWidth - e.clientWidth"
    for width in (390, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.locator("html").evaluate(wider) == 0
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    page.close()

    with pdfplumber.open(BytesIO(printed)) as document:
        assert 2 <= len(document.pages) <= 3
        lengths, text = [], ""
        for sheet in document.pages:
            assert abs(sheet.width * MM - 210) < 0.2 and abs(sheet.height * MM - 297) < 0.2
            lengths += [max(o["width"], o["height"]) * MM for o in sheet.lines + sheet.rects]
            text += " ".join(sheet.extract_text().split())
        for expected in (100, math.pi * 2e3 * paddle.shaft.radius):
            assert min(abs(length - expected) for length in lengths) < 0.1
        assert f"{1e3 * placement.mass:.1f} g" in text and f"{1e3 * placement.arm:.1f} mm" in text
