"""What is worked out when something other than a line is booked: periods, sales, payments."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from fractions import Fraction
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, func, select

from recondition.accounts.invoices import (
    ForeignPaymentNeeded,
    NothingSettled,
    OfAnotherOwner,
    Open,
    PaidTooMuch,
    Payment,
    SupplierInvoice,
    Way,
    settle,
)
from recondition.accounts.margin import MarginRefused, Scheme, margin_of, margin_tax, scheme_of
from recondition.accounts.values import ValueTest, change_of
from recondition.amounts import Money
from recondition.amounts.documents import check_foreign
from recondition.amounts.money import rounded, total
from recondition.book.context import Context
from recondition.book.tables import entity, line, record
from recondition.book.tables_books import entry_reversal, payment, value_test
from recondition.condition.vehicle import Holding, Vehicle
from recondition.ledger.approvals import OwnerInvoice
from recondition.ledger.booked import Booked, EntryReversal
from recondition.ledger.items import BOUGHT_FOR
from recondition.ledger.lines import Purpose
from recondition.ledger.periods import booking_period
from recondition.ledger.taxes import TaxCode, tax_on, tax_within
from recondition.materials.receiving import LateFreight, Receipt, StockReversal, SupplierReturn
from recondition.worth.settling import settle_sale
from recondition.worth.terms import SaleTerms
from recondition.worth.track import Sale, SaleResult, SaleTax

_DAYS = (
    "invoice_on", "received_on", "billed_on", "returned_on", "reversed_on", "paid_on", "sold_on",
    "issued_on", "tested_on",
)  # fmt: skip
BOOKED = (
    Receipt, LateFreight, SupplierReturn, StockReversal, SupplierInvoice, Payment, Sale,
    OwnerInvoice, ValueTest, EntryReversal,
)  # fmt: skip


def day_booked(entry: Any) -> date:  # noqa: ANN401 - any entry that is booked
    """Give the day that something booked stands under."""
    found: date = next(getattr(entry, name) for name in _DAYS if hasattr(entry, name))
    return found


def standing(table: Table) -> ColumnElement[bool]:
    """Give the condition that a booked record was not taken back."""
    return table.c.record_id.not_in(select(entry_reversal.c.reverses))


def terms_of(context: Context, vehicle_id: str) -> SaleTerms | None:
    """Give the newest sale terms of a vehicle, None where it has none."""
    query = (
        select(entity.c.id)
        .join(record, record.c.id == entity.c.id)
        .where(entity.c.kind == "terms", entity.c.subject == f"vehicle:{vehicle_id}")
        .order_by(record.c.sequence.desc())
        .limit(1)
    )
    found = context.conn.execute(query).scalar()
    return None if found is None else context.entry("terms", found)


def paid_for(conn: Connection, vehicles: Iterable[str]) -> list[int]:
    """Give what was paid for each vehicle itself, in minor units."""
    bought = [item.value for item in BOUGHT_FOR]
    query = select(func.coalesce(func.sum(line.c.cost_minor), 0)).where(line.c.item.in_(bought))
    return [
        int(conn.execute(query.where(line.c.vehicle == vehicle)).scalar_one())
        for vehicle in vehicles
    ]


class Booking:
    """Works out what is booked, inside one transaction."""

    def __init__(self, context: Context, flush: Callable[[], None]) -> None:
        """``flush`` writes what waits to be read again."""
        self._context = context
        self._conn: Connection = context.conn
        self._flush = flush

    def work_out(  # noqa: PLR0911 - one arm a kind of entry
        self,
        entry: Any,  # noqa: ANN401 - any entry class
    ) -> Booked | None:
        """Give what is booked for an entry; None for what moves no books.

        Raises PeriodClosed and what the entry's own sums name.
        """
        if not isinstance(entry, BOOKED):
            return None
        closed = self._context.closed_periods()
        before = ""
        if isinstance(entry, EntryReversal | StockReversal):
            self._flush()
            made = self._context.booked(entry.reverses)
            before = made.period if made is not None else ""
        period = booking_period(entry.period, day_booked(entry), closed, not_before=before)
        match entry:
            case SupplierInvoice():
                check_foreign(entry.total, entry.foreign)
                return Booked(period=period, home=entry.total)
            case Receipt():
                check_foreign(entry.price, entry.foreign)
            case Payment():
                self._flush()
                return self._payment(entry, period)
            case Sale():
                return self._sale(entry, period)
            case OwnerInvoice():
                self._flush()
                return Booked(period=period, tax=self._owner_tax(entry))
            case ValueTest():
                self._flush()
                return self._value(entry, period)
        return Booked(period=period)

    def _payment(self, entry: Payment, period: str) -> Booked:
        """Work out what a payment settles, and what is exchange gain or loss."""
        named = [entry.invoice, entry.owner_invoice, entry.sale]
        wanted = 2 if entry.way is Way.SET_OFF else 1
        if sum(each is not None for each in named) != wanted or (wanted > 1 and entry.invoice):
            raise NothingSettled
        part = entry.amount
        if entry.invoice is not None:
            open_, ref, part = self._open_invoice(entry, entry.invoice)
        elif entry.owner_invoice is not None:
            open_, ref = self._open_owner_invoice(entry.owner_invoice, entry.way)
            if entry.way is Way.SET_OFF and entry.sale is not None:
                self._check_owner(entry.owner_invoice, entry.sale)
                proceeds, sale_ref = self._open_sale(entry.sale, entry.way)
                if proceeds.document < part:
                    raise PaidTooMuch(sale_ref, proceeds.document)
        else:
            open_, ref = self._open_sale(str(entry.sale), entry.way)
        if not 0 < part.minor <= open_.document.minor:
            raise PaidTooMuch(ref, open_.document)
        settled = settle(open_, part)
        return Booked(period=period, settled=settled, exchange=entry.amount - settled)

    def _check_owner(self, invoice: str, sold: str) -> None:
        """Refuse to set off between two owners. Raises OfAnotherOwner."""
        cars = [
            self._context.entry("owner invoice", invoice).vehicle,
            self._context.entry("sale", sold).vehicle,
        ]
        owners = [self._context.entry("vehicle", car).owner for car in cars]
        if cars[0] != cars[1] and (owners[0] is None or owners[0] != owners[1]):
            raise OfAnotherOwner(self._context.ref(invoice), self._context.ref(sold))

    def _open_invoice(self, entry: Payment, invoice: str) -> tuple[Open, str, Money]:
        """Give what is open on a supplier invoice, its ref, and the part that is settled now."""
        owed: SupplierInvoice = self._context.entry("supplier invoice", invoice)
        ref = self._context.ref(invoice)
        sign = -1 if owed.total.minor < 0 else 1
        if (entry.way is Way.PAID) is (sign < 0) or entry.way is Way.SET_OFF:
            raise PaidTooMuch(ref, Money.zero(owed.total.currency))
        document = owed.foreign.amount if owed.foreign else owed.total
        gone = self._paid(payment.c.invoice == invoice)
        before = self._paid_foreign(invoice) if owed.foreign else gone
        part = entry.amount
        if owed.foreign is not None:
            if entry.foreign is None or entry.foreign.amount.currency != document.currency:
                raise ForeignPaymentNeeded(ref, document.currency)
            check_foreign(entry.amount, entry.foreign)
            part = entry.foreign.amount
        left = Money(sign * document.minor - before, document.currency)
        carried = Money(sign * owed.total.minor - gone, owed.total.currency)
        return Open(left, carried), ref, part

    def _open_owner_invoice(self, invoice: str, way: Way) -> tuple[Open, str]:
        """Give what an owner still owes on an invoice (or gets back on a credit), and its ref."""
        owed: OwnerInvoice = self._context.entry("owner invoice", invoice)
        booked, ref = self._context.booked(invoice), self._context.ref(invoice)
        zero = Money.zero(owed.total.currency)
        whole = owed.total + (booked.tax if booked and booked.tax else zero)
        if (way is Way.PAID) is (whole.minor > 0):
            raise PaidTooMuch(ref, zero)
        gone = self._paid(payment.c.owner_invoice == invoice)
        left = Money(abs(whole.minor) - gone, whole.currency)
        return Open(left, left), ref

    def _open_sale(self, sale_id: str, way: Way) -> tuple[Open, str]:
        """Give what is still to come in from a sale, or to be paid out to its owner."""
        sale: Sale = self._context.entry("sale", sale_id)
        made = self._context.booked(sale_id)
        zero = Money.zero(self._context.settings().currency)
        if made is None or made.hammer is None:  # recorded before sales were settled here
            return Open(zero, zero), self._context.ref(sale_id)
        kept = (made.commission or zero) + (made.fees or zero)
        consigned = self._context.consigned(sale.vehicle)
        if sale.result is not SaleResult.SOLD:
            # Its fees: the shop pays them, and the owner of a consigned car gives them back.
            gone = self._paid((payment.c.sale == sale_id) & (payment.c.way == way.value))
            due = kept if consigned or way is Way.PAID else zero
            left = Money(max(due.minor - gone, 0), due.currency)
            return Open(left, left), self._context.ref(sale_id)
        due = made.hammer - kept
        if not consigned and sale.tax is SaleTax.ON_TOP:
            due += made.tax or zero
        ways = (Way.RECEIVED,) if way is Way.RECEIVED else (Way.PAID, Way.SET_OFF)
        if way is not Way.RECEIVED:
            due -= made.shop_commission or zero
            due -= (made.tax or zero) if sale.tax is SaleTax.ON_TOP else zero
            due = due if consigned else Money(max(-due.minor, 0), due.currency)
        gone = self._paid((payment.c.sale == sale_id) & payment.c.way.in_([w.value for w in ways]))
        left = Money(due.minor - gone, due.currency)
        return Open(left, left), self._context.ref(sale_id)

    def _paid(self, which: ColumnElement[bool]) -> int:
        """Add up what standing payments took off."""
        query = select(func.coalesce(func.sum(payment.c.settled_minor), 0))
        return int(self._conn.execute(query.where(which, standing(payment))).scalar_one())

    def _paid_foreign(self, invoice: str) -> int:
        """Add up what standing payments settled of a foreign invoice, in its own currency."""
        query = select(func.coalesce(func.sum(payment.c.foreign_amount_minor), 0))
        where = (payment.c.invoice == invoice, standing(payment))
        return int(self._conn.execute(query.where(*where)).scalar_one())

    def _sale(self, entry: Sale, period: str) -> Booked:
        """Work a sale out. Raises SaleHasNoPrice, BadSlices, NoTaxCode, MarginRefused."""
        self._flush()
        currency = self._context.settings().currency
        made = settle_sale(entry, terms_of(self._context, entry.vehicle), currency)
        scheme = self.scheme(entry.vehicle) if entry.tax is SaleTax.MARGIN else None
        tax = self._sale_tax(entry, made.hammer, made.shop_commission, scheme)
        return Booked(
            period=period,
            hammer=made.hammer,
            commission=made.commission,
            premium=made.premium,
            fees=made.fees,
            shop_commission=made.shop_commission,
            tax=tax,
            scheme_price=scheme.purchase_price if scheme else None,
            margin=margin_of(made.hammer, scheme.purchase_price) if scheme else None,
        )

    def _sale_tax(
        self, entry: Sale, hammer: Money, commission: Money, scheme: Scheme | None
    ) -> Money | None:
        """Give the tax on a sale: on the price of an own car, on the commission for an owner."""
        if entry.tax is None or entry.result is not SaleResult.SOLD:
            return None
        code = self._context.tax_code(entry.tax_code, entry.sold_on)
        if scheme is not None:
            if not scheme.allowed and not entry.margin_because:
                raise MarginRefused(self._context.ref(entry.vehicle), scheme.shut_out)
            return margin_tax(hammer, scheme.purchase_price, code.rate)
        base = commission if self._context.consigned(entry.vehicle) else hammer
        return (
            tax_within(base, code.rate) if entry.tax is SaleTax.IN_PRICE else tax_on(base, code).tax
        )

    def scheme(self, vehicle_id: str) -> Scheme:
        """Give a vehicle's scheme purchase price, and what shuts it out of the margin scheme."""
        car: Vehicle = self._context.entry("vehicle", vehicle_id)
        query = select(
            func.coalesce(func.sum(line.c.cost_minor), 0).label("paid"),
            func.coalesce(func.sum(line.c.tax_minor), 0).label("tax"),
        ).where(
            line.c.vehicle == vehicle_id,
            line.c.purpose == Purpose.LANDED,
            line.c.item.in_([item.value for item in BOUGHT_FOR]),
        )
        row = self._conn.execute(query).one()
        return scheme_of(
            Money(int(row.paid), self._context.settings().currency),
            imported=bool(car.imported),
            tax_shown=bool(row.tax),
            consigned=car.holding is Holding.CONSIGNED,
            bought=bool(row.paid),
        )

    def _owner_tax(self, entry: OwnerInvoice) -> Money | None:
        """Give the tax on an owner's invoice in all; None where no code is charged."""
        taxes = [each for _, _, each in self.owner_taxes(entry)]
        return total(taxes, entry.total.currency) if taxes else None

    def owner_taxes(self, entry: OwnerInvoice) -> list[tuple[TaxCode, Money, Money]]:
        """Give each tax code of an owner's invoice with what it is charged on, and the tax.

        A code is charged on the kinds of line that it names, and rounded once.
        """
        query = select(line.c.kind, func.sum(line.c.billed_minor).label("billed"))
        rows = self._conn.execute(
            query.where(line.c.record_id.in_(entry.lines)).group_by(line.c.kind)
        )
        billed = {row.kind: int(row.billed) for row in rows}
        currency, taxes = entry.total.currency, []
        for code in self._context.charged_codes(entry.issued_on):
            base = Money(sum(billed.get(kind, 0) for kind in code.charged_on), currency)
            taxes.append((code, base, rounded(base.fraction * Fraction(code.rate), currency)))
        return taxes

    def _value(self, entry: ValueTest, period: str) -> Booked:
        """Work out by how much a value test moves what a car stands at."""
        currency = self._context.settings().currency
        spent = select(func.coalesce(func.sum(line.c.cost_minor), 0)).where(
            line.c.vehicle == entry.vehicle,
            line.c.purpose.in_([Purpose.LANDED, Purpose.RECONDITIONING]),
        )
        moved = select(func.coalesce(func.sum(value_test.c.change_minor), 0)).where(
            value_test.c.vehicle == entry.vehicle, standing(value_test)
        )
        cost = Money(int(self._conn.execute(spent).scalar_one()), currency)
        carrying = Money(cost.minor + int(self._conn.execute(moved).scalar_one()), currency)
        return Booked(period=period, carrying=carrying, change=change_of(cost, carrying, entry))
