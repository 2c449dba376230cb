"""Alembic's entry: the connection is given, its transaction is the caller's."""

from alembic import context

from paddlebal.book.tables import METADATA

context.configure(connection=context.config.attributes["connection"], target_metadata=METADATA)
with context.begin_transaction():
    context.run_migrations()
