"""What the book keeps for the public sheet: editions, consents, hidden places, what passed."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, select

from recondition.book import reading
from recondition.book.again import again
from recondition.book.context import NotThere
from recondition.book.engine import Book
from recondition.book.posting import Poster
from recondition.book.reversing import WhyNeeded
from recondition.book.tables import entity, erasure, free_text, line, record
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.history.records import (
    Consent,
    Edition,
    EditionWithdrawn,
    LetPass,
    Redaction,
    Shows,
)
from recondition.ledger import chain
from recondition.ledger.drafts import Draft, Stored
from recondition.ledger.lines import LineKind


class MovedOn(Refused):
    """Something was recorded about a vehicle while its sheet was being made."""

    def __init__(self, vehicle: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"something was recorded about vehicle {vehicle} while its sheet was being made",
            todo="Nothing was released. Make it again.",
        )


_GAUGED = ("film reading", "gloss reading")
_PREFIX = {"let pass": "LP-", "edition": "ED-", "edition withdrawn": "EW-"}


def editions_of(conn: Connection, vehicle_id: str) -> list[Stored[Edition]]:
    """Give the editions of a vehicle by their number."""
    found: list[Stored[Edition]] = reading.stored(conn, "edition", vehicle=vehicle_id)
    return sorted(found, key=lambda item: item.entry.number)


def withdrawals_of(conn: Connection, vehicle_id: str) -> dict[str, Stored[EditionWithdrawn]]:
    """Give the withdrawn editions of a vehicle, by the edition's id."""
    found = reading.stored(conn, "edition withdrawn", vehicle=vehicle_id)
    return {item.entry.edition: item for item in found}


def consents_in_force(conn: Connection, vehicle_id: str, on: date) -> list[Stored[Consent]]:
    """Give the consents that hold for a vehicle on a day: its own, and those for every one.

    What was withdrawn for the vehicle itself is not given back by a consent for every one.
    """
    own = [e for e in reading.stored(conn, "consent") if e.entry.vehicle in (None, vehicle_id)]
    gone = {_what(e.entry) for e in own if e.entry.vehicle and _withdrawn(e.entry, on)}
    return [
        item
        for item in own
        if item.entry.in_force(on) and (item.entry.vehicle or _what(item.entry) not in gone)
    ]


def _what(consent: Consent) -> tuple[object, ...]:
    return (consent.shows, consent.person, consent.supplier)


def _withdrawn(consent: Consent, on: date) -> bool:
    return consent.withdrawn_on is not None and consent.withdrawn_on <= on


def redactions_of(conn: Connection, vehicle_id: str) -> dict[str, tuple[Redaction, ...]]:
    """Give the places to be painted over on a vehicle's pictures, by the document's id."""
    found: dict[str, tuple[Redaction, ...]] = {}
    for item in reading.stored(conn, "redaction", vehicle=vehicle_id):
        if not item.entry.off:
            found[item.entry.document] = (*found.get(item.entry.document, ()), item.entry)
    return found


def passes_of(conn: Connection, vehicle_id: str) -> dict[str, Stored[LetPass]]:
    """Give what was let pass on a vehicle by the code of the hit; the newest of one code."""
    found = reading.stored(conn, "let pass", vehicle=vehicle_id)
    return {item.entry.hit: item for item in found}


@again
def post_edition(
    book: Book, author_ref: str, edition: Edition, after: chain.Head | None = None
) -> Stored[Edition]:
    """Keep an edition that was made; ``after`` is the head that its sheet was made from.

    Raises UnknownAuthor, EditionRaced, MovedOn.
    """
    with book.writing() as conn:
        heads = {head.subject: head for head in reading.heads(conn)} if after else {}
        if after and heads[after.subject] != after:
            raise MovedOn(reading.refs_by_id(conn, ["vehicle"])[edition.vehicle])
        ref = _post(book, conn, reading.author_of(conn, author_ref), "edition", edition)
        made: Stored[Edition] = reading.one(conn, "edition", ref)
    return made


def agreed(conn: Connection, consent: Consent, vehicle_id: str, on: date) -> bool:
    """Tell whether what a consent is about is agreed to for a vehicle on a day."""
    return _what(consent) in {_what(e.entry) for e in consents_in_force(conn, vehicle_id, on)}


def rests_on(conn: Connection, edition: Stored[Edition], consent: Consent) -> bool:
    """Tell whether an edition may say something that a consent let it say.

    People and firms are named beside their lines, and perhaps in words of the vehicle.
    """
    then = (record.c.subject == edition.subject, record.c.sequence < edition.sequence)
    lines = select(line.c.record_id).join(record, record.c.id == line.c.record_id).where(*then)
    match consent.shows:
        case Shows.HOURS:
            query = lines.where(line.c.kind == LineKind.LABOUR)
        case Shows.PERSON:
            query = lines.where(line.c.person == consent.person)
        case Shows.FIRM:
            query = lines.where(line.c.supplier == consent.supplier)
        case Shows.PRODUCTS:
            query = (
                select(record.c.id)
                .outerjoin(line, line.c.record_id == record.c.id)
                .where(*then, record.c.kind.in_(_GAUGED) | line.c.product.is_not(None))
            )
    if conn.execute(query.limit(1)).first() is not None:
        return True
    ids = [each for each in (consent.person, consent.supplier) if each]
    names = [each.entry.name for each in reading.stored(conn, "person", "supplier", ids=ids)]
    if not any(names):
        return False
    texts = select(free_text.c.record_id).join(record, record.c.id == free_text.c.record_id)
    said = texts.where(*then, free_text.c.content.icontains(names[0], autoescape=True))
    return conn.execute(said.limit(1)).first() is not None


