"""Everything that a book holds about one person or supplier, as plain values to be handed out.

A record counts where the person's id stands anywhere in it, so that no kind and no field can be
forgotten; ids are written as the user's own names for what they mean.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from sqlalchemy import Connection, Row, select

from recondition.book.columns import METADATA
from recondition.book.context import Context
from recondition.book.forgetting import kept_of
from recondition.book.mentions import Mention, leaves, mentions, names_of
from recondition.book.people import kept_until
from recondition.book.reading import BATCH, id_of, stored
from recondition.book.tables import entity, erasure, free_text, record
from recondition.history.records import Consent
from recondition.ledger import chain

Plain = dict[str, Any]
_ID = re.compile(r"[0-9a-f]{32}")
_TAKEN_BACK = "by what it takes back"
_OF_RECORD = ("kind", "version", "recorded_at")


def about(conn: Connection, kind: str, ref: str) -> Plain:
    """Give all that a book holds about a person or supplier. Raises NotThere.

    ``is`` is every version of the record itself, ``named in`` every record whose fields name the
    person and how, ``entered`` what the person entered, ``mentioned in`` texts elsewhere in which
    the name stands (surely, or perhaps where only a word of it does), ``erased`` what is gone; of
    a person ``on the pages`` is what their logins are and did.
    """
    who = id_of(conn, kind, ref)
    until = kept_until(conn, who)
    own = select(record).where(record.c.entity == who).order_by(record.c.version)
    found: Plain = {
        "kind": kind,
        "ref": ref,
        "id": who,
        "kept until": str(until) if until else None,
        "is": _shown(conn, conn.execute(own).all(), who),
        "named in": _shown(conn, _naming(conn, who), who),
        "entered": _entered(conn, who),
        "mentioned in": [_mention(conn, m) for m in mentions(conn, names_of(conn, who, ref), who)],
        "editions while a consent to be named held": _editions(conn, who),
        "erased": _erased(conn, who),
    }
    if kind == "person":
        found["on the pages"] = kept_of(conn, who)
    return _with_refs(conn, found, who)


def _naming(conn: Connection, who: str) -> list[Row[Any]]:
    """Read the records whose fields name somebody, and those that take such a one back."""
    query = select(record).where(
        record.c.canonical.contains(f'"{who}"'), record.c.entity != who
    )  # fmt: skip
    found = {row.id: row for row in conn.execute(query) if ways(chain.read(row.canonical), who)}
    for batch in _batches(list(found)):
        for table in METADATA.sorted_tables:
            if "reverses" in table.columns:
                back = select(table.c.record_id).where(table.c.reverses.in_(batch))
                rows = conn.execute(select(record).where(record.c.id.in_(back))).all()
                found = {row.id: row for row in rows} | found
    return sorted(found.values(), key=lambda row: (row.recorded_at, row.sequence, row.id))


def _batches(ids: list[str]) -> Iterator[list[str]]:
    """Cut ids into as many as one query takes."""
    for start in range(0, len(ids), BATCH):
        yield ids[start : start + BATCH]


def ways(payload: Plain, who: str) -> list[str]:
    """Name the fields of a record in which an id stands, such as ``entry.found_by``."""
    parts = {name: payload[name] for name in ("entry", "priced")}
    return sorted({path for path, text in leaves(parts) if text == who})


def _named_as(payload: Plain, who: str) -> list[str]:
    """Say in which way a record names somebody; one may do so by what it takes back alone."""
    return ["itself"] if payload["entity"] == who else ways(payload, who) or [_TAKEN_BACK]


def _shown(conn: Connection, rows: Iterable[Row[Any]], who: str) -> list[Plain]:
    """Write records with all their fields and free texts."""
    payloads = [chain.read(row.canonical) for row in rows]
    texts: dict[str, dict[str, str]] = {}
    for batch in _batches([payload["record"] for payload in payloads]):
        texts |= Context(conn).texts(batch)
    return [
        {name: payload[name] for name in _OF_RECORD}
        | {"record": payload["entity"], "entered by": payload["author"]}
        | {"named as": _named_as(payload, who), "fields": payload["entry"]}
        | {"texts": texts.get(payload["record"], {}), "worked out": payload["priced"]}
        for payload in payloads
    ]


def _entered(conn: Connection, who: str) -> list[Plain]:
    """List what a person entered: which record, which version, and when."""
    columns = (record.c.kind, record.c.entity, record.c.version, record.c.recorded_at)
    query = (
        select(*columns)
        .where(record.c.author == who)
        .order_by(record.c.recorded_at, record.c.sequence)
    )
    return [
        {"kind": row.kind, "record": row.entity, "version": str(row.version),
         "recorded_at": row.recorded_at}
        for row in conn.execute(query)
    ]  # fmt: skip


def _mention(conn: Connection, mention: Mention) -> Plain:
    """Write one mention, with the text where it is one that can be erased."""
    query = select(free_text.c.content).where(
        free_text.c.record_id == mention.record, free_text.c.field == mention.field
    )
    content = None if mention.fixed else conn.execute(query).scalar()
    return {
        "kind": mention.kind,
        "ref": mention.ref,
        "version": str(mention.version),
        "field": mention.field,
        "holds the whole name": mention.sure,
        "can be erased": not mention.fixed,
        "text": content,
    }


def _editions(conn: Connection, who: str) -> list[Plain]:
    """List the released sheets that were made while somebody's consent to be named held."""
    consents: list[Consent] = [
        each.entry
        for each in stored(conn, "consent")
        if who in (each.entry.person, each.entry.supplier)
    ]
    return [
        {"vehicle": edition.entry.vehicle, "edition": str(edition.entry.number),
         "made_on": str(edition.entry.made_on)}
        for edition in stored(conn, "edition")
        if any(_held(each, edition.entry.vehicle, edition.entry.made_on) for each in consents)
    ]  # fmt: skip


def _held(consent: Consent, vehicle: str, day: date) -> bool:
    """Tell whether a consent held for a vehicle on a day."""
    return consent.vehicle in (None, vehicle) and consent.in_force(day)


def _erased(conn: Connection, who: str) -> list[Plain]:
    """List which texts of the record itself were erased, when and on what ground."""
    note = record.alias("note")
    query = (
        select(erasure.c.field, erasure.c.ground, note.c.recorded_at, record.c.version)
        .join(record, record.c.id == erasure.c.erased)
        .join(note, note.c.id == erasure.c.record_id)
        .where(record.c.entity == who)
        .order_by(note.c.sequence)
    )
    return [
        {"field": row.field, "version": str(row.version), "erased_at": row.recorded_at,
         "ground": row.ground}
        for row in conn.execute(query)
    ]  # fmt: skip


def _with_refs(conn: Connection, found: Plain, who: str) -> Plain:
    """Write the user's own names for ids, but for the one that all this is about."""
    ids = sorted({t for _, t in leaves(found) if _ID.fullmatch(t)} - {who})
    names: dict[str, str] = {}
    for batch in _batches(ids):
        query = select(entity.c.id, entity.c.kind, entity.c.ref).where(entity.c.id.in_(batch))
        names |= {row.id: f"{row.kind} {row.ref}" for row in conn.execute(query)}
    return {key: _renamed(value, names) for key, value in found.items()}


def _renamed(value: Any, names: dict[str, str]) -> Any:  # noqa: ANN401 - any plain value
    """Write names for ids in a plain value."""
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, dict):
        return {key: _renamed(inner, names) for key, inner in value.items()}
    if isinstance(value, list):
        return [_renamed(inner, names) for inner in value]
    return value
