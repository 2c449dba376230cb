"""A wing blade from its measures: surface, mass properties, and what the crank does.

The surface is an invention of this project, made to be simple and to have the measures that
matter for roll balance; it follows no maker's blade and claims nothing about flow. Its axes
are those of the right blade, fixed to the shaft: x along the shaft from its middle outward, y
away from the power face, z across. The left blade is its mirror image in x.

The crank turns the whole blade about a point of the shaft axis, so the surface is measured
once, straight, and each crank is a rotation of its centre of mass and inertia. The bent neck
between crank point and blade counts as shaft.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.mesh import Body, shell_body, solid_body, together
from paddlebal.paddle import Blade
from paddlebal.units import STANDARD_GRAVITY

WIDEST = 0.6
"""Share of the length, from the root, at which the blade is widest."""


class CrankedShape(Protocol):
    """A blade that can be cranked: a measured one, or one from a drawing."""

    @property
    def crank(self) -> float: ...
    @property
    def crank_point(self) -> float: ...
    @property
    def root(self) -> float: ...
    @property
    def length(self) -> float: ...
    @property
    def width(self) -> float: ...
    @property
    def depth(self) -> float: ...
    def straight(self) -> Body:
        """The blade before it is cranked, in the axes of the right blade."""

    def net(self, stations: int, around: int) -> Array:
        """Rings (stations, around, 3) [m] of the cranked blade's surface, to draw it."""


@dataclass(frozen=True)
class BladeShape:
    """Measures of a blade: a hollowed, twisted shell of laminate over a light core.

    The values given are an invented example.

    Parameters
    ----------
    length, width : float
        Along and across the shaft [m].
    depth : float
        Of the hollow in the power face [m].
    thickness : float
        Greatest distance between the two faces [m].
    twist : float
        Angle [rad] about +x by which the tip is turned against the root.
    lean : float
        How far the hollow leans to the +z edge, from -1 to 1; 0 is symmetric, a spoon.
    root : float
        Where the blade begins along the shaft [m].
    crank : float
        Angle [rad] by which the blade is bent back, away from the power face.
    crank_point : float
        Where it is bent, along the shaft [m]; not beyond the root.
    shell_thickness, shell_density : float
        Of the laminate [m], [kg/m³].
    core_density : float
        Of the filling [kg/m³]; 0 is hollow.
    """

    length: float = 0.50
    width: float = 0.163
    depth: float = 0.035
    thickness: float = 0.006
    twist: float = math.radians(12)
    lean: float = 0.4
    root: float = 0.66
    crank: float = math.radians(6)
    crank_point: float = 0.62
    shell_thickness: float = 0.8e-3
    shell_density: float = 1500.0
    core_density: float = 60.0

    def __post_init__(self):
        for field in fields(self):
            if not math.isfinite(getattr(self, field.name)):
                raise InputError("expected a finite number", field=field.name)
        for name in ("length", "width", "thickness", "shell_thickness", "shell_density"):
            if getattr(self, name) <= 0:
                raise InputError(f"is {getattr(self, name):g}, expected above 0", field=name)
        if not 0 <= self.core_density < self.shell_density:
            raise InputError("expected from 0 to below shell_density", field="core_density")
        if abs(self.lean) > 1:
            raise InputError(f"is {self.lean:g}, expected from -1 to 1", field="lean")
        if not 0 <= self.crank_point <= self.root:
            raise InputError(
                f"is {self.crank_point:g} m, expected from 0 to the root at {self.root:g} m",
                field="crank_point",
            )

    def straight(self) -> Body:
        """The blade before it is cranked, in the axes of the right blade."""
        return straight_body(self)

    def net(self, stations: int, around: int) -> Array:
        """Rings (stations, around, 3) [m] of the cranked blade's surface, to draw it."""
        vertices, _ = blade_surface(self, stations, around)
        return vertices[:-2].reshape(stations, around, 3)


def blade_surface(
    shape: BladeShape, stations: int = 48, around: int = 64
) -> tuple[Array, NDArray[np.intp]]:
    """Watertight mesh of a blade: vertices (n, 3) [m] and outward faces (m, 3).

    Cross-sections at `stations` places between a pole at the root and one at the tip, each of
    `around` vertices. A section is a thin ellipse bent to the hollow and turned by the twist;
    the outline, sqrt(sin), is round at both ends.

    Parameters
    ----------
    shape : BladeShape
    stations, around : int

    Returns
    -------
    vertices : ndarray (n, 3)
        m.
    faces : ndarray (m, 3)
        Indices of vertices.
    """
    along = (1 - np.cos(np.pi * np.arange(1, stations + 1) / (stations + 1)))[:, None] / 2
    angle = 2 * np.pi * np.arange(around) / around
    outline = np.sqrt(np.sin(np.pi * along ** (math.log(0.5) / math.log(WIDEST))))
    across = np.cos(angle)
    hollow = (1 - across**2) * (1 + shape.lean * across)
    y = outline * (shape.depth * hollow + shape.thickness / 2 * np.sin(angle))
    z = outline * shape.width / 2 * across
    c, s = np.cos(shape.twist * along), np.sin(shape.twist * along)
    x = np.broadcast_to(along * shape.length, y.shape)
    rings = np.stack([x, c * y - s * z, s * y + c * z], axis=-1).reshape(-1, 3)
    poles = np.array([[0.0, 0.0, 0.0], [shape.length, 0.0, 0.0]])
    vertices = np.vstack([rings, poles]) + [shape.root, 0, 0]
    return cranked(vertices, shape.crank_point, shape.crank), _faces(stations, around)


