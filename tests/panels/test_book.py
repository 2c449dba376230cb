"""The book's page without a browser: messages in, pages and files out."""

import numpy as np
import pytest
from desk.test_concluded import PADDLE, entry

from paddlebal.book.book import Book
from paddlebal.book.exchange import backup
from paddlebal.desk.concluded import alike
from paddlebal.desk.found import found
from paddlebal.desk.pack import packed
from paddlebal.panels.book import AT_ONCE, SAME, BookPage, book_panel
from paddlebal.panels.desk import Desk


class Window:
    """A page, and what it sent last of each kind."""

    def __init__(self, book):
        self.page = BookPage(book)
        self.sent, self.files = {}, {}
        self.page.page.send = self._take

    def _take(self, message, buffers=()):
        self.sent[message["kind"]] = self.sent.get(message["kind"], {}) | message
        if message["kind"] == "file":
            names = [name for name, _kind in message["files"]]
            self.files |= dict(zip(names, map(bytes, buffers), strict=True))

    def ask(self, kind, buffers=(), **content):
        self.page.handle({"kind": kind} | content, buffers)
        return self.sent["page"]


@pytest.fixture
def book(tmp_path):
    made, rng = Book(tmp_path), np.random.default_rng(1)
    for i in range(8):
        kind = {"model": "Swift" if i < 6 else "Eddy", "size": "M" if i % 2 else "L"}
        made.put(f"e{i}", entry(rng, name=f"paddle {i}", by="A. Demo", **kind))
    return made


@pytest.fixture
def window(book):
    made = Window(book)
    made.ask("open")
    return made


def names(page):
    return [row["cells"][0] for row in page["rows"]]


def test_the_list_is_found_sorted_and_turned(window, book):
    assert names(window.sent["page"])[0] == "paddle 7"
    assert names(window.ask("search", words="eddy")) == ["paddle 7", "paddle 6"]
    window.ask("search", words="")
    page = window.ask("sort", order="name")
    assert names(page)[0] == "paddle 0" and not page["falling"]
    assert names(window.ask("sort", order="name"))[0] == "paddle 7"
    sizes = [float(row["cells"][5].split()[0].replace(",", ""))
             for row in window.ask("sort", order="unbalance")["rows"]]  # fmt: skip
    assert sizes == sorted(sizes)
    for i in range(AT_ONCE):
        book.put(f"x{i}", {"name": f"more {i}"})
    page = window.ask("turn", by=1)
    assert page["last"] and not page["first"] and len(page["rows"]) == 8
    assert window.ask("turn", by=-1)["first"]
    assert window.ask("sort", order="drop table")["rows"]


def test_ticked_paddles_stand_side_by_side(window):
    window.ask("tick", entry="e1", on=True)
    page = window.ask("tick", entry="e2", on=True)
    assert page["compared"].count("<td>paddle") == 2 and "unbalance [g·mm]" in page["compared"]
    assert window.ask("untick")["compared"] == ""


def test_pictures_and_models(window):
    page = window.sent["page"]
    assert "<svg" in page["drawn"] and "Swift" in page["drawn"]
    told = {(each["model"], each["size"]): each for each in page["models"]}
    assert told["Swift", "M"]["count"] == 3 and "the next one" in told["Swift", "M"]["words"]
    assert "<svg" in window.ask("picture", name="feather")["drawn"]
    assert "reference rod" in window.ask("picture", name="bench")["drawn"]


def test_a_hostile_name_is_shown_as_text(book, window):
    book.put("h", {"name": "<img src=x onerror=alert(1)>", "model": "<b>'; drop table change"})
    book.put("h", entry() | {"name": "<img src=x>", "model": "<b>'; drop table change"})
    window.ask("open")
    for each in ("h", "e1"):
        page = window.ask("tick", entry=each, on=True)
    assert "<img" not in page["compared"] and "<b>" not in page["drawn"]
    assert window.ask("search", words="drop table")["count"].endswith("1")


