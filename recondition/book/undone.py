"""Which booked records were taken back, and by which reversal."""

from __future__ import annotations

from sqlalchemy import Connection, select

from recondition.book.tables import entity
from recondition.book.tables_books import entry_reversal


def undone_by(conn: Connection) -> dict[str, str]:
    """Give the ref of the reversal for each booked record that was taken back, by its id."""
    query = select(entry_reversal.c.reverses, entity.c.ref).join(
        entity, entity.c.id == entry_reversal.c.record_id
    )
    return {row.reverses: row.ref for row in conn.execute(query)}
