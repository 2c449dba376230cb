"""A paddle with meshed blades, built and swung by MuJoCo from the meshes alone.

MuJoCo integrates the laminate with its option inertia='shell' and the core with 'exact', hangs
the whole on a frictionless hinge along the shaft and lets it go. Its own mass properties, its
rest angle and its period are compared with this library's.
"""

import math
from dataclasses import replace

import mujoco
import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline
from scipy.special import ellipk

from paddlebal import Paddle, Shaft, rest_angle
from paddlebal.blade import BladeShape, blade_surface, make_blade
from paddlebal.paddle import rotation_about_x
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

SHAPE = BladeShape()
FEATHER = math.radians(60)
AMPLITUDE = math.radians(50)


def paddle_of(shape):
    shaft = Shaft(mass=0.3, length=1.32, radius=0.0146, volume=9e-4)
    left, right = make_blade(shape, "left"), make_blade(shape, "right")
    return Paddle("example", shaft, left, right, FEATHER, "right")


def spell(values):
    return " ".join(f"{value:.17g}" for value in np.ravel(values))


def model_of(paddle, shape):
    """MuJoCo's model of the paddle; of the blades it is given nothing but surfaces."""
    vertices, faces = blade_surface(shape)
    triangles = vertices[faces]
    area = np.linalg.norm(np.cross(*np.diff(triangles, axis=1).swapaxes(0, 1)), axis=1).sum() / 2
    volume = np.einsum("ij,ij->", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])) / 6
    laminate = area * shape.shell_thickness * (shape.shell_density - shape.core_density)
    masses = {"shell": laminate, "exact": volume * shape.core_density}
    assets = geoms = ""
    for side in ("left", "right"):
        mirror = np.array([-1.0 if side == "left" else 1.0, 1, 1])
        placed = vertices * mirror @ rotation_about_x(paddle.blade_angle(side)).T
        wound = faces[:, ::-1] if side == "left" else faces
        for option, mass in masses.items():
            name = f"{side}_{option}"
            assets += (
                f'<mesh name="{name}" inertia="{option}" vertex="{spell(placed)}" '
                f'face="{" ".join(map(str, wound.ravel()))}"/>'
            )
            geoms += f'<geom type="mesh" mesh="{name}" mass="{mass:.17g}"/>'
    shaft = paddle.shaft
    xml = f"""
    <mujoco>
      <compiler autolimits="false" boundmass="0" boundinertia="0"/>
      <option timestep="0.001" integrator="RK4" gravity="0 0 -{STANDARD_GRAVITY}">
        <flag contact="disable"/>
      </option>
      <asset>{assets}</asset>
      <worldbody>
        <body name="paddle">
          <joint name="roll" type="hinge" axis="1 0 0"/>
          {geoms}
          <body><inertial pos="0 0 0" mass="{shaft.mass}"
            diaginertia="{spell(np.diag(shaft.inertia))}"/></body>
        </body>
      </worldbody>
    </mujoco>"""
    return mujoco.MjModel.from_xml_string(xml)


@pytest.fixture(scope="module", params=[6.0, 15.0], ids=lambda crank: f"crank {crank:g}")
def pair(request):
    shape = replace(SHAPE, crank=math.radians(request.param))
    paddle = paddle_of(shape)
    return paddle, model_of(paddle, shape)


def test_mass_properties(pair):
    paddle, model = pair
    data = mujoco.MjData(model)
    mujoco.mj_forward(model, data)
    mass, first, inertia = 0.0, np.zeros(3), np.zeros((3, 3))
    for body in range(1, model.nbody):
        part, centre = model.body_mass[body], data.xipos[body]
        axes = data.ximat[body].reshape(3, 3)
        own = axes @ np.diag(model.body_inertia[body]) @ axes.T
        mass, first = mass + part, first + part * centre
        inertia += own + part * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    assert mass == pytest.approx(paddle.mass, rel=1e-9)
    assert first == pytest.approx(paddle.first_moment(), abs=1e-8)
    assert inertia == pytest.approx(paddle.inertia(), abs=1e-7)


def swing(model, start, duration):
    """Times and angles of the turning points, and the period between every other one."""
    data = mujoco.MjData(model)
    data.qpos[0] = start
    mujoco.mj_forward(model, data)
    history = []
    while data.time < duration:
        mujoco.mj_forward(model, data)
        history.append([data.time, data.qpos[0], data.qvel[0], data.qacc[0]])
        mujoco.mj_step(model, data)
    time, angle, rate, acceleration = np.array(history).T
    turns = CubicHermiteSpline(time, rate, acceleration).roots(extrapolate=False)
    turns = turns[turns > time[1]]
    return turns, CubicHermiteSpline(time, angle, rate)(turns)


def test_rest_angle_and_period(pair):
    paddle, model = pair
    U = paddle.unbalance()
    rest = rest_angle(U)
    turns, angles = swing(model, rest + AMPLITUDE, 4.0)
    period = 4 * math.sqrt(paddle.inertia()[0, 0] / (STANDARD_GRAVITY * magnitude(U)))
    period *= ellipk(math.sin(AMPLITUDE / 2) ** 2)
    assert len(turns) > 8
    assert np.diff(turns[::2]) == pytest.approx(period, rel=1e-6)
    middles = (angles[1:] + angles[:-1]) / 2
    assert middles == pytest.approx(rest, rel=1e-6)
