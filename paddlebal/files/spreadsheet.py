"""Tables as spreadsheets write them: CSV and TSV in any usual encoding, XLSX and ODS.

What is read is cells of text. XLSX and ODS are read by calamine.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections import Counter
from typing import NamedTuple

from paddlebal.errors import InputError
from paddlebal.files.quantities import POINT, decimal_mark, split_number
from paddlebal.files.text import whole
from paddlebal.language import _

SEPARATORS = (";", "\t", ",")


LARGEST = 5_000_000
"""Bytes of the largest file that is taken for a table of readings."""


MOST_CELLS = 200_000


class Cells(NamedTuple):
    """Rows of cells as text, and the decimal mark of their numbers if the file tells it.

    separator: between the cells of a text file, '' for a spreadsheet's own format.
    """

    rows: list[list[str]]
    mark: str | None
    separator: str


def read_cells(content: bytes, name: str, most: int = MOST_CELLS) -> Cells:
    """The cells of a file's bytes; blank rows, and lines that start with '#', are left out.

    most: cells that are taken.

    Raises
    ------
    InputError
        If it is too large, or no table.
    """
    largest = LARGEST * most / MOST_CELLS
    if len(content) > largest:
        size = largest / 1e6
        raise InputError(_("is larger than {size:g} MB").format(size=size), file=name)
    if _is_workbook(content):
        (rows, mark), separator = _workbook_rows(content, name), ""
    else:
        rows, separator = _text_rows(decode_any(content, name), name)
        mark = POINT if separator == "," and not _quoted_commas(rows) else None
    rows = [row for row in rows if any(cell.strip() for cell in row) and row[0][:1] != "#"]
    if not rows or max(len(row) for row in rows) < 2:
        raise InputError(_("holds no table of at least two columns"), file=name)
    if mark is None:
        mark = _mark_of(rows, name)
    width = max(len(row) for row in rows)
    if width * len(rows) > most:
        raise InputError(_("holds too many cells for a table of readings"), file=name)
    return Cells([row + [""] * (width - len(row)) for row in rows], mark, separator)


def table_text(content: bytes, name: str) -> str:
    """The text of a bench file in a file's bytes, whichever spreadsheet wrote them.

    Of a workbook, each row is a line, its cells parted by semicolons; a row that begins with '#'
    is kept as it is.

    Raises
    ------
    InputError
        If it is no text and no workbook, or was cut short.
    """
    if not _is_workbook(content):
        return whole(decode_any(content, name), name)
    rows, _mark = _workbook_rows(content, name)
    stream = io.StringIO()
    for row in rows:
        cells = list(row)
        while cells and not cells[-1].strip():
            cells.pop()
        if cells and cells[0].startswith("#"):
            stream.write(" ".join(cells) + "\n")
        else:
            csv.writer(stream, delimiter=";", lineterminator="\n").writerow(cells)
    return stream.getvalue()


def _is_workbook(content):
    return content[:2] == b"PK" or content[:4] == b"\xd0\xcf\x11\xe0"


def _mark_of(rows, name):
    try:
        return decimal_mark(cell for row in rows for cell in row if cell)
    except InputError as error:
        raise InputError(error.problem, file=name) from error


def _quoted_commas(rows):
    return any("," in cell and split_number(cell) for row in rows for cell in row)


def decode_any(content: bytes, name: str) -> str:
    """The text of a file in UTF-8, UTF-16 or, if it can be neither, Windows-1252."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings = ["utf-16"]
    elif b"\0" in content[:200]:  # UTF-16 without its mark: every other byte of plain text
        encodings = ["utf-16-be" if content[:1] == b"\0" else "utf-16-le"]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise InputError(_("is no text and no spreadsheet"), file=name)


def separator_of(lines: list[str]) -> str:
    """The separator that parts most lines into one and the same number of cells."""
    best, most = ",", 0
    for separator in SEPARATORS:
        counts = Counter(len(row) for row in csv.reader(lines, delimiter=separator))
        counts.pop(1, None)
        counts.pop(0, None)
        if counts and (rows := max(counts.values())) > most:
            best, most = separator, rows
    return best


def _text_rows(text, name):
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    if lines and lines[0].lower().startswith("sep="):  # a spreadsheet's note to itself
        lines = lines[1:]
    try:
        separator = separator_of(lines)
        return list(csv.reader(lines, delimiter=separator)), separator
    except csv.Error as error:
        raise InputError(_("is no table that can be read"), file=name) from error


def _workbook_rows(content, name):
    """Cells of the first sheet that holds any, numbers with the mark that its texts have."""
    from python_calamine import CalamineWorkbook

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        sheets = (book.get_sheet_by_name(each).to_python() for each in book.sheet_names)
        rows = next((rows for rows in sheets if rows), [])
    except Exception as error:  # calamine has one error a format, and the archive its own
        raise InputError(_("is no spreadsheet that can be read"), file=name) from error
    texts = [[cell] for row in rows for cell in row if isinstance(cell, str)]
    mark = _mark_of(texts, name) or POINT
    return [[_cell_text(cell, mark) for cell in row] for row in rows], mark


def _cell_text(cell, mark):
    if isinstance(cell, bool):
        return str(cell)
    if isinstance(cell, int | float):
        return f"{cell:.12g}".replace(".", mark)
    if isinstance(cell, datetime.date | datetime.time | datetime.timedelta):
        return str(cell)
    return cell
