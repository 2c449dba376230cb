"""Roll torque and work over a stroke cycle, against particles followed in space."""

import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from paddlebal.errors import InputError
from paddlebal.formats.paddle import load_paddle
from paddlebal.paddle import Blade, Counterweight, Paddle, Shaft
from paddlebal.stroke import OCEAN, SPRINT, Motion, Stroke
from paddlebal.units import STANDARD_GRAVITY
from paddlebal.work import (
    break_even,
    compare_strokes,
    energy,
    full_power,
    roll_parts,
    stroke_torque,
    stroke_torque_many,
)

PADDLES = Path(__file__).parent.parent / "data" / "paddles"
UP = np.array([0.0, 0.0, STANDARD_GRAVITY])


def balancing_weight(paddle, mass=0.2):
    y, z = -paddle.unbalance()
    return Counterweight(mass, np.hypot(y, z) / mass, np.arctan2(z, y))


def random_paddle(rng):
    def blade(side):
        mass, x, offset = rng.uniform(0.1, 0.3), rng.uniform(0.7, 1.0), rng.uniform(-0.1, 0.1)
        return Blade(mass, side * x, offset, 0.5, 0.16, 2e-4)

    shaft = Shaft(rng.uniform(0.2, 0.4), 1.5, 0.0146, 9e-4)
    weights = [
        Counterweight(
            rng.uniform(0.0, 0.4), rng.uniform(0, 0.1), rng.uniform(-3, 3), rng.uniform(-0.5, 0.5)
        )
        for _ in range(rng.integers(0, 3))
    ]
    feather = rng.uniform(-np.pi, np.pi)
    return Paddle("", shaft, blade(-1), blade(1), feather, "right", counterweights=tuple(weights))


def random_motion(rng):
    """Every coordinate a random sum of three harmonics."""
    order = np.arange(1, 4)
    size = np.array([1.0, 0.5, 0.5, 0.1, 0.1, 0.1]) / order[:, None] ** 2
    sines, cosines = rng.uniform(-size, size), rng.uniform(-size, size)

    def shape(phase):
        angle = np.asarray(phase)[..., None] * order
        s, c = np.sin(angle), np.cos(angle)
        return np.stack(
            [
                s @ sines + c @ cosines,
                (c * order) @ sines - (s * order) @ cosines,
                -(s * order**2) @ sines - (c * order**2) @ cosines,
            ]
        )

    return Motion(rng.uniform(0.8, 4.0), shape)


def moving(period=1.0, **harmonics):
    """Motion whose named coordinates are amplitude * sin(phase)."""
    names = ("theta", "inclination", "yaw", "x", "y", "z")
    amplitudes = np.array([harmonics.get(name, 0.0) for name in names])

    def shape(phase):
        s, c = np.sin(phase)[..., None], np.cos(phase)[..., None]
        return np.stack([s * amplitudes, c * amplitudes, -s * amplitudes])

    return Motion(period, shape)


def particles(paddle):
    """Masses (n,) and places (n, 3) with the mass, first moment and inertia of the paddle."""
    masses, places = [], []
    for mass, centre, inertia in paddle.bodies():
        spread, axes = np.linalg.eigh(np.trace(inertia) / 2 * np.eye(3) - inertia)
        arms = np.sqrt(3 * np.maximum(spread, 0) / mass) * axes if mass else np.zeros((3, 3))
        places += [centre + sign * arm for arm in arms.T for sign in (1, -1)]
        masses += [mass / 6] * 6
    return np.array(masses), np.array(places)


def derivative(samples, period, order):
    """Derivative by time of periodic samples along axis 0, by their Fourier series."""
    count = len(samples)
    rate = 2j * np.pi * np.fft.rfftfreq(count, period / count)
    spectrum = np.fft.rfft(samples, axis=0)
    return np.fft.irfft(spectrum * (rate**order).reshape(-1, *[1] * (samples.ndim - 1)), count, 0)


