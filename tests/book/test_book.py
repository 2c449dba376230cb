"""The book keeps every change, or says that it cannot: in a file and on a server."""

import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from time import perf_counter

import pytest
import sqlalchemy as sa

from paddlebal import InputError
from paddlebal.book.book import FILE, VERSION, Book, Elsewhere, why


def other(place):
    return Book(place)


def driven(book):
    """The SQLite connection of a book."""
    return book._engine.raw_connection().driver_connection


def test_what_is_put_is_there_in_another_window_with_its_history(book, place):
    entry = book.new()
    book.put(entry, {"name": "A", "mass": "600"})
    book.put(entry, {"mass": "610"})
    again = other(place)
    assert again.texts(entry) == {"name": "A", "mass": "610"}
    assert [(each.field, each.text) for each in again.history(entry)] == [
        ("mass", "610"), ("mass", "600"), ("name", "A"),
    ]  # fmt: skip
    again.close()


def test_the_same_text_again_is_no_change(book):
    entry = book.new()
    assert book.put(entry, {"mass": "600"}) == book.put(entry, {"mass": "600"})
    assert book.last(entry) == book.put(entry, {"mass": "600"})


def test_a_second_window_cannot_overwrite_what_it_has_not_seen(book, place):
    entry, second = book.new(), other(place)
    seen = book.put(entry, {"mass": "600", "name": "A"})
    second.put(entry, {"mass": "700"}, seen)
    with pytest.raises(Elsewhere) as told:
        book.put(entry, {"name": "B", "mass": "650"}, seen)
    assert (told.value.field, told.value.text) == ("mass", "700")
    assert book.texts(entry) == {"mass": "700", "name": "A"}
    book.put(entry, {"name": "B"}, seen)
    assert second.texts(entry)["name"] == "B"
    second.close()


def test_entries_are_listed_latest_first_searched_and_sorted(book):
    ids = [book.new() for _ in range(60)]
    for i, each in enumerate(ids):
        book.put(each, {"name": f"paddle {i:02} {'long' if i % 10 == 7 else '50%'}",
                        "model": "Swift" if i % 2 else "Eddy", "size": f"{i % 3}"})  # fmt: skip
    assert [each.id for each in book.entries(most=3)] == ids[:-4:-1]
    assert len(book.entries("long PADDLE", most=50)) == 6
    assert book.entries("50%", most=1)[0].id == ids[-1]
    assert book.entries("5_%") == []
    assert book.count() == 60 and book.count("swift") == 30
    assert [each.model for each in book.entries("swift", most=2)] == ["Swift", "Swift"]
    assert book.entries(order="name", falling=False)[0].id == ids[0]
    assert book.entries(order="name", falling=True, start=1)[0].id == ids[-2]
    book.put(ids[5], {"mass": "1"})
    assert book.entries(most=1)[0].id == ids[5]


@pytest.mark.parametrize("name", [
    "<script>alert(1)</script>", "'; drop table change; --", "100%_\\", "ﷺ\N{PARTY POPPER}",
    "Ärger", "",
])  # fmt: skip
def test_any_name_is_kept_and_found_as_it_is(book, name):
    entry = book.new()
    book.put(entry, {"name": name, "model": name})
    [listed] = book.entries(name)
    assert (listed.name, listed.model) == (name, name)
    assert book.texts(entry)["name"] == name
    assert [each.id for each in book.entries(name.upper())] == [entry]


def test_what_readings_come_to_is_kept_until_the_entry_changes(book):
    first, second = book.new(), book.new()
    number = book.put(first, {"name": "A", "model": "M"})
    book.put(second, {"name": "B", "model": "M"})
    assert {entry for entry, _number in book.open_ones()} == {first, second}
    book.conclude([
        {"entry": first, "concluded": number, "conclusion": '{"s": 1.5}', "feather": 0.5,
         "length": 2.1, "unbalance": 0.015, "direction": 1.0, "verdict": "stays"},
    ])  # fmt: skip
    assert book.concluded([first, second]) == {first: {"s": 1.5}}
    assert [entry for entry, _number in book.open_ones()] == [second]
    assert book.entries(order="unbalance")[0].unbalance == 0.015
    assert book.entries(order="unbalance", falling=False)[0].id == first  # what is not known last
    book.put(first, {"mass": "600"})
    assert book.concluded() == {} and len(book.open_ones()) == 2


def test_answers_are_remembered(book, place):
    book.remember("columns: a | b", {"columns": [["angle", "deg"]]})
    book.remember("columns: a | b", {"columns": [["angle", "rad"]]})
    again = other(place)
    assert again.answered("columns: a | b") == {"columns": [["angle", "rad"]]}
    assert book.answered("another") is None
    again.close()


