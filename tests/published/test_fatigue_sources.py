"""Fatigue against what was published and measured. Nothing in the model is tuned to it."""

import math

import numpy as np
import pytest

from paddlebal.fatigue import endurance_band, endurance_curve, endurance_time, fatigue_sets
from paddlebal.files.published import published_rows

SETS = {rates.name: rates for rates in fatigue_sets()}


@pytest.mark.parametrize(
    ("name", "seconds"),
    [("hand 2012", [1387, 474, 259, 106, 44, 11]), ("hand 2021", [3090, 429, 220, 86, 36, 9])],
)
def test_sustained_times_of_a_separate_computation(name, seconds):
    """Computed apart from this library, rounded or cut to whole seconds."""
    loads = (0.1, 0.2, 0.3, 0.5, 0.7, 0.9)
    times = [endurance_time(load, SETS[name]) for load in loads]
    np.testing.assert_allclose(times, seconds, atol=1.0)


def test_power_curve_of_a_separate_computation():
    """33.55 f^-1.61 s, computed apart from this library."""
    seconds = endurance_curve([0.1, 0.2, 0.3, 0.5, 0.7, 0.9])
    np.testing.assert_allclose(seconds, [1367, 448, 233, 102, 60, 40], atol=0.6)


def test_the_sets_disagree_on_holding_with_rests():
    """5 s on, 5 s off at half of maximum: 214 s by one set, never by any other."""
    times = {name: endurance_time(0.5, rates, 0.5, 10) for name, rates in SETS.items()}
    assert times.pop("hand 2012") == pytest.approx(214, abs=0.5)
    assert set(times.values()) == {math.inf}


def test_what_people_held_lies_within_the_band():
    """Gonzales and Scheuermann (2007): 793 ± 93 and 685 ± 76 s; Björkstén and Jonsson (1977)."""
    rows = published_rows("grip_endurance", ["load", "duty", "time_s"])
    assert len(rows) == 3
    for row in rows:
        period = float(row["period_s"]) if row["period_s"] else None
        band = endurance_band(row["load"], row["duty"], period)
        assert band.least < row["time_s"] < band.greatest


def test_no_published_figure_gives_what_people_held():
    """Half of maximum, 5 s on, 5 s off: each is more than 3 standard errors off."""
    rows = published_rows("grip_endurance", ["load", "duty", "time_s"])
    for row in rows:
        if row["duty"] < 1:
            members = endurance_band(row["load"], row["duty"], 10.0).members.values()
            error = float(row["standard_error_s"])
            assert min(abs(time - row["time_s"]) for time in members) > 3 * error


def test_figures_from_memory_do_not_reproduce_the_published_error():
    """Frey-Law, Looft and Heitsman (2012), abstract: 5.6 s RMS against the curve, hand/grip.

    The set and the curve quoted from memory differ by more over the paper's nine loads, 10 to
    90 %. One of the figures, or the measure, is not what the paper used; so it is marked.
    """
    loads = np.arange(1, 10) / 10
    times = np.array([endurance_time(load, SETS["hand 2012"]) for load in loads])
    rms = np.sqrt(np.mean((times - endurance_curve(loads)) ** 2))
    assert rms == pytest.approx(19.7, abs=0.5)
    for name in ("fatigue_parameters", "endurance_curve"):
        assert published_rows(name)[0]["how_read"].startswith("from memory")


def test_agreement_is_fair_to_half_of_maximum_and_poor_above():
    for load, worst in ((0.2, 0.45), (0.3, 0.2), (0.5, 0.2)):
        times = np.array(list(endurance_band(load).members.values()))
        assert np.abs(times / endurance_curve(load) - 1).max() < worst
    models = [time for name, time in endurance_band(0.9).members.items() if name in SETS]
    assert max(models) < endurance_curve(0.9) / 3
