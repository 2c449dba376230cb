"""Many bench files at once: a fit, a placement and a sheet for each, and one table of them all.

The steps are those of the first notebook; a file that cannot be used is reported and the rest
go on.
"""

import csv
import io
import math
from dataclasses import dataclass
from html import escape
from pathlib import Path

from paddlebal.bench import acceptance, fit_bench
from paddlebal.counterweight import Limits, place_counterweight
from paddlebal.errors import InputError
from paddlebal.files import write_text
from paddlebal.paddle import load_paddle
from paddlebal.readings import SwingReadings, SwingRecord, read_bench
from paddlebal.sheet import fitting_sheet
from paddlebal.unbalance import GRAM_MM

WORKSHOP_U = (0.3e-3, 0.3e-3, math.radians(0.3))
"""Standard uncertainties with which a piece is made and fitted [kg, m, rad]: assumed, no source."""

_FIELDS = (
    ("bench file", "", lambda f: f.file.name),
    ("paddle", "", lambda f: f.paddle.name),
    ("unbalance [g·mm]", ".0f", lambda f: f.fit.polar[0] / GRAM_MM),
    ("uncertainty, k = 2 [g·mm]", ".0f", lambda f: 2 * f.fit.polar[2] / GRAM_MM),
    ("direction [deg]", ".1f", lambda f: math.degrees(f.fit.polar[1]) % 360),
    ("friction [mN·m]", ".1f", lambda f: 1e3 * f.fit.friction),
    ("counterweight [g]", ".1f", lambda f: 1e3 * f.placement.mass),
    ("arm [mm]", ".1f", lambda f: 1e3 * f.placement.arm),
    ("angle [deg]", ".1f", lambda f: math.degrees(f.placement.angle) % 360),
    ("x [mm]", ".0f", lambda f: 1e3 * f.placement.x),
    ("forecast", "", lambda f: f.forecast),
)


@dataclass(frozen=True, eq=False)
class Fitting:
    """A paddle with its bench file, the fit, the placement and the forecast for the bench."""

    file: Path
    paddle: object
    fit: object
    placement: object
    forecast: str
    sheet: object


def bench_files(path):
    """The bench files that `path` names: itself, or the CSV files of a folder, sorted."""
    path = Path(path)
    if not path.is_dir():
        return [path]
    files = sorted(path.glob("*.csv"))
    if not files:
        raise InputError("holds no CSV file, expected bench files", file=path)
    return files


def paddle_file(bench_file, name):
    """The paddle's file `name`, looked for beside the bench file and in a folder 'paddles'
    beside the bench file's own folder."""
    if not name:
        raise InputError("is missing, expected the paddle's file", file=bench_file, field="paddle")
    folder = Path(bench_file).resolve().parent
    for candidate in (folder / name, folder.parent / "paddles" / name):
        if candidate.is_file():
            return candidate
    raise InputError(f"names '{name}', which was not found", file=bench_file, field="paddle")


def fit_file(file, readings, date, **stated):
    """Fit the readings of one bench file and place a counterweight.

    Parameters
    ----------
    file : Path
        It names the paddle's file.
    readings : LeverReadings or AddOnReadings
        What it holds.
    date : datetime.date
        For the sheet.
    **stated
        Limits of the workshop, as for `Limits.for_paddle`.

    Returns
    -------
    Fitting

    Raises
    ------
    InputError
    """
    paddle = load_paddle(paddle_file(file, readings.paddle))
    fit = fit_bench(readings)
    limits = Limits.for_paddle(paddle, **stated)
    placement = place_counterweight(fit.unbalance, limits, paddle=paddle)
    forecast = "not known: this method measures no friction"
    if math.isfinite(fit.friction):
        balanced = paddle.with_counterweights(placement.counterweight)
        spread = fit.unbalance_covariance + placement.covariance(*WORKSHOP_U)
        forecast = acceptance(
            placement.residual, spread, fit.friction, fit.friction_u, balanced.mass
        ).verdict
    sheet = fitting_sheet(paddle, readings, fit, placement, date)
    return Fitting(file, paddle, fit, placement, forecast, sheet)


def comparison_rows(fittings):
    """Head and rows of the comparison table, as text."""
    rows = [[f"{value(fitting):{form}}" for _, form, value in _FIELDS] for fitting in fittings]
    return [name for name, _, _ in _FIELDS], rows


def save_comparison(fittings, folder, overwrite=False):
    """Write comparison.csv and comparison.html into a folder."""
    head, rows = comparison_rows(fittings)
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows([head, *rows])
    write_text(Path(folder) / "comparison.csv", stream.getvalue(), overwrite)
    write_text(Path(folder) / "comparison.html", _page(head, rows), overwrite)


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
    """
    folder = Path(folder)
    files = bench_files(path)
    folder.mkdir(parents=True, exist_ok=True)
    fittings, failed = [], 0
    for file in track(files):
        try:
            readings = read_bench(file)
            if isinstance(readings, SwingReadings | SwingRecord):
                report(f"{file}: left out, timed swings alone don't give the unbalance.")
                continue
            fitting = fit_file(file, readings, date, **stated)
            fitting.sheet.save_pdf(folder / f"{file.stem}.pdf", overwrite)
            fitting.sheet.save_html(folder / f"{file.stem}.html", overwrite)
        except InputError as error:
            failed += 1
            report(str(error) if error.file else f"{file}: {error}")
        else:
            fittings.append(fitting)
    if fittings:
        save_comparison(fittings, folder, overwrite)
    return failed
