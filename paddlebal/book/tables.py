"""The tables of the book.

`change` is only ever added to; `latest` and `listing` repeat what it says, for speed.
"""

from sqlalchemy import (
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

METADATA = MetaData()


ENTRY = Table(
    "entry", METADATA,
    Column("id", String(64), primary_key=True),
    Column("made", String(40), nullable=False),
)  # fmt: skip


CHANGE = Table(
    "change", METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("entry", String(64), ForeignKey("entry.id"), nullable=False),
    Column("time", String(40), nullable=False),
    Column("field", String(200), nullable=False),
    Column("text", Text, nullable=False),
    Column("mark", String(64), nullable=False),
    Index("change_by_field", "entry", "field", "number"),
    UniqueConstraint("mark", name="change_mark"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""mark: by which a change is known in every copy of the book."""


LATEST = Table(
    "latest", METADATA,
    Column("entry", String(64), primary_key=True),
    Column("field", String(200), primary_key=True),
    Column("text", Text, nullable=False),
    Column("number", Integer, nullable=False),
)  # fmt: skip
"""What each field holds now, and the change that says so."""


LISTING = Table(
    "listing", METADATA,
    Column("entry", String(64), primary_key=True),
    Column("number", Integer, nullable=False, index=True),
    Column("changed", String(40), nullable=False),
    Column("words", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("model", Text, nullable=False, index=True),
    Column("size", Text, nullable=False),
    Column("feather", Float),
    Column("length", Float),
    Column("unbalance", Float),
    Column("direction", Float),
    Column("verdict", Text),
    Column("concluded", Integer, nullable=False, default=0),
    Column("conclusion", Text),
)  # fmt: skip
"""One row for each entry: what a list shows, and what its readings come to as of a change."""


ANSWER = Table(
    "answer", METADATA,
    Column("question", Text, primary_key=True),
    Column("text", Text, nullable=False),
)  # fmt: skip