def _faces(stations, around):
    """Triangles of a row of rings closed by two poles, which are the last two vertices."""
    ring = np.arange(around)
    following = (ring + 1) % around
    start = around * np.arange(stations - 1)[:, None]
    a, b = start + ring, start + following
    c, d = a + around, b + around
    root, tip = np.full(around, stations * around), np.full(around, stations * around + 1)
    last = (stations - 1) * around
    parts = [(a, c, b), (b, c, d), (root, ring, following), (tip, last + following, last + ring)]
    return np.vstack([np.stack([p.ravel() for p in part], axis=-1) for part in parts])


def cranked(points, crank_point, crank):
    """Points (..., 3) of the straight blade where the crank brings them."""
    turned = numeric("cranked_centre")(*np.moveaxis(points, -1, 0), crank_point, crank)
    return np.stack(turned, axis=-1)


@lru_cache(maxsize=64)
def _straight(shape, stations, around):
    vertices, faces = blade_surface(shape, stations, around)
    triangles = vertices[faces]
    laminate = shape.shell_thickness * (shape.shell_density - shape.core_density)
    body = together(shell_body(triangles, laminate), solid_body(triangles, shape.core_density))
    for shared in (body.centre, body.inertia):
        shared.flags.writeable = False
    return body


def straight_body(shape, stations=48, around=64):
    """The blade before it is cranked: a `Body` in the axes of the right blade.

    The laminate lies on the surface and takes the place of core there, so it weighs its
    thickness times the difference of the densities per area. On the default mesh the example
    blade's mass is within 0.2 % and its centre of mass within 0.05 mm of a mesh ten times as
    fine. Remembered for the last shapes asked for.
    """
    return _straight(replace(shape, crank=0.0), stations, around)


def blade_body(shape):
    """The cranked blade: a `Body` in the axes of the right blade."""
    body = shape.straight()
    centre = cranked(body.centre, shape.crank_point, shape.crank)
    turn = cranked(np.eye(3), 0.0, shape.crank).T
    return body._replace(centre=centre, inertia=turn @ body.inertia @ turn.T)


def blade_from(body, side, length, width):
    """The `Blade` of a paddle from a body in the axes of the right blade.

    side is 'left' (its mirror image) or 'right'; length and width [m].
    """
    mirror = np.diag([-1.0 if side == "left" else 1.0, 1.0, 1.0])
    x, offset, across = mirror @ body.centre
    inertia = mirror @ body.inertia @ mirror
    return Blade(body.mass, x, offset, length, width, body.volume, inertia, across)


def make_blade(shape, side):
    """The `Blade` of a paddle from a shape; side is 'left' or 'right'."""
    return blade_from(blade_body(shape), side, shape.length, shape.width)


class Design(NamedTuple):
    """What crank and feather make of a paddle with two blades of one shape.

    offset of a blade [m]; unbalance [kg·m]; holding torque [N·m] at the catch of the control
    side and at the other catch, positive against gravity on a blade that hangs back;
    counterweight mass [kg]. As slopes, each per radian of crank.
    """

    offset: Array
    unbalance: Array
    holding_control: Array
    holding_other: Array
    counterweight: Array


def _design(name, shape, crank, feather, arm):
    body = shape.straight()
    values = numeric(name)(
        body.mass, *body.centre, shape.crank_point, crank, feather, arm, STANDARD_GRAVITY
    )
    return Design(*np.broadcast_arrays(*values))


def blade_design(
    shape: CrankedShape, crank: ArrayLike, feather: ArrayLike, arm: ArrayLike
) -> Design:
    """The `Design` at each crank and feather [rad], counterweight on an arm [m]; they broadcast.

    The shape's own crank does not matter.

    Parameters
    ----------
    shape : BladeShape or MeshShape
        Its own crank does not matter.
    crank, feather : array_like (...)
        rad.
    arm : array_like (...)
        Of the counterweight [m].

    Returns
    -------
    Design
        Arrays (...).
    """
    return _design("cranked_design", shape, crank, feather, arm)


def design_slope(
    shape: CrankedShape, crank: ArrayLike, feather: ArrayLike, arm: ArrayLike
) -> Design:
    """Slopes of the `Design` with the crank, per radian, from its symbolic derivative.

    Parameters
    ----------
    shape : BladeShape or MeshShape
        Its own crank does not matter.
    crank, feather : array_like (...)
        rad.
    arm : array_like (...)
        Of the counterweight [m].

    Returns
    -------
    Design
        Slopes per radian, arrays (...).
    """
    return _design("cranked_design_slope", shape, crank, feather, arm)


def design_map(shape: CrankedShape, crank: ArrayLike, feather: ArrayLike, arm: ArrayLike) -> Design:
    """A design over all pairs of crank and feather.

    Parameters
    ----------
    shape : BladeShape or MeshShape
        Its own crank does not matter.
    crank, feather : array_like (n,), (m,)
        rad.
    arm : float
        Of the counterweight [m].

    Returns
    -------
    Design
        Of arrays (n, m).
    """
    return blade_design(shape, np.asarray(crank)[:, None], np.asarray(feather)[None, :], arm)