def followed(paddle, motion, samples):
    """Roll torque, full power and energy from the paths of particles, no angular velocity."""
    value = motion.shape(2 * np.pi * np.arange(samples) / samples)[0]
    theta, inclination, yaw = value[:, :3].T
    turn = Rotation.from_euler("ZYX", np.stack([yaw, -inclination, theta], -1)).as_matrix()
    mass, body = particles(paddle)
    arms = np.einsum("tij,nj->tni", turn, body)
    path = value[:, None, 3:] + arms
    velocity = derivative(path, motion.period, 1)
    force = mass[:, None] * (derivative(path, motion.period, 2) + UP)
    moment = np.cross(arms, force).sum(1)
    kinetic = (mass * (velocity**2).sum(-1)).sum(-1) / 2
    potential = (mass * path[..., 2]).sum(-1) * STANDARD_GRAVITY
    return (
        (moment * turn[:, :, 0]).sum(-1),
        (force * velocity).sum((1, 2)),
        kinetic,
        potential,
        turn,
    )


seeds = st.integers(0, 2**32 - 1).map(np.random.default_rng)


@settings(max_examples=20, deadline=None)
@given(seeds)
def test_torque_power_and_energy_are_those_of_the_particles(rng):
    paddle, motion = random_paddle(rng), random_motion(rng)
    torque, power, kinetic, potential, turn = followed(paddle, motion, 256)
    time = motion.times(256)
    assert np.allclose(sum(roll_parts(paddle, motion, time)), torque, rtol=1e-8, atol=1e-9)
    assert np.allclose(full_power(paddle, motion, time), power, rtol=1e-8, atol=1e-8)
    assert np.allclose(energy(paddle, motion, time), (kinetic, potential), rtol=1e-10, atol=1e-10)
    spin = turn.transpose(0, 2, 1) @ derivative(turn, motion.period, 1)
    omega = np.stack([spin[:, 2, 1], spin[:, 0, 2], spin[:, 1, 0]], -1)
    assert np.allclose(motion.state(time).omega, omega, rtol=1e-9, atol=1e-9)
    domega = derivative(omega, motion.period, 1)
    assert np.allclose(motion.state(time).domega, domega, rtol=1e-8, atol=1e-8)


def work_between(paddle, motion, start, stop):
    nodes, weights = np.polynomial.legendre.leggauss(120)
    half = (stop - start) / 2
    return half * weights @ full_power(paddle, motion, start + half * (nodes + 1))


@settings(max_examples=40, deadline=None)
@given(seeds, st.floats(0, 1), st.floats(0.05, 1), st.booleans())
def test_energy_books_balance_over_any_interval(rng, start, length, presets):
    plain = random_paddle(rng)
    motion = rng.choice([SPRINT, OCEAN]).motion(plain) if presets else random_motion(rng)
    start, stop = start * motion.period, (start + length) * motion.period
    for paddle in (plain, plain.with_counterweights(balancing_weight(plain))):
        work = work_between(paddle, motion, start, stop)
        kinetic, potential = energy(paddle, motion, np.array([start, stop]))
        largest = max(np.abs(kinetic).max(), np.abs(potential).max(), abs(work))
        assert abs(work - np.diff(kinetic)[0] - np.diff(potential)[0]) < 1e-9 * largest


@pytest.mark.parametrize("stroke", [SPRINT, OCEAN])
def test_work_cancels_over_a_cycle(stroke):
    paddle = load_paddle(PADDLES / "mended.toml")
    result = stroke_torque(paddle, stroke.motion(paddle))
    assert result.full_work.positive > 1.0
    assert sum(result.full_work) == pytest.approx(0, abs=1e-12 * result.full_work.positive)


def test_balanced_paddle_does_not_roll_when_accelerated_without_rotation():
    paddle = load_paddle(PADDLES / "sprint.toml")
    motion = moving(x=0.3, y=-0.2, z=0.4)
    assert stroke_torque(paddle, motion).roll.peak > 0.1
    balanced = paddle.with_counterweights(balancing_weight(paddle))
    assert stroke_torque(balanced, motion).roll.peak < 1e-15


