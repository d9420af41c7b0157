"""Supplier invoices and payments, and how invoices tie to their lines.

An invoice is held against the lines that name its supplier and number: total = its lines +
unallocated (common practice, no source). One invoice may serve several vehicles.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.documents import Foreign
from recondition.amounts.money import rounded
from recondition.errors import Refused
from recondition.fields import Id, Words


class Owed(StrEnum):
    """Whom an invoice is owed to: a supplier of goods and work, or the seller of a vehicle."""

    SUPPLIER = "supplier"
    SELLER = "seller of a vehicle"


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierInvoice:
    """An invoice or credit note (below zero) as it came, with tax, in the home currency.

    ``foreign`` is its total in its own currency with the rate of its day; ``total`` then follows
    from it. ``opening`` says that it was owed before the book began.
    """

    supplier: Id
    number: str
    invoice_on: date
    total: Money
    tax: Money | None = None
    foreign: Foreign | None = None
    owed: Owed = Owed.SUPPLIER
    received_on: date | None = None
    due_on: date | None = None
    opening: bool = False
    period: str | None = None
    documents: tuple[Id, ...] = ()
    private_note: Words | None = None


class Way(StrEnum):
    """Which way money went."""

    PAID = "paid"
    RECEIVED = "received"
    SET_OFF = "set off"


@dataclass(frozen=True, slots=True, kw_only=True)
class Payment:
    """Money paid or received against an invoice, an owner's invoice or a sale.

    ``amount`` is what moved on the bank in the home currency; for a foreign invoice ``foreign``
    says how much of it was settled and at which rate. ``set off`` takes an owner's invoice out of
    the proceeds of the owner's car, and moves no bank.
    """

    paid_on: date
    way: Way = Way.PAID
    amount: Money
    foreign: Foreign | None = None
    invoice: Id | None = None
    owner_invoice: Id | None = None
    sale: Id | None = None
    words: Words | None = None
    period: str | None = None
    documents: tuple[Id, ...] = ()


class InvoiceTwice(Refused):
    """A second invoice of one supplier under one number."""

    def __init__(self, number: str, ref: str) -> None:
        """Name the number and the record that has it."""
        super().__init__(
            f"invoice {number} of this supplier is on record already, as {ref}",
            todo="A bill that came twice is entered once. A corrected one has a number of its own "
            "or follows after 'recondition post undo'.",
        )


class NothingSettled(Refused):
    """A payment that does not say what it settles, or two things at once."""

    def __init__(self) -> None:
        """Say what a payment needs."""
        super().__init__(
            "the payment does not name exactly what it settles",
            todo="Name one of: supplier invoice, owner invoice, sale. A set-off names the owner "
            "invoice and the sale.",
        )


class TaxBeyondTotal(Refused):
    """An invoice with more tax in it than its total, or with tax on the other side."""

    def __init__(self, number: str, tax: Money, total: Money) -> None:
        """Name the number and both amounts."""
        super().__init__(
            f"invoice {number} cannot have {tax.text} of tax in a total of {total.text}",
            todo="The total is what is to be paid, with the tax in it. Correct either.",
        )


def check_tax(entry: SupplierInvoice) -> None:
    """Refuse tax that cannot stand in its total. Raises TaxBeyondTotal."""
    if entry.tax is None:
        return
    tax, total = entry.tax.minor, entry.total.minor
    if abs(tax) > abs(total) or tax * total < 0:
        raise TaxBeyondTotal(entry.number, entry.tax, entry.total)


class OfAnotherOwner(Refused):
    """One owner's bill taken out of another owner's proceeds."""

    def __init__(self, invoice: str, sale: str) -> None:
        """Name both."""
        super().__init__(
            f"{invoice} is not the bill of the owner whose car was sold by {sale}",
            todo="Set a bill off against the sale of a car of the same owner only.",
        )


class PaidTooMuch(Refused):
    """A payment beyond what is still open."""

    def __init__(self, ref: str, still_open: Money) -> None:
        """Name what is settled and what is open on it."""
        super().__init__(
            f"only {still_open.text} is still open on {ref}",
            todo="Correct the amount, or which way it went; money on top is a payment on its own "
            "document.",
        )


class ForeignPaymentNeeded(Refused):
    """A payment of a foreign invoice that does not say how much of it was settled."""

    def __init__(self, ref: str, currency: str) -> None:
        """Name the invoice and its currency."""
        super().__init__(
            f"{ref} is in {currency}, and the payment does not say how much of it was settled",
            todo=f"Give the amount in {currency} with the rate the bank used; the difference is "
            "exchange gain or loss.",
        )


@dataclass(frozen=True, slots=True)
class Open:
    """What is still open of something owed: in its own currency, and what the book carries."""

    document: Money
    carried: Money


def settle(there: Open, part: Money) -> Money:
    """Give what the book takes off for a part of what is open; the last part takes the rest.

    ``part`` is in the document's currency. The amount is rounded once.
    """
    if part == there.document:
        return there.carried
    share = Fraction(part.minor, there.document.minor)
    return rounded(there.carried.fraction * share, there.carried.currency)
