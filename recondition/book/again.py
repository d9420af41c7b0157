"""Trying an operation again that another writer overtook.

An operation is a function whose whole effect is one ``Book.writing`` transaction. Where that
transaction was certainly taken back because somebody else was there first, nothing of it is in
the book, and the operation is begun anew from its beginning: it reads, checks and numbers again.
A connection that is lost while the transaction is being kept is another matter (see
``NotKnownWhetherKept``).

On PostgreSQL many writers on one chain all see the same state, and the first to finish makes the
others start again. So whoever finds a chain taken, or was overtaken, waits in a queue of its chain
before it looks at the book again: of those in the queue one at a time runs.
"""

from __future__ import annotations

import random
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar

from sqlalchemy import Connection, exc, text

from recondition.book.errors import BookInUse, shown
from recondition.errors import Refused

if TYPE_CHECKING:
    from recondition.book.engine import Book

SECONDS = 30.0
"""For how long an operation is tried again; its last try may end later."""
ISOLATION = "REPEATABLE READ"
"""What a transaction on PostgreSQL sees: the book as it was at its first look."""
_FEWEST = 2
_SHORTEST_PAUSE, _LONGEST_PAUSE = 0.01, 0.5
# Seconds between two questions whether an SQLite book is free; and from when one asks often.
_RARELY, _OFTEN, _LONG = 0.01, 0.002, 0.5

# SQLSTATE classes of PostgreSQL: connection exception, operator intervention; and one state.
_LOST = ("08", "57", "40003")

# In the queue everybody's turn comes, so that one waits longer there than elsewhere.
_PATIENT = text("SELECT set_config('lock_timeout', :wait, false)")
_AS_BEFORE = text("RESET lock_timeout")
# Row locks follow anyway, and the server's table of these locks is small.
_TAKEN_MOST = 8

_TRY = text("SELECT pg_try_advisory_xact_lock(hashtextextended(:queue, 0))")
_TAKE = text("SELECT pg_advisory_lock(hashtextextended(:queue, 0))")
_GIVE_UP = text("SELECT pg_advisory_unlock_all()")

_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")


class NotKnownWhetherKept(Refused):
    """The connection was lost at the moment at which the work was being kept."""

    def __init__(self, location: str) -> None:
        """Name the book."""
        super().__init__(
            f"the connection to {shown(location)} was lost while the work was being kept, so that "
            "it is not known whether it was",
            todo="Look whether it is there. Doing the same again with the same ref or the same "
            "--key is safe: what is there already is not entered twice.",
        )


@dataclass(slots=True)
class Turn:
    """How an operation fares that may be tried again.

    ``chain`` is what it last asked for, ``queue`` whose queue it waits in before it begins, and
    ``taken`` how many chains it took in the try under way.
    """

    location: str
    tries: int = 0
    chain: str = ""
    queue: str = ""
    taken: int = 0

    def take(self, conn: Connection, chain: str) -> None:
        """Take a chain before work is put into it. Raises BookInUse where another has it."""
        self.chain = chain
        if conn.dialect.name != "postgresql" or self.taken == _TAKEN_MOST:
            return
        if not conn.execute(_TRY, {"queue": chain}).scalar():
            raise BookInUse(self.location)
        self.taken += 1


def again(
    work: Callable[Concatenate[Book, _Given], _Result],
) -> Callable[Concatenate[Book, _Given], _Result]:
    """Let an operation be tried again where another writer was there first.

    It is tried for SECONDS, and at least once more. Then BookInUse is raised, with nothing
    written. An operation inside another one that is tried again belongs to that.
    """

    @wraps(work)
    def tried(book: Book, /, *args: _Given.args, **kwargs: _Given.kwargs) -> _Result:
        if book.turn is not None:
            return work(book, *args, **kwargs)
        turn = Turn(book.location)
        mine = replace(book, turn=turn)
        began = time.monotonic()
        while True:
            turn.tries, turn.taken = turn.tries + 1, 0
            try:
                return work(mine, *args, **kwargs)
            except BookInUse:
                if time.monotonic() - began > SECONDS and turn.tries >= _FEWEST:
                    raise
            turn.queue = turn.chain
            if not turn.queue or book.engine.dialect.name == "sqlite":
                time.sleep(_pause(turn.tries))

    return tried


def _pause(tries: int) -> float:
    """Give how long to wait before the next try, in seconds: random, and longer each time."""
    most = min(_SHORTEST_PAUSE * 2**tries, _LONGEST_PAUSE)
    return random.uniform(0, most)  # noqa: S311 - so that writers do not keep step


@contextmanager
def place(conn: Connection, queue: str) -> Iterator[None]:
    """Hold a place in the queue of a chain on PostgreSQL; none where ``queue`` is ''.

    It is taken before a transaction sees the book, and given up after it has ended.
    """
    if queue:
        conn.execution_options(isolation_level="AUTOCOMMIT")
        conn.execute(_PATIENT, {"wait": f"{SECONDS:.0f}s"})
        try:
            conn.execute(_TAKE, {"queue": queue})
        finally:
            with suppress(exc.DBAPIError):  # a connection that is lost is not used again
                conn.execute(_AS_BEFORE)
        conn.commit()
        conn.execution_options(isolation_level=ISOLATION)
    try:
        yield
    finally:
        if queue:
            with suppress(exc.DBAPIError):  # a connection that is lost gave it up
                conn.execute(_GIVE_UP)
                conn.commit()


def begin_in_turn(conn: Connection, seconds: float, *, waited: bool) -> None:
    """Begin as the one writer of an SQLite book, within ``seconds``.

    SQLite itself lets whoever waits ask ever more rarely, so that the newest comes first. Here
    whoever has ``waited`` before, or for long, asks more often than those who just came.
    """
    raw: Any = conn.connection.driver_connection
    began = time.monotonic()
    raw.execute("PRAGMA busy_timeout=0")
    try:
        while _taken(raw):
            since = time.monotonic() - began
            if since > seconds:
                break
            time.sleep(_OFTEN if waited or since > _LONG else _RARELY)
        if not raw.in_transaction:
            conn.exec_driver_sql("BEGIN IMMEDIATE")  # once more, so that it is told why
    finally:
        raw.execute(f"PRAGMA busy_timeout={seconds * 1000:.0f}")


def _taken(raw: Any) -> bool:  # noqa: ANN401 - the driver's own connection
    """Try to begin; tell whether another writer is at work."""
    try:
        raw.execute("BEGIN IMMEDIATE")
    except sqlite3.Error as error:
        return error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
    return False


def not_known(error: exc.DBAPIError) -> bool:
    """Tell whether an error at the end of a transaction leaves open whether it was kept."""
    if isinstance(error.orig, sqlite3.Error):
        return getattr(error.orig, "sqlite_errorcode", 0) == sqlite3.SQLITE_IOERR_FSYNC
    state = getattr(error.orig, "sqlstate", None)
    return error.connection_invalidated or state is None or state.startswith(_LOST)
