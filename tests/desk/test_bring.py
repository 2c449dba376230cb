"""A spreadsheet's readings, whichever program and language wrote them."""

import pytest
from desk.virtual_bench import BENCH, PADDLE, REST, rows
from spreadsheets import ods, xlsx

from paddlebal import InputError
from paddlebal.desk.bring import table_of, texts_from
from paddlebal.desk.found import found
from paddlebal.files.spreadsheet import read_cells

STATED = PADDLE | BENCH | REST
TYPED = rows(range(0, 360, 30))
GAUGES = range(0, 360, 30)
LINES = [[TYPED[f"bare/{i}/{c}"] for c in ("angle", "with", "against")] for i in range(12)]


def guessed(table):
    return [(each.role, each.unit) for each in table.columns]


def asked(content, name="a.csv"):
    return table_of(read_cells(content, name), name)


@pytest.mark.parametrize(
    "heads",
    [
        ["Winkel [°]", "mit [g]", "gegen [g]"],
        ["angolo (°)", "con (g)", "contro (g)"],
        ["angle, deg", "with, g", "against, g"],
        ["Ángulo [grados]", "con [gramos]", "contra [gramos]"],
    ],
)
def test_heads_in_several_languages_are_understood(heads):
    lines = [heads, *LINES]
    table = asked("\n".join(";".join(line) for line in lines).encode("utf-16"))
    assert guessed(table) == [("angle", "deg"), ("with", "g"), ("against", "g")]
    assert {**TYPED, "unit": "g"}.items() <= texts_from(table, guessed(table), None, "g").items()


@pytest.mark.parametrize("written", [xlsx, ods])
def test_a_workbook_comes_to_the_same_fit_as_typing(written):
    lines = [["Winkel", "mit", "gegen"]] + [[f"{a}°", float(w), float(b)] for a, w, b in LINES]
    table = asked(written(lines))
    assert guessed(table) == [("angle", "deg"), ("with", ""), ("against", "")]
    texts = texts_from(table, [("angle", "deg"), ("with", "g"), ("against", "g")], None, "g")
    typed, brought = found(STATED | TYPED), found(STATED | texts)
    assert brought.fit.unbalance == pytest.approx(typed.fit.unbalance, rel=1e-9)


def test_decimal_commas_units_and_foreign_words_in_cells():
    lines = ["Kierunek;Winkel;Anzeige"]
    for angle, with_, against in LINES:
        lines += [f"mit;{angle}°;{with_},0 Gramm", f"gegen;{angle}°;{against},0 Gramm"]
    table = asked(("\ufeff" + "\r\n".join(lines)).encode("utf-8"))
    assert guessed(table) == [("turning", ""), ("angle", "deg"), ("pull", "g")]
    assert TYPED.items() <= texts_from(table, guessed(table), None, "g").items()


def test_what_is_not_told_is_asked_and_not_guessed():
    table = asked(b"a;b;c\n0;1,234;1,200\n30;1,5;1,4\n")
    assert not table.open_mark and guessed(table)[0] == ("", "")
    table = asked(b"angle [deg];with [g];against [g]\n0;1.234;1.200\n30;1.500;1.400\n")
    assert table.open_mark
    with pytest.raises(InputError, match="decimal mark"):
        texts_from(table, guessed(table), None, "g")
    for mark, text in ((".", "1.234"), (",", "1234")):
        assert texts_from(table, guessed(table), mark, "g")["bare/0/with"] == text


@pytest.mark.parametrize(
    "answer, words",
    [
        ([("", ""), ("with", "g"), ("against", "g")], "which column is the angle"),
        ([("angle", "deg"), ("", ""), ("", "")], "which column is the pull"),
        ([("angle", "deg"), ("pull", "g"), ("", "")], "with the pull or against"),
        ([("angle", ""), ("with", "g"), ("against", "g")], "in which unit"),
        ([("angle", "deg"), ("with", "g"), ("with", "g")], "the same"),
    ],
)
def test_a_column_that_is_missing_is_asked_for(answer, words):
    table = asked(b"x;y;z\n0;72;70\n30;98;96\n")
    with pytest.raises(InputError, match=words):
        texts_from(table, answer, None, "g")


def test_a_bad_cell_is_named():
    table = asked(b"angle [deg];with [g];against [g]\n0;72;70\n30;98 mm;96\n")
    with pytest.raises(InputError, match="row 2"):
        texts_from(table, guessed(table), None, "g")


def test_arms_either_side_are_two_ways_to_turn():
    table = asked(b"angle [deg];arm [mm];with [g];against [g]\n0;300;72;70\n0;-300;60;58\n")
    texts = texts_from(table, guessed(table), None, "g")
    assert texts["turns"] == "both" and texts["lever"] == "300"
    assert (texts["bare/0/turns"], texts["bare/1/turns"]) == ("counterclockwise", "clockwise")
