"""A logger on the shaft: records that MuJoCo's own sensors made, through the whole path."""

from dataclasses import replace

import mujoco
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from paddlebal import OCEAN, SPRINT, InputError, load_paddle, logged_torque, stroke_torque
from paddlebal.__main__ import main
from paddlebal.files.text import data_path
from paddlebal.formats.logger import read_logger
from paddlebal.logger import POSES, UP, LoggerRecord
from paddlebal.units import DEG, MM, STANDARD_GRAVITY

PADDLE = load_paddle(data_path("paddles", "ocean.toml")).without_counterweights()
PLACE = np.array([0.12, 0.01, 0.03])


def mujoco_sensors(motion, times, place, turned):
    """Rates and specific forces (n, 3) that MuJoCo's gyro and accelerometer show.

    The body is moved by mocap-free inverse kinematics: its place, velocity and acceleration are set
    at each instant, and the sensors are read after mj_inverse.
    """
    quat = np.empty(4)
    mujoco.mju_mat2Quat(quat, np.ascontiguousarray(turned.T).ravel())
    model = mujoco.MjModel.from_xml_string(f"""
    <mujoco><option gravity="0 0 {-STANDARD_GRAVITY:.17g}"/><worldbody><body><freejoint/>
      <inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/>
      <site name="s" pos="{" ".join(map(repr, place.tolist()))}"
        quat="{" ".join(map(repr, quat.tolist()))}"/></body></worldbody>
    <sensor><gyro site="s"/><accelerometer site="s"/></sensor></mujoco>""")
    data, state = mujoco.MjData(model), motion.state(times)
    shown = np.empty((times.size, 6))
    for i in range(times.size):
        # The accelerations stand in axes turned with the yaw, in which the shaft lies along X.
        turn = Rotation.from_euler("y", -state.inclination[i]) * Rotation.from_euler(
            "x", state.theta[i]
        )
        mujoco.mju_mat2Quat(data.qpos[3:], turn.as_matrix().ravel())
        data.qvel[3:], data.qacc[:] = state.omega[i], [*state.accel[i], *state.domega[i]]
        data.qvel[:3] = state.velocity[i]
        mujoco.mj_inverse(model, data)
        mujoco.mj_sensorAcc(model, data)
        shown[i] = data.sensordata
    return shown[:, :3], shown[:, 3:]


def record(
    rng, stroke=OCEAN, cycles=4, rate=200.0, noise=(0.01, 0.08), bias=(0.02, 0.05),
    place_u=3 * MM, pose_u=0.5 * DEG, poses=("level", "side", "upright", "turned"),
):  # fmt: skip
    """A record with noise and bias of a logger turned by chance, and the true torque."""
    motion = stroke.motion(PADDLE)
    times = np.arange(0, cycles * motion.period, 1 / rate)
    turned = Rotation.random(random_state=int(rng.integers(2**31))).as_matrix()
    place = PLACE + place_u * rng.standard_normal(3)
    w, f = mujoco_sensors(motion, times, place, turned)
    still_w, still_f, pose = [], [], []
    for name in poses:
        off = Rotation.from_rotvec(pose_u * rng.standard_normal(3)).as_matrix()
        up = STANDARD_GRAVITY * (turned @ off @ np.array(UP[int(POSES[name])]))
        still_w.append(np.zeros((100, 3)))
        still_f.append(np.tile(up, (100, 1)))
        pose += [int(POSES[name])] * 100
    rates, forces = np.vstack([*still_w, w]), np.vstack([*still_f, f])
    rates = rates + bias[0] * rng.standard_normal(3) + noise[0] * rng.standard_normal(rates.shape)
    forces = (
        forces + bias[1] * rng.standard_normal(3) + noise[1] * rng.standard_normal(forces.shape)
    )
    time = np.arange(len(rates)) / rate
    made = LoggerRecord(time, rates, forces, np.array(pose + [0] * times.size), PLACE, place_u,
                        name="made.csv")  # fmt: skip
    return made, turned, motion


def true_torque(found, made, motion):
    return stroke_torque_at(motion, found.time - made.time[made.pose == 0][0])


def stroke_torque_at(motion, times):
    from paddlebal.dynamics import roll_moment

    state = motion.state(times)
    return roll_moment(PADDLE, state.theta, state.omega, state.domega, state.accel,
                       state.inclination)  # fmt: skip


def test_an_exact_record_gives_the_torque_exactly():
    rng = np.random.default_rng(0)
    made, turned, motion = record(rng, rate=1000.0, noise=(0, 0), bias=(0, 0), place_u=1e-9,
                                  pose_u=0.0)  # fmt: skip
    found = logged_torque(made, PADDLE, window=0.01)
    assert found.turned @ turned == pytest.approx(np.eye(3), abs=1e-6)
    inner = slice(20, -20)
    assert found.torque[inner] == pytest.approx(true_torque(found, made, motion)[inner], abs=2e-4)


