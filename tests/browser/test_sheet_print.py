"""The fitting sheet printed from a browser: one A4 page at true scale."""

import math
from io import BytesIO
from pathlib import Path

import pdfplumber
import pytest

from paddlebal import Limits, fit_bench, fitting_sheet, load_paddle, place_counterweight, read_bench

DATA = Path(__file__).resolve().parents[2] / "data"
MM = 25.4 / 72


@pytest.mark.parametrize("name", ["sprint", "ocean", "far_cranked", "mended"])
def test_html_prints_on_one_a4_page_at_true_scale(browser, name, tmp_path):
    paddle = load_paddle(DATA / "paddles" / f"{name}.toml")
    readings = read_bench(DATA / "bench" / f"{name}_lever.csv")
    fit = fit_bench(readings)
    limits = Limits.for_paddle(paddle, arm=(0.0, 0.08))
    placement = place_counterweight(fit.unbalance, limits, paddle=paddle)
    path = tmp_path / "sheet.html"
    fitting_sheet(paddle, readings, fit, placement, "2026-11-25").save_html(path)

    page = browser.new_page()
    page.goto(path.as_uri())
    overflow = "e => [e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth]"
    assert page.locator("main").evaluate(overflow) == [0, 0]
    last = "e => e.getBoundingClientRect().bottom"
    bottoms = page.locator("main *").evaluate_all(f"all => all.map({last})")
    assert max(bottoms) <= page.locator("main").evaluate(last) - 10 / 25.4 * 96 + 0.5
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    page.close()

    with pdfplumber.open(BytesIO(printed)) as document:
        (sheet,) = document.pages
        assert abs(sheet.width * MM - 210) < 0.2 and abs(sheet.height * MM - 297) < 0.2
        lengths = [max(o["width"], o["height"]) * MM for o in sheet.lines + sheet.rects]
        for expected in (100, math.pi * 2e3 * paddle.shaft.radius):
            assert min(abs(length - expected) for length in lengths) < 0.1
        text = " ".join(sheet.extract_text().split())
        assert f"{1e3 * placement.mass:.1f} g" in text and f"{1e3 * placement.arm:.1f} mm" in text
