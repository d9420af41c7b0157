"""What was bought: landed cost by item, supplier invoices against their lines."""

from __future__ import annotations

from typing import Any

from recondition.accounts.facts import InvoiceKey
from recondition.accounts.reconciling import Bill, Taken, Tie, tie
from recondition.amounts import Money
from recondition.amounts.documents import Foreign
from recondition.book import Connection, reading
from recondition.book.facts import UndoneBy, stock_facts
from recondition.book.facts_paid import invoice_facts
from recondition.book.facts_shared import Share, foreign_shares
from recondition.book.questions import vehicle_of
from recondition.book.sums import taken_from_invoices
from recondition.book.undone import undone_by
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import entered_of
from recondition.reports.books_view import GENERAL
from recondition.reports.table import Cell, CellKind, Column, Table

_DATE, _MONEY = CellKind.DATE, CellKind.MONEY


def landed(conn: Connection, refs: tuple[str, ...]) -> list[Table]:
    """Give the landed cost of cars, line by line. Raises NotThere."""
    vehicles = [vehicle_of(conn, ref) for ref in refs] or reading.stored(conn, "vehicle")
    made = [_landed(conn, each) for each in sorted(vehicles, key=lambda each: each.ref)]
    return [table for table in made if refs or table.rows]


def _landed(conn: Connection, vehicle: Any) -> Table:  # noqa: ANN401 - a Stored vehicle
    """Give the landed cost of one car: what was paid, in which money, at whose rate."""
    currency = reading.settings_of(conn).currency
    by_id = {each.id: each for each in reading.lines(conn, vehicle.id)}
    shares = foreign_shares(conn)
    rows: list[tuple[Cell, ...]] = []
    costs = 0
    for each in by_id.values():
        kind, entry = entered_of(each, by_id)
        if entry.purpose is not Purpose.LANDED or each.priced is None:
            continue
        item = getattr(entry, "item", None)
        costs += each.priced.cost.minor
        rows.append(
            (each.ref, each.entry.work_date, item.value if item else kind,
             _on_document(getattr(entry, "foreign", None), shares.get(each.reverses or each.id),
                          -1 if each.reverses else 1),
             each.priced.tax, each.priced.tax_recovered, each.priced.cost)
        )  # fmt: skip
    columns = (
        Column("line", "Line"),
        Column("day", "Day", _DATE),
        Column("item", "Paid for"),
        Column("document", "On the document"),
        Column("tax", "Tax", _MONEY),
        Column("recovered", "that comes back", _MONEY),
        Column("cost", "Cost", _MONEY),
    )
    total = ("all", None, None, None, None, None, Money(costs, currency))
    note = "Sunk when work is chosen. Exchange on payment is no cost of the car."
    return Table(f"Landed cost of {vehicle.ref}", columns, tuple(rows), note, total)


def _on_document(foreign: Foreign | None, share: Share | None, sign: int) -> str | None:
    """Write a foreign amount with its rate and whose rate it is; of a share also the whole."""
    said = share.share if share is not None else foreign
    if said is None:
        return None
    amount = Money(sign * said.amount.minor, said.amount.currency).text
    if share is not None:
        amount = f"{amount} of {share.whole.text} on {share.shared}"
    return f"{amount} at {said.rate:f} ({said.source})"


