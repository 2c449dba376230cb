"""What makes a bench doubtful, in sentences: a wrong reading, too few, a mirrored bench, and more.

One wrong reading is looked for by the w-test: for each pull and each angle that may be wrong, its
estimated error over the standard deviation of that estimate, with the full covariance of the
readings (W. Baarda, A testing procedure for use in geodetic networks, 1968).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.bench.lever import Solution
from paddlebal.bench.readings import AddOnReadings, LeverReadings, Readings
from paddlebal.language import _
from paddlebal.unbalance import rest_angle
from paddlebal.units import STANDARD_GRAVITY, turn_deg

WRONG = 0.05
"""About the probability with which a bench without any wrong reading has one named."""


NAMED_BY_ROW = 8
"""Spare readings from which a wrong pull is told from the other of its setting."""


ENOUGH_SPARE = 4
"""Spare readings below which nothing but the stated uncertainties vouches for the fit."""


SCATTERED = 3
"""Birge ratio above which the readings are doubted, not only their stated uncertainties."""


CONFUSED = 2.0
"""How many times worse the unbalance may become for friction and zero being unknown."""


REST_LIMIT = math.radians(15)
"""How far one look at the rest angle may be off."""


SLIPS = 0.3
"""Level pull over weight above which a shaft slips on its support: common practice, no source."""


ONE_LINE = 0.05
"""Ratio of the trials' smallest spread to their largest below which they lie on a line."""


MANY, CLEAR = 12, 0.01
"""Readings from which a constant and a second harmonic are looked for, and the probability
below which they count as found."""


@dataclass(frozen=True, eq=False)
class Outlier:
    """A reading, or a setting's readings, that the others speak against.

    wrong (n,) of bool tells them; statistic is the w of the test and limit the size from which
    it counts; words name them and their error.
    """

    wrong: NDArray[np.bool_]
    statistic: float
    limit: float
    words: str


def w_statistics(equations, solution, effect, labels):
    """w and estimated error for each hypothesis that one quantity was read wrong.

    effect (n,) is what a unit of the error does to the moment of each reading, labels (n,) the
    number of the quantity that each reading depends on; the readings of one quantity belong to
    one setting. Returns two ndarrays, nan where no reading speaks against the quantity.
    """
    variance, common = equations.variance, equations.by_setting
    count, settings = labels[-1] + 1, equations.settings

    def summed(values):
        return np.add.reduceat(values, np.flatnonzero(np.diff(labels, prepend=-1)))

    share = 1 + np.add.reduceat(common**2 / variance, equations.starts)
    of_setting = np.zeros(count, dtype=int)
    of_setting[labels] = settings
    information = summed(effect**2 / variance)
    information -= summed(effect * common / variance) ** 2 / share[of_setting]
    shared = equations.whitened(equations.shared)
    shared -= solution.basis @ (solution.basis.T @ shared)
    explained, by_shared = (
        summed(effect[:, None] * equations.whitened(each)) for each in (solution.basis, shared)
    )
    left = information - np.sum(explained**2, axis=1)
    left = np.where(left > 1e-6 * information, left, np.nan)
    found = summed(effect * equations.whitened(solution.white))
    return found / np.sqrt(left + np.sum(by_shared**2, axis=1)), found / left


def outlier(readings, equations, solution):
    """The `Outlier` among the readings; None if none stands out."""
    from scipy.special import ndtri

    n, settings = readings.pull.size, equations.settings
    spare = n - solution.unknowns.size
    if spare < 2:
        return None
    by_pull = w_statistics(equations, solution, equations.by_pull, np.arange(n))
    by_angle = w_statistics(equations, solution, equations.by_roll, settings)
    (pull_w, pull_error), (angle_w, angle_error) = (
        [np.nan_to_num(each) for each in found] for found in (by_pull, by_angle)
    )
    worst, setting = (int(np.argmax(np.abs(w))) for w in (pull_w, angle_w))
    in_pull = abs(pull_w[worst]) >= abs(angle_w[setting])
    statistic = float(pull_w[worst] if in_pull else angle_w[setting])
    limit = -float(ndtri(WRONG / 2 / n))  # an angle's test goes along with those of its pulls
    if abs(statistic) <= limit:
        return None
    if in_pull and spare >= NAMED_BY_ROW:
        wrong = np.arange(n) == worst
        large = pull_error[worst] > 0
        shift = (
            _("its pull is {error:.3g} N too large")
            if large
            else _("its pull is {error:.3g} N too small")
        ).format(error=abs(pull_error[worst]))
    else:
        setting = int(settings[worst]) if in_pull else setting
        wrong = settings == setting
        shift = _("one of them is wrong")
        if not in_pull and wrong.sum() > 1:
            error = math.degrees(angle_error[setting])
            shift = _(
                "as if its angle were {error:+.0f}° off, or the side of its lever wrong"
            ).format(error=error)
    angle = turn_deg(readings.roll[np.flatnonzero(wrong)[0]])
    names = _(" and ").join(readings.row_names(wrong))
    words = _("{names} at {angle:.0f}° against all others: {shift}.").format(
        names=names[:1].upper() + names[1:], angle=angle, shift=shift
    )
    return Outlier(wrong, statistic, limit, words)


