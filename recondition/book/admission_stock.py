"""What an entry about stock must satisfy against the rest of the book."""

from __future__ import annotations

from datetime import date
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.amounts.units import UNITS
from recondition.book.context import Context
from recondition.errors import Refused
from recondition.ledger.days import BeforeItsCause
from recondition.ledger.lines import Consumable
from recondition.materials.conversion import OtherUnit, in_stock_unit
from recondition.materials.products import Product
from recondition.materials.receiving import (
    Container,
    LateFreight,
    MixedBatch,
    Receipt,
    StandardAmount,
    StockReversal,
    SupplierReturn,
)


class NothingOfIt(Refused):
    """An amount of nothing, or less, where something must be."""

    def __init__(self, what: str, found: str) -> None:
        """Name the amount and what was given."""
        super().__init__(f"{what} is {found}", todo="Give an amount above zero.")


class BelowNothing(Refused):
    """A price, freight or credit below zero."""

    def __init__(self, what: str, found: Money) -> None:
        """Name it and what was given."""
        super().__init__(
            f"the {what} is {found}", todo="Give it without a sign; a return has its own sheet."
        )


class StockUnitFixed(Refused):
    """A product's stock is to be counted in another unit, and there is stock on record."""

    def __init__(self, product: str, unit: str) -> None:
        """Name the product and the unit of its stock."""
        super().__init__(
            f"{product} is counted in {unit}, and that is fixed with its first receipt",
            todo="Amounts may be given in any unit that converts to it; for another, enter a "
            "product under a new name.",
        )


class ReversedReceipt(Refused):
    """Something refers to a receipt that was taken back."""

    def __init__(self, ref: str) -> None:
        """Name the receipt."""
        super().__init__(
            f"receipt {ref} was taken back", todo="Name the receipt that stands in its place."
        )


class FreightStands(Refused):
    """A receipt is taken back while freight or a return on it still stands."""

    def __init__(self, ref: str, others: list[str]) -> None:
        """Name the receipt and what stands on it."""
        super().__init__(
            f"receipt {ref} still has {', '.join(others)} standing on it",
            todo="Take that back first.",
        )


class StockAlreadyReversed(Refused):
    """A receipt, late freight or return that was taken back before."""

    def __init__(self, ref: str) -> None:
        """Name it."""
        super().__init__(f"{ref} was taken back already", todo="Nothing is left to take back.")


class ReceiptOfAnotherProduct(Refused):
    """A receipt of one product is named for another."""

    def __init__(self, ref: str, product: str) -> None:
        """Name the receipt and its product."""
        super().__init__(f"receipt {ref} is of {product}", todo="Name a receipt of this product.")


def admit(context: Context, ref: str, entry: Any) -> None:  # noqa: ANN401 - any entry class
    """Refuse what contradicts the stock on record; ``ref`` is the entry's own name.

    Raises what this module names, BeforeItsCause, and what ``materials.conversion`` names.
    """
    match entry:
        case Product():
            _product(context, ref, entry)
        case Receipt():
            _some(context, entry.product, "the delivery", entry.quantity)
            _no_less_than_nothing("price", entry.price, entry.freight, entry.tax_not_recovered)
        case StandardAmount():
            _some(context, entry.product, "the standard amount", entry.quantity)
        case MixedBatch():
            _mixed(context, entry)
        case Container() if entry.receipt is not None:
            day = entry.opened_on or date.max
            _on_receipt(context, entry.product, entry.receipt, day, "the opening")
        case SupplierReturn():
            _some(context, entry.product, "what went back", entry.quantity)
            _on_receipt(context, entry.product, entry.receipt, entry.returned_on, "the return")
            _no_less_than_nothing("credit", entry.credit)
        case LateFreight():
            _on_receipt(context, entry.product, entry.receipt, entry.billed_on, "the freight")
            _no_less_than_nothing("freight", entry.price)
        case StockReversal():
            _reversal(context, entry)
        case Consumable() if entry.receipt is not None:
            _on_receipt(context, entry.product, entry.receipt, entry.work_date, "the use")


def _no_less_than_nothing(what: str, *amounts: Money | None) -> None:
    """Refuse an amount of money below zero."""
    for amount in amounts:
        if amount is not None and amount.minor < 0:
            raise BelowNothing(what, amount)


def _product(context: Context, ref: str, entry: Product) -> None:
    """Refuse sizes of another kind, and another stock unit once there is stock."""
    if entry.container_size is not None:
        dimension = UNITS[entry.container_size.unit].dimension
        if dimension not in ("volume", "mass"):
            raise OtherUnit(entry.name, "ml or g", str(entry.container_size))
    if entry.reorder_at is not None:
        in_stock_unit(entry.reorder_at, entry)
    unit = context.stock_unit(ref)
    if unit is not None and unit != entry.unit:
        raise StockUnitFixed(entry.name, unit)


def _some(context: Context, product: str, what: str, quantity: Quantity) -> None:
    """Refuse an amount that is not above zero or not in a unit of the product."""
    if in_stock_unit(quantity, context.product(product)).number <= 0:
        raise NothingOfIt(what, str(quantity))


def _mixed(context: Context, entry: MixedBatch) -> None:
    """Refuse a mix without concentrate or with less than no water."""
    _some(context, entry.product, "the concentrate", entry.concentrate)
    if entry.receipt is not None:
        _on_receipt(context, entry.product, entry.receipt, entry.mixed_on, "the mix")
    if entry.water.to("ml") < 0:
        what = "the water"
        raise NothingOfIt(what, str(entry.water))


def _on_receipt(context: Context, product: str, receipt: str, day: Any, what: str) -> None:  # noqa: ANN401 - a date
    """Refuse what names a receipt of another product, a reversed one, or a later one."""
    found: Receipt = context.entry("receipt", receipt)
    ref = context.ref(receipt)
    if found.product != product:
        raise ReceiptOfAnotherProduct(ref, context.product(found.product).name)
    if context.stock_reversed(receipt):
        raise ReversedReceipt(ref)
    if day < found.received_on:
        raise BeforeItsCause(what=what, day=day, cause=f"receipt {ref}", began=found.received_on)


def _reversal(context: Context, entry: StockReversal) -> None:
    """Refuse a second reversal, one before its cause, and one with freight standing on it."""
    ref = context.ref(entry.reverses)
    if context.stock_reversed(entry.reverses):
        raise StockAlreadyReversed(ref)
    began = context.moved_on(entry.reverses)
    if entry.reversed_on < began:
        what = "the reversal"
        raise BeforeItsCause(what=what, day=entry.reversed_on, cause=ref, began=began)
    standing = context.standing_on_receipt(entry.reverses)
    if standing:
        raise FreightStands(ref, [context.ref(each) for each in standing])
