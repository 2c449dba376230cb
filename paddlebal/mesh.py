"""Triangle meshes: what they weigh, and reading a blade's mesh from a file.

A mesh is taken in the axes of the right blade: x along the shaft from its middle outward, y
away from the power face, z across. Its integrals are exact for the polyhedron that it is: the
solid by the divergence theorem, the shell as mass per area spread over the triangles.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import trimesh
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.paddle import HEAVIEST

UNITS = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 25.4e-3}
"""m in one unit of length that a mesh may be drawn in."""


FORMATS = (".stl", ".obj", ".ply", ".3mf")


LENGTHS = 0.2, 0.8
"""m, between which the length of a blade lies; outside, the unit must be wrong."""


SEAM = 1e-6
"""Vertices nearer to each other than this share of a blade's length are taken as one."""


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
    path = Path(path)
    if kind not in ("solid", "shell"):
        raise InputError(f"is {kind!r}, expected 'solid' or 'shell'", field="kind")
    if not 0 < mass <= HEAVIEST:
        problem = f"is {mass!r}, expected a measured mass above 0, at most {HEAVIEST:g} kg"
        raise InputError(problem, field="mass")
    mesh = _read(path, unit)
    changes = ()
    faults = find_faults(mesh, kind)
    if faults and repair:
        changes = _mend(mesh, kind)
        faults = find_faults(mesh, kind)
    if faults:
        raise InputError(_complaint(mesh, kind, faults, repair), file=path)
    if kind == "solid":
        body = solid_body(mesh.triangles, mass / mesh.volume)
    else:
        body = shell_body(mesh.triangles, mass / mesh.area)
        body = body._replace(volume=abs(float(mesh.volume)) if mesh.is_watertight else 0.0)
    shift = np.array([x, 0.0, 0.0])
    body = body._replace(centre=body.centre + shift)
    return ImportedMesh(np.array(mesh.vertices) + shift, np.array(mesh.faces), body, changes)


def _read(path, unit):
    """The file's mesh in metres, vertices joined, its size checked."""
    if unit not in UNITS:
        raise InputError(f"is {unit!r}, expected one of {', '.join(UNITS)}", field="unit")
    if path.suffix.lower() not in FORMATS:
        raise InputError(f"expected a mesh file, one of {', '.join(FORMATS)}", file=path)
    try:
        with open(path, "rb") as stream:
            mesh = trimesh.load_mesh(stream, path.suffix[1:].lower(), process=False)
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror})", file=path) from error
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


def find_faults(mesh, kind):
    """The faults of a trimesh mesh as a blade of this kind, each with what mends it.

    Returns
    -------
    dict[str, str or None]
        Fault to repair, None where it cannot be mended.
    """
    faults: dict[str, str | None] = {}
    empty, doubled = ~mesh.nondegenerate_faces(), ~mesh.unique_faces()
    if empty.any():
        faults[f"{empty.sum()} faces without area"] = "drop them"
    if doubled.any():
        faults[f"{doubled.sum()} faces given twice"] = "drop the copies"
    if kind == "solid" and not mesh.is_watertight:
        borders = len(open_edges(mesh))
        faults[f"a surface that is not closed ({borders} open edges)"] = (
            "join vertices that all but touch and fill the holes with flat faces"
        )
    if not mesh.is_winding_consistent and (kind == "solid" or mesh.is_watertight):
        faults["faces wound both ways"] = "turn them alike"
    elif kind == "solid" and mesh.is_watertight and parts_inside_out(mesh):
        faults["its inside out (parts of negative volume, or a part within a part)"] = (
            "turn the outer parts outward and take a part within a part as a cavity"
        )
    crossings = len(crossing_edges(mesh))
    if crossings:
        faults[f"a surface that crosses itself ({crossings} edges through faces)"] = None
    return faults


def open_edges(mesh):
    """Edges (n, 2) that belong to a single face."""
    edges, count = np.unique(mesh.edges_sorted, axis=0, return_counts=True)
    return edges[count == 1]


