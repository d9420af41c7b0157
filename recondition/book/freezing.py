"""Posting a decision as it was made."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import datetime

from recondition.book import reading
from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.posting import Poster
from recondition.book.questions import question_of, vehicle_of
from recondition.book.record import frozen
from recondition.fields import Words
from recondition.ledger.drafts import Draft
from recondition.worth.advice import sentence
from recondition.worth.decision import decide


@again
def freeze(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, stock: str, author_ref: str, at: datetime, *, note: str | None, seed: int
) -> list[str]:
    """Plan a vehicle and post the plan; give what was decided in words.

    Raises NotThere, NoTerms and what ``decide`` raises.
    """
    with book.reading() as conn:
        author = reading.author_of(conn, author_ref)
        vehicle = vehicle_of(conn, stock)
        question = question_of(conn, vehicle, at)
    advice = decide(question, seed=seed)
    entry = replace(
        frozen(vehicle.id, question, advice, at.date()), note=Words(note) if note else None
    )
    with book.writing() as conn:
        taken = reading.all_refs(conn, "decision")
        numbers = [int(ref[3:]) for ref in taken if ref[:3] == "DC-" and ref[3:].isdigit()]
        ref = f"DC-{max(numbers, default=0) + 1:03d}"
        result = Poster(book, conn, author).post(
            Draft(kind="decision", ref=ref, id=uuid.uuid4().hex, entry=entry)
        )
    return [f"decision {ref}: {result.status.value}", f"  {sentence(advice)}"]
