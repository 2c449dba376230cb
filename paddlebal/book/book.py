"""The workshop's book: every entry with all its changes, in an SQLite file in the workshop's folder
or on a PostgreSQL server that workshops share.

Changes are only ever added. What a field holds now is its latest change; all earlier ones are its
history. A change is on the disk when `put` returns.
"""

from __future__ import annotations

import datetime
import json
import os
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import RLock
from typing import Any, NamedTuple
from uuid import uuid4

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import StaticPool

from paddlebal.book.tables import ANSWER, CHANGE, ENTRY, LATEST, LISTING
from paddlebal.errors import InputError
from paddlebal.language import _

FILE = "workshop.sqlite"


VERSION = "a2"
"""Of the tables: the last step in `migrations`."""


LISTED = ("name", "model", "size")
"""Fields that a list shows as they were typed, and in which a search looks."""


ORDERS = (
    "changed", "name", "model", "size", "feather", "length", "unbalance", "direction", "verdict",
)  # fmt: skip
"""Columns by which a list can be sorted."""


PLACE = "PADDLEBAL_BOOK"
"""The environment's variable that names a shared book's address."""


def place_of(folder: str | Path) -> str | Path:
    """Where the book lies: the address that the environment names, else the folder."""
    return os.environ.get(PLACE, "").strip() or folder


class Listed(NamedTuple):
    """An entry as a list shows it.

    id, name, and when it was last changed; model and size as typed; feather and direction [rad],
    length [m], unbalance [kg·m] and verdict as its readings give them, None where they do not.
    """

    id: str
    name: str
    changed: str
    model: str = ""
    size: str = ""
    feather: float | None = None
    length: float | None = None
    unbalance: float | None = None
    direction: float | None = None
    verdict: str | None = None


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


class Newer(Exception):
    """The book was written by a later version."""


