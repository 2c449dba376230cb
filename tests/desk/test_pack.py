"""Entries go out as files and come in again without loss; the book goes out as a table."""

import io
import random

import pytest
from desk.test_concluded import BENCH, entry
from python_calamine import CalamineWorkbook

from paddlebal import InputError, load_any_paddle
from paddlebal.__main__ import main
from paddlebal.book.book import Book
from paddlebal.desk.concluded import bring_up
from paddlebal.desk.found import found
from paddlebal.desk.listed import as_csv, as_workbook, heads, table
from paddlebal.desk.pack import entry_from_files, packed, texts_of_bench, unpacked
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.outside import from_outside


def written(folder, texts, **more):
    files = packed(texts, found(texts), **more)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return files


def test_an_entry_comes_back_as_it_was(tmp_path):
    texts = entry(name="Übung 1", by="A. Demo", instrument="blue", unit="oz", step="0.1",
                  note="", left_hand="560 780")  # fmt: skip
    files = written(tmp_path, texts, with_people=True)
    assert sorted(files) == ["übung_1.toml", "übung_1_lever.csv"]
    again = entry_from_files(tmp_path / "übung_1_lever.csv")
    assert again == {name: text for name, text in texts.items() if text}


def test_names_of_persons_stay_unless_asked(tmp_path):
    texts = entry(name="A", by="A. Demo")
    assert "A. Demo" not in "".join(written(tmp_path, texts).values())
    assert "A. Demo" in "".join(written(tmp_path, texts, with_people=True).values())


def test_films_come_back_with_their_angles(tmp_path):
    readings = read_bench(data_path("bench", "ocean_record.csv"))
    assert readings is not None
    from paddlebal.bench.films import one_swing
    from paddlebal.desk.films import texts_of_film

    texts = {"name": "F", "mass": "690", "length": "2120", "balance": "1060", "shaft": "29.2",
             "way": "films"}  # fmt: skip
    for known in ({}, {"mass": "100", "arm": "60", "angle": "40"}):
        row = texts_of_film(texts, "film", "f.mp4", one_swing(readings), readings)
        number = next(iter(row)).split("/")[1]
        texts |= row | {f"film/{number}/{name}": text for name, text in known.items()}
    assert len(texts["film/0/record"].splitlines()) == readings.time.size
    files = written(tmp_path, texts)
    assert sorted(files) == ["f.toml", "f_films.csv"]
    assert entry_from_files(tmp_path / "f_films.csv") == {k: v for k, v in texts.items() if v}


def test_an_entry_without_a_paddle_goes_out_too():
    texts = {"name": "only a name", "model": "Swift"}
    [(name, text)] = packed(texts, found(texts)).items()
    assert name == "only_a_name.toml" and unpacked(text) == texts


def test_what_was_edited_in_the_file_counts(tmp_path):
    texts = entry(name="A", instrument="blue")
    files = written(tmp_path, texts)
    text = files["a.toml"].replace("mass_g = 690.0", "mass_g = 700.0")
    assert text != files["a.toml"]
    again = unpacked(text)
    assert again["mass"] == "700" and again["instrument"] == "blue"
    changed = files["a_lever.csv"].splitlines()
    (tmp_path / "a_lever.csv").write_text("\n".join(changed[:-2]) + "\n", encoding="utf-8")
    fewer = entry_from_files(tmp_path / "a_lever.csv")
    assert len(found(fewer).readings.roll) == len(BENCH.roll) - 2


def test_readings_that_are_there_already_change_nothing():
    texts = entry(unit="kg", step="0.002")
    assert texts_of_bench(entry(), BENCH) == {}
    assert texts_of_bench(texts, found(texts).readings) == {}


@pytest.mark.parametrize("text", ["[book]\nname = 3\n", "book = 4\n"])
def test_a_book_table_that_is_none_is_told(text):
    with pytest.raises(InputError, match=r"book: expected|expected a table"):
        unpacked(text, "a.toml")


def test_a_paddle_of_parts_is_taken_as_it_looks_from_outside():
    texts = entry_from_files(data_path("bench", "ocean_lever.csv"))
    paddle = load_any_paddle(data_path("paddles", "ocean.toml"))
    ours = found(texts).paddle
    assert ours.mass == pytest.approx(paddle.mass) and ours.feather == pytest.approx(paddle.feather)
    for side in ("left", "right"):
        assert ours.blade_angle(side) == pytest.approx(paddle.blade_angle(side))
    assert ours.balance_point == pytest.approx(paddle.balance_point, abs=1e-6)
    assert from_outside(paddle).shaft.length == pytest.approx(2.36)
    own = found(texts).fit.unbalance
    assert own == pytest.approx(paddle.unbalance(), abs=2e-4)


