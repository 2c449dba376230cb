"""The fitting sheet: A4 pages for the workshop, as PDF and as HTML, from the same content.

`fitting_sheet` gathers the words and the drawings; typst sets them as PDF, a browser as HTML. The
drawings are to scale, so the pages are to be printed at 100 %.
"""

from __future__ import annotations

import datetime
import json
import math
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from itertools import count
from unicodedata import name

import numpy as np

from paddlebal.bench.fit import BenchFit
from paddlebal.bench.readings import AddOnReadings, LeverReadings
from paddlebal.cost import counterweight_cost
from paddlebal.errors import InputError
from paddlebal.files.saving import write_bytes, write_text
from paddlebal.limits import material_densities, weight_cautions
from paddlebal.outside import AnyPaddle, blade_moments, not_known
from paddlebal.paddle import Paddle
from paddlebal.placement import Placement
from paddlebal.sheet import drawings
from paddlebal.sheet.canvas import plain
from paddlebal.sheet.drawings import Drawing, keep_out_words, named, position, toward
from paddlebal.sheet.fonts import fonts_for, typst_fonts
from paddlebal.trim import Trim, left_by, trim_words
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY, turn_deg

MOST_COLUMNS, MOST_READINGS = 14, 480
"""Readings that stand side by side in a table, and that are listed at all."""


COVERAGE = 2.0
"""Expanded uncertainties are this many standard uncertainties (JCGM 100, k = 2)."""


RETENTION = 30
"""Times its weight that each fastening of a piece must hold by itself: assumed, no source. A
stroke asks for a few times, a knock against the boat for many."""


@dataclass(frozen=True)
class Section:
    """A titled part of the text: facts (label, value), tables by rows, notes, boxes to tick.

    Each row of a table begins with its heading.
    """

    title: str
    facts: tuple[tuple[str, str], ...] = ()
    tables: tuple[tuple[tuple[str, ...], ...], ...] = ()
    notes: tuple[str, ...] = ()
    ticks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """The content of a fitting sheet, ready to be set as PDF or HTML.

    headline holds for each weight the four things to read first (label, value, note). first
    stands above all, beside next to the paddle end-on, under below the shaft; by_template next
    to the templates; what to do (work) and what is known (found) follow in two columns, and the
    readings across the page. families
    are the fonts that the names need, lost the letters that none of them has.
    """

    name: str
    imprint: str
    first: tuple[Section, ...]
    headline: tuple[tuple[tuple[str, str, str], ...], ...]
    end_on: Drawing
    beside: tuple[Section, ...]
    along: Drawing
    under: tuple[Section, ...]
    templates: tuple[Drawing, ...]
    ruler: Drawing
    by_template: tuple[Section, ...]
    work: tuple[Section, ...]
    found: tuple[Section, ...]
    readings: Section
    families: tuple[str, ...]
    lost: str = ""
    title: str = "Counterweight fitting sheet"

    def _set(self, **options):
        import typst

        source = files("paddlebal.sheet").joinpath("sheet.typ").read_bytes()
        return typst.compile(
            source, sys_inputs={"sheet": json.dumps(asdict(self))}, font_paths=typst_fonts(),
            timestamp=0, **options,
        )  # fmt: skip

    def pdf(self):
        """The pages as PDF, bytes; the same content gives the same bytes."""
        return self._set(format="pdf", pdf_standards="ua-1")

    def html(self):
        """The pages as one self-contained HTML text."""
        return _page_template().render(sheet=self)

    def _repr_mimebundle_(self, **kwargs):
        """The first page as a notebook shows it."""
        first, *_ = _listed_pages(self._set(format="png", ppi=144))
        words = f"{self.title}: {self.name}"
        alt = f"{words}. The first page as printed; the HTML file holds the same as text."
        png = b64encode(first).decode()
        return {"text/plain": words, "image/png": png}, {"image/png": {"alt": alt}}

    def save_pdf(self, path, overwrite=False):
        """Write the PDF, whole or not at all; an existing file is kept unless `overwrite`."""
        write_bytes(path, self.pdf(), overwrite)

    def save_html(self, path, overwrite=False):
        """Write the HTML, whole or not at all; an existing file is kept unless `overwrite`."""
        write_text(path, self.html(), overwrite)


