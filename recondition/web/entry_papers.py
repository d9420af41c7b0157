"""What stands behind an entry of the journal that is no line: records, receipts, an invoice."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money
from recondition.amounts.documents import Settled
from recondition.amounts.money import total
from recondition.book import reading
from recondition.book.facts import stock_facts
from recondition.book.kinds import LINE_KINDS
from recondition.book.reading import refs_by_id
from recondition.book.sums import taken_from_invoices
from recondition.reports.table import CellKind, Column, Table
from recondition.web.linked import vehicle_at
from recondition.web.opened import record_at

if TYPE_CHECKING:
    from recondition.accounts.facts import StockFact
    from recondition.accounts.journal import Entry
    from recondition.accounts.reconciling import Taken
    from recondition.book import Connection
    from recondition.reports.books_view import View

_BACK = ", taken back"
_OWNERS = re.compile(rf"(?:cost of )?owner invoice (.+?)(?:{_BACK})?")
# The words before a ref in the name of a document, and the kind of record that they stand for.
_KINDS = {
    "payment": "payment", "sale": "sale", "settlement": "sale", "owner invoice": "owner invoice",
    "cost of owner invoice": "owner invoice", "value test": "value test",
    "sublet accrued": "order", "release": "vehicle",
}  # fmt: skip


def record_behind(conn: Connection, document: str) -> str:
    """Give the address of the record that a document of the journal stands for, '' for none."""
    name = document.removesuffix(_BACK)
    for words, kind in _KINDS.items():
        ref = name.removeprefix(f"{words} ")
        if ref != name and reading.ids_by_ref(conn, kind, [ref]):
            return vehicle_at(ref) if kind == "vehicle" else record_at(kind, ref)
    whose = refs_by_id(conn, ("supplier",))
    for item in reading.stored(conn, "supplier invoice"):
        if _bought(whose[item.entry.supplier], item.entry.number) == name:
            return record_at(item.kind, item.ref)
    return ""


def _bought(supplier: str, number: str) -> str:
    """Write an invoice as the journal names it."""
    return f"invoice {number}" + (f" of {supplier}" if supplier else "")


def _billed(conn: Connection, view: View, ref: str) -> Table:
    """Give the lines that an invoice to an owner bills, each with what it cost. Raises NotThere."""
    ids = reading.one(conn, "owner invoice", ref).entry.lines
    lines = [
        (line, line.priced)
        for line in reading.stored(conn, *LINE_KINDS, ids=ids)
        if line.priced is not None
    ]
    rows = tuple((line.ref, line.kind, priced.billed, priced.cost) for line, priced in lines)
    billed = total((p.billed for _, p in lines if p.billed is not None), view.currency)
    cost = total((p.cost for _, p in lines), view.currency)
    columns = (
        Column("line", "Line"),
        Column("kind", "What"),
        Column("billed", "Billed", CellKind.MONEY),
        Column("cost", "Cost", CellKind.MONEY),
    )
    note = "Every line that it bills, without tax. What was spoiled was an expense at once."
    return Table("What it bills", columns, rows, note, ("all", None, billed, cost))


def naming(conn: Connection, view: View, document: str) -> Table | None:
    """Give the lines and receipts that name the invoice of an entry; None where none does.

    Of an invoice to an owner these are the lines that it bills.
    """
    billed = _OWNERS.fullmatch(document)
    if billed:
        return _billed(conn, view, billed[1])
    whose, name = refs_by_id(conn, ("supplier",)), document.removesuffix(_BACK)
    found: list[Taken] = [
        each
        for (supplier, _), took in taken_from_invoices(conn).items()
        if any(_bought(whose.get(supplier, ""), one.number) == name for one in took)
        for each in took
    ]
    if not found:
        return None
    columns = (
        Column("line", "Line or receipt"),
        Column("vehicle", "Vehicle"),
        Column("amount", "Took from it", CellKind.MONEY),
    )
    rows = tuple((each.ref, each.vehicle, view.money(each.amount)) for each in found)
    note = "Every line and receipt that names this invoice, whichever day it is of, with tax."
    whole = ("all", None, view.money(sum(each.amount for each in found)))
    return Table("What names this invoice", columns, rows, note, whole)


def stock_rows(conn: Connection, entry: Entry) -> tuple[tuple[Any, ...], ...]:
    """Give what moved stock in an entry, as rows beside its lines."""
    whose = refs_by_id(conn, ("supplier",))
    currency = reading.settings_of(conn).currency
    return tuple(
        (*fact.record[::-1], None, date.fromisoformat(fact.day), "", "",
         Money(fact.owed + fact.tax_recovered or fact.difference, currency))
        for fact in sorted(stock_facts(conn), key=lambda each: each.ref)
        if (fact.period, fact.day) == (entry.period, entry.day)
        and _document(fact, whose.get(fact.supplier or "", "")) == entry.document
    )  # fmt: skip


def _document(fact: StockFact, supplier: str) -> str:
    """Name the document that the journal has a movement of stock under."""
    if fact.settled == Settled.OPENING:
        return "opening"
    if not fact.owed:
        return fact.what
    if fact.number:
        return _bought(supplier, fact.number)
    return f"bought from {supplier}" if supplier else "bought without invoice"
