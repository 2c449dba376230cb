"""Tables as spreadsheets write them."""

import pytest
from spreadsheets import ods, xlsx

from paddlebal import InputError
from paddlebal.files.spreadsheet import LARGEST, read_cells

TEXT = "Winkel;mit [g];gegen [g]\r\n0°;72,5;70\r\n30°;98;96,5\r\n"
ROWS = [["Winkel", "mit [g]", "gegen [g]"], ["0°", "72,5", "70"], ["30°", "98", "96,5"]]


@pytest.mark.parametrize(
    "content",
    [
        TEXT.encode("utf-8"),
        TEXT.encode("utf-8-sig"),
        TEXT.encode("utf-16"),
        TEXT.encode("utf-16-le"),
        TEXT.encode("utf-16-be"),
        TEXT.encode("cp1252"),
        TEXT.replace(";", "\t").encode(),
        b"sep=;\r\n" + TEXT.encode("cp1252"),
        ("# a remark\n\n" + TEXT).encode(),
        '"Winkel","mit [g]","gegen [g]"\n"0°","72,5",70\n"30°",98,"96,5"\n'.encode(),
    ],
    ids=["utf-8", "bom", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "tabs", "sep", "remark",
         "quoted"],
)  # fmt: skip
def test_any_encoding_and_separator_gives_the_same_cells(content):
    cells = read_cells(content, "a.csv")
    assert cells.rows == ROWS
    assert cells.mark == ","


@pytest.mark.parametrize("written", [xlsx, ods])
def test_a_workbook_gives_its_numbers_and_texts(written):
    cells = read_cells(written([["angle", "pull"], [30, 72.5], ["60°", 1 / 3]]), "a")
    assert cells.rows == [["angle", "pull"], ["30", "72.5"], ["60°", "0.333333333333"]]
    assert cells.mark == "."


def test_numbers_of_a_workbook_join_its_texts_with_a_decimal_comma():
    cells = read_cells(xlsx([["angle", "pull"], [30, "72,5"], [60, 71.5]]), "a.xlsx")
    assert cells.rows[1:] == [["30", "72,5"], ["60", "71,5"]]


@pytest.mark.parametrize(
    "content, words",
    [
        (b"", "no table"),
        (b"only words\n", "no table"),
        (b"PK\x03\x04 broken", "no spreadsheet that can be read"),
        (b"\x00\x01\x02" * 100, "no text|no table"),
        (b"a;b\n1,5;2\n1.5;3\n", "decimal comma and others"),
        (b"1;2\n" * (LARGEST // 4 + 1), "larger than"),
    ],
    ids=["empty", "words", "broken", "binary", "two marks", "large"],
)
def test_what_is_no_table_is_told(content, words):
    with pytest.raises(InputError, match=words):
        read_cells(content, "a.csv")
