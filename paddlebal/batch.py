"""Many bench files at once: a fitting and a sheet for each, and one table of them all.

A file that cannot be used stands in the table with the reason and the rest go on. Sheets that an
earlier run made from the same files and limits are kept, so a run that was stopped goes on where
it was.
"""

from __future__ import annotations

import csv
import datetime
import io
import math
import os
import re
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from importlib.metadata import version
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from paddlebal.bench.readings import SWINGS
from paddlebal.errors import InputError
from paddlebal.files.saving import write_text
from paddlebal.files.text import data_files, plain_cell
from paddlebal.formats.bench import read_bench
from paddlebal.pipeline import fit_file, paddle_file
from paddlebal.trim import trim_words
from paddlebal.units import GRAM, GRAM_MM, MM, turn_deg

TABLE = "comparison"
"""Name of the files with the table of all files."""


FEW = 40
"""Files up to which one processor is quicker, as a further one has to start first."""


_FIELDS = (
    ("paddle", "", lambda f: f.paddle.name),
    ("unbalance [g·mm]", ".0f", lambda f: f.fit.polar[0] / GRAM_MM),
    ("uncertainty, k = 2 [g·mm]", ".0f", lambda f: 2 * f.fit.polar[2] / GRAM_MM),
    ("direction [deg]", ".1f", lambda f: turn_deg(f.fit.polar[1])),
    ("friction [mN·m]", ".1f", lambda f: _or_nan(f.fit.friction) / 1e-3),
    ("counterweight [g]", ".1f", lambda f: f.pieces[0].mass / GRAM),
    ("arm [mm]", ".1f", lambda f: f.pieces[0].arm / MM),
    ("angle [deg]", ".1f", lambda f: turn_deg(f.pieces[0].angle)),
    ("x [mm]", ".0f", lambda f: f.pieces[0].x / MM),
    ("pieces", ".0f", lambda f: len(f.pieces)),
    ("change of the weights on", "", lambda f: trim_words(f.paddle, f.trim) if f.trim else ""),
    ("or, leaving less", "", lambda f: str(f.better or "")),
    ("forecast", "", lambda f: f.forecast),
    ("remedy", "", lambda f: f.remedy),
    ("doubts", "", lambda f: " ".join(f.doubts)),
)
HEAD = ("bench file", *(name for name, _, _ in _FIELDS), "problem")


MADE, KEPT, LEFT_OUT, FAILED = "made", "kept from before", "left out", "not made"


@dataclass(frozen=True)
class Outcome:
    """What became of a bench file: its state, a sentence if something is to be told, and the
    cells of its row in the table."""

    state: str
    cells: tuple[str, ...]
    sentence: str = ""


def bench_files(path):
    """The bench files that `path` names: itself, or the CSV files of a folder, sorted."""
    path = Path(path)
    if not path.is_dir():
        return [path]
    files = data_files(path, ".csv", ".xlsx", ".ods")
    if not files:
        raise InputError("holds no CSV, XLSX or ODS file, expected bench files", file=path)
    return files


def _or_nan(value):
    return math.nan if value is None else value


def _cell(value, form):
    """A number in its form, – for none; a text such that no spreadsheet takes it for a formula."""
    if form:
        return f"{value:z{form}}" if math.isfinite(value) else "–"
    return plain_cell(value)


def _table_csv(rows, decimal_comma=False):
    stream = io.StringIO()
    if decimal_comma:
        stream.write("\ufeff")  # by which a spreadsheet knows that the text is UTF-8
        rows = [[_with_comma(cell) for cell in row] for row in rows]
    separator = ";" if decimal_comma else ","
    csv.writer(stream, delimiter=separator, lineterminator="\n").writerows([HEAD, *rows])
    return stream.getvalue()


def _with_comma(cell):
    return cell.replace(".", ",") if re.fullmatch(r"-?\d+\.\d+", cell) else cell


def save_comparison(rows, folder, overwrite=False, decimal_comma=False):
    """Write comparison.csv and comparison.html into a folder; a table of an earlier run goes.

    With decimal_comma the CSV file has decimal commas between semicolons.

    InputError if something else has that name and may not be replaced.
    """
    table, page = (Path(folder) / f"{TABLE}.{end}" for end in ("csv", "html"))
    overwrite = overwrite or not table.exists() or _is_table(table)
    write_text(table, _table_csv(rows, decimal_comma), overwrite)
    write_text(page, _page(rows), overwrite)


def _is_table(path):
    """Whether a file is a table of this kind, by its first cells."""
    with path.open(encoding="utf-8-sig", errors="replace") as stream:
        return stream.readline().replace(";", ",").startswith(",".join(HEAD[:3]))


def _page(rows):
    def line(cells, tag):
        return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"

    body = "\n".join(line(row, "td") for row in rows)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width">\n'
        "<title>Bench files compared</title>\n<style>\n"
        "body { font: 16px sans-serif; margin: 2rem; } div { overflow-x: auto; }\n"
        "th, td { padding: .3rem .8rem; text-align: right; border-bottom: 1px solid #ccc; }\n"
        "</style>\n</head>\n<body>\n<h1>Bench files compared</h1>\n<div><table>\n"
        f"<thead>{line(HEAD, 'th')}</thead>\n<tbody>\n{body}\n</tbody>\n"
        "</table></div>\n</body>\n</html>\n"
    )


