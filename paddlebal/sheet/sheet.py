"""The fitting sheet: an A4 page for the workshop, as PDF and as HTML, from the same content.

`fitting_sheet` gathers the words and the drawings. What finds no room on the first page goes to
a further one. The drawings are to scale, so the pages are to be printed at 100 %.
"""

from __future__ import annotations

import datetime
import math
from base64 import b64encode
from dataclasses import dataclass
from importlib.metadata import version
from itertools import count
from unicodedata import name

import numpy as np

from paddlebal.bench.fit import BenchFit
from paddlebal.bench.readings import AddOnReadings, LeverReadings
from paddlebal.cost import counterweight_cost
from paddlebal.errors import InputError
from paddlebal.files.saving import write_bytes, write_text
from paddlebal.limits import WEIGHT_CAUTIONS, material_densities
from paddlebal.paddle import Paddle
from paddlebal.placement import Placement
from paddlebal.sheet import drawings
from paddlebal.sheet.drawings import Drawing, keep_out_words, position, toward
from paddlebal.sheet.fonts import FAMILY, fonts_for
from paddlebal.sheet.page import Section, arranged, as_pdf, as_png, as_svg, own_style, pages
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY, turn_deg

MOST_COLUMNS, MOST_READINGS = 16, 480
"""Readings that stand side by side in a table, and that are listed at all."""


COVERAGE = 2.0
"""Expanded uncertainties are this many standard uncertainties (JCGM 100, k = 2)."""


@dataclass(frozen=True)
class Sheet:
    """The content of a fitting sheet, ready to be set as PDF or HTML.

    headline holds the four things to read first (label, value, note). beside stands next to
    the paddle end-on, by_template next to the template, and the readings go across the page
    above the lower two columns. further holds what found no room there and stands on further
    pages. families are the fonts that the names need, lost the letters that none of them has.
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
    further: tuple[Section, ...] = ()
    families: tuple[str, ...] = (FAMILY,)
    lost: str = ""
    title: str = "Counterweight fitting sheet"

    def pdf(self):
        """The pages as PDF, bytes; the same content gives the same bytes."""
        information = {"Title": f"{self.title}: {self.name}", "CreationDate": None}
        return as_pdf(pages(self), information)

    def html(self):
        """The page as one self-contained HTML text."""
        from jinja2 import Environment, PackageLoader

        loader = PackageLoader("paddlebal.sheet", "")
        environment = Environment(loader=loader, autoescape=True, trim_blocks=True)
        environment.filters["svg"] = lambda drawing: as_svg(drawing, self.families)
        return environment.get_template("sheet.html").render(sheet=self)

    def _repr_mimebundle_(self, **kwargs):
        """The first page as a notebook shows it."""
        png = b64encode(as_png(pages(self)[0])).decode()
        words = f"{self.title}: {self.name}"
        alt = f"{words}. The page as printed; the HTML file holds the same as text."
        return {"text/plain": words, "image/png": png}, {"image/png": {"alt": alt}}

    def save_pdf(self, path, overwrite=False):
        """Write the PDF, whole or not at all; an existing file is kept unless `overwrite`."""
        write_bytes(path, self.pdf(), overwrite)

    def save_html(self, path, overwrite=False):
        """Write the HTML, whole or not at all; an existing file is kept unless `overwrite`."""
        write_text(path, self.html(), overwrite)


def fitting_sheet(
    paddle: Paddle,
    readings: LeverReadings | AddOnReadings,
    fit: BenchFit,
    placement: Placement,
    date: datetime.date | str,
) -> Sheet:
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
        If something cannot be drawn to scale on the page.
    """
    if not placement.mass > 0:
        raise InputError("the placement has no mass, expected a counterweight to fit")
    names = [" ".join(paddle.name.split()), *(each.name for each in paddle.keep_outs)]
    families, lost = fonts_for("".join(names))
    end_on = drawings.end_on(paddle, placement)
    with own_style(families):
        along = drawings.along(paddle, placement)
    sheet = Sheet(
        name=names[0],
        imprint=f"{_date(date)} · made by paddlebal {version('paddlebal')}",
        headline=_headline(paddle, placement),
        beside=(_paddle(paddle), _reference(paddle), _piece(placement), _fit(fit)),
        by_template=(_template_use(paddle, placement),),
        readings=_readings(readings),
        lower_left=(
            *_doubts(fit),
            *_keep_outs(paddle, along),
            *_letters(lost),
            _check(fit, placement),
            _cost(paddle, fit, placement),
        ),
        lower_right=(Section("Take care", notes=WEIGHT_CAUTIONS),),
        end_on=end_on,
        along=along,
        template=drawings.template(paddle, placement),
        families=families,
        lost=lost,
    )
    return arranged(sheet)


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
            ("Friction", f"{friction:z.0f} ± {friction_u:z.0f} g·mm"),
            ("Scale zero", f"{zero / in_grams:z.1f} ± {zero_u / in_grams:z.1f} g"),
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


