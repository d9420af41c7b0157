"""One more step of an order, as a new version of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from recondition.book import reading
from recondition.book.again import again
from recondition.book.posting import Poster, Status
from recondition.book.reversing import day_of
from recondition.ledger.drafts import Draft

if TYPE_CHECKING:
    from recondition.book.engine import Book


@again
def dated(book: Book, ref: str, field: str, day: str, *, author_ref: str) -> Status:
    """Date one step of an order. Raises NotADay, NotThere, OrderOutOfOrder."""
    when = day_of(day)
    with book.writing() as conn:
        author = reading.author_of(conn, author_ref)
        found = reading.one(conn, "order", ref)
        entry = replace(found.entry, **{field: when})
        draft = Draft(id=found.id, kind="order", ref=ref, entry=entry)
        return Poster(book, conn, author).post(draft).status
