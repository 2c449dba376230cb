"""Rest, torque, lift and couple part of the unbalance."""

from dataclasses import replace
from math import cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from random_paddles import angles, paddles, unbalances

from paddlebal import InputError, load_paddle, rest_angle, roll_torque
from paddlebal.compiled import numeric
from paddlebal.files.text import data_path
from paddlebal.paddle import rotation_about_x
from paddlebal.unbalance import catch_torque, couple_unbalance, cycle_lift, lift, magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY

inclinations = st.floats(-1.2, 1.2)
close = pytest.approx


def nonzero(U):
    return magnitude(U) > 1e-9


def height(U, theta):
    """How high [kg·m] the unbalance stands above the shaft."""
    return (rotation_about_x(theta) @ [0.0, *U])[2]


@given(unbalances.filter(nonzero))
def test_at_the_rest_angle_the_unbalance_points_down(U):
    rest = rest_angle(U)
    assert -pi < rest <= pi
    assert height(U, rest) == close(-magnitude(U), rel=1e-12)


@pytest.mark.parametrize(
    "U, rest", [((0, -1), 0), ((1, 0), -pi / 2), ((-1, 0), pi / 2), ((0, 1), pi), ((-0.0, 1), pi)]
)
def test_rest_angle_of_the_four_directions(U, rest):
    assert rest_angle(U) == rest


@pytest.mark.parametrize("U", [(0, 0), (-0.0, 0.0), [(1, 0), (0, 0)]])
def test_no_unbalance_has_no_rest_angle_and_says_so(U):
    with pytest.raises(InputError, match="^An unbalance of zero has no rest angle.*anywhere.$"):
        rest_angle(U)


@given(unbalances, angles)
def test_no_unbalance_needs_no_torque(U, theta):
    assert roll_torque((0.0, 0.0), theta) == 0.0
    assert roll_torque(U, theta, pi / 2) == close(0.0, abs=1e-16)


@given(unbalances.filter(nonzero), inclinations)
def test_rest_is_an_equilibrium_that_brings_the_paddle_back(U, inclination):
    rest, step, size = rest_angle(U), 1e-4, STANDARD_GRAVITY * cos(inclination) * magnitude(U)
    assert roll_torque(U, rest, inclination) == close(0.0, abs=1e-15)
    assert roll_torque(U, rest + pi, inclination) == close(0.0, abs=1e-15)
    slope = (
        roll_torque(U, rest + step, inclination) - roll_torque(U, rest - step, inclination)
    ) / (2 * step)
    assert slope == close(-size, rel=1e-6)


@given(unbalances, angles, inclinations, st.floats(-0.05, 0.05))
def test_torque_is_minus_the_slope_of_the_potential_energy(U, theta, inclination, S_x):
    def energy(angle):
        return numeric("potential_energy")(S_x, *U, angle, inclination, STANDARD_GRAVITY)

    step = 1e-4
    slope = (energy(theta + step) - energy(theta - step)) / (2 * step)
    assert roll_torque(U, theta, inclination) == close(-slope, rel=1e-7, abs=1e-11)


@given(unbalances, angles, inclinations)
def test_torque_by_size_and_rest_is_the_torque_by_components(U, theta, inclination):
    by_components = numeric("roll_torque")(*U, theta, inclination, STANDARD_GRAVITY)
    assert roll_torque(U, theta, inclination) == close(by_components, abs=1e-15)


def test_torque_broadcasts():
    U = np.array([[0.01, 0.0], [0.0, 0.02], [0.0, 0.0]])
    theta = np.linspace(-pi, pi, 7)[:, None]
    torque = roll_torque(U, theta)
    assert torque.shape == (7, 3)
    for i, j in np.ndindex(7, 3):
        assert torque[i, j] == close(roll_torque(U[j], theta[i, 0]), abs=1e-16)
    assert rest_angle(U[:2]) == close([-pi / 2, pi])
    assert magnitude(U) == close([0.01, 0.02, 0.0])


@given(unbalances, angles, angles)
def test_lift_up_and_down_differ_by_the_change_of_height(U, start, stop):
    up, down = lift(U, start, stop)
    assert up >= 0 and down >= 0
    rise = STANDARD_GRAVITY * (height(U, stop) - height(U, start))
    assert up - down == close(rise, abs=1e-15)
    assert lift(U, stop, start) == close((down, up), abs=1e-15)


