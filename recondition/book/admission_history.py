"""What consents, hidden places and editions must satisfy against the rest of the book."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select

from recondition.book.context import Context, NotThere
from recondition.book.tables import entity, stored_file
from recondition.book.tables_history import edition, edition_withdrawn
from recondition.errors import Refused
from recondition.history.records import Consent, Edition, EditionWithdrawn, LetPass, Redaction
from recondition.ledger.days import BeforeItsCause
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.rules import StaysWithItsVehicle


class RedactionNotOnPicture(Refused):
    """A place to be painted over on something that is no picture of this vehicle."""

    def __init__(self, document: str, vehicle: str) -> None:
        """Name both."""
        super().__init__(
            f"{document} is no picture of vehicle {vehicle}, so no place on it can be hidden",
            todo="Scan the page as a picture, keep that with the vehicle and name it here.",
        )


class EditionRaced(Refused):
    """An edition that does not follow the last one of its vehicle: somebody was there first."""

    def __init__(self, vehicle: str, last: int, number: int) -> None:
        """Name the vehicle, its last edition and the one that was to follow."""
        now = f"edition {last} is the last one" if last else "there is no edition yet"
        super().__init__(
            f"edition {number} of vehicle {vehicle} does not follow what stands: {now}",
            todo="Somebody else may have released one meanwhile: make it again.",
        )


class WithdrawnAlready(Refused):
    """An edition that was withdrawn before."""

    def __init__(self, name: str, on: str) -> None:
        """Name the edition and the day."""
        super().__init__(f"{name} was withdrawn already, on {on}", todo="Nothing is left to do.")


def admit(context: Context, entry: Any) -> None:  # noqa: ANN401 - any entry class
    """Refuse what the public sheet cannot rest on.

    Raises what the entries' own checks name, RedactionNotOnPicture, EditionRaced,
    WithdrawnAlready, NotThere, StaysWithItsVehicle and BeforeItsCause.
    """
    match entry:
        case Consent() | LetPass():
            entry.check()
        case Redaction():
            entry.check()
            _check_picture(context, entry)
        case Edition():
            _check_number(context, entry)
        case EditionWithdrawn():
            _check_withdrawn(context, entry)


def _check_picture(context: Context, entry: Redaction) -> None:
    """Refuse a document of another vehicle, and one that is no picture."""
    document: Document = context.entry("document", entry.document)
    query = (
        select(stored_file.c.media_type)
        .join(entity, entity.c.current == stored_file.c.record_id)
        .where(entity.c.id == entry.document)
    )
    media = context.conn.execute(query).scalar() or ""
    seen = document.kind is DocumentKind.PHOTOGRAPH or media.startswith("image/")
    if document.vehicle != entry.vehicle or not seen:
        raise RedactionNotOnPicture(context.ref(entry.document), context.ref(entry.vehicle))


def _check_number(context: Context, entry: Edition) -> None:
    """Refuse an edition that does not follow the last one; what it lets pass must be its own."""
    query = (
        select(edition.c.record_id, edition.c.number)
        .where(edition.c.vehicle == entry.vehicle)
        .order_by(edition.c.number.desc())
        .limit(1)
    )
    row = context.conn.execute(query).first()
    last, before = (row.number, row.record_id) if row is not None else (0, None)
    if entry.number != last + 1 or entry.supersedes != before:
        raise EditionRaced(context.ref(entry.vehicle), last, entry.number)
    for each in entry.let_pass:
        if context.entry("let pass", each).vehicle != entry.vehicle:
            raise StaysWithItsVehicle(context.ref(each))


def _check_withdrawn(context: Context, entry: EditionWithdrawn) -> None:
    """Refuse to withdraw what is not there, what is gone already, or before it was made."""
    made: Edition = context.entry("edition", entry.edition)
    vehicle = context.ref(entry.vehicle)
    name = f"edition {made.number} of vehicle {vehicle}"
    if made.vehicle != entry.vehicle:
        raise NotThere(what="edition of this vehicle", name=context.ref(entry.edition))
    query = select(edition_withdrawn.c.withdrawn_on).where(
        edition_withdrawn.c.edition == entry.edition
    )
    gone = context.conn.execute(query).scalar()
    if gone is not None:
        raise WithdrawnAlready(name, gone)
    if entry.withdrawn_on < made.made_on:
        what, day = "the withdrawal", entry.withdrawn_on
        raise BeforeItsCause(what=what, day=day, cause=name, began=made.made_on)
