"""Setting a book aside under another name, so that a restored one can take its place.

While it is moved nobody writes in it: it is held alone, and taken out of the write-ahead log.
Whoever opened it before and writes afterwards is refused by SQLite, which sees that the file has
another name (``SQLITE_READONLY_DBMOVED``), and is never acknowledged in the old book.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from recondition.book.engine import BUSY_SECONDS, files_of
from recondition.book.errors import BookExists, BookInUse
from recondition.book.files import sync_folder
from recondition.book.places import BESIDE
from recondition.errors import Refused

_IN_USE = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


class NotSetAside(Refused):
    """A book on a server, which is not set aside under another name."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what to do instead."""
        super().__init__(
            "a book on a server is not set aside for another",
            todo="Make another, empty database, name it with --book and restore into that.",
        )


@contextmanager
def set_aside(path: Path) -> Iterator[Path]:
    """Give where an SQLite book now lies; what is raised inside puts it back.

    Its kept files and what SQLite keeps beside it go with it, the shop's key stays. Raises
    BookInUse where somebody is at work in it, BookExists, OSError.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    aside = path.with_name(f"{path.name}.replaced-{stamp}")
    moves = [(path, aside)]
    moves += [(Path(f"{path}{end}"), Path(f"{aside}{end}")) for end in BESIDE]
    own = Path(f"{path}.files")
    if files_of(str(path)) == own:
        moves.append((own, Path(f"{aside}.files")))
    for _, to in moves:
        if to.exists():
            raise BookExists(str(to))
    with _held(path):
        done: list[tuple[Path, Path]] = []
        try:
            for old, new in moves:
                if old.exists():
                    old.rename(new)
                    done.append((old, new))
            sync_folder(path.absolute().parent)
            yield aside
        except BaseException:
            for old, new in reversed(done):
                new.rename(old)
            raise


@contextmanager
def _held(path: Path) -> Iterator[None]:
    """Hold an SQLite book alone; what is no database any more cannot be held, nor written in."""
    with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as held:
        try:
            held.execute("PRAGMA journal_mode=DELETE")  # only where nobody else is at work in it
            held.execute("BEGIN EXCLUSIVE")
            mode = held.execute("PRAGMA journal_mode").fetchone()[0]
        except sqlite3.DatabaseError as error:
            if error.sqlite_errorcode & 0xFF in _IN_USE:
                raise BookInUse(str(path)) from error
            mode = "delete"
        if mode != "delete":  # somebody came between the two
            raise BookInUse(str(path))
        yield