@given(unbalances, st.floats(-7, 7), st.floats(-7, 7))
def test_lift_is_the_rise_summed_along_the_way(U, start, stop):
    heights = [height(U, angle) for angle in np.linspace(start, stop, 2001)]
    steps = STANDARD_GRAVITY * np.diff(heights)
    up, down = lift(U, start, stop)
    assert up == close(steps[steps > 0].sum(), rel=1e-4, abs=1e-6)
    assert down == close(-steps[steps < 0].sum(), rel=1e-4, abs=1e-6)


@given(unbalances.filter(nonzero), angles, st.integers(1, 3))
def test_every_whole_turn_lifts_and_lowers_twice_the_weight_moment(U, start, turns):
    work = 2 * turns * STANDARD_GRAVITY * magnitude(U)
    assert lift(U, start, start + turns * 2 * pi) == close((work, work), rel=1e-9)


def equal_blades(paddle, feather):
    """The paddle with two equal blades at the same distance and no weights."""
    right = replace(paddle.left, x=-paddle.left.x, across=0.0)
    left = replace(paddle.left, across=0.0)
    return replace(paddle, left=left, right=right, counterweights=(), feather=feather)


@given(paddles(own_inertia=False), st.floats(0, pi))
def test_equal_blades_rest_at_the_bisector_with_half_the_feather_on_either_side(paddle, feather):
    assume(abs(paddle.left.offset) > 1e-3 and feather < 3.1)
    paddle = equal_blades(paddle, feather)
    U, blade = paddle.unbalance(), paddle.left
    assert magnitude(U) == close(2 * blade.mass * abs(blade.offset) * cos(feather / 2))
    rest = rest_angle(U)
    away = [abs((paddle.catch_angle(s) - rest + pi) % (2 * pi) - pi) for s in ("left", "right")]
    assert sorted(away) == close([(pi - feather) / 2, (pi + feather) / 2])
    hold = [abs(roll_torque(U, paddle.catch_angle(side))) for side in ("left", "right")]
    expected = STANDARD_GRAVITY * magnitude(U) * cos(feather / 2)
    assert hold == close([expected, expected])


@given(paddles(own_inertia=False), st.floats(0, pi))
def test_lift_over_a_cycle_is_the_same_for_either_control_hand(paddle, feather):
    paddle = equal_blades(paddle, feather)
    blade = paddle.left
    for control in ("left", "right"):
        hand = replace(paddle, control=control)
        there, back = hand.catch_angle("left"), hand.catch_angle("right")
        work = np.add(lift(hand.unbalance(), there, back), lift(hand.unbalance(), back, there))
        expected = 2 * STANDARD_GRAVITY * blade.mass * abs(blade.offset) * sin(feather)
        assert work == close((expected, expected), abs=1e-14)


@given(paddles())
def test_couple_is_the_sum_of_moments_along_the_shaft(paddle):
    parts = sum(mass * centre[0] * centre[1:] for mass, centre, _ in paddle.bodies())
    own = sum(-inertia[0, 1:] for _, _, inertia in paddle.bodies())
    assert couple_unbalance(paddle) == close(parts + own, abs=1e-15)


def test_one_gram_at_one_millimetre():
    assert close(0.001 * 0.001) == GRAM_MM
    ocean = load_paddle(data_path("paddles", "ocean.toml"))
    assert magnitude(ocean.unbalance()) / GRAM_MM == close(2 * 175 * 52 * cos(radians(30)))


@pytest.mark.parametrize("start_deg, stop_deg", [(10, 400), (400, 10), (-500, 30), (200, 215)])
def test_lift_is_the_sum_over_many_small_steps(start_deg, stop_deg):
    U = np.array([0.011, 0.004])
    path = np.radians(np.linspace(start_deg, stop_deg, 100_001))
    steps = np.diff(9.80665 * (U[0] * np.sin(path) + U[1] * np.cos(path)))
    up, down = lift(U, path[0], path[-1])
    assert up == pytest.approx(steps[steps > 0].sum(), rel=1e-6, abs=1e-12)
    assert down == pytest.approx(-steps[steps < 0].sum(), rel=1e-6, abs=1e-12)


def test_a_measured_unbalance_takes_the_place_of_the_paddles_own():
    ocean = load_paddle(data_path("paddles", "ocean.toml"))
    own, U = ocean.unbalance(), np.array([0.004, -0.011])
    catches = ocean.catch_angle("left"), ocean.catch_angle("right")
    for given_U, taken in ((None, own), (U, U)):
        torques = [abs(float(roll_torque(taken, angle))) for angle in catches]
        assert catch_torque(ocean, given_U) == pytest.approx(max(torques))
        lifted = lift(taken, *catches)[0] + lift(taken, *catches[::-1])[0]
        assert cycle_lift(ocean, given_U) == pytest.approx(lifted) and lifted > 0.01
