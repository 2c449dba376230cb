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
from paddlebal.language import _
from paddlebal.limits import WEIGHT_CAUTIONS, Holder, Limits, material_densities
from paddlebal.outside import not_known
from paddlebal.panels.bench import LeverState, draw_lever, scatter_rows
from paddlebal.panels.panel import (
    Panel,
    PanelBox,
    chooser,
    close_earlier,
    download_link,
    slider,
)
from paddlebal.pictures.bench import BenchPicture
from paddlebal.pictures.placement import PlacementPicture
from paddlebal.pictures.style import signed
from paddlebal.pipeline import PIECES, WORKSHOP_U, Fitting, fit_file
from paddlebal.placement import Trade, mass_against_arm
from paddlebal.sheet.content import Sheet
from paddlebal.sheet.drawings import named
from paddlebal.trim import trim_words
from paddlebal.unbalance import magnitude
from paddlebal.units import DEG, GRAM, GRAM_MM, MM, turn_deg

LARGEST_UNBALANCE, LONGEST_ARM, HALF_LENGTH = 0.025, 0.12, 0.9
"""kg·m, m and m: what the picture of the placement shows."""


ALL, WITHOUT = "all of the file", "without a wrong one"
"""Readings to take: a wrong one is one that all others speak against."""


@dataclass(frozen=True, eq=False)
class FittingState:
    """A bench file fitted and placed, the lever fit to draw, and the trade of mass for arm."""

    fitting: Fitting
    material: str
    lever: LeverState | None
    trade: Trade
    clear: NDArray[np.bool_]


def fitted(file, readings, pieces, material, arm, reach, angle, holder, holder_arm):
    """The bench file fitted and placed: `Fitting`.

    readings: whether a doubted one is left out. Longest arm and farthest place [m]; the angle
    kept to ± twice its u [rad]; mass [kg] and arm [m] of a holder, none if it weighs nothing.
    """
    mass_u, arm_u, _ = WORKSHOP_U
    return fit_file(
        file,
        read_bench(file),
        workshop_u=(mass_u, arm_u, angle / 2),
        pieces=pieces,
        leave_out=readings == WITHOUT,
        material=material,
        arm=(0, arm),
        reach=reach,
        holder=Holder(holder, holder_arm) if holder else None,
    )


def fitting_state(**values):
    """The state of the panel; values as for `fitted`."""
    fitting, material = fitted(**values), values["material"]
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
        "readings": chooser("readings", [ALL, WITHOUT]),
        "pieces": chooser("pieces", list(PIECES)),
        "material": chooser("material", list(material_densities())),
        "arm": slider("longest arm [mm]", 30, LONGEST_ARM / MM, 1, 60, unit=MM),
        "reach": slider("farthest place [mm]", 100, 700, 10, 500, unit=MM),
        "angle": slider("angle kept to ± [deg]", 0.1, 10, 0.1, 0.6, 1, DEG),
        "holder": slider("holder's mass [g]", 0, 100, 1, 0, unit=GRAM),
        "holder_arm": slider("holder's arm [mm]", 0, LONGEST_ARM / MM, 1, 20, unit=MM),
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
        curve = state.trade
        pieces = [(piece.counterweight, piece.length) for piece in fitting.pieces]
        placed.update(
            fitting.balanced, fitting.residual, curve.arm, curve.mass, state.clear, pieces
        )

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
        sheet.value = sheet_links(made, Path(values["file"]).stem)

    panel.add_button("Make the sheet", make_sheet)
    panel.add_button("List the files again", lambda: panel.offer("file", bench_choices(folder)))
    panel.side.children += (sheet, doubts)
    items = "".join(f"<li>{escape(each)}</li>" for each in WEIGHT_CAUTIONS)
    panel.widget.children += (widgets.HTML(f"<ul>{items}</ul>"),)
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
    box = PanelBox("sheet", [], [widgets.HTML(sheet_links(sheet, name))])
    close_earlier("sheet", box)
    return box


def sheet_links(sheet, name):
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
    price = fitting.cost
    degrees, degrees_u = turn_deg(direction), math.degrees(2 * direction_u)
    return [
        (_("paddle"), fitting.paddle.name),
        (_("unbalance"), f"{size / GRAM_MM:,.0f} ± {2 * size_u / GRAM_MM:.0f} g·mm"),
        (
            _("its direction"),
            _("{degrees:.1f} ± {degrees_u:.1f} deg").format(degrees=degrees, degrees_u=degrees_u),
        ),
        (_("after ±, two standard uncertainties"), _("about 95 %")),
        *scatter_rows(fitting.fit),
        *_change_rows(fitting),
        *(row for piece in fitting.pieces for row in _piece_rows(piece, material, fitting)),
        (_("residual unbalance"), f"{magnitude(fitting.residual) / GRAM_MM:.0f} g·mm"),
        *_better_rows(fitting.better),
        (_("on the bench, as it is now"), fitting.present),
        (_("with the counterweight"), fitting.forecast),
        *((_("that would settle it"), each) for each in [fitting.remedy] if each),
        (
            _("torque to hold at the catch, before"),
            known(price.holding_torque_before, 1, ".3f", "N·m"),
        ),
        (
            _("torque to hold at the catch, after"),
            known(price.holding_torque_after, 1, ".3f", "N·m"),
        ),
        (_("still carried afloat"), known(price.flotation, GRAM, "z.0f", "g")),
        *(
            (_("not known: {what}").format(what=what), _("measure {how}").format(how=how))
            for what, how in not_known(fitting.paddle)
        ),
    ]


def known(value, unit, form, name):
    """A number in a unit of that name, or 'not known' if it is None."""
    return _("not known") if value is None else f"{value / unit:{form}} {name}"


def _torque(value):
    return known(value, 1.0, ".3f", "N·m")


def _change_rows(fitting):
    if fitting.trim is None:
        return []
    return [(_("the weights that are on"), trim_words(fitting.paddle, fitting.trim))]


def _piece_rows(piece, material, fitting):
    name = _("counterweight") if len(fitting.pieces) == 1 else named(piece, fitting.pieces)
    what = f"{piece.mass / GRAM:.1f} g" + (
        "" if fitting.trim else _(" of {material}").format(material=_(material))
    )
    return [
        (_("{name}, as it is to be").format(name=name) if fitting.trim else name, what),
        (_("piece, diameter × length"), f"{piece.diameter / MM:.0f} × {piece.length / MM:.0f} mm"),
        (_("arm"), f"{piece.arm / MM:.1f} mm"),
        (_("angle"), _("{angle:.1f} deg").format(angle=turn_deg(piece.angle))),
        (_("place along the shaft"), f"{signed(piece.x / MM, 0)} mm"),
    ]


def _better_rows(better):
    return [(_("or, leaving less"), str(better))] if better else []
