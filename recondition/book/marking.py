"""Saying where candidate work stands: the row of its sheet with nothing else changed."""

from __future__ import annotations

from dataclasses import replace

from recondition.book import reading
from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.posting import Poster, Result
from recondition.ledger.drafts import Draft
from recondition.worth.estimates import CandidateState


@again
def mark(
    book: Book, ref: str, state: CandidateState, *, author_ref: str, key: str | None = None
) -> Result:
    """Post a new version of candidate work in another state; the same state is already there.

    Raises NotThere, UnknownAuthor and what posting names.
    """
    with book.writing() as conn:
        found = reading.one(conn, "candidate", ref)
        entry = replace(found.entry, state=state)
        draft = Draft(id=found.id, kind="candidate", ref=ref, entry=entry, key=key)
        return Poster(book, conn, reading.author_of(conn, author_ref)).post(draft)
