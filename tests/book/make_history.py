"""Consents, hidden places, what was let pass and editions, for the book with one of each."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.fields import Id, Words
from recondition.history.records import (
    Consent,
    Edition,
    EditionWithdrawn,
    LetPass,
    Redaction,
    Shows,
)
from tests.book import make

if TYPE_CHECKING:
    from typing import Any

    from recondition.book.engine import Book
    from tests.book.make import Shop


def edition(vehicle: Id, number: int = 1, **more: Any) -> Edition:
    given = {
        "made_on": make.DAY,
        "head": "a" * 64,
        "code": "0123-4567-89AB-CDEF",
        "fingerprint": "-".join(["0123"] * 8),
        "content": "b" * 64,
        "locale": "en",
    }
    return Edition(vehicle=vehicle, number=number, **(given | more))


def consent(shows: Shows = Shows.HOURS, given_on: date = make.DAY, **more: Any) -> Consent:
    return Consent(shows=shows, given_on=given_on, given_by=Words("asked at the bench"), **more)


def redaction(vehicle: Id, document: Id, **more: Any) -> Redaction:
    given = {"from_left": "10", "from_top": "0.5", "width": "25", "height": "12.25"}
    box = {name: Decimal(more.pop(name, text)) for name, text in given.items()}
    return Redaction(
        vehicle=vehicle, document=document, why=Words("plate of another car"), **box, **more
    )


def let_pass(vehicle: Id, hit: str = "4f0c9a1b") -> LetPass:
    return LetPass(vehicle=vehicle, hit=hit, reason=Words("a film reading"), decided_on=make.DAY)


def history_records(book: Book, made: Shop, ids: dict[str, Id]) -> dict[str, Id]:
    """Post one record of every kind about the public sheet; give ids by ref."""
    found: dict[str, Id] = {}

    def add(kind: str, ref: str, entry: Any) -> Id:
        found[ref] = make.add(book, kind, ref, entry)
        return found[ref]

    add("consent", "HC-1", consent(Shows.PERSON, vehicle=made.own, person=made.person))
    add("consent", "HC-2", consent(Shows.FIRM, supplier=ids["SU-1"]))
    add("redaction", "RD-1", redaction(made.own, ids["D-1"]))
    passed = add("let pass", "LP-001", let_pass(made.own))
    first = add("edition", "ED-001", edition(made.own, let_pass=(passed,)))
    add("edition", "ED-002", edition(made.own, 2, supersedes=first))
    gone = EditionWithdrawn(
        vehicle=made.own, edition=first, withdrawn_on=make.DAY, reason=Words("a wrong panel")
    )
    add("edition withdrawn", "EW-001", gone)
    return found