@cache
def _page_template():
    from jinja2 import Environment, PackageLoader

    loader = PackageLoader("paddlebal.sheet", "")
    return Environment(loader=loader, autoescape=True, trim_blocks=True).get_template("sheet.html")


def _listed_pages(pages):
    return [pages] if isinstance(pages, bytes) else pages


def fitting_sheet(
    paddle: AnyPaddle,
    readings: LeverReadings | AddOnReadings,
    fit: BenchFit,
    placement: Placement | Sequence[Placement],
    date: datetime.date | str,
    *,
    doubts: Sequence[str] | None = None,
    forecast: str = "",
    remedy: str = "",
    trim: Trim | None = None,
    better: Placement | None = None,
) -> Sheet:
    """The fitting sheet of a paddle measured at the bench and its counterweights.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
        As it was measured.
    readings : LeverReadings or AddOnReadings
        What was read at the bench.
    fit : BenchFit
        What `fit_bench` made of the readings.
    placement : Placement or sequence of Placement
        The counterweight to fit, or the several; with a trim, those that are on as they are
        to be.
    date : datetime.date or str
        To print on the sheet, as 2026-11-25.
    doubts : sequence of str, optional
        What to settle first; by default what the fit doubts.
    forecast, remedy : str
        Whether the paddle will stay, and what would settle it, in words.
    trim : Trim, optional
        What to change about the weights that are on.
    better : Placement, optional
        A heavier piece that would leave less.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If something cannot be drawn to scale on the page.
    """
    pieces = (placement,) if isinstance(placement, Placement) else tuple(placement)
    if not all(piece.mass > 0 for piece in pieces):
        raise InputError("the placement has no mass, expected a counterweight to fit")
    families, lost = fonts_for("".join((paddle.name, *(k.name for k in paddle.keep_outs))))
    doubts = fit.doubts if doubts is None else doubts
    return Sheet(
        name=plain(paddle.name),
        imprint=f"{_date(date)} · made by paddlebal {version('paddlebal')}",
        first=(*_doubts(doubts), *_change(paddle, trim)),
        headline=tuple(_headline(paddle, piece, pieces) for piece in pieces),
        end_on=drawings.end_on(paddle, pieces),
        beside=(_paddle(paddle), _zero(paddle), _pieces(pieces, better)),
        along=drawings.along(paddle, pieces),
        under=_keep_outs(paddle),
        templates=tuple(drawings.template(paddle, piece, pieces) for piece in pieces),
        ruler=drawings.ruler(),
        by_template=(_template_use(paddle, pieces),),
        work=(
            _mounting(pieces),
            _check(paddle, pieces),
            Section("Take care", notes=weight_cautions(pieces[0].density)),
        ),
        found=(
            _forecast(fit, pieces, trim, forecast, remedy),
            _fit(fit),
            _cost(paddle, fit, pieces, trim),
            *_blades(paddle, fit),
            *_unknown(paddle),
            *_letters(lost),
        ),
        readings=_readings(readings),
        families=families,
        lost=lost,
    )


def _date(date):
    try:
        return datetime.date.fromisoformat(str(date)).isoformat()
    except ValueError as error:
        raise InputError(f"the date is '{date}', expected one such as 2026-11-25") from error


def _doubts(doubts):
    return (
        (Section("Settle this before you make the piece", notes=tuple(doubts)),) if doubts else ()
    )


def _change(paddle, trim):
    if trim is None:
        return ()
    note = (
        "The paddle was measured with its weights on. Below they stand as they are to be; none is "
        "to be added beside them."
    )
    return (Section("The weights that are on", notes=(trim_words(paddle, trim), note)),)


