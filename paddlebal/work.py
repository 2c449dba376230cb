"""Roll torque and work of the hands over a stroke cycle, with and without a counterweight.

Only the paddle's own weight and inertia are handled here: the water's force on the blades is
left out. The hands are taken together, as one force at O and one moment about it, so what one
hand gives the other is not seen. Work is told as two numbers, positive where the hands drive
the paddle and negative where they hold it back. Over a whole cycle the two cancel in the full
work, because gravity and inertia give back what they took; the roll axis alone can pass work to
the other axes. The absolute sum of the two is not an energy and is formed nowhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import Counterweight, Paddle
from paddlebal.stroke import Motion
from paddlebal.units import STANDARD_GRAVITY


class RollParts(NamedTuple):
    """The roll torque [N·m] of the hands about +x in the four parts that sum to it.

    Parameters
    ----------
    gravity : ndarray
    inertia : ndarray
        I_xx times the roll's acceleration.
    products : ndarray
        From products of inertia and gyroscopic effects.
    acceleration : ndarray
        Of O on the first moment.
    """

    gravity: Array
    inertia: Array
    products: Array
    acceleration: Array


class Work(NamedTuple):
    """Work [J] given (positive, >= 0) and taken back (negative, <= 0)."""

    positive: float
    negative: float


class RollEffort(NamedTuple):
    """What the roll torque asks of the hands in a cycle.

    peak and mean of its size [N·m]; torque_time, the integral of its size [N·m·s]; positive
    and negative work [J] about the roll axis. Of many paddles each is an array (n,).
    """

    peak: Array
    mean: Array
    torque_time: Array
    positive: Array
    negative: Array


class Sums(NamedTuple):
    """Torque-time integral [N·m·s] and energies [J] over a number of cycles."""

    torque_time: float
    roll_positive: float
    roll_negative: float
    full_positive: float
    full_negative: float
    lift: float
    swing: float


def mass_properties(paddle):
    """Mass [kg], first moment [kg·m] and upper half of the inertia [kg·m²], ten numbers."""
    return (paddle.mass, *paddle.first_moment(), *paddle.inertia()[np.triu_indices(3)])


def driven(state):
    """The arguments of the moving-paddle equations that the motion gives."""
    rates = (*_columns(state.omega), *_columns(state.domega), *_columns(state.accel))
    return (state.theta, *rates, state.inclination, STANDARD_GRAVITY)


def _columns(vector):
    return np.moveaxis(vector, -1, 0)


def roll_parts(paddle: Paddle, motion: Motion, time: ArrayLike) -> RollParts:
    """Roll torque of the hands at times [s], as `RollParts`.

    Parameters
    ----------
    paddle : Paddle
    motion : Motion
    time : array_like (n,)
        s.

    Returns
    -------
    RollParts
        Arrays (n,) [N·m].
    """
    return _roll_parts(mass_properties(paddle), motion.state(time))


def _roll_parts(properties, state):
    return RollParts(*numeric("roll_moment_parts")(*properties[2:], *driven(state)))


def hand_load(paddle, motion, time):
    """Force [N] of the hands at O and moment [N·m] about it at times [s]: (6, ...), body axes."""
    return _hand_load(mass_properties(paddle), motion.state(time))


def _hand_load(properties, state):
    return np.stack(np.broadcast_arrays(*numeric("hand_load")(*properties, *driven(state))))


def full_power(paddle, motion, time):
    """Power [W] of everything the hands do: force at O on its velocity, moment on rotation.

    Six components, in the boat's axes, which move steadily.
    """
    return _full_power(mass_properties(paddle), motion.state(time))


def _full_power(properties, state):
    load = _hand_load(properties, state)
    velocity = numeric("body_components")(*_columns(state.velocity), state.theta, state.inclination)
    return (load[:3] * np.stack(velocity)).sum(0) + (load[3:] * _columns(state.omega)).sum(0)


def energy(paddle, motion, time):
    """Kinetic and potential energy [J] of the paddle at times [s], in the boat's axes."""
    return _energy(mass_properties(paddle), motion.state(time))


