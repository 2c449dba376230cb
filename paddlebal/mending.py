"""What is wrong with a mesh as a blade, and how it is mended."""

from __future__ import annotations

import manifold3d
import numpy as np
import trimesh
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

SEAM = 1e-6
"""Vertices nearer to each other than this share of a blade's length are taken as one."""


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
        faces_at, _ = faces_at_edges(mesh)
        borders, crowded = (faces_at == 1).sum(), (faces_at > 2).sum()
        if borders:
            faults[f"a surface that is not closed ({borders} open edges)"] = (
                "join vertices that all but touch and close the holes"
            )
        if crowded:
            faults[f"{crowded} edges at which more than two faces meet"] = None
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


def faces_at_edges(mesh):
    """To how many faces each edge belongs (n,), and which of these each of mesh.edges is (m,)."""
    edges = mesh.edges_sorted
    _, place, count = np.unique(edges, axis=0, return_inverse=True, return_counts=True)
    return count, place.ravel()


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


def mend(mesh, kind):
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
        close_holes(mesh)
        share = mesh.area_faces[before:].sum() / mesh.area
        note(len(mesh.faces) - before, f"faces added to fill holes, {share:.1%} of the surface")
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


def close_holes(mesh):
    """Close each hole whose rim is a simple loop.

    The rim is cut into triangles as its projection on the plane that fits it best. Where that
    would run along an edge that is there, a new vertex in the rim's middle is joined to it.
    """
    vertices, faces = [mesh.vertices], [mesh.faces]
    known, count = set(map(tuple, mesh.edges_unique.tolist())), len(mesh.vertices)
    for rim in map(np.array, _rims(mesh)):
        added = rim[_triangles(mesh.vertices[rim])]
        inner = np.sort(added[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
        again, times = np.unique(inner, axis=0, return_counts=True)
        if len(added) != len(rim) - 2 or known & set(map(tuple, again[times > 1].tolist())):
            middle = np.full(len(rim), count)
            added = np.column_stack([rim, np.roll(rim, -1), middle])
            vertices.append(mesh.vertices[rim].mean(axis=0, keepdims=True))
            count += 1
        faces.append(added)
    mesh.vertices, mesh.faces = np.vstack(vertices), np.vstack(faces)


def _triangles(points):
    """Triangles (n - 2, 3) between the points (n, 3) of a loop, wound as the loop runs."""
    _, _, axes = np.linalg.svd(points - points.mean(axis=0))
    flat = points @ axes[:2].T
    following = np.roll(flat, -1, axis=0)
    if np.sum(flat[:, 0] * following[:, 1] - flat[:, 1] * following[:, 0]) < 0:
        flat[:, 0] *= -1
    return np.asarray(manifold3d.triangulate([flat]), dtype=int).reshape(-1, 3)


def _rims(mesh):
    """Vertices round each hole, in the order in which faces that close it run."""
    count, place = faces_at_edges(mesh)
    ways: dict[int, list[int]] = {}
    for start, stop in mesh.edges[count[place] == 1]:
        ways.setdefault(int(stop), []).append(int(start))
    rims: list[list[int]] = []
    path: list[int] = []
    while any(ways.values()) or path:
        if not path:
            path = [next(here for here, onward in ways.items() if onward)]
        onward = ways.get(path[-1])
        if not onward:
            path = []
            continue
        here = onward.pop()
        if here in path:  # a loop is closed; where rims touch, each is one of its own
            start = path.index(here)
            rims.append(path[start:])
            path = path[:start]
        if path or any(ways.values()):
            path.append(here)
    return [rim for rim in rims if len(rim) > 2]


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


def complaint(mesh, kind, faults, repaired):
    found = f"has {', '.join(faults)}"
    mends = [mend for mend in faults.values() if mend]
    if repaired:
        return f"{found}, which the repair could not mend"
    if len(mends) < len(faults):
        return f"{found}, which no repair here can mend: correct it where it was drawn"
    shell = kind == "solid" and not mesh.is_watertight
    instead = "; if it is meant as an open shell, say kind='shell'" if shell else ""
    return f"{found}; repair=True would {', '.join(mends)}{instead}"