def _whom(consent: Consent) -> Id | None:
    return consent.person or consent.supplier


def named_then(conn: Connection, edition: Stored[Edition]) -> list[str]:
    """Give the ids of those whom an edition may name and who were forgotten after it."""
    vehicle = edition.entry.vehicle
    about = {
        str(_whom(each.entry))
        for each in reading.stored(conn, "consent")
        if each.entry.vehicle in (None, vehicle)
        and each.entry.given_on <= edition.entry.made_on
        and _whom(each.entry)
        and rests_on(conn, edition, each.entry)
    }
    found = reading.stored(conn, "person", "supplier", ids=sorted(about)) if about else []
    query = select(record.c.entity).join(erasure, erasure.c.erased == record.c.id)
    own = record.alias()
    query = query.join(own, own.c.id == erasure.c.record_id).add_columns(own.c.recorded_at)
    ids = [each.id for each in found if not each.entry.name]
    made = datetime.fromisoformat(edition.recorded_at)
    since = {
        row.entity
        for row in conn.execute(query.where(record.c.entity.in_(ids)))
        if datetime.fromisoformat(row.recorded_at) > made
    }
    return [each for each in ids if each in since]


def erased_since(conn: Connection, edition: Stored[Edition]) -> list[tuple[str, str, str]]:
    """Give what was erased on an edition's vehicle after it was made: kind, ref and field.

    The field is ``file`` for a kept file.
    """
    query = (
        select(record.c.kind, entity.c.ref, erasure.c.field)
        .join(record, record.c.id == erasure.c.erased)
        .join(entity, entity.c.id == record.c.entity)
        .where(record.c.subject == edition.subject)
    )
    own = record.alias()
    later = query.join(own, own.c.id == erasure.c.record_id).add_columns(own.c.recorded_at)
    made = datetime.fromisoformat(edition.recorded_at)
    return [
        (row.kind, row.ref, row.field)
        for row in conn.execute(later)
        if datetime.fromisoformat(row.recorded_at) > made
    ]


@again
def let_pass(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, author_ref: str, vehicle_ref: str, hit: str, *, reason: str, on: date
) -> str:
    """Note that one hit may stand; give the note's own ref.

    Raises UnknownAuthor, NotThere, WhyNeeded, NotAHit.
    """
    if not reason.strip():
        raise WhyNeeded
    with book.writing() as conn:
        author = reading.author_of(conn, author_ref)
        vehicle = Id(reading.id_of(conn, "vehicle", vehicle_ref))
        entry = LetPass(vehicle=vehicle, hit=hit, reason=Words(reason), decided_on=on)
        return _post(book, conn, author, "let pass", entry)


@again
def withdraw(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, author_ref: str, vehicle_ref: str, number: int, *, reason: str, on: date | None
) -> Stored[EditionWithdrawn]:
    """Withdraw an edition of a vehicle by its number; give what was noted.

    Without a day it is withdrawn today, or on the day of the edition where that lies ahead.

    Raises UnknownAuthor, NotThere, WhyNeeded, WithdrawnAlready, BeforeItsCause.
    """
    if not reason.strip():
        raise WhyNeeded
    with book.writing() as conn:
        author = reading.author_of(conn, author_ref)
        vehicle = Id(reading.id_of(conn, "vehicle", vehicle_ref))
        made = {item.entry.number: item for item in editions_of(conn, vehicle)}
        if number not in made:
            raise NotThere(what="edition", name=f"{number} of vehicle {vehicle_ref}")
        day = on or max(book.now().astimezone().date(), made[number].entry.made_on)
        own = Id(made[number].id)
        entry = EditionWithdrawn(
            vehicle=vehicle, edition=own, withdrawn_on=day, reason=Words(reason)
        )
        ref = _post(book, conn, author, "edition withdrawn", entry)
        noted: Stored[EditionWithdrawn] = reading.one(conn, "edition withdrawn", ref)
    return noted


def _post(book: Book, conn: Connection, author: str, kind: str, entry: Any) -> str:  # noqa: ANN401 - any entry class
    """Post an entry under the next free ref of its kind, and give that."""
    prefix = _PREFIX[kind]
    taken = [ref.removeprefix(prefix) for ref in reading.all_refs(conn, kind)]
    numbers = [int(number) for number in taken if number.isdigit()]
    ref = f"{prefix}{max(numbers, default=0) + 1:03d}"
    Poster(book, conn, author).post(Draft(id=uuid.uuid4().hex, kind=kind, ref=ref, entry=entry))
    return ref
