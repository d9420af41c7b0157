"""Plain lists of the books: tax codes, accounts, invoices, payments, periods, value tests."""

from __future__ import annotations

from datetime import date

from recondition.accounts.chart import DEFAULT
from recondition.amounts import Money
from recondition.book import Connection, reading
from recondition.book.accounting import chart_of, closings, period_events
from recondition.book.closing import states
from recondition.book.undone import undone_by
from recondition.reports.lists_bench import of
from recondition.reports.table import CellKind, Column, Table

_DATE, _MONEY, _PERCENT = CellKind.DATE, CellKind.MONEY, CellKind.PERCENT
_TAKEN_BACK = Column("taken_back", "Taken back by")


def tax_codes(conn: Connection, stock: str | None) -> list[Table]:
    """List tax codes by code and day."""
    del stock
    found = sorted(
        reading.stored(conn, "tax code"), key=lambda item: (item.entry.code, item.entry.from_date)
    )
    rows = tuple(
        (c.ref, c.entry.code, c.entry.from_date, c.entry.last_day, c.entry.rate,
         c.entry.recoverable, "; ".join(c.entry.charged_on), c.entry.source)
        for c in found
    )  # fmt: skip
    columns = (
        Column("ref", "Row"),
        Column("code", "Code"),
        Column("from", "From", _DATE),
        Column("last", "Last day", _DATE),
        Column("rate", "Rate", _PERCENT),
        Column("back", "Comes back", _PERCENT),
        Column("charged_on", "Charged on"),
        Column("source", "Where it was read"),
    )
    note = "General information: the local accountant decides what applies."
    return [Table("Tax codes", columns, rows, note)]


def accounts(conn: Connection, stock: str | None) -> list[Table]:
    """List every kind of posting with its account today."""
    del stock
    day, chart = date.max.isoformat(), chart_of(conn)
    rows = []
    for role in DEFAULT:
        found = chart.account(role, day)
        own = "" if found == DEFAULT[role] else "the book's own"
        rows.append((role, found.code, found.name, own))
    columns = (
        Column("role", "What goes there"),
        Column("code", "Account code"),
        Column("name", "Account name"),
        Column("own", "From"),
    )
    note = f"Version {chart.version(day)[:12]}; generic accounts where nothing is chosen."
    return [Table("Account map", columns, tuple(rows), note)]


def supplier_invoices(conn: Connection, stock: str | None) -> list[Table]:
    """List supplier invoices."""
    del stock
    names, gone = reading.refs_by_id(conn, ("supplier",)), undone_by(conn)
    rows = tuple(
        (i.ref, names[i.entry.supplier], i.entry.number, i.entry.invoice_on,
         i.booked.period if i.booked else "", i.entry.total, _foreign(i.entry.foreign),
         i.entry.due_on, gone.get(i.id))
        for i in reading.stored(conn, "supplier invoice")
    )  # fmt: skip
    columns = (
        Column("ref", "Ref"),
        Column("supplier", "Supplier"),
        Column("number", "Invoice"),
        Column("day", "Day", _DATE),
        Column("period", "Period"),
        Column("total", "Total", _MONEY),
        Column("foreign", "In its currency"),
        Column("due", "Due", _DATE),
        _TAKEN_BACK,
    )
    return [Table("Supplier invoices", columns, rows)]


def _foreign(foreign: object) -> str:
    """Write a foreign amount with its rate; nothing where there is none."""
    amount, rate = getattr(foreign, "amount", None), getattr(foreign, "rate", None)
    return f"{amount} at {rate:f}" if isinstance(amount, Money) else ""


def payments(conn: Connection, stock: str | None) -> list[Table]:
    """List payments with what each settled, and exchange gain or loss."""
    del stock
    kinds = ("supplier invoice", "owner invoice", "sale")
    names, gone = reading.refs_by_id(conn, kinds), undone_by(conn)
    rows = []
    for item in reading.stored(conn, "payment"):
        entry, booked = item.entry, item.booked
        if booked is None:
            continue
        target = entry.invoice or entry.owner_invoice or entry.sale
        rows.append(
            (item.ref, entry.paid_on, booked.period, entry.way.value, names[target], entry.amount,
             booked.settled, booked.exchange, gone.get(item.id))
        )  # fmt: skip
    columns = (
        Column("ref", "Ref"),
        Column("day", "Day", _DATE),
        Column("period", "Period"),
        Column("way", "Way"),
        Column("settles", "Settles"),
        Column("amount", "Amount", _MONEY),
        Column("settled", "Taken off", _MONEY),
        Column("exchange", "Beyond it", _MONEY),
        _TAKEN_BACK,
    )
    note = "Beyond it: paid more (or less) than the book carried, by exchange."
    return [Table("Payments", columns, tuple(rows), note)]


def periods(conn: Connection, today: date) -> list[Table]:
    """List posting periods with their state, and what happened to them."""
    currency = reading.settings_of(conn).currency
    by = reading.refs_by_id(conn, ("person",)).get
    rows = tuple((p, state, Money(debits, currency)) for p, state, debits in states(conn, today))
    events = period_events(conn)
    standing = {item.id for item in closings(events).values()}
    told = tuple(
        (item.entry.period, item.entry.step.value, item.recorded_at[:16], by(item.author),
         item.entry.why, (item.entry.map_version or "")[:12],
         "" if item.id in standing or item.entry.step.value == "reopened" else "reopened since")
        for item in events
    )  # fmt: skip
    columns = (
        Column("period", "Period"),
        Column("state", "State"),
        Column("debits", "Debits = credits", _MONEY),
    )
    event_columns = (
        Column("period", "Period"),
        Column("step", "Was"),
        Column("at", "At"),
        Column("by", "By"),
        Column("why", "Why"),
        Column("map", "Account map"),
        Column("now", "Now"),
    )
    return [Table("Periods", columns, rows), Table("What happened to them", event_columns, told)]


def value_tests(conn: Connection, stock: str | None) -> list[Table]:
    """List value tests with what each car stood at and by how much the test moved it."""
    names, gone = reading.refs_by_id(conn, ("vehicle",)), undone_by(conn)
    rows = tuple(
        (t.ref, names[t.entry.vehicle], t.entry.tested_on, t.entry.expected_price,
         t.entry.to_complete, t.entry.to_sell, t.booked.carrying, t.booked.change, t.entry.basis,
         gone.get(t.id))
        for t in sorted(of(conn, stock, "value test"), key=lambda t: t.ref)
        if t.booked
    )  # fmt: skip
    columns = (
        Column("ref", "Test"),
        Column("vehicle", "Vehicle"),
        Column("day", "Day", _DATE),
        Column("price", "Expected price", _MONEY),
        Column("finish", "To finish", _MONEY),
        Column("sell", "To sell", _MONEY),
        Column("stood", "Stood at", _MONEY),
        Column("change", "Moved by", _MONEY),
        Column("basis", "Basis"),
        _TAKEN_BACK,
    )
    note = "The lower of cost and net realisable value; the local accountant decides."
    return [Table("Value tests", columns, rows, note)]
