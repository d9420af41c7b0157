"""What a book holds already under a draft's ref, and in what the two differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from recondition.book.context import Context
from recondition.book.tables import entity, record, stored_file
from recondition.book.wording import shown
from recondition.ledger import chain
from recondition.ledger.codec import encode_fields, words_of
from recondition.ledger.drafts import Draft


@dataclass(frozen=True, slots=True)
class Existing:
    """What the book holds under a draft's ref."""

    id: str
    version: int
    payload: dict[str, Any]
    texts: dict[str, str]
    file_sha256: str | None


def existing(
    conn: Connection, context: Context, kind: str, drafts: Sequence[Draft]
) -> dict[str, Existing]:
    """Read what the book holds under the refs of some drafts of one kind, by ref."""
    refs = {draft.ref for draft in drafts}
    query = (
        select(entity.c.ref, entity.c.id, record.c.version, record.c.canonical,
               stored_file.c.sha256)
        .join(record, record.c.id == entity.c.current)
        .outerjoin(stored_file, stored_file.c.record_id == record.c.id)
        .where(entity.c.kind == kind, entity.c.ref.in_(refs))
    )  # fmt: skip
    rows = conn.execute(query).all()
    payloads = {row.ref: chain.read(row.canonical) for row in rows}
    texts = context.texts([p["record"] for p in payloads.values()]) if payloads else {}
    return {
        row.ref: Existing(row.id, row.version, payloads[row.ref],
                          texts.get(payloads[row.ref]["record"], {}), row.sha256)
        for row in rows
    }  # fmt: skip


def made_with(conn: Connection, context: Context, key: str) -> tuple[str, str, Existing] | None:
    """Give kind, ref and content of the version that carries an idempotency key, if any does."""
    query = (
        select(record.c.kind, entity.c.ref, entity.c.id, record.c.version, record.c.canonical,
               stored_file.c.sha256)
        .join(entity, entity.c.id == record.c.entity)
        .outerjoin(stored_file, stored_file.c.record_id == record.c.id)
        .where(record.c.key == key)
    )  # fmt: skip
    row = conn.execute(query).first()
    if row is None:
        return None
    payload = chain.read(row.canonical)
    texts = context.texts([payload["record"]]).get(payload["record"], {})
    return row.kind, row.ref, Existing(row.id, row.version, payload, texts, row.sha256)


def differences(context: Context, draft: Draft, held: Existing, sha256: str | None) -> list[str]:
    """Name the fields in which a draft differs from what is stored, with both contents.

    Where the draft says which fields were given, only those are looked at.
    """
    name = context.ref
    return [
        f"{field}: {shown(old, name)} is posted, {shown(new, name)} is given"
        for field, old, new in _pairs(draft, held, sha256)
        if old != new and (not draft.said or field in draft.said)
    ]


def _pairs(draft: Draft, held: Existing, sha256: str | None) -> list[tuple[str, Any, Any]]:
    """Set what is stored beside what is given, field by field.

    A text that was erased cannot be compared and counts as equal.
    """
    old, new = held.payload["entry"], encode_fields(draft.entry)
    pairs = [(name, old.get(name), new.get(name)) for name in sorted({*old, *new})]
    words = words_of(draft.entry)
    erased = {f for f in held.payload["texts"] if f not in held.texts}
    names = ({*held.texts, *words} - {"ref"}) - erased
    pairs += [(name, held.texts.get(name), words.get(name)) for name in sorted(names)]
    file_erased = held.file_sha256 is None and "file" in erased
    if sha256 not in (None, held.file_sha256) and not file_erased:
        pairs.append(("file", held.file_sha256, sha256))
    return pairs