def test_parts_answer_to_what_they_are_named_after():
    paddle = load_paddle(PADDLES / "ocean.toml")
    parts = stroke_torque(paddle, SPRINT.motion(paddle)).parts
    balanced = paddle.with_counterweights(balancing_weight(paddle))
    after = stroke_torque(balanced, SPRINT.motion(paddle)).parts
    assert np.abs(after.gravity).max() < 1e-15
    assert np.abs(after.acceleration).max() < 1e-15
    ratio = balanced.inertia()[0, 0] / paddle.inertia()[0, 0]
    assert np.allclose(after.inertia, ratio * parts.inertia)
    level = moving(theta=1.0)
    assert np.abs(stroke_torque(paddle, level).parts.products).max() == 0


def test_sinusoidal_roll_gives_and_takes_its_kinetic_energy():
    paddle = load_paddle(PADDLES / "sprint.toml")
    balanced = paddle.with_counterweights(balancing_weight(paddle))
    amplitude, period = 0.7, 1.3
    result = stroke_torque(balanced, moving(period, theta=amplitude), samples=4000)
    expected = balanced.inertia()[0, 0] * (amplitude * 2 * np.pi / period) ** 2
    assert result.roll.positive == pytest.approx(expected, rel=1e-5)
    assert result.roll.negative == pytest.approx(-expected, rel=1e-5)
    assert result.swing == pytest.approx(expected, rel=1e-5)
    assert result.lift < 1e-15


@pytest.mark.parametrize(("height", "period"), [(0.1, 2.0), (0.2, 0.6)])
def test_sinusoidal_heave(height, period):
    paddle = load_paddle(PADDLES / "sprint.toml")
    rate = 2 * np.pi / period
    if height * rate**2 < STANDARD_GRAVITY:
        expected = 2 * paddle.mass * STANDARD_GRAVITY * height
    else:
        expected = paddle.mass * (height**2 * rate**2 + STANDARD_GRAVITY**2 / rate**2)
    result = stroke_torque(paddle, moving(period, z=height), samples=4000)
    assert result.full_work.positive == pytest.approx(expected, rel=1e-5)


def test_verdict_follows_the_numbers():
    paddle = load_paddle(PADDLES / "ocean.toml")
    weight = balancing_weight(paddle)
    fast = compare_strokes(paddle, [weight], SPRINT.motion(paddle))
    assert (fast.less_work(), fast.less_holding()) == ("without", "with")
    assert fast.work_change > 0
    assert "Less work: without counterweights" in fast.verdict()
    assert f"{fast.without.full_work.positive:.3f}" in fast.verdict()
    still = compare_strokes(paddle, [weight], Stroke(20, 1, 0, 0, 0, 0, 0).motion(paddle))
    assert (still.less_work(), still.less_holding()) == ("with", "with")
    nothing = compare_strokes(paddle, [], SPRINT.motion(paddle))
    assert (nothing.less_work(), nothing.less_holding()) == ("equal", "equal")
    assert all(change == 0 for *_, change in nothing.rows())


def test_rows_stand_side_by_side():
    paddle = load_paddle(PADDLES / "ocean.toml")
    both = compare_strokes(paddle, [balancing_weight(paddle)], OCEAN.motion(paddle))
    rows = {name: numbers for name, _, *numbers in both.rows()}
    assert rows["positive work of the hands"][2] == pytest.approx(both.work_change)
    assert rows["mean roll torque"][2] == pytest.approx(
        both.balanced.roll.mean - both.without.roll.mean
    )
    inertias = [side.parts.inertia.max() for side in (both.without, both.balanced)]
    assert rows["peak roll inertia part"][:2] == pytest.approx(inertias)
    assert rows["peak gravity part"][1] < 1e-15 < rows["peak gravity part"][0]
    for side in (both.without, both.balanced):
        assert 0 < side.full_work.positive <= side.lift + side.swing
    assert rows["lift"] == pytest.approx(
        [both.without.lift, both.balanced.lift, both.balanced.lift - both.without.lift]
    )


