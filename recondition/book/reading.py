"""Reading a book: records in their newest version, decoded from the chain's own text."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from recondition.book.context import Context, NotThere
from recondition.book.files import place_of
from recondition.book.kinds import KINDS, LINE_KINDS
from recondition.book.settings import Settings
from recondition.book.sorting import by_bytes
from recondition.book.standing import standing
from recondition.book.tables import chain_head, entity, free_text, line, record, stored_file
from recondition.errors import Refused
from recondition.ledger import chain
from recondition.ledger.booked import Booked
from recondition.ledger.codec import decode_fields
from recondition.ledger.drafts import Stored
from recondition.ledger.pricing import Priced

BATCH = 500
_FIRST = record.alias("first")
# Put together once: every page and command asks it many times.
_NEWEST = (
    select(entity.c.id, entity.c.ref, record.c.canonical)
    .join(record, record.c.id == entity.c.current)
    .join(_FIRST, _FIRST.c.id == entity.c.id)
    .order_by(entity.c.subject, _FIRST.c.sequence)
)


class SeveralLines(Refused):
    """A ref that line items of several kinds share."""

    def __init__(self, ref: str, kinds: Sequence[str]) -> None:
        """Name the kinds it could mean."""
        super().__init__(
            f"{ref!r} names several lines: {', '.join(kinds)}",
            todo="Write the kind before it, such as " + f"{kinds[0]}:{ref}.",
        )


class UnknownAuthor(Refused):
    """Nobody of these initials is in the book or on the sheet people."""

    exit_status = 2

    def __init__(self, ref: str) -> None:
        """Name the initials."""
        super().__init__(
            f"There is nobody with the initials {ref!r} in the book or on the sheet people.",
            todo="Say who acts with --as, or put the person on the sheet people.",
        )


def settings_of(conn: Connection) -> Settings:
    """Give the settings in force."""
    return Context(conn).settings()


def book_key(conn: Connection) -> bytes:
    """Give 32 bytes that are the book's own: the salt of its first record's ref.

    They make the identity of rows without a ref, so that it cannot be guessed from outside.
    """
    query = (
        select(free_text.c.salt)
        .join(record, record.c.id == free_text.c.record_id)
        .where(record.c.subject == chain.SHOP)
        .order_by(record.c.sequence, free_text.c.field.desc())
        .limit(1)
    )
    salt = conn.execute(query).scalar()
    return salt if salt is not None else hashlib.sha256(b"empty book").digest()


def ids_by_ref(conn: Connection, kind: str, refs: Iterable[str]) -> dict[str, str]:
    """Give the ids behind some refs of a kind; refs that are not there are left out."""
    wanted, found = list(refs), dict[str, str]()
    for start in range(0, len(wanted), BATCH):
        query = select(entity.c.ref, entity.c.id).where(
            entity.c.kind == kind, entity.c.ref.in_(wanted[start : start + BATCH])
        )
        found.update({row.ref: row.id for row in conn.execute(query)})
    return found


def all_refs(conn: Connection, kind: str) -> list[str]:
    """List every ref of a kind, in order."""
    query = select(entity.c.ref).where(entity.c.kind == kind).order_by(by_bytes(entity.c.ref))
    return list(conn.execute(query).scalars())


def id_of(conn: Connection, kind: str, ref: str) -> str:
    """Give the id behind one ref. Raises NotThere."""
    found = ids_by_ref(conn, kind, [ref]).get(ref)
    if found is None:
        raise NotThere(kind, ref)
    return found


def line_id_of(conn: Connection, ref: str) -> str:
    """Give the id of a line by its ref, or by ``kind:ref`` where kinds share one.

    Raises NotThere, SeveralLines.
    """
    kind, _, bare = ref.partition(":")
    if kind in LINE_KINDS and bare:
        return id_of(conn, kind, bare)
    query = select(entity.c.kind, entity.c.id).where(
        entity.c.kind.in_(LINE_KINDS), entity.c.ref == ref
    )
    rows = conn.execute(query.order_by(entity.c.kind)).all()
    if not rows:
        raise NotThere(what="line", name=ref)
    if len(rows) > 1:
        raise SeveralLines(ref, [row.kind for row in rows])
    return str(rows[0].id)


def author_of(conn: Connection, ref: str) -> str:
    """Give the id of the person who acts. Raises UnknownAuthor."""
    found = ids_by_ref(conn, "person", [ref])
    if ref not in found:
        raise UnknownAuthor(ref)
    return found[ref]


def refs_by_id(conn: Connection, kinds: Sequence[str]) -> dict[str, str]:
    """Give the user's names of every record of some kinds, by id."""
    query = select(entity.c.id, entity.c.ref).where(entity.c.kind.in_(kinds))
    return {row.id: row.ref for row in conn.execute(query)}


