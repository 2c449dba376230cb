"""The fitting sheet: one A4 page for the workshop, as PDF and as HTML, from the same content.

`fitting_sheet` gathers the words and the drawings; `Sheet` sets them on the page. The drawings
are to scale, so the page is to be printed at 100 %.
"""

import datetime
import io
import math
import re
from base64 import b64encode
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.metadata import version

import numpy as np
from matplotlib import rc_context, rcdefaults, rcParams
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Rectangle

from paddlebal.bench.readings import AddOnReadings, LeverReadings
from paddlebal.cost import counterweight_cost
from paddlebal.errors import InputError
from paddlebal.files.saving import write_bytes, write_text
from paddlebal.limits import WEIGHT_CAUTIONS, material_densities
from paddlebal.sheet import drawings
from paddlebal.sheet.drawings import (
    ACCENT,
    GREY,
    INK,
    MM,
    SMALL,
    Drawing,
    position,
    text_width,
    toward,
)
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY, turn_deg

PAGE, MARGIN = (210.0, 297.0), (12.0, 10.0)
"""A4, and the margins kept free at the sides and at top and bottom [mm]."""


COLUMN, GUTTER = 90.0, 6.0
"""Width of a column of text and of the gap between two [mm]."""


MOST_COLUMNS = 16
"""Greatest number of readings that the table can show side by side; more are only counted."""


COVERAGE = 2.0
"""Expanded uncertainties are this many standard uncertainties (JCGM 100, k = 2)."""


PLAIN = FontProperties(family="DejaVu Sans")


BOLD = FontProperties(family="DejaVu Sans", weight="bold")


GRAM = 1e-3


LEADING = 3.45
"""From one line of the small text to the next [mm]."""


@dataclass(frozen=True)
class Section:
    """A titled part of the text: facts (label, value), then a table by rows, then notes.

    Each row of the table begins with its heading.
    """

    title: str
    facts: tuple[tuple[str, str], ...] = ()
    table: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """The content of a fitting sheet, ready to be set as PDF or HTML.

    headline holds the four things to read first (label, value, note). beside stands next to
    the paddle end-on, by_template next to the template, and the readings go across the page
    above the lower two columns.
    """

    name: str
    imprint: str
    headline: tuple[tuple[str, str, str], ...]
    beside: tuple[Section, ...]
    by_template: tuple[Section, ...]
    readings: Section
    lower_left: tuple[Section, ...]
    lower_right: tuple[Section, ...]
    end_on: Drawing
    along: Drawing
    template: Drawing
    title: str = "Counterweight fitting sheet"

    def pdf(self):
        """The page as PDF, bytes; the same content gives the same bytes."""
        information = {"Title": f"{self.title}: {self.name}", "CreationDate": None}
        return _saved(_page(self), "pdf", information)

    def html(self):
        """The page as one self-contained HTML text."""
        from jinja2 import Environment, PackageLoader

        loader = PackageLoader("paddlebal.sheet", "")
        environment = Environment(loader=loader, autoescape=True, trim_blocks=True)
        environment.filters["svg"] = _svg
        return environment.get_template("sheet.html").render(sheet=self)

    def _repr_mimebundle_(self, **kwargs):
        """The page as a notebook shows it."""
        png = b64encode(_saved(_page(self), "png", None)).decode()
        words = f"{self.title}: {self.name}"
        alt = f"{words}. The page as printed; the HTML file holds the same as text."
        return {"text/plain": words, "image/png": png}, {"image/png": {"alt": alt}}

    def save_pdf(self, path, overwrite=False):
        """Write the PDF, whole or not at all; an existing file is kept unless `overwrite`."""
        write_bytes(path, self.pdf(), overwrite)

    def save_html(self, path, overwrite=False):
        """Write the HTML, whole or not at all; an existing file is kept unless `overwrite`."""
        write_text(path, self.html(), overwrite)


