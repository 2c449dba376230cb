"""Grip, strength and friction against published figures, and the tables' sources."""

import pytest
from scipy import constants

from paddlebal import InputError
from paddlebal.files import published as tables
from paddlebal.files.published import published_rows
from paddlebal.grip import felt_force, friction_range, grip_force, hour_load, strength_range

TABLES = (
    "endurance_curve",
    "fatigue_parameters",
    "grip_cylinder",
    "grip_endurance",
    "grip_friction",
    "grip_strength",
    "load_limits",
)


@pytest.mark.parametrize("name", TABLES)
def test_every_row_says_where_it_comes_from(name):
    for row in published_rows(name, ["year"]):
        assert 1950 < row["year"] < 2027
        assert row["how_read"].startswith(("looked up", "second-hand", "from memory", "limits"))


def test_a_missing_table_and_a_bad_cell_are_told(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "data_path", lambda *parts: tmp_path / parts[-1])
    with pytest.raises(InputError, match="none.csv"):
        published_rows("none")
    head = "x,authors,year,title,place,how_read\n"
    (tmp_path / "bad.csv").write_text(head + "1,a,2000,t,p,h\ntwo,a,2000,t,p,h\n")
    with pytest.raises(InputError, match="row 3, field 'x'"):
        published_rows("bad", ["x"])
    (tmp_path / "bad.csv").write_text(head + "1,a,2000,t,,h\n")
    with pytest.raises(InputError, match="row 2, field 'place'"):
        published_rows("bad", ["x"])


def test_a_knob_between_thumb_and_finger():
    """A worked exercise: 0.67 N from each side, mu 0.14, radius 0.55 cm hold 1.0318e-3 N·m.

    Question and answer looked up: https://indextestingapp.uonbi.ac.ke/preguntia/23907257
    """
    assert grip_force(1.0318e-3, 0.14, 2 * 0.0055) == pytest.approx(0.67, rel=1e-4)


def test_pinch_friction_is_measured_by_the_same_reading_of_grip():
    """Buchholz et al. (1988): mu is the load at slip over twice the pinch force.

    Abstract looked up: https://www.cdc.gov/niosh/nioshtic-2/00180748.html. A pinch of 39.2 N
    on a coin of 20 mm then slips at the torque that the load makes on its radius.
    """
    pinch, mu, diameter = 39.2, 0.38, 0.02
    load = 2 * mu * pinch
    assert grip_force(load * diameter / 2, mu, diameter) == pytest.approx(pinch)


def test_norms_agree_with_a_third_survey():
    """Dodds et al., PLoS ONE 9(12) (2014) e113637, abstract: peak medians 51 and 31 kgf."""
    for sex, age, kilograms in (("man", 34, 51), ("woman", 34, 31)):
        rows = published_rows("grip_strength", ["age_from", "age_to", "mean"])
        unit = {"lbf": constants.lbf, "kgf": constants.kgf}
        means = [
            row["mean"] * unit[row["unit"]] / constants.kgf
            for row in rows
            if row["sex"] == sex and row["age_from"] <= age <= row["age_to"]
        ]
        assert len(means) == 4
        assert min(means) < kilograms < max(means)


def test_the_people_of_the_endurance_study_lie_within_the_norms():
    """Gonzales and Scheuermann (2007), abstract: 341.5 N and 480.2 N at 24 years."""
    for sex, newton in (("woman", 341.5), ("man", 480.2)):
        low, high = strength_range(sex, 24)
        assert low < newton < high


def test_on_a_cylinder_people_reach_less_than_the_norm():
    """Multi-axis dynamometer (2013): 231 N mean of 16 people of both sexes on 38.1 mm."""
    row = published_rows("grip_cylinder", ["diameter_mm", "mean_newton"])[0]
    assert row["diameter_mm"] == 38.1
    means = published_rows("grip_strength", ["mean"])
    young = [
        r["mean"] * constants.lbf for r in means if r["age_from"] == "20" and r["unit"] == "lbf"
    ]
    assert row["mean_newton"] < min(young)


def test_two_ways_to_measure_friction_differ_by_a_factor_of_three():
    rows = {
        (r["material"], r["condition"]): r["mean"]
        for r in published_rows("grip_friction", ["mean"])
    }
    rail = rows["mean of five metal grab rails", "dry"]
    assert rail / rows["smooth vinyl", "dry or wet"] > 3
    assert friction_range("dry").greatest > 7 * friction_range("dry").least


def test_limits_for_an_hour_of_work():
    """Jonsson (1982), as quoted: static 2 to 5 %, median 10 to 14 %, peak 50 to 70 %."""
    levels = hour_load([0, 1], [0.1, 0.1])
    limits = [(level.advised, level.ceiling) for level in levels]
    assert limits == [(0.02, 0.05), (0.10, 0.14), (0.50, 0.70)]


def test_what_a_paddle_is_said_to_need():
    """Common practice, no source: some 1.3 kgf at the shaft's surface to turn a paddle."""
    assert felt_force(0.186, 0.0146).kgf == pytest.approx(1.3, abs=0.01)
