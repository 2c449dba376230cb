"""What the paddles before say of the next one of their model.

A paddle's unbalance is taken as the sum of its blades' mass times offset, each along the back of
its blade. Half the sum and half the difference of the two, s and d, are quantities of their own:
at a feather f the unbalance is 2 s cos(f/2) along the bisector of the backs and 2 d sin(f/2) across
it. Both vary from paddle to paddle, size to size and model to model. How much paddles of one model
and size vary is pooled with the other models' where there are few (G. K. Smyth, Linear models and
empirical Bayes methods, Statistical Applications in Genetics and Molecular Biology 3, 2004,
article 3).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from paddlebal.arrays import Array, Side
from paddlebal.book.effects import Effects, nested_effects
from paddlebal.errors import InputError
from paddlebal.outside import SIDEWAYS_U, AnyPaddle
from paddlebal.units import DEG

LEAST_SHARE = math.sin(2.5 * DEG)
"""Below this cos(f/2) or sin(f/2) a paddle tells nothing of s or d."""


LOOSE = 10.0
"""A model whose spread is so many times a bench's own must be measured paddle by paddle."""


MOST_FREEDOM = 200.0
"""Degrees of freedom that the other models' spread counts at most."""


CONTRADICT = 0.01
"""Probability below which readings and prediction contradict each other."""


class Half(NamedTuple):
    """Half the sum or half the difference of the blades' moments of one paddle, and its variance
    [kg·m, (kg·m)²]; nan where its bench does not tell."""

    value: float
    variance: float


def halves(feather: float, along: float, unbalance: Array, covariance: Array) -> tuple[Half, Half]:
    """s and d of a paddle from its unbalance.

    Parameters
    ----------
    feather : float
        rad.
    along : float
        Angle of the bisector of the blades' backs, from the control blade's on [rad].
    unbalance : ndarray (2,)
        kg·m.
    covariance : ndarray (2, 2)
        (kg·m)².

    Returns
    -------
    tuple of Half
    """
    found = []
    for share, turn in ((math.cos(feather / 2), 0.0), (math.sin(feather / 2), math.pi / 2)):
        way = np.array([math.cos(along + turn), math.sin(along + turn)])
        if abs(share) < LEAST_SHARE:
            found.append(Half(math.nan, math.nan))
            continue
        found.append(
            Half(
                float(way @ unbalance) / (2 * share),
                float(way @ covariance @ way) / (2 * share) ** 2,
            )
        )
    return found[0], found[1]


def bisector(paddle: AnyPaddle) -> tuple[float, float]:
    """Angle [rad] of the bisector of the blades' backs, and half the turn from it back to the
    control blade's, whose sine goes with d."""
    other: Side = "left" if paddle.control == "right" else "right"
    first, second = paddle.blade_angle(paddle.control), paddle.blade_angle(other)
    half = math.remainder(first - second, math.tau) / 2
    return first - half, half


@dataclass(frozen=True)
class Before:
    """One paddle that was measured.

    Parameters
    ----------
    model, size : str
    turn : float
        From the bisector of the backs to the control blade's [rad], half the feather.
    s, d : Half
    """

    model: str
    size: str
    turn: float
    s: Half
    d: Half

    @classmethod
    def of(
        cls, model: str, size: str, paddle: AnyPaddle, unbalance: Array, covariance: Array
    ) -> Before:
        """A paddle whose faces are known, by its unbalance [kg·m] and covariance [(kg·m)²]."""
        along, turn = bisector(paddle)
        s, d = halves(2 * turn, along, np.asarray(unbalance), np.asarray(covariance))
        return cls(model, size, turn, s, d)

    def as_plain(self) -> dict[str, Any]:
        """As values that JSON can hold."""
        return {"turn": self.turn, "s": list(self.s), "d": list(self.d)}

    @classmethod
    def from_plain(cls, model: str, size: str, plain: Mapping[str, Any]) -> Before:
        """From such values."""
        return cls(model, size, float(plain["turn"]), Half(*plain["s"]), Half(*plain["d"]))


class Guessed(NamedTuple):
    """A half of a paddle not yet measured: its mean, its variance and on how many degrees of
    freedom that stands."""

    mean: float
    variance: float
    freedom: float


