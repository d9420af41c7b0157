"""Nobody is signed in to a book that was copied, restored, or brought to another schema.

Logins and their passwords stay. Sessions, one-time tokens and counted guesses belong to the book
that was served, and to the moment: an older state would open what has been shut since.
"""

from __future__ import annotations

from sqlalchemy import Connection, delete, inspect

from recondition.book.columns import METADATA
from recondition.book.tables_logins import PASSING


def end_visits(conn: Connection) -> None:
    """End every session and one-time token, inside a transaction that is open.

    A book of a schema without logins has none.
    """
    for name in sorted(PASSING & set(inspect(conn).get_table_names())):
        conn.execute(delete(METADATA.tables[name]))
