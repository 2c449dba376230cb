"""The fitting sheet, measured on the page that is written."""

import math
import re
from base64 import b64decode
from dataclasses import fields, replace
from functools import cache
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import numpy as np
import pdfplumber
import pytest

from paddlebal import (
    Holder,
    InputError,
    KeepOut,
    Limits,
    OutsidePaddle,
    OutsideShaft,
    fit_bench,
    fitting_sheet,
    load_paddle,
    place_counterweight,
    place_pair,
    read_bench,
    trim_counterweights,
)
from paddlebal.cost import counterweight_cost
from paddlebal.limits import weight_cautions
from paddlebal.sheet.fonts import fonts_for
from paddlebal.sheet.sheet import MOST_READINGS
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

DATA = Path(__file__).resolve().parents[2] / "data"
NAMES = ("sprint", "ocean", "far_cranked", "mended")
LONG_NAME = "<script>alert('$x$ {{ 7 * 7 }}')</script> & " + 6 * "a very long name "
HOSTILE = KeepOut('<script>x</script>"&', 0.20, 0.24)
DATE = "2026-11-25"
MM = 25.4 / 72
"""Millimetres in a point, the unit of a PDF."""

ACCENT = (0xC2 / 255, 0x41 / 255, 0x0C / 255)


@cache
def parts(name, bench="lever"):
    """A demo paddle, its readings, their fit and the counterweight placed for it."""
    paddle = load_paddle(DATA / "paddles" / f"{name}.toml")
    readings = read_bench(DATA / "bench" / f"{name}_{bench}.csv")
    fit = fit_bench(readings)
    limits = Limits.for_paddle(paddle, arm=(0.0, 0.08))
    return paddle, readings, fit, place_counterweight(fit.unbalance, limits, paddle=paddle)


def changed_sheet(**changed):
    """The sheet of a demo paddle, fields of the paddle or of the placement changed."""
    paddle, readings, fit, placement = parts("ocean")
    return fitting_sheet(_with(paddle, changed), readings, fit, _with(placement, changed), DATE)


def _with(part, changed):
    own = {field.name for field in fields(part)} & set(changed)
    return replace(part, **{name: changed[name] for name in own})


def pages_of(pdf):
    """The pages of a PDF, read whole."""
    with pdfplumber.open(BytesIO(pdf)) as document:
        for page in document.pages:
            assert page.chars and page.rects
        return document.pages


def page_of(pdf):
    """The first page, that with the drawings."""
    return pages_of(pdf)[0]


@cache
def made(name):
    """A paddle, its fit and placement, its sheet, the PDF and the page of it."""
    paddle, readings, fit, placement = parts("ocean" if name == "hostile" else name)
    if name == "hostile":
        paddle = replace(paddle, name=LONG_NAME, keep_outs=(*paddle.keep_outs, HOSTILE))
    sheet = fitting_sheet(paddle, readings, fit, placement, DATE)
    pdf = sheet.pdf()
    return paddle, fit, placement, sheet, pdf, pages_of(pdf)


@pytest.fixture(params=[*NAMES, "hostile"])
def written(request):
    return made(request.param)


def near(value, expected, within=0.1):
    return abs(value - expected) < within


def coloured(objects, key="stroking_color"):
    return [o for o in objects if np.size(o[key]) == 3 and np.allclose(o[key], ACCENT, atol=1e-3)]


def words(pages):
    """The text of pages, then that of their left and their right column."""
    pages = pages if isinstance(pages, list) else [pages]
    texts = []
    for page in pages:
        left, top, right, bottom = page.bbox
        middle = 105 / MM
        texts.append(page.extract_text())
        if right - left > 2 * middle - 1:
            texts += [
                page.crop((left, top, middle, bottom)).extract_text(),
                page.crop((middle, top, right, bottom)).extract_text(),
            ]
    return " ".join(" ".join(texts).split())


def strip_of(page, width=23.0):
    (strip,) = [r for r in page.rects if near(r["height"] * MM, width, 0.01)]
    return strip