# The table.


def filled(place):
    book = Book(place)
    for i in range(5):
        book.put(f"e{i}", entry(name=f"paddle {i}", by="A. Demo", model="=1+1"))
    book.put("hostile", {"name": '=HYPERLINK("http://x")', "model": 'a;b"c\nd'})
    bring_up(book)
    return book


def test_the_table_holds_what_the_book_knows(tmp_path):
    head, body = table(filled(tmp_path))
    assert len(body) == 6 and all(len(row) == len(head) == len(heads()) for row in body)
    row = dict(zip(head, body[-1], strict=True))
    own = found(entry()).fit
    assert row["unbalance [g·mm]"] == pytest.approx(1e6 * own.polar.size)
    assert row["length [mm]"] == 2120 and row["feather [deg]"] == pytest.approx(60)
    assert "A. Demo" not in str(body)
    assert "A. Demo" in str(table(Book(tmp_path), with_people=True)[1])
    assert len(table(Book(tmp_path), "paddle 3")[1]) == 1


def test_no_cell_is_taken_for_a_formula(tmp_path):
    head, body = table(filled(tmp_path))
    text = as_csv(head, body).decode("utf-8-sig")
    assert "\n=" not in text and ",=" not in text
    sheet = CalamineWorkbook.from_filelike(io.BytesIO(as_workbook(head, body))).get_sheet_by_index(
        0
    )
    cells = sheet.to_python()
    assert cells[0][0] == "name" and cells[1][0] == '=HYPERLINK("http://x")'
    assert len(cells) == 7


def test_decimal_commas_between_semicolons(tmp_path):
    text = as_csv(["a", "b"], [[1.5, "x"], [None, "y;z"]], comma=True).decode("utf-8-sig")
    assert text.splitlines() == ["a;b", "1,5;x", ';"y;z"']


# The command.


def run(capsys, *words):
    code = main(["book", *map(str, words)])
    return code, capsys.readouterr()


def test_a_club_folder_is_taken_in_with_one_command(tmp_path, capsys):
    code, told = run(capsys, "take", data_path("bench"), "--book", tmp_path)
    assert code == 1 and "taken into the book" in told.out  # swings and added masses are no entries
    code, told = run(capsys, "take", tmp_path / "none", "--book", tmp_path)
    assert code and "no folder" in told.err
    code, told = run(capsys, "list", "ocean", "--book", tmp_path)
    assert code == 0 and "Demo ocean" in told.out and "g·mm" in told.out


def test_files_go_out_and_come_in_elsewhere(tmp_path, capsys):
    book = Book(tmp_path)
    for name in ("twin", "twin", "other"):
        book.put(book.new(), entry(name=name, instrument=f"{random.Random(1).random()}"))
    book.put(book.new(), {"name": "without readings", "model": "Swift"})
    book.close()
    out, place = tmp_path / "out", tmp_path / "elsewhere"
    place.mkdir()
    assert run(capsys, "files", "--book", tmp_path, "--out", out)[0] == 0
    assert {"twin.toml", "twin_2.toml", "twin_2_lever.csv"} <= {each.name for each in out.iterdir()}
    assert run(capsys, "take", out, "--book", place)[0] == 0
    texts = [sorted(each.texts(e.id).items()) for each in (Book(tmp_path), Book(place))
             for e in each.entries(order="name", falling=False)]  # fmt: skip
    assert texts[:4] == texts[4:]


def test_tables_backups_and_merges_by_command(tmp_path, capsys):
    filled(tmp_path).close()
    for name in ("a.csv", "a.xlsx"):
        assert run(capsys, "table", "paddle", "--book", tmp_path, "--out", tmp_path / name)[0] == 0
    code, told = run(capsys, "table", "--book", tmp_path, "--out", tmp_path / "a.csv")
    assert code and "there already" in told.err
    code, told = run(capsys, "table", "--book", tmp_path, "--out", tmp_path / "a.doc")
    assert code and ".xlsx" in told.err
    assert run(capsys, "backup", "--book", tmp_path, "--out", tmp_path / "copy.sqlite")[0] == 0
    place = tmp_path / "second"
    place.mkdir()
    code, told = run(capsys, "merge", tmp_path / "copy.sqlite", "--book", place)
    assert code == 0 and "6 entries" in told.out
    code, told = run(capsys, "merge", tmp_path, "--book", place)
    assert "0 entries and 0 changes" in told.out
    code, told = run(capsys, "erase", "A. Demo", "--book", place)
    assert code == 0 and "5 entries" in told.out
    code, told = run(capsys, "list", "--book", tmp_path / "nowhere")
    assert code and "protected" in told.err
