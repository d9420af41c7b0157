"""Making a new book with what it cannot do without: a currency and somebody who acts."""

from __future__ import annotations

import uuid
from pathlib import Path

from recondition.book.engine import Book, create_book
from recondition.book.errors import BadInitials
from recondition.book.posting import Poster
from recondition.book.settings import settings_from
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
        book.close()
        if book.path is not None:
            for part in ("", "-wal", "-shm"):
                Path(f"{book.path}{part}").unlink(missing_ok=True)
        raise
    return book
