"""One record whole: its versions in the chain, what it names, what names it, its file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, func, literal, select, union_all

from recondition.book import reading
from recondition.book.columns import METADATA
from recondition.book.context import Context, NotThere
from recondition.book.files import place_of
from recondition.book.kinds import KINDS, LINE_KINDS
from recondition.book.tables import entity, record, stored_file
from recondition.book.tables_logins import OF_PAGES
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields
from recondition.ledger.drafts import Stored

NAMED_MAX = 200
LINE = "line"
_ID = re.compile(r"[0-9a-f]{32}")
# A vehicle, a product and a person are named by thousands; their own pages list these.
_LEFT_OUT = ("vehicle", "product", "person", "found_by", "read_by", "author")


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a record: its number, its place in its chain, its hash, who and when.

    ``recorded_at`` is ISO 8601 with zone, ``author`` a ref, ``hash`` the SHA-256 in hex.
    """

    version: int
    sequence: int
    hash: str
    previous: str
    recorded_at: str
    author: str
    entry: Any


@dataclass(frozen=True, slots=True)
class Named:
    """A record that another one names, or is named by, in a field."""

    field: str
    kind: str
    ref: str


@dataclass(frozen=True, slots=True)
class KeptFile:
    """The file that a document keeps: its SHA-256 in hex, what it is, its size, where it lies."""

    sha256: str
    media_type: str
    size_bytes: int
    path: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """A record as it stands, every version of it (oldest first), and what it hangs together with.

    ``subject`` names its chain in words: ``vehicle 0007``, ``product M-001`` or ``shop``.
    ``more`` says that there are further records which name it.
    """

    stored: Stored[Any]
    subject: str
    versions: tuple[Version, ...]
    names: tuple[Named, ...]
    named_by: tuple[Named, ...]
    more: bool
    file: KeptFile | None


def found(conn: Connection, kind: str, ref: str) -> Whole:
    """Read one record by kind and ref; the kind ``line`` is a line item of any kind.

    Raises NotThere, SeveralLines.
    """
    if kind == LINE:
        line_id = reading.line_id_of(conn, ref)
        (stored,) = reading.stored(conn, *LINE_KINDS, ids=[line_id])
    elif kind in KINDS:
        stored = reading.one(conn, kind, ref)
    else:
        raise NotThere(what="kind of record", name=kind)
    payload = _payloads(conn, stored.id)
    named_by = _named_by(conn, stored.id)
    return Whole(
        stored=stored,
        subject=_subject(conn, stored.subject),
        versions=tuple(payload),
        names=tuple(_names(conn, stored)),
        named_by=tuple(named_by[:NAMED_MAX]),
        more=len(named_by) > NAMED_MAX,
        file=_file_of(conn, stored.record),
    )


def _subject(conn: Connection, subject: str) -> str:
    """Name a chain by the ref of its vehicle or product."""
    kind, _, own = subject.partition(":")
    return f"{kind} {reading.names_of(conn, [own]).get(own, own)}" if own else kind


def _payloads(conn: Connection, own: str) -> Iterator[Version]:
    """Give every version of a record, the oldest first."""
    query = select(record).where(record.c.entity == own).order_by(record.c.version)
    rows = conn.execute(query).all()
    texts = Context(conn).texts([row.id for row in rows])
    people = reading.names_of(conn, {row.author for row in rows})
    for row in rows:
        words = {f: text for f, text in texts.get(row.id, {}).items() if f != "ref"}
        entry = decode_fields(KINDS[row.kind].entry, chain.read(row.canonical)["entry"], words)
        yield Version(row.version, row.sequence, row.hash, row.previous, row.recorded_at,
                      people.get(row.author, ""), entry)  # fmt: skip


def _names(conn: Connection, stored: Stored[Any]) -> list[Named]:
    """Give what a record names, in the order of its fields."""
    query = select(record.c.canonical).where(record.c.id == stored.record)
    entry = chain.read(conn.execute(query).scalar_one())["entry"]
    pairs = [(field, own) for field, value in entry.items() for own in ids_in(value)]
    rows = conn.execute(
        select(entity.c.id, entity.c.kind, entity.c.ref).where(
            entity.c.id.in_(sorted({own for _, own in pairs})[:NAMED_MAX])
        )
    )
    known = {row.id: row for row in rows}
    return [Named(f, known[own].kind, known[own].ref) for f, own in pairs if own in known]


def ids_in(value: Any) -> Iterator[str]:  # noqa: ANN401 - plain values nest
    """Find every text in a plain value that is written like an id."""
    if isinstance(value, str):
        if _ID.fullmatch(value):
            yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from ids_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from ids_in(inner)


def _arms(own: str) -> Iterator[Select[Any]]:
    """Give one query for each indexed column by which a record can name another."""
    shut = {record.name, entity.name, *OF_PAGES}
    for table in METADATA.sorted_tables:
        if table.name in shut or "record_id" not in table.c:
            continue
        for column in table.c:
            if column.foreign_keys and column.name not in ("record_id", *_LEFT_OUT):
                field = table.c.field if table.name == "relation" else literal(column.name)
                yield select(field.label("field"), table.c.record_id).where(column == own)


def _named_by(conn: Connection, own: str) -> list[Named]:
    """Give the records that name one in their newest version, by kind and ref."""
    arms = union_all(*_arms(own)).subquery()
    query = (
        select(arms.c.field, entity.c.kind, entity.c.ref)
        .join(entity, entity.c.current == arms.c.record_id)
        .distinct()
        .order_by(entity.c.kind, entity.c.ref, arms.c.field)
        .limit(NAMED_MAX + 1)
    )
    return [Named(row.field, row.kind, row.ref) for row in conn.execute(query)]


def _file_of(conn: Connection, record_id: str) -> KeptFile | None:
    """Give the file of a version of a document, None where it keeps none (any longer)."""
    row = conn.execute(select(stored_file).where(stored_file.c.record_id == record_id)).first()
    return _kept(conn, row) if row is not None else None


def _kept(conn: Connection, row: Any) -> KeptFile:  # noqa: ANN401 - a row of the table
    """Say of a row of kept files where it lies."""
    path = place_of(conn.info["files"], row.sha256)
    return KeptFile(row.sha256, row.media_type, row.size_bytes, path)


def documents_of(conn: Connection, sha256: str) -> tuple[KeptFile | None, list[Stored[Any]]]:
    """Give a kept file by its hash, and the documents that keep it in their newest version."""
    query = (
        select(stored_file, entity.c.id.label("own"))
        .join(entity, entity.c.current == stored_file.c.record_id)
        .where(stored_file.c.sha256 == sha256)
        .limit(NAMED_MAX)
    )
    rows = conn.execute(query).all()
    if not rows:
        return None, []
    return _kept(conn, rows[0]), reading.stored(conn, "document", ids=[row.own for row in rows])


def counted(conn: Connection) -> dict[str, int]:
    """Count the records of each kind."""
    query = select(entity.c.kind, func.count()).group_by(entity.c.kind)
    return {row[0]: row[1] for row in conn.execute(query)}