def _energy(properties, state):
    mass, S_x, S_y, S_z, *_ = properties
    rates = (*_columns(state.omega), *_columns(state.velocity))
    kinetic = numeric("kinetic_energy")(*properties, state.theta, *rates, state.inclination)
    about_middle = numeric("potential_energy")(
        S_x, S_y, S_z, state.theta, state.inclination, STANDARD_GRAVITY
    )
    return kinetic, about_middle + mass * STANDARD_GRAVITY * state.place[..., 2]


def _work(power, period):
    """Positive and negative work over a cycle from equally spaced power (..., n)."""
    step = period / power.shape[-1]
    positive = np.maximum(power, 0.0).sum(-1) * step
    return positive, power.sum(-1) * step - positive


def _roll_effort(torque, spin, period):
    size = np.abs(torque)
    mean = size.mean(-1)
    return RollEffort(size.max(-1), mean, mean * period, *_work(torque * spin, period))


@dataclass(frozen=True)
class StrokeTorque:
    """A stroke cycle's roll torque and work.

    Parameters
    ----------
    time : ndarray (n,)
        s, equally spaced over one cycle.
    parts : RollParts
        The roll torque of the hands [N·m], each part (n,).
    roll : RollEffort
        Per cycle.
    full_work : Work
        Of all six components of the hands' force and moment, per cycle [J].
    lift, swing : float
        Rise of the potential and of the kinetic energy [J] summed over the rising stretches of
        a cycle: what lifting and what swinging the paddle asks for. They may pay for each
        other, so that the full positive work is at most their sum.
    """

    time: Array
    parts: RollParts
    roll: RollEffort
    full_work: Work
    lift: float
    swing: float

    @property
    def torque(self):
        """The whole roll torque [N·m] (n,)."""
        return sum(self.parts)

    def sums(self, cycles=1.0):
        """What adds up over a number of cycles, as `Sums`.

        `Motion.cycles_over` and `Motion.cycles_in` turn a distance or a time into cycles.
        """
        roll = self.roll.torque_time, self.roll.positive, self.roll.negative
        per_cycle = (*roll, *self.full_work, self.lift, self.swing)
        return Sums(*(value * cycles for value in per_cycle))


def stroke_torque(paddle: Paddle, motion: Motion, samples: int = 1000) -> StrokeTorque:
    """Roll torque and work of a paddle over one cycle of a motion.

    Parameters
    ----------
    paddle : Paddle
    motion : Motion
    samples : int
        Equal steps of the cycle. Sums over it converge as 1 / samples² where a sign changes.

    Returns
    -------
    StrokeTorque
    """
    time = motion.times(samples)
    properties, state = mass_properties(paddle), motion.state(time)
    parts = _roll_parts(properties, state)
    kinetic, potential = _energy(properties, state)
    return StrokeTorque(
        time,
        parts,
        _roll_effort(sum(parts), state.omega[:, 0], motion.period),
        Work(*_work(_full_power(properties, state), motion.period)),
        _rise(potential),
        _rise(kinetic),
    )


class RecordedSpread(NamedTuple):
    """Standard uncertainties by the noise of a record: of the positive work of all six components
    per cycle [J], and of the mean size of the roll torque [N·m]."""

    positive_work: float
    mean_torque: float


def recorded_spread(
    paddle: Paddle, motion: Motion, draws: int = 30, seed: int = 0
) -> RecordedSpread:
    """How far work and torque of a recorded motion may be off because of the record's noise.

    The record is spoiled anew about the smoothed motion and smoothed again; what its work and
    torque then differ by counts, bias and spread alike.

    Parameters
    ----------
    paddle : Paddle
    motion : Motion
        As read from a record.
    draws, seed : int
        How many records are drawn, and where the random numbers start.

    Returns
    -------
    RecordedSpread

    Raises
    ------
    InputError
        If the motion was not recorded.
    """
    if motion.redrawn is None:
        raise InputError("this motion was not recorded, so it has no noise")

    def seen(motion):
        found = stroke_torque(paddle, motion, samples=400)
        return found.full_work.positive, found.roll.mean

    rng, value = np.random.default_rng(seed), np.array(seen(motion))
    drawn = np.array([seen(motion.redrawn(rng)) for _ in range(draws)])
    return RecordedSpread(*np.sqrt(np.mean((drawn - value) ** 2, axis=0)).tolist())


