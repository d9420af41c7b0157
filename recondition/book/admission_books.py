"""What tax codes, accounts, invoices, sales and their reversals must satisfy in a book."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import select

from recondition.accounts.facts import invoice_key
from recondition.accounts.hours import PaidHours, check_week
from recondition.accounts.invoices import InvoiceTwice, SupplierInvoice, check_tax
from recondition.accounts.values import NotInInventory, ValueTest
from recondition.book.booking import day_booked, standing
from recondition.book.context import Context, NotThere
from recondition.book.tables import entity, line, record, vehicle
from recondition.book.tables_books import (
    entry_reversal,
    payment,
    supplier_invoice,
    value_test,
)
from recondition.book.tables_worth import sale
from recondition.condition.vehicle import Vehicle
from recondition.ledger.booked import EntryAlreadyReversed, EntryReversal, StillRelied
from recondition.ledger.days import BeforeItsCause
from recondition.ledger.lines import LineKind
from recondition.ledger.rules import HoldingFixed, StaysWithItsVehicle
from recondition.ledger.taxes import TaxCode, check_code
from recondition.worth.track import Sale, SaleResult, SoldAlready

REVERSIBLE = ("supplier invoice", "payment", "sale", "owner invoice", "value test")
"""What a reversal of its own takes back; lines and stock have theirs."""


def admit(context: Context, ref: str, entry: Any) -> None:  # noqa: ANN401 - any entry class
    """Refuse an entry of the books that contradicts itself or the book.

    Raises BadTaxCode, NotAMonday, MoreThanAWeek, TaxBeyondTotal, InvoiceTwice, SoldAlready,
    NotInInventory, EntryAlreadyReversed, StillRelied, BeforeItsCause.
    """
    match entry:
        case Vehicle():
            _check_holding(context, ref, entry)
        case TaxCode():
            check_code(entry, tuple(LineKind))
        case PaidHours():
            check_week(entry)
        case SupplierInvoice():
            check_tax(entry)
            _check_number(context, entry)
        case Sale() if entry.result is SaleResult.SOLD:
            _check_unsold(context, ref, entry.vehicle)
        case ValueTest():
            sold = standing_sale(context, entry.vehicle)
            if sold or context.consigned(entry.vehicle):
                raise NotInInventory(context.ref(entry.vehicle))
        case EntryReversal():
            _check_reversal(context, entry)


def _check_holding(context: Context, ref: str, entry: Vehicle) -> None:
    """Refuse to change whose a vehicle is once it has lines. Raises HoldingFixed."""
    query = (
        select(entity.c.id, vehicle.c.holding)
        .join(vehicle, vehicle.c.record_id == entity.c.current)
        .where(entity.c.kind == "vehicle", entity.c.ref == ref)
    )
    row = context.conn.execute(query).first()
    if row is None or row.holding == entry.holding:
        return
    lines = select(line.c.record_id).where(line.c.vehicle == row.id).limit(1)
    if context.conn.execute(lines).first() is not None:
        raise HoldingFixed(ref, row.holding)


def _check_number(context: Context, entry: SupplierInvoice) -> None:
    """Refuse a second invoice of one supplier under one number. Raises InvoiceTwice."""
    query = select(supplier_invoice.c.record_id, supplier_invoice.c.number).where(
        supplier_invoice.c.supplier == entry.supplier, standing(supplier_invoice)
    )
    wanted = invoice_key(entry.supplier, entry.number)
    for row in context.conn.execute(query):
        if invoice_key(entry.supplier, row.number) == wanted:
            raise InvoiceTwice(entry.number, context.ref(row.record_id))


def standing_sale(context: Context, car: str) -> str | None:
    """Give the sale of a vehicle that went through and stands, None where there is none."""
    query = (
        select(sale.c.record_id)
        .where(sale.c.vehicle == car, standing(sale))
        .where((sale.c.result == SaleResult.SOLD) | sale.c.result.is_(None))
    )
    return context.conn.execute(query).scalar()


def _check_unsold(context: Context, ref: str, car: str) -> None:
    """Refuse a second sale while one stands. Raises SoldAlready."""
    before = standing_sale(context, car)
    if before is not None and context.ref(before) != ref:
        raise SoldAlready(context.ref(car), context.ref(before))


def _check_reversal(context: Context, entry: EntryReversal) -> None:
    """Refuse to take back what is gone, what others rest on, or before its own day."""
    payload = context.line_if_there(entry.reverses)
    if payload is None or payload["kind"] not in REVERSIBLE:
        raise NotThere(what="invoice, payment, sale or value test", name=entry.reverses)
    ref, kind = context.ref(entry.reverses), payload["kind"]
    again = select(entry_reversal.c.record_id).where(entry_reversal.c.reverses == entry.reverses)
    if context.conn.execute(again).first() is not None:
        raise EntryAlreadyReversed(ref)
    by = _resting(context, kind, entry.reverses)
    if by is not None:
        raise StillRelied(ref, context.ref(by))
    first = context.entry(kind, entry.reverses)
    if getattr(first, "vehicle", None) != entry.vehicle:
        raise StaysWithItsVehicle(ref)
    began: date = day_booked(first)
    if entry.reversed_on < began:
        raise BeforeItsCause(
            what="the reversal", day=entry.reversed_on, cause=f"{kind} {ref}", began=began
        )


def _after_test(context: Context, target: str) -> str | None:
    """Give what came after a value test of a car: its sale, or a later test."""
    first: ValueTest = context.entry("value test", target)
    sold = standing_sale(context, first.vehicle)
    if sold is not None:
        return sold
    query = (
        select(value_test.c.record_id)
        .join(record, record.c.id == value_test.c.record_id)
        .where(value_test.c.vehicle == first.vehicle, standing(value_test))
        .order_by(record.c.sequence.desc())
        .limit(1)
    )
    last = context.conn.execute(query).scalar()
    return None if last == target else last


def _resting(context: Context, kind: str, target: str) -> str | None:
    """Give what stands and rests on what would be taken back: a payment, a sale, a later test."""
    columns = {
        "supplier invoice": payment.c.invoice,
        "owner invoice": payment.c.owner_invoice,
        "sale": payment.c.sale,
    }
    if kind == "value test":
        return _after_test(context, target)
    if kind not in columns:
        return None
    query = select(payment.c.record_id).where(columns[kind] == target, standing(payment))
    return context.conn.execute(query.limit(1)).scalar()
