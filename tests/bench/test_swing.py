"""Swing periods and the roll inertia found from them."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import ellipk

from paddlebal import InputError, fit_swing, swing_period
from paddlebal.bench.readings import SwingReadings
from paddlebal.compiled import numeric
from paddlebal.formats.bench import parse_bench
from paddlebal.units import STANDARD_GRAVITY

CHECK = dict(mass=0.65, radius=0.0146)
U_CHECK, I_CHECK = (0.0, -0.01575), 1.055724e-3


def test_swing_periods_by_the_check_values():
    periods = [
        swing_period(U_CHECK, I_CHECK, np.radians(50), support, **CHECK)
        for support in ("rollers", "rails")
    ]
    assert periods == pytest.approx([0.545323, 0.479870], abs=5e-7)


def test_swing_period_on_rollers_is_the_elliptic_integral():
    amplitude = np.radians([0.1, 30, 90, 150, 175])
    expected = (
        4 * np.sqrt(I_CHECK / (STANDARD_GRAVITY * 0.01575)) * ellipk(np.sin(amplitude / 2) ** 2)
    )
    assert swing_period(U_CHECK, I_CHECK, amplitude, "rollers", **CHECK) == pytest.approx(
        expected, rel=1e-12
    )


def test_swing_period_on_rails_is_that_of_the_equation_of_motion():
    acceleration = numeric("rolling_acceleration")
    amplitude = 0.9

    def motion(_, state):
        properties = (0.01575, I_CHECK, *CHECK.values(), STANDARD_GRAVITY)
        return state[1], acceleration(state[0], state[1], *properties)

    def through_rest(_, state):
        return state[0]

    through_rest.terminal = True
    quarter = solve_ivp(motion, (0, 1), (amplitude, 0), events=through_rest, rtol=1e-11, atol=1e-13)
    assert swing_period(U_CHECK, I_CHECK, amplitude, "rails", **CHECK) == pytest.approx(
        4 * quarter.t_events[0][0], rel=1e-9
    )


def swings(support, time_u=0.01, amplitude_u=0.0):
    amplitude, periods = np.radians([20.0, 35.0, 50.0, 50.0]), np.array([5.0, 5.0, 3.0, 4.0])
    time = periods * swing_period(U_CHECK, I_CHECK, amplitude, support, **CHECK)
    return SwingReadings(amplitude, periods, time, support, time_u, amplitude_u)


@pytest.mark.parametrize("support", ["rollers", "rails"])
def test_swings_give_the_inertia_back(support):
    fit = fit_swing(swings(support), U_CHECK, **CHECK)
    assert fit.inertia == pytest.approx(I_CHECK, rel=1e-9)


@pytest.mark.parametrize("support", ["rollers", "rails"])
def test_the_uncertainty_of_the_inertia_is_that_of_repeated_benches(support):
    readings = swings(support, amplitude_u=np.radians(2))
    covariance = np.diag([1e-10, 4e-8])
    rng = np.random.default_rng(3)
    stated = fit_swing(readings, U_CHECK, **CHECK, unbalance_covariance=covariance).inertia_u
    found = []
    for _ in range(400):
        U = rng.multivariate_normal(U_CHECK, covariance)
        time = readings.time + readings.time_u * rng.standard_normal(4)
        amplitude = readings.amplitude + readings.amplitude_u * rng.standard_normal(4)
        found.append(fit_swing(replace(readings, time=time, amplitude=amplitude), U, **CHECK))
    assert np.std([fit.inertia for fit in found]) == pytest.approx(stated, rel=0.12)


def test_a_swing_no_mass_could_make_is_refused():
    quick = replace(swings("rollers"), time=np.full(4, 0.2))
    with pytest.raises(InputError, match="period of .* s is too short"):
        fit_swing(quick, U_CHECK, **CHECK)
    with pytest.raises(InputError, match="does not swing"):
        fit_swing(quick, (0.0, 0.0), **CHECK)


@pytest.mark.parametrize(
    ("U", "amplitude", "support", "sentence"),
    [
        ((0.0, 0.0), 0.5, "rollers", "unbalance of zero does not swing"),
        (U_CHECK, np.pi, "rollers", "amplitude below 180°"),
        (U_CHECK, 0.5, "knives", "support is 'knives', expected 'rollers' or 'rails'"),
    ],
)
def test_what_does_not_swing_is_refused(U, amplitude, support, sentence):
    with pytest.raises(InputError, match=sentence):
        swing_period(U, I_CHECK, amplitude, support, **CHECK)


def test_a_single_swing_gives_the_inertia_but_no_birge_ratio():
    every = swings("rollers")
    one = SwingReadings(
        every.amplitude[:1], every.periods[:1], every.time[:1], "rollers", 0.01, 0.0
    )
    fit = fit_swing(one, U_CHECK, **CHECK)
    assert fit.inertia == pytest.approx(I_CHECK, rel=1e-9)
    assert fit.birge is None and not fit.enlarged and fit.inertia_u > 0


def test_amplitudes_read_at_both_ends_have_the_uncertainty_of_their_mean():
    """Benches drawn with the stated error of each amplitude, read from their files, fitted."""
    rng, amplitude_u, time_u, periods = np.random.default_rng(2), 4.0, 1e-3, 4
    fits = []
    for _ in range(300):
        rows = []
        for true in (50.0, 60.0, 70.0):
            period = swing_period(U_CHECK, I_CHECK, np.radians(true), "rollers", **CHECK)
            first, last = true + amplitude_u * rng.standard_normal(2)
            rows.append(f"{first},{last},{periods},{periods * period + time_u * rng.normal()} ")
        head = f'# method = "swing"\n# support = "rollers"\n# time_u_s = {time_u}\n'
        head += f"# amplitude_u_deg = {amplitude_u}\n"
        columns = "amplitude [deg],end amplitude [deg],periods,time [s]\n"
        readings = parse_bench(head + columns + "\n".join(rows) + "\n")
        fits.append(fit_swing(readings, U_CHECK, **CHECK))
    spread = np.std([fit.inertia for fit in fits], ddof=1)
    stated = np.mean([fit.inertia_u for fit in fits if not fit.enlarged])
    assert stated == pytest.approx(spread, rel=0.15)
    assert np.mean([fit.birge for fit in fits]) == pytest.approx(0.89, abs=0.1)
