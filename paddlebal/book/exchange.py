"""Two books become one, a book is copied, and a person is taken out of it.

Entries and changes are known by marks of their own, so that what both books hold is taken once.
Nothing is dropped: where both changed a field since they parted, both texts stay in the history,
the later one counts, and the conflict is told.
"""

from __future__ import annotations

import sqlite3
import tempfile
from pathlib import Path
from typing import NamedTuple

import sqlalchemy as sa

from paddlebal.book.book import FILE, Book, why
from paddlebal.book.tables import CHANGE, ENTRY, LATEST
from paddlebal.errors import InputError
from paddlebal.language import _

AT_ONCE = 200
"""Entries that are taken over in one go, all or none."""


PEOPLE = ("by",)
"""Fields that hold the name of a person."""


class Conflict(NamedTuple):
    """A field that both books changed: of which entry, and what it is here and there."""

    entry: str
    name: str
    field: str
    here: str
    there: str


class Merged(NamedTuple):
    """How many entries were new and how many changes were taken over, and the conflicts."""

    entries: int
    changes: int
    conflicts: tuple[Conflict, ...]


def merge(book: Book, other: Book) -> Merged:
    """Take over all entries and changes of another book that are not in this one.

    A change keeps its time. Where both books changed a field, the text with the later time counts,
    whatever their clocks say.
    """
    entries = changes = 0
    conflicts: list[Conflict] = []
    here = {row[0] for row in book.read(sa.select(CHANGE.c.mark))}
    known = {row[0] for row in book.read(sa.select(ENTRY.c.id))}
    listed = other.read(sa.select(ENTRY.c.id, ENTRY.c.made).order_by(ENTRY.c.made))
    for start in range(0, len(listed), AT_ONCE):
        with book.writing() as connection:
            for entry, made in listed[start : start + AT_ONCE]:
                theirs = other.read(
                    sa.select(CHANGE).where(CHANGE.c.entry == entry).order_by(CHANGE.c.number)
                )
                new = [row for row in theirs if row.mark not in here]
                if new:
                    entries += entry not in known
                    changes += len(new)
                    book.begin(connection, entry, made)
                    conflicts += _taken(book, connection, entry, theirs, new)
    return Merged(entries, changes, tuple(conflicts))


def _taken(book, connection, entry, theirs, new):
    """Add changes of an entry; the conflicts."""
    own = connection.execute(
        sa.select(CHANGE).where(CHANGE.c.entry == entry).order_by(CHANGE.c.number)
    ).all()
    seen_there = {row.mark for row in theirs}
    mine = {row.field: row for row in own if row.mark not in seen_there}
    rows, conflicts = [_plain(row) for row in new], []
    name = {row.field: row.text for row in [*new, *own]}.get("name", "")
    for field, row in {row.field: row for row in new}.items():
        ours = mine.get(field)
        if ours is None or ours.text == row.text:
            continue
        conflicts.append(Conflict(entry, name, field, ours.text, row.text))
        if ours.time >= row.time:  # ours counts: it is said once more, after theirs
            rows.append(_plain(ours) | {"mark": f"{row.mark[:31]}/{ours.mark[:31]}"})
    book.add_changes(connection, entry, rows)
    return conflicts


def _plain(row):
    return {name: getattr(row, name) for name in ("entry", "time", "field", "text", "mark")}


def backup(book: Book) -> bytes:
    """The whole book as the bytes of an SQLite file.

    Raises
    ------
    InputError
        If it cannot be written aside: the disk is full.
    """
    with tempfile.TemporaryDirectory(prefix="paddlebal-") as folder:
        path = Path(folder) / FILE
        try:
            if book.shared:
                copy = Book(folder)
                merge(copy, book)
                copy.close()
            else:
                book.copy_to(path)
            return path.read_bytes()
        except (OSError, sqlite3.Error, sa.exc.SQLAlchemyError) as error:
            raise InputError(why(error)) from error


def restore(book: Book, content: bytes, name: str) -> Merged:
    """Take over what a backup holds and this book does not.

    Raises
    ------
    InputError
        If it is no book, or one of a newer version.
    """
    with tempfile.TemporaryDirectory(prefix="paddlebal-") as folder:
        (Path(folder) / FILE).write_bytes(content)
        other = Book(folder)
        try:
            if other.problem:
                raise InputError(_("is no book that can be read"), file=name)
            return merge(book, other)
        finally:
            other.close()


def people(book: Book) -> list[str]:
    """Names of persons in the book."""
    command = sa.select(CHANGE.c.text).where(CHANGE.c.field.in_(PEOPLE), CHANGE.c.text != "")
    return sorted({row[0] for row in book.read(command.distinct())})


def erase_person(book: Book, name: str) -> int:
    """Take the name of a person out of the book and its history; in how many entries it was.

    Raises
    ------
    InputError
        If nobody of that name is in the book.
    """
    with book.writing() as connection:
        where = sa.and_(CHANGE.c.field.in_(PEOPLE), CHANGE.c.text == name)
        entries = connection.execute(sa.select(CHANGE.c.entry).where(where).distinct()).all()
        if not entries:
            raise InputError(_("nobody of this name is in the book"), field=name)
        connection.execute(sa.update(CHANGE).where(where).values(text=""))
        connection.execute(
            sa.update(LATEST)
            .where(LATEST.c.field.in_(PEOPLE), LATEST.c.text == name)
            .values(text="")
        )
    book.tidy()
    return len(entries)
