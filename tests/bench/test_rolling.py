"""A paddle let go: the period without friction, and the stop with it."""

import numpy as np
import pytest

from paddlebal.bench.rolling import roll_down
from paddlebal.bench.swing import swing_period
from paddlebal.unbalance import rest_angle

U, I_X = np.array([0.0136, -0.0079]), 1.4e-3


def test_without_friction_it_swings_with_the_period_of_the_elliptic_integral():
    start = rest_angle(U) + 0.9
    period = swing_period(U, I_X, 0.9, "rollers", 0.65, 0.0146)
    angles = roll_down(U, I_X, start, period * np.array([0, 0.25, 0.5, 1, 3]), 0.0, 0.0)
    away = angles - rest_angle(U)
    assert away == pytest.approx([0.9, 0, -0.9, 0.9, 0.9], abs=1e-4)


def test_with_friction_it_swings_less_and_less_and_stops_near_rest():
    times = np.linspace(0, 6, 601)
    away = roll_down(U, I_X, rest_angle(U) + 2, times) - rest_angle(U)
    peaks = np.abs(away[1:-1])[(np.diff(np.sign(np.diff(away))) != 0) & (np.abs(away[1:-1]) > 0.05)]
    assert np.all(np.diff(peaks) < 0) and len(peaks) > 2
    assert 9.80665 * np.hypot(*U) * abs(np.sin(away[-1])) < 0.0031
    assert np.ptp(away[-50:]) < 1e-2


@pytest.mark.parametrize(("unbalance", "dry"), [((0, 0), 0.003), ((1e-4, 2e-4), 0.003)])
def test_it_stays_where_friction_holds_it(unbalance, dry):
    angles = roll_down(np.array(unbalance), I_X, 1.2, np.linspace(0, 2, 5), dry)
    assert np.all(angles == 1.2)
