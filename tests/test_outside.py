"""A paddle known only from outside: what follows from that, and what does not."""

import math
from dataclasses import replace

import numpy as np
import pytest
from make_demo_bench import MARK, glued

from paddlebal import (
    InputError,
    Limits,
    counterweight_cost,
    load_any_paddle,
    load_paddle,
    place_counterweight,
    read_bench,
)
from paddlebal.files.text import data_path
from paddlebal.outside import SIDEWAYS_U, OutsidePaddle, OutsideShaft, blade_moments, not_known
from paddlebal.paddle import Counterweight
from paddlebal.pipeline import fit_file
from paddlebal.unbalance import catch_torque, cycle_lift, rest_angle

GLUED = load_any_paddle(data_path("paddles", "glued.toml"))
TRUTH = glued(load_paddle(data_path("paddles", "ocean.toml")))
BARE = OutsidePaddle("bare", 0.65, 0.01, OutsideShaft(2.15, (0.03, 0.027)), "left")


def seen_from_the_mark(U):
    """An unbalance of the truth in the axes of the mark, which points forward later by MARK."""
    turn = np.array([[np.cos(MARK), np.sin(MARK)], [-np.sin(MARK), np.cos(MARK)]])
    return turn @ U


def test_the_file_tells_what_a_scale_a_tape_and_a_level_tell():
    assert GLUED.mass == pytest.approx(TRUTH.mass, abs=5e-4)
    assert GLUED.balance_point == pytest.approx(TRUTH.balance_point, abs=1e-4)
    assert GLUED.face == pytest.approx(MARK) and GLUED.feather == pytest.approx(TRUTH.feather)
    for side in ("left", "right"):
        assert GLUED.catch_angle(side) == pytest.approx(TRUTH.catch_angle(side) + MARK)


def test_bench_placement_torque_and_lift_agree_with_what_the_paddle_is_made_of():
    file = data_path("bench", "glued_lever.csv")
    fitting = fit_file(file, read_bench(file))
    U = seen_from_the_mark(TRUTH.unbalance())
    error = fitting.fit.unbalance - U
    assert error @ np.linalg.solve(fitting.fit.unbalance_covariance, error) < 9.2
    assert fitting.doubts == () and "known" not in fitting.forecast
    assert catch_torque(GLUED, U) == pytest.approx(catch_torque(TRUTH))
    assert cycle_lift(GLUED, U) == pytest.approx(cycle_lift(TRUTH))
    (piece,) = fitting.pieces
    limits = Limits.for_paddle(TRUTH, keep_outs=GLUED.keep_outs, x=(-1.2, 1.2))
    own = place_counterweight(fitting.fit.unbalance, limits, paddle=TRUTH)
    assert (piece.mass, piece.arm, piece.angle) == pytest.approx((own.mass, own.arm, own.angle))
    assert piece.x == pytest.approx(own.x, abs=1e-3)
    assert fitting.balanced.mass == pytest.approx(GLUED.mass + piece.mass)
    assert fitting.balanced.balance_point == pytest.approx(0, abs=1e-12)


def test_the_rest_angle_counts_from_the_mark():
    there = rest_angle(seen_from_the_mark(TRUTH.unbalance()))
    assert there == pytest.approx(rest_angle(TRUTH.unbalance()) + MARK)


def test_the_cost_of_a_piece_is_that_of_a_paddle_known_by_its_parts():
    U, piece = TRUTH.unbalance(), Counterweight(0.2, 0.07, 2.0, 0.05)
    exact = counterweight_cost(TRUTH, TRUTH.with_counterweights(piece))
    outside = OutsidePaddle(
        "same", TRUTH.mass, TRUTH.balance_point, OutsideShaft(2.41, (0.0292, 0.0292)),
        TRUTH.control, TRUTH.feather, 0.0,
    )  # fmt: skip
    seen = counterweight_cost(outside, outside.with_counterweights(piece), measured=U)
    for name in (
        "mass", "swing_inertia", "roll_inertia", "balance_shift", "lifting_work",
        "roll_work_saved", "holding_torque_before", "holding_torque_after",
    ):  # fmt: skip
        assert getattr(seen, name) == pytest.approx(getattr(exact, name), rel=1e-9), name
    assert seen.flotation is None and not seen.sinks
    wet = replace(outside, volume=TRUTH.volume)
    floated = counterweight_cost(wet, wet.with_counterweights(piece), measured=U)
    assert floated.flotation == pytest.approx(exact.flotation)


