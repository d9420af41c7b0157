"""Overwriting what erased texts leave in the files of a database.

A deleted row is out of reach of every query at once. What stood there may still lie in unused
parts of the files: those are written anew here, outside any transaction.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import exc, text

from recondition.book.engine import BUSY_SECONDS, Book

# The tables that texts are deleted from, or names changed in.
_SIDE_TABLES = ("free_text", "stored_file", "entity")


def wipe(book: Book) -> bool:
    """Write the files anew without what was deleted; False where others are at work in the book.

    SQLite: the whole file, and the write-ahead log is emptied; it needs free space of the size
    of the book. PostgreSQL: the side tables; the server's own log and its backups are with
    whoever runs the server.
    """
    return _wipe_file(book.path) if book.path is not None else _wipe_tables(book)


def _wipe_file(path: Path) -> bool:
    """Write an SQLite file anew and empty its write-ahead log."""
    with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as raw:
        raw.execute("PRAGMA secure_delete=ON")
        try:
            raw.execute("VACUUM")
            busy, _, _ = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        except sqlite3.OperationalError:
            return False
    return not busy


def _wipe_tables(book: Book) -> bool:
    """Write the side tables on a server anew, each by itself."""
    with book.engine.connect() as plain:
        conn = plain.execution_options(isolation_level="AUTOCOMMIT")
        try:
            for table in _SIDE_TABLES:
                conn.execute(text(f"VACUUM (FULL) {table}"))
        except exc.OperationalError:
            return False
    return True
