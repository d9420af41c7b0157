"""Testing what an own car may stand at: the lower of cost and net realisable value.

Net realisable value is the expected price less the costs to finish and to sell. A write-down
is an expense of its period and recovery takes it back, never beyond cost (IAS 2, 9 and 33, in
outline). General information; the local accountant decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from recondition.amounts import Money
from recondition.errors import Refused
from recondition.fields import Id, Words


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueTest:
    """One test of one own car: what it may fetch, and what it takes to finish and to sell it."""

    vehicle: Id
    tested_on: date
    expected_price: Money
    to_complete: Money
    to_sell: Money
    basis: Words
    period: str | None = None


class NotInInventory(Refused):
    """A value test of a car that is no inventory of the shop."""

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"vehicle {ref} is no inventory of the shop, so there is nothing to write down",
            todo="Test own cars that are not sold.",
        )


def change_of(cost: Money, carrying: Money, test: ValueTest) -> Money:
    """Give by how much a test moves what a car stands at: below zero a write-down.

    ``cost`` is what it stands at without write-downs, ``carrying`` with them.
    """
    realisable = test.expected_price - test.to_complete - test.to_sell
    worth = max(realisable.minor, 0)
    return Money(min(cost.minor, worth) - carrying.minor, cost.currency)