def _keep_outs(paddle, along):
    """The names of the keep-outs if the drawing numbers them for lack of room."""
    if not along.numbered:
        return ()
    named = tuple(
        f"{number}: {keep_out_words(each)}" for number, each in enumerate(paddle.keep_outs, 1)
    )
    return (Section("Where no weight may sit", notes=named),)


def _letters(lost):
    if not lost:
        return ()
    names = ", ".join(name(letter, f"U+{ord(letter):04X}").lower() for letter in lost[:8])
    more = f" and {len(lost) - 8} more" if len(lost) > 8 else ""
    return (
        Section(
            "Letters that print as \N{REPLACEMENT CHARACTER}",
            notes=(f"No font on this computer has: {names}{more}.",),
        ),
    )


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
        rows = zip(("Mass, g", "Arm, mm", "Angle, °"), columns, strict=True)
        return _listed(
            f"Bench readings: {readings.mass.size} trials with a known mass on a known arm",
            [(name, [f"{value:.1f}" for value in values]) for name, values in rows],
        )
    raise InputError("the readings are timed swings, expected those that the unbalance came from")


def _lever_readings(readings):
    angles = np.round(np.degrees(readings.roll), 1).tolist()
    arms = np.round(readings.arm / MM, 1).tolist()
    scale = readings.pull / STANDARD_GRAVITY / GRAM
    pulls: dict[tuple, dict] = {}
    for angle, arm, sense, pull in zip(angles, arms, readings.turning, scale, strict=True):
        again = count()
        column = next(
            found
            for found in (pulls.setdefault((angle, arm, time), {}) for time in again)
            if sense not in found
        )
        column[sense] = pull
    rows = [("Roll angle, °", [f"{angle:g}" for angle, _, _ in pulls])]
    one_arm = len(set(arms)) == 1
    if not one_arm:
        rows.append(("Arm, mm (+ lifts far side)", [f"{arm:g}" for _, arm, _ in pulls]))
    for label, sense in (("Pull turning with it, g", 1), ("Pull turning against it, g", -1)):
        found = [column.get(sense) for column in pulls.values()]
        rows.append((label, ["–" if pull is None else f"{pull:.0f}" for pull in found]))
    method = f"lever and scale, {readings.pull_direction} pull, on {readings.support}"
    arm = f", arm {arms[0]:g} mm" if one_arm else ""
    return _listed(f"Bench readings: {method}{arm}, {scale.size} readings", rows)


def _listed(title, rows):
    """A section with tables of so many columns side by side as a page holds."""
    every = len(rows[0][1])
    tables = [
        tuple((heading, *cells[start : start + MOST_COLUMNS]) for heading, cells in rows)
        for start in range(0, min(every, MOST_READINGS), MOST_COLUMNS)
    ]
    cut = f"Only the first {MOST_READINGS} of {every} columns are listed; the file holds all."
    return Section(title, tables=tuple(tables), notes=(cut,) if every > MOST_READINGS else ())


def _check(fit, placement):
    size = placement.mass * placement.arm / GRAM_MM
    left = magnitude(placement.residual) / GRAM_MM
    # The bench's error points anywhere; twice the root of its mean square holds at least 95 %.
    left_u = COVERAGE * math.sqrt(np.trace(fit.unbalance_covariance)) / GRAM_MM
    facts = [("Left by this plan", f"up to {left + left_u:.0f} g·mm (95 %) if fitted exactly")]
    if fit.friction > 0:
        facts.append(("Friction holds", f"up to {_as_unbalance(fit.friction):z.0f} g·mm"))
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
        f"it sinks, {-price.flotation / GRAM:z.0f} g too heavy"
        if price.sinks
        else f"it still carries {price.flotation / GRAM:z.0f} g"
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
