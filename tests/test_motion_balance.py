"""The best pieces for a motion: against all choices, their bound, and another library."""

from dataclasses import replace
from itertools import product
from time import perf_counter

import mujoco
import numpy as np
import pytest
from published.test_rigid_body import inclined, mujoco_paddle

from paddlebal import (
    OCEAN,
    SPRINT,
    Counterweight,
    Envelope,
    InputError,
    Motion,
    MotionLimits,
    balance_for_motion,
    compared_sets,
    gram_matrix,
    load_paddle,
    mass_front,
    mean_square_many,
    motion_rows,
    piece_properties,
    properties_of,
    stroke_torque,
)
from paddlebal.files.text import data_path
from paddlebal.motion_balance.programme import AIMS
from paddlebal.motion_balance.rows import SAMPLES
from paddlebal.paddle import KeepOut, rotation_about_x
from paddlebal.units import DEG
from paddlebal.work import stroke_torque_many

PADDLES = {
    name: load_paddle(data_path("paddles", f"{name}.toml")).without_counterweights()
    for name in ("sprint", "ocean")
}
PADDLE = PADDLES["ocean"]
MOTION = OCEAN.motion(PADDLE)
FAR = (-0.52, -0.25, 0.0, 0.25, 0.52)


def limits(paddle=PADDLE, mass=0.2, **stated):
    """As for a weight of that mass that balances it at rest, at five stations."""
    arm = float(np.hypot(*paddle.unbalance())) / mass * 1.0005
    return MotionLimits(**({"total_mass": mass, "stations": FAR, "arms": (arm,) * 5} | stated))


def value(paddle, motion, aim):
    """What is made least, by the library's own torque at the programme's instants."""
    size = np.abs(stroke_torque(paddle, motion, SAMPLES).torque)
    return {"mean": size.mean(), "mean square": np.sqrt(np.mean(size**2)), "peak": size.max()}[aim]


@pytest.mark.parametrize(
    ("name", "stroke", "bare", "middle", "best", "half"),
    [
        ("sprint", SPRINT, 0.1417, 0.0848, 0.0474, 0.0884),
        ("ocean", OCEAN, 0.1428, 0.0596, 0.0418, 0.0876),
    ],
)
def test_check_values_of_the_mean_torque(name, stroke, bare, middle, best, half):
    """Computed by another programme, with pieces at ± 0.52 m on a coarser grid of angles."""
    paddle = PADDLES[name]
    sets = compared_sets(paddle, stroke.motion(paddle), limits(paddle))
    rows = {each.name: each for each in sets}
    assert rows["bare"].mean == pytest.approx(bare, abs=1e-4)
    assert rows["one weight, at rest"].mean == pytest.approx(middle, abs=1e-4)
    assert best - 3e-4 < rows["best"].mean <= best + 1e-4
    assert half - 3e-4 < rows["best, half the mass"].mean <= half + 1e-4
    assert rows["best that stays"].left < 2e-6 < rows["best"].left
    assert rows["best"].mean < rows["best that stays"].mean < rows["one weight, at rest"].mean
    assert rows["best"].swing_inertia == pytest.approx(0.2 * 0.52**2, rel=0.05)


@pytest.mark.parametrize("aim", AIMS)
def test_no_choice_of_whole_pieces_is_better(aim):
    """All 2,925 ways to put up to three pieces of 50 g at two stations and twelve angles, some of
    them on one place."""
    small = limits(
        stations=(-0.4, 0.4), arms=(0.08,) * 2, angle_step=30 * DEG, mass_step=0.05, total_mass=0.15
    )
    found = balance_for_motion(PADDLE, MOTION, small, aim)
    places = [(x, 0.08, a) for x in (-0.4, 0.4) for a in np.arange(12) * 30 * DEG]
    made = 0.05 * piece_properties(*np.array(places).T)
    gram, rows = gram_matrix(motion_rows([MOTION])), motion_rows([MOTION])
    chosen = np.array([c for c in product(range(25), repeat=3) if c[0] <= c[1] <= c[2]])
    added = np.concatenate([made, np.zeros((8, 1))], axis=1)[:, chosen].sum(axis=2)
    torque = np.abs((properties_of(PADDLE)[:, None] + added).T @ rows)
    least = {"mean": lambda: torque.mean(axis=1), "peak": lambda: torque.max(axis=1),
             "mean square": lambda: mean_square_many(
                 (properties_of(PADDLE)[:, None] + added).T, gram)}[aim]().min()  # fmt: skip
    assert found.after == pytest.approx(least, rel=2e-4)
    assert found.bound <= least * (1 + 1e-6)
    steps = [piece.mass / 0.05 for piece in found.pieces]
    assert steps == pytest.approx(np.round(steps), abs=1e-6)


