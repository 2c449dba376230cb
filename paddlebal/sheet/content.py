"""What a fitting sheet holds, and how it is set as PDF and HTML; sections that all sheets share."""

from __future__ import annotations

import datetime
import json
import math
from base64 import b64encode
from dataclasses import asdict, dataclass
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from unicodedata import name

from paddlebal.errors import InputError
from paddlebal.files.saving import write_bytes, write_text
from paddlebal.language import _, spoken
from paddlebal.limits import material_densities
from paddlebal.paddle import Paddle
from paddlebal.sheet import drawings
from paddlebal.sheet.canvas import plain
from paddlebal.sheet.drawings import Drawing, keep_out_words, named, position, toward
from paddlebal.sheet.fonts import fonts_for, typst_fonts
from paddlebal.units import GRAM, MM, STANDARD_GRAVITY, turn_deg

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
    title: str
    language: str
    lost: str = ""

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
        first = _listed_pages(self._set(format="png", ppi=144))[0]
        words = f"{self.title}: {self.name}"
        alt = _("{words}. The first page as printed; the HTML file holds the same as text.").format(
            words=words
        )
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


def date_words(date):
    try:
        return datetime.date.fromisoformat(str(date)).isoformat()
    except ValueError as error:
        raise InputError(
            _("the date is '{date}', expected one such as 2026-11-25").format(date=date)
        ) from error


def headline(paddle, piece, pieces):
    clear = (piece.arm - paddle.shaft.radius) / MM
    which = "" if len(pieces) == 1 else f", {named(piece, pieces)}"
    alone = _("the weight alone") if piece.holder is None else _("the weight beside its holder")
    return (
        (
            _("Mass{which}").format(which=which),
            f"{piece.mass / GRAM:.1f} g",
            _("{alone}; what else holds it is not counted").format(alone=alone),
        ),
        (
            _("Arm{which}").format(which=which),
            f"{piece.arm / MM:.1f} mm",
            _("from the shaft axis to its middle, {clear:.1f} mm off the surface").format(
                clear=clear
            ),
        ),
        (
            _("Angle{which}").format(which=which),
            f"{turn_deg(piece.angle):.1f}°",
            _("from {start_of_angles}, counterclockwise seen from the right end").format(
                start_of_angles=drawings.start_of_angles(paddle)
            ),
        ),
        (
            _("Position{which}").format(which=which),
            f"{abs(round(piece.x / MM))} mm",
            _from_middle(piece.x),
        ),
    )


def _from_middle(x):
    if round(x / MM) == 0:
        return _("at the middle of the shaft")
    return _("toward the {x} blade, from the middle of the shaft").format(x=_(toward(x)))


def of_paddle(paddle):
    already = [
        (_("Already on it"), f"{w.mass / GRAM:.1f} g at {turn_deg(w.angle):.1f}°")
        for w in paddle.counterweights
    ]
    feather = _("not known") if paddle.feather is None else f"{math.degrees(paddle.feather):.1f}°"
    return Section(
        _("The paddle"),
        facts=(
            (_("Total mass"), _("{mass:.0f} g as measured").format(mass=paddle.mass / GRAM)),
            *already,
            (_("Feather"), feather),
            (_("Control hand"), _(paddle.control)),
            (
                _("Shaft"),
                _("{shaft} across").format(shaft=drawings.shaft_words(paddle.shaft.diameters)),
            ),
        ),
    )


def where_zero(paddle):
    control = paddle.control
    if isinstance(paddle, Paddle):
        note = _(
            "Hold the paddle level as for a stroke on the {control}: right blade to your "
            "right, the power face of the {control} blade plumb and facing you. On the "
            "shaft, 0° is now straight away from you, where the back of that blade points; "
            "90° is up, 180° faces you, 270° is down."
        ).format(control=_(control))
    else:
        note = _(
            "0° is the mark on the shaft from which the bench's angles count. Hold the "
            "paddle level, right blade to your right, the mark straight away from you: 90° "
            "is up, 180° faces you, 270° is down."
        )
    return Section(_("Where the angle starts"), notes=(note,))


