"""The blade shape: surface, mass properties, crank and its slopes, design map."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from paddlebal import BladeShape, InputError, Paddle, Shaft, design_map, load_paddle, save_paddle
from paddlebal.blade import (
    blade_body,
    blade_design,
    blade_surface,
    design_slope,
    make_blade,
    straight_body,
)
from paddlebal.mesh import shell_body, solid_body, together
from paddlebal.unbalance import magnitude, roll_torque
from paddlebal.units import STANDARD_GRAVITY

SHAPE = BladeShape()
ARM = 0.06


def remeshed(shape):
    """The body of a cranked blade integrated over its own cranked mesh."""
    vertices, faces = blade_surface(shape)
    laminate = shape.shell_thickness * (shape.shell_density - shape.core_density)
    triangles = vertices[faces]
    return together(shell_body(triangles, laminate), solid_body(triangles, shape.core_density))


def paddle_of(shape, feather, control="right"):
    shaft = Shaft(mass=0.3, length=1.32, radius=0.0146, volume=9e-4)
    left, right = make_blade(shape, "left"), make_blade(shape, "right")
    return Paddle("example", shaft, left, right, feather, control)


def test_surface_is_closed_and_outward():
    vertices, faces = blade_surface(SHAPE)
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.is_volume and mesh.body_count == 1
    assert mesh.euler_number == 2


def test_surface_has_the_measures_asked_for():
    flat = replace(SHAPE, crank=0, twist=0, depth=0)
    vertices, _ = blade_surface(flat, 96, 64)
    assert np.ptp(vertices, axis=0) == pytest.approx([0.50, 0.006, 0.163], rel=1e-3)
    assert vertices[:, 0].min() == flat.root
    hollow, _ = blade_surface(replace(flat, depth=0.035, thickness=1e-6, lean=0), 96, 64)
    assert hollow[:, 1].max() == pytest.approx(0.035, rel=1e-3)


def test_example_weighs_what_a_blade_of_the_demo_paddles_weighs():
    blade = make_blade(SHAPE, "right")
    assert 0.15 < blade.mass < 0.2
    assert 0.045 < blade.offset < 0.06
    assert 1.5e-4 < blade.volume < 2.5e-4


def test_mass_properties_converge():
    fine = straight_body(SHAPE, 240, 320)
    found = []
    for stations in (24, 48, 96):
        body = straight_body(SHAPE, stations, stations * 4 // 3)
        found.append([abs(body.mass / fine.mass - 1), np.linalg.norm(body.centre - fine.centre)])
    errors = np.array(found)
    assert (errors[1:] < errors[:-1] / 2.5).all()
    assert errors[1, 0] < 2e-3 and errors[1, 1] < 5e-5


def test_crank_is_a_rotation_of_the_straight_blade():
    for degrees in (-5, 0, 8, 20):
        shape = replace(SHAPE, crank=math.radians(degrees))
        turned, meshed = blade_body(shape), remeshed(shape)
        assert turned.mass == pytest.approx(meshed.mass, rel=1e-12)
        assert turned.centre == pytest.approx(meshed.centre, abs=1e-13)
        assert turned.inertia == pytest.approx(meshed.inertia, abs=1e-14)
        assert turned.volume == pytest.approx(meshed.volume, rel=1e-12)


def test_left_blade_is_the_mirror_image():
    left, right = make_blade(SHAPE, "left"), make_blade(SHAPE, "right")
    assert (left.x, left.offset, left.across) == (-right.x, right.offset, right.across)
    assert left.inertia == pytest.approx(right.inertia * [[1, -1, -1], [-1, 1, 1], [-1, 1, 1]])


def test_a_symmetric_spoon_has_its_centre_of_mass_in_the_middle():
    spoon = make_blade(replace(SHAPE, lean=0, twist=0), "right")
    assert spoon.across == pytest.approx(0, abs=1e-12)
    assert make_blade(SHAPE, "right").across > 1e-3


@pytest.mark.parametrize("control", ["left", "right"])
@pytest.mark.parametrize("feather_deg", [0, 45, 60, 90])
def test_design_is_what_the_paddle_has(control, feather_deg):
    feather = math.radians(feather_deg)
    paddle = paddle_of(SHAPE, feather, control)
    U = paddle.unbalance()
    result = blade_design(SHAPE, SHAPE.crank, feather, ARM)
    other = "left" if control == "right" else "right"
    catches = [paddle.catch_angle(side) for side in (control, other)]
    assert result.offset == pytest.approx(paddle.left.offset, rel=1e-12)
    assert result.unbalance == pytest.approx(magnitude(U), rel=1e-12)
    holding = [result.holding_control, result.holding_other]
    assert holding == pytest.approx(-roll_torque(U, np.array(catches)), rel=1e-12)
    assert result.counterweight * ARM == pytest.approx(magnitude(U), rel=1e-12)


def test_both_catches_need_the_same_torque_for_a_symmetric_blade_only():
    feather = math.radians(60)
    spoon = replace(SHAPE, lean=0, twist=0)
    body = blade_body(spoon)
    result = blade_design(spoon, spoon.crank, feather, ARM)
    expected = 2 * STANDARD_GRAVITY * body.mass * body.centre[1] * math.cos(feather / 2) ** 2
    assert result.holding_control == pytest.approx(expected, rel=1e-10)
    assert result.holding_other == pytest.approx(expected, rel=1e-10)
    wing = blade_design(SHAPE, SHAPE.crank, feather, ARM)
    apart = wing.holding_control - wing.holding_other
    sideways = make_blade(SHAPE, "left")
    weight = STANDARD_GRAVITY * sideways.mass
    assert apart == pytest.approx(2 * weight * sideways.across * math.sin(feather))


def test_slopes_agree_with_finite_differences_of_the_mesh():
    feather, step = math.radians(60), 1e-4

    def from_mesh(crank):
        shape = replace(SHAPE, crank=crank)
        body = remeshed(shape)
        across = body.centre[1:]
        c, s = math.cos(feather), math.sin(feather)
        U = body.mass * (across + np.array([[c, s], [-s, c]]) @ across)
        holding = -roll_torque(U, np.array([0, feather]))
        return np.array([across[0], magnitude(U), *holding, magnitude(U) / ARM])

    for crank in np.radians([0, 6, 15]):
        difference = (from_mesh(crank + step) - from_mesh(crank - step)) / (2 * step)
        slope = design_slope(SHAPE, crank, feather, ARM)
        assert np.array(slope) == pytest.approx(difference, rel=1e-7)


def test_design_map_covers_all_pairs():
    cranks, feathers = np.radians([0, 5, 10]), np.radians([0, 30, 60, 90])
    mapped = design_map(SHAPE, cranks, feathers, ARM)
    assert all(values.shape == (3, 4) for values in mapped)
    single = blade_design(SHAPE, cranks[2], feathers[1], ARM)
    assert [values[2, 1] for values in mapped] == [pytest.approx(value) for value in single]
    assert (np.diff(mapped.unbalance, axis=0) > 0).all()
    assert (np.diff(mapped.unbalance, axis=1) < 0).all()


def test_a_blade_is_measured_once_however_it_is_cranked(monkeypatch):
    measured = []

    def counted(*arguments):
        measured.append(arguments)
        return solid_body(*arguments)

    monkeypatch.setattr("paddlebal.blade.solid_body", counted)
    shape = replace(SHAPE, width=0.1234)
    for crank in (0.0, 0.1, 0.2):
        make_blade(replace(shape, crank=crank), "left")
        design_map(replace(shape, crank=crank), np.linspace(0, 0.3, 50), [0.5], ARM)
    assert len(measured) == 1


def test_paddle_file_keeps_the_side_a_centre_of_mass_lies_to(tmp_path):
    paddle = paddle_of(SHAPE, 1.0)
    save_paddle(paddle, tmp_path / "p.toml")
    assert load_paddle(tmp_path / "p.toml").unbalance() == pytest.approx(paddle.unbalance())


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("length", 0.0),
        ("width", -0.1),
        ("thickness", 0.0),
        ("depth", float("nan")),
        ("shell_density", 0.0),
        ("core_density", 2000.0),
        ("lean", 1.5),
        ("crank_point", 0.7),
    ],
)
def test_impossible_measures_are_refused(field, value):
    with pytest.raises(InputError, match=f"field '{field}'"):
        replace(SHAPE, **{field: value})