def parts_inside_out(mesh):
    """Closed parts wound the wrong way, each as the indices of its faces.

    A part that lies within an odd number of others is a cavity, wound inward; every other
    part is wound outward.
    """
    faces = np.arange(len(mesh.faces))
    parts = trimesh.graph.connected_components(mesh.face_adjacency, nodes=faces, min_len=1)
    solids = [mesh.submesh([part], append=True, repair=False) for part in parts]
    wrong = []
    for part, solid in zip(parts, solids, strict=True):
        others = (other for other in solids if other is not solid)
        cavity = sum(other.contains(solid.vertices[:1])[0] for other in others) % 2 == 1
        if (solid.volume < 0) != cavity:
            wrong.append(part)
    return wrong


def crossing_edges(mesh):
    """Edges (n, 2) that pass through the inside of a face with which they share no vertex.

    The ends of the edge lie on both sides of the face, and the edge turns the same way round
    all three sides: five volumes of tetrahedra, by sign.
    """
    edges, corners = mesh.edges_unique, mesh.vertices[mesh.edges_unique]
    found, counts = mesh.triangles_tree.intersection_v(corners.min(axis=1), corners.max(axis=1))
    edge = np.repeat(np.arange(len(edges)), counts.astype(int))
    face = found.astype(int)
    apart = (edges[edge][:, :, None] != mesh.faces[face][:, None, :]).all(axis=(1, 2))
    edge, face = edge[apart], face[apart]
    p, q = corners[edge].swapaxes(0, 1)
    a, b, c = mesh.triangles[face].swapaxes(0, 1)

    def sign(a, b, c, d):
        return np.sign(np.einsum("ij,ij->i", np.cross(b - a, c - a), d - a))

    sides = sign(p, q, a, b), sign(p, q, b, c), sign(p, q, c, a)
    through = (sides[0] != 0) & (sides[0] == sides[1]) & (sides[1] == sides[2])
    across = sign(a, b, c, p) * sign(a, b, c, q) < 0
    return edges[np.unique(edge[through & across])]


def _mend(mesh, kind):
    """Mend a mesh in place; what was changed, in words."""
    changes = []

    def note(count, words):
        if count:
            changes.append(f"{count} {words}")

    note(_join(mesh), f"vertices joined that were nearer than {SEAM * mesh.extents.max():.0e} m")
    for kept, words in (
        (mesh.nondegenerate_faces, "faces without area dropped"),
        (mesh.unique_faces, "faces given twice dropped"),
    ):
        mask = kept()
        mesh.update_faces(mask)
        note((~mask).sum(), words)
    mesh.remove_unreferenced_vertices()
    before = len(mesh.faces)
    if kind == "solid" and not mesh.is_watertight:
        trimesh.repair.fill_holes(mesh, use_fan=True)
        note(len(mesh.faces) - before, "faces added to fill holes")
    before = mesh.faces.copy()
    if not mesh.is_winding_consistent:
        trimesh.repair.fix_winding(mesh)
    if kind == "solid" and mesh.is_watertight:
        faces = mesh.faces.copy()
        for part in parts_inside_out(mesh):
            faces[part] = faces[part, ::-1]
        mesh.faces = faces
    note((_winding(before) != _winding(mesh.faces)).sum(), "faces turned over")
    return tuple(changes)


def _join(mesh):
    """Make one of vertices that all but touch; how many went."""
    near = cKDTree(mesh.vertices).query_pairs(SEAM * mesh.extents.max(), output_type="ndarray")
    count = len(mesh.vertices)
    links = coo_array((np.ones(len(near)), near.T), shape=(count, count))
    clusters, label = connected_components(links, directed=False)
    _, first = np.unique(label, return_index=True)
    mesh.faces = first[label][mesh.faces]
    return count - clusters


def _winding(faces):
    """Whether each face runs round its vertices upwards in number."""
    first = np.argmin(faces, axis=1)
    turned = np.take_along_axis(faces, (first[:, None] + [0, 1, 2]) % 3, axis=1)
    return turned[:, 1] < turned[:, 2]


def _complaint(mesh, kind, faults, repaired):
    found = f"has {', '.join(faults)}"
    mends = [mend for mend in faults.values() if mend]
    if repaired:
        return f"{found}, which the repair could not mend"
    if len(mends) < len(faults):
        return f"{found}, which no repair here can mend: correct it where it was drawn"
    shell = kind == "solid" and not mesh.is_watertight
    instead = "; if it is meant as an open shell, say kind='shell'" if shell else ""
    return f"{found}; repair=True would {', '.join(mends)}{instead}"
