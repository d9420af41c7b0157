"""Opening, making and upgrading a book, and the two kinds of transaction on it.

SQLite runs with write-ahead log, foreign keys, ``synchronous=FULL`` and a wait of five
seconds for other writers, who come one after another. A PostgreSQL book is named by its URL;
its transactions see the book as it was at their first look (REPEATABLE READ), so that a writer
who was overtaken on what it writes is told. What a rule reads and does not write is kept by
``book.resting``.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from glob import escape
from pathlib import Path
from typing import Any

from sqlalchemy import (
    URL,
    Connection,
    Engine,
    create_engine,
    event,
    exc,
    func,
    make_url,
    select,
    text,
)
from sqlalchemy.pool import NullPool, QueuePool

from recondition.book import schema
from recondition.book.again import (
    ISOLATION,
    NotKnownWhetherKept,
    Turn,
    begin_in_turn,
    not_known,
    place,
)
from recondition.book.errors import (
    BookExists,
    BookIsNewer,
    BookIsOlder,
    NoBook,
    NoFolder,
    NoServerURL,
    NotABook,
    ServerNotInstalled,
    UnknownServer,
)
from recondition.book.files import FolderGone, FolderNotNamed
from recondition.book.places import held
from recondition.book.tables import stored_file
from recondition.book.translating import translated
from recondition.book.visits import end_visits

BUSY_SECONDS = 5
_AMONG_OTHERS = text("LOCK TABLE record IN ROW EXCLUSIVE MODE")
_ALONE = text("LOCK TABLE record IN SHARE ROW EXCLUSIVE MODE")


class RollBack(Exception):  # noqa: N818 - not an error: asks for the transaction to be undone
    """Raised inside ``Book.writing`` to undo everything without an error."""


def utc_now() -> datetime:
    """Give the present moment with its zone."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Book:
    """An open book: where it lies, its engine, its folder of files and its clock.

    ``turn`` is set while an operation is under way that may be tried again (``book.again``).
    """

    location: str
    engine: Engine
    files: Path
    now: Callable[[], datetime] = utc_now
    turn: Turn | None = None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one consistent state of the book."""
        with translated(self.location), self.engine.connect() as conn, conn.begin():
            conn.info["files"] = self.files
            yield conn

    @contextmanager
    def writing(
        self, *, alone: bool = False, wait_seconds: float | None = None
    ) -> Iterator[Connection]:
        """Give a connection whose work is kept whole or not at all.

        The work is ``alone`` where no other writer may be at work meanwhile; readers always may.
        Raises BookInUse when another writer holds what is needed for longer than the wait, or
        was there first; NotKnownWhetherKept when the connection is lost at the very end.
        ``wait_seconds`` is another wait, such as a short one for what may as well be left.
        """
        with self._working(wait_seconds=wait_seconds) as conn:
            if conn.dialect.name == "postgresql":
                if wait_seconds is not None:
                    conn.execute(text(f"SET LOCAL lock_timeout = {wait_seconds * 1000:.0f}"))
                # No look at the book yet: what is seen is what stands once others let go.
                conn.execute(_ALONE if alone else _AMONG_OTHERS)
            yield conn

    @contextmanager
    def _working(
        self, *, new: bool = False, wait_seconds: float | None = None
    ) -> Iterator[Connection]:
        """Give a connection to write on; in a ``new`` book the tables are not there yet."""
        with (
            translated(self.location),
            held(self.location, self.path, new=new) as found,
            self.engine.connect() as plain,
        ):
            found.on(plain.info)
            conn = plain.execution_options(
                recondition_write=True,
                recondition_waited=self.tried,
                recondition_wait=BUSY_SECONDS if wait_seconds is None else wait_seconds,
            )
            queue = self.turn.queue if self.turn and conn.dialect.name == "postgresql" else ""
            with place(conn, queue):
                yield from _kept(conn, self)

    @property
    def tried(self) -> bool:
        """Tell whether the operation under way was overtaken before, and is tried again."""
        return self.turn is not None and self.turn.tries > 1

    @property
    def path(self) -> Path | None:
        """Where an SQLite book lies; None for a PostgreSQL one."""
        database = self.engine.url.database
        return Path(database) if self.engine.dialect.name == "sqlite" and database else None

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _kept(conn: Connection, book: Book) -> Iterator[Connection]:
    """Give a connection, and keep what was done on it whole or not at all."""
    conn.info.pop("before_commit", None)  # from a transaction before, on a connection kept
    transaction = conn.begin()
    try:
        yield conn
        if keeping := conn.info.pop("before_commit", []):
            _hold_folder(conn, book, len(keeping))
        for keep_file in keeping:
            keep_file()
    except BaseException as error:
        with suppress(exc.DBAPIError):  # a connection that is lost took it back
            transaction.rollback()
        if isinstance(error, RollBack):
            return
        raise
    try:
        transaction.commit()
    except exc.DBAPIError as error:
        if not_known(error):
            raise NotKnownWhetherKept(book.location) from error
        raise


def _url(location: str) -> URL:
    """Turn a path or a PostgreSQL URL into an engine URL."""
    if location.startswith(("postgresql:", "postgres:", "postgresql+psycopg:")):
        try:
            url = make_url(location).set(drivername="postgresql+psycopg")
        except (exc.ArgumentError, ValueError) as error:
            raise NoServerURL(location) from error
        if location.count("@") > 1:  # one of them in a password, which then would end too early
            raise NoServerURL(location)
        return url
    scheme, mark, _ = location.partition("://")
    if mark:
        raise UnknownServer(scheme)
    return URL.create("sqlite", database=str(Path(location)))


def _engine(location: str, *, keep: int = 0) -> Engine:
    """Make the engine of a book; nothing is opened yet.

    So many connections are kept; without any each transaction has one of its own.
    """
    url = _url(location)
    pool = {"poolclass": QueuePool, "pool_size": keep} if keep else {"poolclass": NullPool}
    if url.get_backend_name() != "sqlite":
        _hold_usable(url, location)
        asked = {"options": _options(url)}
        return create_engine(
            url, isolation_level=ISOLATION, connect_args=asked, pool_pre_ping=keep > 0, **pool
        )
    engine = create_engine(url, connect_args={"timeout": BUSY_SECONDS}, **pool)
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _hold_usable(url: URL, location: str) -> None:
    """Hold that there is a driver for servers, and that it knows all that a URL asks for.

    Raises ServerNotInstalled, NoServerURL.
    """
    try:
        from psycopg import ProgrammingError, conninfo  # noqa: PLC0415 - an extra
    except ImportError as error:
        raise ServerNotInstalled(location, str(error)) from error
    try:
        _, asked = url.get_dialect()().create_connect_args(url)
        conninfo.timeout_from_conninfo(dict(asked))
        conninfo.make_conninfo(**asked)
    except (ProgrammingError, exc.ArgumentError, TypeError, ValueError) as error:
        raise NoServerURL(location) from error


def _options(url: URL) -> str:
    """Say what every connection to a server asks for, with what the URL asks for itself.

    What is acknowledged is on the server's disk, so that ``synchronous_commit`` has the last word
    (PostgreSQL documentation, 19.5.1).
    """
    own = url.normalized_query.get("options", ())
    return " ".join([f"-c lock_timeout={BUSY_SECONDS}s", *own, "-c synchronous_commit=on"])


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
    if not conn.get_execution_options().get("recondition_write", False):
        conn.exec_driver_sql("BEGIN")
        return
    conn.exec_driver_sql("PRAGMA journal_mode=WAL")
    options = conn.get_execution_options()
    seconds = options.get("recondition_wait", BUSY_SECONDS)
    begin_in_turn(conn, seconds, waited=options.get("recondition_waited", False))


def path_of(location: str) -> Path | None:
    """Where an SQLite book lies, or would; None for one on a server."""
    database = _url(location).database
    return Path(database) if _url(location).get_backend_name() == "sqlite" and database else None


def files_of(location: str) -> Path:
    """Name the folder that a book's files lie in; see ``hold_named``."""
    named = os.environ.get("RECONDITION_FILES")
    if named:
        return Path(named)
    if _url(location).get_backend_name() == "sqlite":
        return Path(f"{location}.files")
    return Path("recondition.files")


