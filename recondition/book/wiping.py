"""Overwriting what erased texts leave in the files of a database, and files left behind.

A deleted row is out of reach of every query at once. What stood there may still lie in unused
parts of the files: those are written anew here, outside any transaction.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import exc, select, text

from recondition.book.again import again
from recondition.book.engine import BUSY_SECONDS, Book
from recondition.book.tables import erasure, stored_file
from recondition.book.tables_logins import OF_PAGES

FILE = "file"
"""The field under which the erasure of a document's kept file is on record."""

# The tables that texts are deleted from, or names changed in.
_SIDE_TABLES = ("free_text", "stored_file", "entity", *sorted(OF_PAGES))
_HASH = re.compile("[0-9a-f]{64}")
# Who else in this database still sees it as it was, so that what was deleted since is kept.
_SEEN_BY_OTHERS = text("""
    SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()
    AND pid <> pg_backend_pid() AND backend_xmin IS NOT NULL
    AND backend_type <> 'autovacuum worker'""")


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
            if conn.execute(_SEEN_BY_OTHERS).scalar_one():
                return False
            for table in _SIDE_TABLES:
                conn.execute(text(f"VACUUM (FULL, ANALYZE) {table}"))
        except exc.OperationalError:
            return False
    return True


def owns_files(book: Book) -> bool:
    """Tell whether the folder of files belongs to this book alone."""
    return book.path is not None and book.files == Path(f"{book.location}.files")


@again
def sweep(book: Book) -> int:
    """Delete kept files that nothing names any more; give how many.

    They are left where an erasure of a file was cut off after it was on record. Nothing is
    deleted where the book has no such erasure, or where other books may need the file.
    """
    if not owns_files(book) or not book.files.is_dir():
        return 0
    count = 0
    with book.writing(alone=True) as conn:
        query = select(erasure.c.record_id).where(erasure.c.field == FILE).limit(1)
        if conn.execute(query).first() is None:
            return 0
        named = set(conn.execute(select(stored_file.c.sha256)).scalars())
        for path in book.files.glob("??/*"):
            if _HASH.fullmatch(path.name) and path.name not in named and path.is_file():
                path.unlink()
                count += 1
    return count
