"""What is open and how long it keeps yet, and deliveries past their last day."""

from __future__ import annotations

from datetime import date
from typing import Any

from recondition.book import Connection, reading
from recondition.ledger.drafts import Stored
from recondition.materials import shelf_life
from recondition.materials.receiving import Container, Receipt
from recondition.reports.stock_data import Shelves
from recondition.reports.table import CellKind, Column, Table

_DATE = CellKind.DATE
_DECIDES = "The product's data sheet and label decide whether it may still be used."


def opened(conn: Connection, which: str | None, today: date) -> list[Table]:
    """List open containers by their last good day, and old deliveries. Raises NotThere."""
    shelves = Shelves(conn, which)
    products = {each.id: each for each in shelves.products}
    containers = [
        each
        for each in reading.stored(conn, "container")
        if each.entry.product in products and each.entry.emptied_on is None
    ]
    return [
        _open_containers(products, [c for c in containers if c.entry.opened_on], today),
        _past_use_by(conn, shelves, containers, today),
    ]


def _open_containers(
    products: dict[str, Stored[Any]], containers: list[Stored[Container]], today: date
) -> Table:
    """List open containers, the oldest first; those without a shelf life are counted."""
    rows, unknown = [], []
    for each in containers:
        product = products[each.entry.product]
        since, life = each.entry.opened_on, product.entry.shelf_life_open
        if since is None or life is None:
            unknown.append(each.ref)
            continue
        until = shelf_life.good_until(since, life)
        left = shelf_life.in_words(shelf_life.days_left(until, today))
        rows.append((each.ref, product.entry.name, since, until, left))
    note = [_DECIDES] if rows else ["No container with a shelf life after opening is open."]
    if unknown:
        note.append(f"Open, with no shelf life on record: {', '.join(unknown)}.")
    columns = (
        Column("container", "Container"),
        Column("product", "Product"),
        Column("open_since", "Open since", _DATE),
        Column("good_until", "Good until", _DATE),
        Column("standing", f"On {today.isoformat()}"),
    )
    ordered = tuple(sorted(rows, key=lambda row: (row[3], row[0])))
    return Table("Open containers", columns, ordered, " ".join(note))


def _past_use_by(
    conn: Connection, shelves: Shelves, containers: list[Stored[Container]], today: date
) -> Table:
    """List deliveries past their last day of which something may still be here."""
    products = {each.id: each for each in shelves.products}
    rows = []
    for receipt in reading.stored(conn, "receipt"):
        last_day = receipt.entry.use_by
        if receipt.entry.product not in products or last_day is None or last_day >= today:
            continue
        where = _still_here(shelves, receipt, containers)
        if where:
            product = products[receipt.entry.product].entry.name
            past = shelf_life.in_words(shelf_life.days_left(last_day, today))
            batch = receipt.entry.batch_number or ""
            rows.append((receipt.ref, product, batch, last_day, past, where))
    columns = (
        Column("receipt", "Receipt"),
        Column("product", "Product"),
        Column("batch_number", "Batch"),
        Column("use_by", "Use by", _DATE),
        Column("past", "Past"),
        Column("where", "May be in"),
    )
    note = (
        f"Found by containers that are not emptied and by cost layers (first in first out only), "
        f"which are no proof of what stands on the shelf. {_DECIDES}"
        if rows
        else "Nothing that is known to be here is past the day printed on it."
    )
    return Table("Deliveries past their use-by day", columns, tuple(rows), note)


def _still_here(
    shelves: Shelves, receipt: Stored[Receipt], containers: list[Stored[Container]]
) -> str:
    """Say where something of a delivery may still be; empty where nothing points to it."""
    found = [f"container {each.ref}" for each in containers if each.entry.receipt == receipt.id]
    moved = shelves.movements(receipt.entry.product)
    layers = moved[-1].entry.layers if moved else ()
    if any(layer.receipt == receipt.id and layer.quantity > 0 for layer in layers):
        found.append("its cost layer")
    return ", ".join(found)
