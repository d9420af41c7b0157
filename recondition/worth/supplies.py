"""Shared supplies (gloves, tape, laundry) charged by rule, and the minimum charge.

A flat amount a job, an amount a hands-on hour, or a percentage of labour with a cap (common
practice, no source). Some places let a shop charge supplies only where the estimate named the
amount or the method before the work; the quote states the rule, and local rules decide.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.errors import Refused


class SuppliesBy(StrEnum):
    """What shared supplies go by."""

    NOTHING = "nothing"
    JOB = "per job"
    HOUR = "per hour"
    LABOUR = "of labour"


class BadSuppliesRule(Refused):
    """A rule for shared supplies that cannot be read."""

    def __init__(self, found: str) -> None:
        """Show what was given and the forms there are."""
        super().__init__(
            f"{found!r} is no rule for shared supplies",
            todo="Write '0', '18 per job', '2.50 per hour', or '6% of labour, at most 45'.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliesRule:
    """How shared supplies are charged: ``amount`` a job or an hour, or ``share`` of labour."""

    by: SuppliesBy
    amount: Money
    share: Decimal = Decimal(0)
    most: Money | None = None

    @property
    def text(self) -> str:
        """The rule in words."""
        match self.by:
            case SuppliesBy.NOTHING:
                return "no charge for shared supplies"
            case SuppliesBy.LABOUR:
                most = f", at most {self.most}" if self.most else ""
                return f"{(self.share * 100).normalize():f}% of labour{most}"
            case _:
                return f"{self.amount} {self.by.value}"


_AMOUNT = r"(?P<amount>\d+(?:\.\d+)?)"
_FORMS = (
    (SuppliesBy.JOB, re.compile(rf"{_AMOUNT} per job")),
    (SuppliesBy.HOUR, re.compile(rf"{_AMOUNT} per hour")),
    (
        SuppliesBy.LABOUR,
        re.compile(r"(?P<share>\d+(?:\.\d+)?) ?% of labour(?:, at most (?P<most>\d+(?:\.\d+)?))?"),
    ),
)


def supplies_rule(text: str, currency: str) -> SuppliesRule:
    """Read a rule. Raises BadSuppliesRule, and TooFineForCurrency for more decimals than it has."""
    plain = " ".join(text.casefold().split())
    zero = Money.zero(currency)
    if plain in ("", "0", "none"):
        return SuppliesRule(by=SuppliesBy.NOTHING, amount=zero)
    for by, form in _FORMS:
        found = form.fullmatch(plain)
        if found and by is SuppliesBy.LABOUR:
            most = Money.of(found["most"], currency) if found["most"] else None
            share = Decimal(found["share"]) / 100
            if most is None or share > 1:
                raise BadSuppliesRule(text)
            return SuppliesRule(by=by, amount=zero, share=share, most=most)
        if found:
            return SuppliesRule(by=by, amount=Money.of(found["amount"], currency))
    raise BadSuppliesRule(text)


def due(rule: SuppliesRule, hands_on_h: Fraction, labour: Money, already: Money) -> Money:
    """Give what is still to be charged to a job, rounded once, never below zero."""
    match rule.by:
        case SuppliesBy.NOTHING:
            whole = Fraction(0)
        case SuppliesBy.JOB:
            whole = rule.amount.fraction if hands_on_h > 0 else Fraction(0)
        case SuppliesBy.HOUR:
            whole = rule.amount.fraction * hands_on_h
        case SuppliesBy.LABOUR:
            whole = labour.fraction * Fraction(rule.share)
            if rule.most is not None:
                whole = min(whole, rule.most.fraction)
    left = rounded(whole, labour.currency).minor - already.minor
    return Money(max(left, 0), labour.currency)


def minimum_due(minimum: Money, billed: Money) -> Money:
    """Give what is missing to the minimum charge, never below zero."""
    return Money(max(minimum.minor - billed.minor, 0), minimum.currency)
