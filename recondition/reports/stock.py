"""Stock as tables: what is on hand, every movement with where it went, what is due.

Quantities are in each product's stock unit, cost and value in the home currency.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.amounts.rounding import round_to
from recondition.book import Connection, reading
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Count
from recondition.materials.balance import Balance, balance
from recondition.materials.counts import added
from recondition.materials.products import Product
from recondition.materials.stock import Flow, Movement
from recondition.reports.stock_counts import unrecorded
from recondition.reports.stock_data import Shelves, due, measured_how
from recondition.reports.stock_opened import opened
from recondition.reports.stock_trace import trace
from recondition.reports.table import Cell, CellKind, Column, Table

__all__ = ["moves", "on_hand", "opened", "reorder", "trace", "unrecorded"]

_DATE, _MONEY, _NUMBER = CellKind.DATE, CellKind.MONEY, CellKind.NUMBER
_AVERAGE_PLACES = 4


def on_hand(conn: Connection, which: str | None, _today: date) -> list[Table]:
    """List what is on hand by the book and its value. Raises NotThere."""
    shelves = Shelves(conn, which)
    kept = [p for p in shelves.products if shelves.movements(p.id) or p.entry.reorder_at]
    left_out = len(shelves.products) - len(kept)
    rows = [_on_hand_row(shelves, product) for product in kept]
    value = total((shelves.value(p.id) for p in kept), shelves.settings.currency)
    note = [f"Valued by {shelves.settings.stock_value}. Amounts are what the book says; a count"]
    note.append("found them true on the day last counted, or adjusted them.")
    if left_out:
        some = "1 product was" if left_out == 1 else f"{left_out} products were"
        note.append(f"{some} never received into stock.")
    if not rows:
        note = ["Nothing was ever received into stock. Take a delivery in with"]
        note.append("'recondition stock receive'.")
    columns = (
        Column("ref", "Ref"),
        Column("name", "Product"),
        Column("on_hand", "On hand", _NUMBER),
        Column("unit", "Unit"),
        Column("value", "Value", _MONEY),
        Column("average_cost", "Average cost"),
        Column("reorder", "Order"),
        Column("last_counted", "Last counted", _DATE),
    )
    last = ("all", "", None, "", value, "", "", None) if rows else None
    return [Table("Stock on hand", columns, tuple(rows), " ".join(note), last)]


def _on_hand_row(shelves: Shelves, product: Stored[Product]) -> tuple[Cell, ...]:
    """Write one product."""
    amount, value = shelves.on_hand(product.id), shelves.value(product.id)
    unit, order = product.entry.unit, due(product.entry, amount)
    average = round_to(value.fraction / Fraction(amount), _AVERAGE_PLACES) if amount > 0 else None
    return (
        product.ref, product.entry.name, amount, unit, value,
        "" if average is None else f"{average:f} per {unit}",
        "no reorder point" if order is None else order.words, _last_counted(shelves, product.id),
    )  # fmt: skip


def _last_counted(shelves: Shelves, product: str) -> date | None:
    """Give the day of the last count that stands."""
    days = [
        line.entry.work_date
        for line in shelves.lines.values()
        if isinstance(line.entry, Count)
        and line.entry.product == product
        and line.reversed_by is None
    ]
    return max(days, default=None)


def moves(conn: Connection, which: str | None, _today: date) -> list[Table]:
    """List the movements of a product as they were posted, and where it went.

    Raises NotThere.
    """
    shelves = Shelves(conn, which)
    return [table for product in shelves.products for table in _moves_of(shelves, product)]


def _moves_of(shelves: Shelves, product: Stored[Product]) -> tuple[Table, ...]:
    """Give both tables of one product."""
    moved, unit = shelves.movements(product.id), product.entry.unit
    title = f"Movements of {product.ref} {product.entry.name}"
    columns = (
        Column("number", "No.", CellKind.INTEGER),
        Column("day", "Day", _DATE),
        Column("what", "What"),
        Column("record", "Record"),
        Column(f"quantity_{unit}", f"Moved, {unit}", _NUMBER),
        Column("cost", "Cost", _MONEY),
        Column("price_difference", "Price diff.", _MONEY),
        Column(f"on_hand_{unit}", f"Left, {unit}", _NUMBER),
        Column("value", "Value", _MONEY),
    )
    if not moved:
        return (Table(title, columns, (), "It was never received into stock."),)
    late = _posted_late([each.entry for each in moved])
    rows = tuple(
        (number, each.entry.moved_on, _what(shelves, each, posted_late=behind),
         _record(shelves, each), *_effect(each.entry), each.entry.on_hand, each.entry.value)
        for number, (each, behind) in enumerate(zip(moved, late, strict=True), start=1)
    )  # fmt: skip
    note = (
        f"In the order of posting, valued by {shelves.settings.stock_value}. What goes out is "
        "negative. Each value is the one before, with the cost, less the price difference (what "
        "a reversal, return or late freight could not put on stock)."
    )
    entries = [each.entry for each in moved]
    went = _where_it_went(f"Where {product.ref} went", entries, shelves.settings.currency, unit)
    return Table(title, columns, rows, note), went


def _posted_late(moved: list[Movement]) -> list[bool]:
    """Tell of each movement whether its day lies before that of one posted earlier."""
    late, newest = [], date.min
    for movement in moved:
        late.append(movement.moved_on < newest)
        newest = max(newest, movement.moved_on)
    return late


def _what(shelves: Shelves, moved: Stored[Movement], *, posted_late: bool) -> str:
    """Name a movement's flow, with how its amount was found where it is a line."""
    movement = moved.entry
    freight = movement.flow is Flow.RECEIVED and not movement.quantity
    words = ["late freight" if freight else str(movement.flow)]
    if movement.quantity < 0 or (freight and movement.cost.minor < 0):
        words.append("taken back")
    line = shelves.lines.get(movement.source)
    if line is not None and line.reverses is None:
        words.append(measured_how(line))
    if posted_late:
        words.append("posted late")
    return ", ".join(words)