def names_of(conn: Connection, ids: Iterable[str]) -> dict[str, str]:
    """Give the user's names of some records, by id."""
    wanted, found = sorted(ids), dict[str, str]()
    for start in range(0, len(wanted), BATCH):
        some = wanted[start : start + BATCH]
        query = select(entity.c.id, entity.c.ref).where(entity.c.id.in_(some))
        found.update({row.id: row.ref for row in conn.execute(query)})
    return found


def stored(
    conn: Connection, *kinds: str, vehicle: str | None = None, ids: Sequence[str] | None = None
) -> list[Stored[Any]]:
    """List the records of some kinds in their newest version, in the order they were made.

    ``vehicle`` narrows to one vehicle's chain, ``ids`` to certain entities.
    """
    where: list[ColumnElement[bool]] = [entity.c.kind.in_(kinds)]
    if vehicle is not None:
        # SQLite would take the key of the kind and walk through that kind in the whole book.
        by_subject = entity.c.kind.concat("").in_(kinds)
        where = [by_subject, entity.c.subject == f"vehicle:{vehicle}"]
    if ids is not None:
        where.append(entity.c.id.in_(ids))
    rows = conn.execute(_NEWEST.where(*where)).all()
    payloads = [chain.read(row.canonical) for row in rows]
    texts = _texts(conn, [payload["record"] for payload in payloads])
    reversed_by = _reversals(conn, vehicle, ids) if set(kinds) & set(LINE_KINDS) else {}
    return [
        _stored(row.ref, payload, texts.get(payload["record"], {}), reversed_by.get(row.id))
        for row, payload in zip(rows, payloads, strict=True)
    ]


def by_kind(records: Iterable[Stored[Any]], kinds: Sequence[str]) -> dict[str, list[Stored[Any]]]:
    """Sort records by kind: every kind asked for has a list, and other records are left out."""
    found: dict[str, list[Stored[Any]]] = {kind: [] for kind in kinds}
    for item in records:
        if item.kind in found:
            found[item.kind].append(item)
    return found


def lines_among(records: Iterable[Stored[Any]]) -> list[Stored[Any]]:
    """Give the posted lines among records, reversals among them."""
    return [item for item in records if item.kind in LINE_KINDS]


def versions(conn: Connection, *kinds: str, vehicle: str) -> dict[str, list[Stored[Any]]]:
    """Give every version of the records of some kinds of one vehicle, by the record's id.

    The oldest version comes first, and so does the record that was made first.
    """
    of_it = record.c.kind.in_(kinds) & (record.c.subject == f"vehicle:{vehicle}")
    lines = bool(set(kinds) & set(LINE_KINDS))
    return _versions(conn, of_it, _reversals(conn, vehicle) if lines else {})


def versions_of(conn: Connection, own: str) -> list[Stored[Any]]:
    """Give every version of a record that is never reversed, by its id; the oldest comes first."""
    return _versions(conn, record.c.entity == own, {}).get(own, [])


def _versions(
    conn: Connection, of_it: ColumnElement[bool], reversed_by: Mapping[str, str]
) -> dict[str, list[Stored[Any]]]:
    """Give the versions of the records that meet a condition, by the record's id."""
    query = (
        select(record.c.canonical, entity.c.id, entity.c.ref)
        .join(entity, entity.c.id == record.c.entity)
        .where(of_it)
        .order_by(record.c.sequence)
    )
    rows = conn.execute(query).all()
    payloads = [chain.read(row.canonical) for row in rows]
    texts = _texts(conn, [payload["record"] for payload in payloads])
    found: dict[str, list[Stored[Any]]] = {}
    for row, payload in zip(rows, payloads, strict=True):
        words = texts.get(payload["record"], {})
        found.setdefault(row.id, []).append(
            _stored(row.ref, payload, words, reversed_by.get(row.id))
        )
    return found


def made_with(conn: Connection, key: str) -> Stored[Any] | None:
    """Give the version that carries an idempotency key, None where none does."""
    query = (
        select(record.c.canonical, entity.c.ref)
        .join(entity, entity.c.id == record.c.entity)
        .where(record.c.key == key)
    )
    row = conn.execute(query).first()
    if row is None:
        return None
    payload = chain.read(row.canonical)
    words = _texts(conn, [payload["record"]]).get(payload["record"], {})
    reversed_by = None
    if payload["kind"] in LINE_KINDS:
        reversed_by = _reversals(conn, None, [payload["entity"]]).get(payload["entity"])
    return _stored(row.ref, payload, words, reversed_by)