def invoices(conn: Connection, refs: tuple[str, ...], period: str | None) -> list[Table]:
    """Hold every supplier invoice against its lines, and name what does not tie."""
    currency = reading.settings_of(conn).currency
    names, gone = reading.refs_by_id(conn, ("supplier",)), undone_by(conn)
    facts = {fact.ref: fact for fact in invoice_facts(conn, UndoneBy(conn), stock_facts(conn))}
    settled: dict[str, int] = {}
    for item in reading.stored(conn, "payment"):
        if item.id not in gone and item.entry.invoice and item.booked and item.booked.settled:
            invoice = item.entry.invoice
            settled[invoice] = settled.get(invoice, 0) + item.booked.settled.minor
    bills = [
        Bill(ref=item.ref, key=facts[item.ref].key, supplier=names[item.entry.supplier],
             number=item.entry.number, day=item.entry.invoice_on, total=item.entry.total.minor,
             paid=settled.get(item.id, 0), rounding=facts[item.ref].rounding)
        for item in reading.stored(conn, "supplier invoice")
        if item.id not in gone and (period is None or facts[item.ref].period == period)
        and not item.entry.opening
    ]  # fmt: skip
    took = taken_from_invoices(conn)
    ties = [each for each in tie(bills, took) if not refs or set(refs) & set(each.by_vehicle())]
    rows = tuple(
        (t.bill.ref, f"{t.bill.number} of {t.bill.supplier}", t.bill.day,
         Money(t.bill.total, currency), Money(t.lines, currency), Money(t.unallocated, currency),
         _open(t.bill, currency))
        for t in ties
    )  # fmt: skip
    columns = (
        Column("ref", "Ref"),
        Column("invoice", "Invoice"),
        Column("day", "Day", _DATE),
        Column("total", "Total", _MONEY),
        Column("lines", "Its lines", _MONEY),
        Column("unallocated", "Left over", _MONEY),
        Column("open", "Not paid", _MONEY),
    )
    sums = [sum(getattr(t, name) for t in ties) for name in ("lines", "unallocated")]
    still = sum(_open(t.bill, currency).minor for t in ties)
    total = ("all", None, None, Money(sum(t.bill.total for t in ties), currency),
             *(Money(each, currency) for each in sums), Money(still, currency))  # fmt: skip
    note = (
        "Total = its lines + what is left over, with tax; rounding of foreign money is in neither."
    )
    recorded = {fact.key for fact in facts.values() if fact.undone is None}
    return [
        Table("Supplier invoices against their lines", columns, rows, note, total),
        _opened(ties, currency),
        _doubles(ties),
        _unrecorded(took, recorded, names, currency),
    ]


def _opened(ties: list[Tie], currency: str) -> Table:
    """Open each invoice up to its lines, by vehicle."""
    rows = tuple(
        (t.bill.ref, car, "; ".join(each.ref for each in t.taken if each.vehicle == car),
         Money(amount, currency))
        for t in ties
        for car, amount in t.by_vehicle().items()
    )  # fmt: skip
    columns = (
        Column("ref", "Ref"),
        Column("vehicle", "Vehicle"),
        Column("lines", "Lines"),
        Column("amount", "Amount", _MONEY),
    )
    return Table("By vehicle", columns, rows)


def _doubles(ties: list[Tie]) -> Table:
    """List invoices that may be the same bill under another number or sender."""
    rows = tuple(
        (t.bill.ref, t.bill.supplier, t.bill.number, "; ".join(t.doubles))
        for t in ties
        if t.doubles
    )
    columns = (
        Column("ref", "Ref"),
        Column("supplier", "Supplier"),
        Column("number", "Invoice"),
        Column("same", "May be the same as"),
    )
    return Table("Possible doubles", columns, rows)


def _open(bill: Bill, currency: str) -> Money:
    """Give what is not paid of an invoice; a credit note's is below zero."""
    sign = -1 if bill.total < 0 else 1
    return Money(bill.total - sign * bill.paid, currency)


def _unrecorded(
    took: dict[InvoiceKey, tuple[Taken, ...]],
    recorded: set[InvoiceKey],
    names: dict[str, str],
    currency: str,
) -> Table:
    """List invoices that lines name and nobody recorded."""
    rows = tuple(
        (names.get(key[0], key[0]), each[0].number, Money(sum(e.amount for e in each), currency),
         "; ".join(e.ref for e in each))
        for key, each in sorted(took.items())
        if key not in recorded
    )  # fmt: skip
    columns = (
        Column("supplier", "Supplier"),
        Column("number", "Invoice"),
        Column("lines", "Its lines", _MONEY),
        Column("refs", "Which"),
    )
    note = (
        f"Record them with 'recondition invoice add', so that they can be held against. {GENERAL}"
    )
    return Table("Named by lines, not recorded", columns, rows, note)
