"""Lever readings and their fit, with sliders for the uncertainties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.fit import fit_bench, monte_carlo_fit
from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.result import BenchFit
from paddlebal.errors import InputError
from paddlebal.formats.bench import read_bench
from paddlebal.language import _
from paddlebal.panels.panel import Panel, chooser, slider, unbalance_words
from paddlebal.pictures.bench import BenchPicture
from paddlebal.pictures.style import signed
from paddlebal.unbalance import roll_torque
from paddlebal.units import GRAM_MM


@dataclass(frozen=True, eq=False)
class LeverState:
    """Lever readings, their fit, and its covariance found by Monte Carlo."""

    readings: LeverReadings
    fit: BenchFit
    numeric: Array


def lever_state(file, scale, arm):
    """The state of a bench file or its readings, the stated errors of scale and arm times these
    factors."""
    readings = read_bench(file) if isinstance(file, Path) else file
    if not isinstance(readings, LeverReadings):
        raise InputError("this panel shows lever readings only", file=file)
    readings = replace(readings, scale_u=scale * readings.scale_u, arm_u=arm * readings.arm_u)
    return LeverState(readings, fit_bench(readings), monte_carlo_fit(readings))


def draw_lever(picture, state):
    """Show lever readings and what was fitted to them in a `BenchPicture`."""
    circle, fit, readings = np.linspace(0, 2 * np.pi, 181), state.fit, state.readings
    sense = np.sign(readings.arm) * readings.turning
    curves, points, residuals = {}, {}, {}
    for way, sign in (("up", 1), ("down", -1)):
        mine, friction = sense == sign, sign * fit.friction
        curves[way] = circle, friction - roll_torque(fit.unbalance, circle)
        roll, residuals[way] = readings.roll[mine], fit.residuals[mine]
        points[way] = roll, friction - roll_torque(fit.unbalance, roll) + residuals[way]
    picture.update(
        curves,
        points,
        residuals,
        fit.unbalance,
        fit.unbalance_covariance,
        state.numeric[:2, :2],
        "dashed: Monte Carlo",
    )


def lever_rows(state):
    fit = state.fit
    u_y, u_z = 2 * np.sqrt(np.diag(fit.unbalance_covariance)) / GRAM_MM
    U_y, U_z = fit.unbalance / GRAM_MM
    return [
        ("readings", f"{state.readings.roll.size}"),
        ("unbalance along y", f"{signed(U_y, 0)} ± {u_y:.0f} g·mm"),
        ("unbalance along z", f"{signed(U_z, 0)} ± {u_z:.0f} g·mm"),
        ("size of the unbalance", unbalance_words(fit.unbalance)),
        ("friction moment", f"{fit.friction_words(1e-3, 2)} mN·m"),
        ("scale zero", f"{signed(1e3 * fit.zero, 1)} mN"),
        *scatter_rows(fit),
        ("after ±, two standard uncertainties", "about 95 %"),
        ("the uncertainties are", "enlarged, not the dashed" if fit.enlarged else "as stated"),
        *(("doubt", each) for each in fit.doubts),
    ]


def scatter_rows(fit):
    """How much the readings scatter against what is stated; no row where that can't be told."""
    if fit.birge is None:
        return []
    return [(_("residuals to stated uncertainty"), f"{fit.birge:.2f}")]


def fit_panel(files: Sequence[Path], own: Sequence[tuple[str, LeverReadings]] = ()) -> widgets.VBox:
    """Fit a file of lever readings: curves, residuals, and the unbalance with its region.

    Sliders multiply the standard uncertainties that the file states for scale and arm.

    Parameters
    ----------
    files : sequence of Path
        Bench files; those that can't be fitted say why.
    own : sequence of (str, LeverReadings)
        Further benches by name, as `own_benches` gives them.

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "file": chooser("bench file", [(file.name, file) for file in files] + list(own)),
        "scale": slider("scale's error [× stated]", 0.5, 4, 0.5, 1, 1),
        "arm": slider("arm's error [× stated]", 0, 4, 0.5, 1, 1),
    }
    picture = BenchPicture()
    draw = partial(draw_lever, picture)
    return Panel("fit", controls, [picture], lever_state, draw, lever_rows).widget
