"""What an hour costs, worked out from wage, on-costs and productive hours."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from recondition.amounts import Money
from recondition.amounts.money import CurrencyMismatch
from recondition.ledger.hourly import (
    BelowZeroBasis,
    HoursNotSo,
    RateBasis,
    RateContradictsBasis,
    charge_out_rate,
    check_rate,
    cost_rate,
)

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


def test_a_charge_out_rate_adds_overhead_and_profit() -> None:
    full = replace(_BASIS, overhead_per_hour=Money(3877, "USD"), profit_per_hour=Money(1500, "USD"))
    assert charge_out_rate(full) == Money(9500, "USD")
    assert charge_out_rate(_BASIS) is None


def test_a_rate_beside_its_basis_must_agree() -> None:
    check_rate(None, _BASIS)
    check_rate(Money(4123, "USD"), _BASIS)
    with pytest.raises(RateContradictsBasis, match=r"41\.00.*41\.23"):
        check_rate(Money(4100, "USD"), _BASIS)


@pytest.mark.parametrize(
    "slip",
    [
        {"wage": Money(-1, "USD")},
        {"on_cost": Decimal("-0.01")},
        {"profit_per_hour": Money(-1, "USD")},
    ],
)
def test_nothing_of_a_basis_is_below_zero(slip: dict[str, Any]) -> None:
    with pytest.raises(BelowZeroBasis):
        cost_rate(replace(_BASIS, **slip))


def test_no_more_hours_are_productive_than_paid() -> None:
    with pytest.raises(HoursNotSo):
        cost_rate(replace(_BASIS, productive_hours=Decimal(1761)))