def fitting_sheet(paddle, readings, fit, placement, date):
    """The fitting sheet of a paddle measured at the bench and its counterweight.

    Parameters
    ----------
    paddle : Paddle
        Without the counterweight.
    readings : LeverReadings or AddOnReadings
        What was read at the bench.
    fit : BenchFit
        What `fit_bench` made of the readings.
    placement : Placement
        The counterweight to fit.
    date : datetime.date or str
        To print on the sheet, as 2026-11-25.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If something cannot be drawn to scale on the page or the text does not fit it.
    """
    if not placement.mass > 0:
        raise InputError("the placement has no mass, expected a counterweight to fit")
    sheet = Sheet(
        name=" ".join(paddle.name.split()),
        imprint=f"{_date(date)} · made by paddlebal {version('paddlebal')}",
        headline=_headline(paddle, placement),
        beside=(_paddle(paddle), _reference(paddle), _piece(placement), _fit(fit)),
        by_template=(_template_use(paddle, placement),),
        readings=_readings(readings),
        lower_left=(*_doubts(fit), _check(fit, placement), _cost(paddle, fit, placement)),
        lower_right=(Section("Take care", notes=WEIGHT_CAUTIONS),),
        end_on=drawings.end_on(paddle, placement),
        along=drawings.along(paddle, placement, PLAIN),
        template=drawings.template(paddle, placement),
    )
    _page(sheet)
    return sheet


def _date(date):
    try:
        return datetime.date.fromisoformat(str(date)).isoformat()
    except ValueError as error:
        raise InputError(f"the date is '{date}', expected one such as 2026-11-25") from error


def _headline(paddle, placement):
    clear = (placement.arm - paddle.shaft.radius) / MM
    return (
        (
            "Mass",
            f"{placement.mass / GRAM:.1f} g",
            "the weight alone; what holds it is not counted",
        ),
        (
            "Arm",
            f"{placement.arm / MM:.1f} mm",
            f"from the shaft axis to the middle of the weight, {clear:.1f} mm off the surface",
        ),
        (
            "Angle",
            f"{turn_deg(placement.angle):.1f}°",
            f"from the back of the {paddle.control} blade, counterclockwise seen from "
            "the right end",
        ),
        ("Position", f"{abs(round(placement.x / MM))} mm", _from_middle(placement.x)),
    )


def _from_middle(x):
    if round(x / MM) == 0:
        return "at the middle of the shaft"
    return f"toward the {toward(x)} blade, from the middle of the shaft"


def _paddle(paddle):
    already = [
        ("Already on it", f"{w.mass / GRAM:.1f} g at {turn_deg(w.angle):.1f}°")
        for w in paddle.counterweights
    ]
    return Section(
        "The paddle",
        facts=(
            ("Total mass", f"{paddle.mass / GRAM:.0f} g without the counterweight"),
            *already,
            ("Feather", f"{math.degrees(paddle.feather):.1f}°"),
            ("Control hand", paddle.control),
            ("Shaft", f"{2 * paddle.shaft.radius / MM:.1f} mm across"),
        ),
    )


def _reference(paddle):
    control = paddle.control
    return Section(
        "Where the angle starts",
        notes=(
            f"Hold the paddle level as for a stroke on the {control}: right blade to your right, "
            f"the power face of the {control} blade plumb and facing you. On the shaft, 0° is "
            "now straight away from you, where the back of that blade points; 90° is up, 180° "
            "faces you, 270° is down.",
        ),
    )


def _piece(placement):
    named = [name for name, density in material_densities().items() if density == placement.density]
    material = named[0] if named else f"a material of {placement.density / 1000:.2f} g/cm³"
    size = f"{placement.diameter / MM:.1f} mm across, {placement.length / MM:.1f} mm long"
    return Section(
        "The weight",
        notes=(
            f"A cylinder of {material} along the shaft, {size}. For a holder of h grams, its "
            "middle r mm from the shaft axis, make it lighter by "
            f"h × r / {placement.arm / MM:.0f} grams.",
        ),
    )


def _as_unbalance(moment):
    """A moment [N·m] as the unbalance [g·mm] that gravity gives it at the most."""
    return moment / STANDARD_GRAVITY / GRAM_MM


