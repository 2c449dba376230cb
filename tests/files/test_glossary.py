"""The tables of symbols, words and sources are whole, and what is not is refused."""

import pytest

from paddlebal.errors import InputError
from paddlebal.files import glossary
from paddlebal.files.glossary import (
    KINDS,
    glossary_sources,
    glossary_symbols,
    glossary_words,
    markdown_table,
)
from paddlebal.files.published import published_rows


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(glossary, "data_path", lambda *parts: tmp_path.joinpath(*parts))
    return tmp_path


def test_the_unbalance_is_among_the_symbols():
    (row,) = [row for row in glossary_symbols() if row["latex"] == r"\mathbf U"]
    assert row["unit"] == "kg·m" and row["first_notebook"] == "01"
    assert {"01", "02", "03"} <= set(row["notebooks"])


def test_every_kind_has_words_and_no_word_stands_twice():
    names = [row["word"] for row in glossary_words()]
    assert len(names) == len(set(names))
    assert {row["kind"] for row in glossary_words()} == set(KINDS)


def test_a_meaning_takes_at_most_three_sentences():
    assert all(1 <= row["meaning"].count(".") <= 3 for row in glossary_words())


def test_every_published_row_is_behind_one_source():
    known = {(work["authors"], work["year"], work["title"]) for work in glossary_sources()}
    assert len(known) == len(glossary_sources())
    for name in ("materials", "grip_friction", "gravity", "cited_works"):
        for row in published_rows(name):
            assert (row["authors"], row["year"], row["title"]) in known


def test_a_work_read_in_two_places_is_listed_once_with_both():
    (handbook,) = [
        work for work in glossary_sources() if work["title"].startswith("Metals Handbook")
    ]
    assert "lead 99.9 %" in handbook["place"] and "brass" in handbook["place"]
    assert handbook["table"] == "materials"


def test_a_habit_of_the_trade_is_no_source():
    assert published_rows("common_practice")
    assert not any("common_practice" in work["table"] for work in glossary_sources())


HEAD = "latex,meaning,unit,first_notebook,notebooks,name\n"


def test_a_symbol_without_a_unit_is_refused(folder):
    (folder / "symbols.csv").write_text(HEAD + "U,size,,01,01 02,U\n")
    with pytest.raises(InputError, match="symbols.csv, row 2, field 'unit': is empty"):
        glossary_symbols()


def test_a_symbol_whose_first_notebook_does_not_use_it_is_refused(folder):
    (folder / "symbols.csv").write_text(HEAD + "U,size,kg·m,03,01 02,U\n", encoding="utf-8")
    with pytest.raises(InputError, match="row 2, field 'first_notebook': is '03', expected one"):
        glossary_symbols()


def test_a_comma_without_quotes_is_refused(folder):
    (folder / "words.csv").write_text("word,kind,meaning\nroll,trade,Turning, as here.\n")
    with pytest.raises(InputError, match="words.csv, row 2: has more fields than there are"):
        glossary_words()


def test_a_word_of_no_kind_is_refused(folder):
    (folder / "words.csv").write_text("word,kind,meaning\nroll,slang,Turning.\n")
    with pytest.raises(InputError, match="row 2, field 'kind': is 'slang', expected one of ISO"):
        glossary_words()


def test_a_missing_table_is_refused(folder):
    with pytest.raises(InputError, match="words.csv: this table cannot be read"):
        glossary_words()


def test_a_table_in_markdown():
    assert markdown_table(["a", "b"], [("1", "2")]) == "| a | b |\n| --- | --- |\n| 1 | 2 |"


def test_nothing_would_break_a_table_or_a_list_in_markdown():
    rows = [*glossary_symbols(), *glossary_words(), *glossary_sources()]
    assert not any({"|", "*", "\n"} & set(value) for row in rows for value in row.values())
