"""From one bench file to a fit, a placement, a forecast for the bench and a fitting sheet.

The steps are those of the first notebook.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from paddlebal.bench.fit import BenchFit, acceptance, fit_bench
from paddlebal.bench.readings import AddOnReadings, LeverReadings
from paddlebal.cost import counterweight_cost
from paddlebal.errors import InputError, shown
from paddlebal.formats.paddle import load_paddle
from paddlebal.limits import Limits
from paddlebal.paddle import Paddle
from paddlebal.placement import Placement, place_counterweight
from paddlebal.sheet.sheet import fitting_sheet
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM

WORKSHOP_U = (0.3e-3, 0.3e-3, math.radians(0.3))
"""Standard uncertainties with which a piece is made and fitted [kg, m, rad]: assumed, no source."""


@dataclass(frozen=True, eq=False)
class Fitting:
    """A paddle with its bench file, the fit and the placement.

    workshop_u: standard uncertainties with which the piece is made and fitted [kg, m, rad].
    """

    file: Path
    paddle: Paddle
    readings: LeverReadings | AddOnReadings
    fit: BenchFit
    placement: Placement
    workshop_u: tuple[float, float, float]

    @cached_property
    def balanced(self):
        """The paddle with its counterweight."""
        return self.paddle.with_counterweights(self.placement.counterweight)

    @cached_property
    def cost(self):
        """What the counterweight costs, by the unbalance that the bench found: `Cost`."""
        return counterweight_cost(self.paddle, self.balanced, measured=self.fit.unbalance)

    @property
    def doubts(self):
        """What makes the result doubtful, a tuple of sentences."""
        own, found = self.paddle.unbalance(), self.fit.unbalance
        gap, size = magnitude(found - own), max(magnitude(own), magnitude(found))
        if gap < 0.1 * size or gap < 3 * math.sqrt(np.trace(self.fit.unbalance_covariance)):
            return self.fit.doubts
        return (
            *self.fit.doubts,
            f"By the paddle's file the unbalance would be {magnitude(own) / GRAM_MM:,.0f} g·mm, "
            f"the bench found {magnitude(found) / GRAM_MM:,.0f} g·mm: the bench is believed. Look "
            "at the offsets, and at the weights that are on, in the file.",
        )

    @cached_property
    def present(self):
        """Whether the paddle stays on the bench as it was measured, in words."""
        return self._verdict(self.fit.unbalance, 0.0, self.paddle.mass)

    @cached_property
    def forecast(self):
        """Whether it will stay with the counterweight, in words."""
        making = self.placement.covariance(*self.workshop_u)
        return self._verdict(self.placement.residual, making, self.balanced.mass)

    def _verdict(self, residual, making, mass):
        fit = self.fit
        if not math.isfinite(fit.friction):
            return "not known: this method measures no friction"
        spread = fit.unbalance_covariance + making
        told = acceptance(residual, spread, fit.friction, fit.friction_u, mass)
        return f"{told.verdict} ({told.probability:.0%})"

    def sheet(self, date):
        """The fitting sheet with that date; errors as for `fitting_sheet`."""
        return fitting_sheet(self.paddle, self.readings, self.fit, self.placement, date)


def paddle_file(bench_file, name):
    """The paddle's file `name`, looked for beside the bench file and in a folder 'paddles'
    beside the bench file's own folder."""
    if not name:
        raise InputError("is missing, expected the paddle's file", file=bench_file, field="paddle")
    if Path(name).name != name or name == ".." or "\\" in name or len(name) > 100:
        problem = f"is {shown(name)}, expected a plain file name without folders"
        raise InputError(problem, file=bench_file, field="paddle")
    folder = Path(bench_file).resolve().parent
    for candidate in (folder / name, folder.parent / "paddles" / name):
        if candidate.is_file():
            return candidate
    raise InputError(f"names {shown(name)}, which was not found", file=bench_file, field="paddle")


def fit_file(file, readings, workshop_u=WORKSHOP_U, **stated):
    """Fit the readings of one bench file and place a counterweight.

    Parameters
    ----------
    file : Path
        It names the paddle's file.
    readings : LeverReadings or AddOnReadings
        What it holds.
    workshop_u : tuple of float
        As for `Fitting`.
    **stated
        Limits of the workshop, as for `Limits.for_paddle`.

    Returns
    -------
    Fitting

    Raises
    ------
    InputError
        If the paddle's file or the readings cannot be used, or no weight can be placed.
    """
    paddle = load_paddle(paddle_file(file, readings.paddle))
    fit = fit_bench(readings)
    limits = Limits.for_paddle(paddle, **stated)
    placement = place_counterweight(fit.unbalance, limits, paddle=paddle)
    return Fitting(file, paddle, readings, fit, placement, workshop_u)