def weight_line(page):
    """The line on the template on which the arm stands."""
    strip = strip_of(page)
    (line,) = [x for x in coloured(page.lines) if strip["top"] < x["top"] < strip["bottom"]]
    return line


def test_pdf_is_two_a4_pages_with_their_fonts_embedded(written):
    *_, pdf, pages = written
    assert len(pages) == 2
    for page in pages:
        assert near(page.width * MM, 210) and near(page.height * MM, 297)
        fonts = {c["fontname"].split("+")[1] for c in page.chars}
        assert fonts == {"DejaVuSans", "DejaVuSans-Bold"}
    assert pdf.count(b"/FontFile2") == pdf.count(b"/Type/FontDescriptor") > 0


def test_a_screen_reader_finds_title_language_headings_and_words_for_the_drawings(written):
    *_, sheet, pdf, _ = written
    assert b"pdfuaid:part>1<" in pdf and b"/Lang" in pdf
    assert pdf.count(b"/Alt") >= 4


def test_text_read_at_arms_length_is_10_points(written):
    for page in written[-1]:
        sizes = [c["size"] for c in page.chars if c["text"].strip()]
        assert np.median(sizes) == pytest.approx(10, abs=0.01) and min(sizes) > 6.9


@pytest.mark.parametrize("number", [0, 1])
def test_all_text_lies_within_the_margins_and_no_text_on_another(written, number):
    page = written[-1][number]
    chars = [c for c in page.chars if c["text"].strip()]
    box = np.array([[c[k] * MM for k in ("x0", "x1", "top", "bottom")] for c in chars])
    assert box[:, 0].min() > 12 - 1e-3 and box[:, 1].max() < 210 - 12 + 0.1
    assert box[:, 2].min() > 5 and box[:, 3].max() < 297 - 5
    x0, x1, top, bottom = box.T
    inset_x, inset_y = 0.25 * (x1 - x0), 0.2 * (bottom - top)
    x0, x1, top, bottom = x0 + inset_x, x1 - inset_x, top + inset_y, bottom - inset_y
    across = (x0[:, None] < x1) & (x0 < x1[:, None])
    along = (top[:, None] < bottom) & (top < bottom[:, None])
    first, second = np.nonzero(np.triu(across & along, 1))
    pairs = [chars[i]["text"] + chars[j]["text"] for i, j in zip(first, second, strict=True)]
    assert pairs == []


def test_mass_arm_angle_and_position_are_the_largest_text(written):
    _, _, placement, _, _, (page, _) = written
    sizes = {round(c["size"], 1) for c in page.chars}
    largest = "".join(c["text"] for c in page.chars if round(c["size"], 1) == max(sizes))
    degrees = math.degrees(placement.angle) % 360
    assert largest.replace(" ", "") == (
        f"{1e3 * placement.mass:.1f}g{1e3 * placement.arm:.1f}mm"
        f"{degrees:.1f}°{abs(1e3 * placement.x):.0f}mm"
    )
    assert max(sizes) > 1.4 * sorted(sizes)[-2]


def test_the_boxes_hold_their_own_words(written):
    paddle, _, placement, sheet, _, (page, _) = written
    frames = [r for r in coloured(page.rects) if near(r["width"] * MM, 45, 0.5)]
    frames.sort(key=lambda r: r["x0"])
    found = [words(page.crop((r["x0"], r["top"], r["x1"], r["bottom"]))) for r in frames]
    assert found == [" ".join(box) for box in sheet.headline[0]]
    assert f"{1e3 * (placement.arm - paddle.shaft.radius):.1f} mm off the surface" in found[1]
    assert f"back of the {paddle.control} blade" in found[2]
    side = {"Demo sprint": "at the middle"}.get(paddle.name, "toward the right blade")
    assert side in found[3]


def test_template_has_the_length_of_the_shaft_and_the_ruler_is_100_mm(written):
    paddle, _, placement, _, _, (page, _) = written
    strip = strip_of(page)
    length = math.pi * 2e3 * paddle.shaft.radius
    assert near(strip["width"] * MM, length)
    below = [x for x in page.lines if 0 < (x["top"] - strip["bottom"]) * MM < 10]
    (ruler,) = [x for x in below if x["width"] > 0]
    assert near(ruler["width"] * MM, 100)
    marks = sorted(x["x0"] for x in below if x["height"] > 0)
    assert np.allclose(np.diff(marks) * MM, 5, atol=0.01) and len(marks) == 21
    assert near((weight_line(page)["x0"] - strip["x0"]) * MM, placement.angle / math.tau * length)