def _fit(fit):
    size, direction, size_u, direction_u = fit.polar
    size, size_u = size / GRAM_MM, COVERAGE * size_u / GRAM_MM
    direction_u = COVERAGE * math.degrees(direction_u)
    rms = np.sqrt(np.mean(np.sum(fit.residuals.reshape(len(fit.residuals), -1) ** 2, axis=1)))
    facts = [
        ("Unbalance", f"{size:.0f} ± {size_u:.0f} g·mm"),
        ("Direction", f"{turn_deg(direction):.1f}° ± {direction_u:.1f}°"),
    ]
    if math.isfinite(fit.friction):
        friction = _as_unbalance(fit.friction)
        friction_u = _as_unbalance(COVERAGE * math.sqrt(fit.covariance[2, 2]))
        zero, zero_u = fit.zero, COVERAGE * math.sqrt(fit.covariance[3, 3])
        in_grams = STANDARD_GRAVITY * GRAM
        facts += [
            ("Friction", f"{friction:.0f} ± {friction_u:.0f} g·mm"),
            ("Scale zero", f"{zero / in_grams:.1f} ± {zero_u / in_grams:.1f} g"),
        ]
        rms = rms / STANDARD_GRAVITY
    facts.append(("Residuals, rms", f"{rms / GRAM_MM:.0f} g·mm"))
    return Section(
        "What the bench found",
        facts=tuple(facts),
        notes=(f"±: k = {COVERAGE:.0f}, about 95 %. The direction is counted like the angle.",),
    )


def _doubts(fit):
    title = "Settle this before you make the piece"
    return (Section(title, notes=fit.doubts),) if fit.doubts else ()


def _template_use(paddle, placement):
    return Section(
        "How to use the template",
        notes=(
            f"Print at 100 % and measure the ruler: it must be {drawings.RULER:.0f} mm, or the "
            "scales are wrong.",
            f"Cut the strip out and wrap it round the shaft {position(placement.x)}, print "
            "outward, arrows to the right blade. Its ends must just meet.",
            f"Turn it until the 0 line faces where the back of the {paddle.control} blade "
            "points. The arm stands on the thick line.",
        ),
    )


def _readings(readings):
    if isinstance(readings, LeverReadings):
        return _lever_readings(readings)
    if isinstance(readings, AddOnReadings):
        columns = readings.mass / GRAM, readings.arm / MM, np.degrees(readings.angle)
        rows = zip(("Mass, g", "Arm, mm", "Angle, °"), (".1f", ".1f", ".1f"), columns, strict=True)
        return Section(
            f"Bench readings: {readings.mass.size} trials with a known mass on a known arm",
            table=_table((name, [f"{v:{form}}" for v in values]) for name, form, values in rows),
        )
    raise InputError("the readings are timed swings, expected those that the unbalance came from")


def _lever_readings(readings):
    angles = np.round(np.degrees(readings.roll), 1).tolist()
    arms = np.round(readings.arm / MM, 1).tolist()
    scale = readings.pull / STANDARD_GRAVITY / GRAM
    places = list(dict.fromkeys(zip(angles, arms, strict=True)))
    pulls = dict(zip(zip(angles, arms, readings.turning, strict=True), scale, strict=True))
    rows = [("Roll angle, °", [f"{angle:g}" for angle, _ in places])]
    one_arm = len(set(arms)) == 1
    if not one_arm:
        rows.append(("Arm, mm (+ lifts far side)", [f"{arm:g}" for _, arm in places]))
    for label, sense in (("Pull turning with it, g", 1), ("Pull turning against it, g", -1)):
        found = [pulls.get((*place, sense)) for place in places]
        rows.append((label, ["–" if pull is None else f"{pull:.0f}" for pull in found]))
    repeated = len(pulls) < scale.size
    method = f"lever and scale, {readings.pull_direction} pull, on {readings.support}"
    arm = f", arm {arms[0]:g} mm" if one_arm else ""
    return Section(
        f"Bench readings: {method}{arm}, {scale.size} readings",
        table=() if repeated else _table(rows),
    )


def _table(rows):
    """The rows as they are printed; none if they are too many to stand side by side."""
    rows = tuple((heading, *cells) for heading, cells in rows)
    return rows if len(rows[0]) <= MOST_COLUMNS + 1 else ()


def _check(fit, placement):
    size = placement.mass * placement.arm / GRAM_MM
    left = magnitude(placement.residual) / GRAM_MM
    # The bench's error points anywhere; twice the root of its mean square holds at least 95 %.
    left_u = COVERAGE * math.sqrt(np.trace(fit.unbalance_covariance)) / GRAM_MM
    facts = [("Left by this plan", f"up to {left + left_u:.0f} g·mm (95 %) if fitted exactly")]
    if fit.friction > 0:
        facts.append(("Friction holds", f"up to {_as_unbalance(fit.friction):.0f} g·mm"))
    return Section(
        "Check it afterwards",
        facts=tuple(facts),
        notes=(
            "Put the paddle back on the same rollers or rails, turn it in steps of 45° and let "
            "go at all 8 roll angles: it must stay at each.",
            "If the weight sinks, shorten the arm; if it rises, lengthen it: each mm is "
            f"{placement.mass / GRAM:.0f} g·mm. If it stops at the side, turn the arm round the "
            f"shaft toward the side that is up: each degree is {size * math.radians(1):.0f} g·mm.",
        ),
    )


