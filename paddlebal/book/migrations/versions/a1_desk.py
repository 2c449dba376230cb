"""The desk's tables: entries, their changes, and answers."""

import sqlalchemy as sa
from alembic import op

revision, down_revision = "a1", None


def upgrade():
    op.create_table(
        "entry",
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("made", sa.String(40), nullable=False),
    )
    op.create_table(
        "change",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("entry", sa.String(64), sa.ForeignKey("entry.id"), nullable=False),
        sa.Column("time", sa.String(40), nullable=False),
        sa.Column("field", sa.String(200), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("change_by_field", "change", ["entry", "field", "number"])
    op.create_table(
        "answer",
        sa.Column("question", sa.Text, primary_key=True),
        sa.Column("text", sa.Text, nullable=False),
    )