def _rise(energy):
    """Sum of the rises of a periodic sequence."""
    return np.maximum(np.diff(energy, append=energy[0]), 0.0).sum()


def stroke_torque_many(
    first_moments: Array,
    inertias: Array,
    motion: Motion,
    samples: int = 1000,
    block: int = 64,
) -> Iterator[RollEffort]:
    """Roll effort of many paddles on one motion, a block of paddles at a time.

    The roll moment is linear in the mass properties, so a block costs one matrix product and
    memory does not grow with the number of paddles.

    Parameters
    ----------
    first_moments : ndarray (n, 3)
        kg·m in body axes.
    inertias : ndarray (n, 3, 3)
        kg·m² about O.
    motion : Motion
    samples, block : int
        Steps of the cycle; paddles held at once, few enough to stay in the processor's cache.

    Yields
    ------
    RollEffort
        Its fields are arrays, one value for each paddle of the block.
    """
    state = motion.state(motion.times(samples))
    rows = np.stack(np.broadcast_arrays(*numeric("roll_moment_rows")(*driven(state))))
    upper = np.triu_indices(3)
    for start in range(0, len(first_moments), block):
        part = slice(start, start + block)
        inertia = np.asarray(inertias[part])[:, *upper]
        properties = np.hstack([np.asarray(first_moments[part])[:, 1:], inertia])
        yield _roll_effort(properties @ rows, state.omega[:, 0], motion.period)


_ROWS = (
    ("peak roll torque", "N·m"),
    ("mean roll torque", "N·m"),
    ("peak gravity part", "N·m"),
    ("peak roll inertia part", "N·m"),
    ("torque-time integral", "N·m·s"),
    ("positive roll work", "J"),
    ("negative roll work", "J"),
    ("positive work of the hands", "J"),
    ("negative work of the hands", "J"),
    ("lift", "J"),
    ("swing", "J"),
)


@dataclass(frozen=True)
class Comparison:
    """A paddle without and with its counterweights, on the same motion."""

    without: StrokeTorque
    balanced: StrokeTorque

    def rows(self):
        """(quantity, unit, without, with, change) per cycle, for a table."""

        def numbers(side):
            parts = (np.abs(side.parts.gravity).max(), np.abs(side.parts.inertia).max())
            return (side.roll.peak, side.roll.mean, *parts, *side.sums())

        values = zip(_ROWS, numbers(self.without), numbers(self.balanced), strict=True)
        return [(*row, old, new, new - old) for row, old, new in values]

    @property
    def work_change(self):
        """Positive work of the hands with counterweights less that without [J per cycle]."""
        return self.balanced.full_work.positive - self.without.full_work.positive

    def less_work(self):
        """Which asks for less positive work of the hands: 'with', 'without' or 'equal'."""
        return _less(self.without.full_work.positive, self.balanced.full_work.positive)

    def less_holding(self):
        """Which asks for less holding torque on the mean: 'with', 'without' or 'equal'."""
        return _less(self.without.roll.mean, self.balanced.roll.mean)

    def verdict(self):
        """The two answers in one sentence with their numbers."""
        before, after = self.without, self.balanced
        return (
            f"Less work: {_SIDE[self.less_work()]} ({before.full_work.positive:.3f} J per cycle "
            f"without, {after.full_work.positive:.3f} J with). "
            f"Less holding torque: {_SIDE[self.less_holding()]} (mean {before.roll.mean:.4f} N·m "
            f"without, {after.roll.mean:.4f} N·m with)."
        )


_SIDE = {
    "with": "with counterweights",
    "without": "without counterweights",
    "equal": "neither, they are equal",
}


def _less(without, balanced):
    if np.isclose(without, balanced, rtol=1e-9, atol=1e-12):
        return "equal"
    return "with" if balanced < without else "without"


