"""What would settle an open verdict: better instruments, more angles, or a closer piece."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.acceptance import acceptance, settled
from paddlebal.bench.fit import stated_covariance
from paddlebal.bench.lever import Guess
from paddlebal.bench.plan import even_angles, expected_readings
from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.result import BenchFit
from paddlebal.language import _

DRAWS = 20_000
"""Enough to tell a probability to 0.3 %."""


LEVERS = (0.3, 0.4, 0.5)
"""m, lengths of lever that may be advised."""


class Way(NamedTuple):
    """Something to better, in words, and the probability that the paddle then stays."""

    words: str
    probability: float


def settling(
    readings: LeverReadings,
    fit: BenchFit | Guess,
    covariance: Array,
    residual: Array,
    making: Array,
    mass: float,
) -> tuple[Way, ...]:
    """Each way that alone settles the verdict; if none does, the one that helps most.

    Each is tried on the readings that a bench bettered so would give.

    Parameters
    ----------
    readings : LeverReadings
    fit : BenchFit or Guess
        Of them, or what they were expected from; it knows the friction.
    covariance : ndarray (4, 4)
        Of the unknowns, in the fit's order.
    residual : ndarray (2,)
        Unbalance [kg·m] that the counterweight leaves.
    making : ndarray (2, 2)
        Covariance of the counterweight as it is made [(kg·m)²].
    mass : float
        Of the balanced paddle [kg].

    Returns
    -------
    tuple of Way
        The least change of each kind; empty if nothing helps.
    """
    assert fit.friction is not None
    # What scatters beyond the stated uncertainties does so at a bettered bench too.
    beyond = covariance - stated_covariance(readings, fit)

    def chance(spread, making):
        return acceptance(
            residual, spread[:2, :2] + making, fit.friction,
            math.sqrt(spread[2, 2]), mass, draws=DRAWS,
        ).probability  # fmt: skip

    least: dict[str, Way] = {}
    ways = [
        (kind, Way(words, chance(beyond + stated_covariance(others, fit), making)))
        for kind, words, others in _better_readings(readings, fit)
    ]
    closer = Way(_("a piece made and fitted twice as closely"), chance(covariance, making / 4))
    for kind, way in (*ways, ("piece", closer)):
        if settled(way.probability):
            least.setdefault(kind, way)
    if least:
        return tuple(least.values())
    best = max((way for _kind, way in (*ways, ("piece", closer))), key=lambda way: way.probability)
    return (best,) if best.probability > chance(covariance, making) + 0.01 else ()


def _better_readings(
    readings: LeverReadings, fit: BenchFit | Guess
) -> Iterator[tuple[str, str, LeverReadings]]:
    """(kind, words, readings) of what could be bettered, the smaller steps first."""
    guess = Guess(fit.unbalance, fit.friction or 0.0, fit.zero or 0.0)
    angles = np.unique(readings.roll)
    for times, words in (
        (2, _("a scale that reads twice as finely")),
        (5, _("a scale that reads five times as finely")),
    ):
        yield "scale", words, replace(readings, scale_u=readings.scale_u / times)
    if readings.pull_direction == "vertical":
        for length in LEVERS:
            if length > abs(readings.arm[0]):
                words = _("a lever of {length:.0f} mm").format(length=1e3 * length)
                longer = replace(
                    readings,
                    arm=np.full(readings.arm.shape, math.copysign(length, readings.arm[0])),
                )
                yield "lever", words, expected_readings(longer, angles, guess)
    yield (
        "arm",
        _("a lever measured twice as closely"),
        replace(readings, arm_u=readings.arm_u / 2, clamp_arm_u=readings.clamp_arm_u / 2),
    )
    yield (
        "angle",
        _("angles set twice as closely"),
        replace(readings, angle_u=readings.angle_u / 2, angle_zero_u=readings.angle_zero_u / 2),
    )
    for count in (8, 12, 18, 24):
        if count > angles.size:
            words = _("{count} angles").format(count=count)
            yield "count", words, expected_readings(readings, even_angles(count), guess)
