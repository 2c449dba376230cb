"""A panel that goes from a bench file to a fitting sheet without any code."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from html import escape
from pathlib import Path

import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from paddlebal.bench.fit import monte_carlo_fit
from paddlebal.bench.readings import SWINGS, LeverReadings
from paddlebal.errors import InputError
from paddlebal.files.text import data_files, data_path
from paddlebal.formats.bench import read_bench
from paddlebal.limits import Limits, material_densities
from paddlebal.panels.bench import LeverState, draw_lever
from paddlebal.panels.panel import (
    Panel,
    PanelBox,
    chooser,
    close_earlier,
    download_link,
    slider,
)
from paddlebal.panels.placement import cautions
from paddlebal.pictures.bench import BenchPicture
from paddlebal.pictures.placement import PlacementPicture
from paddlebal.pictures.style import signed
from paddlebal.pipeline import WORKSHOP_U, Fitting, fit_file
from paddlebal.placement import Trade, mass_against_arm, trimmed_counterweight
from paddlebal.sheet.sheet import Sheet
from paddlebal.unbalance import magnitude
from paddlebal.units import DEG, GRAM_MM, MM, turn_deg

LARGEST_UNBALANCE, LONGEST_ARM, HALF_LENGTH = 0.025, 0.12, 0.9
"""kg·m, m and m: what the picture of the placement shows."""


@dataclass(frozen=True, eq=False)
class FittingState:
    """A bench file fitted and placed, the lever fit to draw, and the trade of mass for arm."""

    fitting: Fitting
    material: str
    lever: LeverState | None
    trade: Trade
    clear: NDArray[np.bool_]


def fitted(file, material, arm, reach, angle):
    """The bench file fitted and placed: `Fitting`.

    Longest arm and farthest place [m]; the angle kept to ± twice its u [rad].
    """
    mass_u, arm_u, _ = WORKSHOP_U
    workshop_u = mass_u, arm_u, angle / 2
    return fit_file(
        file, read_bench(file), workshop_u, material=material, arm=(0, arm), reach=reach
    )


def fitting_state(file, material, arm, reach, angle):
    """The state of the panel; values as for `fitted`."""
    fitting = fitted(file, material, arm, reach, angle)
    readings, lever = fitting.readings, None
    if isinstance(readings, LeverReadings):
        lever = LeverState(readings, fitting.fit, monte_carlo_fit(readings))
    curve = mass_against_arm(
        fitting.fit.unbalance, Limits.for_paddle(fitting.paddle, arm=(0, LONGEST_ARM))
    )
    clear = curve.clearance[curve.materials.index(material)] >= 0
    return FittingState(fitting, material, lever, curve, clear)


def fitting_panel(folder: str | Path) -> widgets.VBox:
    """Fit a bench file, place a counterweight and make the fitting sheet.

    The bench files are those of a folder, then those of the demo workshop; each names its
    paddle's file. Both are read anew at every change. The sheet is handed to the browser:
    nothing is written.

    Parameters
    ----------
    folder : str or Path

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "file": chooser("bench file", bench_choices(folder)),
        "material": chooser("material", list(material_densities())),
        "arm": slider("longest arm [mm]", 30, LONGEST_ARM / MM, 1, 60, unit=MM),
        "reach": slider("farthest place [mm]", 100, 700, 10, 500, unit=MM),
        "angle": slider("angle kept to ± [deg]", 0.1, 10, 0.1, 0.6, 1, DEG),
    }
    controls["material"].value = "brass"
    bench = BenchPicture()
    placed = PlacementPicture(LARGEST_UNBALANCE, LONGEST_ARM, Limits.mass[1], HALF_LENGTH)
    doubts, sheet = widgets.HTML(), widgets.HTML()

    def draw(state):
        fitting = state.fitting
        doubts.value = "".join(f"<p><b>{escape(each)}</b></p>" for each in fitting.doubts)
        bench.clear()
        if state.lever:
            draw_lever(bench, state.lever)
        placement, curve = fitting.placement, state.trade
        shown = placement.residual, curve.arm, curve.mass, state.clear, placement.length
        placed.update(fitting.balanced, *shown)

    pictures = [bench, placed]
    notes = [doubts, sheet]
    panel = Panel("fitting", controls, pictures, fitting_state, draw, _state_rows, notes)

    def make_sheet():
        sheet.value = "<p role='status'>The sheet is being made.</p>"
        try:
            values = panel.values()
            fitting = fitted(**values)
            if fitting_rows(fitting, values["material"]) != panel.told:
                panel.update()
                raise InputError(
                    "the files have changed: the numbers are new, press again to have their sheet"
                )
            made = fitting.sheet(datetime.date.today())
        except Exception:
            sheet.value = ""
            raise
        sheet.value = _sheet_links(made, fitting.file.stem)

    panel.add_button("Make the sheet", make_sheet)
    panel.add_button("List the files again", lambda: panel.offer("file", bench_choices(folder)))
    panel.side.children += (sheet, doubts)
    panel.widget.children += (cautions(),)
    return panel.widget


