"""A logger's table by a form: columns, units, still stretches, and what is wrong with them."""

import numpy as np
import pytest

from paddlebal import InputError
from paddlebal.desk.logged import ROLES, logged_from, logger_table, record_from
from paddlebal.files.text import data_path
from paddlebal.units import DEG, STANDARD_GRAVITY

DEMO = data_path("strokes", "demo_logger.csv").read_bytes()
ANSWER = [("time", "s"), *((f"rate {a}", "deg/s") for a in "xyz"),
          *((f"force {a}", "g") for a in "xyz")]  # fmt: skip


def small(heads, *rows):
    return "\n".join([heads, *rows]).encode()


def test_the_demo_record_needs_no_answer():
    table = logger_table(DEMO, "demo.csv")
    assert [(each.role, each.unit) for each in table.columns] == ANSWER
    logged = logged_from(table, ANSWER)
    assert np.abs(logged.rate).max() < 20 and np.median(np.linalg.norm(logged.force, axis=1)) > 8
    spans = logged.proposed()
    assert list(spans) == ["level", "side", "upright", "moving"]
    assert spans["level"] == pytest.approx((0.15, 2.35), abs=0.2)


def test_heads_of_other_makes_are_understood():
    heads = "Timestamp (ms);accelerometerX (m/s²);AccY [m/s^2];acc_z;Gyroscope x (rad/s);gyr y;wz"
    table = logger_table(small(heads, "0;1,5;2;3;0,1;0,2;0,3", "10;1,5;2;3;0,1;0,2;0,3"), "a.csv")
    assert [each.role for each in table.columns[:6]] == [
        "time", "force x", "force y", "force z", "rate x", "rate y",
    ]  # fmt: skip
    assert [each.unit for each in table.columns[:5]] == ["ms", "m/s²", "m/s²", "", "rad/s"]
    assert table.columns[6].role == ""
    units = ["ms", "m/s²", "m/s²", "g", "rad/s", "deg/s", "rad/s"]
    roles = [*(each.role for each in table.columns[:6]), "rate z"]
    logged = logged_from(table, list(zip(roles, units, strict=True)))
    assert logged.time == pytest.approx([0, 0.01])
    assert logged.force[0] == pytest.approx([1.5, 2.0, 3 * STANDARD_GRAVITY])
    assert logged.rate[0] == pytest.approx([0.1, 0.2 * DEG, 0.3])


def test_a_phone_that_shows_gravity_downward():
    table = logger_table(DEMO, "demo.csv")
    up, down = (logged_from(table, ANSWER, turned) for turned in (False, True))
    assert np.array_equal(up.force, -down.force) and np.array_equal(up.rate, down.rate)


@pytest.mark.parametrize(("change", "told"), [
    ({0: ("", "")}, "which column holds time"), ({1: ("rate x", "")}, "in which unit 'gyro x"),
    ({2: ("rate x", "deg/s")}, "two columns are said to be rate x"),
    ({1: ("rate x", "g")}, "in which unit"),
])  # fmt: skip
def test_answers_that_lack_something(change, told):
    answer = [change.get(i, each) for i, each in enumerate(ANSWER)]
    with pytest.raises(InputError, match=f"(?i){told}"):
        logged_from(logger_table(DEMO, "demo.csv"), answer)


def test_cells_that_are_wrong_are_named():
    rows = ["0,1,2,3,4,5,6", "0.1,1,2,x,4,5,6"]
    table = logger_table(small("a,b,c,d,e,f,g", *rows), "a.csv")
    answer = list(zip(ROLES, ["s"] + ["deg/s"] * 3 + ["g"] * 3, strict=True))
    with pytest.raises(InputError, match="row 2, field 'd'"):
        logged_from(table, answer)
    back = logger_table(small("a,b,c,d,e,f,g", "1,1,2,3,4,5,6", "1,1,2,3,4,5,6"), "a.csv")
    with pytest.raises(InputError, match="after the one before"):
        logged_from(back, answer)
    with pytest.raises(InputError, match="no row with 7 numbers"):
        logger_table(small("time,x", "1,2", "2,3"), "a.csv")


def test_poses_that_are_missing_or_overlap():
    logged = logged_from(logger_table(DEMO, "demo.csv"), ANSWER)
    place = np.array([0.1, 0.0, 0.03])
    when = logged.proposed()
    with pytest.raises(InputError, match="held: side"):
        record_from(logged, {k: v for k, v in when.items() if k != "side"}, place, 0.003)
    with pytest.raises(InputError, match="within another"):
        record_from(logged, when | {"side": when["level"]}, place, 0.003)
    record = record_from(logged, when, place, 0.003)
    assert set(record.pose) == {0, 1, 2, 3}


def test_a_column_that_is_not_needed_has_no_unit():
    """A phone's size of the acceleration names a unit, and no axis."""
    heads = "t [s],acc x [g],acc y [g],acc z [g],absolute acceleration [g],gyr x,gyr y,gyr z"
    table = logger_table(small(heads, "0,1,2,3,4,5,6,7", "1,1,2,3,4,5,6,7"), "a.csv")
    assert (table.columns[4].role, table.columns[4].unit) == ("", "")
