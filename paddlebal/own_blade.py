"""A designer's own blade, from a drawing: brought to the shaft, looked at, cranked."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from paddlebal.arrays import Array
from paddlebal.blade import BladeShape, cranked
from paddlebal.errors import InputError
from paddlebal.mesh import Body, ImportedMesh, parse_mesh

AXES = ("+x", "-x", "+y", "-y", "+z", "-z")

OFF_AXIS = 0.04
"""m from the shaft's axis beyond which the place where a blade begins is doubted."""

NEAR_ROOT = 0.48
"""Share of the length below which a centre of mass lies too near to where the blade begins."""

DENSITIES = 50.0, 2500.0
"""kg/m³ between which a solid blade's density is believed."""


class Placed(NamedTuple):
    """How a drawing is brought to the shaft.

    Parameters
    ----------
    along, back : str
        The drawing's axes, such as '+x', that point to the tip and away from the power face.
    begin : float
        Where the blade begins along the shaft [m].
    on_axis : bool
        Whether the middle of that end is moved onto the shaft's axis.
    """

    along: str = "+x"
    back: str = "+y"
    begin: float = BladeShape.root
    on_axis: bool = False


class Doubt(NamedTuple):
    """What is not plausible about a drawing, and what would mend it: None if nothing here can."""

    words: str
    mend: Placed | None


@dataclass(frozen=True, eq=False)
class MeshShape:
    """A blade from a drawing, in the axes of the right blade; see `BladeShape` for the rest.

    Its crank counts from the drawing, about the place where it begins. How deep its hollow is
    is not known: depth is nan.

    Parameters
    ----------
    mesh : ImportedMesh
        On the shaft.
    crank : float
        rad.
    """

    mesh: ImportedMesh
    crank: float = 0.0

    @property
    def depth(self) -> float:
        """Of the hollow: not known."""
        return float("nan")

    @property
    def root(self) -> float:
        """Where the blade begins along the shaft [m]."""
        return float(self.mesh.vertices[:, 0].min())

    @property
    def crank_point(self) -> float:
        """Where it is bent, along the shaft [m]."""
        return self.root

    @property
    def length(self) -> float:
        """Along the shaft [m]."""
        return float(np.ptp(self.mesh.vertices[:, 0]))

    @property
    def width(self) -> float:
        """Across the shaft [m]."""
        return float(np.ptp(self.mesh.vertices[:, 2]))

    def straight(self) -> Body:
        """The blade as it is drawn."""
        return self.mesh.body

    def net(self, stations: int, around: int) -> Array:
        """Rings (stations, around, 3) [m] round the cranked blade, to draw it.

        Each ring is the outline of what lies near its station; hollows within it do not show.
        """
        points = self.mesh.vertices[np.unique(self.mesh.faces)]
        places = self.root + self.length * np.linspace(0.01, 0.99, stations)
        near = self.length / stations
        ways = 2 * np.pi * np.arange(around) / around
        units = np.stack([np.cos(ways), np.sin(ways)])
        rings = []
        for x in places:
            distance = np.abs(points[:, 0] - x)
            band = points[distance <= max(near, np.partition(distance, 2)[2])]
            outer = band[np.argmax(band[:, 1:] @ units, axis=0)]
            rings.append(np.column_stack([np.full(around, x), outer[:, 1:]]))
        return cranked(np.array(rings), self.crank_point, self.crank)


def own_blade(
    content: bytes,
    name: str,
    unit: str,
    mass: float,
    kind: str,
    placed: Placed | None = None,
    repair: bool = False,
) -> MeshShape:
    """A blade from the content of a mesh file.

    Parameters
    ----------
    content : bytes
    name : str
        Of the file; its ending tells the format.
    unit, mass, kind
        As for `load_mesh`.
    placed : Placed, optional
    repair : bool
        As for `load_mesh`.

    Returns
    -------
    MeshShape

    Raises
    ------
    InputError
        As for `load_mesh`, and if the two axes are on one line.
    """
    placed = placed or Placed()
    turn = _turn(placed.along, placed.back)
    mesh = parse_mesh(content, Path(name), unit, mass, kind, turn=turn, repair=repair)
    shift = np.array([placed.begin - mesh.vertices[:, 0].min(), 0.0, 0.0])
    if placed.on_axis:
        shift[1:] = -_root_middle(mesh)
    body = mesh.body._replace(centre=mesh.body.centre + shift)
    return MeshShape(mesh._replace(vertices=mesh.vertices + shift, body=body))


def _turn(along, back):
    first, second = (_axis(name) for name in (along, back))
    third = np.cross(first, second)
    if not third.any():
        problem = f"is {back!r}, expected an axis across {along!r}"
        raise InputError(problem, field="away from the power face")
    return np.stack([first, second, third])


def _axis(name):
    if name not in AXES:
        raise InputError(f"is {name!r}, expected one of {', '.join(AXES)}", field="axis")
    return (1.0 if name[0] == "+" else -1.0) * np.eye(3)["xyz".index(name[1])]


def _opposite(name):
    return ("-" if name[0] == "+" else "+") + name[1]


def _root_middle(mesh):
    """Middle (2,) [m] across the shaft of the first twentieth of the blade."""
    x = mesh.vertices[:, 0]
    first = mesh.vertices[x <= x.min() + 0.05 * np.ptp(x), 1:]
    return (first.min(axis=0) + first.max(axis=0)) / 2


def blade_doubts(shape: MeshShape, placed: Placed, kind: str) -> tuple[Doubt, ...]:
    """What is not plausible about a blade as it was brought to the shaft.

    Parameters
    ----------
    shape : MeshShape
        As `own_blade` made it.
    placed : Placed
        How it was brought there.
    kind : str
        'solid' or 'shell'.

    Returns
    -------
    tuple of Doubt
    """
    found, mesh, body = [], shape.mesh, shape.mesh.body
    thick, wide = np.ptp(mesh.vertices[:, 1:], axis=0)
    across = next(n for n in ("+x", "+y", "+z") if n[1] not in placed.along + placed.back)
    if thick > wide:
        words = (
            f"It is {1e3 * thick:.0f} mm thick and {1e3 * wide:.0f} mm wide: the axis away from "
            "the power face is another one."
        )
        found.append(Doubt(words, placed._replace(back=across)))
    aside = float(np.hypot(*_root_middle(mesh)))
    if aside > OFF_AXIS:
        words = f"Where it begins, it lies {1e3 * aside:.0f} mm off the shaft's axis."
        found.append(Doubt(words, placed._replace(on_axis=True)))
    elif body.centre[1] < 0 and thick <= wide:
        words = (
            f"Its centre of mass lies {-1e3 * body.centre[1]:.0f} mm on the power face's side of "
            "the shaft: is the power face up instead of down?"
        )
        found.append(Doubt(words, placed._replace(back=_opposite(placed.back))))
    share = (body.centre[0] - shape.root) / shape.length
    if share < NEAR_ROOT:
        words = "Most of it lies near where it begins: does it point to the middle of the shaft?"
        found.append(Doubt(words, placed._replace(along=_opposite(placed.along))))
    if kind == "solid":
        density = body.mass / body.volume
        if not DENSITIES[0] < density < DENSITIES[1]:
            words = f"It would weigh {density:,.0f} kg/m³: look at the mass and the unit."
            found.append(Doubt(words, None))
    return tuple(found)
