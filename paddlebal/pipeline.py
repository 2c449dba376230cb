"""From one bench file to a fit, counterweights, a forecast for the bench and a fitting sheet.

The steps are those of the first notebook.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from paddlebal.bench.acceptance import acceptance, settled
from paddlebal.bench.doubts import slip_doubts
from paddlebal.bench.films import FilmsFit, end_seen, pace_doubts
from paddlebal.bench.fit import fit_bench
from paddlebal.bench.readings import AddOnReadings, FilmReadings, LeverReadings
from paddlebal.bench.remedy import settling
from paddlebal.bench.result import BenchFit
from paddlebal.book.alike import Prediction
from paddlebal.cost import counterweight_cost
from paddlebal.errors import InputError, shown
from paddlebal.formats.paddle import load_any_paddle
from paddlebal.language import _
from paddlebal.limits import Limits, usual_size
from paddlebal.outside import AnyPaddle
from paddlebal.paddle import Paddle
from paddlebal.placement import (
    Placement,
    leaving_less,
    place_counterweight,
    place_pair,
    split_by_halves,
)
from paddlebal.sheet.sheet import fitting_sheet
from paddlebal.trim import Trim, left_by, trim_counterweights
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM, turn_deg

WORKSHOP_U = (0.3e-3, 0.3e-3, math.radians(0.3))
"""Standard uncertainties with which a piece is made and fitted [kg, m, rad]: assumed, no source."""


PIECES = ("one", "pair", "halves")
"""One counterweight, two either side of where it would sit, or one that balances each half."""


_SAME_PADDLE = 0.1
"""Share of the unbalance by which a paddle's file and the bench may differ."""


@dataclass(frozen=True, eq=False)
class Fitting:
    """A paddle with its readings, the fit and the counterweights to make.

    pieces: the counterweights; those that are on, as they are to be, if the paddle was measured
    with them. trim: what to change about these, if anything is needed; None for a bare paddle.
    better: a heavier single piece that would leave less, if there is one. workshop_u: standard
    uncertainties with which a piece is made and fitted [kg, m, rad]. before: what the paddles of
    its model before say, where the pieces are placed by readings and these together; what is left
    and whether it stays is told by the readings alone.
    """

    paddle: AnyPaddle
    readings: LeverReadings | AddOnReadings | FilmReadings
    fit: BenchFit
    pieces: tuple[Placement, ...]
    workshop_u: tuple[float, float, float]
    trim: Trim | None = None
    better: Placement | None = None
    before: Prediction | None = None

    @cached_property
    def balanced(self):
        """The paddle with its counterweights as they are to be."""
        bare = self.paddle.without_counterweights() if self.trim else self.paddle
        return bare.with_counterweights(
            *(weight for piece in self.pieces for weight in piece.counterweights)
        )

    @cached_property
    def cost(self):
        """What the counterweights cost, by the unbalance that the bench found: `Cost`."""
        return counterweight_cost(self.paddle, self.balanced, measured=self.fit.unbalance)

    @property
    def residual(self):
        """Unbalance (2,) [kg·m] that the counterweights leave by this plan."""
        return left_by(self.pieces, self.fit.unbalance, self.trim)

    @property
    def doubts(self):
        """What makes the result doubtful, a tuple of sentences."""
        bare = not self.paddle.counterweights  # with weights on, nothing left is what is wanted
        none = _("The unbalance is below its uncertainty: where it points is open.")
        return (
            *self.fit.doubts,
            *([none] if bare and self.fit.direction_open else []),
            *slip_doubts(self.readings, self.paddle.mass),
            *(pace_doubts(self.fit, self.paddle.mass) if isinstance(self.fit, FilmsFit) else ()),
            *_file_doubts(self.paddle, self.fit),
        )

    @cached_property
    def present(self):
        """Whether the paddle stays on the bench as it was measured, in words."""
        fit, exact = self.fit, np.zeros((2, 2))
        return self._words(lambda: self._acceptance(fit.unbalance, fit.covariance, exact))

    @cached_property
    def forecast(self):
        """Whether it will stay with the counterweights, in words."""
        return self._words(lambda: self._outlook)

    @cached_property
    def remedy(self):
        """What would settle the forecast, in a sentence; empty where it is settled or doubtful."""
        fit, readings = self.fit, self.readings
        if self.doubts or fit.friction is None or not isinstance(readings, LeverReadings):
            return ""
        now = self._outlook.probability
        if settled(now):
            return ""
        ways = settling(
            readings, fit, fit.covariance, self.residual, self.making(), self.balanced.mass
        )
        if not ways:
            return _("Nothing alone would settle it: better scale, lever and angles together.")
        words = (
            _("What would settle it: {ways}.")
            if settled(ways[0].probability)
            else _("What helps most: {ways}.")
        )
        listed = [
            _("{way} ({then} in place of {now})").format(
                way=way.words, then=_percent(way.probability), now=_percent(now)
            )
            for way in ways
        ]
        return words.format(ways="; ".join(listed))

    def making(self):
        """Covariance (2, 2) of the pieces' unbalance, made with the workshop's errors."""
        if self.trim and not self.trim.needed:  # what is on was measured as it is
            return np.zeros((2, 2))
        return sum(piece.covariance(*self.workshop_u) for piece in self.pieces)

    def _acceptance(self, residual, covariance, making):
        """The verdict on a residual, by the covariance (4, 4) of a fit and how pieces are made."""
        spread, friction_u = covariance[:2, :2] + making, math.sqrt(covariance[2, 2])
        return acceptance(residual, spread, self.fit.friction, friction_u, self.balanced.mass)

    @cached_property
    def _outlook(self):
        return self._acceptance(self.residual, self.fit.covariance, self.making())

    def _words(self, found):
        """A verdict in words; found() gives it, unless something stands before it."""
        if self.doubts:
            return _("not said while there is a doubt")
        if self.fit.friction is None:
            return _("not known: this method measures no friction")
        verdict = found()
        words = f"{_(verdict.verdict)} ({_percent(verdict.probability)})"
        looked = self.readings.rest is not None or (
            isinstance(self.readings, FilmReadings) and end_seen(self.readings)
        )
        return (
            words
            if looked
            else _("{words}, but where it comes to rest was not looked at").format(words=words)
        )

    @property
    def settled(self):
        """Whether it is sure enough that it will stay, or roll, and nothing is in doubt."""
        known = self.fit.friction is not None and not self.doubts
        return known and settled(self._outlook.probability)

    def sheet(self, date):
        """The fitting sheet with that date; errors as for `fitting_sheet`."""
        return fitting_sheet(
            self.paddle,
            self.readings,
            self.fit,
            self.pieces,
            date,
            doubts=self.doubts,
            forecast=self.forecast,
            remedy=self.remedy,
            trim=self.trim,
            better=self.better,
            before=self.before,
        )