@pytest.mark.parametrize(("diameter", "angle_deg"), [(24.1, 179.0), (35.0, -3.0)])
def test_template_for_other_shafts_and_angles(diameter, angle_deg):
    paddle, readings, fit, placement = parts("sprint")
    paddle = replace(paddle, shaft=replace(paddle.shaft, radius=diameter / 2e3))
    placement = replace(placement, angle=math.radians(angle_deg))
    page = page_of(fitting_sheet(paddle, readings, fit, placement, DATE).pdf())
    strip = strip_of(page)
    assert near(strip["width"] * MM, math.pi * diameter)
    place = (weight_line(page)["x0"] - strip["x0"]) * MM
    assert near(place, angle_deg % 360 / 360 * math.pi * diameter)
    inside = page.crop((strip["x0"], strip["top"], strip["x1"], strip["bottom"])).extract_text()
    assert f"WEIGHT {angle_deg % 360:.1f}°" in inside
    assert "0: back of right blade" in inside and "this edge toward the right blade" in inside


def test_template_has_ticks_every_five_degrees(written):
    paddle, _, _, _, _, (page, _) = written
    strip = strip_of(page)
    ticks = [
        x["x0"] - strip["x0"]
        for x in page.lines
        if x["width"] == 0 and near(x["bottom"], strip["bottom"], 0.01) and x not in coloured([x])
    ]
    degrees = np.array(sorted(set(np.round(ticks, 2)))) * MM / (1e3 * paddle.shaft.radius)
    assert np.allclose(np.degrees(degrees), np.arange(0, 361, 5), atol=0.1)


def test_end_on_drawing_has_its_scale(written):
    paddle, _, placement, _, _, (page, _) = written
    scale = float(re.search(r"Scale 1:([\d.]+)\. You look", words(page))[1])
    circles = [
        c for c in page.curves if near(c["width"], c["height"], 1e-3) and c["top"] * MM < 140
    ]
    (weight,) = [c for c in coloured(circles, "non_stroking_color") if c["fill"]]
    (shaft,) = [
        c for c in circles if near(c["width"] * MM, 2e3 * paddle.shaft.radius / scale, 0.05)
    ]
    assert near(weight["width"] * MM, 1e3 * placement.diameter / scale)
    across, up = ((weight[k] - shaft[k]) * MM for k in ("x0", "y0"))
    across += (weight["width"] - shaft["width"]) / 2 * MM
    up += (weight["height"] - shaft["height"]) / 2 * MM
    assert near(across, 1e3 * placement.arm * math.cos(placement.angle) / scale)
    assert near(up, 1e3 * placement.arm * math.sin(placement.angle) / scale)
    widths = [1e3 * getattr(paddle, side).width / scale for side in ("left", "right")]
    blades = [math.hypot(x["width"], x["height"]) * MM for x in page.lines if x["linewidth"] > 3]
    assert np.allclose(blades, widths, atol=0.1)


def test_along_drawing_has_its_scale_and_every_keep_out(written):
    paddle, _, placement, _, _, (page, _) = written
    scale = float(re.search(r"Scale 1:([\d.]+), arm", words(page))[1])
    (shaft,) = [
        r for r in page.rects if near(r["width"] * MM, 1e3 * paddle.shaft.length / scale, 0.05)
    ]
    middle = (shaft["x0"] + shaft["x1"]) / 2
    (weight,) = [r for r in coloured(page.rects, "non_stroking_color") if r["fill"]]
    assert near(((weight["x0"] + weight["x1"]) / 2 - middle) * MM, 1e3 * placement.x / scale)
    assert near(weight["width"] * MM, 1e3 * placement.length / scale)
    raised = ((weight["y0"] + weight["y1"]) - (shaft["y0"] + shaft["y1"])) / 2
    assert near(raised * MM, 1e3 * placement.arm / scale)
    for keep_out in paddle.keep_outs:
        ends = [middle * MM + 1e3 * x / scale for x in (keep_out.start, keep_out.stop)]
        assert any(np.allclose([r["x0"] * MM, r["x1"] * MM], ends, atol=0.1) for r in page.rects)
        assert keep_out.name in words(page)