def _texts(conn: Connection, records: list[str]) -> dict[str, dict[str, str]]:
    """Read the free texts of many records in batches."""
    found: dict[str, dict[str, str]] = {}
    context = Context(conn)
    for start in range(0, len(records), BATCH):
        found.update(context.texts(records[start : start + BATCH]))
    return found


def _reversals(
    conn: Connection, vehicle: str | None, ids: Sequence[str] | None = None
) -> dict[str, str]:
    """Give, for every reversed line, the line that took it back.

    ``vehicle`` narrows to one vehicle's lines, ``ids`` to certain ones.
    """
    reversed_ = line.c.reverses > "" if ids is None else line.c.reverses.in_(ids)
    query = select(line.c.reverses, line.c.record_id).where(reversed_)
    if vehicle is not None:
        query = query.where(line.c.vehicle == vehicle)
    return {row.reverses: row.record_id for row in conn.execute(query)}


def _stored(
    ref: str, payload: dict[str, Any], texts: dict[str, str], reversed_by: str | None
) -> Stored[Any]:
    """Put one record together from its payload and texts."""
    entry_class = KINDS[payload["kind"]].entry
    words = {field: text for field, text in texts.items() if field != "ref"}
    priced, is_line = payload["priced"], payload["kind"] in LINE_KINDS
    return Stored(
        id=payload["entity"],
        record=payload["record"],
        ref=ref,
        kind=payload["kind"],
        version=int(payload["version"]),
        subject=payload["subject"],
        sequence=int(payload["sequence"]),
        author=payload["author"],
        recorded_at=payload["recorded_at"],
        entry=decode_fields(entry_class, payload["entry"], words),
        priced=decode_fields(Priced, priced, {}) if priced and is_line else None,
        booked=decode_fields(Booked, priced, {}) if priced and not is_line else None,
        reverses=payload["entry"].get("reverses"),
        reversed_by=reversed_by,
    )


def one(conn: Connection, kind: str, ref: str) -> Stored[Any]:
    """Give one record by its ref. Raises NotThere."""
    (found,) = stored(conn, kind, ids=[id_of(conn, kind, ref)])
    return found


def lines(conn: Connection, vehicle: str | None = None) -> list[Stored[Any]]:
    """List posted lines, reversals among them, of one vehicle or of the whole book."""
    return stored(conn, *LINE_KINDS, vehicle=vehicle)


def standing_refs(conn: Connection, vehicle: str) -> list[str]:
    """Give the refs of a vehicle's lines that stand, in the order they were posted."""
    query = (
        select(entity.c.ref)
        .join(line, line.c.record_id == entity.c.id)
        .join(record, record.c.id == entity.c.id)
        .where(line.c.vehicle == vehicle, standing())
        .order_by(record.c.sequence)
    )
    return list(conn.execute(query).scalars())


def kept_files(conn: Connection, vehicle: str) -> dict[str, Path]:
    """Give where the files of a vehicle's documents lie, by the documents' ids."""
    query = (
        select(entity.c.id, stored_file.c.sha256)
        .join(stored_file, stored_file.c.record_id == entity.c.current)
        .where(entity.c.subject == f"vehicle:{vehicle}")
    )
    folder: Path = conn.info["files"]
    return {row.id: place_of(folder, row.sha256) for row in conn.execute(query)}


def heads(conn: Connection) -> list[chain.Head]:
    """List the heads of every chain, by subject."""
    columns = (chain_head.c.subject, chain_head.c.count, chain_head.c.hash)
    query = select(*columns).order_by(by_bytes(chain_head.c.subject))
    return [chain.Head(*row) for row in conn.execute(query)]


def head_of(conn: Connection, subject: str) -> chain.Head | None:
    """Give the head of one chain; None where it has no record yet."""
    columns = (chain_head.c.subject, chain_head.c.count, chain_head.c.hash)
    row = conn.execute(select(*columns).where(chain_head.c.subject == subject)).first()
    return chain.Head(*row) if row is not None else None


def hashes(conn: Connection) -> dict[str, str]:
    """Give the hash of every record by its id."""
    return {row.id: row.hash for row in conn.execute(select(record.c.id, record.c.hash))}