def test_many_threads_may_write_at_once(book):
    """A kernel answers in other threads than that in which the file was opened."""
    entry = book.new()
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda i: book.put(entry, {f"f{i}": str(i)}), range(80)))
    assert book.texts(entry) == {f"f{i}": str(i) for i in range(80)}


WRITER = (
    "import sys\n"
    "from paddlebal.book.book import Book\n"
    "book = Book(sys.argv[1])\n"
    "for i in range(40):\n"
    "    book.put('e', {sys.argv[2]: str(i)})\n"
)


def test_two_processes_may_write_at_once(place):
    Book(place).close()
    writers = [subprocess.Popen([sys.executable, "-c", WRITER, str(place), name])
               for name in ("left", "right")]  # fmt: skip
    assert [each.wait() for each in writers] == [0, 0]
    book = Book(place)
    assert book.texts("e") == {"left": "39", "right": "39"}
    assert len(book.history("e")) == 80
    book.close()


def test_a_killed_writer_leaves_what_it_had_put(place):
    code = WRITER + "import os, signal\nos.kill(os.getpid(), signal.SIGKILL)\n"
    subprocess.run([sys.executable, "-c", code, str(place), "mass"])
    book = Book(place)
    assert book.texts("e") == {"mass": "39"}
    book.close()


KILLED = """
import os, signal, sys, time
from paddlebal.book.book import Book

place, said = sys.argv[1:]
Book(place).close()
open(said, "w").close()
for k in range(20):
    pid = os.fork()
    if pid == 0:
        book = Book(place)
        out = os.open(said, os.O_WRONLY | os.O_APPEND)
        for i in range(10**9):
            book.put(f"e{k}", {"a": str(i), "b": str(i)})
            os.write(out, f"{k} {i}\\n".encode())
    while f"{k} 0" not in open(said).read().splitlines():
        time.sleep(0.005)
    time.sleep(0.003 * k)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
"""


def test_a_hundred_kills_lose_nothing_that_was_said_to_be_kept(tmp_path):
    """Five runs of twenty kills at different moments of a write."""
    for run in range(5):
        folder = tmp_path / str(run)
        folder.mkdir()
        said = folder / "said"
        subprocess.run([sys.executable, "-W", "ignore", "-c", KILLED, str(folder), str(said)],
                       check=True)  # fmt: skip
        kept = dict(line.split() for line in said.read_text().splitlines())
        book = Book(folder)
        assert driven(book).execute("pragma integrity_check").fetchone() == ("ok",)
        for k, i in kept.items():
            texts = book.texts(f"e{k}")
            assert texts["a"] == texts["b"] and int(texts["a"]) >= int(i)
        book.close()
        assert len(kept) == 20


def test_a_full_disk_is_told_and_loses_nothing_that_was_kept(tmp_path):
    book = Book(tmp_path)
    entry = book.new()
    book.put(entry, {"name": "A"})
    base = driven(book)
    pages = base.execute("pragma page_count").fetchone()[0]
    base.execute(f"pragma max_page_count = {pages}")
    with pytest.raises(InputError, match="disk is full"):
        for i in range(10_000):
            book.put(entry, {"mass": str(i)})
    base.execute(f"pragma max_page_count = {pages + 100}")
    book.put(entry, {"length": "2200"})
    assert book.texts(entry)["name"] == "A" and book.texts(entry)["length"] == "2200"
    assert base.execute("pragma integrity_check").fetchone() == ("ok",)


def test_a_folder_that_cannot_be_used_is_told_and_the_desk_still_opens(tmp_path):
    book = Book(tmp_path / "nowhere")
    assert "protected" in book.problem
    entry = book.new()
    book.put(entry, {"name": "A"})
    assert book.texts(entry) == {"name": "A"}


def test_a_protected_file_is_told(tmp_path):
    Book(tmp_path).close()
    locked = sqlite3.connect(f"file:{tmp_path / FILE}?mode=ro", uri=True)
    with pytest.raises(sqlite3.OperationalError) as error:
        locked.execute("delete from entry")
    assert "protected" in why(error.value)


def test_a_damaged_file_is_told_and_left_as_it_is(tmp_path):
    (tmp_path / FILE).write_bytes(b"no database" * 100)
    assert "damaged" in Book(tmp_path).problem
    assert (tmp_path / FILE).read_bytes() == b"no database" * 100