def test_the_next_paddle_starts_from_one_before(book, window):
    window.ask("next", entry="e3")
    new = book.entries(most=1)[0]
    texts = book.texts(new.id)
    assert texts["model"] == "Swift" and texts["size"] == "M" and texts["length"] == "2120"
    assert set(texts) <= set(SAME) and "face" not in texts and "mass" not in texts
    desk = Desk(book)
    assert desk.entry == new.id
    sent = []
    desk.page.send = lambda message, buffers=(): sent.append(message)
    desk.handle({"kind": "open"})
    before = alike(book)
    assert f"{before.count('Swift')} paddles of this model" in sent[0]["verdict"]
    own = {name: PADDLE[name] for name in ("mass", "balance", "face")}
    desk.handle({"kind": "edit", "texts": own})
    told = f"By {before.count('Swift', 'M')} paddles of this model and size before"
    assert told in sent[-1]["verdict"]
    assert "g on 60 mm at" in sent[-1]["verdict"] and "read the bench" in sent[-1]["verdict"]
    assert Desk(book).entry == new.id  # the wish is used up; it is the latest now
    book.put("old", {"name": "later"})
    assert Desk(book).entry == "old"


def test_a_paddle_without_a_model_has_no_next_one(book, window):
    book.put("n", {"name": "alone"})
    assert "has no model" in window.ask("next", entry="n")["told"].lower()


def test_tables_files_and_backups_are_handed_over(window):
    for form in ("csv", "csv comma", "xlsx"):
        window.ask("table", form=form, people=False)
    assert {name.rpartition(".")[2] for name in window.files} == {"csv", "xlsx"}
    text = next(text for name, text in window.files.items() if name.endswith("csv"))
    assert b"paddle 1" in text and b"A. Demo" not in text
    window.ask("table", form="csv", people=True)
    assert any(b"A. Demo" in text for text in window.files.values())
    assert "tick" in window.ask("files", people=False)["told"].lower()
    window.ask("tick", entry="e1", on=True)
    window.ask("files", people=False)
    assert {"paddle_1.toml", "paddle_1_lever.csv"} <= set(window.files)
    window.ask("backup")
    assert any(text.startswith(b"SQLite format 3") for text in window.files.values())


def test_a_backup_and_files_are_brought_in(book, tmp_path):
    folder = tmp_path / "second"
    folder.mkdir()
    window = Window(Book(folder))
    window.ask("open")
    page = window.ask("bring", [backup(book)], names=["copy.sqlite"])
    assert "8 entries" in page["told"] and len(page["rows"]) == 8
    texts = entry(name="from file")
    files = packed(texts, found(texts))
    page = window.ask("bring", [text.encode() for text in files.values()], names=list(files))
    assert "1 paddles taken in" in page["told"] and names(page)[0] == "from file"
    page = window.ask("bring", [b"angle,pull\n1,2\n"], names=["../../evil.csv"])
    assert "0 paddles" in page["told"] and "evil.csv" in page["told"] and "/tmp" not in page["told"]


def test_a_person_is_erased(window, book):
    assert window.sent["page"]["people"] == ["A. Demo"]
    page = window.ask("erase", name="A. Demo")
    assert page["people"] == [] and "8 entries" in page["told"]
    assert "nobody" in window.ask("erase", name="A. Demo")["told"].lower()


def test_it_speaks_german_and_the_desk_too(window, book):
    page = window.ask("language", code="de")
    assert page["labels"]["search"] == "Paddel suchen"
    assert Desk(book).language == "de"


def test_a_shared_book_is_named_by_the_environment(tmp_path, monkeypatch):
    monkeypatch.setenv("PADDLEBAL_BOOK", "postgresql+psycopg://book@/none?host=/nowhere")
    panel = book_panel(tmp_path)
    assert panel is not None and not list(tmp_path.iterdir())


def test_what_goes_wrong_is_told_and_the_page_lives_on(window):
    assert window.ask("nonsense")["told"]
    assert len(window.ask("search", words="paddle")["rows"]) == 8


def test_what_has_not_changed_is_not_sent_again(window):
    heavy = ("drawn", "compared", "models", "people")
    sent = []
    window.page.page.send = lambda message, buffers=(): sent.append(message)
    window.page.handle({"kind": "turn", "by": -1})
    assert not set(heavy) & set(sent[-1])
    window.page.handle({"kind": "tick", "entry": "e1", "on": True})
    assert {"drawn", "compared"} == set(heavy) & set(sent[-1])
    window.page.handle({"kind": "language", "code": "de"})
    assert set(heavy) <= set(sent[-1])
