"""Reading what the journal is derived from: invoices, payments, sales, value tests."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, case, func, select

from recondition.accounts import chart
from recondition.accounts.facts import (
    InvoiceFact,
    InvoiceKey,
    OwnerInvoiceFact,
    PaymentFact,
    SaleFact,
    ValueFact,
    invoice_key,
)
from recondition.accounts.invoices import Owed, Way
from recondition.book import reading
from recondition.book.facts import UndoneBy, on_account, period_of, stock_facts
from recondition.book.tables import line
from recondition.ledger.lines import Purpose
from recondition.worth.track import Sale, SaleResult, SaleTax


def allocated(conn: Connection) -> dict[InvoiceKey, dict[str, int]]:
    """Give what lines and receipts took from each invoice, with tax, by period."""
    found: dict[InvoiceKey, dict[str, int]] = {}
    recovered = func.coalesce(line.c.tax_recovered_minor, 0)
    query = (
        select(
            line.c.supplier, line.c.invoice_number, line.c.period,
            func.sum(line.c.cost_minor + recovered).label("took"),
        )
        .where(line.c.invoice_number.is_not(None), line.c.supplier.is_not(None), on_account())
        .group_by(line.c.supplier, line.c.invoice_number, line.c.period)
    )  # fmt: skip
    rows = [(r.supplier, r.invoice_number, r.period, int(r.took)) for r in conn.execute(query)]
    rows += [
        (fact.supplier, fact.number, fact.period, fact.owed + fact.tax_recovered)
        for fact in stock_facts(conn)
        if fact.invoice is not None
    ]
    for supplier, number, period, took in rows:
        key = invoice_key(supplier, number)
        if key is not None:
            by = found.setdefault(key, {})
            by[period] = by.get(period, 0) + took
    return found


def invoice_facts(conn: Connection, undone: UndoneBy) -> Iterator[InvoiceFact]:
    """Give supplier invoices, with what their lines booked before they came."""
    took, foreign = allocated(conn), _foreign_allocated(conn)
    seen: set[InvoiceKey] = set()
    for item in sorted(
        reading.stored(conn, "supplier invoice"), key=lambda i: (period_of(i), i.sequence)
    ):
        entry, period = item.entry, period_of(item)
        key = invoice_key(entry.supplier, entry.number)
        if key is None:
            continue
        first = key not in seen and not entry.opening
        seen.add(key)
        by = took.get(key, {})
        whole = sum(by.values())
        meets = (
            entry.foreign is not None
            and foreign.get(key) == (entry.foreign.amount.minor, entry.foreign.amount.currency)
        )  # fmt: skip
        yield InvoiceFact(
            ref=item.ref,
            key=key,
            supplier=entry.supplier,
            number=entry.number,
            day=entry.invoice_on.isoformat(),
            period=period,
            total=entry.total.minor,
            before=sum(v for p, v in by.items() if p < period) if first else 0,
            seller=entry.owed is Owed.SELLER,
            opening=entry.opening,
            rounding=entry.total.minor - whole if meets else 0,
            undone=undone.of(item.id),
        )


def _foreign_allocated(conn: Connection) -> dict[InvoiceKey, tuple[int, str]]:
    """Give what lines took from each invoice in its own currency, where they name one alone."""
    query = (
        select(
            line.c.supplier, line.c.invoice_number, line.c.foreign_amount_currency,
            func.sum(line.c.foreign_amount_minor).label("took"),
        )
        .where(line.c.foreign_amount_minor.is_not(None), line.c.supplier.is_not(None))
        .where(on_account())
        .group_by(line.c.supplier, line.c.invoice_number, line.c.foreign_amount_currency)
    )  # fmt: skip
    found: dict[InvoiceKey, tuple[int, str]] = {}
    for row in conn.execute(query):
        key = invoice_key(row.supplier, row.invoice_number)
        if key is not None:
            found[key] = (int(row.took), row.foreign_amount_currency)
    return found


def payment_facts(conn: Connection, undone: UndoneBy) -> Iterator[PaymentFact]:
    """Give payments with the account each settles."""
    bills = {item.id: item for item in reading.stored(conn, "supplier invoice")}
    owned = {item.id: item.entry for item in reading.stored(conn, "owner invoice", "sale")}
    cars = _cars_of_invoices(conn)
    for item in reading.stored(conn, "payment"):
        entry, booked = item.entry, item.booked
        if booked is None or booked.settled is None or booked.exchange is None:
            continue
        if entry.invoice is not None:
            bill = bills[entry.invoice].entry
            against = chart.PAYABLE_SELLER if bill.owed is Owed.SELLER else chart.PAYABLE
            whose = cars.get(invoice_key(bill.supplier, bill.number) or ("", ""))
        else:
            named = owned[entry.owner_invoice or entry.sale]
            whose = named.vehicle
            against = (
                chart.OWNER_RECEIVABLE if entry.owner_invoice else _settles(named, way=entry.way)
            )
        yield PaymentFact(
            ref=item.ref,
            day=entry.paid_on.isoformat(),
            period=booked.period,
            received=entry.way is Way.RECEIVED,
            set_off=entry.way is Way.SET_OFF,
            against=against,
            vehicle=whose,
            settled=booked.settled.minor,
            exchange=booked.exchange.minor,
            undone=undone.of(item.id),
        )


def _settles(sale: Sale, *, way: Way) -> str:
    """Give the account that money of a sale settles; of one that fell through, its fees."""
    if sale.result is not SaleResult.SOLD:
        return chart.OWNER_RECEIVABLE if way is Way.RECEIVED else chart.PAYABLE
    return chart.DUE_TO_OWNER if way is Way.PAID else chart.SALE_RECEIVABLE


def _cars_of_invoices(conn: Connection) -> dict[InvoiceKey, str | None]:
    """Give the one vehicle whose lines an invoice bills, None where there are several."""
    query = (
        select(line.c.supplier, line.c.invoice_number, line.c.vehicle)
        .where(line.c.supplier.is_not(None), line.c.invoice_number.is_not(None))
        .distinct()
    )
    found: dict[InvoiceKey, set[str | None]] = {}
    for row in conn.execute(query):
        key = invoice_key(row.supplier, row.invoice_number)
        if key is not None:
            found.setdefault(key, set()).add(row.vehicle)
    return {key: next(iter(cars)) if len(cars) == 1 else None for key, cars in found.items()}


def sale_facts(
    conn: Connection, undone: UndoneBy, consigned: Mapping[str, bool]
) -> Iterator[SaleFact]:
    """Give sales; those recorded before sales were settled here move no accounts."""
    for item in reading.stored(conn, "sale"):
        sale: Sale = item.entry
        booked = item.booked
        if booked is None or booked.hammer is None:
            continue

        def minor(name: str, booked: Any = booked) -> int:  # noqa: ANN401 - a Booked
            found = getattr(booked, name)
            return found.minor if found else 0

        yield SaleFact(
            ref=item.ref,
            vehicle=sale.vehicle,
            consigned=consigned[sale.vehicle],
            result=SaleResult(sale.result).value,
            day=sale.sold_on.isoformat(),
            period=booked.period,
            hammer=minor("hammer"),
            commission=minor("commission"),
            fees=minor("fees"),
            shop_commission=minor("shop_commission"),
            tax=minor("tax"),
            tax_on_top=sale.tax is SaleTax.ON_TOP,
            undone=undone.of(item.id),
        )


def owner_invoice_facts(conn: Connection, undone: UndoneBy) -> Iterator[OwnerInvoiceFact]:
    """Give owners' invoices with the lines on them.

    What was expensed at once (a spoiled part) has no cost left in process.
    """
    in_process = line.c.purpose.in_([Purpose.LANDED, Purpose.RECONDITIONING])
    cost = case((in_process, line.c.cost_minor), else_=0).label("cost_minor")
    query = select(line.c.record_id, line.c.kind, line.c.billed_minor, cost).where(
        line.c.billed_minor.is_not(None)
    )
    lines = {r.record_id: (r.kind, r.billed_minor, r.cost_minor) for r in conn.execute(query)}
    for item in reading.stored(conn, "owner invoice"):
        tax = item.booked.tax.minor if item.booked and item.booked.tax else 0
        yield OwnerInvoiceFact(
            ref=item.ref,
            vehicle=item.entry.vehicle,
            day=item.entry.issued_on.isoformat(),
            period=period_of(item),
            lines=tuple(lines[each] for each in item.entry.lines),
            tax=tax,
            undone=undone.of(item.id),
        )


def value_facts(conn: Connection, undone: UndoneBy) -> Iterator[ValueFact]:
    """Give write-downs and recoveries."""
    for item in reading.stored(conn, "value test"):
        if item.booked is None or item.booked.change is None:
            continue
        yield ValueFact(
            ref=item.ref,
            vehicle=item.entry.vehicle,
            day=item.entry.tested_on.isoformat(),
            period=item.booked.period,
            change=item.booked.change.minor,
            undone=undone.of(item.id),
        )