def test_what_the_plan_leaves_counts_the_error_of_size_and_of_direction(written):
    _, fit, placement, _, _, pages = written
    rng = np.random.default_rng(0)
    errors = rng.multivariate_normal(placement.residual, fit.unbalance_covariance, 100_000)
    most = float(re.search(r"Left by this plan up to (\d+) g·mm", words(pages))[1]) * 1e-6
    assert 0.95 < np.mean(magnitude(errors) <= most) < 0.99


def test_the_page_shows_the_numbers_that_were_computed(written):
    paddle, fit, placement, sheet, _, pages = written
    text = words(pages)
    size = magnitude(fit.unbalance)
    unit = fit.unbalance / size
    size_u = 2 * math.sqrt(unit @ fit.unbalance_covariance @ unit)
    across = np.array([-unit[1], unit[0]])
    angle_u = 2 * math.sqrt(across @ fit.unbalance_covariance @ across) / size
    direction = math.degrees(math.atan2(*fit.unbalance[::-1])) % 360
    balanced = paddle.with_counterweights(placement.counterweight)
    price = counterweight_cost(paddle, balanced, measured=fit.unbalance)
    grams = 1e3 / STANDARD_GRAVITY
    for expected in (
        f"{size * 1e6:.0f} ± {size_u * 1e6:.0f} g·mm",
        f"{direction:.1f}° ± {math.degrees(angle_u):.1f}°",
        f"Friction {fit.friction * 1e3 * grams:.0f} ± {2e3 * fit.friction_u * grams:.0f} g·mm",
        f"Scale zero {fit.zero * grams:.1f} ± {2 * math.sqrt(fit.covariance[3, 3]) * grams:.1f} g",
        f"Residuals, rms {np.sqrt(np.mean(fit.residuals**2)) * 1e3 * grams:.0f} g·mm",
        f"Total mass {1e3 * paddle.mass:.0f} g",
        f"Feather {math.degrees(paddle.feather):.1f}°",
        f"Control hand {paddle.control}",
        f"Shaft {2e3 * paddle.shaft.radius:.1f} mm across",
        f"{placement.diameter * 1e3:.1f} mm across, {placement.length * 1e3:.1f} mm",
        f"{1e3 * price.mass:.0f} g more to carry, {1e3 * (paddle.mass + price.mass):.0f} g in all",
        f"carries {1e3 * price.flotation:.0f} g",
        f"{price.holding_torque_before:.3f} N·m before, {price.holding_torque_after:.3f} N·m after",
        f"weight lighter by h × r / {1e3 * placement.arm:.0f} grams",
        f"up to {fit.friction * 1e3 * grams:.0f} g·mm",
        sheet.imprint,
        DATE,
    ):
        assert expected in text
    swing = paddle.with_counterweights(placement.counterweight).inertia()[2, 2]
    rise = 100 * (swing / paddle.inertia()[2, 2] - 1)
    assert f"{rise:.1f} % more swing inertia" in text


def test_the_readings_stand_on_the_page(written):
    text = words(written[-1])
    name = {"Demo sprint": "sprint", "Demo far-cranked": "far_cranked", "Demo mended": "mended"}
    readings = parts(name.get(written[0].name, "ocean"))[1]
    assert f"on {readings.support}, {readings.pull.size} readings" in text
    for sense, label in ((1, "Pull turning with it, g"), (-1, "Pull turning against it, g")):
        pulls = readings.pull[readings.turning == sense] / STANDARD_GRAVITY * 1e3
        row = re.search(re.escape(label) + r"((?: -?\d+| –)+)", text)[1].split()
        shown = [int(cell) for cell in row if cell != "–"]
        assert np.allclose(sorted(shown), sorted(pulls), atol=0.5 + 1e-9)