class Book:
    """The entries of a workshop.

    `problem` is '' if they are kept; else a sentence on why they are held in memory only.

    Parameters
    ----------
    place : str or Path
        The workshop's folder, or the address of a database server, such as
        postgresql+psycopg://user@host/name.
    """

    def __init__(self, place: str | Path) -> None:
        self.shared = "://" in str(place)
        self.path = Path(FILE) if self.shared else Path(place) / FILE
        self.problem = ""
        self._one_at_a_time = RLock()  # a kernel may answer in another thread than it began in
        address = str(place) if self.shared else f"sqlite:///{self.path}"
        try:
            self._engine = _opened(address)
        except (SQLAlchemyError, Newer, ImportError) as error:
            self.problem = _("Nothing is kept: {why}.").format(why=why(error))
            self._engine = _opened("sqlite://")

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def new(self) -> str:
        """The id of a new entry, which holds nothing yet; it is listed once it holds something."""
        return uuid4().hex

    # Writing.

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A connection on which all is written or nothing.

        Raises
        ------
        InputError
            If it cannot be kept: the disk is full, the folder is protected, the file is damaged,
            the server is away.
        """
        try:
            with self._one_at_a_time, self._engine.begin() as connection:
                yield connection
        except SQLAlchemyError as error:
            raise InputError(why(error), file=self._name) from error

    @property
    def _name(self):
        return None if self.shared else self.path.name

    def put(self, entry: str, texts: Mapping[str, str], seen: int | None = None) -> int:
        """Keep texts by field, all or none, and return the number of the last change.

        seen: number of the last change that the writer knew; None if it does not matter.

        Raises
        ------
        Elsewhere
            If a field was since changed to another text.
        InputError
            As for `writing`.
        """
        now = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        with self.writing() as connection:
            self.begin(connection, entry, now)
            before = {
                row.field: (row.number, row.text)
                for row in connection.execute(
                    sa.select(LATEST).where(LATEST.c.entry == entry)
                )
            }  # fmt: skip
            changed = []
            for field, text in texts.items():
                number, held = before.get(field, (0, None))
                if held == text:
                    continue
                if seen is not None and number > seen and held is not None:
                    raise Elsewhere(field, held)
                changed.append({"entry": entry, "time": now, "field": field, "text": text,
                                "mark": uuid4().hex})  # fmt: skip
            self.add_changes(connection, entry, changed)
            last = max((number for number, _text in before.values()), default=0)
            return self._last(connection, entry) if changed else last

    def begin(self, connection: sa.Connection, entry: str, made: str) -> None:
        """Make the entry if it is new, and let no other writer at it before this one is done."""
        insert = _insert(connection, ENTRY).values(id=entry, made=made)
        connection.execute(insert.on_conflict_do_nothing())
        connection.execute(sa.select(ENTRY.c.id).where(ENTRY.c.id == entry).with_for_update())

    def add_changes(self, connection: sa.Connection, entry: str, changes: Sequence[Any]) -> None:
        """Add changes of one entry (dictionaries by column, in their order) on a connection."""
        if not changes:
            return
        connection.execute(sa.insert(CHANGE), list(changes))
        insert = _insert(connection, LATEST)
        numbers = dict(connection.execute(
            sa.select(CHANGE.c.mark, CHANGE.c.number)
            .where(CHANGE.c.entry == entry)
            .order_by(CHANGE.c.number.desc()).limit(len(changes))
        ).all())  # fmt: skip
        latest = {each["field"]: each for each in changes}
        connection.execute(
            insert.on_conflict_do_update(
                index_elements=["entry", "field"],
                set_={"text": insert.excluded.text, "number": insert.excluded.number},
            ),
            [
                {"entry": entry, "field": field, "text": each["text"],
                 "number": numbers[each["mark"]]}
                for field, each in latest.items()
            ],
        )  # fmt: skip
        self._list(connection, entry, max(numbers.values()), changes[-1]["time"])

    def _list(self, connection, entry, number, changed):
        held = dict(connection.execute(
            sa.select(LATEST.c.field, LATEST.c.text)
            .where(LATEST.c.entry == entry, LATEST.c.field.in_(LISTED))
        ).all())  # fmt: skip
        shown = {field: held.get(field, "") for field in LISTED}
        row = shown | {
            "entry": entry, "number": number, "changed": changed,
            "words": " ".join(shown.values()).lower(),
        }  # fmt: skip
        insert = _insert(connection, LISTING).values(row | {"concluded": 0})
        connection.execute(insert.on_conflict_do_update(index_elements=["entry"], set_=row))

    def conclude(self, rows: Sequence[Mapping[str, Any]]) -> None:
        """Keep what readings of entries come to.

        rows: for each, the columns entry, concluded (the number of the change it stands on),
        conclusion (a text of JSON), feather, length, unbalance, direction and verdict.
        """
        if not rows:
            return
        names = [name for name in rows[0] if name != "entry"]
        command = (
            sa.update(LISTING)
            .where(LISTING.c.entry == sa.bindparam("of"))
            .values({name: sa.bindparam(f"new_{name}") for name in names})
        )
        with self.writing() as connection:
            connection.execute(
                command,
                [{"of": row["entry"], **{f"new_{name}": row[name] for name in names}}
                 for row in rows],
            )  # fmt: skip

    def remember(self, question: str, answer: Any) -> None:
        """Keep an answer to a question; where that fails it will be asked again."""
        try:
            with self.writing() as connection:
                text = json.dumps(answer)
                insert = _insert(connection, ANSWER).values(question=question, text=text)
                connection.execute(
                    insert.on_conflict_do_update(index_elements=["question"], set_={"text": text})
                )
        except InputError:
            return

    def copy_to(self, path: Path) -> None:
        """Write the SQLite file as it is now to another place."""
        with self._one_at_a_time:
            raw = self._engine.raw_connection()
            with sqlite3.connect(path) as target:
                raw.driver_connection.backup(target)
            target.close()

    def tidy(self) -> None:
        """Give back the room of what was erased, and leave nothing of it on the disk."""
        if not self.shared:
            with self._one_at_a_time, self._engine.connect() as connection:
                own = connection.execution_options(isolation_level="AUTOCOMMIT")
                own.execute(sa.text("vacuum"))

    # Reading.

    def read(self, command: sa.Select[Any]) -> Sequence[Any]:
        """All rows of a command that changes nothing."""
        try:
            with self._one_at_a_time, self._engine.connect() as connection:
                own = connection.execution_options(isolation_level="AUTOCOMMIT")
                return own.execute(command).all()
        except SQLAlchemyError as error:
            raise InputError(why(error), file=self._name) from error

    def texts(self, entry: str) -> dict[str, str]:
        """What each field of an entry holds now."""
        rows = self.read(sa.select(LATEST.c.field, LATEST.c.text).where(LATEST.c.entry == entry))
        return {row.field: row.text for row in rows}

    def texts_of(self, entries: Sequence[str]) -> dict[str, dict[str, str]]:
        """What each field of several entries holds now."""
        found: dict[str, dict[str, str]] = {entry: {} for entry in entries}
        for start in range(0, len(entries), 500):
            part = list(entries[start : start + 500])
            for row in self.read(sa.select(LATEST).where(LATEST.c.entry.in_(part))):
                found[row.entry][row.field] = row.text
        return found

    def last(self, entry: str) -> int:
        """The number of an entry's last change, 0 if there is none."""
        rows = self.read(sa.select(LISTING.c.number).where(LISTING.c.entry == entry))
        return int(rows[0].number) if rows else 0

    def newest(self, without: str = "") -> int:
        """The number of the last change to any entry but one, 0 if there is none."""
        command = sa.select(sa.func.coalesce(sa.func.max(LISTING.c.number), 0))
        return int(self.read(command.where(LISTING.c.entry != without))[0][0])

    @staticmethod
    def _last(connection, entry):
        command = sa.select(LISTING.c.number).where(LISTING.c.entry == entry)
        return int(connection.execute(command).scalar_one())

    def history(self, entry: str, most: int = 1000) -> list[Change]:
        """The latest changes of an entry, the last one first."""
        rows = self.read(
            sa.select(CHANGE.c.number, CHANGE.c.time, CHANGE.c.field, CHANGE.c.text)
            .where(CHANGE.c.entry == entry)
            .order_by(CHANGE.c.number.desc())
            .limit(most)
        )
        return [Change(*row) for row in rows]

    def entries(
        self, search: str = "", most: int = 50, order: str = "changed", falling: bool = True,
        start: int = 0,
    ) -> list[Listed]:  # fmt: skip
        """Entries that hold all words of a search, by default those changed last first.

        order: one of ORDERS.
        """
        column = LISTING.c.number if order == "changed" else LISTING.c[order]
        command = sa.select(*_LISTED_COLUMNS).where(*_found(search))
        way = column.desc() if falling else column.asc()
        command = command.order_by(way.nulls_last(), LISTING.c.number.desc())
        return [Listed(*row) for row in self.read(command.limit(most).offset(start))]

    def listed(self, entries: Sequence[str]) -> list[Listed]:
        """These entries as a list shows them, in their order."""
        command = sa.select(*_LISTED_COLUMNS).where(LISTING.c.entry.in_(list(entries)))
        found = {row[0]: Listed(*row) for row in self.read(command)}
        return [found[entry] for entry in entries if entry in found]

    def count(self, search: str = "") -> int:
        """How many entries hold all words of a search."""
        command = sa.select(sa.func.count()).select_from(LISTING).where(*_found(search))
        return int(self.read(command)[0][0])

    def concluded(self, entries: Sequence[str] | None = None) -> dict[str, Any]:
        """What the readings come to, by entry: of all, or of these."""
        command = sa.select(LISTING.c.entry, LISTING.c.conclusion).where(
            LISTING.c.conclusion.is_not(None), LISTING.c.concluded == LISTING.c.number
        )
        if entries is not None:
            command = command.where(LISTING.c.entry.in_(list(entries)))
        return {row.entry: json.loads(row.conclusion) for row in self.read(command)}

    def open_ones(self, most: int = 100_000) -> list[tuple[str, int]]:
        """Entries changed since their readings were looked at, with their last change."""
        command = sa.select(LISTING.c.entry, LISTING.c.number).where(
            LISTING.c.concluded != LISTING.c.number
        )
        return [(row.entry, row.number) for row in self.read(command.limit(most))]

    def answered(self, question: str) -> Any:
        """What was last answered to a question; None if it was never asked."""
        rows = self.read(sa.select(ANSWER.c.text).where(ANSWER.c.question == question))
        return json.loads(rows[0].text) if rows else None


