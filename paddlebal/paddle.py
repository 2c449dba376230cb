"""What a paddle is made of and its mass properties.

Body axes are fixed to the shaft: origin O at the shaft's mid-length on its axis, x from the
left blade to the right one, y and z across. At roll angle 0 the control blade's power face is
upright: its offset points forward, along +y. The other blade stands at minus the feather, so
that rolling the shaft by plus the feather brings it upright. This holds for either control
hand; mirroring the paddle left for right swaps the hand and nothing else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array, Side
from paddlebal.units import WATER_DENSITY

SIDES: tuple[Side, Side] = ("left", "right")

HEAVIEST = 100.0
"""kg; a mass above is a slip of the pen, such as grams given as kilograms."""


@dataclass(frozen=True, eq=False)
class Blade:
    """One blade as a rigid body; two blades are equal only if they are the same object.

    Parameters
    ----------
    mass : float
        kg.
    x : float
        Place of its centre of mass along the shaft [m], left negative.
    offset : float
        Distance of its centre of mass from the shaft axis [m], away from the power face.
    length, width : float
        Along and across the shaft [m].
    volume : float
        Water displaced when immersed [m³].
    inertia : ndarray (3, 3), optional
        About its own centre of mass [kg·m²] in blade axes: x along the shaft, y along the
        offset. By default a flat uniform plate of the given length and width.
    across : float
        Place of its centre of mass along z in blade axes [m]: zero unless the blade is
        twisted or its hollow lies to one side.
    """

    mass: float
    x: float
    offset: float
    length: float
    width: float
    volume: float
    inertia: Array | None = None
    across: float = 0.0

    def __post_init__(self):
        if self.inertia is None:
            along, across = self.length**2 / 12, self.width**2 / 12
            plate = self.mass * np.diag([across, along + across, along])
            object.__setattr__(self, "inertia", plate)


@dataclass(frozen=True)
class Shaft:
    """A thin straight tube, centred on O.

    Parameters
    ----------
    mass : float
        kg.
    length, radius : float
        m.
    volume : float
        Water displaced when sealed and immersed [m³].
    """

    mass: float
    length: float
    radius: float
    volume: float

    @property
    def diameters(self) -> tuple[float, float]:
        """Across the shaft, twice the same [m]: it is round."""
        return 2 * self.radius, 2 * self.radius

    @property
    def inertia(self) -> Array:
        """Inertia (3, 3) of the thin tube about its centre [kg·m²]."""
        axial = self.mass * self.radius**2
        across = axial / 2 + self.mass * self.length**2 / 12
        return np.diag([axial, across, across])


@dataclass(frozen=True)
class Counterweight:
    """A correction mass on an arm, taken as a point.

    Parameters
    ----------
    mass : float
        kg.
    arm : float
        Distance from the shaft axis [m].
    angle : float
        From +y toward +z in body axes [rad].
    x : float
        Place along the shaft [m].
    density : float
        Of its material [kg/m³].
    """

    mass: float
    arm: float
    angle: float
    x: float = 0.0
    density: float = 7850.0

    @property
    def unbalance(self) -> Array:
        """What it adds to the paddle's unbalance, ndarray (2,) [kg·m] in body axes."""
        return self.mass * self.arm * np.array([math.cos(self.angle), math.sin(self.angle)])


def counterweight_adding(
    vector: ArrayLike, arm: float, x: float = 0.0, density: float = Counterweight.density
) -> Counterweight:
    """The counterweight on an arm that adds a vector to a paddle's unbalance.

    Parameters
    ----------
    vector : array_like (2,)
        kg·m in body axes.
    arm, x : float
        m.
    density : float
        kg/m³.

    Returns
    -------
    Counterweight
    """
    y, z = np.asarray(vector, dtype=float)
    return Counterweight(math.hypot(y, z) / arm, arm, math.atan2(z, y), x, density)


@dataclass(frozen=True)
class KeepOut:
    """A stretch of shaft where no weight may sit.

    Parameters
    ----------
    name : str
        Why, such as 'left hand'.
    start, stop : float
        m along x.
    """

    name: str
    start: float
    stop: float


