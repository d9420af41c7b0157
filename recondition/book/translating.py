"""What the database drivers say about locks, rights, full disks and servers, in plain words.

SQLite's result codes (https://www.sqlite.org/rescode.html) and PostgreSQL's SQLSTATE
(PostgreSQL documentation, appendix A) tell what happened; their sentences are only shown.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from recondition.book.errors import (
    BookDamaged,
    BookInUse,
    BookNotReadable,
    BookNotWritable,
    BookTakenAway,
    LocksNotKept,
    NamesNothing,
    NotABook,
    ServerSilent,
    without_password,
)
from recondition.errors import Refused

# The place does not keep locks, or gives no memory that several processes share.
_NO_LOCKS = (
    sqlite3.SQLITE_PROTOCOL,
    sqlite3.SQLITE_IOERR_LOCK,
    sqlite3.SQLITE_IOERR_UNLOCK,
    sqlite3.SQLITE_IOERR_RDLOCK,
    sqlite3.SQLITE_IOERR_CHECKRESERVEDLOCK,
    sqlite3.SQLITE_IOERR_SHMOPEN,
    sqlite3.SQLITE_IOERR_SHMLOCK,
    sqlite3.SQLITE_IOERR_SHMMAP,
)
_NOT_WRITABLE = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_IOERR_SHMSIZE: "the disk is full",
    sqlite3.SQLITE_READONLY: "it, its folder or its disk may only be read",
    sqlite3.SQLITE_PERM: "the rights do not allow it",
    sqlite3.SQLITE_IOERR: "the disk reports a fault",
}
# By extended code first, then by its first byte, which is the plain one.
_SQLITE: dict[int, Callable[[str, str], Refused]] = {
    sqlite3.SQLITE_BUSY: lambda place, _: BookInUse(place),
    sqlite3.SQLITE_LOCKED: lambda place, _: BookInUse(place),
    sqlite3.SQLITE_READONLY_DBMOVED: lambda place, _: BookTakenAway(place),
    sqlite3.SQLITE_IOERR_VNODE: lambda place, _: BookTakenAway(place),
    sqlite3.SQLITE_IOERR_SHORT_READ: lambda place, _: BookDamaged(place, "the file is cut short"),
    sqlite3.SQLITE_CANTOPEN: BookNotReadable,
    sqlite3.SQLITE_CORRUPT: BookDamaged,
    sqlite3.SQLITE_NOTADB: NotABook,
    sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY: lambda place, _: NamesNothing(place),
}
_PLAIN = 0xFF

# PostgreSQL: another writer was there first, so that this transaction was taken back whole.
_RACED = ("40001", "40P01", "55P03")
_SERVER_NOT_WRITABLE = {
    "53100": "the server's disk is full",
    "53200": "the server has no memory left",
    "25006": "the server is a copy that may only be read",
    "42501": "the rights of this user of the server do not allow it",
    "58030": "the server's disk reports a fault",
}
_SERVER_DAMAGED = ("XX001", "XX002")
# Classes of SQLSTATE: connection exception, operator intervention, resources, wrong user.
_SERVER_GONE = ("08", "57", "53", "28", "3D")


@contextmanager
def translated(location: str) -> Iterator[None]:
    """Turn what the driver says about locks, rights and full disks into the user's words."""
    try:
        yield
    except exc.DBAPIError as error:
        refusal = refusal_of(location, error)
        if refusal is None:
            raise
        raise refusal from error
    except UnicodeDecodeError as error:  # SQLite quotes what a damaged file says of its tables
        raise BookDamaged(location, "it holds words in no known writing") from error


def refusal_of(location: str, error: exc.DBAPIError) -> Refused | None:
    """Give the refusal that an error of a driver comes to, None where it is a fault of ours."""
    said = without_password(location, str(error.orig).strip() or type(error.orig).__name__)
    code = getattr(error.orig, "sqlite_errorcode", None)
    if code is not None:
        found = _of_sqlite(location, code, said)
    else:
        found = _of_postgresql(location, getattr(error.orig, "sqlstate", None), said, error)
    if found is None and isinstance(error, exc.OperationalError):
        return NotABook(location, said.splitlines()[0])
    return found


def _of_sqlite(location: str, extended: int, said: str) -> Refused | None:
    """Give the refusal for one of SQLite's extended result codes."""
    if extended in _NO_LOCKS:
        return LocksNotKept(location, said)
    for code in (extended, extended & _PLAIN):
        if code in _SQLITE:
            return _SQLITE[code](location, said)
        if code in _NOT_WRITABLE:
            return BookNotWritable(location, _NOT_WRITABLE[code])
    return None


def _of_postgresql(
    location: str, state: str | None, said: str, error: exc.DBAPIError
) -> Refused | None:
    """Give the refusal for one of PostgreSQL's states; None stands for no answer at all."""
    if state in _RACED or state == "23505":  # a key that another writer took in the meantime
        return BookInUse(location)
    if state == "23503":
        return NamesNothing(location)
    if state in _SERVER_DAMAGED:
        return BookDamaged(location, said.splitlines()[0])
    if state in _SERVER_NOT_WRITABLE:
        return BookNotWritable(location, _SERVER_NOT_WRITABLE[state])
    gone = state is None and isinstance(error, exc.OperationalError | exc.InterfaceError)
    if gone or error.connection_invalidated or (state or "").startswith(_SERVER_GONE):
        return ServerSilent(location, said.splitlines()[0])
    return None
