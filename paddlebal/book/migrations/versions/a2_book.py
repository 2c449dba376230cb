"""The book: changes known by a mark, what fields hold now, and a row for each entry to list."""

from uuid import NAMESPACE_OID, uuid5

import sqlalchemy as sa
from alembic import op

revision, down_revision = "a2", "a1"


def upgrade():
    op.add_column("change", sa.Column("mark", sa.String(64)))
    connection = op.get_bind()
    rows = connection.execute(sa.text("select number, entry, time, field, text from change")).all()
    marks = [
        {"number": row[0], "mark": uuid5(NAMESPACE_OID, "/".join(map(str, row))).hex}
        for row in rows
    ]  # the same in every copy of a book that is older than marks
    if marks:
        connection.execute(sa.text("update change set mark = :mark where number = :number"), marks)
    with op.batch_alter_table("change", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.alter_column("mark", existing_type=sa.String(64), nullable=False)
        batch.create_unique_constraint("change_mark", ["mark"])
    op.create_table(
        "latest",
        sa.Column("entry", sa.String(64), primary_key=True),
        sa.Column("field", sa.String(200), primary_key=True),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
    )
    connection.execute(sa.text(
        "insert into latest (entry, field, text, number) "
        "select entry, field, text, number from change where number in "
        "(select max(number) from change group by entry, field)"
    ))  # fmt: skip
    op.create_table(
        "listing",
        sa.Column("entry", sa.String(64), primary_key=True),
        sa.Column("number", sa.Integer, nullable=False, index=True),
        sa.Column("changed", sa.String(40), nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("model", sa.Text, nullable=False, index=True),
        sa.Column("size", sa.Text, nullable=False),
        *(sa.Column(name, sa.Float) for name in ("feather", "length", "unbalance", "direction")),
        sa.Column("verdict", sa.Text),
        sa.Column("concluded", sa.Integer, nullable=False),
        sa.Column("conclusion", sa.Text),
    )
    names: dict[str, str] = dict(connection.execute(
        sa.text("select entry, text from latest where field = 'name'")
    ).all())  # fmt: skip
    last = connection.execute(sa.text(
        "select entry, number, time from change where number in "
        "(select max(number) from change group by entry)"
    )).all()  # fmt: skip
    listed = [
        {"entry": entry, "number": number, "changed": time, "name": names.get(entry, ""),
         "words": names.get(entry, "").lower()}
        for entry, number, time in last
    ]  # fmt: skip
    if listed:
        connection.execute(sa.text(
            "insert into listing (entry, number, changed, words, name, model, size, concluded) "
            "values (:entry, :number, :changed, :words, :name, '', '', 0)"
        ), listed)  # fmt: skip
