"""How a paddle moves over a stroke cycle: a right stroke and a left stroke.

Axes move with the boat at its mean speed: X to the paddler's right, Y forward, Z up. The shaft
is brought from them by the yaw psi about Z (right end forward), the inclination beta (right end
up) and the roll theta about itself.

Stroke rate counts strokes, both sides together, per minute; a cycle is two strokes, "alternate
left and right" (Begon, Colloud & Lacouture, "Measurement of contact forces on a kayak ergometer
with a sliding footrest-seat complex", Sports Engineering 11, 2009, 67-73). Whoever counts
cycles instead doubles the number first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import Paddle


class State(NamedTuple):
    """A paddle's place and motion at times of shape (...).

    theta, inclination, yaw [rad] (...); omega [rad/s] and domega [rad/s²] (..., 3) in body
    axes; place of O [m] (..., 3) in the boat's axes; velocity [m/s] and accel [m/s²] of O
    (..., 3) in axes turned with the shaft's yaw, so that a level shaft lies along their X.
    """

    theta: Array
    inclination: Array
    yaw: Array
    omega: Array
    domega: Array
    place: Array
    velocity: Array
    accel: Array


@dataclass(frozen=True)
class Motion:
    """A paddle's motion, repeated every cycle.

    Parameters
    ----------
    period : float
        Time [s] of one cycle, two strokes.
    shape : callable
        shape(phase), the phase growing by 2 pi in a cycle, returns (3, ..., 6): roll,
        inclination, yaw [rad] and the place x, y, z of O [m], then their first and second
        derivatives by the phase.
    speed : float, optional
        Mean speed of the boat [m/s]; only sums over a distance need it.
    redrawn : callable, optional
        redrawn(rng) is the motion that another record of the same stroke would give, its
        readings spoiled anew; None for a motion that was not recorded.
    """

    period: float
    shape: Callable[[Array], Array]
    speed: float | None = None
    redrawn: Callable[[np.random.Generator], Motion] | None = None

    def __post_init__(self):
        if not self.period > 0:
            raise InputError(f"a cycle of {self.period!r} s was given, expected a time above 0")
        if self.speed is not None and not self.speed > 0:
            raise InputError(f"a boat speed of {self.speed!r} m/s was given, expected above 0")

    @property
    def strokes_per_minute(self) -> float:
        """Strokes, both sides together, per minute."""
        return 120.0 / self.period

    def with_rate(self, strokes_per_minute: float) -> Motion:
        """The same path at another stroke rate [strokes per minute] and the same boat speed."""
        return replace(self, period=cycle_period(strokes_per_minute))

    def with_heave(self, heave: float) -> Motion:
        """The motion with O's rise and fall scaled to `heave` [m] from lowest to highest."""
        present = np.ptp(self.state(self.times(720)).place[:, 2])
        if present == 0:
            raise InputError("the shaft's middle does not rise and fall, nothing to scale")
        scale = np.array([1.0, 1.0, 1.0, 1.0, 1.0, heave / present])
        return replace(self, shape=lambda phase: self.shape(phase) * scale)

    def times(self, samples: int) -> Array:
        """Times [s] of one cycle in `samples` equal steps, the end left out."""
        return self.period * np.arange(samples) / samples

    def cycles_over(self, distance: float) -> float:
        """Cycles in a distance [m]."""
        if self.speed is None:
            raise InputError("sums over a distance need the boat's speed, expected one in m/s")
        return distance / (self.speed * self.period)

    def cycles_in(self, duration: float) -> float:
        """Cycles in a duration [s]."""
        return duration / self.period

    def state(self, time: ArrayLike) -> State:
        """The paddle's `State` at times [s] of any shape."""
        rate = 2 * np.pi / self.period
        value, first, second = self.shape(rate * np.asarray(time, dtype=float))
        first, second = rate * first, rate**2 * second
        angles = [np.moveaxis(part[..., :3], -1, 0) for part in (value, first, second)]
        rates = np.stack(numeric("body_rates")(*np.concatenate(angles)), axis=-1)
        theta, inclination, yaw = angles[0]
        return State(
            theta,
            inclination,
            yaw,
            rates[..., :3],
            rates[..., 3:],
            value[..., 3:],
            _seen_from(yaw, first[..., 3:]),
            _seen_from(yaw, second[..., 3:]),
        )


def _seen_from(yaw, vector):
    """Components of a vector (..., 3) in axes turned by `yaw` about Z."""
    turned = numeric("level_components")(yaw, *np.moveaxis(vector, -1, 0))
    return np.stack(np.broadcast_arrays(*turned), axis=-1)


def cycle_period(strokes_per_minute):
    """Time [s] of one cycle, two strokes, at a stroke rate [strokes per minute]."""
    if not strokes_per_minute > 0:
        raise InputError(
            f"a stroke rate of {strokes_per_minute!r} strokes per minute was given, "
            "expected a number above 0"
        )
    return 120.0 / strokes_per_minute


@dataclass(frozen=True)
class Stroke:
    """A way of paddling, for any paddle.

    Parameters
    ----------
    strokes_per_minute : float
        Both sides together.
    speed : float
        Of the boat [m/s].
    inclination, yaw : float
        Half-ranges of the shaft's angles over the cycle [rad].
    sway, surge, heave : float
        Half-ranges of the shaft's middle over the cycle [m]: to the side, forward and up.
    """

    strokes_per_minute: float
    speed: float
    inclination: float
    yaw: float
    sway: float
    surge: float
    heave: float

    def motion(self, paddle: Paddle) -> Motion:
        """The `Motion` that rolls this paddle from one catch angle to the other and back.

        The right blade's stroke is centred on a quarter of the cycle, the left blade's on
        three quarters; see `equations.stroke_path`.
        """
        catches = paddle.catch_angle("right"), paddle.catch_angle("left")
        halves = (self.inclination, self.yaw, self.sway, self.surge, self.heave)

        def shape(phase):
            path = np.stack(numeric("stroke_path")(phase, *catches, *halves), axis=-1)
            return np.moveaxis(path.reshape(*np.shape(phase), 3, 6), -2, 0)

        return Motion(cycle_period(self.strokes_per_minute), shape, self.speed)


SPRINT = Stroke(107.1, 5.0, np.radians(45.0), np.radians(45.0), 0.10, 0.10, 0.06)
"""A sprint. Stroke rate on the water, 107.1 ± 4.6 strokes per minute: Klitgaard, Andersen,
Oliveira & Heinen, "A kinematic comparison of on-ergometer and on-water kayaking", European
Journal of Sport Science 21 (2021) 1375-1384, eleven elite juniors at full effort for 2 min. The
speed and all half-ranges are illustrative, invented for the demo."""


OCEAN = Stroke(80.0, 3.3, np.radians(35.0), np.radians(50.0), 0.08, 0.12, 0.08)
"""A long ocean stretch. Every value is illustrative, invented for the demo."""


STROKES = {"sprint preset": SPRINT, "ocean preset": OCEAN}


STROKE_CAUTION = (
    "The presets are invented for illustration; only the sprint's stroke rate was measured "
    "(Klitgaard, Andersen, Oliveira & Heinen 2021, on elite juniors). The boat's speed stays that "
    "of the preset. Only the paddle's own weight and inertia are counted, not the water on the "
    "blades."
)
"""What goes with every figure of a modelled stroke, wherever it is shown."""