@dataclass(frozen=True, eq=False)
class Prediction:
    """The unbalance of a paddle that is not measured yet.

    Parameters
    ----------
    unbalance : ndarray (2,)
        kg·m in body axes.
    covariance : ndarray (2, 2)
        (kg·m)², of a t distribution with these degrees of freedom.
    freedom : float
        Degrees of freedom on which the covariance stands.
    count : int
        Paddles of this model and size that it stands on.
    of_model : int
        Paddles of the model in any size.
    loose : bool
        Whether the model varies so much that each paddle must be measured as if it were the first.
    """

    unbalance: Array
    covariance: Array
    freedom: float
    count: int
    of_model: int
    loose: bool

    @property
    def region(self) -> float:
        """Squared distance, by the covariance, within which 95 % lie."""
        from scipy.stats import f

        return float(2 * f.ppf(0.95, 2, self.freedom))

    @property
    def normal(self) -> Array:
        """Covariance (2, 2) of a normal distribution that has the same 95 % region."""
        from scipy.stats import chi2

        return self.covariance * self.region / float(chi2.ppf(0.95, 2))

    def agreement(self, unbalance: Array, covariance: Array) -> float:
        """Probability that readings of this paddle lie as far off or farther by chance.

        Parameters
        ----------
        unbalance : ndarray (2,)
            That they give [kg·m].
        covariance : ndarray (2, 2)
            (kg·m)².

        Returns
        -------
        float
        """
        from scipy.stats import chi2

        off = np.asarray(unbalance) - self.unbalance
        distance = float(off @ np.linalg.solve(self.normal + covariance, off))
        return float(chi2.sf(distance, 2))

    def combined(self, unbalance: Array, covariance: Array) -> tuple[Array, Array]:
        """Unbalance (2,) and covariance (2, 2) by readings and prediction together, after Bayes.

        Raises
        ------
        InputError
            If the two contradict each other.
        """
        if self.agreement(unbalance, covariance) < CONTRADICT:
            raise InputError("the readings contradict the paddles before, expected one of the two")
        share = covariance @ np.linalg.inv(covariance + self.normal)
        mean = unbalance + share @ (self.unbalance - unbalance)
        joint = covariance - share @ covariance
        return mean, (joint + joint.T) / 2


def next_variance(count: float, spread: float, models: float, bench: float) -> float:
    """Variance of a half of the next paddle of a model, all spreads known.

    Parameters
    ----------
    count : float
        Paddles of the model that were measured.
    spread, models : float
        Standard deviations of paddles within a model and of models [kg·m].
    bench : float
        Standard uncertainty of one measured half [kg·m].

    Returns
    -------
    float
        (kg·m)².
    """
    return spread**2 + 1 / (1 / models**2 + count / (spread**2 + bench**2))


def polar_of(prediction: Prediction) -> tuple[float, float, float]:
    """Size [kg·m] and direction [rad] of a predicted unbalance, and the standard uncertainty of its
    size along it."""
    size = float(np.hypot(*prediction.unbalance))
    way = prediction.unbalance / size if size else np.array([1.0, 0.0])
    return (
        size, math.atan2(way[1], way[0]), math.sqrt(float(way @ prediction.normal @ way)),
    )  # fmt: skip