_LISTED_COLUMNS = [LISTING.c["entry" if each == "id" else each] for each in Listed._fields]


def _found(search):
    """What must hold of a row of the listing."""
    return [
        LISTING.c.words.like(f"%{_plain(word)}%", escape="\\") for word in search.lower().split()
    ]


def _plain(word):
    return "".join(f"\\{letter}" if letter in "%_\\" else letter for letter in word)


def _insert(connection, table):
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    return dialect.insert(table)


# Opening.


def _opened(address):
    """The engine of a book that is of this version."""
    engine = _engine(address)
    try:
        if _version(engine) != VERSION:
            _brought_up(engine)
        with engine.begin() as connection:  # a folder that is closed to us shows only now
            connection.execute(sa.update(ENTRY).where(ENTRY.c.id == "").values(made=ENTRY.c.made))
    except BaseException:
        engine.dispose()
        raise
    return engine


def _engine(address):
    if not address.startswith("sqlite"):
        return sa.create_engine(
            address, pool_pre_ping=True, connect_args={"connect_timeout": 5}
        )  # fmt: skip
    engine = sa.create_engine(
        address, poolclass=StaticPool, connect_args={"check_same_thread": False, "timeout": 5}
    )

    @sa.event.listens_for(engine, "connect")
    def connected(connection, _record):
        connection.isolation_level = None  # the driver begins nothing by itself
        connection.execute("pragma synchronous = full")
        connection.execute("pragma secure_delete = on")

    @sa.event.listens_for(engine, "begin")
    def begun(connection):
        if connection.get_execution_options().get("isolation_level") != "AUTOCOMMIT":
            connection.exec_driver_sql("begin immediate")

    return engine