def _cost(paddle, fit, placement):
    after = paddle.with_counterweights(placement.counterweight)
    price = counterweight_cost(paddle, after, measured=fit.unbalance)
    swing = 100 * price.swing_inertia / paddle.inertia()[2, 2]
    floats = (
        f"it sinks, {-price.flotation / GRAM:.0f} g too heavy"
        if price.sinks
        else f"it still carries {price.flotation / GRAM:.0f} g"
    )
    return Section(
        "What it costs",
        notes=(
            f"{price.mass / GRAM:.0f} g more to carry, {(paddle.mass + price.mass) / GRAM:.0f} g "
            f"in all; {swing:.1f} % more swing inertia; sealed and in fresh water {floats}. "
            f"Torque to hold at the catch: {price.holding_torque_before:.3f} N·m before, "
            f"{price.holding_torque_after:.3f} N·m after.",
        ),
    )


@contextmanager
def _own_style():
    """The sheet's own style of drawing, whatever the caller has set."""
    with rc_context():
        rcdefaults()
        own = {"pdf.fonttype": 42, "svg.fonttype": "none", "svg.hashsalt": "paddlebal"}
        rcParams.update({"hatch.linewidth": 0.6, **own})
        yield


def _saved(figure, form, information):
    """The figure as bytes of a file of that form."""
    stream = io.BytesIO()
    with _own_style():
        figure.savefig(stream, format=form, metadata=information)
    return stream.getvalue()


def _svg(picture):
    """The drawing as an <svg> element of its true size, ids its own, told to a screen reader."""
    from markupsafe import Markup, escape

    width, height = picture.size
    with _own_style():
        figure = Figure((width / 25.4, height / 25.4))
        _draw(figure, picture, 0.0, 0.0)
    bare = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    text = _saved(figure, "svg", bare).decode()
    text = re.sub(r"<!--.*?-->", "", text[text.index("<svg") :], flags=re.DOTALL)
    text = re.sub(r"<[^>]*>", lambda tag: _with_own_ids(tag[0], picture.key), text)
    size = f'width="{width:g}mm" height="{height:g}mm"'
    text = re.sub(r'(<svg[^>]*?)width="[^"]*" height="[^"]*"', rf"\g<1>{size}", text, count=1)
    label = f'<svg role="img" aria-label="{escape(picture.words)}"'
    return Markup(text.replace("<svg", label, 1))


def _with_own_ids(tag, key):
    return re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{key}-", tag)


def _draw(figure, picture, left, top):
    """Paint a drawing on the figure, its upper left corner at (left, top) [mm]."""
    wide, tall = figure.get_size_inches() * 25.4
    width, height = picture.size
    place = (left / wide, 1 - (top + height) / tall, width / wide, height / tall)
    axes = figure.add_axes(place, xlim=(0, width), ylim=(0, height))
    axes.set_axis_off()
    picture.paint(axes)


def _page(sheet):
    """The sheet as a figure of one A4 page; InputError if its text does not fit."""
    with _own_style():
        figure = Figure((PAGE[0] / 25.4, PAGE[1] / 25.4))
        left, y = MARGIN
        wide = PAGE[0] - 2 * left
        half = left + COLUMN + GUTTER
        y = _set_head(figure, sheet, left, y, wide)
        y = _set_headline(figure, sheet.headline, left, y, wide) + 3
        _draw(figure, sheet.end_on, left, y)
        bottom = y + sheet.end_on.size[1]
        _set_column(figure, sheet.beside, half, y, COLUMN, bottom)
        y = bottom + 3
        _draw(figure, sheet.along, left, y)
        y += sheet.along.size[1] + 3
        _draw(figure, sheet.template, left, y)
        beside = sheet.template.size[0] + GUTTER
        bottom = y + sheet.template.size[1]
        _set_column(figure, sheet.by_template, left + beside, y, wide - beside, bottom)
        last = PAGE[1] - MARGIN[1]
        y = _set_column(figure, (sheet.readings,), left, bottom + 2, wide, last) + 2
        _set_column(figure, sheet.lower_left, left, y, COLUMN, last)
        _set_column(figure, sheet.lower_right, half, y, COLUMN, last)
    return figure