def of_pieces(pieces, better):
    notes = []
    for piece in pieces:
        known = [n for n, density in material_densities().items() if density == piece.density]
        material = (
            _(known[0])
            if known
            else _("a material of {density:.2f} g/cm³").format(density=piece.density / 1000)
        )
        size = _("{diameter:.1f} mm across, {length:.1f} mm long").format(
            diameter=piece.diameter / MM, length=piece.length / MM
        )
        notes.append(
            _("A cylinder of {material} along the shaft, {size}.").format(
                material=material, size=size
            )
        )
    notes = list(dict.fromkeys(notes))
    piece = pieces[0]
    if piece.holder is None:
        notes.append(
            _(
                "Best measure the paddle again with the empty holder on. Otherwise, for a holder "
                "of h grams with its middle r mm from the shaft axis, make the weight lighter by "
                "h × r / {arm:.0f} grams."
            ).format(arm=piece.arm / MM)
        )
    else:
        notes.append(
            _("Its holder is counted: {mass:.1f} g, {arm:.1f} mm from the shaft axis.").format(
                mass=piece.holder.mass / GRAM, arm=piece.holder.arm / MM
            )
        )
    if better is not None:
        notes.append(_("A heavier one would leave less: {better}.").format(better=better))
    return Section(_("The weight") if len(pieces) == 1 else _("The weights"), notes=tuple(notes))


def of_keep_outs(paddle):
    zones = tuple(
        f"{number}: {plain(keep_out_words(each))}"
        for number, each in enumerate(paddle.keep_outs, 1)
    )
    return (Section(_("Where no weight may sit"), notes=zones),) if zones else ()


def template_use(paddle, pieces):
    where = "; ".join(f"{named(piece, pieces)} {position(piece.x)}" for piece in pieces)
    onto = (
        _("faces where the back of the {control} blade points").format(control=_(paddle.control))
        if isinstance(paddle, Paddle)
        else _("lies on the mark")
    )
    first, second = paddle.shaft.diameters
    oval = (
        ()
        if first == second
        else (
            _(
                "The shaft is oval: the strip's degrees are drawn for its two diameters. "
                "Balanced or not, an oval shaft stops on its flat sides on rollers and rails: "
                "the check at eight angles needs round sleeves where it is supported."
            ),
        )
    )
    return Section(
        _("How to use the template"),
        notes=(
            _(
                "Print at 100 % and measure the ruler: it must be {RULER:.0f} mm, or the scales "
                "are wrong."
            ).format(RULER=drawings.RULER),
            _(
                "Cut the strip out and wrap it round the shaft ({where}), print outward, arrows "
                "to the right blade. Its ends must just meet."
            ).format(where=where),
            _("Turn it until the 0 line {onto}. The arm stands on the thick line.").format(
                onto=onto
            ),
            *oval,
        ),
    )


def mounting(pieces):
    load = RETENTION * max(piece.mass for piece in pieces) * STANDARD_GRAVITY
    return Section(
        _("Fasten it twice"),
        notes=(
            _(
                "Two fastenings that don't depend on each other, such as a clamp and a lashing "
                "through the weight; each alone must hold {load:.0f} N, {RETENTION} times the "
                "weight (assumed, no source: a knock against the boat asks for much more than a "
                "stroke). Pull with a scale to see."
            ).format(load=load, RETENTION=RETENTION),
            _(
                "Nothing may slide along, turn round or leave the shaft. Round all edges; seal "
                "against water."
            ),
        ),
        ticks=(_("clamped"), _("tied a second time"), _("pulled: holds")),
    )


def every_sheet(paddle, pieces, date, better=None):
    """The fields of a `Sheet` that every sheet of a paddle and its pieces has alike.

    Raises InputError if something cannot be drawn to scale on the page.
    """
    families, lost = fonts_for("".join((paddle.name, *(k.name for k in paddle.keep_outs))))
    return dict(
        name=plain(paddle.name),
        imprint=_("{date} · made by paddlebal {version}").format(
            date=date_words(date), version=version("paddlebal")
        ),
        headline=tuple(headline(paddle, piece, pieces) for piece in pieces),
        end_on=drawings.end_on(paddle, pieces),
        beside=(of_paddle(paddle), where_zero(paddle), of_pieces(pieces, better)),
        along=drawings.along(paddle, pieces),
        under=of_keep_outs(paddle),
        templates=tuple(drawings.template(paddle, piece, pieces) for piece in pieces),
        ruler=drawings.ruler(),
        by_template=(template_use(paddle, pieces),),
        families=families,
        lost=lost,
        language=spoken(),
    )


def lost_letters(lost):
    """A section on letters that no font has, if there are any."""
    if not lost:
        return ()
    names = ", ".join(name(letter, f"U+{ord(letter):04X}").lower() for letter in lost[:8])
    more = _(" and {count} more").format(count=len(lost) - 8) if len(lost) > 8 else ""
    return (
        Section(
            _("Letters that print as �"),
            notes=(
                _("No font on this computer has: {names}{more}.").format(names=names, more=more),
            ),
        ),
    )
