"""What the database drivers say about locks, rights, full disks and servers, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from recondition.book.errors import (
    BookInUse,
    BookNotWritable,
    NamesNothing,
    NotABook,
    ServerSilent,
)

# What SQLite and PostgreSQL say when another writer was there first.
_IN_USE = ("locked", "busy", "lock timeout", "could not serialize", "deadlock")


@contextmanager
def translated(location: str) -> Iterator[None]:
    """Turn what the driver says about locks, rights and full disks into the user's words."""
    try:
        yield
    except exc.OperationalError as error:
        said = str(error.orig)
        if any(word in said for word in _IN_USE):
            raise BookInUse(location) from error
        if any(word in said for word in ("readonly", "read-only", "full", "disk I/O", "unable")):
            raise BookNotWritable(location, said) from error
        if "connection" in said:
            raise ServerSilent(location, said.splitlines()[0]) from error
        raise NotABook(location, said.splitlines()[0]) from error
    except exc.IntegrityError as error:
        said = str(error.orig).lower()
        if "foreign key" in said:
            raise NamesNothing(location) from error
        if "duplicate key" in said:  # PostgreSQL: another writer took it in the meantime
            raise BookInUse(location) from error
        raise
    except exc.DatabaseError as error:
        if "not a database" in str(error.orig) or "malformed" in str(error.orig):
            raise NotABook(location, str(error.orig)) from error
        raise
