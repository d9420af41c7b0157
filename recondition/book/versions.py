"""Reading what a record said before its newest version, by its place in the chain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from recondition.book.kinds import KINDS
from recondition.book.tables import record
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields


@dataclass(frozen=True, slots=True)
class Version:
    """What a record said from its place in its chain on; free texts are left out."""

    sequence: int
    entry: Any


def versions(conn: Connection, kind: str) -> dict[str, list[Version]]:
    """Give every version of every record of a kind, the oldest first, by entity."""
    query = (
        select(record.c.entity, record.c.sequence, record.c.canonical)
        .where(record.c.kind == kind)
        .order_by(record.c.entity, record.c.version)
    )
    found: dict[str, list[Version]] = {}
    for row in conn.execute(query):
        entry = decode_fields(KINDS[kind].entry, chain.read(row.canonical)["entry"], {})
        found.setdefault(row.entity, []).append(Version(int(row.sequence), entry))
    return found


def at(versions_of_one: list[Version], sequence: int) -> Version | None:
    """Give the version in force at a place in the same chain; None before the first."""
    before = [each for each in versions_of_one if each.sequence < sequence]
    return before[-1] if before else None