@pytest.mark.parametrize("stroke", [OCEAN, SPRINT], ids=["ocean", "sprint"])
def test_the_torque_lies_within_its_band(stroke):
    """Of noisy records, each turned by chance and placed by tape."""
    inside = []
    for seed in range(12):
        made, _turned, motion = record(np.random.default_rng(seed), stroke)
        found = logged_torque(made, PADDLE)
        off = np.abs(found.torque - true_torque(found, made, motion))[10:-10]
        inside.append(np.mean(off < 2 * found.torque_u[10:-10]))
        assert np.median(found.torque_u) < 0.03
    assert np.mean(inside) > 0.9 and np.median(inside) > 0.95


def test_strokes_are_cut_out_and_their_mean_is_the_strokes():
    made, _turned, motion = record(np.random.default_rng(1), cycles=6)
    found = logged_torque(made, PADDLE)
    assert 4 <= len(found.cycles) <= 6
    lasts = [(part.stop - part.start) / 200 for part in found.cycles]
    assert lasts == pytest.approx([motion.period] * len(lasts), rel=0.03)
    mean, spread = found.mean_cycle()
    true = stroke_torque(PADDLE, motion, 200).torque
    assert np.abs(mean).mean() == pytest.approx(np.abs(true).mean(), rel=0.1)
    assert spread.mean() < 0.02


def test_the_loggers_own_mass_can_be_counted_in():
    made, _turned, _motion = record(np.random.default_rng(2))
    heavy = replace(made, mass=0.05)
    out = logged_torque(heavy, PADDLE).torque
    inside = logged_torque(replace(heavy, counted=True), PADDLE).torque
    assert logged_torque(made, PADDLE).torque == pytest.approx(out)
    assert 0.002 < np.abs(inside - out).mean() < 0.1


@pytest.mark.parametrize(
    ("spoiled", "words"),
    [
        (lambda r: replace(r, force=np.clip(r.force, -12, 12)), "is clipped"),
        (lambda r: replace(r, time=r.time + np.where(np.arange(r.time.size) > 900, 0.3, 0.0)),
         "lacks samples after"),
        (lambda r: replace(r, rate=r.rate * [1, 1, -1], force=r.force * [1, 1, -1]),
         "has left-handed axes"),
        (lambda r: replace(r, force=r.force / STANDARD_GRAVITY), "is the unit right"),
        (lambda r: replace(r, pose=np.where(r.pose == 3, 1, r.pose)), "pose 'upright' in 0 rows"),
        (lambda r: replace(r, pose=np.where(r.pose == 0, 1, r.pose)), "hardly any motion"),
    ],
    ids=["clips", "drops", "left-handed", "units", "no-pose", "no-motion"],
)  # fmt: skip
def test_a_record_that_cannot_be_used_says_why(spoiled, words):
    made, _turned, _motion = record(np.random.default_rng(3))
    with pytest.raises(InputError, match=words) as told:
        logged_torque(spoiled(made), PADDLE)
    assert str(told.value).startswith("made.csv")


def test_fewer_than_two_cycles_are_refused():
    made, _turned, _motion = record(np.random.default_rng(4), cycles=1)
    with pytest.raises(InputError, match="whole cycles, expected two"):
        logged_torque(made, PADDLE).mean_cycle()


def written(path, made):
    head = "\n".join([
        '# method = "logger"', "# place_x_mm = 120", "# place_y_mm = 10", "# place_z_mm = 30",
        "# place_u_mm = 3", "# mass_g = 30",
        "time [s],rate x [deg/s],rate y [deg/s],rate z [deg/s],"
        "force x [g_0],force y [g_0],force z [g_0],pose",
    ])  # fmt: skip
    words = {int(number): word for word, number in POSES.items()}
    rows = [
        ",".join([f"{t:.4f}", *(f"{v / DEG:.4f}" for v in w),
                  *(f"{v / STANDARD_GRAVITY:.6f}" for v in f), words[int(p)]])
        for t, w, f, p in zip(made.time, made.rate, made.force, made.pose, strict=True)
    ]  # fmt: skip
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return str(path)


def test_a_file_in_degrees_and_standard_gravity_and_the_command(tmp_path, capsys):
    made, _turned, _motion = record(np.random.default_rng(5))
    path = written(tmp_path / "logger.csv", made)
    read = read_logger(path)
    assert read.rate == pytest.approx(made.rate, abs=2e-6) and read.mass == pytest.approx(0.03)
    paddle = str(data_path("paddles", "ocean.toml"))
    out = tmp_path / "torque.csv"
    assert main(["logger", path, "--paddle", paddle, "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert "whole cycles" in told and "N·m" in told
    assert out.read_text(encoding="utf-8").startswith("share of the cycle,torque [N·m]")
    assert main(["logger", path, "--paddle", paddle, "--out", str(out)]) == 2
    glued = str(data_path("paddles", "glued.toml"))
    assert main(["logger", path, "--paddle", glued]) == 2
    assert "measure its swing inertia" in capsys.readouterr().err
