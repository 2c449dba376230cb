"""From a torque on the shaft to the hand that holds it: grip, share of strength, hour's load.

Education, not medical advice: see `GRIP_CAUTIONS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import ArrayLike
from scipy import constants

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.files.published import published_rows
from paddlebal.units import STANDARD_GRAVITY

GRIP_CAUTIONS = (
    "This is education, not medical advice.",
    "A person with pain, numbness or weakness sees a clinician before changing anything.",
    "No counterweight is known to heal or to prevent an injury, and nothing here says so.",
    "The grip shown is the least that does not slip; people grip harder, and the hand also "
    "carries the pull of the stroke.",
)
"""What goes with every figure of this module, wherever it is shown."""


class Interval(NamedTuple):
    """The least and the greatest value that the published ranges allow."""

    least: float
    greatest: float


class FeltForce(NamedTuple):
    """A torque as a force, which means something only with its arm: N, kgf, arm [m]."""

    newton: float
    kgf: float
    arm: float


class HourLevel(NamedTuple):
    """One level of an hour's load beside its published limits, all as shares of maximum.

    level is 'static', 'median' or 'peak'; for `percentile` per cent of the time the share is
    no more than `share`. Over continuous work it should not exceed `advised` and must not
    exceed `ceiling`.
    """

    level: str
    percentile: float
    share: float
    advised: float
    ceiling: float

    @property
    def verdict(self):
        """Where the share stands to the limits, in words."""
        if self.share <= self.advised:
            return "within the advised limit"
        return "above the advised limit" if self.share <= self.ceiling else "above the ceiling"


def _numbers(value, field, unit):
    """`value` as floats, refused unless every one is a finite number."""
    try:
        value = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        value = np.array(np.nan)
    if not np.all(np.isfinite(value)):
        raise InputError(f"expected a finite number{unit}", field=field)
    return value


def _positive(value, field, unit=""):
    value = _numbers(value, field, unit)
    if not np.all(value > 0):
        raise InputError(f"expected a positive number{unit}", field=field)
    return value


def grip_force(torque: ArrayLike, friction: ArrayLike, diameter: ArrayLike) -> Array:
    """Least grip [N] that holds a torque on a cylinder by friction: ``|torque| / (mu D)``.

    The grip is the clamping force of two opposed faces, fingers against palm, as a grip
    dynamometer reads it. The normal forces round the hand add up to twice that. A hand that
    presses evenly all round needs 2/pi of it, so this is the cautious reading.

    Parameters
    ----------
    torque : array_like
        Torque that one hand holds about the shaft [N·m], either sign.
    friction : array_like
        Coefficient of friction mu of hand on shaft; see `friction_range`.
    diameter : array_like
        Of the shaft where it is held [m].

    Returns
    -------
    float or ndarray
        N.

    Raises
    ------
    InputError
        If a friction or a diameter is not positive, or a torque not finite.

    Notes
    -----
    Pheasant and O'Neill, Performance in gripping and turning, Applied Ergonomics 6 (1975),
    restated in Pheasant, Bodyspace, 2nd ed. 1996, p. 89, eq. 5.1, with G "the net compressive
    force". The next page gives the thrust along the handle as mu G; two faces that each carry
    G would hold 2 mu G. The book thus leaves open by a factor of two what G is. Here it is
    what makes eq. 5.1 true: derived in `equations.grip_force`.
    """
    friction = _positive(friction, "friction")
    diameter = _positive(diameter, "diameter", " of metres")
    torque = np.abs(_numbers(torque, "torque", " of newton metres"))
    return numeric("grip_force")(torque, friction, diameter)[()]


def felt_force(torque: float, radius: float) -> FeltForce:
    """Force at the grip surface that a torque feels like: torque over its arm.

    Parameters
    ----------
    torque : float
        N·m.
    radius : float
        Of the shaft where it is held [m]. There is no default: without its arm a force says
        nothing of the torque.

    Returns
    -------
    FeltForce
        With the sign of the torque.

    Raises
    ------
    InputError
        If the radius is not a positive number.
    """
    radius = _positive(radius, "radius", " of metres, as a force without its arm means nothing")
    force = float(_numbers(torque, "torque", " of newton metres") / radius)
    return FeltForce(force, force / STANDARD_GRAVITY, float(radius))


def friction_range(condition: str) -> Interval:
    """Least and greatest coefficient of friction of a bare hand on handle materials.

    From the lowest mean less its spread to the highest mean plus its spread over the rows of
    data/published/grip_friction.csv. The range is wide: two fingers pinching gave about a
    third of what a whole hand round a rail gave, whose normal force was found indirectly.
    None of the materials is a paddle's shaft; no published measurement of one was found.

    Parameters
    ----------
    condition : {'dry', 'wet', 'soapy'}
        Of the hand; 'soapy' stands for anything greasy, sun cream for one.

    Returns
    -------
    Interval
        Least and greatest coefficient.
    """
    rows = published_rows("grip_friction", ["mean", "spread"])
    rows = [row for row in rows if condition in row["condition"].split(" or ")]
    if not rows:
        raise InputError("expected 'dry', 'wet' or 'soapy'", field="condition")
    return Interval(
        min(row["mean"] - row["spread"] for row in rows),
        max(row["mean"] + row["spread"] for row in rows),
    )


def strength_range(sex: str, age: float) -> Interval:
    """Least and greatest maximum grip [N] usual for a person: mean ± 2 sd of published norms.

    About 19 people in 20 lie within two standard deviations. Either hand counts, so the range
    runs from a weak person's weaker hand to a strong person's stronger one. A person's own
    dynamometer reading is always better.

    Norms are read with the handle of a dynamometer, set to suit the hand. On a cylinder, whose
    size and shape are a shaft's, people reach less (data/published/grip_cylinder.csv).

    Parameters
    ----------
    sex : {'man', 'woman'}
        As in the published norms, data/published/grip_strength.csv.
    age : float
        Years.

    Returns
    -------
    Interval
        N.
    """
    unit = {"lbf": constants.lbf, "kgf": constants.kgf}
    rows = published_rows("grip_strength", ["age_from", "age_to", "mean", "sd"])
    rows = [r for r in rows if r["sex"] == sex and r["age_from"] <= age < r["age_to"] + 1]
    if not rows:
        raise InputError(
            f"no published norm for '{sex}' aged {age}; expected 'man' or 'woman', 20 to 94 years"
        )
    return Interval(
        min((row["mean"] - 2 * row["sd"]) * unit[row["unit"]] for row in rows),
        max((row["mean"] + 2 * row["sd"]) * unit[row["unit"]] for row in rows),
    )


def share_of_strength(
    torque: ArrayLike, friction: ArrayLike, diameter: ArrayLike, strength: ArrayLike
) -> Array:
    """Grip that a torque needs as a share of maximum grip, 1 being all of it.

    Parameters
    ----------
    torque, friction, diameter : array_like
        As for `grip_force`.
    strength : array_like
        The hand's maximum grip [N].

    Returns
    -------
    float or ndarray

    Raises
    ------
    InputError
        Unless all but the torque are positive.
    """
    return grip_force(torque, friction, diameter) / _positive(strength, "strength", " of newtons")


def share_range(
    torque: ArrayLike, diameter: float, friction: Sequence[float], strength: Sequence[float]
) -> Interval:
    """Least and greatest share of maximum grip that the published ranges allow.

    Interval arithmetic, not a distribution: the share falls with friction and with strength,
    so the ends of the ranges give its ends. The ranges are spreads over materials, methods
    and people; nothing says how likely a value within them is. The least also takes a hand
    that presses evenly all round, the greatest one that presses from two sides.

    Parameters
    ----------
    torque : array_like
        N·m.
    diameter : float
        m.
    friction, strength : (least, greatest)
        As from `friction_range` and `strength_range` [N]; a known value x is (x, x).

    Returns
    -------
    Interval
    """
    low = share_of_strength(torque, friction[1], diameter, strength[1])
    high = share_of_strength(torque, friction[0], diameter, strength[0])
    even = numeric("grip_force_even")(1.0, 1.0, 1.0) / numeric("grip_force")(1.0, 1.0, 1.0)
    return Interval(cast(float, even * low), cast(float, high))


def _shares_of_time(times, values):
    """Share of the time that each sample stands for: half of the gap on either side of it."""
    times, values = np.asarray(times, dtype=float), np.asarray(values, dtype=float)
    if times.ndim != 1 or times.shape != values.shape or times.size < 2:
        raise InputError("expected as many times as values, two or more, in one row each")
    gaps = np.diff(times)
    if not (np.all(gaps > 0) and np.all(np.isfinite(values))):
        raise InputError("expected rising times and finite values")
    return np.convolve(gaps, [0.5, 0.5]) / gaps.sum()


def held_fraction(times: ArrayLike, torque: ArrayLike, threshold: float) -> float:
    """Duty: the part of the time, 0 to 1, in which the size of the torque is above a threshold.

    Parameters
    ----------
    times : array_like (n,)
        s, rising; the last is the end of the stroke, not the start of the next.
    torque : array_like (n,)
        N·m.
    threshold : float
        N·m, below which the hand is taken to rest.

    Returns
    -------
    float
    """
    shares, held = _shares_of_time(times, torque), np.abs(torque) > threshold
    return 1.0 if np.all(held) else float(shares @ held)


def held_torque(times, torque, threshold):
    """Mean size of the torque [N·m] over the time in which it is held; 0 if it never is.

    Arguments as for `held_fraction`; above 0 the mean leaves the rests out, so it is more than
    the mean over the whole stroke.
    """
    size = np.abs(torque)
    weights = _shares_of_time(times, torque) * (size > threshold)
    return float(weights @ size / weights.sum()) if weights.any() else 0.0


def mean_torque(times, torque):
    """Mean size of the torque [N·m] over the whole stroke, its rests included.

    Parameters
    ----------
    times : array_like (n,)
        s, rising; the last is the end of the stroke, not the start of the next.
    torque : array_like (n,)
        N·m.

    Returns
    -------
    float
    """
    return float(_shares_of_time(times, torque) @ np.abs(torque))


def hour_load(times: ArrayLike, share: ArrayLike) -> tuple[HourLevel, ...]:
    """Static, median and peak level of a load beside the limits for an hour's continuous work.

    The levels are the 10th, 50th and 90th percentile of the amplitude probability
    distribution over time (Jonsson 1978, 1982; data/published/load_limits.csv). The limits
    are for work, from the electrical activity of muscle, not for sport.

    Parameters
    ----------
    times : array_like (n,)
        s, rising: a stroke or more that stands for the hour.
    share : array_like (n,)
        Share of maximum grip, as from `share_of_strength`.

    Returns
    -------
    tuple of HourLevel
    """
    weights, rounding = _shares_of_time(times, share), 1e-12
    levels = []
    for row in published_rows("load_limits", ["percentile", "advised", "ceiling"]):
        # Equal steps reach the percentile exactly, and sums of their weights miss it by rounding.
        order = row["percentile"] / 100 - rounding
        level = np.quantile(np.asarray(share), order, weights=weights, method="inverted_cdf")
        limits = row["percentile"], float(level), row["advised"], row["ceiling"]
        levels.append(HourLevel(row["level"], *limits))
    return tuple(levels)
