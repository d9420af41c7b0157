"""What comes into stock and where it stands: receipts, freight, returns, containers, mixes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from recondition.amounts import Money, Quantity
from recondition.amounts.documents import Foreign, Settled
from recondition.fields import Id, Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """One delivery of one product: the batch it is traced by, and what it cost.

    Its cost is ``price`` (for the whole delivery, net of tax that comes back) with
    ``freight`` and ``tax_not_recovered``. ``batch_number`` is as printed on the container.
    ``tax_recovered`` is the tax on its invoice that comes back.
    """

    product: Id
    received_on: date
    quantity: Quantity
    price: Money
    freight: Money | None = None
    tax_not_recovered: Money | None = None
    batch_number: str | None = None
    use_by: date | None = None
    supplier: Id | None = None
    invoice_number: str | None = None
    documents: tuple[Id, ...] = ()
    private_note: Words | None = None
    tax_recovered: Money | None = None
    foreign: Foreign | None = None
    settled: Settled | None = None
    period: str | None = None

    @property
    def cost(self) -> Money:
        """What the delivery cost in all. Raises CurrencyMismatch."""
        whole = self.price
        for part in (self.freight, self.tax_not_recovered):
            whole = whole if part is None else whole + part
        return whole


@dataclass(frozen=True, slots=True, kw_only=True)
class LateFreight:
    """Freight (or another cost of getting it here) billed after the receipt was posted.

    It names its ``product`` too, whose chain it belongs to.
    """

    product: Id
    receipt: Id
    billed_on: date
    price: Money
    words: Words
    supplier: Id | None = None
    invoice_number: str | None = None
    documents: tuple[Id, ...] = ()
    period: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierReturn:
    """Stock sent back to its supplier, for ``credit``."""

    product: Id
    receipt: Id
    returned_on: date
    quantity: Quantity
    credit: Money
    words: Words
    documents: tuple[Id, ...] = ()
    period: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockReversal:
    """Takes back a receipt, late freight or a return that was entered wrongly."""

    product: Id
    reverses: Id
    reversed_on: date
    why: Words
    period: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Container:
    """A bottle, tub or single pad with a label of its own.

    ``tare`` is its weight empty, with the cap or trigger that ``tare_note`` names. ``holds``
    is how much it takes when full, for level marks; the product's container size otherwise.
    ``receipt`` is the batch that is in it.
    """

    product: Id
    receipt: Id | None = None
    tare: Quantity | None = None
    tare_note: str | None = None
    holds: Quantity | None = None
    opened_on: date | None = None
    emptied_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedBatch:
    """A batch mixed ready for use: concentrate and water, both in millilitres.

    Water has no stock. The concentrate leaves stock as the mix is used or thrown away.
    """

    product: Id
    mixed_on: date
    concentrate: Quantity
    water: Quantity
    receipt: Id | None = None
    container: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardAmount:
    """How much of a product an operation is taken to use where nobody measured."""

    product: Id
    operation: str
    quantity: Quantity
    basis: Words | None = None
