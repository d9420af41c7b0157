"""Rules that rest on what stands in other chains, kept while several write at once.

On PostgreSQL a writer sees the book as it was at its first look, and is told of another only
where both write the same row. Two writers on one chain meet at its head. Where a rule reads
beyond the chain that is written (the hours of one person on two cars), both would see the book
without the other. Each therefore writes one row over, unchanged, that stands for what the rule
is about: the second of two is then overtaken and begins again (``book.again``).

| the rule | what stands for it |
|---|---|
| hours of a person in a day, stretches that overlap, one open clock | the person |
| no more of a mixed batch than was mixed | the batch |
| payments of an owner's invoice or a sale, and taking that back | the invoice, the sale |
| how stock is valued is fixed with the first receipt | the setting ``currency`` |

Stock is kept by its product's chain, a period by closing it alone (``Book.writing``). SQLite has
one writer at a time and needs none of this.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, select, update

from recondition.accounts.invoices import Payment
from recondition.book.again import Turn
from recondition.book.tables import entity
from recondition.book.tables_stock import movement
from recondition.ledger.booked import EntryReversal
from recondition.ledger.clocks import Clock
from recondition.ledger.lines import Consumable, Count, Labour
from recondition.ledger.people import Setting
from recondition.materials.receiving import Receipt


class Rests:
    """What the rules of one transaction rest on, each held once."""

    def __init__(self, conn: Connection, turn: Turn | None) -> None:
        """Work on one connection; ``turn`` is asked for each of them."""
        self._conn = conn
        self._turn = turn
        self._needed = conn.dialect.name == "postgresql"
        self._held: set[str] = set()

    def hold(self, entry: Any) -> None:  # noqa: ANN401 - any entry class
        """Hold what the rules for an entry rest on against other writers."""
        if not self._needed:
            return
        for name in self._named(entry):
            if name not in self._held:
                self._write_over(name)
                self._held.add(name)

    def _named(self, entry: Any) -> list[str]:  # noqa: ANN401 - as above
        """List the ids of what stands for an entry's rules."""
        match entry:
            case Labour() | Clock():
                return [entry.person]
            case Consumable() if entry.mixed:
                return [entry.mixed]
            case Payment():
                return [each for each in (entry.owner_invoice, entry.sale) if each]
            case EntryReversal():
                return [entry.reverses]
            case Setting() | Receipt() | Count():
                return [] if self._has_stock() else self._of_stock()
        return []

    def _has_stock(self) -> bool:
        """Tell whether stock was ever received."""
        return self._conn.execute(select(movement.c.record_id).limit(1)).first() is not None

    def _of_stock(self) -> list[str]:
        """Name the setting that every book has from its beginning."""
        query = select(entity.c.id).where(entity.c.kind == "setting", entity.c.ref == "currency")
        return list(self._conn.execute(query).scalars())

    def _write_over(self, name: str) -> None:
        """Write one row over, unchanged."""
        if self._turn is not None:
            self._turn.take(self._conn, name)
        query = update(entity).where(entity.c.id == name).values(current=entity.c.current)
        self._conn.execute(query)
