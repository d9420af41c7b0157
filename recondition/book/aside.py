"""Setting a book aside under another name, so that a restored one can take its place.

While that is done nobody writes in it: it is held alone, and taken out of the write-ahead log. It
is given its second name first, and the restored book takes the first name over from it, so that
a book lies there at every moment (where the medium knows no second names it is renamed).
Whoever opened it before and writes afterwards is refused by SQLite, which sees that the file has
another name (``SQLITE_READONLY_DBMOVED``), and is never acknowledged in the old book.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from recondition.book.engine import BUSY_SECONDS, files_of
from recondition.book.errors import BookExists, BookInUse, NotABook
from recondition.book.files import sync_file, sync_folder
from recondition.book.places import BESIDE
from recondition.book.workplace import appear
from recondition.errors import Refused

_START = b"SQLite format 3\0"
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
    """Give the other name that an SQLite book has now; what is raised inside takes it back.

    Its kept files and what SQLite keeps beside it go with it, the shop's key stays. Inside,
    ``take_place`` puts the other book there. Raises BookInUse where somebody is at work in it,
    BookExists, NotABook where the file does not begin as a book does, OSError.
    """
    _hold_begins_as_book(path)
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S.%fZ")
    aside = path.with_name(f"{path.name}.replaced-{stamp}")
    moves = [(Path(f"{path}{end}"), Path(f"{aside}{end}")) for end in BESIDE]
    own = Path(f"{path}.files")
    if files_of(str(path)) == own:
        moves.append((own, Path(f"{aside}.files")))
    for to in (aside, *(to for _, to in moves)):
        if to.exists():
            raise BookExists(str(to))
    with _held(path):
        done: list[tuple[Path, Path]] = []
        try:
            _name_aside(path, aside)
            for old, new in moves:
                if old.exists():
                    old.rename(new)
                    done.append((old, new))
            sync_folder(path.absolute().parent)
            yield aside
        except BaseException:
            _undo(path, aside, done)
            raise


def take_place(made: Path, path: Path, aside: Path) -> None:
    """Put a finished book where another was set aside. Raises BookExists, OSError.

    What somebody else put there in the meantime is not touched.
    """
    also = f" The book that was there lies at {aside}."
    if not path.exists():
        try:
            appear(made, path)
        except BookExists as error:
            raise BookExists(str(path), also) from error
        return
    if not path.samefile(aside):
        raise BookExists(str(path), also)
    sync_file(made)
    made.replace(path)
    with suppress(OSError):  # it lies there now, and nothing is to be taken back
        sync_folder(path.absolute().parent)


def _hold_begins_as_book(path: Path) -> None:
    """Hold that a file begins as an SQLite database does (its file format, section 1.3)."""
    with path.open("rb") as stream:
        if stream.read(len(_START)) != _START:
            raise NotABook(str(path), "it does not begin as one, and was not set aside")


def _name_aside(path: Path, aside: Path) -> None:
    """Give a book its second name, or another one where a medium knows no second names."""
    try:
        os.link(path, aside)
    except FileExistsError as error:
        raise BookExists(str(aside)) from error
    except OSError:
        path.rename(aside)


def _undo(path: Path, aside: Path, done: list[tuple[Path, Path]]) -> None:
    """Take back what was set aside, unless another book lies at the place by now."""
    if not aside.exists() or (path.exists() and not path.samefile(aside)):
        return
    for old, new in reversed(done):
        if not old.exists():
            new.rename(old)
    if path.exists():
        aside.unlink()
    else:
        aside.rename(path)


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
