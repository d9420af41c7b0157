"""Reading what the journal is derived from: invoices, payments, sales, value tests."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, case, func, select

from recondition.accounts import chart
from recondition.accounts.facts import (
    InvoiceFact,
    InvoiceKey,
    OwnerInvoiceFact,
    PaymentFact,
    SaleFact,
    StockFact,
    ValueFact,
    Windows,
    invoice_key,
)
from recondition.accounts.invoices import Owed, SupplierInvoice, Way
from recondition.book import reading
from recondition.book.facts import UndoneBy, holdings, on_account, period_of
from recondition.book.tables import line
from recondition.ledger.items import BOUGHT_FOR
from recondition.ledger.lines import Purpose
from recondition.worth.track import Sale, SaleResult, SaleTax


@dataclass(frozen=True, slots=True)
class _Took:
    """What lines took from an invoice in one period, with tax, and on which account it is owed."""

    period: str
    amount: int
    seller: bool
    lines: int
    day: str


def _allocated(conn: Connection, stock: Iterable[StockFact]) -> dict[InvoiceKey, list[_Took]]:
    """Give what lines and receipts took from each invoice."""
    recovered = func.coalesce(line.c.tax_recovered_minor, 0)
    seller = case((line.c.item.in_([item.value for item in BOUGHT_FOR]), 1), else_=0)
    query = (
        select(
            line.c.supplier, line.c.invoice_number, line.c.period, seller.label("seller"),
            func.sum(line.c.cost_minor + recovered).label("took"), func.count().label("lines"),
            func.max(line.c.work_date).label("day"),
        )
        .where(line.c.invoice_number.is_not(None), line.c.supplier.is_not(None), on_account())
        .group_by(line.c.supplier, line.c.invoice_number, line.c.period, seller)
    )  # fmt: skip
    found: dict[InvoiceKey, list[_Took]] = {}
    for row in conn.execute(query):
        key = invoice_key(row.supplier, row.invoice_number)
        if key is not None:
            took = _Took(row.period, int(row.took), bool(row.seller), row.lines, row.day)
            found.setdefault(key, []).append(took)
    for fact in stock:
        if fact.invoice is not None:
            took = _Took(fact.period, fact.owed + fact.tax_recovered, False, 1, fact.day)  # noqa: FBT003
            found.setdefault(fact.invoice, []).append(took)
    return found


def invoice_facts(
    conn: Connection, undone: UndoneBy, stock: Iterable[StockFact]
) -> Iterator[InvoiceFact]:
    """Give supplier invoices, with what their lines and stock booked as owed before."""
    took, windows = _allocated(conn, stock), Windows()
    found = reading.stored(conn, "supplier invoice")
    for item in sorted(found, key=lambda each: (period_of(each), each.sequence)):
        entry, period = item.entry, period_of(item)
        key = invoice_key(entry.supplier, entry.number)
        if key is None:
            continue
        all_of = [] if entry.opening else took.get(key, [])
        before = [t for t in all_of if t.period < period and not windows.holds(key, t.period)]
        seller = entry.owed is Owed.SELLER
        fact = InvoiceFact(
            ref=item.ref,
            key=key,
            supplier=entry.supplier,
            number=entry.number,
            day=entry.invoice_on.isoformat(),
            period=period,
            total=entry.total.minor,
            before=sum(each.amount for each in before),
            other=sum(each.amount for each in before if each.seller is not seller),
            seller=seller,
            opening=entry.opening,
            undone=undone.of(item.id),
            **_rounding(entry, period, all_of),
        )
        windows.add(fact)
        yield fact


def _rounding(entry: SupplierInvoice, period: str, took: list[_Took]) -> dict[str, Any]:
    """Give the cents by which lines miss a foreign invoice, and when they were all there.

    Each line was rounded by itself, so a cent a line is rounding, and more is not.
    """
    apart = entry.total.minor - sum(each.amount for each in took)
    if entry.foreign is None or not took or abs(apart) > sum(each.lines for each in took):
        return {}
    last = max(took, key=lambda each: (each.period, each.day))
    later = last.period > period
    return {
        "rounding": apart,
        "rounding_period": last.period if later else period,
        "rounding_day": last.day if later else entry.invoice_on.isoformat(),
    }


def payment_facts(conn: Connection, undone: UndoneBy) -> Iterator[PaymentFact]:
    """Give payments with the account each settles."""
    bills = {item.id: item for item in reading.stored(conn, "supplier invoice")}
    owned = {item.id: item.entry for item in reading.stored(conn, "owner invoice", "sale")}
    cars, consigned = _cars_of_invoices(conn), holdings(conn)
    for item in reading.stored(conn, "payment"):
        entry, booked = item.entry, item.booked
        if booked is None or booked.settled is None or booked.exchange is None:
            continue
        proceeds = None
        if entry.invoice is not None:
            bill = bills[entry.invoice].entry
            against = chart.PAYABLE_SELLER if bill.owed is Owed.SELLER else chart.PAYABLE
            whose = cars.get(invoice_key(bill.supplier, bill.number) or ("", ""))
        else:
            named = owned[entry.owner_invoice or entry.sale]
            whose = named.vehicle
            if entry.way is Way.SET_OFF:
                proceeds = owned[entry.sale].vehicle
            against = (
                chart.OWNER_RECEIVABLE
                if entry.owner_invoice
                else _settles(named, way=entry.way, consigned=consigned[named.vehicle])
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
            proceeds=proceeds,
            undone=undone.of(item.id),
        )


def _settles(sale: Sale, *, way: Way, consigned: bool) -> str:
    """Give the account that money of a sale settles; of one that fell through, its fees.

    Where fees pass the hammer of an own car the shop pays the rest.
    """
    if sale.result is not SaleResult.SOLD:
        return chart.OWNER_RECEIVABLE if way is Way.RECEIVED else chart.PAYABLE
    return chart.DUE_TO_OWNER if way is Way.PAID and consigned else chart.SALE_RECEIVABLE


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
    expensed = line.c.purpose.in_([Purpose.SPOILAGE, Purpose.OVERHEAD])
    cost = case((expensed, 0), else_=line.c.cost_minor).label("cost_minor")
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