def test_without_faces_nothing_of_the_catch_is_known_and_nothing_is_invented():
    price = counterweight_cost(
        BARE, BARE.with_counterweights(Counterweight(0.2, 0.07, 2.0)), measured=[0.01, 0.01]
    )
    assert price.holding_torque_before is price.roll_work_saved is price.work_saved is None
    assert "not known" in price.verdict and "no longer floats" not in price.verdict
    told = dict(not_known(BARE))
    assert told["Torque at the catch, work per cycle, each blade"] == (
        "the feather and the face by a level"
    )
    assert "Whether it floats" in told and not_known(TRUTH) == ()
    for question in (lambda: BARE.catch_angle("left"), BARE.unbalance,
                     lambda: blade_moments(BARE, [0.01, 0.0], np.zeros((2, 2)))):  # fmt: skip
        with pytest.raises(InputError, match=r"by a level|what a bench finds|face's angle"):
            question()


@pytest.mark.parametrize(("feather_deg", "percent"), [(60, 3.0), (30, 6.5), (15, 13.3)])
def test_a_degree_of_the_face_is_that_much_of_a_blade(feather_deg, percent):
    """Equal blades: a turns by a cot(feather / 2) a radian, worked out by hand."""
    paddle = replace(BARE, feather=math.radians(feather_deg), face=0.0, face_u=math.radians(1))
    angles = np.array([paddle.blade_angle(side) for side in ("left", "right")])
    U = 0.0091 * np.array([np.cos(angles).sum(), np.sin(angles).sum()])
    with_face = blade_moments(paddle, U, np.zeros((2, 2)))
    without = blade_moments(replace(paddle, face_u=0.0), U, np.zeros((2, 2)))
    assert with_face[:2] == pytest.approx((0.0091, 0.0091))
    share = math.sqrt(with_face.control_u**2 - without.control_u**2) / 0.0091
    assert 100 * share == pytest.approx(percent, abs=0.05)


def test_the_blades_of_the_glued_paddle_are_found_within_their_uncertainty():
    file = data_path("bench", "glued_lever.csv")
    fit = fit_file(file, read_bench(file)).fit
    found = blade_moments(GLUED, fit.unbalance, fit.unbalance_covariance)
    for value, u, blade in zip(found[:2], found[2:], (TRUTH.right, TRUTH.left), strict=True):
        assert abs(value - blade.mass * blade.offset) < 2 * u


def test_the_uncertainty_of_the_blades_is_that_of_drawn_errors():
    paddle = replace(BARE, feather=math.radians(50), face=0.3, face_u=math.radians(1))
    U, rng = np.array([0.012, -0.009]), np.random.default_rng(2)
    covariance = 1e-9 * np.array([[9.0, 2.0], [2.0, 4.0]])
    stated, drawn = blade_moments(paddle, U, covariance), []
    for _ in range(4000):
        turn, tilts = paddle.face_u * rng.standard_normal(), SIDEWAYS_U * rng.standard_normal(2)
        angles = np.array([paddle.blade_angle(side) for side in ("left", "right")]) + turn + tilts
        backs = np.array([np.cos(angles), np.sin(angles)])
        drawn.append(np.linalg.solve(backs, rng.multivariate_normal(U, covariance)))
    assert np.std(drawn, axis=0) == pytest.approx(np.array(stated[2:]), rel=0.05)


def test_blades_that_point_the_same_way_are_not_told_apart():
    paddle = replace(BARE, feather=math.radians(3), face=0.0)
    with pytest.raises(InputError, match="point the same way"):
        blade_moments(paddle, [0.018, 0.0], np.zeros((2, 2)))


def test_masses_that_nobody_can_know_do_not_change_the_counterweight(tmp_path):
    """The ten numbers that were asked for before: none of them reaches mass, arm or angle."""
    bench = data_path("bench", "glued_lever.csv")
    readings = read_bench(bench)
    seen = []
    for scale in (0.7, 1.0, 1.4):
        (tmp_path / "glued.toml").write_text(
            data_path("paddles", "ocean.toml")
            .read_text(encoding="utf-8")
            .replace("mass_g = 175.0", f"mass_g = {175 * scale}")
            .replace("offset_mm = 52.0", f"offset_mm = {52 * scale}"),
            encoding="utf-8",
        )
        piece = fit_file(tmp_path / "x.csv", readings).pieces[0]
        seen.append((piece.mass, piece.arm, piece.angle))
    (own,) = fit_file(bench, readings).pieces
    assert seen == [pytest.approx((own.mass, own.arm, own.angle))] * 3
