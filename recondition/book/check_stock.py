"""Checking stock: each movement follows from the one before, and lines cost what left stock.

Of each product, in quantity and cost: received + count gains = issued + wasted + count losses +
returned + price difference + on hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import groupby
from typing import Any

from sqlalchemy import Table, select

from recondition.amounts import Money
from recondition.book.columns import METADATA
from recondition.book.damage import ASK, FROM_CHAIN
from recondition.book.looking import Look
from recondition.book.sorting import by_bytes
from recondition.book.tables import line, record
from recondition.book.tables_stock import movement
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields
from recondition.materials.counts import added
from recondition.materials.stock import Flow, Movement

_IN = (Flow.RECEIVED, Flow.COUNT_GAIN)
_EVENTS = ("receipt", "late_freight", "supplier_return", "stock_reversal")
_PRODUCTS = ("product:", "product;")  # every text between the two begins with the first


@dataclass(frozen=True, slots=True)
class _Seen:
    """A movement with its record's id and its chain."""

    record: str
    subject: str
    entry: Movement


def stock(look: Look) -> None:
    """Look through the movements of every product, then hold lines and events against them."""
    for part in (_products, _lines, _events):
        look.part("stock", part)


def _products(look: Look) -> None:
    """Follow the stock of each product."""
    for _, moves in groupby(_movements(look), key=lambda seen: seen.subject):
        look.examined.counts["products in stock"] += 1
        _follow(moves, look)


def _movements(look: Look) -> Iterator[_Seen]:
    """Read every movement by product, in the order of its chain."""
    subject = by_bytes(record.c.subject)  # a server's language may sort these signs another way
    query = (
        select(record.c.id, record.c.subject, record.c.canonical)
        .where(subject > _PRODUCTS[0], subject < _PRODUCTS[1])
        .where(record.c.kind == "movement")
        .order_by(record.c.subject, record.c.sequence)
    )
    with look.stream(query) as rows:
        for row in rows:
            found = _movement(look, row)
            if found is not None:
                yield _Seen(row.id, row.subject, found)


def _movement(look: Look, row: Any) -> Movement | None:  # noqa: ANN401 - a row of any query
    """Read a movement from its record's text; None where that is damaged."""
    try:
        return decode_fields(Movement, chain.read(row.canonical)["entry"], {})
    except Exception as error:  # noqa: BLE001 - each type of field says no in its own way
        words = f"a movement of stock cannot be read: {error}"
        look.examined.found(words, f"record {row.id}", record=str(row.id), subject=row.subject)
        return None


@dataclass(slots=True)
class _Sums:
    """What came and went of one product: by flow, and as price difference."""

    quantity: dict[Flow, Decimal] = field(default_factory=dict)
    cost: dict[Flow, int] = field(default_factory=dict)
    price_difference: int = 0

    def take(self, move: Movement) -> None:
        """Add a movement."""
        flow = move.flow
        self.quantity[flow] = added((self.quantity.get(flow, Decimal(0)), move.quantity))
        self.cost[flow] = self.cost.get(flow, 0) + move.cost.minor
        self.price_difference += move.price_difference.minor

    def left(self) -> tuple[Decimal, int]:
        """Give the quantity and the value that must be on hand."""
        quantities = (
            number if flow in _IN else number.copy_negate()
            for flow, number in self.quantity.items()
        )
        costs = sum(cost if flow in _IN else -cost for flow, cost in self.cost.items())
        return added(quantities), costs - self.price_difference


def _follow(moves: Iterator[_Seen], look: Look) -> None:
    """Hold that what is on hand after each movement is what was there, with the movement."""
    on_hand, value, sums, last = Decimal(0), None, _Sums(), None
    for seen in moves:
        move, last = seen.entry, seen
        coming = move.flow in _IN
        change = move.quantity if coming else move.quantity.copy_negate()
        cost = move.cost if coming else -move.cost
        before = value if value is not None else Money.zero(move.cost.currency)
        on_hand, value = added((on_hand, change)), before + cost - move.price_difference
        sums.take(move)
        if (on_hand, value) != (move.on_hand, move.value):
            _found(look, seen, "stock does not follow from the movement before")
            on_hand, value = move.on_hand, move.value
        if on_hand < 0 or value.minor < 0:
            _found(look, seen, "there is less than nothing in stock")
        if move.layers and (
            added(layer.quantity for layer in move.layers) != move.on_hand
            or sum(layer.value.minor for layer in move.layers) != move.value.minor
        ):
            _found(look, seen, "the layers do not add up to what is in stock")
    if last is not None and sums.left() != (last.entry.on_hand, last.entry.value.minor):
        _found(look, last, "what came, what went and what is on hand do not add up")


def _found(look: Look, seen: _Seen, what: str) -> None:
    """Note damage to a movement."""
    where = f"record {seen.record}"
    look.examined.found(what, where, ASK, record=seen.record, subject=seen.subject)


def _lines(look: Look) -> None:
    """Hold that a line from stock costs what left stock for it, and that it left stock at all."""
    columns = (line.c.record_id, line.c.kind, line.c.cost_minor, line.c.price_minor)
    query = (
        select(*columns, movement.c.flow, movement.c.cost_minor.label("moved"))
        .outerjoin(movement, movement.c.source == line.c.record_id)
        .where(line.c.kind.in_(("consumable", "count")))
    )
    with look.stream(query) as rows:
        for row in rows:
            what = _fault(row)
            if what:
                where = f"record {row.record_id}"
                look.examined.found(what, where, FROM_CHAIN, record=str(row.record_id))


def _fault(row: Any) -> str:  # noqa: ANN401 - a row of that query
    """Say what is wrong between a line and its movement, '' where nothing is."""
    if row.flow is None:
        missing = row.kind == "consumable" and row.price_minor is None
        return "a line from stock moved no stock" if missing else ""
    cost = -row.moved if row.flow in (flow.value for flow in _IN) else row.moved
    return "" if cost == row.cost_minor else "a line does not cost what left stock for it"


def _events(look: Look) -> None:
    """Hold that each delivery, freight, return and reversal of these moved stock."""
    for name in _EVENTS:
        table: Table = METADATA.tables[name]
        query = (
            select(table.c.record_id)
            .outerjoin(movement, movement.c.source == table.c.record_id)
            .where(movement.c.record_id.is_(None))
        )
        for found in look.conn.execute(query).scalars():
            words = f"a {name.replace('_', ' ')} moved no stock"
            look.examined.found(words, f"record {found}", FROM_CHAIN, record=str(found))
