"""The workshop's file keeps every change, or says that it cannot."""

import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from paddlebal import InputError
from paddlebal.desk.store import FILE, Elsewhere, Store, _why


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path)


def test_what_is_put_is_there_in_another_window_with_its_history(store, tmp_path):
    entry = store.new()
    store.put(entry, {"name": "A", "mass": "600"})
    store.put(entry, {"mass": "610"})
    other = Store(tmp_path)
    assert other.texts(entry) == {"name": "A", "mass": "610"}
    assert [(each.field, each.text) for each in other.history(entry)] == [
        ("mass", "610"), ("mass", "600"), ("name", "A"),
    ]  # fmt: skip


def test_the_same_text_again_is_no_change(store):
    entry = store.new()
    assert store.put(entry, {"mass": "600"}) == store.put(entry, {"mass": "600"})


def test_a_second_window_cannot_overwrite_what_it_has_not_seen(store, tmp_path):
    entry, other = store.new(), Store(tmp_path)
    seen = store.put(entry, {"mass": "600", "name": "A"})
    other.put(entry, {"mass": "700"}, seen)
    with pytest.raises(Elsewhere) as told:
        store.put(entry, {"name": "B", "mass": "650"}, seen)
    assert (told.value.field, told.value.text) == ("mass", "700")
    assert store.texts(entry) == {"mass": "700", "name": "A"}
    store.put(entry, {"name": "B"}, seen)
    assert other.texts(entry)["name"] == "B"


def test_two_thousand_entries_are_listed_latest_first_and_searched(store):
    ids = [store.new() for _ in range(2000)]
    store._base.execute("begin")
    store._base.executemany("insert into entry values (?, '')", [(each,) for each in ids])
    store._base.executemany(
        "insert into change (entry, time, field, text) values (?, '2026', 'name', ?)",
        [(each, f"paddle {i} {'long' if i % 100 == 7 else '50%'}") for i, each in enumerate(ids)],
    )
    store._base.execute("commit")
    assert [each.id for each in store.entries(most=3)] == ids[:-4:-1]
    assert len(store.entries("long PADDLE", most=50)) == 20
    assert store.entries("50%", most=1)[0].id == ids[-1]
    assert store.entries("5_%") == []
    assert store.count() == 2000
    store.put(ids[5], {"mass": "1"})
    assert store.entries(most=1)[0].id == ids[5]


def test_answers_are_remembered(store, tmp_path):
    store.remember("columns: a | b", {"columns": [["angle", "deg"]]})
    assert Store(tmp_path).answered("columns: a | b") == {"columns": [["angle", "deg"]]}
    assert store.answered("another") is None


def test_a_full_disk_is_told_and_loses_nothing_that_was_kept(store):
    entry = store.new()
    store.put(entry, {"name": "A"})
    pages = store._base.execute("pragma page_count").fetchone()[0]
    store._base.execute(f"pragma max_page_count = {pages}")
    with pytest.raises(InputError, match="disk is full"):
        for i in range(10_000):
            store.put(entry, {"mass": str(i)})
    store._base.execute(f"pragma max_page_count = {pages + 100}")
    store.put(entry, {"length": "2200"})
    assert store.texts(entry)["name"] == "A" and store.texts(entry)["length"] == "2200"
    assert store._base.execute("pragma integrity_check").fetchone() == ("ok",)


def test_a_folder_that_cannot_be_used_is_told_and_the_desk_still_opens(tmp_path):
    store = Store(tmp_path / "nowhere")
    assert "protected" in store.problem
    entry = store.new()
    store.put(entry, {"name": "A"})
    assert store.texts(entry) == {"name": "A"}


def test_a_protected_file_is_told(tmp_path):
    Store(tmp_path).close()
    locked = sqlite3.connect(f"file:{tmp_path / FILE}?mode=ro", uri=True)
    with pytest.raises(sqlite3.OperationalError) as error:
        locked.execute("delete from entry")
    assert "protected" in _why(error.value)


def test_a_damaged_file_is_told_and_left_as_it_is(tmp_path):
    (tmp_path / FILE).write_bytes(b"no database" * 100)
    assert "damaged" in Store(tmp_path).problem
    assert (tmp_path / FILE).read_bytes() == b"no database" * 100


def test_a_killed_writer_leaves_what_it_had_put(tmp_path):
    code = (
        "import os, signal, sys\n"
        "from paddlebal.desk.store import Store\n"
        "store = Store(sys.argv[1])\n"
        "for i in range(40):\n"
        "    store.put('e', {'mass': str(i)})\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path)])
    assert Store(tmp_path).texts("e") == {"mass": "39"}
    assert [path.name for path in tmp_path.iterdir()] == [FILE]


def test_many_threads_may_write_at_once(store):
    """A kernel answers in other threads than that in which the file was opened."""
    entry = store.new()
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda i: store.put(entry, {f"f{i}": str(i)}), range(80)))
    assert store.texts(entry) == {f"f{i}": str(i) for i in range(80)}
