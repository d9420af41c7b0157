"""What an hour costs and is charged at, worked out from wage, on-costs and productive hours.

Cost rate = wage x (1 + on-costs) x paid hours / productive hours; charge-out rate = cost rate
+ overhead per productive hour + profit (common practice, no source). Each is rounded once.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.errors import Refused


class HoursNotSo(Refused):
    """Productive hours that are none, or more than the paid ones."""

    def __init__(self, paid: Decimal, productive: Decimal) -> None:
        """Show both."""
        super().__init__(
            f"of {paid:f} paid hours {productive:f} are productive",
            todo="Productive hours are above zero and at most the paid ones.",
        )


class BelowZeroBasis(Refused):
    """A wage, an on-cost, an overhead or a profit below zero."""

    def __init__(self) -> None:
        """Say that none may be."""
        super().__init__(
            "a wage, an on-cost, an overhead or a profit is below zero",
            todo="Give each as it is paid; a charge-out rate of your own can be entered as it is.",
        )


class RateContradictsBasis(Refused):
    """A cost rate beside what it is worked out from, and the two do not agree."""

    def __init__(self, given: Money, worked_out: Money) -> None:
        """Show both."""
        super().__init__(
            f"the cost rate is given as {given}, and works out as {worked_out}",
            todo="Leave the cost rate empty, or correct the figures it is worked out from.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RateBasis:
    """What rates are worked out from; ``on_cost`` is a fraction of the wage."""

    wage: Money
    on_cost: Decimal
    paid_hours: Decimal
    productive_hours: Decimal
    overhead_per_hour: Money | None = None
    profit_per_hour: Money | None = None


def _exact(basis: RateBasis) -> Fraction:
    """Give the exact cost of a productive hour. Raises BelowZeroBasis, HoursNotSo."""
    parts = (basis.wage, basis.overhead_per_hour, basis.profit_per_hour)
    if basis.on_cost < 0 or any(part is not None and part.minor < 0 for part in parts):
        raise BelowZeroBasis
    if not 0 < basis.productive_hours <= basis.paid_hours:
        raise HoursNotSo(basis.paid_hours, basis.productive_hours)
    share = Fraction(basis.paid_hours) / Fraction(basis.productive_hours)
    return basis.wage.fraction * (1 + Fraction(basis.on_cost)) * share


def cost_rate(basis: RateBasis) -> Money:
    """Work out what a productive hour costs. Raises HoursNotSo."""
    return rounded(_exact(basis), basis.wage.currency)


def charge_out_rate(basis: RateBasis) -> Money | None:
    """Work out what an hour is charged at; None where neither overhead nor profit is given.

    Raises HoursNotSo, and CurrencyMismatch where wage, overhead and profit differ in currency.
    """
    added = [part for part in (basis.overhead_per_hour, basis.profit_per_hour) if part is not None]
    if not added:
        return None
    extra = sum(added, Money.zero(basis.wage.currency))
    whole = _exact(basis) + extra.fraction
    return rounded(whole, basis.wage.currency)


def check_rate(given: Money | None, basis: RateBasis) -> None:
    """Refuse a cost rate that its basis contradicts. Raises RateContradictsBasis, HoursNotSo."""
    worked_out = cost_rate(basis)
    if given is not None and given != worked_out:
        raise RateContradictsBasis(given, worked_out)