def test_a_book_of_a_newer_version_is_told_and_left_as_it_is(place):
    book = Book(place)
    book.put("e", {"name": "A"})
    with book.writing() as connection:
        connection.execute(sa.text("update alembic_version set version_num = 'z9'"))
    book.close()
    again = Book(place)
    assert "newer version" in again.problem and again.texts("e") == {}
    again.close()


def test_a_server_that_is_not_there_is_told():
    book = Book("postgresql+psycopg://book@/none?host=/nowhere")
    assert "server does not answer" in book.problem
    assert "cannot be used" in Book("nonsense+nothing://a@b/c").problem


def test_a_server_that_goes_away_and_comes_back(server):
    book = Book(server.new("away"))
    book.put("e", {"mass": "600"})
    server.stop()
    try:
        with pytest.raises(InputError, match="server does not answer"):
            book.put("e", {"mass": "700"})
    finally:
        server.start()
    assert book.texts("e") == {"mass": "600"}
    book.put("e", {"mass": "700"})
    assert book.texts("e") == {"mass": "700"}
    book.close()


EARLIER = """
create table entry (id text primary key, made text not null);
create table change (
    number integer primary key autoincrement, entry text not null references entry (id),
    time text not null, field text not null, text text not null
);
create index change_by_field on change (entry, field, number);
create table answer (question text primary key, text text not null);
insert into entry values ('e', '2026-01-01'), ('f', '2026-01-01');
insert into change (entry, time, field, text) values
    ('e', '2026-01-01', 'name', 'A'), ('f', '2026-01-02', 'name', 'F'),
    ('e', '2026-01-03', 'name', 'Ä b'), ('e', '2026-01-04', 'mass', '600');
insert into answer values ('language', '"de"');
"""


def test_a_desk_of_before_becomes_a_book(tmp_path):
    base = sqlite3.connect(tmp_path / FILE)
    base.executescript(EARLIER)
    base.close()
    copy = (tmp_path / FILE).read_bytes()
    book = Book(tmp_path)
    assert book.problem == "" and book.texts("e") == {"name": "Ä b", "mass": "600"}
    assert [each.text for each in book.history("e")] == ["600", "Ä b", "A"]
    assert [each.name for each in book.entries()] == ["Ä b", "F"]
    assert book.entries("ä")[0].id == "e" and book.answered("language") == "de"
    book.put("e", {"mass": "610"})
    assert book.entries(most=1)[0].id == "e"
    (tmp_path / "copy").mkdir()
    (tmp_path / "copy" / FILE).write_bytes(copy)
    second = Book(tmp_path / "copy")
    marks = [set(driven(each).execute("select mark from change where number < 5"))
             for each in (book, second)]  # fmt: skip
    assert marks[0] == marks[1] and len(marks[0]) == 4


def test_tables_made_step_by_step_are_those_that_the_book_names(tmp_path):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    from paddlebal.book.tables import METADATA

    book = Book(tmp_path)
    with book._engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []
        assert connection.execute(sa.text("select * from alembic_version")).scalar() == VERSION


def test_ten_thousand_entries_are_searched_and_opened_in_no_time(tmp_path):
    book = Book(tmp_path)
    filled(book, 10_000)
    for action in (lambda: book.entries("paddle 77 swift"), lambda: book.entries(order="name"),
                   lambda: book.texts("e00500"), lambda: book.count("eddy")):  # fmt: skip
        action()
        taken = min(timed(action) for _ in range(5))
        assert taken < 0.05, taken
    assert book.entries("paddle 7777")[0].id == "e07777"


def timed(action):
    start = perf_counter()
    action()
    return perf_counter() - start


def filled(book, count):
    """A book with so many entries of 30 fields each, put in at once."""
    entries = [f"e{i:05}" for i in range(count)]
    fields = [f"field{k}" for k in range(28)]
    with book.writing() as connection:
        base = connection.connection.driver_connection
        base.executemany("insert into entry values (?, '')", [(each,) for each in entries])
        base.executemany(
            "insert into change (entry, time, field, text, mark) values (?, '2026', ?, ?, ?)",
            [
                (entry, field, f"{i}", f"{entry}{field}")
                for i, entry in enumerate(entries)
                for field in fields
            ],
        )
        base.execute(
            "insert into latest (entry, field, text, number) "
            "select entry, field, text, number from change"
        )
        base.executemany(
            "insert into listing (entry, number, changed, words, name, model, size, concluded) "
            "values (?, ?, '2026', ?, ?, ?, '', 0)",
            [
                (entry, 28 * (i + 1), f"paddle {i} {'swift' if i % 2 else 'eddy'}", f"paddle {i}",
                 "swift" if i % 2 else "eddy")
                for i, entry in enumerate(entries)
            ],
        )  # fmt: skip
    return entries
