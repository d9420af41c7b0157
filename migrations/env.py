"""Runs migrations on the connection that the book hands over (``config.attributes``)."""

from __future__ import annotations

from alembic import context

from recondition.book.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
