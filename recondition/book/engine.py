"""Opening, making and upgrading a book, and the two kinds of transaction on it.

SQLite runs with write-ahead log, foreign keys, ``synchronous=FULL`` and a wait of five
seconds for other writers. A PostgreSQL book is named by its URL.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.pool import NullPool

from recondition.book import schema
from recondition.book.errors import (
    BookExists,
    BookIsNewer,
    BookIsOlder,
    NoBook,
    NoFolder,
    NotABook,
    UnknownServer,
)
from recondition.book.translating import translated

BUSY_SECONDS = 5


class RollBack(Exception):  # noqa: N818 - not an error: asks for the transaction to be undone
    """Raised inside ``Book.writing`` to undo everything without an error."""


def utc_now() -> datetime:
    """Give the present moment with its zone."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Book:
    """An open book: where it lies, its engine, its folder of files and its clock."""

    location: str
    engine: Engine
    files: Path
    now: Callable[[], datetime] = utc_now

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one consistent state of the book."""
        with translated(self.location), self.engine.connect() as conn, conn.begin():
            conn.info["files"] = self.files
            yield conn

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection whose work is kept whole or not at all.

        Raises BookInUse when another writer holds the book for longer than the wait.
        """
        with translated(self.location), self.engine.connect() as plain:
            conn = plain.execution_options(recondition_write=True)
            try:
                with conn.begin():
                    yield conn
                    for keep_file in conn.info.pop("before_commit", []):
                        keep_file()
            except RollBack:
                return

    @property
    def path(self) -> Path | None:
        """Where an SQLite book lies; None for a PostgreSQL one."""
        database = self.engine.url.database
        return Path(database) if self.engine.dialect.name == "sqlite" and database else None

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _url(location: str) -> URL:
    """Turn a path or a PostgreSQL URL into an engine URL."""
    if location.startswith(("postgresql:", "postgres:", "postgresql+psycopg:")):
        return make_url(location).set(drivername="postgresql+psycopg")
    scheme, mark, _ = location.partition("://")
    if mark:
        raise UnknownServer(scheme)
    return URL.create("sqlite", database=str(Path(location)))


def _engine(location: str) -> Engine:
    """Make the engine of a book; nothing is opened yet."""
    url = _url(location)
    if url.get_backend_name() != "sqlite":
        wait = {"options": f"-c lock_timeout={BUSY_SECONDS}s"}
        return create_engine(
            url, poolclass=NullPool, isolation_level="REPEATABLE READ", connect_args=wait
        )
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": BUSY_SECONDS})
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _on_connect(raw: sqlite3.Connection, _record: Any) -> None:  # noqa: ANN401 - pool's own type
    """Set up one SQLite connection; transactions are begun by ``_on_begin`` alone.

    Erased texts are overwritten with zeros, not only taken off the page's list.
    """
    raw.isolation_level = None
    for pragma in ("synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
        raw.execute(f"PRAGMA {pragma}")


def _on_begin(conn: Connection) -> None:
    """Begin at once as a writer where writing is meant, so that waiting happens here.

    Only a writer turns the write-ahead log on: a file that is merely looked into, and may
    turn out not to be a book, stays as it is.
    """
    write = conn.get_execution_options().get("recondition_write", False)
    if write:
        conn.exec_driver_sql("PRAGMA journal_mode=WAL")
    conn.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def files_of(location: str) -> Path:
    """Name the folder that a book's files lie in."""
    named = os.environ.get("RECONDITION_FILES")
    if named:
        return Path(named)
    if _url(location).get_backend_name() == "sqlite":
        return Path(f"{location}.files")
    return Path("recondition.files")


def _book(location: str, now: Callable[[], datetime]) -> Book:
    """Put a book together without looking into it."""
    return Book(location, _engine(location), files_of(location), now)


def create_book(location: str, *, now: Callable[[], datetime] = utc_now) -> Book:
    """Make a new, empty book. Raises BookExists where one (or a file) lies already."""
    path = Path(location)
    book = _book(location, now)
    if book.path is not None:
        if path.exists():
            raise BookExists(location)
        if not path.absolute().parent.is_dir():
            raise NoFolder(location)
    with book.writing() as conn:
        if schema.found(conn) is not None:
            raise BookExists(location)
        schema.upgrade(conn)
    return book


def open_book(location: str, *, now: Callable[[], datetime] = utc_now) -> Book:
    """Open a book of the newest schema.

    Raises NoBook, NotABook, BookIsOlder or BookIsNewer; a refused book is left as it is.
    """
    book = open_any(location, now=now)
    found = version_of(book)
    if found != schema.NEWEST:
        raise BookIsOlder(location, found, schema.NEWEST)
    return book


def open_any(location: str, *, now: Callable[[], datetime] = utc_now) -> Book:
    """Open a book of any schema this version knows."""
    book = _book(location, now)
    path = book.path
    if path is not None and not path.is_file():
        raise NoBook(location)
    version_of(book)
    return book


def version_of(book: Book) -> str:
    """Read a book's schema version. Raises NotABook, BookIsNewer."""
    with book.reading() as conn:
        found = schema.found(conn)
    if found is None:
        raise NotABook(book.location, "it holds other tables, or none")
    if found not in schema.REVISIONS:
        raise BookIsNewer(book.location, found)
    return found


def upgrade_book(book: Book) -> None:
    """Bring a book to the newest schema in one transaction; the caller has made a copy."""
    with book.writing() as conn:
        schema.upgrade(conn)
