"""Checking stock: each movement follows from the one before, and lines cost what left stock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from sqlalchemy import Connection, select

from recondition.amounts import Money
from recondition.book.damage import Examined
from recondition.book.tables import line, record
from recondition.book.tables_stock import movement
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields
from recondition.materials.counts import added
from recondition.materials.stock import Flow, Movement

_IN = (Flow.RECEIVED, Flow.COUNT_GAIN)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A movement with its record's id."""

    record: str
    entry: Movement


def stock(conn: Connection, examined: Examined) -> None:
    """Look through the movements of every product, then hold lines against them."""
    for _, moves in groupby(_movements(conn), key=lambda seen: seen.entry.product):
        examined.counts["products in stock"] += 1
        _follow(moves, examined)
    _lines(conn, examined)


def _movements(conn: Connection) -> Iterator[_Seen]:
    """Read every movement by product, in the order of its chain."""
    query = (
        select(record.c.id, record.c.canonical)
        .join(movement, movement.c.record_id == record.c.id)
        .order_by(record.c.subject, record.c.sequence)
    )
    for row in conn.execution_options(stream_results=True).execute(query):
        yield _Seen(row.id, decode_fields(Movement, chain.read(row.canonical)["entry"], {}))


def _follow(moves: Iterator[_Seen], examined: Examined) -> None:
    """Hold that what is on hand after each movement is what was there, with the movement."""
    on_hand, value = Decimal(0), None
    for seen in moves:
        move = seen.entry
        coming = move.flow in _IN
        change = move.quantity if coming else move.quantity.copy_negate()
        cost = move.cost if coming else -move.cost
        before = value if value is not None else Money.zero(move.cost.currency)
        on_hand, value = added((on_hand, change)), before + cost - move.price_difference
        if (on_hand, value) != (move.on_hand, move.value):
            where = f"record {seen.record}"
            examined.found("stock does not follow from the movement before", where)
            on_hand, value = move.on_hand, move.value
        if on_hand < 0 or value.minor < 0:
            examined.found("there is less than nothing in stock", f"record {seen.record}")
        if move.layers and (
            added(layer.quantity for layer in move.layers) != move.on_hand
            or sum(layer.value.minor for layer in move.layers) != move.value.minor
        ):
            examined.found("the layers do not add up to what is in stock", f"record {seen.record}")


def _lines(conn: Connection, examined: Examined) -> None:
    """Hold that a line from stock costs what left stock for it, and that it left stock at all."""
    query = (
        select(record.c.id, record.c.canonical, line.c.cost_minor, line.c.kind, line.c.price_minor)
        .join(line, line.c.record_id == record.c.id)
        .where(line.c.kind.in_(("consumable", "count")))
    )
    moves = {row.source: row for row in conn.execute(select(movement))}
    for row in conn.execution_options(stream_results=True).execute(query):
        move = moves.get(row.id)
        if move is None:
            if row.kind == "consumable" and row.price_minor is None:
                examined.found("a line from stock moved no stock", f"record {row.id}")
            continue
        cost = -move.cost_minor if Flow(move.flow) in _IN else move.cost_minor
        if cost != row.cost_minor:
            examined.found("a line does not cost what left stock for it", f"record {row.id}")
