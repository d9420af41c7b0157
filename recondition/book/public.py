"""What a book hands over for the public sheet of one vehicle, and for the search afterwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from recondition.book import reading
from recondition.book.editions import (
    consents_in_force,
    editions_of,
    passes_of,
    redactions_of,
    withdrawals_of,
)
from recondition.book.files import place_of
from recondition.book.kinds import KINDS
from recondition.book.tables import entity, record, stored_file
from recondition.condition.vehicle import Vehicle
from recondition.history.evidence import listed
from recondition.history.records import Edition, LetPass, Redaction
from recondition.history.source import Source
from recondition.ledger import chain
from recondition.ledger.chain import Head
from recondition.ledger.drafts import Stored

READINGS = ("film reading", "gloss reading", "drop reading", "surface test")
VERSIONED = ("vehicle", "panel", "finding", "outcome", *READINGS)
# Kinds of the shop whose names, amounts and notes a sheet could show by mistake.
OF_THE_SHOP = (
    "person", "supplier", "product", "rate", "instrument", "supplier invoice", "consent",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Kept:
    """A listed file as the book keeps it: where it lies, its kind, and what to paint over."""

    document: Stored[Any]
    path: str
    media_type: str
    hidden: tuple[Redaction, ...]


@dataclass(frozen=True, slots=True)
class Material:
    """All that a release is made from. ``secrets`` are the records to search the outputs for."""

    source: Source
    files: tuple[Kept, ...]
    originals: tuple[str, ...]
    secrets: tuple[Stored[Any], ...]
    passed: dict[str, Stored[LetPass]]
    book_key: bytes


def source_of(conn: Connection, vehicle: Stored[Vehicle], on: date) -> Source:
    """Give the records that a work history is made from, with the consents in force on a day."""

    def own(*kinds: str) -> tuple[Stored[Any], ...]:
        return tuple(reading.stored(conn, *kinds, vehicle=vehicle.id))

    def shop(kind: str) -> dict[str, Stored[Any]]:
        return {item.id: item for item in reading.stored(conn, kind)}

    versions = reading.versions(conn, *VERSIONED, vehicle=vehicle.id)
    return Source(
        vehicle=vehicle,
        shop_name=reading.settings_of(conn).shop_name,
        panels=own("panel"),
        findings=own("finding"),
        outcomes=own("outcome"),
        lines=tuple(reading.lines(conn, vehicle.id)),
        products=shop("product"),
        head=reading.head_of(conn, vehicle.subject),
        readings=own(*READINGS),
        instruments=shop("instrument"),
        receipts=shop("receipt"),
        people=shop("person"),
        suppliers=shop("supplier"),
        documents=own("document"),
        sealed=_sealed(conn, vehicle.id),
        consents=tuple(consents_in_force(conn, vehicle.id, on)),
        editions=tuple(editions_of(conn, vehicle.id)),
        withdrawn=withdrawals_of(conn, vehicle.id),
        versions={each: tuple(found) for each, found in versions.items() if len(found) > 1},
    )


def material_of(conn: Connection, vehicle: Stored[Vehicle], on: date) -> Material:
    """Give all that a release of one vehicle is made from and searched for."""
    source = source_of(conn, vehicle, on)
    older = reading.versions(conn, *KINDS, vehicle=vehicle.id)
    secrets = (
        *(version for versions in older.values() for version in versions),
        *reading.stored(conn, *OF_THE_SHOP),
    )
    rows = _files(conn, vehicle.id)
    folder = conn.info["files"]
    hidden = redactions_of(conn, vehicle.id)
    files = tuple(
        Kept(each, str(place_of(folder, rows[each.id][0])), rows[each.id][1],
             hidden.get(each.id, ()))
        for each in listed(source)
    )  # fmt: skip
    pictures = [sha for sha, media in rows.values() if media.startswith("image/")]
    originals = tuple(str(place_of(folder, sha)) for sha in pictures)
    key = reading.book_key(conn)
    return Material(source, files, originals, secrets, passes_of(conn, vehicle.id), key)


def _files(conn: Connection, vehicle_id: str) -> dict[str, tuple[str, str]]:
    """Give hash and kind of the kept files of a vehicle by document id."""
    query = (
        select(entity.c.id, stored_file.c.sha256, stored_file.c.media_type)
        .join(stored_file, stored_file.c.record_id == entity.c.current)
        .where(entity.c.subject == f"vehicle:{vehicle_id}")
    )
    return {row.id: (row.sha256, row.media_type) for row in conn.execute(query)}


def _sealed(conn: Connection, vehicle_id: str) -> dict[str, str]:
    """Give the salted hash of each kept file as it stands in the chain, by document id."""
    query = (
        select(entity.c.id, record.c.canonical)
        .join(record, record.c.id == entity.c.current)
        .where(entity.c.subject == f"vehicle:{vehicle_id}", entity.c.kind == "document")
    )
    found = {row.id: chain.read(row.canonical)["texts"].get("file") for row in conn.execute(query)}
    return {each: commitment for each, commitment in found.items() if commitment}


def as_released(conn: Connection, source: Source, edition: Stored[Edition]) -> Source:
    """Give a source as it was before an edition was noted: what that one said can be said again.

    Only what the edition itself added is taken off; anything else that changed makes another.
    """
    before = (record.c.subject == edition.subject, record.c.sequence == edition.sequence)
    previous = conn.execute(select(record.c.previous).where(*before)).scalar_one()
    head = Head(edition.subject, edition.sequence - 1, str(previous))
    earlier = tuple(e for e in source.editions if e.entry.number < edition.entry.number)
    return replace(source, head=head, editions=earlier)
