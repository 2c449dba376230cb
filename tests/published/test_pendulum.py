"""Swings against a printed table, another library's elliptic integral, an ODE and MuJoCo.

Sources: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), Table 17.2
(data/published/elliptic_k.csv); scipy.special.ellipk; scipy.integrate.solve_ivp, DOP853 of
E. Hairer, S. P. Norsett, G. Wanner, Solving Ordinary Differential Equations I (1993); MuJoCo's
mass matrix, E. Todorov, T. Erez, Y. Tassa, MuJoCo: a physics engine for model-based control,
IROS (2012).
"""

from math import pi, radians, sqrt

import mujoco
import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import ellipk, roots_legendre

from paddlebal import swing_period
from paddlebal.files.published import published_rows
from paddlebal.units import STANDARD_GRAVITY as g

TABLE = published_rows("elliptic_k", numbers=("modular_angle_deg", "K"))
MASS, RADIUS, U, I_X = 0.65, 0.0146, 0.01575, 1.055724e-3
AMPLITUDES = [radians(a) for a in (1, 10, 50, 90, 120, 150, 170)]


def period(amplitude, support="rollers", unbalance=U, inertia=I_X):
    return swing_period([unbalance, 0.0], inertia, amplitude, support, MASS, RADIUS)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['modular_angle_deg']:.0f}deg")
def test_pendulum_of_one_metre_swings_by_the_printed_table(row):
    """T = 4 sqrt(l / g) K(sin alpha) with the amplitude twice the modular angle alpha."""
    pendulum = period(2 * radians(row["modular_angle_deg"]), unbalance=1.0, inertia=1.0)
    assert pendulum == pytest.approx(4 * sqrt(1 / g) * row["K"], rel=1e-14)


def test_the_table_as_copied_agrees_with_scipy():
    modulus = np.sin(np.radians([row["modular_angle_deg"] for row in TABLE]))
    np.testing.assert_allclose([row["K"] for row in TABLE], ellipk(modulus**2), rtol=1e-14)


@pytest.mark.parametrize("amplitude", AMPLITUDES)
def test_fixed_axis_period_is_the_elliptic_integral(amplitude):
    exact = 4 * sqrt(I_X / (g * U)) * ellipk(np.sin(amplitude / 2) ** 2)
    assert period(amplitude) == pytest.approx(exact, rel=1e-13)


def test_smallest_swings_keep_the_harmonic_period():
    assert period(1e-4) == pytest.approx(2 * pi * sqrt(I_X / (g * U)), rel=1e-9)
    at_bottom = I_X + MASS * RADIUS**2 - 2 * RADIUS * U
    assert period(1e-4, "rails") == pytest.approx(2 * pi * sqrt(at_bottom / (g * U)), rel=1e-8)


@pytest.mark.parametrize("amplitude", AMPLITUDES)
def test_rolling_period_is_that_of_the_integrated_motion(amplitude):
    """Newton and Euler about the point of contact, written out here and integrated."""

    def motion(_, state):
        angle, rate = state
        about_contact = I_X + MASS * RADIUS**2 - 2 * RADIUS * U * np.cos(angle)
        return rate, -U * np.sin(angle) * (g + RADIUS * rate**2) / about_contact

    def bottom(_, state):
        return state[0]

    bottom.terminal = True
    swing = solve_ivp(
        motion, (0, 10), (amplitude, 0.0), "DOP853", events=bottom, rtol=1e-12, atol=1e-13
    )
    quarter = swing.t_events[0][0]
    assert period(amplitude, "rails") == pytest.approx(4 * quarter, rel=1e-9)


def rolling_inertia_by_mujoco(angles):
    """Inertia of the roll without slip, from the mass matrix of a slide and a hinge."""
    e = U / MASS
    across = I_X - MASS * e**2
    model = mujoco.MjModel.from_xml_string(f"""
    <mujoco><worldbody><body>
      <joint type="slide" axis="0 1 0"/><joint type="hinge" axis="1 0 0"/>
      <inertial pos="0 0 {-e:.17g}" mass="{MASS}" diaginertia="{across:.17g} 1e-3 1e-3"/>
    </body></worldbody></mujoco>""")
    data, matrix = mujoco.MjData(model), np.zeros((2, 2))
    without_slip = np.array([-RADIUS, 1.0])
    for angle in angles:
        data.qpos[:] = 0.0, angle
        mujoco.mj_forward(model, data)
        mujoco.mj_fullM(model, data, matrix)
        yield without_slip @ matrix @ without_slip


@pytest.mark.parametrize("amplitude", AMPLITUDES[:-1])
def test_rolling_period_follows_from_mujocos_mass_matrix(amplitude):
    """T = 4 times the integral of d theta / theta', the speed from MuJoCo's inertia.

    Gauss-Legendre quadrature over psi with theta = amplitude sin(psi), which never touches the
    turning point.
    """
    nodes, weights = roots_legendre(60)
    psi = pi / 4 * (nodes + 1)
    theta = amplitude * np.sin(psi)
    inertia = np.array(list(rolling_inertia_by_mujoco(theta)))
    speed = np.sqrt(2 * g * U * (np.cos(theta) - np.cos(amplitude)) / inertia)
    quarter = pi / 4 * np.sum(weights * amplitude * np.cos(psi) / speed)
    assert period(amplitude, "rails") == pytest.approx(4 * quarter, rel=1e-9)
