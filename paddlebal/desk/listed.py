"""The book as a table: CSV for any program, XLSX for a spreadsheet."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from typing import Any

from paddlebal.book.book import Book, Listed
from paddlebal.desk.concluded import EIGHT
from paddlebal.desk.entry import mounted
from paddlebal.files.text import plain_cell
from paddlebal.language import _
from paddlebal.units import GRAM, GRAM_MM, MM, turn_deg

AT_ONCE = 500
"""Entries that are read from the book in one go."""


def heads(with_people: bool = False) -> list[str]:
    """What stands above the columns."""
    people = [_("who measured")] if with_people else []
    return [
        _("name"), _("model"), _("size"), _("length [mm]"), _("mass [g]"), _("feather [deg]"),
        _("control hand"), _("unbalance [g·mm]"), _("± [g·mm]"), _("direction [deg]"),
        _("counterweight [g]"), _("its arm [mm]"), _("its angle [deg]"), _("its place [mm]"),
        _("stays at"), _("rolls at"), _("state"), _("scale and gauge"), *people, _("last changed"),
    ]  # fmt: skip


def rows(book: Book, listed: Sequence[Listed], with_people: bool = False) -> Iterator[list[Any]]:
    """A row of texts and numbers for each entry; None where something is not known."""
    for start in range(0, len(listed), AT_ONCE):
        part = listed[start : start + AT_ONCE]
        entries = [each.id for each in part]
        texts, concluded = book.texts_of(entries), book.concluded(entries)
        for each in part:
            yield _row(each, texts[each.id], concluded.get(each.id), with_people)


def _row(listed, texts, told, with_people):
    spread = None
    if told is not None:
        a, b, c, d = told["C"]
        spread = 2 * math.sqrt(max((a + d) / 2 + math.hypot((a - d) / 2, (b + c) / 2), 0.0))
    weights = mounted(texts)
    on = weights[0] if weights else None
    ends = {
        said: " ".join(f"{angle}" for angle in EIGHT if texts.get(f"proof/{angle}") == said)
        for said in ("stays", "rolls")
    }
    people = [texts.get("by", "")] if with_people else []
    return [
        listed.name, listed.model, listed.size, _in(listed.length, MM), _number(texts.get("mass")),
        None if listed.feather is None else math.degrees(listed.feather),
        texts.get("control", "right"), _in(listed.unbalance, GRAM_MM), _in(spread, GRAM_MM),
        None if listed.direction is None else turn_deg(listed.direction),
        _in(on and on.mass, GRAM), _in(on and on.arm, MM),
        None if on is None else turn_deg(on.angle), _in(on and on.x, MM),
        ends["stays"], ends["rolls"], listed.verdict or "", texts.get("instrument", ""), *people,
        listed.changed[:19].replace("T", " "),
    ]  # fmt: skip


def _in(value, unit):
    return None if value is None else value / unit


def _number(text):
    try:
        return float((text or "").replace(",", "."))
    except ValueError:
        return None


def as_csv(head: Sequence[str], body: Sequence[Sequence[Any]], comma: bool = False) -> bytes:
    """The table as CSV in UTF-8 with its mark; with decimal commas between semicolons if wanted."""
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=";" if comma else ",", lineterminator="\r\n")
    writer.writerow(head)
    for row in body:
        writer.writerow([_cell(each, comma) for each in row])
    return stream.getvalue().encode("utf-8-sig")


def _cell(value, comma):
    if isinstance(value, float):
        text = f"{value:.6g}"
        return text.replace(".", ",") if comma else text
    return "" if value is None else plain_cell(str(value))


def as_workbook(head: Sequence[str], body: Sequence[Sequence[Any]]) -> bytes:
    """The table as a workbook with one sheet; no text of it is taken for a formula."""
    import xlsxwriter

    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as made:
        sheet, bold = made.add_worksheet(), made.add_format({"bold": True})
        for column, words in enumerate(head):
            sheet.write_string(0, column, words, bold)
        for number, row in enumerate(body, 1):
            for column, value in enumerate(row):
                if isinstance(value, float):
                    sheet.write_number(number, column, value)
                elif value:
                    sheet.write_string(number, column, str(value))
        sheet.freeze_panes(1, 1)
        sheet.autofit()
    return stream.getvalue()


def table(book: Book, search: str = "", with_people: bool = False) -> tuple[list[str], list[Any]]:
    """Heads and rows of all entries that a search finds, by name."""
    listed = book.entries(search, most=1_000_000, order="name", falling=False)
    return heads(with_people), list(rows(book, listed, with_people))