class Alike:
    """Paddles that were measured, by model and size.

    Parameters
    ----------
    before : sequence of Before
    """

    def __init__(self, before: Sequence[Before]) -> None:
        self.before = tuple(before)
        self._groups: dict[tuple[str, str], int] = {}
        for each in self.before:
            self._groups.setdefault((each.model, each.size), len(self._groups))

    @cached_property
    def _columns(self) -> Mapping[str, _Column]:
        group = np.array([self._groups[each.model, each.size] for each in self.before], dtype=int)
        names = [model for model, _size in self._groups]
        return {
            half: _Column(
                np.array([getattr(each, half).value for each in self.before]),
                np.array([getattr(each, half).variance for each in self.before]), group, names,
            )
            for half in "sd"
        }  # fmt: skip

    def count(self, model: str, size: str | None = None) -> int:
        """How many paddles of a model, or of one size of it, were measured."""
        return sum(
            each.model == model and size in (None, each.size) for each in self.before
        )  # fmt: skip

    def effects(self, half: str) -> Effects:
        """Variance components of s or d.

        Parameters
        ----------
        half : str
            's' or 'd'.

        Returns
        -------
        Effects
            Between sizes and models where the book holds several of both.

        Raises
        ------
        InputError
            If fewer than two paddles tell it.
        """
        found = self._columns[half].effects
        if found is None:
            raise InputError("fewer than two paddles were measured")
        return found

    @staticmethod
    def axes(paddle: AnyPaddle) -> tuple[Array, Array]:
        """Unit vectors (2,) along the bisector of a paddle's backs, where s counts, and across it,
        where d counts."""
        along, _turn = bisector(paddle)
        return (
            np.array([math.cos(along), math.sin(along)]),
            np.array([-math.sin(along), math.cos(along)]),
        )

    def groups(self) -> list[tuple[str, str, int]]:
        """Models and sizes by name, with how many paddles of each were measured."""
        counts: dict[tuple[str, str], int] = {}
        for each in self.before:
            counts[each.model, each.size] = counts.get((each.model, each.size), 0) + 1
        return [(model, size, count) for (model, size), count in sorted(counts.items())]

    def usual_turn(self, model: str, size: str) -> float:
        """Half the feather [rad] that paddles of a model and size usually have."""
        own = [abs(each.turn) for each in self.before if (each.model, each.size) == (model, size)]
        return float(np.median(own)) if own else 0.0

    def is_loose(self, model: str, size: str) -> bool:
        """Whether paddles of a model and size vary so much that each must be measured."""
        guessed = self.half("s", model, size)
        return guessed is not None and self._columns["s"].is_loose(guessed)

    def half(self, half: str, model: str, size: str) -> Guessed | None:
        """s or d of a paddle not yet measured; None if too little is known."""
        return self._columns[half].guessed(model, self._groups.get((model, size)))

    def predict(self, paddle: AnyPaddle, model: str, size: str) -> Prediction | None:
        """The unbalance of a paddle of a model and size.

        Where it has another feather than those measured, the blades' moments are turned with their
        blades; mass beside the line along a blade's back does not turn so, and goes into the
        covariance.

        Parameters
        ----------
        paddle : AnyPaddle
            Whose feather and face are known.
        model, size : str

        Returns
        -------
        Prediction or None
            None if fewer than two paddles were measured at all, or none of the model; if its size
            was not and no model tells how much sizes differ; or if its feather asks for a half that
            none of them tells.
        """
        if not paddle.faces_known or not self.count(model):
            return None
        _along, turn = bisector(paddle)
        shares = 2 * math.cos(turn), 2 * math.sin(turn)
        mean, covariance = np.zeros(2), np.zeros((2, 2))
        freedom, loose = math.inf, False
        moment = 0.0
        for half, share, way in zip("sd", shares, self.axes(paddle), strict=True):
            guessed = self.half(half, model, size)
            if guessed is None:
                if abs(share) < 2 * LEAST_SHARE:
                    continue
                return None
            mean += share * guessed.mean * way
            covariance += share**2 * guessed.variance * np.outer(way, way)
            freedom = min(freedom, guessed.freedom)
            moment = max(moment, abs(guessed.mean))
            loose |= abs(share) > 2 * LEAST_SHARE and self._columns[half].is_loose(guessed)
        turned = self._turned(model, size, turn)
        covariance += 2 * (moment * SIDEWAYS_U * 2 * math.sin(turned / 2)) ** 2 * np.eye(2)
        return Prediction(mean, covariance, freedom, self.count(model, size), self.count(model),
                          loose)  # fmt: skip

    def _turned(self, model, size, turn):
        """By how much [rad] the blades are turned against those that were measured, in the mean
        square; of that size if there is one."""
        own = [each for each in self.before if each.model == model and each.size == size]
        own = own or [each for each in self.before if each.model == model]
        return math.sqrt(sum((abs(each.turn) - abs(turn)) ** 2 for each in own) / len(own))


