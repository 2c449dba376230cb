"""The paddle's motion over a stroke cycle, and motions read from a file."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from paddlebal.errors import InputError
from paddlebal.formats.motion import read_motion, scatter
from paddlebal.formats.paddle import load_paddle
from paddlebal.stroke import OCEAN, SPRINT, Motion, Stroke
from paddlebal.work import full_power, recorded_spread, stroke_torque

DATA = Path(__file__).parent.parent / "data"
PADDLE = load_paddle(DATA / "paddles" / "ocean.toml")
TITLES = "time [s],roll [deg],inclination [deg],yaw [deg],x [m],y [m],z [m]"


@pytest.mark.parametrize("stroke", [SPRINT, OCEAN])
@pytest.mark.parametrize("control", ["left", "right"])
def test_roll_dwells_at_the_catch_angles(stroke, control):
    paddle = replace(PADDLE, control=control)
    motion = stroke.motion(paddle)
    quarter = motion.period / 4
    for side, middle in (("right", quarter), ("left", 3 * quarter)):
        state = motion.state(middle + np.array([-0.05, 0.0, 0.05]) * motion.period)
        assert np.allclose(state.theta, paddle.catch_angle(side), atol=np.radians(0.2))
        assert motion.state(middle).theta == pytest.approx(paddle.catch_angle(side))
        lowered = state.inclination if side == "right" else -state.inclination
        assert (lowered < 0).all()
    assert motion.state(0.0).yaw == pytest.approx(stroke.yaw)


def test_motion_repeats_and_its_rates_are_derivatives():
    motion = SPRINT.motion(PADDLE)
    time = np.linspace(0, motion.period, 9)
    for now, later in zip(motion.state(time), motion.state(time + motion.period), strict=True):
        assert np.allclose(now, later, atol=1e-9)
    step = 1e-5
    before, after = motion.state(time - step), motion.state(time + step)
    yaw = motion.state(time).yaw
    velocity = (after.place - before.place) / (2 * step)
    turned = np.stack(
        [
            np.cos(yaw) * velocity[:, 0] + np.sin(yaw) * velocity[:, 1],
            np.cos(yaw) * velocity[:, 1] - np.sin(yaw) * velocity[:, 0],
            velocity[:, 2],
        ],
        -1,
    )
    assert np.allclose(motion.state(time).velocity, turned, atol=1e-7)


def test_stroke_rate_counts_single_strokes():
    motion = Stroke(120, 5, 0.5, 0.5, 0, 0, 0.05).motion(PADDLE)
    assert motion.period == 1.0
    assert motion.with_rate(60).period == 2.0
    assert motion.with_rate(60).strokes_per_minute == pytest.approx(60)
    slow, fast = motion.with_rate(60).state(0.4), motion.state(0.2)
    assert np.allclose(2 * slow.omega, fast.omega)
    assert np.allclose(4 * slow.accel, fast.accel)


def test_heave_is_scaled_alone():
    motion = SPRINT.motion(PADDLE)
    place = motion.with_heave(0.03).state(motion.times(720)).place
    assert np.ptp(place[:, 2]) == pytest.approx(0.03)
    assert np.allclose(place[:, :2], motion.state(motion.times(720)).place[:, :2])
    with pytest.raises(InputError, match="does not rise and fall"):
        Stroke(100, 5, 0.5, 0.5, 0.1, 0.1, 0).motion(PADDLE).with_heave(0.1)


def test_distance_and_time_in_cycles():
    motion = Stroke(100, 4.0, 0.5, 0.5, 0.1, 0.1, 0.05).motion(PADDLE)
    assert motion.cycles_over(1000.0) == pytest.approx(1000 / 4.0 / 1.2)
    assert motion.cycles_in(3600.0) == pytest.approx(3000)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Motion(0.0, None), "A cycle of 0.0 s"),
        (lambda: Motion(1.0, None, speed=-1.0), "A boat speed of -1.0 m/s"),
        (lambda: SPRINT.motion(PADDLE).with_rate(0), "A stroke rate of 0 strokes per minute"),
        (lambda: Motion(1.0, None).cycles_over(500), "need the boat's speed"),
    ],
)
def test_bad_numbers_are_refused(make, told):
    with pytest.raises(InputError, match=told):
        make()


def record(path, motion, rows=81, header="", noise=0.0, change=lambda lines: lines, seed=3):
    """A file of one cycle, angles spoiled by `noise` [deg] and places by as many cm."""
    time = np.linspace(0, motion.period, rows)
    state = motion.state(time)
    table = np.column_stack(
        [time, *np.degrees([state.theta, state.inclination, state.yaw]), state.place]
    )
    spread = noise * np.array([0, 1, 1, 1, 0.01, 0.01, 0.01])
    table += spread * np.random.default_rng(seed).standard_normal(table.shape)
    table[-1, 1:] = table[0, 1:]
    lines = [",".join(f"{value:.9g}" for value in row) for row in table]
    lines = ['# method = "motion"', *header.splitlines(), TITLES, *lines]
    path.write_text("\n".join(change(lines)) + "\n", encoding="utf-8")
    return path


def test_exact_record_gives_the_motion_back(tmp_path):
    motion = SPRINT.motion(PADDLE)
    read = read_motion(record(tmp_path / "a.csv", motion, header="# speed_m_s = 5.0"))
    assert read.speed == 5.0
    assert read.period == pytest.approx(motion.period)
    time = motion.times(300)
    for name, tolerance in (("theta", 1e-5), ("omega", 1e-3), ("domega", 0.1), ("accel", 0.01)):
        ours, theirs = getattr(read.state(time), name), getattr(motion.state(time), name)
        assert np.abs(ours - theirs).max() < tolerance, name
    old, new = stroke_torque(PADDLE, motion), stroke_torque(PADDLE, read)
    assert new.full_work.positive == pytest.approx(old.full_work.positive, rel=1e-4)


def test_read_motion_is_periodic_and_smooth(tmp_path):
    read = read_motion(record(tmp_path / "a.csv", OCEAN.motion(PADDLE)))
    step = 1e-9
    around = read.state(np.array([-step, step]) + 3 * read.period)
    for before, after in (getattr(around, name) for name in ("omega", "domega", "accel")):
        assert np.allclose(before, after, atol=1e-5)
    time = read.times(1000)
    assert full_power(PADDLE, read, time).mean() == pytest.approx(0, abs=1e-6)


def test_stated_uncertainty_smooths_the_noise(tmp_path):
    motion = OCEAN.motion(PADDLE)
    few = record(tmp_path / "few.csv", motion, rows=29, noise=0.3)  # too few to tell their noise
    rough = read_motion(few)
    header = "# angle_u_deg = 0.3\n# place_u_mm = 3.0"
    smooth = read_motion(record(tmp_path / "b.csv", motion, noise=0.3, header=header))
    true = motion.state(motion.times(300)).accel
    errors = [
        np.sqrt(((m.state(motion.times(300)).accel - true) ** 2).mean()) for m in (rough, smooth)
    ]
    assert errors[1] < 0.5 * errors[0]
    assert errors[1] < 0.5


def test_noise_that_is_left_out_is_estimated_and_understated_noise_is_refused(tmp_path):
    """Before, the work came out 3.5 to 8 times too large without a word."""
    motion = OCEAN.motion(PADDLE)
    exact = stroke_torque(PADDLE, motion).full_work.positive
    read = read_motion(record(tmp_path / "a.csv", motion, noise=0.5))
    assert stroke_torque(PADDLE, read).full_work.positive == pytest.approx(exact, rel=0.08)
    for header, told in (
        ("# angle_u_deg = 0.1\n# place_u_mm = 5", "angle_u_deg': is 0.1, .* by 0[.][45]"),
        ("# angle_u_deg = 0.5\n# place_u_mm = 1", "'place_u_mm': is 1, but .* scatter by [45]"),
    ):
        path = record(tmp_path / "b.csv", motion, noise=0.5, header=header)
        with pytest.raises(InputError, match=told):
            read_motion(path)


@pytest.mark.parametrize("noise", [0.0, 0.2, 1.0])
def test_the_scatter_of_a_record_is_its_noise(noise):
    motion, rng = SPRINT.motion(PADDLE), np.random.default_rng(1)
    time = np.sort(motion.period * rng.random(80))
    state = motion.state(time)
    angles = np.array([state.theta, state.inclination, state.yaw])
    angles += np.radians(noise) * rng.standard_normal(angles.shape)
    assert np.degrees(scatter(time, angles)) == pytest.approx(noise, rel=0.12, abs=0.02)


def test_the_spread_of_a_recorded_work_is_that_of_repeated_records(tmp_path):
    motion = OCEAN.motion(PADDLE)
    header = "# angle_u_deg = 0.5\n# place_u_mm = 5.0"
    read = read_motion(record(tmp_path / "a.csv", motion, noise=0.5, header=header))
    stated = recorded_spread(PADDLE, read)
    exact = stroke_torque(PADDLE, motion)
    found = []
    for seed in range(20):
        path = record(tmp_path / "b.csv", motion, noise=0.5, header=header, seed=seed)
        found.append(stroke_torque(PADDLE, read_motion(path)))
    off = [each.full_work.positive - exact.full_work.positive for each in found]
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(stated.positive_work, rel=0.6)
    with pytest.raises(InputError, match="was not recorded"):
        recorded_spread(PADDLE, motion)


def test_demo_record_gives_nearly_the_work_of_its_stroke():
    read = read_motion(DATA / "strokes" / "demo.csv")
    assert read.period == pytest.approx(OCEAN.motion(PADDLE).period)
    exact, found = (stroke_torque(PADDLE, m) for m in (OCEAN.motion(PADDLE), read))
    assert found.full_work.positive == pytest.approx(exact.full_work.positive, rel=0.05)
    assert found.roll.mean == pytest.approx(exact.roll.mean, rel=0.1)


def test_roll_that_passes_180_degrees_is_followed(tmp_path):
    def wrap(lines):
        def turned(line):
            cells = line.split(",")
            cells[1] = f"{(float(cells[1]) + 180 + 170) % 360 - 180:.9g}"
            return ",".join(cells)

        return [*lines[:2], *map(turned, lines[2:])]

    motion = SPRINT.motion(PADDLE)
    read = read_motion(record(tmp_path / "a.csv", motion, change=wrap))
    time = motion.times(100)
    turn = read.state(time).theta - motion.state(time).theta
    assert np.allclose(np.cos(turn - np.radians(170)), 1)
    assert np.allclose(read.state(time).omega[:, 0], motion.state(time).omega[:, 0], atol=1e-3)


def cell(row, column, text):
    def change(lines):
        cells = lines[row - 1].split(",")
        cells[column] = text
        return [*lines[: row - 1], ",".join(cells), *lines[row:]]

    return change


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (cell(9, 0, "0.0"), "row 9, field 'time': is '0.0', expected a time after the one before"),
        (cell(5, 4, "near"), "row 5, field 'x': is 'near', expected a finite number"),
        (cell(2, 1, "roll"), "row 2, field 'roll': has no unit, expected an angle"),
        (cell(2, 6, "z [deg]"), r"row 2, field 'z': has the unit \[deg\], expected a length"),
        (cell(2, 3, "spin [deg]"), "row 2, field 'spin': is not a known column"),
        (cell(83, 1, "40"), "field 'roll': does not close the cycle, expected in the last row"),
        (cell(83, 6, "0.3"), "field 'z': does not close the cycle"),
        (lambda lines: lines[:9], "has 7 readings, expected at least 12"),
        (lambda lines: lines[1:], "field 'method': is missing"),
        (lambda lines: ["# speed = 3", *lines], "field 'speed': is not a known field"),
        (lambda lines: ["# speed_m_s = 0", *lines], "field 'speed_m_s': is 0, expected"),
    ],
)
def test_bad_records_are_told_in_one_sentence(tmp_path, change, told):
    path = record(tmp_path / "bad.csv", SPRINT.motion(PADDLE), change=change)
    with pytest.raises(InputError, match=told) as caught:
        read_motion(path)
    assert "bad.csv" in str(caught.value)
