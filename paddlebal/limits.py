"""What a counterweight may be: mass, arm, place, material, and what to beware of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from paddlebal.errors import InputError
from paddlebal.files.published import published_rows
from paddlebal.language import _, marked
from paddlebal.outside import AnyPaddle
from paddlebal.paddle import Counterweight, KeepOut, Paddle

WEIGHT_CAUTIONS = (
    marked(
        "Lead is toxic: wear gloves, do not sand, drill or melt it bare, wash your hands,"
        " keep it from children, seal it in and take scraps to a collection point. Some "
        "waters and venues restrict lead; ask before you use it."
    ),
    marked(
        "A weight that comes loose can hurt someone: fasten it so that it cannot slide, "
        "turn or fly off, and check the fastening before every outing."
    ),
    marked(
        "Keep weights clear of the hands, the knees, the boat and the ferrule over the "
        "whole stroke."
    ),
    marked(
        "A heavier paddle may no longer float: check the flotation left, and test it in "
        "shallow water."
    ),
    marked(
        "Check the current rules of your federation and your event before you race with a"
        " counterweight; they were not consulted here."
    ),
)
"""What to say beside every counterweight, whatever the numbers."""


MATERIALS = (
    marked("tungsten"), marked("tungsten alloy"), marked("lead"), marked("brass"),
    marked("steel"), marked("stainless steel"),
)  # fmt: skip
"""The names in data/published/materials.csv."""


_LEAD = (10_400.0, 11_400.0)
"""Densities [kg/m³] from lead with a tenth of antimony and more, to pure lead; from memory."""


def weight_cautions(density: float) -> tuple[str, ...]:
    """The cautions for a counterweight of a density [kg/m³]: that about lead only where it may be.

    Parameters
    ----------
    density : float
        kg/m³.

    Returns
    -------
    tuple of str
    """
    lead = _LEAD[0] <= density <= _LEAD[1]
    return tuple(_(each) for each in WEIGHT_CAUTIONS[not lead :])


@cache
def _table():
    rows = published_rows("materials", numbers=("density_kg_m3",))
    return {row["name"]: row["density_kg_m3"] for row in rows}


def material_densities() -> dict[str, float]:
    """Densities [kg/m³] by the material's name, from data/published/materials.csv.

    Returns
    -------
    dict of str to float
    """
    return dict(_table())


@dataclass(frozen=True)
class Holder:
    """What holds a weight: it turns with it and sits at its place along the shaft.

    Parameters
    ----------
    mass, arm : float
        Its mass [kg] and the distance of its centre from the shaft axis [m].
    angle : float
        From the weight's direction to that of its own centre [rad].
    density : float
        Of its material [kg/m³].
    """

    mass: float
    arm: float
    angle: float = 0.0
    density: float = Counterweight.density


@dataclass(frozen=True)
class Envelope:
    """How long the arm of a weight may be, by its distance from mid-shaft.

    It is what hands, knees, hull, water and face leave clear over the whole stroke, as the user
    measured it.

    Parameters
    ----------
    distances : tuple of float
        From mid-shaft, growing [m]; straight lines between them, and nothing beyond the last.
    arms : tuple of float
        Longest arm at each distance [m].
    """

    distances: tuple[float, ...]
    arms: tuple[float, ...]

    def __post_init__(self):
        if len(self.distances) != len(self.arms) or not self.distances:
            raise InputError("expected an arm for each distance of the envelope")
        if np.any(np.diff(self.distances) <= 0) or min(self.distances) < 0:
            raise InputError("expected distances of the envelope from 0 m on, growing")
        if not all(0 <= arm < 1 for arm in self.arms):
            raise InputError("expected arms of the envelope from 0 m to below 1 m")

    def arm_at(self, x: float) -> float:
        """The longest arm [m] at a place along the shaft [m]."""
        return float(np.interp(abs(x), self.distances, self.arms, right=0.0))


HANDS = 0.35
"""m from mid-shaft: beyond the hands, where a paddle's keep-outs name none; assumed, no source."""


def beyond_hands(paddle: AnyPaddle, x: float) -> bool:
    """Whether a place along the shaft [m] lies farther out than the hands.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
        The hands are its keep-outs that are named so.
    x : float
        m.

    Returns
    -------
    bool
    """
    hands = [abs(end) for each in paddle.keep_outs if "hand" in each.name.casefold()
             for end in (each.start, each.stop) if end * x > 0]  # fmt: skip
    return abs(x) > max(hands, default=HANDS)