def sections_of(sheet):
    parts = sheet.first, sheet.beside, sheet.under, sheet.by_template, sheet.work, sheet.found
    return (*(section for part in parts for section in part), sheet.readings)


class Reader(HTMLParser):
    """Collects the text, the tags and the attributes of a page."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.texts, self.hidden = [], [], 0
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        self.hidden += tag in ("style", "svg")

    def handle_endtag(self, tag):
        self.hidden -= tag in ("style", "svg")

    def handle_data(self, data):
        if not self.hidden:
            self.texts.append(data)


def test_html_holds_the_same_words_as_the_pdf(written):
    paddle, _, placement, sheet, _, pages = written
    page_words = words(pages).replace(" ", "")
    html = " ".join(" ".join(Reader(sheet.html()).texts).split())
    cells = [text for boxes in sheet.headline for box in boxes for text in box]
    for section in sections_of(sheet):
        cells += [section.title, *section.notes, *section.ticks]
        cells += [text for fact in section.facts for text in fact]
        cells += [text for table in section.tables for row in table for text in row]
    assert len(cells) > 60
    for cell in cells:
        assert cell in html
        assert set(cell.replace(" ", "")) <= set(page_words)
    for caution in weight_cautions(placement.density):
        assert caution in html
    assert "Lead is toxic" not in html
    assert paddle.name.strip() in html


def test_html_is_self_contained_and_accessible(written):
    text = written[3].html()
    tags = Reader(text).tags
    assert ("html", {"lang": "en"}) in tags
    names = [tag for tag, _ in tags]
    assert names.count("h1") == 1 and names.count("h2") == len(re.findall("<h2>", text)) >= 8
    assert "script" not in names and "link" not in names and "img" not in names
    drawings = [attributes for tag, attributes in tags if tag == "svg"]
    assert [d["role"] for d in drawings] == ["img"] * 4
    assert [len(d["aria-label"]) > 80 for d in drawings] == [True, True, True, False]
    assert [d["width"] for d in drawings] == ["90mm", "186mm", "124mm", "112mm"]
    assert not any("id" in attributes for _, attributes in tags)


def test_a_name_with_markup_shows_as_text():
    *_, sheet, _, (page, _) = made("hostile")
    text = sheet.html()
    assert "<script" not in text
    assert "&lt;script&gt;alert(" in text and " ".join(LONG_NAME.split()) in Reader(text).texts
    assert "<script>alert('$x$ {{ 7 * 7 }}')" in words(page) and HOSTILE.name in words(page)


def test_a_svg_drawing_has_its_size_in_millimetres():
    *_, template, ruler = re.findall(r"<svg.*?</svg>", made("sprint")[3].html(), re.DOTALL)
    for svg in (template, ruler):
        width = float(re.search(r'width="([\d.]+)mm"', svg)[1])
        assert width == float(re.search(r'viewBox="0 0 ([\d.]+)', svg)[1])
    (strip,) = re.findall(r'<rect [^>]*?width="([\d.]+)"', template)
    assert near(float(strip), math.pi * 29.2, 0.01)
    (line, *_) = re.findall(r'points="([\d.]+),[\d.]+ ([\d.]+),', ruler)
    assert near(float(line[1]) - float(line[0]), 100, 0.01)


def test_a_sheet_from_an_added_mass():
    paddle, readings, fit, placement = parts("ocean", bench="add_on")
    html = fitting_sheet(paddle, readings, fit, placement, DATE).html()
    text = " ".join(" ".join(Reader(html).texts).split())
    assert f"{readings.mass.size} trials" in text and "nan" not in text
    assert f"{magnitude(fit.unbalance) * 1e6:.0f} ±" in text
    assert " ".join(f"{arm:.1f}" for arm in readings.arm * 1e3) in text


def test_readings_on_one_arm_name_it_once():
    paddle, readings, _, placement = parts("sprint")
    forward = readings.arm > 0
    arrays = {name: getattr(readings, name)[forward] for name in ("roll", "arm", "pull", "turning")}
    one_arm = replace(readings, **arrays)
    sheet = fitting_sheet(paddle, one_arm, fit_bench(one_arm), placement, DATE)
    assert f", arm {1e3 * one_arm.arm[0]:g} mm" in str(sheet.readings)
    assert "Arm, mm" not in str(sheet.readings)


def test_a_notebook_shows_the_page():
    picture = b64decode(made("sprint")[3]._repr_mimebundle_()[0]["image/png"])
    width, height = np.frombuffer(picture[16:24], ">u4")
    assert picture.startswith(b"\x89PNG") and near(height / width, 297 / 210, 0.002)


def every_page(sheet):
    """The words of all pages of the PDF."""
    with pdfplumber.open(BytesIO(sheet.pdf())) as document:
        return [words(page) for page in document.pages]


def test_many_or_repeated_readings_are_all_listed():
    paddle, readings, _, placement = parts("sprint")
    often = replace(readings, roll=readings.roll + np.linspace(0, 0.2, readings.roll.size))
    again = replace(readings, roll=np.where(readings.roll < 0.6, 0.0, readings.roll))
    for changed in (often, again):
        sheet = fitting_sheet(paddle, changed, fit_bench(changed), placement, DATE)
        rows = [row for table in sheet.readings.tables for row in table]
        pulls = [cell for row in rows if row[0].startswith("Pull") for cell in row[1:]]
        listed = sorted(float(pull) for pull in pulls if pull not in ("–", ""))
        scale = np.sort(np.round(changed.pull / STANDARD_GRAVITY / 1e-3))
        assert listed == scale.tolist()
        last = every_page(sheet)[-1]
        assert "Pull turning with it, g" in last and f"{changed.pull.size} readings" in last


def test_readings_without_end_are_cut_and_the_page_says_so():
    paddle, readings, fit, placement = parts("sprint")
    many = 60
    long = {
        name: np.tile(getattr(readings, name), many) for name in ("roll", "arm", "pull", "turning")
    }
    sheet = fitting_sheet(paddle, replace(readings, **long), fit, placement, DATE)
    columns = many * readings.pull.size // 2
    assert (
        f"Only the first {MOST_READINGS} of {columns} columns are listed" in every_page(sheet)[-1]
    )


def test_doubts_stand_first_on_the_page():
    paddle, readings, fit, placement = parts("sprint")
    doubtful = replace(fit, doubts=("The first doubt.", "The second doubt."))
    page, *_ = every_page(fitting_sheet(paddle, readings, doubtful, placement, DATE))
    order = [page.index(each) for each in ("Settle this before", "first doubt", "Mass", "Angle")]
    assert order == sorted(order)
    given = fitting_sheet(paddle, readings, doubtful, placement, DATE, doubts=("Another.",))
    assert "Another." in every_page(given)[0] and "first doubt" not in every_page(given)[0]


def test_keep_outs_are_numbered_and_listed():
    for zones in (names(30, 3), names(1, 300), names(9, 20)):
        text = " ".join(every_page(changed_sheet(keep_outs=zones)))
        for number, zone in enumerate(zones, 1):
            assert f"{number}: {zone.name[:8]}" in text


def test_a_word_without_end_stays_on_the_page():
    zone = KeepOut(300 * "o", -0.5, -0.3)
    for page in pages_of(changed_sheet(name=70 * "W", keep_outs=(zone,)).pdf()):
        ends = [c["x1"] * MM for c in page.chars if c["text"].strip()]
        assert max(ends) < 210 - 12 + 0.1


def test_two_pieces_have_a_template_each():
    paddle, readings, fit, _ = parts("ocean")
    pair = place_pair(fit.unbalance, Limits.for_paddle(paddle, arm=(0.0, 0.08)), paddle=paddle)
    sheet = fitting_sheet(paddle, readings, fit, pair, DATE)
    assert len(sheet.headline) == len(sheet.templates) == 2
    text = " ".join(every_page(sheet))
    for number, piece in enumerate(pair, 1):
        assert f"WEIGHT {number} {math.degrees(piece.angle) % 360:.1f}°" in text
        assert f"Mass, weight {number}" in text
    assert "up to" in text and "weight 1 ±" in text


def test_an_oval_shaft_has_a_template_for_its_two_diameters():
    paddle, readings, fit, placement = parts("ocean")
    shaft = OutsideShaft(2.15, (0.030, 0.027))
    outside = OutsidePaddle("oval", 0.65, 0.0, shaft, "right")
    sheet = fitting_sheet(outside, readings, fit, placement, DATE)
    strip = strip_of(page_of(sheet.pdf()))
    turn = np.linspace(0, 2 * np.pi, 200_001)
    x, y = 15 * np.cos(turn), 13.5 * np.sin(turn)
    way = np.append(0, np.cumsum(np.hypot(np.diff(x), np.diff(y))))
    assert near(strip["width"] * MM, way[-1], 0.02)
    line = (weight_line(page_of(sheet.pdf()))["x0"] - strip["x0"]) * MM
    seen = np.unwrap(np.arctan2(y, x))
    assert near(line, np.interp(placement.angle, seen, way), 0.02)
    text = " ".join(every_page(sheet))
    assert "30.0 mm by 27.0 mm across" in text and "an oval shaft stops on its flat sides" in text
    assert "0: mark" in text and "lies on the mark" in text


def test_what_is_not_known_from_outside_is_said_with_what_would_tell():
    paddle, readings, fit, placement = parts("ocean")
    shaft = OutsideShaft(2.15, (0.0292, 0.0292))
    bare = OutsidePaddle("bare", 0.65, 0.0, shaft, "right")
    text = " ".join(every_page(fitting_sheet(bare, readings, fit, placement, DATE)))
    assert "Feather not known" in text and "the feather and the face by a level" in text
    assert "it sinks" not in text and "still carries" not in text and "nan" not in text
    assert "N·m before" not in text and "mass times offset" not in text
    known = replace(bare, feather=math.radians(60), face=0.0, face_u=0.017, volume=1.1e-3)
    text = " ".join(every_page(fitting_sheet(known, readings, fit, placement, DATE)))
    assert "N·m before" in text and "mass times offset" in text and "Whether it floats" not in text
    assert "still carries" in text and "back of right blade" in text


def test_a_holder_and_a_change_are_told():
    paddle, readings, fit, placement = parts("ocean")
    holder = Holder(0.03, 0.04)
    limits = Limits.for_paddle(paddle, arm=(0.0, 0.08), holder=holder)
    held = place_counterweight(fit.unbalance, limits, paddle=paddle)
    text = " ".join(every_page(fitting_sheet(paddle, readings, fit, held, DATE)))
    assert "Its holder is counted: 30.0 g, 40.0 mm" in text
    fitted = load_paddle(DATA / "paddles" / "ocean_fitted.toml")
    trim = trim_counterweights(fitted.counterweights, [1e-4, 2e-4])
    changed = fitting_sheet(fitted, readings, fit, placement, DATE, trim=trim)
    page, *_ = every_page(changed)
    assert "The weights that are on" in page and "none is to be added" in page


def test_names_in_other_scripts_show_their_letters():
    paddle, readings, fit, placement = parts("ocean")
    sheet = fitting_sheet(replace(paddle, name="Лодка λέμβος"), readings, fit, placement, DATE)
    assert "Лодка λέμβος" in every_page(sheet)[0] and sheet.lost == ""


def test_a_letter_that_no_font_has_is_told():
    paddle, readings, fit, placement = parts("ocean")
    sheet = fitting_sheet(replace(paddle, name="Canoe \U00010050"), readings, fit, placement, DATE)
    (page, *_) = every_page(sheet)
    assert sheet.lost == "\U00010050" and "Canoe \N{REPLACEMENT CHARACTER}" in page
    assert "No font on this computer has: linear b symbol b018" in " ".join(every_page(sheet))
    assert "Canoe \U00010050" in sheet.html()


def test_a_further_font_is_taken_only_for_letters_the_first_lacks():
    assert fonts_for("Ruder", "cmr10") == (("cmr10",), "")
    families, lost = fonts_for("Лодка", "cmr10")
    assert families[0] == "cmr10" and len(families) > 1 and lost == ""


def test_saving_keeps_what_is_there_and_knows_no_clock(tmp_path):
    *_, sheet, pdf, _ = made("sprint")
    again = fitting_sheet(*parts("sprint"), DATE)  # type: ignore[call-arg]
    again.save_pdf(tmp_path / "sheet.pdf")
    again.save_html(tmp_path / "sheet.html")
    assert (tmp_path / "sheet.pdf").read_bytes() == pdf
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") == sheet.html()
    for save, name in ((sheet.save_pdf, "mine.pdf"), (sheet.save_html, "mine.html")):
        path = tmp_path / name
        path.write_text("mine")
        with pytest.raises(InputError, match="already exists"):
            save(path)
        assert path.read_text() == "mine"
    sheet.save_html(path, overwrite=True)
    assert path.read_text(encoding="utf-8") == sheet.html()


def shaft(**changed):
    return replace(load_paddle(DATA / "paddles" / "ocean.toml").shaft, **changed)


def names(count, length):
    places = np.linspace(-0.6, 0.6, count)
    return tuple(KeepOut(f"{i} {length * 'o'}", x, x + 0.01) for i, x in enumerate(places))


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"shaft": shaft(radius=0.03)}, "60.0 mm across and its template 188 mm long"),
        ({"shaft": shaft(radius=0.009)}, "18.0 mm across"),
        ({"shaft": shaft(length=4.0)}, "shaft is 4000 mm long"),
        ({"arm": 0.5}, "end-on, the paddle and its weight are"),
        ({"x": -0.8}, "sits 800 mm from the shaft's middle"),
        ({"mass": 0.0}, "the placement has no mass"),
    ],
)
def test_what_cannot_be_drawn_is_told_in_one_sentence(changed, told):
    with pytest.raises(InputError, match="(?i)" + re.escape(told)) as caught:
        changed_sheet(**changed)
    assert str(caught.value).endswith(".") and "\n" not in str(caught.value)


def test_wrong_readings_and_dates_are_told():
    paddle, readings, fit, placement = parts("ocean")
    swings = read_bench(DATA / "bench" / "ocean_swing.csv")
    with pytest.raises(InputError, match="timed swings"):
        fitting_sheet(paddle, swings, fit, placement, DATE)
    with pytest.raises(InputError, match="date is '25/11/2026'"):
        fitting_sheet(paddle, readings, fit, placement, "25/11/2026")


def test_what_a_millimetre_and_a_degree_change_is_what_the_page_says(written):
    _, _, placement, sheet, _, _ = written
    weight, text = placement.counterweight, " ".join(sheet.work[1].notes)
    longer = replace(weight, arm=weight.arm + 1e-3)
    turned = replace(weight, angle=weight.angle + math.radians(1))
    for other, told in ((longer, r"each mm is (\d+) g·mm"), (turned, r"each degree is (\d+) g·mm")):
        arrows = [w.mass * w.arm * np.exp(1j * w.angle) for w in (weight, other)]
        change = 1e6 * abs(arrows[1] - arrows[0])
        assert float(re.search(told, text)[1]) == pytest.approx(change, abs=0.6)


def test_a_holder_is_made_up_for():
    """h grams r mm out and the weight lighter by h r / arm have the unbalance of the weight."""
    _, _, placement, _, _, _ = made("ocean")
    holder, out = 0.020, 0.037
    lighter = placement.mass - holder * out / placement.arm
    assert lighter * placement.arm + holder * out == pytest.approx(placement.mass * placement.arm)
    assert f"h × r / {1e3 * placement.arm:.0f} grams" in words(made("ocean")[-1])


def test_doubts_and_weights_that_are_on_stand_on_the_page():
    paddle, readings, _, placement = parts("ocean")
    readings = replace(readings, turning=-readings.turning)
    fit, fitted = fit_bench(readings), load_paddle(DATA / "paddles" / "ocean_fitted.toml")
    text = words(pages_of(fitting_sheet(fitted, readings, fit, placement, DATE).pdf()))
    assert "are 'with' and 'against' exchanged?" in text
    assert "Friction holds" not in text and "Already on it 197.0 g at 150.0°" in text