@dataclass(frozen=True)
class Paddle:
    """A paddle: shaft, two blades, feather, control hand and counterweights.

    Parameters
    ----------
    name : str
    shaft : Shaft
    left, right : Blade
    feather : float
        rad.
    control : str
        Hand that turns the shaft, 'left' or 'right'.
    ferrule_x : float
        Where the two halves meet [m along x].
    feather_range : tuple of float, optional
        What an adjustable ferrule allows [rad]; None if the feather is fixed.
    keep_outs : tuple of KeepOut
    counterweights : tuple of Counterweight
    note : str
    """

    name: str
    shaft: Shaft
    left: Blade
    right: Blade
    feather: float
    control: Side
    ferrule_x: float = 0.0
    feather_range: tuple[float, float] | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    counterweights: tuple[Counterweight, ...] = ()
    note: str = ""

    @property
    def faces_known(self) -> bool:
        """Whether it is known where both blades' faces stand: always."""
        return True

    def blade_angle(self, side: Side) -> float:
        """Angle [rad] of a blade's offset from +y toward +z in body axes."""
        return 0.0 if side == self.control else -self.feather

    def catch_angle(self, side: Side) -> float:
        """Roll angle [rad] at which that side's power face is upright."""
        return -self.blade_angle(side)

    def blade_centre(self, side: Side) -> Array:
        """Centre of mass of a blade, ndarray (3,) [m] in body axes."""
        blade, turn = getattr(self, side), rotation_about_x(self.blade_angle(side))
        return turn @ [blade.x, blade.offset, blade.across]

    def bodies(self) -> list[tuple[float, Array, Array]]:
        """The rigid bodies: (mass [kg], centre (3,) [m], inertia (3, 3) about it [kg·m²])."""
        parts = [(self.shaft.mass, np.zeros(3), self.shaft.inertia)]
        for side in SIDES:
            blade, turn = getattr(self, side), rotation_about_x(self.blade_angle(side))
            parts.append((blade.mass, self.blade_centre(side), turn @ blade.inertia @ turn.T))
        for weight in self.counterweights:
            centre = np.array([weight.x, 0.0, 0.0])
            centre += rotation_about_x(weight.angle) @ [0.0, weight.arm, 0.0]
            parts.append((weight.mass, centre, np.zeros((3, 3))))
        return parts

    @property
    def mass(self) -> float:
        """Total mass [kg]."""
        return sum(mass for mass, _, _ in self.bodies())

    def first_moment(self) -> Array:
        """First moment of mass about O, ndarray (3,) [kg·m] in body axes."""
        return np.sum([mass * centre for mass, centre, _ in self.bodies()], axis=0)

    def unbalance(self) -> Array:
        """Unbalance vector, the first moment across the shaft: ndarray (2,) [kg·m]."""
        return self.first_moment()[1:]

    def inertia(self) -> Array:
        """Inertia tensor about O, ndarray (3, 3) [kg·m²] in body axes."""
        total = np.zeros((3, 3))
        for mass, centre, own in self.bodies():
            total += own + mass * (centre @ centre * np.eye(3) - np.outer(centre, centre))
        return total

    @property
    def balance_point(self) -> float:
        """Place of the centre of mass along the shaft [m] from its mid-length."""
        return self.first_moment()[0] / self.mass

    @property
    def volume(self) -> float:
        """Water displaced when immersed [m³], counterweights included."""
        pieces = sum(weight.mass / weight.density for weight in self.counterweights)
        return self.shaft.volume + self.left.volume + self.right.volume + pieces

    @property
    def flotation(self) -> float:
        """Mass [kg] the immersed paddle can still carry in fresh water; negative sinks."""
        return WATER_DENSITY * self.volume - self.mass

    def half(self, x: float) -> Side:
        """The side, 'left' or 'right', of the half on which the place x [m] lies."""
        return "left" if x < self.ferrule_x else "right"

    def with_feather(self, feather_deg: float) -> Paddle:
        """The paddle at another feather; weights turn with the half they sit on."""
        feather = math.radians(feather_deg)
        turned = tuple(
            weight
            if self.half(weight.x) == self.control
            else replace(weight, angle=weight.angle - (feather - self.feather))
            for weight in self.counterweights
        )
        return replace(self, feather=feather, counterweights=turned)

    def without_counterweights(self) -> Paddle:
        """The paddle with all counterweights taken off."""
        return replace(self, counterweights=())

    def with_counterweights(self, *counterweights: Counterweight) -> Paddle:
        """The paddle with these counterweights added."""
        return replace(self, counterweights=self.counterweights + counterweights)


def rotation_about_x(angle):
    """Rotation matrix (3, 3) by `angle` [rad] about +x, right-hand rule."""
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
