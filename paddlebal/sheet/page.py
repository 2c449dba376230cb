"""Set the sheet on its pages: a first one with the drawings, further ones for what is left."""

import io
import re
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import chain

from matplotlib import rc_context, rcdefaults, rcParams
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from paddlebal.sheet.drawings import (
    ACCENT,
    GREY,
    INK,
    LOST,
    SMALL,
    bold,
    plain,
    printable,
    text_width,
)
from paddlebal.sheet.fonts import FAMILY

PAGE, MARGIN = (210.0, 297.0), (12.0, 10.0)
"""A4, and the margins kept free at the sides and at top and bottom [mm]."""


COLUMN, GUTTER = 90.0, 6.0
"""Width of a column of text and of the gap between two [mm]."""


HEAD, HEADLINE = 9.0, 25.0
"""Height of the line with the name and of the boxes with the largest figures [mm]."""


LEADING = 3.45
"""From one line of the small text to the next [mm]."""


WIDE, LAST = PAGE[0] - 2 * MARGIN[0], PAGE[1] - MARGIN[1]
"""Width between the margins, and where the lower one begins [mm]."""


@dataclass(frozen=True)
class Section:
    """A titled part of the text: facts (label, value), then tables by rows, then notes.

    Each row of a table begins with its heading.
    """

    title: str
    facts: tuple[tuple[str, str], ...] = ()
    tables: tuple[tuple[tuple[str, ...], ...], ...] = ()
    notes: tuple[str, ...] = ()

    def parts(self):
        """The section in pieces that may stand on pages of their own; the first has the title."""
        pieces = [
            *([Section("", facts=self.facts)] if self.facts else []),
            *(Section("", tables=(table,)) for table in self.tables),
            *(Section("", notes=(note,)) for note in self.notes),
        ] or [self]
        return [replace(pieces[0], title=self.title), *pieces[1:]]


def arranged(sheet):
    """The sheet with what finds no room on its first page moved to further pages."""
    with own_style(sheet.families):
        at = _places(sheet)
        side = WIDE - sheet.template.size[0] - GUTTER
        tall = sheet.readings.tables[1:] or _end(sheet.readings, WIDE) + at["readings"] > LAST
        readings, further = sheet.readings, []
        if tall:
            further = [readings]
            readings = Section(readings.title, notes=("The table is on the next page.",))
        bottom = LAST - _end(readings, WIDE) - 2 - at["readings"]
        rooms = {
            "beside": (COLUMN, sheet.end_on.size[1]),
            "by_template": (side, sheet.template.size[1]),
            "lower_left": (COLUMN, bottom),
            "lower_right": (COLUMN, bottom),
        }
        kept = {}
        for name, (wide, room) in rooms.items():
            kept[name], left = _that_fit(getattr(sheet, name), wide, room)
            further += left
    return replace(sheet, readings=readings, further=tuple(further), **kept)


def _that_fit(sections, wide, room):
    """Sections of a column that fit into its height [mm], and those that do not."""
    kept: list[Section] = []
    left, y = [], 0.0
    for section in sections:
        end = _set_section(None, section, 0.0, y, wide)
        if end <= room + 1.2:
            kept.append(section)
            y = end
        else:
            left.append(section)
    return tuple(kept), left


def _end(section, wide):
    return _set_section(None, section, 0.0, 0.0, wide)


def pages(sheet):
    """The sheet as figures of A4 pages."""
    with own_style(sheet.families, sheet.lost):
        figures = [_first_page(sheet), *_further_pages(sheet)]
        if len(figures) > 1:
            for number, figure in enumerate(figures, 1):
                words = f"page {number} of {len(figures)}"
                _set(figure, PAGE[0] / 2, PAGE[1] - MARGIN[1] + 3, words, ha="center")
    return figures


def _new_page(sheet):
    figure = Figure((PAGE[0] / 25.4, PAGE[1] / 25.4))
    _set_head(figure, sheet)
    return figure


def _places(sheet):
    """Where the drawings and the readings begin, from the page's upper edge [mm]."""
    end_on = MARGIN[1] + HEAD + HEADLINE + 3
    along = end_on + sheet.end_on.size[1] + 3
    template = along + sheet.along.size[1] + 3
    readings = template + sheet.template.size[1] + 2
    return {"end_on": end_on, "along": along, "template": template, "readings": readings}


def _first_page(sheet):
    figure, left = _new_page(sheet), MARGIN[0]
    at, half = _places(sheet), MARGIN[0] + COLUMN + GUTTER
    _set_headline(figure, sheet.headline, left, MARGIN[1] + HEAD, WIDE)
    for name in ("end_on", "along", "template"):
        _draw(figure, getattr(sheet, name), left, at[name])
    _set_column(figure, sheet.beside, half, at["end_on"], COLUMN)
    beside = sheet.template.size[0] + GUTTER
    _set_column(figure, sheet.by_template, left + beside, at["template"], WIDE - beside)
    y = _set_section(figure, sheet.readings, left, at["readings"], WIDE) + 2
    _set_column(figure, sheet.lower_left, left, y, COLUMN)
    _set_column(figure, sheet.lower_right, half, y, COLUMN)
    return figure


def _further_pages(sheet):
    figures: list[Figure] = []
    y = LAST
    for part in chain.from_iterable(section.parts() for section in sheet.further):
        if y + _end(part, WIDE) > LAST:
            figures.append(_new_page(sheet))
            y = MARGIN[1] + HEAD + 2
        y = _set_section(figures[-1], part, MARGIN[0], y, WIDE)
    return figures


