"""Work and hand loads against closed forms and an independent rigid-body library.

Sources: the table of two equal blades was computed independently of this library (closed form
lift 2 g m d sin(feather)). Pinocchio: Carpentier et al., "The Pinocchio C++ library", SII 2019,
International Symposium on System Integration (2019); its inverse dynamics is the recursive
Newton-Euler algorithm of Featherstone, "Rigid Body Dynamics Algorithms" (2008).
"""

from pathlib import Path

import numpy as np
import pinocchio
import pytest
from scipy.spatial.transform import Rotation

from paddlebal.formats.paddle import load_paddle
from paddlebal.paddle import Blade, Paddle, Shaft
from paddlebal.stroke import OCEAN, SPRINT, Stroke
from paddlebal.units import STANDARD_GRAVITY
from paddlebal.work import full_power, roll_parts, stroke_torque

PADDLES = Path(__file__).parents[2] / "data" / "paddles"


@pytest.mark.parametrize(
    ("feather_deg", "lift"),
    [(0, 0.0), (45, 0.126205), (60, 0.154569), (75, 0.172399), (90, 0.178481)],
)
def test_slow_roll_from_catch_to_catch_lifts_two_g_m_d_sine_of_feather(feather_deg, lift):
    left, right = (Blade(0.175, x, 0.052, 0.5, 0.16, 2e-4) for x in (-0.93, 0.93))
    shaft = Shaft(0.3, 1.46, 0.0146, 9e-4)
    paddle = Paddle("", shaft, left, right, np.radians(feather_deg), "right")
    slow = Stroke(0.01, 1.0, 0, 0, 0, 0, 0).motion(paddle)
    result = stroke_torque(paddle, slow)
    assert result.roll.positive == pytest.approx(lift, abs=1e-6)
    assert result.roll.negative == pytest.approx(-lift, abs=1e-6)
    assert result.lift == pytest.approx(lift, abs=1e-6)
    closed = 2 * STANDARD_GRAVITY * 0.175 * 0.052 * np.sin(np.radians(feather_deg))
    assert result.full_work.positive == pytest.approx(closed, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("stroke", [SPRINT, OCEAN])
@pytest.mark.parametrize("name", ["sprint", "mended"])
def test_hand_load_and_power_agree_with_pinocchio(stroke, name):
    paddle = load_paddle(PADDLES / f"{name}.toml")
    motion = stroke.motion(paddle)
    model = pinocchio.Model()
    model.gravity.linear = np.array([0.0, 0.0, -STANDARD_GRAVITY])
    joint = model.addJoint(0, pinocchio.JointModelFreeFlyer(), pinocchio.SE3.Identity(), "paddle")
    for mass, centre, inertia in paddle.bodies():
        body = pinocchio.Inertia(mass, centre, inertia)
        model.appendBodyToJoint(joint, body, pinocchio.SE3.Identity())
    data = model.createData()

    time = motion.times(24)
    state = motion.state(time)
    # The library's spatial acceleration is what an observer fixed in space sees pass by O.
    turns = Rotation.from_euler(
        "ZYX", np.column_stack([state.yaw, -state.inclination, state.theta])
    )
    yawed = Rotation.from_euler("Z", state.yaw[:, None])
    velocity = turns.inv().apply(yawed.apply(state.velocity))
    accel = turns.inv().apply(yawed.apply(state.accel)) - np.cross(state.omega, velocity)
    loads = np.array(
        [
            pinocchio.rnea(model, data, np.hstack(q), np.hstack(v), np.hstack(a))
            for q, v, a in zip(
                zip(state.place, turns.as_quat(), strict=True),
                zip(velocity, state.omega, strict=True),
                zip(accel, state.domega, strict=True),
                strict=True,
            )
        ]
    )
    assert np.allclose(sum(roll_parts(paddle, motion, time)), loads[:, 3], rtol=0, atol=1e-12)
    power = (loads * np.hstack([velocity, state.omega])).sum(1)
    assert np.allclose(full_power(paddle, motion, time), power, rtol=0, atol=1e-11)
