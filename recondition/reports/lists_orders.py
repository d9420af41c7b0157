"""Lists of orders and parts: where each one is, and quote against invoice."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.amounts.rounding import round_to
from recondition.book import Connection, reading
from recondition.book.kinds import LINE_KINDS
from recondition.book.questions import vehicle_of
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Labour, Part
from recondition.ledger.orders import Order, Ordered
from recondition.reports.table import Cell, CellKind, Column, Table

_DATE, _MONEY = CellKind.DATE, CellKind.MONEY


def state_of(order: Order) -> str:
    """Say in a word where an order stands."""
    for field, word in (
        ("returned_on", "returned"),
        ("received_on", "received"),
        ("ordered_on", "ordered"),
    ):
        if getattr(order, field):
            return word
    return "quoted"


def waiting_days(order: Order) -> int | None:
    """Count the days from the order to the day it was here; None while it is not."""
    if order.ordered_on is None or order.received_on is None:
        return None
    return (order.received_on - order.ordered_on).days


def _read(conn: Connection, stock: str | None, *kinds: str) -> list[Stored[Any]]:
    vehicle = vehicle_of(conn, stock).id if stock else None
    found = reading.stored(conn, *kinds, vehicle=vehicle)
    return sorted(found, key=lambda item: (item.recorded_at, item.sequence))


def _standing(conn: Connection, stock: str | None) -> list[Stored[Any]]:
    """Read lines that were neither taken back nor take another back."""
    found = _read(conn, stock, *LINE_KINDS)
    return [line for line in found if not line.reversed_by and not line.reverses]


def orders(conn: Connection, stock: str | None = None) -> list[Table]:
    """List orders: steps, quote against what was invoiced, waiting days, handling hours."""
    refs = reading.refs_by_id(conn, ("vehicle", "supplier"))
    by_order: dict[str, list[Stored[Any]]] = {}
    for line in _standing(conn, stock):
        if line.entry.order:
            by_order.setdefault(line.entry.order, []).append(line)
    currency = reading.settings_of(conn).currency
    steps, money = [], []
    for each in _read(conn, stock, "order"):
        order = each.entry
        steps.append(
            (each.ref, refs[order.vehicle], order.what.value, order.name, state_of(order),
             order.ordered_on, order.promised_on, order.received_on, waiting_days(order))
        )  # fmt: skip
        lines = by_order.get(each.id, [])
        money.append((each.ref, *_money(order, lines, currency)))
    note = "" if steps else "Nothing is on order. 'recondition order add' notes a quote or order."
    return [
        Table("Orders", _STEPS, tuple(steps), note),
        Table(
            "Quote against invoice",
            _AGAINST,
            tuple(money),
            "Invoiced are the standing lines that name the order; handling hours are hours of "
            "our own that name it.",
        ),
    ]


_STEPS = (
    Column("ref", "Order"),
    Column("vehicle", "Vehicle"),
    Column("what", "What"),
    Column("name", "Name"),
    Column("state", "State"),
    Column("ordered_on", "Ordered", _DATE),
    Column("promised_on", "Promised", _DATE),
    Column("received_on", "Received", _DATE),
    Column("waiting_days", "Waiting days", CellKind.INTEGER),
)
_AGAINST = (
    Column("ref", "Order"),
    Column("quoted", "Quoted", _MONEY),
    Column("invoiced", "Invoiced", _MONEY),
    Column("difference", "Difference", _MONEY),
    Column("handling_h", "Handling hours", CellKind.NUMBER),
    Column("lines", "Lines"),
)


def _money(order: Order, lines: list[Stored[Any]], currency: str) -> tuple[Cell, ...]:
    """Set an order's quote beside what its lines cost, and count handling hours."""
    bought = [line for line in lines if not isinstance(line.entry, Labour)]
    costs = [line.priced.cost for line in bought if line.priced is not None]
    invoiced: Money | None = total(costs, currency) if bought else None
    difference = invoiced - order.quoted if invoiced is not None and order.quoted else None
    spent = sum(
        (line.entry.quantity.to("h") for line in lines if isinstance(line.entry, Labour)),
        Fraction(0),
    )
    hours = round_to(spent, 2) if spent else None
    return (order.quoted, invoiced, difference, hours, ", ".join(line.ref for line in lines))


def parts(conn: Connection, stock: str | None = None) -> list[Table]:
    """List every part by where it is: ordered, received, fitted, spoiled, returned, retained."""
    refs = reading.refs_by_id(conn, ("vehicle",))
    lines = [line for line in _standing(conn, stock) if isinstance(line.entry, Part)]
    served = {line.entry.order for line in lines}
    rows: list[tuple[Cell, ...]] = []
    for each in _read(conn, stock, "order"):
        order = each.entry
        if order.what is Ordered.PART and each.id not in served:
            day: date | None = order.returned_on or order.received_on or order.ordered_on
            origin = order.origin.value if order.origin else ""
            rows.append((refs[order.vehicle], order.name, state_of(order), day, origin,
                         order.replaces_part or "", each.ref))  # fmt: skip
    for line in lines:
        part = line.entry
        vehicle = refs.get(part.vehicle or "", "")
        rows.append((vehicle, part.part_name, part.part_state.value, part.work_date,
                     part.origin.value, part.replaces_part or "", line.ref))  # fmt: skip
        if part.removed_part_kept:
            was = part.replaces_part or f"the part replaced by {part.part_name}"
            rows.append((vehicle, was, f"retained: {part.removed_part_kept}", part.work_date,
                         "original of the vehicle", "", line.ref))  # fmt: skip
    columns = (
        Column("vehicle", "Vehicle"),
        Column("part", "Part"),
        Column("state", "Where it is"),
        Column("day", "Since", _DATE),
        Column("origin", "Origin"),
        Column("replaces", "Replaces"),
        Column("ref", "Line or order"),
    )
    return [Table("Parts", columns, tuple(rows), "" if rows else "No part is on record.")]
