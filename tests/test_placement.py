"""Counterweights: balance, limits, places along the shaft, halves, tolerance and cost."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from placing import FERRULE, HANDS, LIMITS, blade, paddle, vectors, weighted, within

from paddlebal.errors import InputError
from paddlebal.feather import against_feather
from paddlebal.limits import Holder, Limits, material_densities, weight_cautions
from paddlebal.paddle import Counterweight, KeepOut
from paddlebal.placement import (
    _in_the_way,
    half_unbalance,
    leaving_less,
    mass_against_arm,
    place_counterweight,
    place_pair,
    split_by_halves,
)
from paddlebal.tolerance import angle_error_residual
from paddlebal.unbalance import magnitude


@given(vectors())
def test_a_counterweight_leaves_nothing(U):
    placed = place_counterweight(U, LIMITS)
    left = U + placed.mass * placed.arm * np.array([math.cos(placed.angle), math.sin(placed.angle)])
    assert magnitude(left) < 1e-15
    assert np.allclose(placed.residual, left, atol=1e-16)


@given(vectors(), st.floats(-math.pi, math.pi))
def test_turning_the_unbalance_turns_the_counterweight_and_nothing_else(U, turn):
    c, s = math.cos(turn), math.sin(turn)
    one = place_counterweight(U, LIMITS)
    other = place_counterweight(np.array([[c, -s], [s, c]]) @ U, LIMITS)
    assert math.isclose(math.cos(other.angle - one.angle - turn), 1.0, abs_tol=1e-9)
    assert (other.mass, other.arm, other.x) == pytest.approx((one.mass, one.arm, one.x), rel=1e-9)


@given(st.floats(0, 170), st.floats(0.1, 0.25), st.floats(0.02, 0.07))
def test_a_balanced_paddle_has_no_unbalance(feather_deg, mass, offset):
    before = paddle(feather_deg, left=blade("left", mass), right=blade("right", 0.18, offset))
    limits = Limits.for_paddle(before, arm=(0.0, 0.1))
    placed = place_counterweight(before.unbalance(), limits, paddle=before)
    assert magnitude(weighted(before, placed).unbalance()) < 1e-15


@given(vectors(2e-3, 0.02), st.floats(0.25, 0.4))
def test_half_the_mass_needs_twice_the_arm(U, mass):
    limits = replace(LIMITS, material="tungsten", arm=(0.0, 1.0), shaft_radius=1e-6, mass=(0, 1))
    assume(magnitude(U) / mass > limits.least_arm(mass))
    whole, half = (place_counterweight(U, limits, mass=m) for m in (mass, mass / 2))
    assert half.arm == pytest.approx(2 * whole.arm, rel=1e-12)


def test_the_lightest_piece_within_the_limits_is_taken():
    placed = place_counterweight([0.012, 0.0], LIMITS)
    assert (placed.mass, placed.arm) == pytest.approx((0.2, 0.06))
    assert place_counterweight([0.012, 0.0], LIMITS, arm=0.05).mass == pytest.approx(0.24)
    assert place_counterweight([0.012, 0.0], LIMITS, mass=0.24).arm == pytest.approx(0.05)
    heavier = place_counterweight([0.012, 0.0], replace(LIMITS, mass=(0.3, 0.4)))
    assert (heavier.mass, heavier.arm) == pytest.approx((0.3, 0.04))


def test_the_piece_has_the_size_of_its_mass():
    placed = place_counterweight([0.012, 0.0], replace(LIMITS, material=8000.0, slenderness=3))
    volume = math.pi * placed.diameter**2 / 4 * placed.length
    assert volume * 8000 == pytest.approx(placed.mass)
    assert placed.length == pytest.approx(3 * placed.diameter)
    assert LIMITS.least_arm(0.2) == pytest.approx(0.0146 + LIMITS.diameter(0.2) / 2)


@given(vectors(2e-3, 0.02))
def test_a_step_of_mass_alone_costs_nothing(U):
    placed = place_counterweight(U, replace(LIMITS, mass_step=0.005))
    steps = placed.mass / 0.005
    assert steps == pytest.approx(round(steps), abs=1e-9)
    assert magnitude(U) / 0.06 <= placed.mass * (1 + 1e-9) < magnitude(U) / 0.06 + 0.005
    assert magnitude(placed.residual) < 1e-15


@given(vectors(2e-3, 0.02))
def test_a_step_of_angle_leaves_what_the_closed_form_says(U):
    step = math.radians(5)
    placed = place_counterweight(U, replace(LIMITS, angle_step=step))
    assert placed.angle / step == pytest.approx(round(placed.angle / step), abs=1e-9)
    error = placed.angle - math.atan2(-U[1], -U[0])
    assert abs(error) <= step / 2 * (1 + 1e-9)
    assert magnitude(placed.residual) == pytest.approx(angle_error_residual(U, error), abs=1e-15)


@given(vectors(6e-3, 0.02))
def test_steps_of_mass_and_arm_stay_within_the_limits_and_leave_little(U):
    placed = place_counterweight(U, replace(LIMITS, mass_step=0.005, arm_step=0.002))
    assert placed.arm <= 0.06 + 1e-12
    assert placed.arm / 0.002 == pytest.approx(round(placed.arm / 0.002), abs=1e-9)
    # Half a step of arm, or one whole step of mass where the longest arm holds the arm back.
    assert magnitude(placed.residual) <= max(placed.mass * 0.001, 0.005 * 0.06) + 1e-12


def test_what_falls_on_a_whole_step_is_not_moved_to_the_next():
    placed = place_counterweight([0.012, 0.0], replace(LIMITS, mass_step=0.005, arm_step=0.002))
    assert (placed.mass, placed.arm) == pytest.approx((0.2, 0.06))


@pytest.mark.parametrize(
    ("steps", "stated", "mass_and_arm"),
    [
        ({"mass_step": 0.1}, {"arm": 0.05}, (0.2, 0.05)),
        ({"arm_step": 0.01}, {"mass": 0.21}, (0.21, 0.06)),
        ({"arm_step": 0.017}, {}, (0.012 / 0.051, 0.051)),
    ],
)
def test_steps_bind_what_is_not_stated(steps, stated, mass_and_arm):
    placed = place_counterweight([0.012, 0.0], replace(LIMITS, **steps), **stated)
    assert (placed.mass, placed.arm) == pytest.approx(mass_and_arm)


def test_no_unbalance_needs_no_mass():
    placed = place_counterweight([0.0, 0.0], LIMITS)
    assert placed.mass == placed.x == 0 and magnitude(placed.residual) == 0


@pytest.mark.parametrize(
    ("U", "changed", "prescribed", "sentence"),
    [
        (0.0127, {"mass": (0, 0.18)}, {}, "Needs 211.7 g at the longest arm of 60 mm, the limit"),
        (0.0127, {"mass": (0, 0.18)}, {}, "the limit is 180 g"),
        (0.0127, {}, {"mass": 0.1}, "100 g needs an arm of 127 mm, the limit is 60 mm"),
        (0.0127, {}, {"arm": 0.03}, "Needs 423.3 g at an arm of 30 mm, the limit is 400 g"),
        (0.003, {"mass": (0.3, 0.4)}, {}, "300 g would sit at an arm of 10 mm, the least is 28.7"),
        (
            0.003,
            {"mass": (0.1, 0.4)},
            {"arm": 0.06},
            "Needs only 50 g at an arm of 60 mm, the least is 100 g",
        ),
        (0.0127, {}, {"x": 0.3}, "fit at x = 300 mm: 'right hand' is in the way, the nearest"),
        (0.0127, {}, {"x": 0.3}, "the nearest free place is 224.9"),
        (0.0127, {}, {"x": 0.7}, "the end of the free shaft is in the way"),
        (0.0127, {"x": (-0.02, 0.02)}, {}, "finds no free place on the shaft between -20 mm and"),
        (0.0127, {}, {"mass": 0.2, "arm": 0.06}, "Prescribe the mass or the arm, not both"),
        (0.0127, {}, {"mass": -0.2}, "The prescribed mass is -0.2, expected it above 0"),
        (0.0127, {}, {"mass": 0}, "The prescribed mass is 0, expected it above 0"),
        (0.0127, {}, {"arm": math.inf}, "The prescribed arm is inf, expected it above 0"),
        (0.0127, {}, {"arm": math.nan}, "The prescribed arm is nan, expected it above 0"),
        (0.0127, {}, {"x": math.nan}, "The prescribed place is nan, expected a finite number"),
        (math.nan, {}, {}, "expected two finite numbers"),
    ],
)
def test_what_cannot_be_placed_says_which_limit_fails(U, changed, prescribed, sentence):
    with pytest.raises(InputError) as caught:
        place_counterweight([0.0, U], replace(LIMITS, **changed), **prescribed)
    assert sentence in str(caught.value)
    assert str(caught.value).count(".\n") == 0 and str(caught.value).endswith(".")


@given(
    st.lists(st.tuples(st.floats(-0.6, 0.6), st.floats(0.01, 0.2)), max_size=5),
    vectors(2e-3, 0.02),
    st.floats(0.15, 0.2),
)
def test_the_place_is_the_best_free_one(stretches, U, heavier):
    keep_outs = tuple(KeepOut("zone", start, start + width) for start, width in stretches)
    before = paddle(right=blade("right", heavier), keep_outs=keep_outs)
    limits = Limits.for_paddle(before)
    try:
        placed = place_counterweight(U, limits, paddle=before)
    except InputError:
        assert not limits.free_places(limits.diameter(magnitude(U) / 0.06) * 2)
        return
    assert within(placed, limits)
    along = before.first_moment()[0]
    best = abs(along + placed.mass * placed.x)
    for x in np.linspace(limits.x[0], limits.x[1], 400):
        if within(replace(placed, x=x), limits):
            assert abs(along + placed.mass * x) >= best - 1e-9


def test_uneven_blades_are_evened_out_along_the_shaft():
    before = paddle(left=blade("left", 0.196), right=blade("right", 0.168))
    placed = place_counterweight(before.unbalance(), Limits.for_paddle(before), paddle=before)
    assert placed.x > 0
    assert weighted(before, placed).balance_point == pytest.approx(0.0, abs=1e-12)
    assert placed.balance_shift(before) == pytest.approx(-before.balance_point)


@pytest.mark.parametrize("heavy", ["left", "right"])
def test_of_two_equally_good_places_the_one_nearer_the_middle_is_taken(heavy):
    before = paddle(**{heavy: blade(heavy, 0.2)}, keep_outs=())
    U, limits = before.unbalance(), Limits.for_paddle(before)
    best = place_counterweight(U, limits, paddle=before)
    zone = KeepOut("zone", best.x - 0.05, best.x + 0.05)
    placed = place_counterweight(U, replace(limits, keep_outs=(zone,)), paddle=before)
    assert abs(placed.x) == pytest.approx(abs(best.x) - 0.05 - placed.length / 2)


def test_a_ferrule_in_the_middle_moves_a_single_piece_but_not_a_pair():
    before = paddle(keep_outs=(*HANDS, FERRULE))
    U, limits = before.unbalance(), Limits.for_paddle(before)
    single = place_counterweight(U, limits, paddle=before)
    assert single.x == pytest.approx(0.045 + single.length / 2)
    assert single.balance_shift(before) == pytest.approx(
        single.mass * single.x / (before.mass + single.mass)
    )
    pair = place_pair(U, limits, paddle=before)
    after = weighted(before, *pair)
    assert all(within(p, limits) for p in pair)
    assert pair[0].mass == pair[1].mass == pytest.approx(single.mass / 2)
    assert pair[0].x == pytest.approx(-0.045 - pair[0].length / 2)
    assert after.balance_point == pytest.approx(0.0, abs=1e-12)
    assert magnitude(after.unbalance()) < 1e-15
    assert np.allclose(pair[0].residual, after.unbalance(), atol=1e-15)


@pytest.mark.parametrize("heavy", ["left", "right"])
def test_a_pair_evens_out_uneven_blades(heavy):
    before = paddle(**{heavy: blade(heavy, 0.18)}, keep_outs=(*HANDS, FERRULE))
    pair = place_pair(before.unbalance(), Limits.for_paddle(before), paddle=before)
    assert pair[0].x < 0 < pair[1].x
    assert (pair[1].x > -pair[0].x) == (heavy == "left")
    assert weighted(before, *pair).balance_point == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(InputError, match="no free places either side"):
        place_pair(before.unbalance(), Limits(keep_outs=(KeepOut("half", -0.7, 0.1),)))
    with pytest.raises(InputError, match="no free places either side"):
        place_pair(before.unbalance(), Limits(keep_outs=(KeepOut("half", -0.1, 0.7),)))


@pytest.mark.parametrize("zone", [(-0.045, 0.15), (-0.15, 0.045)])
def test_a_pair_stands_as_far_left_as_right_of_an_uneven_keep_out(zone):
    U, limits = np.array([0.012, 0.0]), replace(LIMITS, keep_outs=(KeepOut("zone", *zone),))
    left, right = place_pair(U, limits)
    assert (-left.x, right.x) == pytest.approx([0.15 + left.length / 2] * 2)
    assert within(left, limits) and within(right, limits)


def test_a_pair_shares_the_mass_stated_and_stands_side_by_side_where_the_middle_is_free():
    U = np.array([0.012, 0.0])
    for stated in ({"mass": 0.24}, {"arm": 0.05}):
        pair = place_pair(U, LIMITS, **stated)
        assert [p.mass for p in pair] == pytest.approx([0.12, 0.12])
        assert [p.arm for p in pair] == pytest.approx([0.05, 0.05])
        assert [p.x for p in pair] == pytest.approx([-pair[0].length / 2, pair[0].length / 2])
    assert [p.mass for p in place_pair([0.0, 0.0], LIMITS)] == [0.0, 0.0]


def test_the_limits_of_mass_are_those_of_both_pieces_of_a_pair_together():
    U = np.array([0.012, 0.0])
    for least, greatest, mass in ((0.0, 0.2, 0.2), (0.3, 0.4, 0.3)):
        pair = place_pair(U, replace(LIMITS, mass=(least, greatest)))
        assert [p.mass for p in pair] == pytest.approx([mass / 2, mass / 2])
    with pytest.raises(InputError, match="Needs 100 g .* the limit is 95 g"):
        place_pair(U, replace(LIMITS, mass=(0.0, 0.19)))


def test_each_piece_of_a_pair_tells_what_both_leave():
    before = paddle(50.0)
    limits = Limits.for_paddle(before, angle_step=math.radians(20))
    pair = place_pair(before.unbalance(), limits, paddle=before)
    left = weighted(before, *pair).unbalance()
    assert magnitude(left) > 1e-4
    assert [p.residual for p in pair] == [pytest.approx(left), pytest.approx(left)]


def test_the_swing_inertia_reported_is_the_one_the_paddle_gets():
    before = paddle(keep_outs=(*HANDS, FERRULE))
    placed = place_counterweight(before.unbalance(), Limits.for_paddle(before), paddle=before)
    gained = weighted(before, placed).inertia()[2, 2] - before.inertia()[2, 2]
    assert placed.swing_inertia == pytest.approx(gained)


@given(st.floats(0, 150), st.floats(0.1, 0.2), st.floats(0.03, 0.06))
def test_the_split_costs_one_over_the_cosine_of_half_the_feather(feather_deg, mass, offset):
    before = paddle(
        feather_deg, left=blade("left", mass, offset), right=blade("right", mass, offset)
    )
    limits = Limits.for_paddle(before, mass=(0.0, 2.0))
    single = place_counterweight(before.unbalance(), limits, arm=0.06)
    split = split_by_halves(before, limits)
    assert [p.arm for p in split] == pytest.approx([0.06, 0.06])
    ratio = sum(p.mass for p in split) / single.mass
    assert ratio == pytest.approx(1 / math.cos(math.radians(feather_deg) / 2), rel=1e-9)


@given(st.floats(0.12, 0.2), st.floats(0.12, 0.2), st.floats(0.0, 90.0))
def test_the_split_holds_for_every_feather_and_evens_out_the_shaft(left, right, feather_deg):
    before = paddle(
        feather_deg, blade("left", left), blade("right", right), keep_outs=(*HANDS, FERRULE)
    )
    split = split_by_halves(before, Limits.for_paddle(before))
    after = weighted(before, *split)
    assert split[0].x < 0 < split[1].x
    assert np.all(against_feather(after, np.arange(0, 181, 15)).unbalance < 1e-15)
    assert abs(after.balance_point) <= abs(before.balance_point) + 1e-12


def test_a_single_counterweight_holds_for_its_own_feather_only():
    before = paddle(60.0, keep_outs=(*HANDS, FERRULE))
    after = weighted(before, place_counterweight(before.unbalance(), Limits.for_paddle(before)))
    left = against_feather(after, [[30.0, 60.0], [75.0, 90.0]]).unbalance
    assert left.shape == (2, 2) and left[0, 1] < 1e-15
    # On the control half the piece stands still and the other blade alone turns.
    turned = 2 * 0.175 * 0.052 * np.abs(np.sin(np.radians([30.0, -15.0, -30.0]) / 2))
    assert left[[0, 1, 1], [0, 0, 1]] == pytest.approx(turned)


def test_the_halves_add_up_to_the_whole():
    before = paddle(40.0).with_counterweights(
        Counterweight(0.05, 0.05, 1.0, 0.1), Counterweight(0.07, 0.04, -2.0, -0.2)
    )
    halves = half_unbalance(before, "left") + half_unbalance(before, "right")
    assert np.allclose(halves, before.unbalance(), atol=1e-15)


@pytest.mark.parametrize(("x", "near", "far"), [(-0.1, "left", "right"), (0.1, "right", "left")])
def test_a_counterweight_counts_on_the_half_on_which_it_sits(x, near, far):
    bare = paddle(40.0)
    after = bare.with_counterweights(Counterweight(0.05, 0.04, math.pi / 2, x))
    gained = half_unbalance(after, near) - half_unbalance(bare, near)
    assert gained == pytest.approx([0.0, 0.002], abs=1e-15)
    assert half_unbalance(after, far) == pytest.approx(half_unbalance(bare, far), abs=1e-15)


@pytest.mark.parametrize(("heavy", "light"), [("left", "right"), ("right", "left")])
def test_the_split_evens_out_a_heavier_blade_from_the_other_half(heavy, light):
    before = paddle(**{heavy: blade(heavy, mass=0.18)})
    pieces = split_by_halves(before, Limits.for_paddle(before))
    split = dict(zip(("left", "right"), pieces, strict=True))
    assert abs(split[heavy].x) == pytest.approx(split[heavy].length / 2)
    assert abs(split[light].x) > split[light].length / 2
    assert split["left"].x < 0 < split["right"].x
    assert weighted(before, *pieces).balance_point == pytest.approx(0.0, abs=1e-12)


def test_a_half_counts_where_its_blade_lies_across():
    def twisted(side):
        return replace(blade(side), across=0.008)

    before = paddle(left=twisted("left"), right=twisted("right"))
    halves = [half_unbalance(before, side) for side in ("left", "right")]
    assert sum(halves) == pytest.approx(before.unbalance(), abs=1e-15)
    assert magnitude(halves[0]) == pytest.approx(0.175 * math.hypot(0.052, 0.008))
    split = weighted(before, *split_by_halves(before, Limits.for_paddle(before)))
    feathers = np.linspace(0, 90, 7)
    assert against_feather(split, feathers).unbalance == pytest.approx(0, abs=1e-12)


def test_the_trade_keeps_the_product_and_the_densest_piece_is_the_smallest():
    shown = mass_against_arm([0.0, 0.012], LIMITS)
    assert np.allclose(shown.mass * shown.arm, 0.012)
    assert shown.diameter.shape == (len(shown.materials), shown.arm.size)
    assert shown.materials[int(np.argmin(shown.diameter[:, 0]))] == "tungsten"
    densities = np.array([material_densities()[name] for name in shown.materials])
    volume = np.pi / 4 * shown.diameter**2 * shown.length
    assert np.allclose(volume * densities[:, None], shown.mass)
    fits = [replace(LIMITS, material=name).least_arm(shown.mass[-1]) for name in shown.materials]
    assert np.allclose(shown.clearance[:, -1], shown.arm[-1] - fits)


@pytest.mark.parametrize(("least", "first"), [(0.0, 0.0146), (0.03, 0.03)])
def test_the_trade_runs_from_the_shafts_surface_or_the_least_arm_to_the_greatest(least, first):
    arm = mass_against_arm([0.0, 0.012], replace(LIMITS, arm=(least, 0.06))).arm
    assert arm == pytest.approx(np.linspace(first, 0.06, 101))


def test_a_placement_is_told_in_plain_words():
    told = str(place_counterweight([0.0, -0.012], LIMITS, arm=0.06, x=-0.1))
    assert told == (
        "200.0 g on an arm of 60.0 mm, at 90.0 degrees, 100 mm left of the middle; leaves 0 g·mm"
    )
    assert "at the middle;" in str(place_counterweight([0.0, -0.012], LIMITS, arm=0.06, x=0.0))
    below = place_counterweight([0.0, 0.012], LIMITS, arm=0.06, x=0.15)
    assert str(replace(below, residual=np.array([3e-6, 4e-6]))) == (
        "200.0 g on an arm of 60.0 mm, at 270.0 degrees, 150 mm right of the middle; leaves 5 g·mm"
    )


def test_a_second_weight_keeps_clear_of_the_first():
    before = paddle(keep_outs=())
    first = place_counterweight(before.unbalance(), Limits.for_paddle(before), paddle=before)
    light = before.with_counterweights(replace(first, mass=0.8 * first.mass).counterweight)
    second = place_counterweight(light.unbalance(), Limits.for_paddle(light), paddle=light)
    gap = abs(second.x - first.x) - (second.length + first.length * 0.8 ** (1 / 3)) / 2
    assert gap == pytest.approx(0, abs=1e-4)
    with pytest.raises(InputError, match="'a weight that is on' is in the way"):
        place_counterweight(light.unbalance(), Limits.for_paddle(light), x=first.x, paddle=light)


def test_a_piece_stays_within_the_stated_reach():
    before = paddle(left=blade("left", mass=0.19))
    far = place_counterweight([0.0, 1e-4], Limits.for_paddle(before), paddle=before)
    near = place_counterweight([0.0, 1e-4], Limits.for_paddle(before, reach=0.2), paddle=before)
    assert far.x > 0.5 and near.x == pytest.approx(0.2 - near.length / 2)
    assert Limits.for_paddle(before, reach=0.2).x == (-0.2, 0.2)


@pytest.mark.parametrize(
    ("x", "length", "names"),
    [
        (-1e-6, 0.02, "'a'"),
        (1e-6, 0.02, "'b'"),
        (0.0, 0.021, "'a' and 'b'"),
        (-0.11 + 1e-6, 0.02, "'a'"),
        (-0.11 - 1e-6, 0.02, "the end of the free shaft"),
        (0.11 - 1e-6, 0.02, "'b'"),
        (0.11 + 1e-6, 0.02, "the end of the free shaft"),
    ],
)
def test_what_is_in_the_way_is_named_to_the_edge(x, length, names):
    zones = (KeepOut("a", -0.1, -0.01), KeepOut("b", 0.01, 0.1))
    assert _in_the_way(replace(LIMITS, keep_outs=zones), length, x) == names


def test_a_piece_that_touches_a_keep_out_is_not_in_its_way():
    zone = KeepOut("a", 0.25, 0.5)
    limits = replace(LIMITS, keep_outs=(zone,))
    for x in (0.125, 0.625):
        assert _in_the_way(limits, 0.25, x) == "the end of the free shaft"


@pytest.mark.parametrize("lead", [0.0, 0.5, -1.2])
def test_piece_and_holder_balance_together(lead):
    U, holder = np.array([0.012, -0.009]), Holder(0.04, 0.03, lead)
    limits = replace(LIMITS, holder=holder, x=(-0.7, 0.7))
    piece = place_counterweight(U, limits, arm=0.06)
    assert piece.residual == pytest.approx([0, 0], abs=1e-15)
    weight, held = piece.counterweights
    assert held.angle - weight.angle == pytest.approx(lead) and held.x == weight.x
    assert weight.unbalance + held.unbalance == pytest.approx(-U)
    if lead == 0:
        alone = place_counterweight(U, replace(limits, holder=None), arm=0.06)
        assert piece.mass == pytest.approx(alone.mass - 0.04 * 0.03 / 0.06)


def test_a_holder_that_weighs_too_much_is_told():
    limits = replace(LIMITS, holder=Holder(0.4, 0.05))
    with pytest.raises(InputError, match="^The holder alone, 400 g at 50 mm, is more than"):
        place_counterweight([0.012, 0.0], limits)


def test_the_errors_of_a_piece_turn_its_holder_too():
    limits = replace(LIMITS, holder=Holder(0.04, 0.03))
    piece = place_counterweight([0.012, -0.009], limits, arm=0.06)
    spread = piece.covariance(0.0, 0.0, 0.01)
    assert np.sqrt(np.trace(spread)) == pytest.approx(0.01 * 0.015)


def test_when_coarse_steps_leave_much_a_heavier_piece_that_leaves_less_is_offered():
    U = np.array([0.0158, 0.0])
    limits = Limits(arm=(0.0, 0.08), mass=(0.0, 0.4), mass_step=0.01, arm_step=0.005)
    chosen = place_counterweight(U, limits)
    better = leaving_less(U, limits, chosen)
    assert magnitude(better.residual) < magnitude(chosen.residual) / 2
    assert better.mass > chosen.mass and better.arm < chosen.arm
    lighter = [
        place_counterweight(U, limits, arm=0.005 * count)
        for count in range(round(better.arm / 0.005) + 1, round(chosen.arm / 0.005) + 1)
    ]
    assert all(2 * magnitude(each.residual) >= magnitude(chosen.residual) for each in lighter)
    fine = replace(limits, arm_step=0.0)
    assert leaving_less(U, fine, place_counterweight(U, fine)) is None


@pytest.mark.parametrize(("density", "lead"), [(11340, True), (10900, True), (8500, False)])
def test_lead_is_warned_of_only_where_it_may_be(density, lead):
    assert any("Lead is toxic" in each for each in weight_cautions(density)) == lead
    assert len(weight_cautions(density)) == 4 + lead
