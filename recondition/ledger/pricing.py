"""What a line costs, what its owner is billed, and how both are shared over findings.

The one place where a line is rounded: half away from zero to the currency's minor unit, so
that a reversal is exactly the negative. Shares follow by largest remainder and always add
up to the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from recondition.amounts import Money, Quantity
from recondition.amounts.money import rounded
from recondition.amounts.sharing import share_out
from recondition.fields import Id
from recondition.ledger.lines import (
    Bought,
    Charge,
    Consumable,
    Count,
    Entered,
    Labour,
    Link,
    Part,
    Payer,
    Purpose,
    Sublet,
)
from recondition.ledger.people import Rate
from recondition.ledger.taxes import TaxCode, tax_on
from recondition.materials.measuring import Measure


@dataclass(frozen=True, slots=True)
class Share:
    """What one finding bears of a line: its part of the cost and of the billed amount."""

    finding: Id
    weight: Decimal
    cost: Money
    billed: Money | None


@dataclass(frozen=True, slots=True)
class Priced:
    """A line's money: cost to the shop, amount billed to an owner (None for own stock).

    ``rate`` is the cost per hour that was used for labour. ``quantity`` is the amount that
    left stock (or that a count adjusted by), in the product's unit, and ``measure`` how it
    was worked out, with density and uncertainty; None for what has no stock. ``tax`` is the tax
    on its document, of which ``tax_recovered`` comes back and is no cost; ``period`` the posting
    period (YYYY-MM).
    """

    cost: Money
    billed: Money | None
    rate: Money | None
    shares: tuple[Share, ...]
    quantity: Quantity | None = None
    measure: Measure | None = None
    tax: Money | None = None
    tax_recovered: Money | None = None
    period: str | None = None


def per_unit(quantity: Quantity, price: Money, price_per: Quantity) -> Money:
    """Give the price of a quantity, rounded once. Units of one dimension convert exactly."""
    units = quantity.to(price_per.unit) / price_per.fraction
    return rounded(price.fraction * units, price.currency)


def hours_at(quantity: Quantity, rate: Money) -> Money:
    """Give hours times an hourly rate, rounded once. ``quantity`` is any unit of time."""
    return rounded(Fraction(quantity.to("h")) * rate.fraction, rate.currency)


def cost_of(
    entry: Entered,
    rate: Rate | None,
    stock_cost: Money | None = None,
    amount: Quantity | None = None,
) -> Money:
    """Give what a line costs the shop.

    Labour needs the person's rate on the work date; a count, and a consumable without a
    price of its own, what stock was worth; a consumable that was weighed, its ``amount``.
    """
    match entry:
        case Labour():
            if rate is None:
                message = "labour is priced with a rate"
                raise ValueError(message)
            return hours_at(entry.quantity, rate.cost_rate)
        case Consumable(price=Money() as each, price_per=Quantity() as per):
            return per_unit(_given(amount if entry.quantity is None else entry.quantity), each, per)
        case Consumable() | Count():
            if stock_cost is None:
                message = "what comes from stock is priced by stock"
                raise ValueError(message)
            return stock_cost
        case Part():
            return rounded(entry.price.fraction * entry.quantity.fraction, entry.price.currency)
        case Sublet() | Charge():
            return entry.price


def _given(amount: Quantity | None) -> Quantity:
    """Give an amount that must be there."""
    if amount is None:
        message = "a consumable with a price has an amount"
        raise ValueError(message)
    return amount


def billed_of(entry: Entered, cost: Money, rate: Rate | None) -> Money:
    """Give what an owner is billed: as entered, else charge-out hours, else the cost.

    Hours are the billed ones where they differ from hands-on time. Work that is done again is
    billed to nobody unless its owner pays, and an abnormal loss unless the entry says so.

    Labour without a charge-out rate is billed at nothing only where the entry says so; the
    book refuses to post it otherwise.
    """
    if entry.billed is not None:
        return entry.billed
    if entry.rework is not None and entry.rework.payer is not Payer.OWNER:
        return Money.zero(cost.currency)
    if entry.purpose is Purpose.SPOILAGE:
        return Money.zero(cost.currency)
    if isinstance(entry, Labour) and rate is not None and rate.charge_out_rate is not None:
        hours = entry.quantity if entry.billed_time is None else entry.billed_time
        return hours_at(hours, rate.charge_out_rate)
    return cost


def shares_of(links: tuple[Link, ...], cost: Money, billed: Money | None) -> tuple[Share, ...]:
    """Share a line over its findings; ties of a cent go by finding id."""
    if not links:
        return ()
    weights = [(link.finding, link.weight) for link in links]
    costs = share_out(cost.minor, weights)
    bills = share_out(billed.minor, weights) if billed is not None else None
    return tuple(
        Share(
            finding=link.finding,
            weight=link.weight,
            cost=Money(costs[link.finding], cost.currency),
            billed=Money(bills[link.finding], cost.currency) if bills is not None else None,
        )
        for link in sorted(links, key=lambda link: link.finding)
    )


def price(  # noqa: PLR0913 - each is a separate choice of the caller
    entry: Entered,
    rate: Rate | None,
    *,
    consigned: bool,
    stock_cost: Money | None = None,
    amount: Quantity | None = None,
    tax_code: TaxCode | None = None,
) -> Priced:
    """Work out a line's cost, billed amount and shares. Own stock is billed to nobody.

    ``stock_cost`` is what left stock, for a line that has no price of its own; ``amount`` what
    was measured, for one that has. Tax that does not come back is cost.
    """
    cost = cost_of(entry, rate, stock_cost, amount)
    stated = entry.tax if isinstance(entry, Bought) else None
    taxed = tax_on(cost, tax_code, stated) if tax_code is not None else None
    if taxed is not None:
        cost += taxed.cost
    billed = billed_of(entry, cost, rate) if consigned else None
    return Priced(
        cost=cost,
        billed=billed,
        rate=rate.cost_rate if isinstance(entry, Labour) and rate is not None else None,
        shares=shares_of(entry.links, cost, billed),
        tax=taxed.tax if taxed else None,
        tax_recovered=taxed.recovered if taxed else None,
    )


def reverse(line: Priced) -> Priced:
    """Give the exact negative of a posted line, share by share."""
    return Priced(
        cost=-line.cost,
        billed=None if line.billed is None else -line.billed,
        rate=line.rate,
        shares=tuple(
            Share(s.finding, s.weight, -s.cost, None if s.billed is None else -s.billed)
            for s in line.shares
        ),
        quantity=None if line.quantity is None else -line.quantity,
        measure=line.measure,
        tax=None if line.tax is None else -line.tax,
        tax_recovered=None if line.tax_recovered is None else -line.tax_recovered,
    )