def hold_named(location: str, files: Path) -> None:
    """Hold that a folder to write documents into is the same wherever a server's book is opened.

    Raises FolderNotNamed.
    """
    if path_of(location) is None and not files.is_absolute():
        raise FolderNotNamed(location, files)


def _hold_folder(conn: Connection, book: Book, new: int) -> None:
    """Hold that ``new`` documents go where those before them lie.

    A book's own folder beside it is made where it is missing, one that was named only for the
    first documents. Raises FolderNotNamed, FolderGone.
    """
    hold_named(book.location, book.files)
    if book.files.exists() or (book.path and book.files == Path(f"{book.path}.files")):
        return
    if (conn.execute(select(func.count()).select_from(stored_file)).scalar() or 0) > new:
        raise FolderGone(book.files)


def _book(location: str, now: Callable[[], datetime], *, keep: int = 0) -> Book:
    """Put a book together without looking into it."""
    return Book(location, _engine(location, keep=keep), files_of(location), now)


def named_book(location: str, files: Path) -> Book:
    """Put together a book that is yet to be laid out, with a folder of files of its own."""
    return Book(location, _engine(location), files)


def create_book(location: str, *, now: Callable[[], datetime] = utc_now) -> Book:
    """Make a new, empty book. Raises BookExists where one (or a file) lies already."""
    path = Path(location)
    book = _book(location, now)
    if book.path is not None:
        if path.exists():
            raise BookExists(location)
        if not path.absolute().parent.is_dir():
            raise NoFolder(location)
    with book._working(new=True) as conn:  # noqa: SLF001 - there are no tables to be locked yet
        if schema.found(conn) is not None:
            raise BookExists(location)
        schema.upgrade(conn)
    return book


def open_book(location: str, *, now: Callable[[], datetime] = utc_now, keep: int = 0) -> Book:
    """Open a book of the newest schema.

    With ``keep`` so many connections are kept from one transaction to the next, for whoever makes
    many of them; up to ten more are made where more work at once. The book is then to be closed.
    Raises NoBook, NotABook, BookIsOlder or BookIsNewer; a refused book is left as it is.
    """
    book = open_any(location, now=now, keep=keep)
    found = version_of(book)
    if found != schema.NEWEST:
        raise BookIsOlder(location, found, schema.NEWEST)
    return book


def open_any(location: str, *, now: Callable[[], datetime] = utc_now, keep: int = 0) -> Book:
    """Open a book of any schema this version knows."""
    book = _book(location, now, keep=keep)
    path = book.path
    if path is not None and not path.is_file():
        raise NoBook(location, _aside(path))
    version_of(book)
    return book


def _aside(path: Path) -> str:
    """Name the newest book that was set aside from a place; '' where there is none."""
    names = path.absolute().parent.glob(f"{escape(path.name)}.replaced-*Z")
    return max((str(path.with_name(found.name)) for found in names), default="")


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
    """Bring a book to the newest schema in one transaction; the caller has made a copy.

    Whoever was signed in is no longer.
    """
    with book.writing(alone=True) as conn:
        schema.upgrade(conn)
        end_visits(conn)
