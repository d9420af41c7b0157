"""What damage touches, in the user's own names, as far as they can still be read.

The entry and its vehicle or product, the closed month it lies in, and what was handed out that
rests on it: editions of the work history and exports.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select

from recondition.book.accounting import closings, period_events
from recondition.book.damage import Damage
from recondition.book.kinds import KINDS
from recondition.book.looking import Look
from recondition.book.tables import entity, record
from recondition.book.tables_books import export_batch
from recondition.book.tables_history import edition, edition_withdrawn
from recondition.ledger import chain
from recondition.ledger.periods import first_open

_NOTHING = "it cannot be told any more which entry this is"
_ALL = "the whole book: no figure is certain until this is mended"


def touched(look: Look) -> None:
    """Say of every damage that was kept what it touches."""
    if not look.examined.damages:
        return
    names = _Names(look)
    for number, damage in enumerate(look.examined.damages):
        said: list[str] = []
        failed = look.attempt(lambda one=damage, to=said: to.extend(names.of(one)))  # type: ignore[misc]
        words = "; ".join(said) if said and not failed else _NOTHING
        look.examined.say_touched(number, words)


@dataclass(frozen=True, slots=True)
class _Entry:
    """A record as far as it can be read: chain, place, kind, ref and posting period."""

    subject: str
    sequence: int
    kind: str
    ref: str
    period: str


class _Names:
    """What the user calls things, and what was closed and handed out."""

    def __init__(self, look: Look) -> None:
        """Read what was closed and handed out, as far as it can be read."""
        self._look = look
        self._closed: set[str] = set()
        self._exports: list[tuple[str, dict[str, int]]] = []
        self._editions: dict[str, list[tuple[int, str]]] = {}
        for step in (self._read_closed, self._read_exports, self._read_editions):
            look.attempt(step)

    def _read_closed(self) -> None:
        """Read which months are closed."""
        self._closed = set(closings(period_events(self._look.conn)))

    def _read_exports(self) -> None:
        """Read how far each export went in each chain."""
        query = (
            select(entity.c.ref, export_batch.c.upto)
            .join(entity, entity.c.id == export_batch.c.record_id)
            .order_by(entity.c.ref)
        )
        for row in self._look.conn.execute(query):
            upto = {subject: int(count) for subject, count in json.loads(row.upto).items()}
            self._exports.append((row.ref, upto))

    def _read_editions(self) -> None:
        """Read the editions that are out, with their place in their vehicle's chain."""
        withdrawn = select(edition_withdrawn.c.edition)
        query = (
            select(record.c.subject, record.c.sequence, edition.c.number)
            .join(edition, edition.c.record_id == record.c.id)
            .where(edition.c.record_id.not_in(withdrawn))
            .order_by(edition.c.number)
        )
        for row in self._look.conn.execute(query):
            self._editions.setdefault(row.subject, []).append((row.sequence, f"{row.number}"))

    def of(self, damage: Damage) -> Iterator[str]:
        """Say what one damage touches, piece by piece."""
        entry = self._entry(damage.record) if damage.record else None
        subject = entry.subject if entry else damage.subject
        if entry is not None:
            yield f"{entry.kind} {entry.ref} of {self._subject(subject)}"
            if entry.period and self._closed:
                yield self._period(entry.period)
        elif subject:
            yield f"all entries of {self._subject(subject)}"
        elif damage.where.startswith("table "):
            yield _table(damage.where.split()[1].rstrip(","))
        else:
            yield _ALL
        yield from self._handed_out(subject, entry.sequence if entry else 1)

    def _entry(self, record_id: str) -> _Entry | None:
        """Read what a record is, None where nothing is left of it."""
        query = (
            select(record.c.subject, record.c.sequence, record.c.kind, record.c.canonical,
                   entity.c.ref)
            .outerjoin(entity, entity.c.id == record.c.entity)
            .where(record.c.id == record_id)
        )  # fmt: skip
        found: list[Any] = []
        self._look.attempt(lambda: found.extend(self._look.conn.execute(query).all()))
        if not found:
            return None
        row = found[0]
        ref = row.ref if isinstance(row.ref, str) else "(its name is gone)"
        sequence = row.sequence if isinstance(row.sequence, int) else 1
        return _Entry(str(row.subject), sequence, str(row.kind), ref, _period_in(row.canonical))

    def _subject(self, subject: str) -> str:
        """Write a chain as the user would: a vehicle's stock number, a product's name."""
        kind, _, record_id = subject.partition(":")
        if not record_id:
            return "the shop"
        query = select(entity.c.ref).where(entity.c.id == record_id)
        found: list[Any] = []
        self._look.attempt(lambda: found.extend(self._look.conn.execute(query).scalars()))
        return f"{kind} {found[0]}" if found else f"a {kind} whose name is gone"

    def _period(self, period: str) -> str:
        """Name a posting period, and whether it is closed."""
        shut = first_open(period, self._closed) != period
        return f"period {period}, which is closed" if shut else f"period {period}"

    def _handed_out(self, subject: str, sequence: int) -> Iterator[str]:
        """Name what was handed out after a record was made, and so rests on it."""
        editions = [name for place, name in self._editions.get(subject, ()) if place >= sequence]
        if editions:
            yield f"released editions of the work history: {', '.join(editions)}"
        exports = [ref for ref, upto in self._exports if upto.get(subject, 0) >= sequence]
        if exports:
            yield f"exports: {', '.join(exports)}"


def _period_in(canonical: Any) -> str:  # noqa: ANN401 - a cell of a damaged book
    """Read the posting period of a record, '' where it has none or cannot be read."""
    try:
        return str(chain.read(canonical)["priced"].get("period") or "")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return ""


def _table(name: str) -> str:
    """Say which entries have their rows in a table."""
    kinds = [kind.name for kind in KINDS.values() if kind.table == name]
    return f"entries of these kinds: {', '.join(kinds)}" if kinds else "entries of every kind"