def test_break_even_is_where_the_work_is_equal():
    paddle = load_paddle(PADDLES / "ocean.toml")
    weight = balancing_weight(paddle)
    gentle = Stroke(30, 2, 0, 0, 0, 0, 0.01).motion(paddle)
    (height,) = break_even(paddle, [weight], gentle, "heave", 1e-3, 0.3)
    below, at, above = (
        compare_strokes(paddle, [weight], gentle.with_heave(h), 4000)
        for h in (0.8 * height, height, 1.2 * height)
    )
    assert below.work_change < 0 < above.work_change
    assert abs(at.work_change) < 1e-4 * at.without.full_work.positive
    gentle = gentle.with_heave(0.01)
    (rate,) = break_even(paddle, [weight], gentle, "strokes_per_minute", 10, 300)
    assert compare_strokes(paddle, [weight], gentle.with_rate(0.9 * rate)).less_work() == "with"
    assert compare_strokes(paddle, [weight], gentle.with_rate(1.1 * rate)).less_work() == "without"


def test_break_even_by_arm_keeps_mass_times_arm():
    paddle = load_paddle(PADDLES / "ocean.toml")
    motion = Stroke(30, 2, 0, 0, 0, 0, 0.01).motion(paddle)
    (arm,) = break_even(paddle, [balancing_weight(paddle)], motion, "arm", 0.03, 0.5)
    weight = balancing_weight(paddle, mass=np.hypot(*paddle.unbalance()) / arm)
    same = compare_strokes(paddle, [weight], motion, 400)
    assert abs(same.work_change) < 1e-9 * same.without.full_work.positive


def test_no_break_even_is_an_answer_and_bad_questions_are_refused():
    paddle = load_paddle(PADDLES / "sprint.toml")
    weight, motion = balancing_weight(paddle), SPRINT.motion(paddle)
    assert break_even(paddle, [weight], motion, "strokes_per_minute", 40, 160) == ()
    with pytest.raises(InputError, match="'colour' cannot be varied, expected one of"):
        break_even(paddle, [weight], motion, "colour", 1, 2)
    with pytest.raises(InputError, match="is empty"):
        break_even(paddle, [weight], motion, "arm", 0.2, 0.1)
    with pytest.raises(InputError, match="no counterweights"):
        break_even(paddle, [], motion, "arm", 0.1, 0.2)


def test_many_paddles_at_once_agree_with_one_at_a_time():
    rng = np.random.default_rng(7)
    paddles = [random_paddle(rng) for _ in range(23)]
    motion = SPRINT.motion(load_paddle(PADDLES / "sprint.toml"))
    moments = np.array([paddle.first_moment() for paddle in paddles])
    inertias = np.array([paddle.inertia() for paddle in paddles])
    blocks = list(stroke_torque_many(moments, inertias, motion, samples=300, block=10))
    assert [len(block.peak) for block in blocks] == [10, 10, 3]
    together = np.hstack([np.stack(block) for block in blocks])
    alone = np.array([stroke_torque(paddle, motion, 300).roll for paddle in paddles])
    assert np.allclose(together.T, alone, rtol=1e-11, atol=1e-14)


def test_many_paddles_take_no_more_memory():
    motion = SPRINT.motion(load_paddle(PADDLES / "sprint.toml"))

    def peak(count):
        moments = np.ones((1, 3)).repeat(count, 0)
        inertias = np.eye(3)[None].repeat(count, 0)
        tracemalloc.start()
        for _ in stroke_torque_many(moments, inertias, motion, samples=200, block=50):
            pass
        size = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return size

    peak(50)
    assert peak(2000) < 1.1 * peak(200)


def test_sums_over_distance_and_time():
    paddle = load_paddle(PADDLES / "sprint.toml")
    motion = Stroke(100, 4.0, 0.5, 0.5, 0.1, 0.1, 0.05).motion(paddle)
    result = stroke_torque(paddle, motion)
    over_500 = result.sums(motion.cycles_over(500.0))
    assert over_500.full_positive == pytest.approx(result.full_work.positive * 500 / (4.0 * 1.2))
    hour = result.sums(motion.cycles_in(3600.0))
    assert hour.torque_time == pytest.approx(result.roll.mean * 3600)
    with pytest.raises(InputError, match="need the boat's speed"):
        moving().cycles_over(500.0)


def test_a_stroke_asks_for_its_motion_once():
    asked = []

    def shape(phase):
        asked.append(phase)
        return motion.shape(phase)

    paddle = load_paddle(PADDLES / "ocean.toml")
    motion = SPRINT.motion(paddle)
    stroke_torque(paddle, replace(motion, shape=shape), 50)
    assert len(asked) == 1