def sheet_panel(sheet: Sheet, name: str) -> widgets.VBox:
    """Links that hand a fitting sheet to the browser, as PDF and HTML; nothing is written.

    Parameters
    ----------
    sheet : Sheet
    name : str
        Of the files, without ending.

    Returns
    -------
    ipywidgets.VBox
    """
    box = PanelBox("sheet", [], [widgets.HTML(_sheet_links(sheet, name))])
    close_earlier("sheet", box)
    return box


def _sheet_links(sheet, name):
    links = [
        download_link(f"{name}.pdf", "application/pdf", sheet.pdf()),
        download_link(f"{name}.html", "text/html", sheet.html().encode()),
    ]
    return f"<p role='status'>To print at 100 %: {' or '.join(links)}</p>"


def bench_choices(folder):
    """(label, path) of the folder's bench files, then of the demo workshop's, without swings."""
    own, demo = (
        [file for file in data_files(place, ".csv") if not _is_swing(file)]
        for place in (folder, data_path("bench"))
    )
    return [(file.name, file) for file in own] + [(f"demo: {file.stem}", file) for file in demo]


def _is_swing(file):
    try:
        return isinstance(read_bench(file), SWINGS)
    except InputError:  # it is told when the file is chosen
        return False


def _state_rows(state):
    return fitting_rows(state.fitting, state.material)


def fitting_rows(fitting, material):
    """What a fitting is told by, the counterweight of a material."""
    size, direction, size_u, direction_u = fitting.fit.polar
    piece, price = fitting.placement, fitting.cost
    degrees, degrees_u = turn_deg(direction), math.degrees(2 * direction_u)
    return [
        ("paddle", fitting.paddle.name),
        ("unbalance", f"{size / GRAM_MM:,.0f} ± {2 * size_u / GRAM_MM:.0f} g·mm"),
        ("its direction", f"{degrees:.1f} ± {degrees_u:.1f} deg"),
        ("after ±, two standard uncertainties", "about 95 %"),
        *_scatter(fitting.fit),
        ("counterweight", f"{1e3 * piece.mass:.1f} g of {material}"),
        ("piece, diameter × length", f"{1e3 * piece.diameter:.0f} × {1e3 * piece.length:.0f} mm"),
        ("arm", f"{1e3 * piece.arm:.1f} mm"),
        ("angle", f"{turn_deg(piece.angle):.1f} deg"),
        ("place along the shaft", f"{signed(1e3 * piece.x, 0)} mm"),
        ("residual unbalance", f"{magnitude(piece.residual) / GRAM_MM:.0f} g·mm"),
        ("on the bench, as it is now", fitting.present),
        ("with the counterweight", fitting.forecast),
        *_trim(fitting),
        ("torque to hold at the catch, before", f"{price.holding_torque_before:.3f} N·m"),
        ("torque to hold at the catch, after", f"{price.holding_torque_after:.3f} N·m"),
        ("still carried afloat", f"{1e3 * price.flotation:z.0f} g"),
    ]


def _scatter(fit):
    if not math.isfinite(fit.birge):
        return []
    return [("residuals to stated uncertainty", f"{fit.birge:.2f}")]


def _trim(fitting):
    """How to change the one weight that the paddle was measured with, in place of a second."""
    if len(fitting.paddle.counterweights) != 1:
        return []
    (weight,) = fitting.paddle.counterweights
    better = trimmed_counterweight(weight, fitting.fit.unbalance)
    turn = math.remainder(better.angle - weight.angle, 2 * math.pi)
    return [
        (
            "or the weight that is on, heavier by",
            f"{signed(1e3 * (better.mass - weight.mass), 1)} g",
        ),
        ("and turned by", f"{signed(math.degrees(turn), 1)} deg"),
    ]
