"""One cost of several vehicles, shared by a stated rule into one charge each.

The odd cents go by largest remainder, equal remainders by stock number, so that the shares
always add up to the whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.amounts import Money
from recondition.amounts.documents import Foreign, Settled
from recondition.amounts.sharing import share_out
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.items import CostItem, usual_reason
from recondition.ledger.lines import PURPOSE_OF_UNLINKED, Charge, Standing, Unlinked


class SharedBy(StrEnum):
    """The rule a cost is shared by."""

    EQUALLY = "equally"
    VALUE = "value"
    WEIGHT = "weight"
    TIME = "time"


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedCharge:
    """A charge for several vehicles, such as the freight of one container.

    ``weights`` are one for each vehicle, in their order: kilograms, days, or values. Shared by
    value without weights, each vehicle counts with what was paid for it. ``tax`` is that of the
    whole. It becomes one charge for each vehicle.
    """

    work_date: date
    price: Money
    vehicles: tuple[Id, ...]
    by: SharedBy
    words: Words
    item: CostItem
    weights: tuple[Decimal, ...] = ()
    unlinked: Unlinked | None = None
    tax_point: date | None = None
    period: str | None = None
    tax_code: str | None = None
    tax: Money | None = None
    foreign: Foreign | None = None
    settled: Settled | None = None
    supplier: Id | None = None
    invoice_number: str | None = None
    documents: tuple[Id, ...] = ()
    private_note: Words | None = None


class SharesUnclear(Refused):
    """A shared charge whose shares cannot be worked out."""

    def __init__(self, why: str) -> None:
        """Say what is missing."""
        super().__init__(
            f"the charge cannot be shared: {why}",
            todo="Name two vehicles or more, each once, and one weight above zero for each; "
            "'equally' needs no weights, 'value' takes the purchase prices on the ledger.",
        )


def charges_of(
    entry: SharedCharge, names: Sequence[str], values: Mapping[str, int]
) -> list[tuple[str, Charge]]:
    """Give the charge of each vehicle, with its stock number, in the order of the row.

    ``names`` are the stock numbers of ``entry.vehicles``; ``values`` what was paid for each, in
    minor units. Raises SharesUnclear, NothingToShareOver, NegativeWeight.
    """
    weights = _weights(entry, names, values)
    whole = share_out(entry.price.minor, weights)
    taxes = share_out(entry.tax.minor, weights) if entry.tax is not None else None
    reason = entry.unlinked or Unlinked(usual_reason(entry.item) or Unlinked.ARRIVAL)
    made = []
    for vehicle, name in zip(entry.vehicles, names, strict=True):
        tax = None if entry.tax is None or taxes is None else Money(taxes[name], entry.tax.currency)
        charge = Charge(
            vehicle=vehicle,
            work_date=entry.work_date,
            words=entry.words,
            unlinked=reason,
            purpose=PURPOSE_OF_UNLINKED[reason],
            standing=Standing.INVOICED,
            tax_point=entry.tax_point,
            period=entry.period,
            price=Money(whole[name], entry.price.currency),
            item=entry.item,
            tax_code=entry.tax_code,
            tax=tax,
            settled=entry.settled,
            supplier=entry.supplier,
            invoice_number=entry.invoice_number,
            documents=entry.documents,
            shared_out=Words(_said(entry, dict(weights)[name], weights)),
        )
        made.append((name, charge))
    return made


def _weights(
    entry: SharedCharge, names: Sequence[str], values: Mapping[str, int]
) -> list[tuple[str, Decimal]]:
    """Give each vehicle's weight by its stock number. Raises SharesUnclear."""
    if len(set(names)) < max(len(names), 2):
        raise SharesUnclear(why="it does not name two different vehicles")
    if entry.weights:
        if len(entry.weights) != len(names) or min(entry.weights) <= 0:
            raise SharesUnclear(why="it has not one weight above zero for each vehicle")
        return list(zip(names, entry.weights, strict=True))
    if entry.by is SharedBy.EQUALLY:
        return [(name, Decimal(1)) for name in names]
    if entry.by is SharedBy.VALUE and all(values.get(name) for name in names):
        return [(name, Decimal(values[name])) for name in names]
    raise SharesUnclear(why=f"by {entry.by} it needs weights")


def _said(entry: SharedCharge, weight: Decimal, weights: list[tuple[str, Decimal]]) -> str:
    """Say how a share came about."""
    if entry.by is SharedBy.EQUALLY and not entry.weights:
        return f"1 of {len(weights)} equal shares of {entry.price}"
    whole = sum((each for _, each in weights), Decimal(0))
    return f"share of {entry.price} by {entry.by}: {weight.normalize():f} of {whole.normalize():f}"
