"""What lever readings will tell, before they are made: how many, at which angles, and the next one.

The covariance of a fit hardly depends on the pulls. So readings are computed from a guess of the
unknowns, and their covariance is that which the fit will state. Each angle is read twice, turning
with the pull and against it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.bench.acceptance import acceptance
from paddlebal.bench.doubts import ENOUGH_SPARE
from paddlebal.bench.fit import stated_covariance
from paddlebal.bench.lever import UNKNOWNS, Guess, balances, lever_equations
from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.scatter import SURE
from paddlebal.units import GRAM_MM

STEP = 5
"""Degrees between the angles that may be proposed."""


UNBALANCE_BY_MASS, FRICTION = 24 * GRAM_MM / 1e-3, 4e-3
"""kg·m of unbalance for each kg of paddle, and friction [N·m], as long as nothing was read:
assumed, near the invented demo paddles."""


def first_guess(mass: float, rest: float | None = None) -> Guess:
    """A guess for a paddle of a mass [kg] that comes to rest at a roll angle [rad], if known."""
    down = -math.pi / 2 - (rest or 0.0)
    size = UNBALANCE_BY_MASS * mass
    return Guess(size * np.array([math.cos(down), math.sin(down)]), FRICTION)


def expected_readings(bench: LeverReadings, angles: ArrayLike, guess: Guess) -> LeverReadings:
    """The readings that a bench will give at roll angles [rad], with the pull and against it.

    Parameters
    ----------
    bench : LeverReadings
        For how it is built and its uncertainties; its first arm counts, its pulls don't.
    angles : array_like (n,)
    guess : Guess

    Returns
    -------
    LeverReadings
        2n readings.
    """
    roll = np.repeat(np.asarray(angles, dtype=float), 2)
    blank = replace(
        bench,
        roll=roll,
        turning=np.tile([1.0, -1.0], roll.size // 2),
        arm=np.full(roll.size, bench.arm[0]),
        pull=np.zeros(roll.size),
        row=None,
    )
    factors, without = balances(blank)
    _, with_one = balances(replace(blank, pull=np.ones(roll.size)))
    needed = factors @ [*guess.unbalance, guess.friction, guess.zero]
    return replace(blank, pull=(needed - without) / (with_one - without))


def spare_readings(bench: LeverReadings, angles: int) -> int:
    """Readings beyond the unknowns with so many angles, each read twice."""
    return 2 * angles - (len(UNKNOWNS) - (bench.zero_u is not None))


def even_angles(count: int) -> Array:
    """Roll angles [rad] spread evenly over the turn."""
    return 2 * np.pi * np.arange(count) / count


def next_angle(bench: LeverReadings, read: ArrayLike, guess: Guess) -> float:
    """The roll angle [rad] at which two more readings lessen the region of the unbalance most.

    Parameters
    ----------
    bench : LeverReadings
        As for `expected_readings`.
    read : array_like (n,)
        Roll angles [rad] that were read.
    guess : Guess

    Returns
    -------
    float
        A whole multiple of 5 degrees that stands apart from those that were read.
    """
    read = np.asarray(read, dtype=float)
    grid = np.radians(np.arange(0, 360, STEP))
    if not read.size:
        return 0.0
    gaps = np.abs(np.angle(np.exp(1j * (grid[:, None] - read)))).min(axis=1)
    apart = gaps > min(math.radians(2 * STEP), 0.9 * gaps.max())
    information = settings_information(bench, np.concatenate([read, grid]), guess)
    so_far = information[: read.size].sum(axis=0)
    size = np.array([_size(so_far + each) for each in information[read.size :]])
    best = size[apart].min()
    # Among angles that are as good as equal, the one farthest from those that were read.
    good = apart & (size <= 1.02 * best)
    return float(grid[np.argmax(np.where(good, gaps, -1))])


def settings_information(bench: LeverReadings, angles: Array, guess: Guess) -> Array:
    """What the two readings at each angle tell of the unknowns: inverse covariances (n, k, k)."""
    readings = expected_readings(bench, angles, guess)
    equations = lever_equations(readings, (*guess.unbalance, guess.friction, guess.zero))
    equations = replace(equations, starts=2 * np.arange(len(angles)))
    white = equations.whitened(equations.factors).reshape(len(angles), 2, -1)
    return white.swapaxes(-1, -2) @ white


def _size(information):
    """Sum of the variances of both parts of the unbalance, in units of a weak prior."""
    k = len(information)
    scale = np.array([1e-2, 1e-2, 1.0, 10.0])[:k]  # far above what any bench leaves open
    covariance = np.linalg.inv(information + np.diag(scale**-2.0))
    return covariance[0, 0] + covariance[1, 1]


def region_size(bench: LeverReadings, angles: ArrayLike, guess: Guess) -> float:
    """Sum of the variances of the unbalance's two parts [(kg·m)²] by readings at angles [rad].

    Errors that all readings share are not in it.
    """
    return float(_size(settings_information(bench, np.asarray(angles), guess).sum(axis=0)))


@dataclass(frozen=True, eq=False)
class Plan:
    """Readings to make.

    angles (n,) [rad], each read with the pull and against it; covariance (4, 4) that the fit will
    state; probability that the verdict 'stays' is then reached by a weight made as planned;
    spare readings; weight: what to hang on the lever [N] so that the scale stays pulled.
    """

    angles: Array
    covariance: Array
    probability: float
    spare: int
    weight: float

    @property
    def settles(self) -> bool:
        """Whether the verdict will be settled."""
        return self.probability >= SURE


def plan_readings(
    bench: LeverReadings, guess: Guess, making: ArrayLike, mass: float, counts: tuple[int, ...]
) -> Plan:
    """The fewest angles that reach the verdict, or the most if none does.

    Parameters
    ----------
    bench : LeverReadings
        As for `expected_readings`.
    guess : Guess
    making : array_like (2, 2)
        Covariance of the counterweight as it will be made [(kg·m)²].
    mass : float
        Of the balanced paddle [kg].
    counts : tuple of int
        Numbers of angles to choose from.

    Returns
    -------
    Plan
    """
    enough = [count for count in counts if spare_readings(bench, count) >= ENOUGH_SPARE]
    for count in enough:
        plan = planned(bench, even_angles(count), guess, making, mass)
        if plan.settles:
            break
    return plan


def planned(
    bench: LeverReadings, angles: Array, guess: Guess, making: ArrayLike, mass: float
) -> Plan:
    """The `Plan` with these angles [rad]; the rest as for `plan_readings`."""
    readings = expected_readings(bench, angles, guess)
    covariance = stated_covariance(readings, guess)
    spread = covariance[:2, :2] + np.asarray(making)
    verdict = acceptance(
        np.zeros(2), spread, guess.friction, math.sqrt(covariance[2, 2]), mass, draws=20_000
    )
    slack = max(0.0, -float(readings.pull.min()))
    return Plan(
        np.asarray(angles), covariance, verdict.probability,
        spare_readings(bench, len(angles)), slack,
    )  # fmt: skip
