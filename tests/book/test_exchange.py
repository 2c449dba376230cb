"""Books merged, copied and cleared of a person's name, of both kinds."""

import datetime as real
from types import SimpleNamespace

import pytest

from paddlebal import InputError
from paddlebal.book.book import FILE, Book
from paddlebal.book.exchange import backup, erase_person, merge, people, restore


@pytest.fixture
def second(tmp_path):
    folder = tmp_path / "second"
    folder.mkdir()
    made = Book(folder)
    yield made
    made.close()


def whole(book):
    """Everything that a book says, by entry: what fields hold, and all texts ever held."""
    return {
        each.id: (
            book.texts(each.id),
            sorted((c.time, c.field, c.text) for c in book.history(each.id)),
        )
        for each in book.entries(most=1000)
    }


def test_two_books_become_one_and_the_second_time_nothing_is_new(book, second):
    book.put("a", {"name": "A", "mass": "600"})
    second.put("b", {"name": "B"})
    second.put("b", {"mass": "700"})
    done = merge(book, second)
    assert (done.entries, done.changes, done.conflicts) == (1, 2, ())
    assert book.texts("b") == {"name": "B", "mass": "700"}
    assert merge(book, second).changes == 0
    assert merge(second, book).entries == 1
    assert whole(book) == whole(second)


def test_both_changed_the_same_field_the_later_counts_and_both_are_kept(book, second):
    book.put("a", {"name": "A", "mass": "600"})
    merge(second, book)
    second.put("a", {"mass": "610"})
    book.put("a", {"mass": "620"})
    done = merge(book, second)
    [conflict] = done.conflicts
    assert conflict[1:] == ("A", "mass", "620", "610")
    assert book.texts("a")["mass"] == "620"  # changed here after there
    assert {"600", "610", "620"} <= {each.text for each in book.history("a")}
    merge(second, book)
    assert second.texts("a")["mass"] == "620"
    assert merge(book, second).changes == 0 and merge(second, book).changes == 0
    assert whole(book) == whole(second)


def test_the_other_way_round_theirs_counts(book, second):
    book.put("a", {"name": "A", "mass": "600"})
    merge(second, book)
    book.put("a", {"mass": "620"})
    second.put("a", {"mass": "610"})
    assert len(merge(book, second).conflicts) == 1
    assert book.texts("a")["mass"] == "610"


def test_two_clocks_that_disagree_lose_nothing(book, second, monkeypatch):
    """The second workshop's clock is a year ahead; its text counts, the other is in the history."""
    from paddlebal.book import book as module

    book.put("a", {"mass": "600"})
    merge(second, book)

    class Ahead(real.datetime):
        @classmethod
        def now(cls, tz=None):
            return real.datetime.now(tz) + real.timedelta(days=365)

    with monkeypatch.context() as patched:
        patched.setattr(module, "datetime", SimpleNamespace(datetime=Ahead, UTC=real.UTC))
        second.put("a", {"mass": "610"})
    book.put("a", {"mass": "620"})
    [conflict] = merge(book, second).conflicts
    assert (conflict.here, conflict.there) == ("620", "610")
    assert book.texts("a")["mass"] == "610"
    assert "620" in [each.text for each in book.history("a")]


def test_many_entries_are_taken_over(book, second):
    for i in range(450):
        second.put(f"e{i:03}", {"name": f"{i}"})
    assert merge(book, second).entries == 450
    assert book.count() == 450 and len(book.entries("44", most=100)) >= 11


def test_a_backup_brings_all_back(book, tmp_path):
    book.put("a", {"name": "A", "mass": "600"})
    book.put("a", {"mass": "610"})
    book.remember("language", "de")
    content = backup(book)
    assert content.startswith(b"SQLite format 3")
    book.put("a", {"mass": "620"})
    folder = tmp_path / "again"
    folder.mkdir()
    again = Book(folder)
    assert restore(again, content, "backup.sqlite").entries == 1
    assert again.texts("a")["mass"] == "610" and len(again.history("a")) == 3
    assert restore(book, content, "backup.sqlite").changes == 0
    assert book.texts("a")["mass"] == "620"
    again.close()


@pytest.mark.parametrize("content", [b"", b"no database" * 99, b"SQLite format 3\0" + b"x" * 200])
def test_what_is_no_backup_is_told_and_changes_nothing(book, content):
    book.put("a", {"name": "A"})
    if content:
        with pytest.raises(InputError, match=r"^photo\.jpg: is no book"):
            restore(book, content, "photo.jpg")
    else:
        assert restore(book, content, "photo.jpg").entries == 0
    assert whole(book)["a"][0] == {"name": "A"}


def test_a_person_is_taken_out_of_the_book_its_history_and_the_disk(book, tmp_path):
    book.put("a", {"name": "A", "by": "Somebody Rare"})
    book.put("a", {"by": "Another"})
    book.put("b", {"name": "B", "by": "Somebody Rare"})
    assert people(book) == ["Another", "Somebody Rare"]
    assert erase_person(book, "Somebody Rare") == 2
    assert people(book) == ["Another"]
    assert book.texts("b") == {"name": "B", "by": ""} and book.texts("a")["by"] == "Another"
    assert all("Rare" not in each.text for each in book.history("a"))
    with pytest.raises(InputError, match="nobody of this name"):
        erase_person(book, "Somebody Rare")
    if not book.shared:
        book.close()
        assert b"Somebody Rare" not in (tmp_path / FILE).read_bytes()
