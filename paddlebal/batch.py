"""Many bench files at once: a fitting and a sheet for each, and one table of them all.

A file that cannot be used is reported and the rest go on.
"""

import csv
import io
import math
from html import escape
from pathlib import Path

from paddlebal.bench.readings import SWINGS
from paddlebal.errors import InputError
from paddlebal.files.saving import write_text
from paddlebal.files.text import data_files, plain_cell
from paddlebal.formats.bench import read_bench
from paddlebal.pipeline import fit_file
from paddlebal.units import GRAM_MM, turn_deg

TABLE = "comparison"
"""Name of the files with the table of all files."""


_FIELDS = (
    ("bench file", "", lambda f: f.file.name),
    ("paddle", "", lambda f: f.paddle.name),
    ("unbalance [g·mm]", ".0f", lambda f: f.fit.polar[0] / GRAM_MM),
    ("uncertainty, k = 2 [g·mm]", ".0f", lambda f: 2 * f.fit.polar[2] / GRAM_MM),
    ("direction [deg]", ".1f", lambda f: turn_deg(f.fit.polar[1])),
    ("friction [mN·m]", ".1f", lambda f: 1e3 * f.fit.friction),
    ("counterweight [g]", ".1f", lambda f: 1e3 * f.placement.mass),
    ("arm [mm]", ".1f", lambda f: 1e3 * f.placement.arm),
    ("angle [deg]", ".1f", lambda f: turn_deg(f.placement.angle)),
    ("x [mm]", ".0f", lambda f: 1e3 * f.placement.x),
    ("forecast", "", lambda f: f.forecast),
    ("doubts", "", lambda f: " ".join(f.doubts)),
)


def bench_files(path):
    """The bench files that `path` names: itself, or the CSV files of a folder, sorted."""
    path = Path(path)
    if not path.is_dir():
        return [path]
    files = data_files(path, ".csv")
    if not files:
        raise InputError("holds no CSV file, expected bench files", file=path)
    return files


def comparison_rows(fittings):
    """Head and rows of the comparison table, as text."""
    rows = [[_cell(value(fitting), form) for _, form, value in _FIELDS] for fitting in fittings]
    return [name for name, _, _ in _FIELDS], rows


def _cell(value, form):
    """A number in its form, – for none; a text such that no spreadsheet takes it for a formula."""
    if form:
        return f"{value:z{form}}" if math.isfinite(value) else "–"
    return plain_cell(value)


def save_comparison(fittings, folder, overwrite=False):
    """Write comparison.csv and comparison.html into a folder."""
    head, rows = comparison_rows(fittings)
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows([head, *rows])
    write_text(Path(folder) / f"{TABLE}.csv", stream.getvalue(), overwrite)
    write_text(Path(folder) / f"{TABLE}.html", _page(head, rows), overwrite)


def _page(head, rows):
    def line(cells, tag):
        return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"

    body = "\n".join(line(row, "td") for row in rows)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        "<title>Bench files compared</title>\n<style>\n"
        "body { font: 16px sans-serif; margin: 2rem; }\n"
        "th, td { padding: .3rem .8rem; text-align: right; border-bottom: 1px solid #ccc; }\n"
        "</style>\n</head>\n<body>\n<h1>Bench files compared</h1>\n<table>\n"
        f"<thead>{line(head, 'th')}</thead>\n<tbody>\n{body}\n</tbody>\n"
        "</table>\n</body>\n</html>\n"
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


def fit_all(path, folder, date, overwrite=False, track=iter, report=print, **stated):
    """Fit every bench file that `path` names and write sheets and the comparison to `folder`.

    Parameters
    ----------
    path, folder : str or Path
    date : datetime.date
    overwrite : bool
        Whether files of an earlier run may be replaced.
    track : callable
        Wraps the list of files, to show progress.
    report : callable
        Takes one sentence for each file that could not be used.
    **stated
        Limits of the workshop, as for `Limits.for_paddle`.

    Returns
    -------
    int
        How many files could not be used.

    Raises
    ------
    InputError
        Before anything is written, if there is no bench file or the results cannot go to
        `folder`; at the end, if the comparison may not replace an earlier one.
    """
    folder = Path(folder)
    files = bench_files(path)
    _prepare(folder, files)
    fittings, failed = [], 0
    for file in track(files):
        try:
            readings = read_bench(file)
            if isinstance(readings, SWINGS):
                report(f"{file}: left out, timed swings alone don't give the unbalance.")
                continue
            fitting = fit_file(file, readings, **stated)
            sheet = fitting.sheet(date)
            sheet.save_pdf(folder / f"{file.stem}.pdf", overwrite)
            sheet.save_html(folder / f"{file.stem}.html", overwrite)
        except InputError as error:
            failed += 1
            report(str(error) if error.file else f"{file}: {error}")
        except Exception as error:  # whatever it is, the other files go on
            failed += 1
            report(f"{file}: could not be used ({type(error).__name__}: {error}).")
        else:
            fittings.append(fitting)
    if fittings:
        save_comparison(fittings, folder, overwrite)
    return failed
