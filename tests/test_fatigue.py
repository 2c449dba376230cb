"""The three-compartment model: two ways to compute it, and what it must do."""

import math

import numpy as np
import pytest

from paddlebal import InputError, fatigue
from paddlebal.fatigue import FatigueSet, endurance_band, endurance_time, fatigue_course

SETS = fatigue.fatigue_sets()
QUICK = FatigueSet("quick", 0.02, 0.002, 10.0)
TASKS = [(0.5, 1, None), (0.9, 1, None), (0.5, 0.5, 10), (0.7, 0.8, 3), (0.6, 0.9, 1)]


def by_small_steps(load, rates, duration, hold, rest, step=0.005):
    """When the hold fails, by explicit small steps through the published flow equations."""
    active, resting, fatigued = 0.0, 1.0, 0.0
    for n in range(int(duration / step)):
        target = load if n * step % (hold + rest) < hold else 0.0
        if target and active + resting < target:
            return n * step
        if active < target and resting > target - active:
            drive = 10 * (target - active)
        elif active < target:
            drive = 10 * resting
        else:
            drive = 10 * (target - active)
        recovery = rates.recovery * (1 if target else rates.rest_multiplier)
        tire, recover = rates.fatigue * active, recovery * fatigued
        active += step * (drive - tire)
        resting += step * (recover - drive)
        fatigued += step * (tire - recover)
    return math.inf


@pytest.mark.parametrize("rates", SETS, ids=lambda rates: rates.name)
@pytest.mark.parametrize(("load", "duty", "period"), TASKS)
def test_the_exact_time_is_that_of_the_integration(rates, load, duty, period):
    exact = endurance_time(load, rates, duty, period)
    course = fatigue_course(load, rates, 250.0, duty, period)
    if exact < 250:
        assert course.failed_at == pytest.approx(exact, rel=1e-6)
        assert course.time[-1] == course.failed_at
    else:
        assert course.failed_at == math.inf and course.time[-1] == 250


@pytest.mark.parametrize(("hold", "rest"), [(60.0, 0.0), (5.0, 5.0), (1.5, 0.5)])
def test_the_exact_time_is_that_of_small_steps(hold, rest):
    exact = endurance_time(
        0.5, QUICK._replace(rest_multiplier=2.0), hold / (hold + rest), hold + rest
    )
    stepped = by_small_steps(0.5, QUICK._replace(rest_multiplier=2.0), 300, hold, rest)
    assert exact == pytest.approx(stepped, rel=2e-3) and exact < 300


def test_a_quick_controller_gives_the_textbook_time(monkeypatch):
    """With MA = load at once, MF grows as F load/R (1 - exp(-R t)) up to 1 - load."""
    monkeypatch.setattr(fatigue, "CONTROLLER", 1e5)
    for rates in SETS:
        for load in (0.2, 0.5, 0.9):
            spent = rates.recovery * (1 - load) / (rates.fatigue * load)
            textbook = -math.log(1 - spent) / rates.recovery
            assert endurance_time(load, rates) == pytest.approx(textbook, rel=1e-3)


def test_never_means_that_what_recovers_balances_what_tires():
    """A sustained hold never fails below F load = R (1 - load)."""
    edge = QUICK.recovery / (QUICK.recovery + QUICK.fatigue)
    assert endurance_time(0.99 * edge, QUICK) == math.inf
    assert endurance_time(1.01 * edge, QUICK) < math.inf
    assert endurance_time(0, QUICK) == math.inf
    assert endurance_time(1, QUICK) == endurance_time(1.5, QUICK) == 0


def test_the_rest_multiplier_acts_in_rest_only():
    slow = QUICK._replace(rest_multiplier=1.0)
    assert endurance_time(0.5, slow) == endurance_time(0.5, QUICK)
    assert endurance_time(0.5, slow, 0.8, 5) < endurance_time(0.5, QUICK, 0.8, 5)


@pytest.mark.parametrize("rates", SETS, ids=lambda rates: rates.name)
def test_less_load_and_more_rest_are_never_held_for_less(rates):
    by_load = [endurance_time(load, rates) for load in np.linspace(0.05, 1, 40)]
    by_duty = [endurance_time(0.6, rates, duty, 2.0) for duty in np.linspace(0.3, 0.99, 40)]
    for times in (by_load, by_duty):
        assert all(a >= b - 1e-6 for a, b in zip(times, times[1:], strict=False))


def test_shares_stay_shares():
    course = fatigue_course(0.6, QUICK, 40.0, 0.5, 4.0)
    for share in (course.active, course.resting, course.fatigued):
        assert share.shape == course.time.shape
        assert np.all((share > -1e-8) & (share < 1 + 1e-8))
    assert np.all(np.diff(course.time) > 0)
    assert course.active.max() == pytest.approx(0.6, abs=5e-3)


def test_a_hold_may_fail_at_its_very_start():
    fast = FatigueSet("fast", 2.0, 0.001, 1.0)
    exact = endurance_time(0.5, fast, 0.5, 0.02)
    assert fatigue_course(0.5, fast, 60.0, 0.5, 0.02).failed_at == pytest.approx(exact, rel=1e-5)


def test_band_holds_every_member():
    band = endurance_band(0.5)
    assert band.least == min(band.members.values())
    assert band.greatest == max(band.members.values())
    assert set(band.members) == {rates.name for rates in SETS} | {"power curve"}
    assert set(endurance_band(0.5, 0.5, 10).members) == {rates.name for rates in SETS}


def test_a_range_of_load_widens_the_band():
    wide, low, high = endurance_band((0.3, 0.6)), endurance_band(0.3), endurance_band(0.6)
    assert wide.least == high.least and wide.greatest == low.greatest
    assert endurance_band((0.0, 1.2))[:2] == (0.0, math.inf)


def test_many_cycles_take_few_steps(monkeypatch):
    asked = []

    def counted(load, rates, duration):
        asked.append(duration)
        return transition(load, rates, duration)

    transition = fatigue._transition
    monkeypatch.setattr(fatigue, "_transition", counted)
    cycles = endurance_time(0.35, SETS[0], 0.9, 1.0)
    assert cycles > 200 and len(asked) < 20


@pytest.mark.parametrize(
    ("field", "arguments"),
    [
        ("load", (-0.1,)),
        ("load", (math.nan,)),
        ("load", ("half",)),
        ("duty", (0.5, 0)),
        ("duty", (0.5, 1.2)),
        ("period", (0.5, 0.5)),
        ("period", (0.5, 0.5, 0)),
    ],
)
def test_senseless_tasks_are_refused(field, arguments):
    load, *rest = arguments
    with pytest.raises(InputError, match=field):
        endurance_time(load, QUICK, *rest)
