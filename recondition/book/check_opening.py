"""Opening a book that is to be checked, though it may be too damaged to be opened as any other."""

from __future__ import annotations

from pathlib import Path

from recondition.book.check import check
from recondition.book.columns import METADATA
from recondition.book.damage import Examined
from recondition.book.engine import Book, files_of, named_book, open_book
from recondition.book.errors import BookIsNewer, BookIsOlder, NotABook
from recondition.book.there import tables_there

_MARK = b"chain_head"
_START_BYTES = 4 * 1024 * 1024


def check_at(location: str) -> tuple[Examined, Book | None]:
    """Look through the book at a place; give also the book where it can be opened at all.

    A schema number that does not fit the tables, or a file that was a book and cannot be opened,
    is damage. Raises what ``open_book`` raises for anything else.
    """
    try:
        book = open_book(location)
    except (BookIsOlder, BookIsNewer):
        book = named_book(location, files_of(location))
        if not _has_newest_tables(book):
            raise
    except (NotABook, UnicodeError) as error:  # SQLite may say what is wrong in no encoding
        if not _was_a_book(Path(location)):
            raise
        examined = Examined()
        why = error.what if isinstance(error, NotABook) else "it says so in no encoding"
        examined.found(f"the database cannot be opened: {why}", "database file")
        examined.say_touched(0, "the whole book: nothing in it can be read any more")
        return examined, None
    return check(book), book


def _has_newest_tables(book: Book) -> bool:
    """Tell whether every table, column and index of the newest schema is there."""
    try:
        with book.reading() as conn:
            there = tables_there(conn)
    except (NotABook, UnicodeError):
        return False
    return all(
        table.name in there
        and {c.name for c in table.columns} <= set(there[table.name].columns)
        and {tuple(c.name for c in index.columns) for index in table.indexes}
        <= there[table.name].indexes
        for table in METADATA.sorted_tables
    )


def _was_a_book(path: Path) -> bool:
    """Tell by the start of a file whether there are a book's tables in it."""
    try:
        with path.open("rb") as stream:
            return _MARK in stream.read(_START_BYTES)
    except OSError:
        return False