@dataclass(frozen=True)
class Limits:
    """What the workshop can make and the paddle can carry.

    Parameters
    ----------
    material : str or float
        A name of `material_densities`, or a density [kg/m³].
    mass, arm : tuple of float
        Least and greatest mass [kg] and arm [m]. The arm runs from the shaft axis to the middle
        of the piece; its greatest value is what hands, knees and boat leave clear, and it is
        never less than `least_arm`.
    x : tuple of float
        Stretch of shaft [m along x] within which the whole piece must lie.
    keep_outs : tuple of KeepOut
        Stretches of it that the piece must leave free.
    shaft_radius : float
        m.
    mass_step, arm_step, angle_step : float
        The workshop's steps [kg, m, rad]; 0 for none.
    slenderness : float
        Length over diameter of the piece.
    holder : Holder, optional
        What holds the piece, if it isn't on the paddle yet; it helps to balance.
    """

    material: str | float = "brass"
    mass: tuple[float, float] = (0.0, 0.4)
    arm: tuple[float, float] = (0.0, 0.06)
    x: tuple[float, float] = (-0.7, 0.7)
    keep_outs: tuple[KeepOut, ...] = ()
    shaft_radius: float = 0.0146
    mass_step: float = 0.0
    arm_step: float = 0.0
    angle_step: float = 0.0
    slenderness: float = 2.0
    holder: Holder | None = None

    def __post_init__(self):
        if isinstance(self.material, str) and self.material not in _table():
            known = ", ".join(_table())
            raise InputError(f"the material '{self.material}' is not one of {known}")
        for name in ("mass", "arm", "x"):
            least, greatest = getattr(self, name)
            if not least <= greatest:
                raise InputError(f"the least {name} {least:g} is above the greatest {greatest:g}")
        for name in ("density", "slenderness", "shaft_radius"):
            if not 0 < getattr(self, name) < math.inf:
                raise InputError(f"the {name} is {getattr(self, name)}, expected it above 0")
        if self.mass[0] < 0 or self.arm[0] < 0 or not 0 < self.arm[1] < math.inf:
            raise InputError("masses and arms are at least 0, the greatest arm above 0 and finite")
        steps = self.mass_step, self.arm_step, self.angle_step
        if not all(0 <= step < math.inf for step in steps) or self.arm_step > self.arm[1]:
            raise InputError("a step is at least 0 (0 for none), that of the arm below the arm")

    @classmethod
    def for_paddle(cls, paddle: AnyPaddle, reach: float = math.inf, **stated: Any) -> Limits:
        """Limits with a paddle's keep-outs, shaft radius and free shaft, the rest as stated.

        The free shaft ends where a blade begins, where the shaft ends, or at a distance `reach`
        [m] from mid-shaft; where the blades of a paddle known from outside begin, its keep-outs
        have to tell. Weights that are on the paddle keep others out, each taken as a
        cylinder of the usual slenderness.
        """
        ends = min(paddle.shaft.length / 2, reach)
        start, stop = -ends, ends
        if isinstance(paddle, Paddle):
            start = max(start, paddle.left.x + paddle.left.length / 2)
            stop = min(stop, paddle.right.x - paddle.right.length / 2)
        own: dict[str, Any] = {
            "x": (start, stop),
            "keep_outs": (*paddle.keep_outs, *map(_taken, paddle.counterweights)),
            "shaft_radius": paddle.shaft.radius,
        }
        return cls(**(own | stated))

    @property
    def density(self) -> float:
        """kg/m³."""
        return _table()[self.material] if isinstance(self.material, str) else self.material

    def diameter(self, mass: float) -> float:
        """Diameter [m] of the cylinder of that mass [kg]; arrays broadcast."""
        return piece_diameter(mass, self.slenderness, self.density)

    def least_arm(self, mass: float) -> float:
        """Shaft radius plus half the piece [m], or the stated least arm if that is longer."""
        return max(self.arm[0], self.shaft_radius + float(self.diameter(mass)) / 2)

    def free_places(self, length: float) -> list[tuple[float, float]]:
        """Intervals (from, to) of x [m] where the middle of a piece of that length may sit."""
        start, stop = self.x[0] + length / 2, self.x[1] - length / 2
        free = []
        for keep_out in sorted(self.keep_outs, key=lambda k: k.start):
            free.append((start, min(stop, keep_out.start - length / 2)))
            start = max(start, keep_out.stop + length / 2)
        return [(low, high) for low, high in [*free, (start, stop)] if low <= high]


def piece_diameter(mass, slenderness, density):
    return np.cbrt(4 * mass / (np.pi * slenderness * density))


def usual_size(weight):
    """Diameter and length [m] of a weight, taken as a cylinder of the usual slenderness."""
    diameter = float(piece_diameter(weight.mass, Limits.slenderness, weight.density))
    return diameter, Limits.slenderness * diameter


def _taken(weight):
    """The stretch of shaft that a weight on the paddle takes."""
    _, length = usual_size(weight)
    return KeepOut("a weight that is on", weight.x - length / 2, weight.x + length / 2)
