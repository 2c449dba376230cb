"""The derivations, proved: each test shows that a difference is zero for all values."""

import pytest
import sympy as sp
from sympy.physics.mechanics import dynamicsymbols

from paddlebal import equations as eq


def is_zero(expression):
    return sp.simplify(sp.expand_trig(sp.expand(expression))) == 0


def rotation(axis, angle):
    """Rotation matrix by Rodrigues' formula, built here without the library's help."""
    x, y, z = axis
    K = sp.Matrix([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return sp.eye(3) + sp.sin(angle) * K + (1 - sp.cos(angle)) * K**2


def inertia_matrix():
    I_xx, I_xy, I_xz, I_yy, I_yz, I_zz = eq.I_O
    return sp.Matrix([[I_xx, I_xy, I_xz], [I_xy, I_yy, I_yz], [I_xz, I_yz, I_zz]])


def two_blades():
    """Two equal blades: their unbalance, its square's root and the torque of gravity."""
    (m, d, phi), U = eq.two_blades()
    size = 2 * m * d * sp.cos(phi / 2)
    torque = eq.roll_torque().expression.subs({eq.U_y: U[0], eq.U_z: U[1], eq.beta: 0})
    return m, d, phi, U, size, torque


def test_body_axes_are_turned_by_inclination_then_roll():
    incline, roll = rotation((0, -1, 0), eq.beta), rotation((1, 0, 0), eq.theta)
    assert sp.simplify(eq.body_to_world() - incline * roll) == sp.zeros(3)
    right_end = eq.body_to_world() * sp.Matrix([1, 0, 0])
    assert right_end[2] == sp.sin(eq.beta)


def test_torque_is_minus_the_slope_of_the_energy_and_as_the_sign_rule_says():
    (U_y, U_z, theta, beta, g), torque = eq.roll_torque()
    assert is_zero(torque + eq.potential_energy().expression.diff(theta))
    stated = -g * sp.cos(beta) * (U_y * sp.cos(theta) - U_z * sp.sin(theta))
    assert is_zero(torque - stated)


def test_torque_about_rest_vanishes_there_and_has_a_stable_slope():
    (U, theta_rest, theta, beta, g), torque = eq.roll_torque_about_rest()
    assert is_zero(torque + g * sp.cos(beta) * U * sp.sin(theta - theta_rest))
    assert is_zero(torque.subs(theta, theta_rest))
    assert is_zero(torque.diff(theta).subs(theta, theta_rest) + g * U * sp.cos(beta))
    assert is_zero(torque.subs(theta, theta_rest + sp.pi))


def test_unbalance_points_down_at_rest():
    theta_rest = eq.theta_rest
    direction = -sp.pi / 2 - theta_rest
    U = sp.Matrix([0, sp.cos(direction), sp.sin(direction)])
    assert sp.simplify(rotation((1, 0, 0), theta_rest) * U) == sp.Matrix([0, 0, -1])


def test_two_equal_blades_have_the_stated_unbalance_along_the_bisector():
    m, d, phi, U, size, _ = two_blades()
    assert is_zero(U.dot(U) - size**2)
    bisector = sp.Matrix([sp.cos(-phi / 2), sp.sin(-phi / 2)])
    assert sp.simplify(U - size * bisector) == sp.zeros(2, 1)


def test_it_vanishes_at_half_a_turn_of_feather_only():
    m, d, phi, _, size, _ = two_blades()
    assert size.subs(phi, sp.pi) == 0
    zeros = sp.solveset(size / (m * d), phi, sp.Interval(0, sp.pi))
    assert zeros == sp.FiniteSet(sp.pi)


def test_both_catches_need_the_same_holding_torque():
    m, d, phi, _, size, torque = two_blades()
    hold = 2 * eq.g * m * d * sp.cos(phi / 2) ** 2
    control_catch, other_catch = torque.subs(eq.theta, 0), torque.subs(eq.theta, phi)
    assert is_zero(control_catch + hold)
    assert is_zero(other_catch + hold)
    assert is_zero(hold - eq.g * size * sp.cos(phi / 2))


def test_a_cycle_from_catch_to_catch_and_back_lifts_by_the_stated_work():
    m, d, phi, U, size, _ = two_blades()
    energy = eq.potential_energy().expression
    energy = energy.subs({eq.S_x: 0, eq.U_y: U[0], eq.U_z: U[1], eq.beta: 0})
    catch, other = energy.subs(eq.theta, 0), energy.subs(eq.theta, phi)
    top = energy.subs(eq.theta, phi / 2 + sp.pi / 2)
    bottom = energy.subs(eq.theta, phi / 2 - sp.pi / 2)
    assert is_zero(top - eq.g * size) and is_zero(bottom + eq.g * size)
    # Between the catches the energy rises all the way, from -g m d sin(phi) to plus that.
    slope = energy.diff(eq.theta)
    assert is_zero(slope - eq.g * size * sp.cos(eq.theta - phi / 2))
    assert is_zero(other - catch - 2 * eq.g * m * d * sp.sin(phi))


def test_rolling_lagrangian_is_the_stated_energy():
    q = dynamicsymbols("q")
    rate = q.diff(eq.t)
    kinetic = rate**2 * (eq.I_x + eq.M * eq.R**2 - 2 * eq.R * eq.U * sp.cos(q)) / 2
    stated = kinetic + eq.g * eq.U * sp.cos(q)
    assert is_zero(eq.rolling_lagrangian(q, rate) - stated)


def test_without_radius_a_rolling_swing_is_a_swing_about_a_fixed_axis():
    (theta, rate, U, I_x, M, R, g), rolling = eq.rolling_acceleration()
    fixed = eq.fixed_axis_acceleration().expression
    assert is_zero(rolling.subs(R, 0) - fixed)
    assert is_zero(fixed + g * U * sp.sin(theta) / I_x)


@pytest.mark.parametrize("name", ["fixed_axis", "rolling"])
def test_swing_accelerations_keep_the_energy(name):
    (theta, rate, *_), acceleration = getattr(eq, f"{name}_acceleration")()
    lagrangian = getattr(eq, f"{name}_lagrangian")(theta, rate)
    energy = rate * lagrangian.diff(rate) - lagrangian
    assert is_zero(energy.diff(theta) * rate + energy.diff(rate) * acceleration)


@pytest.mark.parametrize("name", ["fixed_axis", "rolling"])
def test_period_integrands_are_time_spent_on_the_way(name):
    """dt = d theta / theta', theta' from the energy, sin(theta/2) = sin(A/2) sin(u)."""
    (u, A, U, *_), integrand = getattr(eq, f"{name}_period_integrand")()
    theta, rate = sp.symbols("theta omega", positive=True)
    inertia = getattr(eq, f"{name}_lagrangian")(theta, rate).diff(rate, 2)
    speed_squared = 2 * eq.g * U * (sp.cos(theta) - sp.cos(A)) / inertia
    angle = 2 * sp.asin(sp.sin(A / 2) * sp.sin(u))
    stated = 16 * angle.diff(u) ** 2 / speed_squared.subs(theta, angle)
    values = {A: sp.Rational(4, 5), U: 2, eq.I_x: 3, eq.M: 5, eq.R: sp.Rational(1, 7), eq.g: 9}
    for point in (sp.Rational(1, 5), sp.Rational(3, 4), sp.Rational(3, 2)):
        here = values | {u: point}
        assert abs((stated / integrand**2).evalf(40, subs=here) - 1) < 1e-30


def roll_moment_by_vectors():
    """[I dw + w x (I w) + S x (a_O - g)]_x in body axes, g pointing down."""
    tensor, w, dw = inertia_matrix(), sp.Matrix(eq.omega), sp.Matrix(eq.domega)
    S = sp.Matrix([eq.S_x, eq.S_y, eq.S_z])
    to_world = rotation((0, -1, 0), eq.beta) * rotation((1, 0, 0), eq.theta)
    gravity = sp.Matrix([0, 0, -eq.g])
    acceleration = to_world.T * (sp.Matrix(eq.accel) - gravity)
    return tensor * dw + w.cross(tensor * w) + S.cross(acceleration)


def test_roll_moment_is_the_vector_formula():
    assert is_zero(eq.roll_moment().expression - roll_moment_by_vectors()[0])


def test_roll_moment_at_rest_is_minus_the_torque_of_gravity():
    still = dict.fromkeys((*eq.omega, *eq.domega, *eq.accel), 0)
    S_to_U = {eq.S_y: eq.U_y, eq.S_z: eq.U_z}
    moment = eq.roll_moment().expression.subs(still).subs(S_to_U)
    assert is_zero(moment + eq.roll_torque().expression)


def test_roll_moment_in_free_fall_without_spin_is_zero():
    falling = dict.fromkeys((*eq.omega, *eq.domega), 0) | dict(
        zip(eq.accel, (0, 0, -eq.g), strict=True)
    )
    assert is_zero(eq.roll_moment().expression.subs(falling))


def test_roll_moment_of_a_balanced_paddle_does_not_feel_acceleration_or_weight():
    balanced = eq.roll_moment().expression.subs({eq.S_y: 0, eq.S_z: 0})
    assert not balanced.free_symbols.intersection({*eq.accel, eq.g, eq.theta, eq.beta})


def test_kinetic_energy_changes_at_the_rate_the_hands_work():
    """For pure roll about a fixed O: d/dt T = (moment + torque of gravity) times roll rate."""
    still = dict.fromkeys((*eq.omega[1:], *eq.domega[1:], *eq.accel), 0)
    moment = eq.roll_moment().expression.subs(still)
    gravity = eq.roll_torque().expression.subs({eq.U_y: eq.S_y, eq.U_z: eq.S_z})
    energy = eq.kinetic_energy().expression.subs(dict.fromkeys((*eq.omega[1:], *eq.veloc), 0))
    power = energy.diff(eq.omega[0]) * eq.domega[0]
    assert is_zero(power - (moment + gravity) * eq.omega[0])
