"""Gravity's torque and the roll moment against two rigid-body libraries given the same bodies.

Sources: MuJoCo, E. Todorov, T. Erez, Y. Tassa, MuJoCo: a physics engine for model-based control,
IROS (2012). Pinocchio, J. Carpentier et al., The Pinocchio C++ library, SII (2019); its inverse
dynamics is the recursive Newton-Euler algorithm of R. Featherstone, Rigid Body Dynamics
Algorithms (2008).

A total can be near zero while its parts are large. An error is therefore taken relative to the
largest part: for gravity the moments of the bodies' weights, for a moving paddle the terms of
the roll moment.
"""

import mujoco
import numpy as np
import pinocchio
from hypothesis import given
from hypothesis import strategies as st
from random_paddles import angles, paddles, vectors

from paddlebal import roll_moment, roll_torque
from paddlebal.compiled import numeric
from paddlebal.paddle import rotation_about_x
from paddlebal.units import STANDARD_GRAVITY

CIRCLE = np.linspace(-np.pi, np.pi, 73)
GRAVITY = np.array([0.0, 0.0, -STANDARD_GRAVITY])
PRECISION = 1e-9
inclinations = st.floats(-1.2, 1.2)


def spell(values):
    return " ".join(f"{value:.17g}" for value in values)


def mujoco_paddle(paddle, joint):
    """MuJoCo's model: the bodies welded to each other, the whole on a hinge or free.

    The numbers are set in the compiled model, which takes weights without extent and plates
    without thickness as they are.
    """
    bodies = paddle.bodies()
    welded = '<body><inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/></body>' * len(bodies)
    model = mujoco.MjModel.from_xml_string(f"""
    <mujoco>
      <option gravity="{spell(GRAVITY)}"/>
      <worldbody><body>{joint}<inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/>{welded}</body>
      </worldbody>
    </mujoco>""")
    model.body_mass[1] = 0.0
    model.body_inertia[1] = 0.0
    for index, (mass, centre, inertia) in enumerate(bodies, start=2):
        principal, axes = np.linalg.eigh(inertia)
        axes[:, 2] *= np.linalg.det(axes)
        model.body_mass[index] = mass
        model.body_ipos[index] = centre
        model.body_inertia[index] = principal
        mujoco.mju_mat2Quat(model.body_iquat[index], axes.ravel())
    data = mujoco.MjData(model)
    mujoco.mj_setConst(model, data)
    return model, data


def pinocchio_paddle(paddle, joint):
    model = pinocchio.Model()
    model.gravity.linear = GRAVITY
    index = model.addJoint(0, joint, pinocchio.SE3.Identity(), "paddle")
    for mass, centre, inertia in paddle.bodies():
        body = pinocchio.Inertia(mass, centre, inertia)
        model.appendBodyToJoint(index, body, pinocchio.SE3.Identity())
    return model, model.createData()


def inclined(inclination):
    """Rotation that brings the shaft's right end up."""
    c, s = np.cos(inclination), np.sin(inclination)
    return np.array([[c, 0, -s], [0, 1, 0], [s, 0, c]])


def largest_weight_moment(paddle):
    return STANDARD_GRAVITY * max(m * np.hypot(*centre[1:]) for m, centre, _ in paddle.bodies())


@given(paddles(), inclinations)
def test_torque_over_the_full_circle_agrees_with_mujoco(paddle, inclination):
    """MuJoCo's bias force on the hinge is what holds the paddle still: minus gravity's torque."""
    model, data = mujoco_paddle(paddle, '<joint type="hinge" axis="1 0 0"/>')
    model.opt.gravity = inclined(inclination).T @ GRAVITY
    bias = []
    for theta in CIRCLE:
        data.qpos[:], data.qvel[:] = theta, 0.0
        mujoco.mj_forward(model, data)
        bias.append(data.qfrc_bias[0])
    error = np.abs(np.array(bias) + roll_torque(paddle.unbalance(), CIRCLE, inclination))
    assert error.max() <= PRECISION * largest_weight_moment(paddle)


@given(paddles(), inclinations)
def test_torque_over_the_full_circle_agrees_with_pinocchio(paddle, inclination):
    model, data = pinocchio_paddle(paddle, pinocchio.JointModelRX())
    model.gravity.linear = inclined(inclination).T @ GRAVITY
    hold = [
        pinocchio.computeGeneralizedGravity(model, data, np.array([theta]))[0] for theta in CIRCLE
    ]
    error = np.abs(np.array(hold) + roll_torque(paddle.unbalance(), CIRCLE, inclination))
    assert error.max() <= PRECISION * largest_weight_moment(paddle)


def largest_term(paddle, theta, omega, domega, accel, inclination):
    """Size [N·m] of the largest term of the roll moment's equation."""
    properties = np.array([*paddle.first_moment()[1:], *paddle.inertia()[np.triu_indices(3)]])
    rows = numeric("roll_moment_rows")(
        theta, *omega, *domega, *accel, inclination, STANDARD_GRAVITY
    )
    return np.abs(properties * np.array(rows, dtype=float)).max()


moving = given(paddles(), angles, vectors(12), vectors(80), vectors(25), inclinations)


@moving
def test_roll_moment_agrees_with_mujocos_inverse_dynamics(
    paddle, theta, omega, domega, accel, inclination
):
    """A free joint's rates: of its origin in world axes, of its rotation in body axes."""
    model, data = mujoco_paddle(paddle, "<freejoint/>")
    turn = inclined(inclination) @ rotation_about_x(theta)
    mujoco.mju_mat2Quat(data.qpos[3:], turn.ravel())
    data.qvel[:] = [1.0, -2.0, 3.0, *omega]
    data.qacc[:] = [*accel, *domega]
    mujoco.mj_inverse(model, data)
    state = theta, omega, domega, accel, inclination
    error = abs(data.qfrc_inverse[3] - roll_moment(paddle, *state))
    assert error <= PRECISION * largest_term(paddle, *state)


@moving
def test_roll_moment_agrees_with_pinocchios_newton_euler_recursion(
    paddle, theta, omega, domega, accel, inclination
):
    """Pinocchio's free flyer takes all rates in body axes, the acceleration as a spatial one:
    that of O less omega x velocity."""
    model, data = pinocchio_paddle(paddle, pinocchio.JointModelFreeFlyer())
    turn = inclined(inclination) @ rotation_about_x(theta)
    place = pinocchio.SE3ToXYZQUAT(pinocchio.SE3(turn, np.zeros(3)))
    velocity = np.array([1.0, -2.0, 3.0])
    spatial = turn.T @ accel - np.cross(omega, velocity)
    tau = pinocchio.rnea(model, data, place, np.r_[velocity, omega], np.r_[spatial, domega])
    state = theta, omega, domega, accel, inclination
    error = abs(tau[3] - roll_moment(paddle, *state))
    assert error <= PRECISION * largest_term(paddle, *state)


@given(paddles())
def test_mass_properties_agree_with_pinocchio(paddle):
    model, _ = pinocchio_paddle(paddle, pinocchio.JointModelRX())
    whole = model.inertias[1]
    np.testing.assert_allclose(whole.mass, paddle.mass, rtol=1e-13)
    np.testing.assert_allclose(whole.mass * whole.lever, paddle.first_moment(), atol=1e-13)
    about_O = whole.matrix()[3:, 3:]
    np.testing.assert_allclose(about_O, paddle.inertia(), rtol=1e-12, atol=1e-13)
