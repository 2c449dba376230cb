"""Mesh integrals, reading meshes, their faults and repairs."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import trimesh

from paddlebal import InputError, load_mesh
from paddlebal.blade import BladeShape, blade_body, blade_surface
from paddlebal.mending import crossing_edges
from paddlebal.mesh import shell_body, solid_body, together

SHAPE = BladeShape()
MASS = 0.2


def blade_mesh(stations=16, around=24):
    """The example blade in millimetres."""
    vertices, faces = blade_surface(SHAPE, stations, around)
    return trimesh.Trimesh(1e3 * vertices, faces, process=False)


@pytest.fixture
def stored(tmp_path):
    """Write a mesh to a file and give its path."""

    def write(mesh, name="blade.stl"):
        path = tmp_path / name
        mesh.export(path)
        return path

    return write


def complaint(*arguments, **options):
    with pytest.raises(InputError) as caught:
        load_mesh(*arguments, **options)
    message = str(caught.value)
    assert message.count("\n") == 0 and message.endswith(".")
    return message


def test_side_middles_carry_the_second_moments_of_a_triangle():
    rng = np.random.default_rng(5)
    triangle = rng.normal(size=(1, 3, 3))
    body = shell_body(triangle, 2.0)
    u, v = rng.random((2, 400_000))
    u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
    a, b, c = triangle[0]
    points = a + u[:, None] * (b - a) + v[:, None] * (c - a) - body.centre
    second = body.mass * points.T @ points / len(points)
    assert body.mass == pytest.approx(np.linalg.norm(np.cross(b - a, c - a)))
    assert body.inertia == pytest.approx(np.trace(second) * np.eye(3) - second, abs=0.02)


def test_bodies_come_together_by_the_parallel_axis_theorem():
    boxes = [trimesh.creation.box((0.2, 0.1, 0.1)) for _ in range(2)]
    boxes[0].apply_translation([0.1, 0, 0])
    boxes[1].apply_translation([0.3, 0, 0])
    joined = together(*(solid_body(box.triangles, 50.0) for box in boxes))
    whole = trimesh.creation.box((0.4, 0.1, 0.1))
    whole.apply_translation([0.2, 0, 0])
    once = solid_body(whole.triangles, 50.0)
    for got, expected in zip(joined, once, strict=True):
        assert got == pytest.approx(expected, abs=1e-15)


@pytest.mark.parametrize("ending", ["stl", "obj", "ply", "3mf"])
@pytest.mark.parametrize("kind", ["solid", "shell"])
def test_every_format_gives_the_same_body(stored, ending, kind):
    mesh = blade_mesh()
    imported = load_mesh(stored(mesh, f"blade.{ending}"), "mm", MASS, kind)
    triangles = 1e-3 * mesh.triangles
    integrate = solid_body if kind == "solid" else shell_body
    whole = integrate(triangles, 1.0)
    expected = integrate(triangles, MASS / whole.mass)
    assert imported.changes == ()
    assert imported.body.mass == pytest.approx(MASS, rel=1e-12)
    assert imported.body.centre == pytest.approx(expected.centre, abs=1e-7)
    assert imported.body.inertia == pytest.approx(expected.inertia, rel=1e-5, abs=1e-9)
    assert imported.body.volume == pytest.approx(1e-9 * mesh.volume, rel=1e-5)
    assert len(imported.vertices) == len(mesh.vertices)


@pytest.mark.parametrize(("unit", "per_metre"), [("m", 1), ("cm", 100), ("in", 1 / 0.0254)])
def test_units_and_place(stored, unit, per_metre):
    mesh = blade_mesh().apply_scale(1e-3 * per_metre)
    moved = load_mesh(stored(mesh, "blade.obj"), unit, MASS, "solid", x=0.1).body
    assert moved.centre[0] == pytest.approx(1e-3 * blade_mesh().center_mass[0] + 0.1, abs=1e-6)


def test_a_wrong_unit_is_told_with_the_right_one(stored):
    path = stored(blade_mesh())
    message = complaint(path, "m", MASS, "solid")
    assert "blade.stl" in message and "in unit 'm'" in message and "'mm'" in message
    assert "drawn in millimeter" in complaint(stored(blade_mesh(), "b.3mf"), "cm", MASS, "solid")


def test_a_mesh_drawn_along_another_axis_is_refused(stored):
    mesh = blade_mesh()
    mesh.vertices = mesh.vertices[:, [1, 2, 0]]
    assert "longest along z" in complaint(stored(mesh), "mm", MASS, "solid")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("furlong", MASS, "solid"), "'unit'"),
        (("mm", MASS, "hull"), "'kind'"),
        (("mm", 0.0, "solid"), "'mass'"),
        (("mm", float("nan"), "solid"), "'mass'"),
        (("mm", 175, "solid"), "above 0, at most 100 kg"),
    ],
)
def test_wrong_words_are_refused(stored, arguments, words):
    assert words in complaint(stored(blade_mesh()), *arguments)


def test_what_is_no_mesh_is_refused(tmp_path):
    told = complaint(tmp_path / "no.stl", "mm", MASS, "solid")
    assert "no.stl: cannot be read (No such file or directory)" in told
    (tmp_path / "blade.step").write_text("ISO-10303-21;")
    assert "expected a mesh file" in complaint(tmp_path / "blade.step", "mm", MASS, "solid")
    for ending in ("stl", "obj", "ply", "3mf"):
        path = tmp_path / f"empty.{ending}"
        path.write_bytes(b"")
        assert path.name in complaint(path, "mm", MASS, "solid")


@pytest.mark.parametrize("ending", ["stl", "obj", "ply", "3mf"])
def test_a_file_cut_short_never_gives_a_body(stored, ending):
    whole = stored(blade_mesh(6, 8), f"whole.{ending}")
    content = whole.read_bytes()
    for share in np.linspace(0.05, 0.95, 10):
        cut = whole.with_stem("cut")
        cut.write_bytes(content[: int(share * len(content))])
        assert f"cut.{ending}" in complaint(cut, "mm", MASS, "solid")


def test_a_vertex_that_is_no_number_is_refused(stored):
    path = stored(blade_mesh(6, 8), "blade.obj")
    lines = path.read_text().splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith("v "))
    lines[first] = "v nan 0 0"
    path.write_text("\n".join(lines))
    assert "not finite" in complaint(path, "mm", MASS, "solid")


def test_a_face_of_a_missing_vertex_is_refused(stored):
    path = stored(blade_mesh(6, 8), "blade.obj")
    path.write_text(path.read_text() + "\nf 1 2 9999\n")
    assert "blade.obj" in complaint(path, "mm", MASS, "solid")
    path = path.with_suffix(".ply")
    path.write_text(
        "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\n"
        "property float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n"
        "0 0 0\n400 0 0\n0 100 0\n3 0 1 9\n"
    )
    assert "faces that name a vertex it does not have" in complaint(path, "mm", MASS, "shell")


def test_an_open_mesh_is_mended_only_when_asked(stored):
    mesh = blade_mesh()
    full = mesh.volume
    mesh.update_faces(np.arange(len(mesh.faces)) >= 2)
    path = stored(mesh)
    before = path.read_bytes()
    message = complaint(path, "mm", MASS, "solid")
    assert "not closed (6 open edges)" in message
    assert "repair=True would" in message and "kind='shell'" in message
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert mended.changes[0].startswith("2 faces added to fill holes, 0.")
    assert mended.body.volume == pytest.approx(1e-9 * full, rel=1e-3)
    assert path.read_bytes() == before
    shell = load_mesh(path, "mm", MASS, "shell")
    assert shell.body.mass == pytest.approx(MASS) and shell.body.volume == 0


def test_a_shell_is_mended_and_stays_open(stored):
    mesh = blade_mesh()
    mesh.update_faces(np.arange(len(mesh.faces)) >= 2)
    mesh.faces = np.vstack([mesh.faces, mesh.faces[:1]])
    path = stored(mesh)
    assert "faces given twice" in complaint(path, "mm", MASS, "shell")
    mended = load_mesh(path, "mm", MASS, "shell", repair=True)
    assert mended.changes == ("1 faces given twice dropped",)


def without_tip(shape):
    vertices, faces = blade_surface(shape, 16, 24)
    return trimesh.Trimesh(1e3 * vertices, faces[:-24], process=False)


def test_a_missing_tip_is_closed_when_asked(stored):
    flat = replace(SHAPE, depth=0.0)
    mended = load_mesh(stored(without_tip(flat)), "mm", MASS, "solid", repair=True)
    assert mended.changes[0].startswith("22 faces added to fill holes")
    assert mended.body.volume == pytest.approx(blade_body(flat).volume, rel=0.03)


def test_a_missing_tip_with_a_bent_rim_is_closed_too(stored):
    shape = replace(SHAPE, depth=0.06)
    mended = load_mesh(stored(without_tip(shape)), "mm", MASS, "solid", repair=True)
    assert mended.body.volume == pytest.approx(blade_body(shape).volume, rel=0.05)


def without_patch(mesh, count, rng):
    """The mesh without so many faces that hang together."""
    beside: dict[Any, Any] = {}
    for one, other in mesh.face_adjacency:
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    reached = [int(rng.integers(len(mesh.faces)))]
    for face in reached:
        reached += [each for each in beside[face] if each not in reached]
        if len(reached) >= count:
            break
    kept = np.setdiff1d(np.arange(len(mesh.faces)), reached[:count])
    return trimesh.Trimesh(mesh.vertices, mesh.faces[kept], process=False)


@pytest.mark.parametrize(("count", "least"), [(8, 11), (16, 9)])
def test_most_holes_are_closed_and_the_rest_refused_with_a_true_sentence(stored, count, least):
    whole, rng, closed = blade_mesh(24, 24), np.random.default_rng(1), 0
    expected = load_mesh(stored(whole, "whole.stl"), "mm", MASS, "solid").body
    for number in range(15):
        path = stored(without_patch(whole, count, rng), f"{number}.stl")
        try:
            body = load_mesh(path, "mm", MASS, "solid", repair=True).body
        except InputError as error:
            told = str(error)
            assert "could not mend" in told and "(0 open edges)" not in told
        else:
            closed += 1
            assert body.centre == pytest.approx(expected.centre, abs=2e-3)
    assert closed >= least


def test_a_mesh_inside_out_is_turned_when_asked(stored):
    mesh = blade_mesh()
    expected = load_mesh(stored(mesh, "good.stl"), "mm", MASS, "solid").body
    mesh.invert()
    path = stored(mesh)
    assert "inside out" in complaint(path, "mm", MASS, "solid")
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert mended.changes == (f"{len(mesh.faces)} faces turned over",)
    assert mended.body.centre == pytest.approx(expected.centre, abs=1e-9)
    assert mended.body.volume == pytest.approx(expected.volume, rel=1e-9)


def test_mixed_winding_is_turned_alike_when_asked(stored):
    mesh = blade_mesh()
    mesh.faces[5:9] = mesh.faces[5:9, ::-1]
    path = stored(mesh, "blade.obj")
    assert "wound both ways" in complaint(path, "mm", MASS, "solid")
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert mended.changes == ("4 faces turned over",)


def boxes_apart():
    boxes = [trimesh.creation.box(size) for size in ((400, 100, 20), (300, 100, 10))]
    boxes[1].apply_translation([0, 0, 50])
    return boxes


def test_several_parts_are_mended_each(stored):
    one, other = boxes_apart()
    mesh = one + other
    mesh.faces[[0, 15]] = mesh.faces[[0, 15], ::-1]
    path = stored(mesh, "blade.obj")
    assert "wound both ways" in complaint(path, "mm", MASS, "solid")
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert mended.changes == ("2 faces turned over",)
    assert mended.body.volume == pytest.approx(1e-9 * (400 * 2000 + 300 * 1000), rel=1e-6)


def test_one_part_inside_out_is_not_taken_off(stored):
    boxes = boxes_apart()
    boxes[1].invert()
    path = stored(trimesh.util.concatenate(boxes))
    assert "inside out" in complaint(path, "mm", MASS, "solid")
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert mended.changes == ("12 faces turned over",)
    assert mended.body.volume == pytest.approx(1e-9 * (400 * 2000 + 300 * 1000), rel=1e-6)


def test_a_part_within_a_part_is_not_counted_twice(stored):
    boxes = [trimesh.creation.box((400, 100, 20)), trimesh.creation.box((380, 80, 10))]
    path = stored(trimesh.util.concatenate(boxes))
    assert "as a cavity" in complaint(path, "mm", MASS, "solid")
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert mended.body.volume == pytest.approx(1e-9 * (400 * 2000 - 380 * 800), rel=1e-6)


def test_seams_and_empty_or_doubled_faces_are_mended_when_asked(stored):
    mesh = blade_mesh()
    faces = np.vstack([mesh.faces, mesh.faces[:3], [[0, 0, 1]]])
    vertices = np.vstack([mesh.vertices, mesh.vertices[faces[10]] + 1e-5])
    faces[10] = len(mesh.vertices) + np.arange(3)
    path = stored(trimesh.Trimesh(vertices, faces, process=False), "blade.obj")
    message = complaint(path, "mm", MASS, "solid")
    assert "1 faces without area" in message and "3 faces given twice" in message
    mended = load_mesh(path, "mm", MASS, "solid", repair=True)
    assert any(change.startswith("3 vertices joined") for change in mended.changes)
    assert "1 faces without area dropped" in mended.changes
    assert "3 faces given twice dropped" in mended.changes
    assert mended.body.volume == pytest.approx(1e-9 * mesh.volume, rel=1e-6)


def crossed_boxes():
    boxes = [trimesh.creation.box((400, 100, 20)) for _ in range(2)]
    boxes[1].apply_transform(trimesh.transformations.rotation_matrix(0.3, [0, 0, 1]))
    return trimesh.util.concatenate(boxes)


def test_a_surface_that_crosses_itself_is_refused(stored):
    path = stored(crossed_boxes())
    for repair in (False, True):
        assert "crosses itself" in complaint(path, "mm", MASS, "solid", repair=repair)


def test_a_fold_through_itself_is_found():
    mesh = trimesh.creation.icosphere(subdivisions=2)
    assert len(crossing_edges(mesh)) == 0
    mesh.vertices[0] = -1.5 * mesh.vertices[0]
    assert len(crossing_edges(mesh)) > 0


def test_a_cavity_counts_as_hollow(stored):
    outer, inner = trimesh.creation.box((400, 100, 20)), trimesh.creation.box((380, 80, 10))
    inner.invert()
    hollow = trimesh.util.concatenate([outer, inner])
    body = load_mesh(stored(hollow), "mm", MASS, "solid").body
    assert body.volume == pytest.approx(1e-9 * (400 * 100 * 20 - 380 * 80 * 10), rel=1e-6)


def test_the_blade_shape_survives_the_file(stored):
    vertices, faces = blade_surface(SHAPE)
    path = stored(trimesh.Trimesh(1e3 * vertices, faces, process=False))
    imported = load_mesh(path, "mm", MASS, "shell").body
    made = blade_body(SHAPE)
    assert imported.volume == pytest.approx(made.volume, rel=1e-5)
    assert imported.centre == pytest.approx(made.centre, abs=1e-3)
