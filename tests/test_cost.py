"""What a counterweight gives and costs."""

import math
from dataclasses import replace

import pytest
from placing import blade, paddle, weighted

from paddlebal.cost import counterweight_cost
from paddlebal.limits import Limits
from paddlebal.paddle import SIDES
from paddlebal.placement import (
    place_counterweight,
)
from paddlebal.unbalance import lift
from paddlebal.units import STANDARD_GRAVITY


def test_cost_counts_what_the_hands_lift():
    before = paddle(60.0)
    placed = place_counterweight(before.unbalance(), Limits.for_paddle(before), paddle=before)
    spent = counterweight_cost(before, weighted(before, placed), lift_height=0.15)
    assert spent.mass == pytest.approx(placed.mass)
    assert spent.swing_inertia == pytest.approx(placed.swing_inertia)
    assert spent.roll_inertia == pytest.approx(placed.mass * placed.arm**2)
    assert spent.balance_shift == pytest.approx(0.0, abs=1e-12)
    assert spent.lifting_work == pytest.approx(placed.mass * STANDARD_GRAVITY * 0.15)
    # Two equal blades: 2 g m d sin(feather) is lifted a cycle, 2 g m d cos²(feather / 2) held.
    product = 2 * STANDARD_GRAVITY * 0.175 * 0.052
    assert spent.roll_work_saved == pytest.approx(product * math.sin(math.pi / 3))
    assert spent.holding_torque_before == pytest.approx(product * math.cos(math.pi / 6) ** 2)
    assert spent.holding_torque_after < 1e-12
    assert spent.work_saved == pytest.approx(spent.roll_work_saved - 2 * spent.lifting_work)


def test_a_paddle_left_as_it_is_costs_nothing():
    same = paddle(left=blade("left", 0.19))
    spent = counterweight_cost(same, same)
    changes = spent.mass, spent.swing_inertia, spent.roll_inertia, spent.balance_shift
    assert changes == (0, 0, 0, 0)
    assert spent.lifting_work == spent.roll_work_saved == spent.work_saved == 0
    assert "0 g by 100 mm twice" in spent.verdict


@pytest.mark.parametrize("heavy", ["left", "right"])
def test_the_torque_to_hold_is_that_of_the_worse_catch(heavy):
    uneven = paddle(60.0, **{heavy: blade(heavy, 0.25)})
    U_y, U_z = uneven.unbalance()
    torques = [
        STANDARD_GRAVITY * abs(U_y * math.cos(angle) - U_z * math.sin(angle))
        for angle in (uneven.catch_angle("left"), uneven.catch_angle("right"))
    ]
    assert abs(torques[0] - torques[1]) > 0.01
    assert counterweight_cost(uneven, uneven).holding_torque_before == pytest.approx(max(torques))


def test_the_verdict_says_which_wins():
    before = paddle(60.0)
    placed = place_counterweight(before.unbalance(), Limits.for_paddle(before), paddle=before)
    after = weighted(before, placed)
    even = counterweight_cost(before, after, 1.0).roll_work_saved / (
        2 * placed.mass * STANDARD_GRAVITY
    )
    assert "costs" in counterweight_cost(before, after, 1.1 * even).verdict
    assert "saves" in counterweight_cost(before, after, 0.9 * even).verdict
    assert "from 0.134 to 0.000 N·m" in counterweight_cost(before, after).verdict


def test_a_paddle_that_sinks_says_so():
    before = paddle(
        left=blade("left", volume=50e-6),
        right=blade("right", volume=50e-6),
    )
    before = replace(before, shaft=replace(before.shaft, volume=600e-6))
    placed = place_counterweight(before.unbalance(), Limits.for_paddle(before))
    after = weighted(before, placed)
    spent = counterweight_cost(before, after)
    water = 1000.0 * (700e-6 + placed.mass / placed.density)
    assert before.flotation > 0 > spent.flotation == pytest.approx(water - after.mass)
    assert spent.sinks and "no longer floats" in spent.verdict
    floating = counterweight_cost(paddle(), paddle())
    assert not floating.sinks and "floats" not in floating.verdict


def test_the_cost_of_a_measured_paddle_is_that_of_what_was_measured():
    before = paddle()
    U = 0.6 * before.unbalance()
    weight = place_counterweight(U, Limits.for_paddle(before)).counterweight
    spent = counterweight_cost(before, before.with_counterweights(weight), measured=list(U))
    by_file = counterweight_cost(before, before)
    lifted = sum(lift(U, *map(before.catch_angle, way))[0] for way in (SIDES, SIDES[::-1]))
    assert spent.roll_work_saved == pytest.approx(lifted) and lifted > 0.05
    assert spent.holding_torque_before == pytest.approx(0.6 * by_file.holding_torque_before)
    assert spent.holding_torque_after == pytest.approx(0, abs=1e-9)
