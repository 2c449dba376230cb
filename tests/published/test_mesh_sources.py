"""Mesh integrals against closed forms and against trimesh on the same mesh.

Solid ellipsoid: V = 4/3 pi a b c, I_x = m (b² + c²) / 5. Thin spherical shell: 2/3 m r². Frustum
of a square pyramid, sides a and b, height h: V = h (a² + ab + b²) / 3 and the centroid at
h (a² + 2ab + 3b²) / (4 (a² + ab + b²)) above side a; its I by integration over its sections.
Textbook formulas of any statics or dynamics course.
"""

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad

from paddlebal.blade import BladeShape, blade_surface
from paddlebal.mesh import shell_body, solid_body


def sphere(refinement):
    return trimesh.creation.icosphere(subdivisions=refinement, radius=1.0)


def test_solid_ellipsoid_converges_with_the_square_of_the_edge():
    axes = np.array([0.25, 0.08, 0.01])
    volume = 4 / 3 * np.pi * axes.prod()
    squares = axes**2
    inertia = 70 * volume / 5 * np.diag(squares.sum() - squares)
    errors = []
    for refinement in (2, 3, 4, 5):
        body = solid_body(sphere(refinement).triangles * axes, 70.0)
        assert body.centre == pytest.approx([0, 0, 0], abs=1e-15)
        errors.append([body.volume / volume - 1, *(np.diag(body.inertia) / np.diag(inertia) - 1)])
    ratios = np.array(errors)[:-1] / np.array(errors)[1:]
    assert ratios[-1] == pytest.approx(4, rel=0.02)
    assert np.abs(errors[-1]).max() < 2e-3


def test_spherical_shell_converges_with_the_square_of_the_edge():
    radius, surface_density = 0.3, 1.2
    mass = 4 * np.pi * radius**2 * surface_density
    errors = []
    for refinement in (2, 3, 4, 5):
        body = shell_body(radius * sphere(refinement).triangles, surface_density)
        own = np.diag(body.inertia) / (2 / 3 * mass * radius**2) - 1
        errors.append([body.mass / mass - 1, *own])
    ratios = np.array(errors)[:-1] / np.array(errors)[1:]
    assert ratios[-1] == pytest.approx(4, rel=0.02)
    assert np.abs(errors[-1]).max() < 2e-3


def test_cylindrical_shell_with_open_ends():
    radius, height, around = 0.0146, 1.4, 20_000
    angle = 2 * np.pi * np.arange(around) / around
    ring = radius * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    low, high = (np.column_stack([ring, np.full(around, z)]) for z in (-height / 2, height / 2))
    following = np.roll(low, -1, axis=0), np.roll(high, -1, axis=0)
    triangles = np.concatenate(
        [np.stack([low, following[0], high], 1), np.stack([following[0], following[1], high], 1)]
    )
    body = shell_body(triangles, 2.0)
    across = body.mass * (radius**2 / 2 + height**2 / 12)
    assert body.mass == pytest.approx(2.0 * 2 * np.pi * radius * height, rel=1e-7)
    expected = np.diag([across, across, body.mass * radius**2])
    assert body.inertia == pytest.approx(expected, rel=1e-7, abs=1e-12)


def test_frustum_is_exact():
    a, b, h, density = 0.3, 0.1, 0.45, 55.0
    corner = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2
    vertices = np.vstack(
        [np.column_stack([side * corner, [z] * 4]) for side, z in ((a, 0.0), (b, h))]
    )
    hull = trimesh.convex.convex_hull(vertices)
    body = solid_body(hull.triangles, density)
    volume = h * (a * a + a * b + b * b) / 3
    centroid = h * (a * a + 2 * a * b + 3 * b * b) / (4 * (a * a + a * b + b * b))

    def side(z):
        return a + (b - a) * z / h

    spin = density * quad(lambda z: side(z) ** 4 / 6, 0, h)[0]
    tilt = density * quad(lambda z: side(z) ** 4 / 12 + side(z) ** 2 * (z - centroid) ** 2, 0, h)[0]
    assert body.volume == pytest.approx(volume, rel=1e-12)
    assert body.mass == pytest.approx(density * volume, rel=1e-12)
    assert body.centre == pytest.approx([0, 0, centroid], abs=1e-13)
    assert body.inertia == pytest.approx(np.diag([tilt, tilt, spin]), rel=1e-11, abs=1e-14)


def test_box_shell_is_exact():
    a, b, c, surface_density = 0.4, 0.1, 0.02, 1.5
    body = shell_body(trimesh.creation.box((a, b, c)).triangles, surface_density)
    walls = [(a * b, c, (a, b)), (a * c, b, (a, c)), (b * c, a, (b, c))]
    mass = 2 * surface_density * sum(area for area, _, _ in walls)
    across = (
        2
        * surface_density
        * (
            b * c * (b**2 + c**2) / 12
            + a * b * (b**2 / 12 + c**2 / 4)
            + a * c * (c**2 / 12 + b**2 / 4)
        )
    )
    assert body.mass == pytest.approx(mass, rel=1e-13)
    assert body.centre == pytest.approx([0, 0, 0], abs=1e-15)
    assert body.inertia[0, 0] == pytest.approx(across, rel=1e-12)


def test_blade_agrees_with_trimesh_and_with_its_own_pieces():
    vertices, faces = blade_surface(BladeShape())
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    mesh.density = 70.0
    body = solid_body(mesh.triangles, 70.0)
    assert body.mass == pytest.approx(mesh.mass, rel=1e-12)
    assert body.centre == pytest.approx(mesh.center_mass, abs=1e-13)
    assert body.inertia == pytest.approx(mesh.moment_inertia, abs=1e-14)
    shell = shell_body(mesh.triangles, 1.2)
    assert shell.mass == pytest.approx(1.2 * mesh.area, rel=1e-12)
    assert shell.centre == pytest.approx(mesh.centroid, abs=1e-12)
    finer = shell_body(mesh.subdivide().subdivide().triangles, 1.2)
    assert finer.inertia == pytest.approx(shell.inertia, abs=1e-14)