def _prepare(folder, files):
    """Make the folder for the results; InputError if they would meet the bench files there."""
    if any(file.resolve().parent == folder.resolve() for file in files):
        raise InputError("holds the bench files, expected another folder", file=folder)
    for file in files:
        if file.stem.lower() == TABLE:
            raise InputError("has the name of the table of all files, expected another", file=file)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"cannot be made a folder ({error.strerror})", file=folder) from error


def fit_one(
    file: Path, folder: Path, date: datetime.date, overwrite: bool, limits: dict[str, Any]
) -> Outcome:
    """Fit one bench file and write its sheets to a folder, unless they are there already.

    limits: as for `fit_file`.
    """
    blank = [""] * len(_FIELDS)
    try:
        readings = read_bench(file)
        if isinstance(readings, SWINGS):
            why = "left out, timed swings alone don't give the unbalance."
            return Outcome(LEFT_OUT, (file.name, *blank, why), f"{file}: {why}")
        fitting = fit_file(file, readings, **limits)
        mark = _mark(file, paddle_file(file, readings.paddle), limits)
        state = KEPT
        if overwrite or not _has_mark(folder / f"{file.stem}.html", mark):
            sheet = fitting.sheet(date)
            sheet.save_pdf(folder / f"{file.stem}.pdf", overwrite)
            write_text(folder / f"{file.stem}.html", sheet.html() + mark, overwrite)
            state = MADE
        cells = (_cell(value(fitting), form) for _, form, value in _FIELDS)
        doubts = f"{file}: {state}, but doubtful. {' '.join(fitting.doubts)}"
        return Outcome(state, (plain_cell(file.name), *cells, ""), doubts if fitting.doubts else "")
    except InputError as error:
        sentence = str(error) if error.file else f"{file}: {error}"
    except Exception as error:  # whatever it is, the other files go on
        sentence = f"{file}: could not be used ({type(error).__name__}: {error})."
    return Outcome(FAILED, (plain_cell(file.name), *blank, plain_cell(sentence)), sentence)


def _mark(bench, paddle, limits):
    """A comment for the end of a page: of what files, limits and version it was made."""
    digest = sha256(repr((version("paddlebal"), sorted(limits.items()))).encode())
    for file in (bench, paddle):
        digest.update(file.read_bytes())
    return f"<!-- made from {digest.hexdigest()} -->\n"


def _has_mark(page, mark):
    """Whether a page was made from that; the PDF is written before it."""
    try:
        return page.read_text(encoding="utf-8").endswith(mark)
    except (OSError, ValueError):
        return False


def fit_all(
    path: str | Path,
    folder: str | Path,
    date: datetime.date,
    overwrite: bool = False,
    track: Callable[[Iterable[Any], int], Iterable[Any]] = lambda outcomes, total: outcomes,
    report: Callable[[str], object] = print,
    jobs: int | None = None,
    decimal_comma: bool = False,
    **limits: Any,
) -> dict[str, int]:
    """Fit every bench file that `path` names and write sheets and the comparison to `folder`.

    Parameters
    ----------
    path, folder : str or Path
    date : datetime.date
    overwrite : bool
        Whether files of an earlier run may be replaced.
    track : callable
        track(outcomes, total) wraps the outcomes as they come, so many in all, to show progress.
    report : callable
        Takes what is to be told of a file: why it could not be used, or what is doubtful.
    jobs : int, optional
        How many files at once; by default as many as there are processors.
    decimal_comma : bool
        Whether the comparison's CSV file has decimal commas between semicolons.
    **limits
        As for `fit_file`.

    Returns
    -------
    dict of str to int
        How many files were made, kept from before, left out and not made.

    Raises
    ------
    InputError
        Before anything is written, if there is no bench file or the results cannot go to
        `folder`; at the end, if the comparison may not replace a file of that name.
    """
    folder = Path(folder)
    files = bench_files(path)
    _prepare(folder, files)
    found: dict[Path, Outcome] = {}
    outcomes = _outcomes(files, (folder, date, overwrite, limits), jobs)
    try:
        for file, outcome in track(outcomes, len(files)):
            found[file] = outcome
            if outcome.sentence:
                report(outcome.sentence)
    finally:  # also when the run is stopped: what is done stands in the table
        outcomes.close()
        if found:
            rows = [found[file].cells for file in files if file in found]
            save_comparison(rows, folder, overwrite, decimal_comma)
    states = [outcome.state for outcome in found.values()]
    return {state: states.count(state) for state in (MADE, KEPT, LEFT_OUT, FAILED)}


def _outcomes(files: list[Path], rest: Any, jobs: int | None) -> Generator[tuple[Path, Outcome]]:
    """(file, `Outcome`) for each file as they are done."""
    jobs = jobs or os.cpu_count() or 1
    if jobs == 1 or len(files) <= FEW:
        for file in files:
            yield file, fit_one(file, *rest)
        return
    fresh = get_context("spawn")  # a copy of a process with threads could lock up
    with ProcessPoolExecutor(min(jobs, len(files)), fresh) as pool:
        waiting = {pool.submit(fit_one, file, *rest): file for file in files}
        try:
            for done in as_completed(waiting):
                yield waiting[done], done.result()
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