def compare_strokes(
    paddle: Paddle, counterweights: Sequence[Counterweight], motion: Motion, samples: int = 1000
) -> Comparison:
    """A paddle without and with counterweights on one motion.

    Parameters
    ----------
    paddle : Paddle
    counterweights : sequence of Counterweight
        Added to those the paddle already has.
    motion : Motion
    samples : int
        Of the cycle.

    Returns
    -------
    Comparison
    """
    balanced = paddle.with_counterweights(*counterweights)
    return Comparison(
        stroke_torque(paddle, motion, samples), stroke_torque(balanced, motion, samples)
    )


def _arms_at(counterweights, arm):
    return [replace(w, arm=arm, mass=w.mass * w.arm / arm) for w in counterweights]


_VARIED = {
    "strokes_per_minute": lambda weights, motion, rate: (weights, motion.with_rate(rate)),
    "heave": lambda weights, motion, heave: (weights, motion.with_heave(heave)),
    "arm": lambda weights, motion, arm: (_arms_at(weights, arm), motion),
}


def break_even(
    paddle: Paddle,
    counterweights: Sequence[Counterweight],
    motion: Motion,
    vary: str,
    low: float,
    high: float,
    steps: int = 24,
    samples: int = 400,
) -> tuple[float, ...]:
    """Where work with the counterweights equals work without them.

    Parameters
    ----------
    paddle, counterweights, motion
        As for `compare_strokes`.
    vary : str
        'strokes_per_minute'; 'heave', the rise and fall of the shaft's middle [m]; or 'arm' of
        the counterweights [m], each keeping mass times arm.
    low, high : float
        The range to search, both above 0.
    steps, samples : int
        The range is searched for changes of sign in so many equal steps, each case with so
        many samples of the cycle.

    Returns
    -------
    tuple of float
        Ascending; empty if there is none in the range. Two that share one step are missed.

    Raises
    ------
    InputError
        For an unknown quantity, an empty range or no counterweights.
    """
    from scipy.optimize import brentq

    if vary not in _VARIED:
        known = ", ".join(repr(name) for name in _VARIED)
        raise InputError(f"{vary!r} cannot be varied, expected one of {known}")
    if not 0 < low < high:
        raise InputError(f"the range {low!r} to {high!r} is empty or not above 0")
    if not counterweights:
        raise InputError("there are no counterweights to compare")

    def difference(value):
        weights, changed = _VARIED[vary](counterweights, motion, value)
        return compare_strokes(paddle, weights, changed, samples).work_change

    grid = np.linspace(low, high, steps + 1)
    change = np.array([difference(value) for value in grid])
    crossings = np.flatnonzero(np.sign(change[:-1]) * np.sign(change[1:]) < 0)
    found = list(grid[change == 0])
    found += [brentq(difference, grid[i], grid[i + 1]) for i in crossings]
    return tuple(sorted(float(value) for value in found))


_RANGES = (
    ("strokes_per_minute", 20.0, 160.0, "stroke rate", 1.0, "strokes per minute"),
    ("heave", 0.005, 0.4, "rise and fall of the shaft's middle", 1e3, "mm"),
    ("arm", 0.03, 0.3, "arm of the counterweight, its mass following", 1e3, "mm"),
)


def break_even_words(
    paddle: Paddle, counterweights: Sequence[Counterweight], motion: Motion
) -> list[str]:
    """Where the works without and with counterweights are equal, a sentence for each quantity.

    Raises InputError without counterweights.

    Parameters
    ----------
    paddle : Paddle
    counterweights : sequence of Counterweight
    motion : Motion

    Returns
    -------
    list of str
    """
    if not counterweights:
        raise InputError("there are no counterweights to compare")
    sentences = []
    for vary, low, high, name, scale, unit in _RANGES:
        found = break_even(paddle, counterweights, motion, vary, low, high, samples=200)
        places = " and ".join(f"{scale * value:.1f} {unit}" for value in found)
        span = f"from {scale * low:g} to {scale * high:g} {unit}"
        where = f"at {places}" if found else f"none {span}"
        sentences.append(f"Break-even of work by {name}: {where}.")
    return sentences