@contextmanager
def own_style(families, lost=""):
    """The sheet's own style of drawing, whatever the caller has set."""
    token = LOST.set(lost)
    try:
        with rc_context():
            rcdefaults()
            own = {"pdf.fonttype": 42, "svg.fonttype": "none", "svg.hashsalt": "paddlebal"}
            rcParams.update({"hatch.linewidth": 0.6, "font.family": list(families), **own})
            yield
    finally:
        LOST.reset(token)


def as_pdf(figures, information):
    """The pages as a PDF, bytes."""
    stream = io.BytesIO()
    with own_style((FAMILY,)), PdfPages(stream, metadata=information) as file:
        for figure in figures:
            file.savefig(figure)
    return stream.getvalue()


def as_png(figure):
    """A page as a picture, bytes."""
    return _saved(figure, "png", None)


def _saved(figure, form, information):
    stream = io.BytesIO()
    with own_style((FAMILY,)):
        figure.savefig(stream, format=form, metadata=information)
    return stream.getvalue()


def as_svg(picture, families):
    """The drawing as an <svg> element of its true size, ids its own, told to a screen reader."""
    from markupsafe import Markup, escape

    width, height = picture.size
    with own_style(families):
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


def _set(figure, x, y, text, size=SMALL, font=None, **style):
    """One line of text, its base line at (x, y) [mm] from the page's upper left corner.

    Without a figure nothing is set: so heights are found.
    """
    if figure is None:
        return
    font = (font or plain()).copy()
    font.set_size(size)
    style = {"color": INK, **style}
    place = x / PAGE[0], 1 - y / PAGE[1]
    figure.text(*place, printable(text), fontproperties=font, parse_math=False, **style)


def _set_head(figure, sheet):
    """Name, title, date and version; a name too long for its line is cut short."""
    left, y = MARGIN
    name, size, room = sheet.name[:200], 15.0, WIDE - 70
    while size > 9 and text_width(name, size, bold()) > room:
        size -= 0.5
    while text_width(name, size, bold()) > room:
        name = name.rstrip("…")[:-1].rstrip() + "…"
    _set(figure, left, y + 6, name, size, bold())
    _set(figure, left + WIDE, y + 3, sheet.title, 9, bold(), ha="right")
    _set(figure, left + WIDE, y + 7, sheet.imprint, ha="right")


def _set_headline(figure, headline, left, y, wide):
    """The four boxes with the largest figures of the page."""
    gap, tall = 2.0, HEADLINE
    box = (wide - gap * (len(headline) - 1)) / len(headline)
    for index, (label, value, note) in enumerate(headline):
        x = left + index * (box + gap)
        _frame(figure, x, y, box, tall)
        _set(figure, x + 2, y + 4.5, label, 10, bold())
        size = min(23.0, 23.0 * (box - 4) / text_width(value, 23.0, bold()))
        _set(figure, x + 2, y + 13, value, size, bold())
        for line, words in enumerate(_wrapped(note, box - 3)):
            _set(figure, x + 2, y + 17 + line * LEADING, words)
    return y + tall


def _frame(figure, x, y, wide, tall):
    corner = x / PAGE[0], 1 - (y + tall) / PAGE[1]
    size = wide / PAGE[0], tall / PAGE[1]
    figure.add_artist(Rectangle(corner, *size, fc="none", ec=ACCENT, lw=1.4))


def _set_column(figure, sections, left, y, wide):
    for section in sections:
        y = _set_section(figure, section, left, y, wide)


def _set_section(figure, section, left, y, wide):
    """Set a section from y down; the y [mm] below it."""
    if section.title:
        y += 3.6
        for line in _wrapped(section.title, wide, 9, bold())[:1]:
            _set(figure, left, y, line, 9, bold())
    labels = max((text_width(label, SMALL, plain()) for label, _ in section.facts), default=0) + 3
    for label, value in section.facts:
        _set(figure, left, y + LEADING, label, color=GREY)
        for line in _wrapped(value, wide - labels):
            y += LEADING
            _set(figure, left + labels, y, line)
    for table in section.tables:
        y = _set_table(figure, table, left, y, wide) + 0.8
    for note in section.notes:
        for line in _wrapped(note, wide):
            y += LEADING
            _set(figure, left, y, line)
        y += 0.5
    return y + 1.2


def _set_table(figure, table, left, y, wide):
    """Rows of a table, cells aligned to the right; the y [mm] of the last row."""
    labels = max(text_width(row[0], SMALL, plain()) for row in table)
    cell = min(11.0, (wide - labels) / (len(table[0]) - 1))
    for heading, *cells in table:
        y += LEADING
        _set(figure, left, y, heading, color=GREY)
        for index, text in enumerate(cells, 1):
            _set(figure, left + labels + index * cell, y, text, ha="right")
    return y


def _wrapped(text, wide, size=SMALL, font=None):
    """The lines into which a text breaks at spaces so that each is at most `wide` [mm].

    A word that is longer than a line is broken where it ends.
    """
    font, lines, words = font or plain(), [""], text.split()[::-1]
    while words:
        word = words.pop()
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, size, font) <= wide:
            lines[-1] = longer
        elif lines[-1]:
            lines.append("")
            words.append(word)
        else:
            fits = sum(text_width(word[:n], size, font) <= wide for n in range(1, len(word)))
            lines[-1] = word[: max(fits, 1)]
            words.append(word[max(fits, 1) :])
    return [line for line in lines if line]
