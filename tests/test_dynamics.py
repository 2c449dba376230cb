"""The roll moment of a moving paddle."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from random_paddles import angles, paddles, vectors

from paddlebal import InputError, load_paddle, roll_moment, roll_torque
from paddlebal.compiled import numeric
from paddlebal.files.text import data_path
from paddlebal.paddle import rotation_about_x
from paddlebal.units import STANDARD_GRAVITY

inclinations = st.floats(-1.2, 1.2)
close = pytest.approx
STILL = np.zeros(3)


@pytest.fixture(scope="module")
def mended():
    return load_paddle(data_path("paddles", "mended.toml"))


def from_equation(paddle, theta, omega, domega, accel, inclination):
    """The same by the equation itself, term by term."""
    properties = (*paddle.first_moment()[1:], *paddle.inertia()[np.triu_indices(3)])
    vectors = (part for v in (omega, domega, accel) for part in np.moveaxis(v, -1, 0))
    return numeric("roll_moment")(*properties, theta, *vectors, inclination, STANDARD_GRAVITY)


def random_states(shape, seed=0):
    """Roll angle, angular velocity and acceleration, acceleration of O, inclination."""
    rng = np.random.default_rng(seed)
    vectors = (size * rng.standard_normal((*shape, 3)) for size in (8, 40, 20))
    return rng.uniform(-7, 7, shape), *vectors, rng.uniform(-1, 1, shape)


@given(paddles(), angles, inclinations)
def test_at_rest_the_hands_supply_minus_gravitys_torque(paddle, theta, inclination):
    moment = roll_moment(paddle, theta, STILL, STILL, STILL, inclination)
    assert moment == close(-roll_torque(paddle.unbalance(), theta, inclination), abs=1e-14)


@given(paddles(), angles, vectors(10), vectors(50), vectors(20))
def test_is_the_moment_that_moves_every_body(paddle, theta, omega, domega, accel):
    """Newton for each body's centre, Euler for its own rotation, summed about O."""
    felt = rotation_about_x(theta).T @ (accel + [0, 0, STANDARD_GRAVITY])
    total = np.zeros(3)
    for mass, centre, inertia in paddle.bodies():
        spin = np.cross(domega, centre) + np.cross(omega, np.cross(omega, centre))
        total += np.cross(centre, mass * (felt + spin))
        total += inertia @ domega + np.cross(omega, inertia @ omega)
    moment = roll_moment(paddle, theta, omega, domega, accel)
    assert moment == close(total[0], rel=1e-11, abs=1e-11)


@given(paddles(), angles, vectors(20), inclinations)
def test_acceleration_without_rotation_acts_as_added_weight(paddle, theta, accel, inclination):
    """Falling freely, no moment is needed; rising at g, twice the weight's."""
    fall = np.array([0, 0, -STANDARD_GRAVITY])
    assert roll_moment(paddle, theta, STILL, STILL, fall, inclination) == close(0, abs=1e-14)
    rest = roll_moment(paddle, theta, STILL, STILL, STILL, inclination)
    rising = roll_moment(paddle, theta, STILL, STILL, -fall, inclination)
    assert rising == close(2 * rest, abs=1e-14)


def test_broadcasts_over_leading_axes(mended):
    theta, omega, domega, accel, inclination = random_states((4, 3))
    whole = roll_moment(mended, theta, omega, domega, accel, inclination)
    assert whole.shape == (4, 3)
    for i in np.ndindex(4, 3):
        one = roll_moment(mended, theta[i], omega[i], domega[i], accel[i], inclination[i])
        assert np.ndim(one) == 0
        assert whole[i] == close(one, rel=1e-12, abs=1e-13)
    spread = roll_moment(mended, theta[:1], omega[:, :1], domega[0, 0], STILL, inclination[0, 0])
    apart = from_equation(mended, theta[:1], omega[:, :1], domega[0, 0], STILL, inclination[0, 0])
    assert spread == close(apart, rel=1e-12, abs=1e-13)


@pytest.mark.parametrize("shape", [(0,), (1,), (100_001,), (3, 50_000), (50_000, 3), (2, 0, 4)])
def test_blocks_leave_no_seam(mended, shape):
    states = random_states(shape)
    moment = roll_moment(mended, *states)
    assert moment.shape == shape
    assert moment == close(from_equation(mended, *states), rel=1e-11, abs=1e-12)
    level = (*states[:-1], 0.0)
    assert roll_moment(mended, *level) == close(from_equation(mended, *level), rel=1e-11, abs=1e-12)


def test_takes_lists_and_leaves_its_arguments_alone(mended):
    states = random_states((5,))
    kept = [np.copy(part) for part in states]
    moment = roll_moment(mended, *(part.tolist() for part in states))
    assert moment == close(roll_moment(mended, *states), abs=1e-15)
    for part, copy in zip(states, kept, strict=True):
        np.testing.assert_array_equal(part, copy)


@pytest.mark.parametrize("place, name", list(enumerate(["omega", "domega", "accel"])))
def test_a_vector_without_three_components_is_named(mended, place, name):
    vectors: list[Any] = [STILL, STILL, STILL]
    for wrong in (0.0, np.zeros(2), np.zeros((3, 4))):
        vectors[place] = wrong
        with pytest.raises(InputError, match=f"^{name.capitalize()} has shape .* expected"):
            roll_moment(mended, 0.0, *vectors)
