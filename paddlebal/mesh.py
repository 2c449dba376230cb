"""Triangle meshes: what they weigh, and reading a blade's mesh from a file.

A mesh is taken in the axes of the right blade: x along the shaft from its middle outward, y
away from the power face, z across. Its integrals are exact for the polyhedron that it is: the
solid by the divergence theorem, the shell as mass per area spread over the triangles.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import NamedTuple

import numpy as np
import trimesh

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.mending import complaint, find_faults, mend
from paddlebal.paddle import HEAVIEST

UNITS = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 25.4e-3}
"""m in one unit of length that a mesh may be drawn in."""


FORMATS = (".stl", ".obj", ".ply", ".3mf")


LENGTHS = 0.2, 0.8
"""m, between which the length of a blade lies; outside, the unit must be wrong."""


class Body(NamedTuple):
    """A rigid body: mass [kg], centre of mass (3,) [m], inertia (3, 3) about it [kg·m²],
    volume [m³] it takes up in water."""

    mass: float
    centre: Array
    inertia: Array
    volume: float


class ImportedMesh(NamedTuple):
    """A mesh from a file [m], its body scaled to the measured mass, what a repair changed."""

    vertices: Array
    faces: Array
    body: Body
    changes: tuple[str, ...]


def inertia_of(centred, masses):
    """Inertia (3, 3) [kg·m²] of point masses (n,) at (n, 3), about the origin."""
    second = np.einsum("n,ni,nj->ij", masses, centred, centred)
    return np.trace(second) * np.eye(3) - second


def shell_body(triangles: Array, surface_density: float) -> Body:
    """The body of a shell, kg/m² spread over triangles (n, 3, 3) [m]; it takes up no volume.

    A third of a triangle's mass at the middle of each side has the triangle's mass, first and
    second moments: the rule is exact for quadratics.

    Parameters
    ----------
    triangles : ndarray (n, 3, 3)
        m.
    surface_density : float
        kg/m².

    Returns
    -------
    Body
    """
    sides = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    area = np.linalg.norm(np.cross(*sides), axis=1) / 2
    middles = ((triangles + np.roll(triangles, 1, axis=1)) / 2).reshape(-1, 3)
    masses = np.repeat(surface_density * area / 3, 3)
    mass = masses.sum()
    centre = masses @ middles / mass
    return Body(mass, centre, inertia_of(middles - centre, masses), 0.0)


def solid_body(triangles: Array, density: float) -> Body:
    """The body of the solid [kg/m³] that closed, outward triangles (n, 3, 3) [m] enclose.

    Parameters
    ----------
    triangles : ndarray (n, 3, 3)
        m.
    density : float
        kg/m³.

    Returns
    -------
    Body
    """
    solid = trimesh.triangles.mass_properties(triangles, density=1.0)
    inertia = density * np.asarray(solid.inertia)
    return Body(density * solid.volume, np.asarray(solid.center_mass), inertia, float(solid.volume))


def together(*bodies):
    """Several bodies as one rigid body."""
    masses = np.array([body.mass for body in bodies])
    centres = np.array([body.centre for body in bodies])
    centre = masses @ centres / masses.sum()
    inertia = sum(body.inertia for body in bodies) + inertia_of(centres - centre, masses)
    return Body(masses.sum(), centre, inertia, sum(body.volume for body in bodies))


def load_mesh(
    path: str | Path, unit: str, mass: float, kind: str, *, x: float = 0.0, repair: bool = False
) -> ImportedMesh:
    """Read a blade's mesh and scale it to the measured mass.

    Parameters
    ----------
    path : str or Path
        STL, OBJ, PLY or 3MF, drawn in the axes of the right blade.
    unit : str
        What the file's lengths are in: 'm', 'cm', 'mm' or 'in'.
    mass : float
        Measured mass of the blade [kg], spread evenly over the volume or the surface.
    kind : str
        'solid': the mesh is closed and full; 'shell': mass lies on the surface, which may be
        open. An open shell displaces no water here, as its thickness is not known.
    x : float
        Place of the drawing's origin along the shaft [m].
    repair : bool
        Mend what can be mended. Nothing is mended unasked and the file is never changed.

    Returns
    -------
    ImportedMesh
        With `changes` that say in words what a repair altered.

    Raises
    ------
    InputError
        One sentence naming the file: not readable, no faces, vertices that are not numbers,
        a length no blade has (wrong unit), x not along the shaft, or faults (open, inside
        out, faces wound both ways, empty or doubled faces, surface crossing itself) with what
        a repair would do.

    Notes
    -----
    STL repeats each vertex in every face; vertices with the very same coordinates are joined
    on reading. A crossing is an edge that passes through the inside of a face it does not
    touch; faces that lie on each other, or that meet only at an edge, are not found, and a
    crossing is not mended: the program that drew the mesh has to unite the parts. The search
    takes some 8 s for 100 000 faces.
    """
    try:
        content = Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror})", file=path) from error
    return parse_mesh(content, Path(path), unit, mass, kind, x=x, repair=repair)


def parse_mesh(
    content: bytes,
    file: Path,
    unit: str,
    mass: float,
    kind: str,
    *,
    x: float = 0.0,
    turn: Array | None = None,
    repair: bool = False,
) -> ImportedMesh:
    """The mesh in a file's content; arguments and errors as for `load_mesh`.

    turn (3, 3) brings the drawing's axes to those of the right blade.
    """
    if kind not in ("solid", "shell"):
        raise InputError(f"is {kind!r}, expected 'solid' or 'shell'", field="kind")
    if not 0 < mass <= HEAVIEST:
        problem = f"is {mass!r}, expected a measured mass above 0, at most {HEAVIEST:g} kg"
        raise InputError(problem, field="mass")
    mesh = _read(content, file, unit, np.eye(3) if turn is None else turn)
    changes: tuple[str, ...] = ()
    faults = find_faults(mesh, kind)
    if faults and repair:
        changes = mend(mesh, kind)
        faults = find_faults(mesh, kind)
    if faults:
        raise InputError(complaint(mesh, kind, faults, repair), file=file)
    if kind == "solid":
        body = solid_body(mesh.triangles, mass / mesh.volume)
    else:
        body = shell_body(mesh.triangles, mass / mesh.area)
        body = body._replace(volume=abs(float(mesh.volume)) if mesh.is_watertight else 0.0)
    shift = np.array([x, 0.0, 0.0])
    body = body._replace(centre=body.centre + shift)
    return ImportedMesh(np.array(mesh.vertices) + shift, np.array(mesh.faces), body, changes)


def _read(content, path, unit, turn):
    """The file's mesh in metres, turned, vertices joined, its size checked."""
    if unit not in UNITS:
        raise InputError(f"is {unit!r}, expected one of {', '.join(UNITS)}", field="unit")
    if path.suffix.lower() not in FORMATS:
        raise InputError(f"expected a mesh file, one of {', '.join(FORMATS)}", file=path)
    try:
        mesh = trimesh.load_mesh(io.BytesIO(content), path.suffix[1:].lower(), process=False)
    except Exception as error:  # a broken file can fail anywhere in a reader
        told = " ".join(str(error).split())
        raise InputError(f"is not a complete {path.suffix[1:]} file ({told})", file=path) from error
    if len(mesh.faces) == 0:
        raise InputError("has no faces, expected a surface of triangles", file=path)
    if not np.isfinite(mesh.vertices).all():
        raise InputError("has vertices that are not finite numbers", file=path)
    if mesh.faces.min() < 0 or mesh.faces.max() >= len(mesh.vertices):
        raise InputError("has faces that name a vertex it does not have", file=path)
    own = trimesh.units.unit_conversion(mesh.units, "meters") if mesh.units else UNITS[unit]
    if not np.isclose(own, UNITS[unit]):
        raise InputError(f"says itself that it is drawn in {mesh.units}, not '{unit}'", file=path)
    mesh.vertices = mesh.vertices @ turn.T
    _check_size(mesh.extents, unit, path)
    mesh.apply_scale(UNITS[unit])
    mesh.merge_vertices(digits_vertex=15)
    return mesh


def _check_size(extents, unit, path):
    longest, (low, high) = extents.max(), LENGTHS
    if not low <= longest * UNITS[unit] <= high:
        fitting = [f"'{name}'" for name, size in UNITS.items() if low <= longest * size <= high]
        hint = f"; its unit could be {' or '.join(fitting)}" if fitting else ""
        raise InputError(
            f"is {longest * UNITS[unit]:.4g} m long in unit '{unit}', expected a blade of "
            f"{low} to {high} m{hint}",
            file=path,
        )
    if extents[0] < longest:
        along = "xyz"[extents.argmax()]
        raise InputError(f"is longest along {along}, expected x along the shaft", file=path)