@pytest.mark.parametrize("aim", AIMS)
@pytest.mark.parametrize("more", [{}, {"pieces": 2}, {"stays": True}, {"total_mass": 0.05}],
                         ids=["free", "two", "stays", "light"])  # fmt: skip
def test_what_is_found_is_what_the_library_computes_and_as_low_as_its_bound(aim, more):
    found = balance_for_motion(PADDLE, MOTION, limits(**more), aim)
    assert found.after == pytest.approx(value(found.paddle, MOTION, aim), rel=1e-9)
    assert found.before == pytest.approx(value(PADDLE, MOTION, aim), rel=1e-9)
    assert found.bound <= found.after <= found.bound * (1.005 if "pieces" in more else 1.0003)
    assert found.mass <= more.get("total_mass", 0.2) + 1e-6
    assert len(found.pieces) <= more.get("pieces", 10)
    if "stays" in more:
        assert np.hypot(*found.paddle.unbalance()) < 2e-6
    rng = np.random.default_rng(0)
    for _ in range(200):  # nobody who moves the pieces a little does better
        moved = [
            Counterweight(p.mass, p.arm, p.angle + rng.normal() * 0.02, p.x) for p in found.pieces
        ]
        if "stays" not in more:
            off = value(PADDLE.with_counterweights(*moved), MOTION, aim)
            assert off >= found.bound * (1 - 1e-3)


def test_no_pieces_by_chance_at_these_stations_go_below_the_bound():
    stated, rng = limits(), np.random.default_rng(1)
    rows = motion_rows([MOTION])
    found = {aim: balance_for_motion(PADDLE, MOTION, stated, aim) for aim in AIMS}
    near = found["mean"].pieces
    for _ in range(3000):
        share = rng.dirichlet(np.ones(4)) * 0.2 * rng.uniform(0.8, 1)
        x, turn = rng.choice(FAR, 4), rng.uniform(-np.pi, np.pi, 4)
        for i, piece in enumerate(near):  # two of the four about where the best ones are
            x[i], turn[i] = piece.x, piece.angle + 0.1 * rng.standard_normal()
        made = piece_properties(x, np.full(4, stated.arms[0]), turn) @ share
        size = np.abs((properties_of(PADDLE) + made) @ rows)
        assert size.mean() >= found["mean"].bound - 1e-9
        assert np.sqrt(np.mean(size**2)) >= found["mean square"].bound - 1e-9
        assert size.max() >= found["peak"].bound - 1e-9


def test_the_torque_with_the_pieces_is_mujocos():
    """MuJoCo's inverse dynamics of the bodies, through the cycle; see published/test_rigid_body."""
    found = balance_for_motion(PADDLE, MOTION, limits(), "mean")
    times = MOTION.times(24)
    state, torque = MOTION.state(times), stroke_torque(found.paddle, MOTION, 24).torque
    model, data = mujoco_paddle(found.paddle, "<freejoint/>")
    for i in range(24):
        turn = inclined(state.inclination[i]) @ rotation_about_x(state.theta[i])
        mujoco.mju_mat2Quat(data.qpos[3:], turn.ravel())
        data.qvel[:] = [0.0, 0.0, 0.0, *state.omega[i]]
        data.qacc[:] = [*state.accel[i], *state.domega[i]]
        mujoco.mj_inverse(model, data)
        assert data.qfrc_inverse[3] == pytest.approx(torque[i], abs=1e-9)


def test_a_slow_roll_asks_for_the_balance_of_rest():
    """Pure gravity: what is left is least where the pieces' unbalance is minus the paddle's."""

    def shape(phase):
        values = np.zeros((3, *np.shape(phase), 6))
        values[0, ..., 0], values[1, ..., 0] = phase, 1.0
        return values

    slow = Motion(1e4, shape)
    found = balance_for_motion(PADDLE, slow, limits(total_mass=0.21), "peak")
    assert found.before == pytest.approx(9.80665 * np.hypot(*PADDLE.unbalance()), rel=1e-4)
    assert found.after < 1e-3 * found.before
    assert np.hypot(*found.paddle.unbalance()) < 1e-3 * np.hypot(*PADDLE.unbalance())