def confusion_doubts(solution: Solution) -> Sequence[str]:
    """A sentence if friction and scale zero, being unknown, spoil the unbalance."""
    precision = np.linalg.inv(solution.covariance)
    alone = np.linalg.inv(precision[:2, :2])
    worse = math.sqrt(np.trace(solution.covariance[:2, :2]) / np.trace(alone))
    if worse <= CONFUSED:
        return ()
    return (
        _(
            "These readings hardly tell the unbalance from friction and scale zero, it is "
            "{worse:.1f} times less certain for that: leave the lever on one side, read more "
            "angles, or set the scale to zero and state it."
        ).format(worse=worse),
    )


def systematic(readings, equations, solution):
    """Sentences on a constant moment and a second harmonic that the fit leaves out, and by how
    much these would lessen the sum of squares."""
    from scipy.special import chdtrc

    n, roll, gain = readings.pull.size, readings.roll, 0.0
    found: list[str] = []
    if n < MANY:
        return found, gain
    basis, white = solution.basis, solution.white
    for columns, words in (
        (
            [np.ones(n)],
            _(
                "A constant moment of {:.1f} mN·m is in the readings: rails aslant, or a lever "
                "that is not level."
            ),
        ),
        (
            [np.cos(2 * roll), np.sin(2 * roll)],
            _(
                "A moment of {:.1f} mN·m comes and goes twice a turn: an oval shaft, or supports "
                "that are not level with each other."
            ),
        ),
    ):
        extra = equations.whitened(np.stack(columns, axis=-1))
        new = extra - basis @ (basis.T @ extra)
        if np.linalg.svd(new, compute_uv=False)[-1] ** 2 < 0.05 * np.sum(extra**2) / len(columns):
            continue
        size = np.linalg.lstsq(new, white)[0]
        left = white - new @ size
        spare = n - basis.shape[1] - len(columns)
        scatter = max(1.0, float(left @ left) / spare)
        less = float(white @ white - left @ left)
        if chdtrc(len(columns), less / scatter) < CLEAR:
            found.append(words.format(1e3 * np.linalg.norm(size)))
            gain += less
    return found, gain


def rest_doubts(rest: float | None, unbalance: Array, direction_u: float) -> Sequence[str]:
    """Sentences if the paddle comes to rest elsewhere [rad] than its unbalance (2,) says.

    direction_u: standard uncertainty of the unbalance's direction [rad].
    """
    if rest is None or not np.any(unbalance):
        return ()
    expected = float(rest_angle(unbalance))
    limit = REST_LIMIT + 2 * direction_u

    def near(angle):
        return abs(math.remainder(rest - angle, 2 * math.pi)) <= limit

    if near(expected):
        return ()
    slips = {
        _("the sign of the arm, or of every pull, is turned over"): expected + math.pi,
        _("the angles are mirrored"): math.pi - expected,
        _("the angles and the arm are mirrored"): -expected,
        _("the angles are a quarter turn too large"): expected - math.pi / 2,
        _("the angles are a quarter turn too small"): expected + math.pi / 2,
    }
    named = _(" or ").join(words for words, angle in slips.items() if near(angle))
    why = (
        _("That is as if {named}.").format(named=named)
        if named
        else _("Look at the signs and at where angles start.")
    )
    return (
        _(
            "By these readings the paddle would come to rest at {expected:.0f}°, but it was "
            "seen to rest at {rest:.0f}°. {why}"
        ).format(expected=turn_deg(expected), rest=turn_deg(rest), why=why),
    )


def slip_doubts(readings: Readings, mass: float) -> Sequence[str]:
    """Sentences if the level pull on a paddle of this mass [kg] makes the shaft slip on rails."""
    if not isinstance(readings, LeverReadings) or readings.support != "rails":
        return ()
    weight = STANDARD_GRAVITY * (mass + readings.clamp_mass)
    needed = float(np.abs(readings.pull).max()) / weight
    if readings.pull_direction != "tangential" or needed <= SLIPS:
        return ()
    return (
        _(
            "The level pull needs a friction coefficient of {needed:.2f} between shaft and "
            "rails: above {SLIPS} it slips. Hang masses on the string instead."
        ).format(needed=needed, SLIPS=SLIPS),
    )


def scatter_words(birge):
    """A sentence on readings that scatter by this Birge ratio, without an explanation."""
    return _(
        "The readings scatter {birge:.0f} times as much as stated: look at the arm's "
        "sign, the pull's unit, the clamp."
    ).format(birge=birge)


def count_doubts(spare: int) -> Sequence[str]:
    """A sentence if there are few readings to spare."""
    if spare >= ENOUGH_SPARE:
        return ()
    have = (
        _("Only {spare} readings are").format(spare=spare)
        if spare != 1
        else _("Only one reading is")
    )
    return (
        _(
            "{have} to spare: a wrong one would not show. Read another angle, turning with "
            "the pull and against it."
        ).format(have=have if spare else _("No reading is")),
    )


def side_doubts(readings: AddOnReadings, trials: Array) -> Sequence[str]:
    """Sentences if trials (n, 2) [kg·m] with an added mass may have come from one side only."""
    if not readings.every_side:
        return (
            _(
                "The file does not say that the trials came to the balance from every side: from "
                "one side alone they all stop at the same edge of friction."
            ),
        )
    small, large = np.linalg.eigvalsh(np.cov(trials.T))
    if small >= ONE_LINE**2 * large:
        return ()
    return (
        _(
            "The trials differ along one line only: come to the balance from above, below, "
            "the left and the right."
        ),
    )
