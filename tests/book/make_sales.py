"""Short ways to buy, bill, pay and sell, for tests of the books."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.accounts.invoices import Payment, SupplierInvoice
from recondition.amounts import Money
from recondition.amounts.documents import Foreign
from recondition.book.accounting import journal_of
from recondition.fields import Id, Words
from recondition.ledger.booked import EntryReversal
from recondition.ledger.items import CostItem
from recondition.ledger.lines import Charge, Purpose, Unlinked
from recondition.worth.terms import Slice
from recondition.worth.track import Sale
from tests.book import make

if TYPE_CHECKING:
    from recondition.accounts.journal import Entry
    from recondition.book.engine import Book

EUR = "EUR"


def euros(amount: str, rate: str) -> Foreign:
    return Foreign(amount=Money.of(amount, EUR), rate=Decimal(rate), source="day rate")


def paid_for(
    vehicle: Id | None, item: CostItem, price: str, day: date, **more: Any
) -> Charge:  # fmt: skip
    """Give a charge for an item, on the purpose that it usually has."""
    fields = {
        "purpose": Purpose.LANDED,
        "unlinked": Unlinked.ARRIVAL,
        "work_date": day,
        "item": item,
    } | more
    return make.charge(vehicle, price, **fields)


def abroad(vehicle: Id, item: CostItem, foreign: Foreign, day: date, **more: Any) -> Charge:
    """Give a charge in foreign money."""
    return paid_for(vehicle, item, str(foreign.home("USD")), day, foreign=foreign, **more)


def bill(supplier: Id, number: str, total: str, day: date, **more: Any) -> SupplierInvoice:
    fields = {"total": make.usd(total)} | more
    return SupplierInvoice(supplier=supplier, number=number, invoice_on=day, **fields)


def payment(amount: str, day: date, **more: Any) -> Payment:
    return Payment(paid_on=day, amount=make.usd(amount), **more)


def sale(vehicle: Id, price: str | None, day: date, **more: Any) -> Sale:
    fields = {"price": None if price is None else make.usd(price)} | more
    return Sale(vehicle=vehicle, sold_on=day, **fields)


def percent(rate: str) -> tuple[Slice, ...]:
    return (Slice(Decimal(rate) / 100),)


def undo(book: Book, ref: str, target: Id, day: date, vehicle: Id | None = None) -> Id:
    """Take something booked back."""
    entry = EntryReversal(
        vehicle=vehicle, reverses=target, reversed_on=day, why=Words("fell through")
    )
    return make.add(book, "entry reversal", ref, entry)


def entries(book: Book) -> list[Entry]:
    with book.reading() as conn:
        return list(journal_of(conn).entries())


def balances(book: Book) -> dict[str, int]:
    """Give what stands on each role, of all vehicles together."""
    found: dict[str, int] = {}
    for entry in entries(book):
        for leg in entry.legs:
            found[leg.role] = found.get(leg.role, 0) + leg.amount
    return {role: amount for role, amount in found.items() if amount}
