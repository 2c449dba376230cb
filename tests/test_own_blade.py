"""A blade from a drawing: brought to the shaft, doubted and cranked."""

import io
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from paddlebal import BladeShape, InputError, blade_design, blade_surface
from paddlebal.blade import blade_body
from paddlebal.own_blade import Placed, blade_doubts, own_blade

SHAPE = replace(BladeShape(), crank=0.0)
MASS = 0.175


def drawing(change=None, ending="stl", scale=1e3):
    """Content of a file with the example blade, its vertices changed by a function."""
    vertices, faces = blade_surface(SHAPE, 20, 24)
    vertices = vertices - [SHAPE.root, 0, 0]
    if change:
        vertices = change(vertices)
    mesh = trimesh.Trimesh(scale * vertices, faces, process=False)
    if mesh.volume < 0:
        mesh.invert()
    stream = io.BytesIO()
    mesh.export(stream, ending)
    return stream.getvalue()


def read(content, placed=None, kind="solid", **options):
    placed = placed or Placed(begin=SHAPE.root)
    shape = own_blade(content, "blade.stl", "mm", MASS, kind, placed, **options)
    return shape, blade_doubts(shape, placed, kind)


def test_a_good_drawing_is_not_doubted_and_designs_like_the_measured_blade():
    shape, doubts = read(drawing())
    assert doubts == ()
    expected = replace(SHAPE, shell_density=900.0, core_density=899.999)
    body, same = shape.straight(), blade_body(expected)
    assert body.centre == pytest.approx(same.centre, abs=1e-3)
    angles = np.radians([[0, 5, 10]]), np.radians([[30], [60]])
    drawn = blade_design(shape, *angles, 0.08)
    measured = blade_design(expected, *angles, 0.08)
    ratio = drawn.unbalance / body.mass / (measured.unbalance / same.mass)
    # the drawn blade is bent where it begins, the measured one at its own crank point
    assert ratio[:, 0] == pytest.approx(1, rel=0.02)
    assert (np.diff(drawn.offset[0]) > 0).all()


def turned(*columns):
    """The vertices with their axes in another order or turned over, such as "z", "-x", "y"."""

    def change(v):
        parts = [(-1 if c[0] == "-" else 1) * v[:, "xyz".index(c[-1])] for c in columns]
        return np.stack(parts, axis=1)

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (turned("x", "-y", "-z"), "power face up instead of down"),
        (turned("x", "z", "-y"), "thick and"),
        (turned("-x", "y", "-z"), "point to the middle"),
        (lambda v: v + [0, 0.02, 0.15], "off the shaft's axis"),
    ],
)
def test_each_slip_is_told_and_its_mend_brings_the_blade_back(change, words):
    good, _ = read(drawing())
    placed, told = Placed(begin=SHAPE.root), []
    for _ in range(4):
        shape, doubts = read(drawing(change), placed)
        if not doubts:
            break
        told.append(doubts[0].words)
        placed = doubts[0].mend
    assert words in told[0] and doubts == ()
    assert shape.straight().centre == pytest.approx(good.straight().centre, abs=6e-3)


def test_a_drawing_along_another_axis_is_refused_and_can_be_read_as_told():
    content = drawing(turned("y", "z", "x"))
    with pytest.raises(InputError, match="longest along z"):
        read(content)
    shape, doubts = read(content, Placed("+z", "+x", SHAPE.root))
    assert doubts == () and shape.length == pytest.approx(SHAPE.length, rel=1e-3)


def test_the_wrong_kind_of_density_is_told():
    shape = own_blade(drawing(), "blade.stl", "mm", 0.005, "solid")
    assert "kg/m³" in blade_doubts(shape, Placed(), "solid")[-1].words


def test_axes_on_one_line_are_refused():
    with pytest.raises(InputError, match="expected an axis across"):
        read(drawing(), Placed("+x", "-x"))


def test_the_net_follows_the_crank_and_has_the_blades_size():
    shape, _ = read(drawing())
    flat, bent = shape.net(14, 20), replace(shape, crank=0.1).net(14, 20)
    assert flat.shape == bent.shape == (14, 20, 3)
    assert np.ptp(flat[..., 2]) == pytest.approx(shape.width, rel=0.05)
    assert bent[-1, :, 1].mean() - flat[-1, :, 1].mean() == pytest.approx(
        0.1 * shape.length, rel=0.05
    )
