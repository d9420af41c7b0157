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
from recondition.fields import Id, Words
from recondition.ledger.drafts import Draft
from recondition.worth.advice import sentence
from recondition.worth.decision import decide
from recondition.worth.track import Decision

# What whoever decides says; the rest is worked out, and may be another a moment later.
_SAID = frozenset({"vehicle", "note", "seed"})


@again
def freeze(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    stock: str,
    author_ref: str,
    at: datetime,
    *,
    note: str | None,
    seed: int,
    key: str | None = None,
) -> list[str]:
    """Plan a vehicle and post the plan; give what was decided in words.

    The same again under the same ``key`` is there already, and is not worked out anew. Raises
    NotThere, NoTerms and what ``decide`` raises.
    """
    with book.reading() as conn:
        author = reading.author_of(conn, author_ref)
        vehicle = vehicle_of(conn, stock)
        before = reading.made_with(conn, key) if key else None
        question = question_of(conn, vehicle, at)
    if before is not None and isinstance(before.entry, Decision):
        entry, said = replace(before.entry, vehicle=Id(vehicle.id), seed=seed), []
    else:
        advice = decide(question, seed=seed)
        entry, said = frozen(vehicle.id, question, advice, at.date()), [f"  {sentence(advice)}"]
    entry = replace(entry, note=Words(note) if note else None)
    with book.writing() as conn:
        taken = reading.all_refs(conn, "decision")
        numbers = [int(ref[3:]) for ref in taken if ref[:3] == "DC-" and ref[3:].isdigit()]
        ref = f"DC-{max(numbers, default=0) + 1:03d}"
        result = Poster(book, conn, author).post(
            Draft(kind="decision", ref=ref, id=uuid.uuid4().hex, entry=entry, key=key, said=_SAID)
        )
    return [f"decision {result.draft.ref}: {result.status.value}", *said]