def test_further_limits_hold_and_cost():
    free = balance_for_motion(PADDLE, MOTION, limits())
    near = balance_for_motion(PADDLE, MOTION, limits(swing_inertia=0.01))
    assert near.swing_inertia <= 0.01 + 1e-9 and near.after > free.after
    shift = balance_for_motion(PADDLE, MOTION, limits(balance_shift=1e-3))
    moved = shift.paddle.balance_point - PADDLE.balance_point
    assert abs(moved) <= 1e-3 + 1e-6
    several = [OCEAN.motion(PADDLE), SPRINT.motion(PADDLE)]
    both = balance_for_motion(PADDLE, several, limits(), shares=[1, 3])
    own = [value(both.paddle, each, "mean") for each in several]
    assert both.after == pytest.approx((own[0] + 3 * own[1]) / 4, rel=1e-9)


def test_more_mass_is_never_worse():
    front = mass_front(PADDLE, MOTION, limits(), [0.05, 0.1, 0.2, 0.3])
    assert np.all(np.diff(front.torque) < 0) and np.all(np.diff(front.swing_inertia) > 0)


def test_many_paddles_by_the_gram_matrix():
    rng = np.random.default_rng(0)
    made = piece_properties(rng.uniform(-0.5, 0.5, 20_000), np.full(20_000, 0.08),
                            rng.uniform(-np.pi, np.pi, 20_000)).T  # fmt: skip
    properties = properties_of(PADDLE) + 0.2 * made
    gram = gram_matrix(motion_rows([MOTION], 1000))
    begun = perf_counter()
    quick = mean_square_many(properties, gram)
    assert quick.size / (perf_counter() - begun) > 10_000
    first = np.column_stack([np.zeros(50), properties[:50, :2]])
    inertia = np.zeros((50, 3, 3))
    inertia[:, *np.triu_indices(3)] = properties[:50, 2:]
    (effort,) = stroke_torque_many(first, inertia, MOTION)
    assert np.all(quick[:50] >= effort.mean) and np.all(quick[:50] <= effort.peak)
    one = PADDLE.with_counterweights(Counterweight(0.2, 0.08, 1.0, 0.3))
    assert mean_square_many(properties_of(one)[None], gram)[0] == pytest.approx(
        np.sqrt(np.mean(stroke_torque(one, MOTION, 1000).torque ** 2)), rel=1e-12
    )


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"total_mass": 0.1, "stays": True}, "with 100 g in all it cannot stay at rest"),
        ({"stays": True, "swing_inertia": 1e-5, "stations": (-0.5, 0.5), "arms": (0.08, 0.08)},
         "the swing inertia binds"),
        ({"stays": True, "pieces": 1, "stations": (0.1, 0.5), "arms": (0.04, 0.04),
          "total_mass": 0.5, "angle_step": 40 * DEG}, "the number of pieces binds"),
        ({"stays": True, "balance_shift": 1e-6, "stations": (0.3, 0.5), "arms": (0.08, 0.08)},
         "the balance point binds"),
    ],
)  # fmt: skip
def test_limits_that_cannot_be_met_say_which_one_binds(stated, words):
    with pytest.raises(InputError, match=words):
        balance_for_motion(PADDLE, MOTION, replace(limits(), **stated))


@pytest.mark.parametrize(
    "bad",
    [{"arms": (0.08,)}, {"total_mass": 0.0}, {"arms": (0.08,) * 4 + (2.0,)}, {"pieces": 0},
     {"mass_step": -1.0}],
)  # fmt: skip
def test_limits_that_mean_nothing_are_refused(bad):
    with pytest.raises(InputError):
        limits(**bad)


def test_what_else_is_refused():
    with pytest.raises(InputError, match="aim is 'median'"):
        balance_for_motion(PADDLE, MOTION, limits(), "median")
    with pytest.raises(InputError, match="a share"):
        balance_for_motion(PADDLE, MOTION, limits(), shares=[1, 2])


def test_stations_in_keep_outs_are_left_out():
    held = replace(PADDLE, keep_outs=(KeepOut("left hand", -0.4, -0.2), KeepOut("all", 0.1, 0.9)))
    every = Envelope((0.0, 0.6), (0.06, 0.06))
    free = MotionLimits.for_paddle(held, every, (-0.5, -0.3, 0.0, 0.3), total_mass=0.1)
    assert free.stations == (-0.5, 0.0) and free.total_mass == 0.1
    with pytest.raises(InputError, match="very station"):
        MotionLimits.for_paddle(held, every, (-0.3, 0.3))
