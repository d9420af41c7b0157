"""What a car costs by standing: interest, storage, insurance, upkeep and market drift.

Interest and insurance are a rate a year on what the car stands at, by days of 365 (common
practice, no source; loans of other kinds count days otherwise). Each part is rounded once, half
away from zero, and the totals are sums of the parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import rounded, total

DAYS_A_YEAR = 365
WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingRates:
    """What standing costs: rates a year as fractions, amounts a day in the home currency."""

    interest: Decimal
    insurance: Decimal
    drift: Decimal
    storage: Money
    upkeep: Money


@dataclass(frozen=True, slots=True)
class HoldingPart:
    """One part of it, and what it rests on."""

    name: str
    basis: str
    amount: Money


def holding_for(rates: HoldingRates, stands_at: Money, days: int) -> tuple[HoldingPart, ...]:
    """Give what a number of days cost, part by part."""
    currency = stands_at.currency

    def a_year(rate: Decimal) -> Money:
        return rounded(stands_at.fraction * Fraction(rate) * days / DAYS_A_YEAR, currency)

    def a_day(amount: Money) -> Money:
        return Money(amount.minor * days, currency)

    def said(rate: Decimal) -> str:
        return f"{(rate * 100).normalize():f} % a year of {stands_at.grouped}"

    return (
        HoldingPart("interest", said(rates.interest), a_year(rates.interest)),
        HoldingPart("storage", f"{rates.storage.grouped} a day", a_day(rates.storage)),
        HoldingPart("insurance", said(rates.insurance), a_year(rates.insurance)),
        HoldingPart("upkeep", f"{rates.upkeep.grouped} a day", a_day(rates.upkeep)),
        HoldingPart("market drift", said(rates.drift), a_year(rates.drift)),
    )


def whole(parts: tuple[HoldingPart, ...]) -> Money:
    """Add the parts up."""
    return total((part.amount for part in parts), parts[0].amount.currency)
