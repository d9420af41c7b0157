"""What an hour costs, worked out from wage, on-costs and productive hours."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from recondition.amounts import Money
from recondition.amounts.money import CurrencyMismatch
from recondition.ledger.hourly import HoursNotSo, RateBasis, charge_out_rate, cost_rate

_BASIS = RateBasis(
    wage=Money(2400, "USD"),
    on_cost=Decimal("0.22"),
    paid_hours=Decimal(1760),
    productive_hours=Decimal(1250),
)


def test_a_productive_hour_carries_the_hours_that_are_not() -> None:
    """Invented worked example: 24.00 x 1.22 x 1760 / 1250 = 41.226..., so 41.23."""
    assert cost_rate(_BASIS) == Money(4123, "USD")


def test_an_overhead_in_another_currency_is_refused() -> None:
    """Nothing is converted by the way."""
    with pytest.raises(CurrencyMismatch):
        charge_out_rate(replace(_BASIS, overhead_per_hour=Money(1000, "EUR")))


def test_no_productive_hours_are_refused() -> None:
    """An hour that is never worked has no cost."""
    with pytest.raises(HoursNotSo):
        cost_rate(replace(_BASIS, productive_hours=Decimal(0)))