def _version(engine):
    """The version of a book's tables, None if it has none."""
    with engine.connect() as connection:
        own = connection.execution_options(isolation_level="AUTOCOMMIT")
        if not sa.inspect(own).has_table("alembic_version"):
            return None
        return own.execute(sa.text("select version_num from alembic_version")).scalar()


def _brought_up(engine):
    """Bring a book to this version: a new one, one of the desk before, or an earlier one."""
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from alembic.util.exc import CommandError

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    known = {step.revision for step in ScriptDirectory.from_config(config).walk_revisions()}
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        tables = sa.inspect(connection).get_table_names()
        if "alembic_version" in tables:
            now = connection.execute(sa.text("select version_num from alembic_version")).scalar()
            if now not in known:
                raise Newer(now)
        elif "entry" in tables:
            command.stamp(config, "a1")
        try:
            command.upgrade(config, "head")
        except CommandError as error:
            raise Newer(str(error)) from error


def why(error: Exception) -> str:
    """What went wrong with a book, in words."""
    words = str(getattr(error, "orig", None) or error)
    if isinstance(error, Newer):
        return _("the book was written by a newer version of paddlebal")
    if isinstance(error, ImportError):
        return _("the package for this kind of server is not installed ({why})").format(why=words)
    for signs, told in (
        (("full",), _("the disk is full")),
        (("readonly", "unable to open", "permission"),
         _("the folder is protected against writing")),
        (("locked",), _("another program holds the file")),
        (("malformed", "not a database"), _("the file is damaged")),
        (("connection", "server", "terminating"), _("the database server does not answer")),
    ):  # fmt: skip
        if any(sign in words.lower() for sign in signs):
            return told
    return _("the file cannot be used ({why})").format(why=words.splitlines()[0])
