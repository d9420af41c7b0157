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
from recondition.ledger.lines import Charge, Consumable, Entered, Labour, Link, Part, Sublet
from recondition.ledger.people import Rate


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

    ``rate`` is the cost per hour that was used for labour.
    """

    cost: Money
    billed: Money | None
    rate: Money | None
    shares: tuple[Share, ...]


def per_unit(quantity: Quantity, price: Money, price_per: Quantity) -> Money:
    """Give the price of a quantity, rounded once. Units of one dimension convert exactly."""
    units = quantity.to(price_per.unit) / price_per.fraction
    return rounded(price.fraction * units, price.currency)


def hours_at(quantity: Quantity, rate: Money) -> Money:
    """Give hours times an hourly rate, rounded once. ``quantity`` is any unit of time."""
    return rounded(Fraction(quantity.to("h")) * rate.fraction, rate.currency)


def cost_of(entry: Entered, rate: Rate | None) -> Money:
    """Give what a line costs the shop. Labour needs the person's rate on the work date."""
    match entry:
        case Labour():
            if rate is None:
                message = "labour is priced with a rate"
                raise ValueError(message)
            return hours_at(entry.quantity, rate.cost_rate)
        case Consumable():
            return per_unit(entry.quantity, entry.price, entry.price_per)
        case Part():
            return rounded(entry.price.fraction * entry.quantity.fraction, entry.price.currency)
        case Sublet() | Charge():
            return entry.price


def billed_of(entry: Entered, cost: Money, rate: Rate | None) -> Money:
    """Give what an owner is billed: as entered, else charge-out hours, else the cost.

    Labour without a charge-out rate is billed at nothing only where the entry says so; the
    book refuses to post it otherwise.
    """
    if entry.billed is not None:
        return entry.billed
    if isinstance(entry, Labour) and rate is not None and rate.charge_out_rate is not None:
        return hours_at(entry.quantity, rate.charge_out_rate)
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


def price(entry: Entered, rate: Rate | None, *, consigned: bool) -> Priced:
    """Work out a line's cost, billed amount and shares. Own stock is billed to nobody."""
    cost = cost_of(entry, rate)
    billed = billed_of(entry, cost, rate) if consigned else None
    return Priced(
        cost=cost,
        billed=billed,
        rate=rate.cost_rate if isinstance(entry, Labour) and rate is not None else None,
        shares=shares_of(entry.links, cost, billed),
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
    )
