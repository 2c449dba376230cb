"""Random effects in a nested design, by restricted maximum likelihood.

A value is a common mean, plus an effect of its model, plus one of its size within the model, plus
its own, plus a measurement's error of known variance. Integrated from the inside out, each level
turns into the weighted means of its groups (D. A. Harville, Maximum likelihood approaches to
variance component estimation, J. American Statistical Association 72, 1977, 320-338).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.errors import InputError

LEAST = 1e-6
"""Share of the whole variance below which a component counts as none."""


GRID = 24
"""Standard deviations at which a component's likelihood is looked at."""


class Level(NamedTuple):
    """A mean and its variance for each of k groups, (k,) each."""

    mean: Array
    variance: Array


@dataclass(frozen=True, eq=False)
class Effects:
    """Variance components and what they say of each group.

    Parameters
    ----------
    mean, mean_variance : float
        Common to all.
    within : float
        Variance of single ones within their innermost group.
    between : tuple of float
        Variance of the groups of each level, from the inside out.
    criterion : float
        Minus twice the restricted log likelihood, at these components.
    expected : ndarray (1 + levels,)
        The components, within first, each averaged over what the values leave open, by a flat prior
        on its standard deviation (A. Gelman, Prior distributions for variance parameters in
        hierarchical models, Bayesian Analysis 1, 2006, 515-534). A component that is most likely
        none is rarely none.
    groups : tuple of Level
        Of each level from the inside out, each group's expected value and its variance, by the
        averaged components; so are mean_variance and mean.
    """

    mean: float
    mean_variance: float
    within: float
    between: tuple[float, ...]
    criterion: float
    expected: Array
    groups: tuple[Level, ...]


def nested_effects(
    values: Array, noise: Array, levels: Sequence[NDArray[np.int_]]
) -> Effects:  # fmt: skip
    """Variance components of nested groups.

    Parameters
    ----------
    values, noise : ndarray (n,)
        The values and the variances of their measurement.
    levels : sequence of ndarray of int
        For each level from the inside out to which group each member belongs, counted from 0: first
        (n,) for the values, then (k,) for the k groups of the level before.

    Returns
    -------
    Effects

    Raises
    ------
    InputError
        If there are fewer than two values, or a number is not finite.
    """
    values, noise = np.asarray(values, dtype=float), np.asarray(noise, dtype=float)
    if values.size < 2 or not np.all(np.isfinite(values)) or not np.all(noise >= 0):
        raise InputError("expected two finite values or more, and variances of 0 or more")
    whole = float(np.var(values))
    if whole == 0:
        whole = max(float(noise.mean()), np.finfo(float).tiny)
    found = _least(_Design(values / math.sqrt(whole), noise / whole, levels))
    components = whole * found
    design = _Design(values, noise, levels)
    criterion = design.climb(components)[0]
    expected = _averaged(design, components, criterion, math.sqrt(whole))
    _told, steps, top = design.climb(expected)
    return Effects(
        float(top.mean[0]), float(top.variance[0]), float(components[0]),
        tuple(float(each) for each in components[1:]), criterion, expected,
        _descended(steps, levels, top, expected),
    )  # fmt: skip


def _averaged(design, components, least, whole):
    """Each component averaged over its likelihood, the others as they are."""
    roots = whole * np.concatenate([[1e-4], np.geomspace(5e-3, 3.0, GRID)])
    expected = np.empty(components.size)
    for k in range(components.size):
        told = np.empty(roots.size)
        for i, root in enumerate(roots):
            tried = components.copy()
            tried[k] = root**2
            told[i] = design.climb(tried)[0]
        weight = np.exp(-(told - min(told.min(), least)) / 2) * np.gradient(roots)
        expected[k] = weight @ roots**2 / weight.sum()
    return expected


class _Design:
    """Values with their noise and groups; what the innermost level gives is kept for the last few
    variances within, as it takes nearly all the time."""

    def __init__(self, values, noise, levels):
        self.values, self.noise, self.levels = values, noise, levels
        self._innermost = lru_cache(maxsize=8)(self._gather_values)

    def _gather_values(self, within):
        return _gathered(Level(self.values, self.noise + within), self.levels[0])

    def climb(self, components):
        """The criterion, the means of the groups of each level, and the common mean."""
        told, steps = (self.values.size - 1) * math.log(2 * math.pi), []
        level = Level(self.values, self.noise + components[0])
        for k, groups in enumerate(self.levels):
            part, level = (
                _gathered(level, groups) if k else self._innermost(float(components[0]))
            )  # fmt: skip
            told += part
            steps.append(level)
            level = Level(level.mean, level.variance + components[k + 1])
        part, top = _gathered(level, np.zeros(level.mean.size, dtype=int))
        return told + part, steps, top


def _gathered(level, groups):
    """What a level adds to the criterion, and the weighted means of its groups."""
    weight = 1 / level.variance
    whole = np.bincount(groups, weight)
    mean = np.bincount(groups, weight * level.mean) / whole
    off = level.mean - mean[groups]
    told = np.log(level.variance).sum() + np.log(whole).sum() + (weight * off**2).sum()
    return float(told), Level(mean, 1 / whole)


def _least(design):
    """The components, within first, that make the criterion least; values of variance 1."""
    from scipy.optimize import minimize

    count = len(design.levels)

    def components(free):
        return np.array([math.exp(free[0]), *np.maximum(free[1:], 0.0)])

    def criterion(free):
        return design.climb(components(free))[0]

    bounds = [(math.log(LEAST), 3.0), *[(0.0, 20.0)] * count]
    tried = [
        minimize(criterion, [math.log(1 - share), *[share / max(count, 1)] * count],
                 method="L-BFGS-B", bounds=bounds, options={"ftol": 1e-13, "gtol": 1e-8})
        for share in (0.3, 0.9)
    ]  # fmt: skip
    return components(min(tried, key=lambda each: each.fun).x)


def _descended(steps, levels, top, components):
    """Expected values of each level's groups, from the inside out, by those above them."""
    above, found = top, []
    for k in reversed(range(len(steps))):
        step, between = steps[k], components[k + 1]
        parent = levels[k + 1] if k + 1 < len(levels) else np.zeros(step.mean.size, dtype=int)
        share = between / (between + step.variance)
        above = Level(
            (1 - share) * above.mean[parent] + share * step.mean,
            share * step.variance + (1 - share) ** 2 * above.variance[parent],
        )
        found.append(above)
    return tuple(reversed(found))
