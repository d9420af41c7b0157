"""Which vehicles got a batch: every use that names a receipt, and what may be of it besides.

See ``stock_uses`` for how a use names one. First-in first-out layers price a use; they are no
proof of what was in the bottle.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from recondition.book import Connection, reading
from recondition.book.context import NotThere
from recondition.ledger.drafts import Stored
from recondition.materials.counts import added
from recondition.materials.receiving import Receipt
from recondition.reports.stock_data import Shelves, measured_how
from recondition.reports.stock_uses import Taken, Uses
from recondition.reports.table import Cell, CellKind, Column, Table

_DATE, _NUMBER = CellKind.DATE, CellKind.NUMBER


def trace(conn: Connection, which: str | None, _today: date) -> list[Table]:
    """Follow a receipt, by its ref or the batch number printed on it, to every use.

    Raises NotThere.
    """
    receipts = [
        each
        for each in reading.stored(conn, "receipt")
        if which is None or which in (each.ref, each.entry.batch_number)
    ]
    if not receipts and which is not None:
        raise NotThere(what="receipt or batch number", name=which)
    uses = Uses(conn)
    return [table for receipt in receipts for table in _trace_of(conn, uses, receipt)]


def _trace_of(conn: Connection, uses: Uses, receipt: Stored[Receipt]) -> list[Table]:
    """Give the tables of one receipt."""
    taken = uses.of(receipt.entry.product)
    named = [each for each in taken if receipt.id in each.named]
    tables = [
        _delivery(conn, uses.shelves, receipt),
        _uses_table(uses.shelves, receipt, named, _unnamed(uses.shelves, receipt, taken)),
    ]
    if named:
        tables.append(_vehicles(uses.shelves, receipt, named))
    priced = [each for each in taken if each not in named and _from_layer(each, receipt)]
    return [*tables, _layers(uses.shelves, receipt, priced)] if priced else tables


def _delivery(conn: Connection, shelves: Shelves, receipt: Stored[Receipt]) -> Table:
    """Write what came, from whom, and what became of the delivery as a whole."""
    entry = receipt.entry
    back = [
        f"{each.entry.quantity} on {each.entry.returned_on.isoformat()} ({each.ref})"
        for each in reading.stored(conn, "supplier return")
        if each.entry.receipt == receipt.id
    ]
    undone = [
        f"by {each.ref} on {each.entry.reversed_on.isoformat()}: {each.entry.why}"
        for each in reading.stored(conn, "stock reversal")
        if each.entry.reverses == receipt.id
    ]
    product = _product(shelves, receipt)
    shown = {
        "product": f"{product.ref} {product.entry.name}",
        "batch number": entry.batch_number or "none printed, or not noted",
        "supplier": shelves.refs.get(entry.supplier or "", "none named"),
        "received on": entry.received_on.isoformat(),
        "invoice": entry.invoice_number or "none noted",
        "amount": str(entry.quantity),
        "use by": entry.use_by.isoformat() if entry.use_by else None,
        "sent back": "; ".join(back),
        "taken back": "; ".join(undone),
    }
    rows = tuple((name, text) for name, text in shown.items() if text)
    columns = (Column("field", "Field"), Column("value", "Value"))
    return Table(f"Receipt {receipt.ref}", columns, rows)


def _product(shelves: Shelves, receipt: Stored[Receipt]) -> Stored[Any]:
    """Give the product of a receipt."""
    return next(each for each in shelves.products if each.id == receipt.entry.product)


def _unnamed(shelves: Shelves, receipt: Stored[Receipt], taken: list[Taken]) -> int:
    """Count standing uses posted since the receipt that name no batch at all."""
    came = next(
        m.sequence for m in shelves.movements(receipt.entry.product) if m.entry.source == receipt.id
    )
    since = (each for each in taken if each.moved.sequence > came)
    return sum(1 for each in since if each.stands and not each.named)


def _uses_table(
    shelves: Shelves, receipt: Stored[Receipt], named: list[Taken], unnamed: int
) -> Table:
    """List the uses that name a receipt; the total leaves reversed ones out."""
    unit = _product(shelves, receipt).entry.unit
    rows = tuple(_use_row(shelves, receipt, each) for each in named)
    whole = added(each.moved.entry.quantity for each in named if each.stands)
    note = (
        "A container counts with the batch it held when the use was posted."
        if named
        else "No use names this receipt, its containers or its mixes."
    )
    if unnamed:
        uses = "1 use names" if unnamed == 1 else f"{unnamed} uses name"
        note += f" Since it came, {uses} no batch at all and may be of it."
    last = ("all", None, "", "standing", "", whole, "", "", "") if named else None
    columns = (
        Column("vehicle", "Vehicle"),
        Column("day", "Day", _DATE),
        Column("line", "Line"),
        Column("work", "Work"),
        Column("panel", "Panel"),
        Column(f"amount_{unit}", f"Used, {unit}", _NUMBER),
        Column("how", "How found"),
        Column("noted_by", "Noted by"),
        Column("named_by", "Named by"),
    )
    return Table(f"Uses of receipt {receipt.ref}", columns, rows, note, last)


def _use_row(shelves: Shelves, receipt: Stored[Receipt], each: Taken) -> tuple[Cell, ...]:
    """Write one use."""
    line = each.line
    return (
        shelves.whose(line), line.entry.work_date, line.ref, _work(shelves, each),
        line.entry.panel or "", each.moved.entry.quantity, measured_how(line),
        shelves.refs.get(line.author, ""), each.named[receipt.id],
    )  # fmt: skip


def _work(shelves: Shelves, each: Taken) -> str:
    """Say what a use was for, whether it was thrown away, and whether it was taken back."""
    entry = each.line.entry
    words = [text for text in (entry.operation, entry.words) if text]
    if each.wasted:
        words.append("wasted")
    if each.line.reversed_by is not None:
        words.append(f"taken back by {shelves.lines[each.line.reversed_by].ref}")
    return ", ".join(words)


def _vehicles(shelves: Shelves, receipt: Stored[Receipt], named: list[Taken]) -> Table:
    """List each vehicle once, with what it got."""
    by_stock: dict[str, list[Taken]] = {}
    for each in named:
        if each.stands:
            by_stock.setdefault(shelves.whose(each.line), []).append(each)
    unit = _product(shelves, receipt).entry.unit
    called = {v.ref: v.entry.designation for v in shelves.vehicles.values()}
    rows = tuple(
        (stock, called.get(stock, "for the shop itself"), len(found), *_amounts(found))
        for stock, found in sorted(by_stock.items())
    )
    columns = (
        Column("vehicle", "Stock"),
        Column("designation", "Vehicle"),
        Column("uses", "Uses", CellKind.INTEGER),
        Column(f"used_{unit}", f"Used, {unit}", _NUMBER),
        Column(f"wasted_{unit}", f"Wasted, {unit}", _NUMBER),
    )
    standing = [each for each in named if each.stands]
    last = ("all", "", len(standing), *_amounts(standing)) if standing else None
    note = "" if standing else "Every use that named it was taken back."
    return Table(f"Vehicles that got receipt {receipt.ref}", columns, rows, note, last)


def _amounts(found: list[Taken]) -> tuple[Decimal, Decimal]:
    """Add up what was used and what was wasted."""
    used = added(each.moved.entry.quantity for each in found if not each.wasted)
    return used, added(each.moved.entry.quantity for each in found if each.wasted)


def _from_layer(each: Taken, receipt: Stored[Receipt]) -> bool:
    """Tell whether a standing use was priced from a receipt's layer."""
    return each.stands and any(layer.receipt == receipt.id for layer in each.moved.entry.taken)


def _layers(shelves: Shelves, receipt: Stored[Receipt], priced: list[Taken]) -> Table:
    """List lines whose cost came from a receipt's layer though they do not name it."""
    unit = _product(shelves, receipt).entry.unit
    rows = tuple(
        (shelves.whose(each.line), each.line.entry.work_date, each.line.ref,
         added(layer.quantity for layer in each.moved.entry.taken if layer.receipt == receipt.id))
        for each in priced
    )  # fmt: skip
    columns = (
        Column("vehicle", "Vehicle"),
        Column("day", "Day", _DATE),
        Column("line", "Line"),
        Column(f"amount_{unit}", f"Priced from it, {unit}", _NUMBER),
    )
    note = (
        "These lines do not name the receipt; their cost came from it, first in first out. "
        "That is no proof that this batch was in the bottle."
    )
    return Table(f"Lines priced from receipt {receipt.ref}", columns, rows, note)
