"""Making a new book with what it cannot do without, and taking one away that came to nothing."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from pathlib import Path

from sqlalchemy import Connection, inspect, text

from recondition.book.columns import METADATA
from recondition.book.engine import Book, create_book, open_any
from recondition.book.errors import BadInitials, NotABook
from recondition.book.places import BESIDE
from recondition.book.posting import Poster
from recondition.book.settings import settings_from
from recondition.book.triggers import PREFIX
from recondition.fields import Words
from recondition.ledger.drafts import Draft
from recondition.ledger.people import Person, Setting


def start_book(location: str, *, currency: str, person: str, name: str, role: str) -> Book:
    """Make a book; the first person is the author of its first records.

    Raises BadInitials, BookExists, NoFolder, UnknownCurrency; then no book is left.
    """
    if not person or set(person) & set(" \t,;") or not name.strip():
        raise BadInitials(person, name)
    code = settings_from({"currency": currency}).currency
    book = create_book(location)
    who = uuid.uuid4().hex
    try:
        with book.writing() as conn:
            poster = Poster(book, conn, who)
            first = Setting(value=code)
            poster.post(Draft(id=uuid.uuid4().hex, kind="setting", ref="currency", entry=first))
            entry = Person(name=Words(name), role=role)
            poster.post(Draft(id=who, kind="person", ref=person, entry=entry))
    except BaseException:
        unmake(book)
        raise
    return book


def is_there(location: str) -> bool:
    """Tell whether a book, or some other file, is at a place.

    Raises ServerSilent where a server does not answer.
    """
    if "://" not in location:
        return Path(location).exists()
    try:
        open_any(location).close()
    except NotABook:
        return False
    return True


def unmake(book: Book) -> None:
    """Take a book away that was made just now and in which nothing was posted."""
    if book.path is None:
        with book.writing(alone=True) as conn:
            _drop_empty(conn)
    book.close()
    if book.path is not None:
        for part in ("", *BESIDE):
            Path(f"{book.path}{part}").unlink(missing_ok=True)


def _drop_empty(conn: Connection) -> None:
    """Drop the tables and guards of a PostgreSQL book, unless somebody posted in the meantime."""
    conn.execute(text("LOCK TABLE record IN ACCESS EXCLUSIVE MODE"))
    if conn.execute(text("SELECT 1 FROM record LIMIT 1")).first():
        return
    ours = {*METADATA.tables, "alembic_version"} & set(inspect(conn).get_table_names())
    conn.execute(text(f"DROP TABLE {_listed(ours)}"))
    guards = conn.execute(
        text("SELECT proname FROM pg_proc WHERE pronamespace = current_schema()::regnamespace")
    ).scalars()
    functions = [name for name in guards if name.startswith(PREFIX)]
    if functions:
        conn.execute(text(f"DROP FUNCTION {_listed(functions)}"))


def _listed(names: Iterable[str]) -> str:
    """Write names for SQL."""
    return ", ".join(f'"{name}"' for name in names)
