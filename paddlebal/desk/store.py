"""Where the desk keeps every change: one SQLite file in the workshop's folder.

Changes are only ever added. What a field holds now is its latest change; all earlier ones are its
history. A change is on the disk when `put` returns.
"""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import RLock
from typing import Any, NamedTuple
from uuid import uuid4

from paddlebal.errors import InputError
from paddlebal.language import _

FILE = "workshop.sqlite"


_TABLES = """
create table if not exists entry (id text primary key, made text not null);
create table if not exists change (
    number integer primary key autoincrement,
    entry text not null references entry (id),
    time text not null,
    field text not null,
    text text not null
);
create index if not exists change_by_field on change (entry, field, number);
create table if not exists answer (question text primary key, text text not null);
"""


class Listed(NamedTuple):
    """An entry as a list shows it: its id, its name, and when it was last changed."""

    id: str
    name: str
    changed: str


class Change(NamedTuple):
    """A change: its number, when, which field, and the text it got."""

    number: int
    time: str
    field: str
    text: str


class Elsewhere(InputError):
    """A field was changed in another window since this one saw it.

    text: what it holds now.
    """

    def __init__(self, field: str, text: str) -> None:
        super().__init__(_("was changed in another window meanwhile"), field=field)
        self.text = text


class Store:
    """The desk's entries in a folder.

    `problem` is '' if they are kept there; else a sentence on why they are held in memory only.

    Parameters
    ----------
    folder : str or Path
    """

    def __init__(self, folder: str | Path) -> None:
        self.path, self.problem = Path(folder) / FILE, ""
        self._one_at_a_time = RLock()  # a kernel may answer in another thread than it began in
        try:
            self._base = self._opened(self.path)
        except sqlite3.Error as error:
            self.problem = _("Nothing is kept: {why}.").format(why=_why(error))
            self._base = self._opened(":memory:")

    @staticmethod
    def _opened(path):
        base = sqlite3.connect(path, timeout=5, isolation_level=None, check_same_thread=False)
        try:
            base.execute("pragma synchronous = full")
            base.executescript(_TABLES)
            with _writing(base):  # a folder that is closed to us shows only when it is written to
                base.execute("update entry set made = made where id = ''")
        except sqlite3.Error:
            base.close()
            raise
        return base

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()

    def new(self) -> str:
        """The id of a new entry, which holds nothing yet; it is listed once it holds something."""
        return uuid4().hex

    def put(self, entry: str, texts: dict[str, str], seen: int | None = None) -> int:
        """Keep texts by field, all or none, and return the number of the last change.

        seen: number of the last change that the writer knew; None if it does not matter.

        Raises
        ------
        Elsewhere
            If a field was since changed to another text.
        InputError
            If it cannot be kept: the disk is full, the folder is protected, the file is damaged.
        """
        now = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        try:
            with self._one_at_a_time, _writing(self._base):
                before = self.texts(entry)
                for field, text in texts.items():
                    self._refuse_other(entry, field, text, seen)
                self._base.execute("insert or ignore into entry values (?, ?)", (entry, now))
                self._base.executemany(
                    "insert into change (entry, time, field, text) values (?, ?, ?, ?)",
                    [
                        (entry, now, field, text)
                        for field, text in texts.items()
                        if before.get(field) != text
                    ],
                )
                return self.last(entry)
        except sqlite3.Error as error:
            raise InputError(_why(error), file=self.path.name) from error

    def _refuse_other(self, entry, field, text, seen):
        if seen is None:
            return
        row = self._base.execute(
            "select number, text from change where entry = ? and field = ? "
            "order by number desc limit 1",
            (entry, field),
        ).fetchone()
        if row and row[0] > seen and row[1] != text:
            raise Elsewhere(field, row[1])

    def texts(self, entry: str) -> dict[str, str]:
        """What each field of an entry holds now."""
        rows = self._read(
            "select field, text from change where number in "
            "(select max(number) from change where entry = ? group by field)",
            entry,
        )
        return dict(rows)

    def last(self, entry: str) -> int:
        """The number of an entry's last change, 0 if there is none."""
        [(number,)] = self._read(
            "select coalesce(max(number), 0) from change where entry = ?", entry
        )
        return int(number)

    def history(self, entry: str, most: int = 1000) -> list[Change]:
        """The latest changes of an entry, the last one first."""
        rows = self._read(
            "select number, time, field, text from change where entry = ? "
            "order by number desc limit ?",
            entry,
            most,
        )
        return [Change(*row) for row in rows]

    def entries(self, search: str = "", most: int = 50) -> list[Listed]:
        """Entries whose name holds all words of a search, those changed last first."""
        words = search.split()
        tests = " and name like ? escape '\\'" * len(words)
        rows = self._read(
            "with latest as (select entry, max(number) as number from change group by entry), "
            "named as (select entry, max(number) as number from change where field = 'name' "
            "group by entry) "
            "select latest.entry, coalesce(title.text, '') as name, last.time from latest "
            "join change as last on last.number = latest.number "
            "left join named on named.entry = latest.entry "
            "left join change as title on title.number = named.number "
            f"where true{tests} order by latest.number desc limit ?",
            *(f"%{_plain(word)}%" for word in words),
            most,
        )
        return [Listed(*row) for row in rows]

    def count(self) -> int:
        """How many entries there are."""
        [(count,)] = self._read("select count(*) from entry")
        return int(count)

    def answered(self, question: str) -> Any:
        """What was last answered to a question; None if it was never asked."""
        rows = self._read("select text from answer where question = ?", question)
        return json.loads(rows[0][0]) if rows else None

    def remember(self, question: str, answer: Any) -> None:
        """Keep an answer to a question; where that fails it will be asked again."""
        try:
            with self._one_at_a_time, _writing(self._base):
                self._base.execute(
                    "insert or replace into answer values (?, ?)", (question, json.dumps(answer))
                )
        except sqlite3.Error:
            return

    def _read(self, command, *values):
        try:
            with self._one_at_a_time:
                return self._base.execute(command, values).fetchall()
        except sqlite3.Error as error:
            raise InputError(_why(error), file=self.path.name) from error


@contextmanager
def _writing(base: sqlite3.Connection) -> Iterator[None]:
    base.execute("begin immediate")
    try:
        yield
        base.execute("commit")
    except BaseException:
        if base.in_transaction:
            base.execute("rollback")
        raise


def _plain(word):
    return "".join(f"\\{letter}" if letter in "%_\\" else letter for letter in word)


def _why(error):
    """What went wrong with the file, in words."""
    words = str(error)
    if "full" in words:
        return _("the disk is full")
    if "readonly" in words or "unable to open" in words or "permission" in words:
        return _("the folder is protected against writing")
    if "locked" in words:
        return _("another program holds the file")
    if "malformed" in words or "not a database" in words:
        return _("the file is damaged")
    return _("the file cannot be used ({why})").format(why=words)