def _headline(paddle, piece, pieces):
    clear = (piece.arm - paddle.shaft.radius) / MM
    which = "" if len(pieces) == 1 else f", {named(piece, pieces)}"
    alone = "the weight alone" if piece.holder is None else "the weight beside its holder"
    return (
        (
            f"Mass{which}",
            f"{piece.mass / GRAM:.1f} g",
            f"{alone}; what else holds it is not counted",
        ),
        (
            f"Arm{which}",
            f"{piece.arm / MM:.1f} mm",
            f"from the shaft axis to its middle, {clear:.1f} mm off the surface",
        ),
        (
            f"Angle{which}",
            f"{turn_deg(piece.angle):.1f}°",
            f"from {drawings.start_of_angles(paddle)}, counterclockwise seen from the right end",
        ),
        (f"Position{which}", f"{abs(round(piece.x / MM))} mm", _from_middle(piece.x)),
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
    feather = "not known" if paddle.feather is None else f"{math.degrees(paddle.feather):.1f}°"
    return Section(
        "The paddle",
        facts=(
            ("Total mass", f"{paddle.mass / GRAM:.0f} g as measured"),
            *already,
            ("Feather", feather),
            ("Control hand", paddle.control),
            ("Shaft", f"{drawings.shaft_words(paddle.shaft.diameters)} across"),
        ),
    )


def _zero(paddle):
    control = paddle.control
    if isinstance(paddle, Paddle):
        note = (
            f"Hold the paddle level as for a stroke on the {control}: right blade to your right, "
            f"the power face of the {control} blade plumb and facing you. On the shaft, 0° is "
            "now straight away from you, where the back of that blade points; 90° is up, 180° "
            "faces you, 270° is down."
        )
    else:
        note = (
            "0° is the mark on the shaft from which the bench's angles count. Hold the paddle "
            "level, right blade to your right, the mark straight away from you: 90° is up, 180° "
            "faces you, 270° is down."
        )
    return Section("Where the angle starts", notes=(note,))


def _pieces(pieces, better):
    notes = []
    for piece in pieces:
        known = [n for n, density in material_densities().items() if density == piece.density]
        material = known[0] if known else f"a material of {piece.density / 1000:.2f} g/cm³"
        size = f"{piece.diameter / MM:.1f} mm across, {piece.length / MM:.1f} mm long"
        notes.append(f"A cylinder of {material} along the shaft, {size}.")
    notes = list(dict.fromkeys(notes))
    piece = pieces[0]
    if piece.holder is None:
        notes.append(
            "Best measure the paddle again with the empty holder on. Otherwise, for a holder of h "
            "grams with its middle r mm from the shaft axis, make the weight lighter by "
            f"h × r / {piece.arm / MM:.0f} grams."
        )
    else:
        notes.append(
            f"Its holder is counted: {piece.holder.mass / GRAM:.1f} g, "
            f"{piece.holder.arm / MM:.1f} mm from the shaft axis."
        )
    if better is not None:
        notes.append(f"A heavier one would leave less: {better}.")
    return Section("The weight" if len(pieces) == 1 else "The weights", notes=tuple(notes))


def _keep_outs(paddle):
    zones = tuple(
        f"{number}: {plain(keep_out_words(each))}"
        for number, each in enumerate(paddle.keep_outs, 1)
    )
    return (Section("Where no weight may sit", notes=zones),) if zones else ()


def _template_use(paddle, pieces):
    where = "; ".join(f"{named(piece, pieces)} {position(piece.x)}" for piece in pieces)
    onto = (
        f"faces where the back of the {paddle.control} blade points"
        if isinstance(paddle, Paddle)
        else "lies on the mark"
    )
    first, second = paddle.shaft.diameters
    oval = (
        ()
        if first == second
        else (
            "The shaft is oval: the strip's degrees are drawn for its two diameters. Balanced or "
            "not, an oval shaft stops on its flat sides on rollers and rails: the check at eight "
            "angles needs round sleeves where it is supported.",
        )
    )
    return Section(
        "How to use the template",
        notes=(
            f"Print at 100 % and measure the ruler: it must be {drawings.RULER:.0f} mm, or the "
            "scales are wrong.",
            f"Cut the strip out and wrap it round the shaft ({where}), print outward, arrows to "
            "the right blade. Its ends must just meet.",
            f"Turn it until the 0 line {onto}. The arm stands on the thick line.",
            *oval,
        ),
    )


def _mounting(pieces):
    load = RETENTION * max(piece.mass for piece in pieces) * STANDARD_GRAVITY
    return Section(
        "Fasten it twice",
        notes=(
            "Two fastenings that don't depend on each other, such as a clamp and a lashing through "
            f"the weight; each alone must hold {load:.0f} N, {RETENTION} times the weight "
            "(assumed, no source: a knock against the boat asks for much more than a stroke). Pull "
            "with a scale to see.",
            "Nothing may slide along, turn round or leave the shaft. Round all edges; seal against "
            "water.",
        ),
        ticks=("clamped", "tied a second time", "pulled: holds"),
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
    if fit.friction is not None:
        zero, zero_u = fit.zero, COVERAGE * math.sqrt(fit.covariance[3, 3])
        in_grams = STANDARD_GRAVITY * GRAM
        facts += [
            ("Friction", f"{fit.friction_words(STANDARD_GRAVITY * GRAM_MM, 0)} g·mm"),
            ("Scale zero", f"{zero / in_grams:z.1f} ± {zero_u / in_grams:z.1f} g"),
        ]
        rms = rms / STANDARD_GRAVITY
    facts.append(("Residuals, rms", f"{rms / GRAM_MM:.0f} g·mm"))
    return Section(
        "What the bench found",
        facts=tuple(facts),
        notes=(f"±: k = {COVERAGE:.0f}, about 95 %. The direction is counted like the angle.",),
    )


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
    pulls: dict[tuple[float, float, int], dict[float, float]] = {}
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
    how = {
        "vertical": "lever and scale",
        "tangential": "string and scale",
        "hung": "masses hung on a string",
    }[readings.pull_direction]
    method = f"{how}, on {readings.support}"
    arm = f", arm {arms[0]:g} mm" if one_arm else ""
    listed = _listed(f"Bench readings: {method}{arm}, {scale.size} readings", rows)
    if not readings.left_out:
        return listed
    gone = f"Left out, as all others speak against it: {', '.join(readings.left_out)}."
    return replace(listed, notes=(*listed.notes, gone))


def _listed(title, rows):
    """A section with tables of so many columns side by side as a page holds."""
    every = len(rows[0][1])
    tables = [
        tuple((heading, *cells[start : start + MOST_COLUMNS]) for heading, cells in rows)
        for start in range(0, min(every, MOST_READINGS), MOST_COLUMNS)
    ]
    cut = f"Only the first {MOST_READINGS} of {every} columns are listed; the file holds all."
    return Section(title, tables=tuple(tables), notes=(cut,) if every > MOST_READINGS else ())


def _forecast(fit, pieces, trim, forecast, remedy):
    left = magnitude(left_by(pieces, fit.unbalance, trim)) / GRAM_MM
    # The bench's error points anywhere; twice the root of its mean square holds at least 95 %.
    left_u = COVERAGE * math.sqrt(np.trace(fit.unbalance_covariance)) / GRAM_MM
    facts = [("Left by this plan", f"up to {left + left_u:.0f} g·mm (95 %) if fitted exactly")]
    if forecast:
        facts.insert(0, ("On this bench it", forecast))
    notes = [remedy] if remedy else []
    if fit.friction is not None and fit.friction > 0:
        held = _as_unbalance(fit.friction)
        facts.append(("Friction holds", f"up to {held:z.0f} g·mm"))
        room = held - left - left_u
        notes.append(
            "Beside that nothing may be off: measure better first."
            if room <= 0
            else "Beside that one thing alone may be off by: "
            + "; ".join(_tolerances(piece, room, pieces) for piece in pieces)
            + "."
        )
    return Section("Will it stay?", facts=tuple(facts), notes=tuple(notes))


def _tolerances(piece, room, pieces):
    """How far mass, arm or angle of a piece may be off by itself for so much unbalance [g·mm]."""
    mass, arm = piece.mass / GRAM, piece.arm / MM
    which = "" if len(pieces) == 1 else f"{named(piece, pieces)} "
    return (
        f"{which}± {room / arm:.1f} g, ± {room / mass:.1f} mm or "
        f"± {math.degrees(room / (mass * arm)):.1f}°"
    )


def _check(paddle, pieces):
    mass = sum(piece.mass for piece in pieces) / GRAM
    size = sum(piece.mass * piece.arm for piece in pieces) / GRAM_MM
    return Section(
        "Check it afterwards",
        notes=(
            "Put the paddle back on the same rollers or rails, turn it and let go at each of "
            "these roll angles: it must stay.",
            "If the weight sinks, shorten the arm; if it rises, lengthen it: each mm is "
            f"{mass:.0f} g·mm. If it stops at the side, turn the arm round the shaft toward the "
            f"side that is up: each degree is {size * math.radians(1):.0f} g·mm. Or measure again "
            "with the weight on and let the change be computed.",
            "Then let the paddle float in shallow water, and look at the fastening again after "
            "the first outing.",
        ),
        ticks=(
            *(f"{angle}°" for angle in range(0, 360, 45)),
            "floats",
            "fastening after the first outing",
        ),
    )


def _cost(paddle, fit, pieces, trim):
    if trim is not None:
        added = trim.added if trim.needed else 0.0
        more = f"{added / GRAM:+.1f} g against now, {(paddle.mass + added) / GRAM:.0f} g in all."
        return Section("What it costs", notes=(more,))
    weights = [w for piece in pieces for w in piece.counterweights]
    price = counterweight_cost(paddle, paddle.with_counterweights(*weights), measured=fit.unbalance)
    parts = [
        f"{price.mass / GRAM:.0f} g more to carry, {(paddle.mass + price.mass) / GRAM:.0f} g in all"
    ]
    if isinstance(paddle, Paddle):
        swing = 100 * price.swing_inertia / paddle.inertia()[2, 2]
        parts.append(f"{swing:.1f} % more swing inertia")
    else:
        parts.append(f"{price.swing_inertia:.4f} kg·m² more swing inertia")
    if price.flotation is not None:
        parts.append(
            f"sealed and in fresh water it sinks, {-price.flotation / GRAM:z.0f} g too heavy"
            if price.sinks
            else f"sealed and in fresh water it still carries {price.flotation / GRAM:z.0f} g"
        )
    text = "; ".join(parts) + "."
    if price.holding_torque_before is not None:
        text += (
            f" Torque to hold at the catch: {price.holding_torque_before:.3f} N·m before, "
            f"{price.holding_torque_after:.3f} N·m after."
        )
    return Section("What it costs", notes=(text,))


def _blades(paddle, fit):
    """What the blades weigh on their offsets, where that is inferred from the bench."""
    if isinstance(paddle, Paddle) or not paddle.faces_known:
        return ()
    try:
        each = blade_moments(paddle, fit.unbalance, fit.unbalance_covariance)
    except InputError as error:
        return (Section("The blades", notes=(str(error),)),)
    moments = zip(("control", "other"), each[:2], each[2:], strict=True)
    return (
        Section(
            "The blades: mass times offset",
            facts=tuple(
                (f"{name} blade", f"{value / GRAM_MM:.0f} ± {COVERAGE * u / GRAM_MM:.0f} g·mm")
                for name, value, u in moments
            ),
            notes=(
                "Inferred by an in-plane model: each blade's mass on the line along its back. "
                "The ± counts the error of the face's angle and 2 mm of mass sideways.",
            ),
        ),
    )


def _unknown(paddle):
    notes = tuple(f"{what}: measure {how}." for what, how in not_known(paddle))
    return (Section("Not known of this paddle", notes=notes),) if notes else ()