def _record(shelves: Shelves, moved: Stored[Movement]) -> str:
    """Name the record behind a movement, and the vehicle of a line."""
    ref = moved.ref.partition(":")[2]
    line = shelves.lines.get(moved.entry.source)
    return ref if line is None else f"{ref}, {shelves.whose(line)}"


def _effect(movement: Movement) -> tuple[Decimal, Money, Money | None]:
    """Give quantity and cost as they change what is on hand, and the price difference."""
    difference = movement.price_difference or None
    if movement.flow in _CAME_IN:
        return movement.quantity, movement.cost, difference
    return movement.quantity.copy_negate(), -movement.cost, difference


_CAME_IN = {Flow.RECEIVED: "received", Flow.COUNT_GAIN: "count gains"}
_WENT_OUT = {
    Flow.ISSUED: "issued",
    Flow.WASTED: "wasted",
    Flow.COUNT_LOSS: "count losses",
    Flow.RETURNED: "returned",
}


def _where_it_went(title: str, moved: list[Movement], currency: str, unit: str) -> Table:
    """Set what came in against what became of it, both adding up to the same.

    What is on hand is read from the last movement and not worked out, so the two sides are
    two separate records of the same thing.
    """
    whole, last = balance(moved, currency), moved[-1]
    came_in, went_out = _side("came in", _CAME_IN, whole), _side("went out", _WENT_OUT, whole)
    there = ("is there", "on hand", last.on_hand, last.value)
    gap: tuple[Cell, ...] = ("went out", "price difference", Decimal(0), whole.price_difference)
    both = [*went_out, gap, there]
    sum_in, sum_out = (_summed(side, currency) for side in (came_in, both))
    columns = (
        Column("side", "Side"),
        Column("flow", "What"),
        Column(f"quantity_{unit}", f"Amount, {unit}", _NUMBER),
        Column("cost", "Cost", _MONEY),
    )
    note = (
        "Both sides agree. What was taken back is off the row where it stood."
        if sum_in == sum_out
        else "The two sides differ: the book is damaged. Run 'recondition check'."
    )
    rows = (*came_in, ("came in", "all of it", *sum_in), *both)
    total_row = ("out or there", "all of it", *sum_out)
    return Table(title, columns, rows, note, total_row)


def _side(side: str, flows: dict[Flow, str], whole: Balance) -> list[tuple[Cell, ...]]:
    """Write the flows of one side."""
    return [(side, words, whole.quantity[flow], whole.cost[flow]) for flow, words in flows.items()]


def _summed(rows: list[tuple[Cell, ...]], currency: str) -> tuple[Decimal, Money]:
    """Add up the amounts and costs of some rows."""
    amounts = (cell for row in rows for cell in row if isinstance(cell, Decimal))
    costs = (cell for row in rows for cell in row if isinstance(cell, Money))
    return added(amounts), total(costs, currency)


def reorder(conn: Connection, which: str | None, _today: date) -> list[Table]:
    """List products at or below their reorder point, with their supplier. Raises NotThere."""
    shelves = Shelves(conn, which)
    orders = [(p, due(p.entry, shelves.on_hand(p.id))) for p in shelves.products]
    suppliers = _supplier_names(conn)
    rows = tuple(
        (p.ref, p.entry.name, order.on_hand, p.entry.unit, str(order.at),
         suppliers.get(p.entry.supplier or "", "none named"))
        for p, order in orders
        if order is not None and order.is_due
    )  # fmt: skip
    note = "" if rows else "No product is at or below its reorder point."
    if not any(order for _, order in orders):
        note = "No product has a reorder point, so nothing can be said."
    columns = (
        Column("ref", "Ref"),
        Column("name", "Product"),
        Column("on_hand", "On hand", _NUMBER),
        Column("unit", "Unit"),
        Column("at", "Order at"),
        Column("supplier", "Supplier"),
    )
    return [Table("Due for an order", columns, rows, note)]


def _supplier_names(conn: Connection) -> dict[str, str]:
    """Give suppliers as ref and name, by id."""
    return {
        each.id: f"{each.ref} {each.entry.name or '(erased)'}"
        for each in reading.stored(conn, "supplier")
    }
