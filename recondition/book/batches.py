"""Export batches of a book: what was handed out, and what is new since."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import rfc8785
from sqlalchemy import Connection, select

from recondition.accounts.batches import ExportBatch
from recondition.book import reading
from recondition.book.engine import Book
from recondition.book.posting import Poster
from recondition.book.tables import line, record
from recondition.fields import Words
from recondition.ledger.drafts import Draft

OTHERS = (
    "supplier invoice", "payment", "sale", "owner invoice", "value test", "entry reversal",
    "receipt", "late freight", "supplier return", "stock reversal", "period event",
)  # fmt: skip
"""What moves the books and is no line."""


@dataclass(frozen=True, slots=True)
class _Batch:
    """One export: what it was narrowed to, and how many records of each chain it held."""

    ref: str
    what: str
    on: date
    period: str | None
    vehicle: str | None
    upto: Mapping[str, int]

    def holds(self, subject: str, sequence: int, period: str, stock: str | None) -> bool:
        """Tell whether a line was in it."""
        return (
            sequence <= self.upto.get(subject, 0)
            and self.period in (None, period)
            and self.vehicle in (None, stock)
        )


class Batches:
    """The exports of a book in their order."""

    def __init__(self, found: list[_Batch]) -> None:
        """Take them as they were made."""
        self._found = found

    def first(self, subject: str, sequence: int, period: str, stock: str | None) -> str | None:
        """Give the name of the first export that held a line, None where none did."""
        for batch in self._found:
            if batch.holds(subject, sequence, period, stock):
                return batch.ref
        return None

    def last_like(self, what: str, period: str | None, vehicle: str | None) -> _Batch | None:
        """Give the last export of the same kind and scope."""
        like = [b for b in self._found if (b.what, b.period, b.vehicle) == (what, period, vehicle)]
        return like[-1] if like else None


def batches_of(conn: Connection) -> Batches:
    """Read the exports of a book."""
    made = sorted(reading.stored(conn, "export batch"), key=lambda item: item.sequence)
    return Batches([
        _Batch(item.ref, item.entry.what, item.entry.exported_on, item.entry.period,
               item.entry.vehicle,
               {key: int(n) for key, n in json.loads(item.entry.upto).items()})
        for item in made
    ])  # fmt: skip


def next_name(conn: Connection) -> str:
    """Give the name of the export that is being made."""
    return f"EX-{len(reading.all_refs(conn, 'export batch')) + 1:03}"


def since(
    conn: Connection, what: str, period: str | None, vehicle: str | None
) -> tuple[str, date, int, int, int] | None:
    """Say what came since the last export of the same kind and scope.

    Gives its name and day, how many lines are new, how many of these take back a line that it
    held, and how many other postings (invoices, payments, sales, stock) are new. None where there
    was no such export. ``vehicle`` is a stock number.
    """
    last = batches_of(conn).last_like(what, period, vehicle)
    if last is None:
        return None
    first = line.alias("first")
    old = record.alias("old")
    query = (
        select(record.c.subject, record.c.sequence, line.c.reverses, old.c.sequence.label("before"))
        .join(line, line.c.record_id == record.c.id)
        .outerjoin(first, first.c.record_id == line.c.reverses)
        .outerjoin(old, old.c.id == first.c.record_id)
    )
    if period is not None:
        query = query.where(line.c.period == period)
    if vehicle is not None:
        subject = reading.id_of(conn, "vehicle", vehicle)
        query = query.where(line.c.vehicle == subject)
    fresh = taken_back = 0
    for row in conn.execute(query):
        held = last.upto.get(row.subject, 0)
        if row.sequence > held:
            fresh += 1
            taken_back += row.reverses is not None and row.before <= held
    others = sum(
        item.sequence > last.upto.get(item.subject, 0)
        and (period is None or (item.booked is not None and item.booked.period == period))
        for item in reading.stored(conn, *OTHERS)
    )
    return last.ref, last.on, fresh, taken_back, others


def mark(  # noqa: PLR0913 - each is a separate fact of the export
    book: Book,
    conn: Connection,
    author_ref: str,
    *,
    what: str,
    period: str | None,
    vehicle: str | None,
    sha256: str,
    lines: int,
    path: Path,
    upto: Mapping[str, int],
) -> str:
    """Post that an export was made; give its name. Raises UnknownAuthor.

    ``upto`` says how many records of each chain stood in the state of the book that it shows.
    """
    author = reading.author_of(conn, author_ref)
    entry = ExportBatch(
        what=what,
        exported_on=book.now().astimezone().date(),
        period=period,
        vehicle=vehicle,
        sha256=sha256,
        lines=str(lines),
        upto=rfc8785.dumps({subject: str(count) for subject, count in upto.items()}).decode(),
        file_name=Words(path.name),
    )
    name = next_name(conn)
    draft = Draft(id=uuid.uuid4().hex, kind="export batch", ref=name, entry=entry)
    Poster(book, conn, author).post(draft)
    return name