class _Column:
    """One half of all paddles."""

    def __init__(self, values, variances, group, models):
        known = np.isfinite(values)
        self.values, self.variances = values[known], variances[known]
        self.noise = float(np.median(self.variances)) if self.variances.size else math.nan
        names = list(dict.fromkeys(models))
        used = np.unique(group[known])
        self._place = {int(old): new for new, old in enumerate(used)}
        self.group = np.array([self._place[int(old)] for old in group[known]], dtype=int)
        owners = [models[int(old)] for old in used]
        named = [name for name in names if name in set(owners)]
        self._model = {name: i for i, name in enumerate(named)}
        self.model = np.array([self._model[name] for name in owners], dtype=int)

    def is_loose(self, guessed: Guessed) -> bool:
        """Whether that says little beside what a bench says of one paddle."""
        return guessed.variance > LOOSE**2 * self.noise

    @cached_property
    def effects(self) -> Effects | None:
        """Variance components; None if fewer than two values are known."""
        if self.values.size < 2:
            return None
        levels = [self.group, self.model][: len(self.levels)]
        return nested_effects(self.values, self.variances, levels)

    @cached_property
    def levels(self) -> tuple[str, ...]:
        """What the design can tell apart: sizes where a model has several, models where there are
        several."""
        sizes, models = int(self.group.max()) + 1, int(self.model.max()) + 1
        if sizes == 1:
            return ()
        if models == 1:
            return ("size",)
        return ("model",) if models == sizes else ("size", "model")

    @cached_property
    def pooled(self) -> tuple[Array, Array]:
        """Variance of paddles in each group, drawn toward that of all, and its freedom."""
        assert self.effects is not None
        count = np.bincount(self.group)
        mean = np.bincount(self.group, self.values) / count
        square = np.bincount(self.group, (self.values - mean[self.group]) ** 2)
        noise = np.bincount(self.group, self.variances) / count
        freedom = np.maximum(count - 1.0, 0.0)
        common = float(self.effects.expected[0])
        own = np.maximum(square / np.maximum(freedom, 1) - noise, 0.0)
        prior = _prior_freedom(square, freedom, common + noise)
        pooled = (prior * common + freedom * own) / (prior + freedom)
        # What is common stands on no more than all groups' members together.
        return pooled, np.minimum(prior + freedom, max(freedom.sum(), 1.0))

    def guessed(self, model: str, group: int | None) -> Guessed | None:
        """What a paddle of a group, or of a new size of a model, will have."""
        effects = self.effects
        if effects is None:
            return None
        place = None if group is None else self._place.get(group)
        between = dict(zip(self.levels, effects.expected[1:].tolist(), strict=True))
        if place is not None:
            pooled, freedom = self.pooled
            level = effects.groups[0] if effects.groups else None
            mean = effects.mean if level is None else float(level.mean[place])
            sure = effects.mean_variance if level is None else float(level.variance[place])
            return _together(mean, sure, self.model.size, float(pooled[place]),
                             float(freedom[place]))  # fmt: skip
        if model not in self._model or "size" not in between:
            return None
        common, prior = float(effects.expected[0]), float(np.min(self.pooled[1]))
        level = effects.groups[-1] if "model" in between else None
        mean = effects.mean if level is None else float(level.mean[self._model[model]])
        sure = effects.mean_variance if level is None else float(level.variance[self._model[model]])
        return _together(mean, sure + between["size"], self.model.size, common, prior)


def _together(mean, sure, groups, spread, freedom):
    """Mean and variance of a paddle of a group; freedom after Welch and Satterthwaite."""
    whole = sure + spread
    parts = sure**2 / max(groups - 1.0, 1.0) + spread**2 / max(freedom, 1.0)
    return Guessed(mean, whole, whole**2 / parts if parts else max(freedom, 1.0))


def _prior_freedom(square, freedom, expected):
    """How closely models agree in their spread, as degrees of freedom (Smyth's d0).

    By the spread of the logarithms of the groups' variances against what their own few members
    make of it.
    """
    from scipy.special import digamma, polygamma

    several = freedom >= 1
    if several.sum() < 2:
        return 3.0
    half = freedom[several] / 2
    told = np.log(np.maximum(square[several], np.finfo(float).tiny) / freedom[several]
                  / expected[several])  # fmt: skip
    told = told - digamma(half) + np.log(half)
    excess = float(np.var(told, ddof=1) - polygamma(1, half).mean())
    if excess <= 0:
        return MOST_FREEDOM
    return float(np.clip(2 * _inverse_trigamma(excess), 1.0, MOST_FREEDOM))


def _inverse_trigamma(value):
    """The y of which the trigamma function is that value, by Newton's steps."""
    from scipy.special import polygamma

    y = 0.5 + 1 / value
    for _again in range(50):
        tri = float(polygamma(1, y))
        step = tri * (1 - tri / value) / float(polygamma(2, y))
        y += step
        if abs(step) < 1e-9 * y:
            break
    return y