def _set(figure, x, y, text, size=SMALL, font=PLAIN, **style):
    """One line of text, its base line at (x, y) [mm] from the page's upper left corner."""
    font = font.copy()
    font.set_size(size)
    style = {"color": INK, **style}
    place = x / PAGE[0], 1 - y / PAGE[1]
    figure.text(*place, text, fontproperties=font, parse_math=False, va="baseline", **style)


def _set_head(figure, sheet, left, y, wide):
    """Name, title, date and version; a name too long for its line is cut short."""
    name, size, room = sheet.name[:200], 15.0, wide - 70
    while size > 9 and text_width(name, size, BOLD) > room:
        size -= 0.5
    while text_width(name, size, BOLD) > room:
        name = name.rstrip("…")[:-1].rstrip() + "…"
    _set(figure, left, y + 6, name, size, BOLD)
    _set(figure, left + wide, y + 3, sheet.title, 9, BOLD, ha="right")
    _set(figure, left + wide, y + 7, sheet.imprint, ha="right")
    return y + 9


def _set_headline(figure, headline, left, y, wide):
    """The four boxes with the largest figures of the page."""
    gap, tall = 2.0, 25.0
    box = (wide - gap * (len(headline) - 1)) / len(headline)
    for index, (label, value, note) in enumerate(headline):
        x = left + index * (box + gap)
        _frame(figure, x, y, box, tall)
        _set(figure, x + 2, y + 4.5, label, 10, BOLD)
        size = min(23.0, 23.0 * (box - 4) / text_width(value, 23.0, BOLD))
        _set(figure, x + 2, y + 13, value, size, BOLD)
        for line, words in enumerate(_wrapped(note, box - 3, SMALL, PLAIN)):
            _set(figure, x + 2, y + 17 + line * LEADING, words)
    return y + tall


def _frame(figure, x, y, wide, tall):
    corner = x / PAGE[0], 1 - (y + tall) / PAGE[1]
    size = wide / PAGE[0], tall / PAGE[1]
    figure.add_artist(Rectangle(corner, *size, fc="none", ec=ACCENT, lw=1.4))


def _set_column(figure, sections, left, y, wide, bottom):
    """Set sections below each other from y; the y [mm] below the last one."""
    for section in sections:
        y += 3.6
        _set(figure, left, y, section.title, 9, BOLD)
        labels = max((text_width(label, SMALL, PLAIN) for label, _ in section.facts), default=0) + 3
        for label, value in section.facts:
            _set(figure, left, y + LEADING, label, color=GREY)
            for line in _wrapped(value, wide - labels, SMALL, PLAIN):
                y += LEADING
                _set(figure, left + labels, y, line)
        y = _set_table(figure, section.table, left, y, wide)
        for note in section.notes:
            for line in _wrapped(note, wide, SMALL, PLAIN):
                y += LEADING
                _set(figure, left, y, line)
            y += 0.5
        y += 1.2
    if y > bottom + 1.2:
        raise InputError(
            f"the text of the sheet is {y - bottom:.0f} mm too long for its page near "
            f"'{sections[-1].title}', expected shorter names or fewer readings"
        )
    return y


def _set_table(figure, table, left, y, wide):
    """Rows of a table, cells aligned to the right; the y [mm] of the last row."""
    if not table:
        return y
    labels = max(text_width(row[0], SMALL, PLAIN) for row in table)
    cell = min(11.0, (wide - labels) / (len(table[0]) - 1))
    for heading, *cells in table:
        y += LEADING
        _set(figure, left, y, heading, color=GREY)
        for index, text in enumerate(cells, 1):
            _set(figure, left + labels + index * cell, y, text, ha="right")
    return y


def _wrapped(text, wide, size, font):
    """The lines into which a text breaks at spaces so that each is at most `wide` [mm]."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, size, font) <= wide:
            lines[-1] = longer
        else:
            lines.append(word)
    return [line for line in lines if line]