def _percent(probability):
    """A probability in whole percent, such that 'not settled' never shows a limit that settles."""
    if not settled(probability):
        inward = math.floor if probability > 0.5 else math.ceil
        return f"{inward(100 * probability)}%"
    return f"{probability:.0%}"


def _file_doubts(paddle, fit):
    """A sentence if the paddle's file and the bench are of different unbalances."""
    if not isinstance(paddle, Paddle):
        return ()
    own, found = paddle.unbalance(), fit.unbalance
    weights = (magnitude(weight.unbalance) for weight in paddle.counterweights)
    gap, size = magnitude(found - own), max(magnitude(own), magnitude(found), sum(weights))
    if gap < _SAME_PADDLE * size or gap < 3 * math.sqrt(np.trace(fit.unbalance_covariance)):
        return ()

    def words(U):
        direction = turn_deg(math.atan2(U[1], U[0]))
        return f"{magnitude(U) / GRAM_MM:,.0f} g·mm at {direction:.0f}°"

    return (
        _(
            "By the paddle's file the unbalance would be {own}, the bench found {found}. "
            "Look at the offsets and the weights in the file, and at the bench's signs."
        ).format(own=words(own), found=words(found)),
    )


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


def fit_file(file, readings, **options):
    """Fit the readings of one bench file, which names the paddle's; as `fit_readings` does."""
    paddle = load_any_paddle(paddle_file(file, readings.paddle))
    try:
        return fit_readings(paddle, readings, **options)
    except InputError as error:
        raise InputError(error.problem, file=file, field=error.field) from error


def fit_readings(
    paddle,
    readings,
    workshop_u=WORKSHOP_U,
    pieces="one",
    leave_out=False,
    second=False,
    before=None,
    **stated,
):
    """Fit readings of a paddle and place counterweights.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
    readings : LeverReadings, AddOnReadings or FilmReadings
    workshop_u : tuple of float
        As for `Fitting`.
    pieces : str
        One of PIECES.
    leave_out : bool
        Whether a reading that the others speak against is left out.
    second : bool
        Whether a paddle that carries weights gets further ones, in place of a change of these.
    before : Prediction, optional
        What the paddles of its model before say, to place the pieces by readings and these
        together; it must not contradict the readings.
    **stated
        Limits of the workshop, as for `Limits.for_paddle`.

    Returns
    -------
    Fitting

    Raises
    ------
    InputError
        If the readings cannot be used, or no weight can be placed; what is doubtful about the
        bench is told first.
    """
    fit = fit_bench(readings)
    if leave_out and fit.wrong is not None and isinstance(readings, LeverReadings):
        readings = readings.without(fit.wrong)
        fit = fit_bench(readings)
    if paddle.counterweights and not second:
        trim = trim_counterweights(paddle.counterweights, fit.unbalance, fit.unbalance_covariance)
        placed = tuple(map(_as_placed, trim.weights if trim.needed else paddle.counterweights))
        return Fitting(paddle, readings, fit, placed, workshop_u, trim)
    aim = fit.unbalance
    if before is not None:
        aim, _joint = before.combined(fit.unbalance, fit.unbalance_covariance)
    try:
        limits = Limits.for_paddle(paddle, **stated)
        placed = _placed(pieces, aim, limits, paddle)
    except InputError as error:
        if not fit.doubts:
            raise
        problem = f"{error.problem[:1].upper()}{error.problem[1:]}"
        raise InputError(" ".join((*fit.doubts, problem))) from error
    better = leaving_less(aim, limits, placed[0], paddle) if pieces == "one" else None
    return Fitting(paddle, readings, fit, placed, workshop_u, better=better, before=before)


def _placed(pieces, unbalance, limits, paddle):
    if pieces == "one":
        return (place_counterweight(unbalance, limits, paddle=paddle),)
    if pieces == "pair":
        return place_pair(unbalance, limits, paddle=paddle)
    if not isinstance(paddle, Paddle):
        raise InputError(
            _("what each half weighs is not known of this paddle, expected one or pair")
        )
    return split_by_halves(paddle, limits)


def _as_placed(weight):
    """A weight as a placement."""
    return Placement(
        weight.mass, weight.arm, weight.angle, weight.x, np.zeros(2), weight.density,
        *usual_size(weight),
    )  # fmt: skip
