"""What the movements of a product add up to, flow by flow: the stock identity.

received + count gains = issued + wasted + count losses + returned + price difference + on hand,
in quantity (where the price difference is nothing) and in cost.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from recondition.amounts import Money
from recondition.materials.counts import added, less
from recondition.materials.stock import Flow, Movement, Stock
from recondition.materials.valuation import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What movements add up to, by flow; ``cost`` and ``quantity`` have every flow."""

    quantity: dict[Flow, Decimal]
    cost: dict[Flow, Money]
    price_difference: Money

    @property
    def on_hand(self) -> Decimal:
        """What must be on hand by quantity."""
        gone = added(self.quantity[flow] for flow in _OUT)
        return less(added(self.quantity[flow] for flow in _IN), gone)

    @property
    def value(self) -> Money:
        """What must be on hand by cost."""
        whole = -self.price_difference
        for flow in _IN:
            whole += self.cost[flow]
        for flow in _OUT:
            whole -= self.cost[flow]
        return whole

    def holds(self, stock: Stock) -> bool:
        """Tell whether the stock identity holds against what is on hand."""
        return self.on_hand == stock.quantity and self.value == stock.value


_IN = (Flow.RECEIVED, Flow.COUNT_GAIN)
_OUT = (Flow.ISSUED, Flow.WASTED, Flow.COUNT_LOSS, Flow.RETURNED)


def balance(steps: Iterable[Movement | Step], currency: str) -> Balance:
    """Add up movements of one product."""
    quantity = dict.fromkeys(Flow, Decimal(0))
    cost = dict.fromkeys(Flow, Money.zero(currency))
    difference = Money.zero(currency)
    for step in steps:
        quantity[step.flow] = added((quantity[step.flow], step.quantity))
        cost[step.flow] += step.cost
        difference += step.price_difference
    return Balance(quantity=quantity, cost=cost, price_difference=difference)
