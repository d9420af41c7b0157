"""Posting a decision as it was made."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime

from recondition.book import reading
from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.posting import Poster
from recondition.book.questions import question_of, vehicle_of
from recondition.book.record import frozen
from recondition.fields import Id, Words
from recondition.ledger.drafts import Draft
from recondition.worth.advice import Advice, sentence
from recondition.worth.decision import decide
from recondition.worth.question import Question
from recondition.worth.track import Decision

# What whoever decides says; the rest is worked out, and may be another a moment later.
_SAID = frozenset({"vehicle", "note", "seed"})


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan as it was worked out: what was asked, what came of it, and on which day."""

    question: Question
    advice: Advice
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Freezing:
    """What whoever decides says: the vehicle by its stock number, why, and under which key.

    ``author_ref`` are the initials; the same ``key`` is kept once; ``seed`` is that of the draws.
    """

    stock: str
    author_ref: str
    note: str | None = None
    key: str | None = None
    seed: int = 0


def worked_out(book: Book, stock: str, at: datetime, *, seed: int = 0) -> Planned:
    """Plan a vehicle from a moment of the shop's wall clock on.

    Raises NotThere, NoTerms and what ``decide`` raises.
    """
    with book.reading() as conn:
        question = question_of(conn, vehicle_of(conn, stock), at)
    return Planned(question, decide(question, seed=seed), at.date())


@again
def freeze(book: Book, said: Freezing, plan: Callable[[], Planned]) -> list[str]:
    """Post the plan that ``plan`` gives; give what was decided in words.

    The same again under the same key is there already, and no plan is asked for. Raises NotThere,
    PostedDiffers, and what ``plan`` raises.
    """
    with book.reading() as conn:
        author = reading.author_of(conn, said.author_ref)
        vehicle = vehicle_of(conn, said.stock)
        before = reading.made_with(conn, said.key) if said.key else None
    if before is not None and isinstance(before.entry, Decision):
        entry, words = replace(before.entry, vehicle=Id(vehicle.id), seed=said.seed), []
    else:
        made = plan()
        entry = frozen(vehicle.id, made.question, made.advice, made.on)
        words = [f"  {sentence(made.advice)}"]
    entry = replace(entry, note=Words(said.note) if said.note else None)
    with book.writing() as conn:
        taken = reading.all_refs(conn, "decision")
        numbers = [int(ref[3:]) for ref in taken if ref[:3] == "DC-" and ref[3:].isdigit()]
        draft = Draft(
            kind="decision", ref=f"DC-{max(numbers, default=0) + 1:03d}", id=uuid.uuid4().hex,
            entry=entry, key=said.key, said=_SAID,
        )  # fmt: skip
        result = Poster(book, conn, author).post(draft)
    return [f"decision {result.draft.ref}: {result.status.value}", *words]
