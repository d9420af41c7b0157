"""What a count says about stock.

The tolerance is common practice, no source: a difference within 5 percent of what the book
said, or within 20 ml, 20 g or 2 pieces, is posted and left; a larger one is looked into.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal, localcontext
from enum import StrEnum
from fractions import Fraction

from recondition.amounts.rounding import round_to
from recondition.amounts.units import UNITS

SHARE = Fraction(5, 100)
_SMALL = {"volume": 20, "mass": 20}
_FEW = 2
_TENTH_OF_A_PERCENT = 3
_DIGITS = 60  # more than two quantities of 18 whole digits and 30 decimals need


def added(numbers: Iterable[Decimal]) -> Decimal:
    """Add up amounts exactly; Python's own sum of Decimals rounds after 28 digits."""
    with localcontext(prec=_DIGITS):
        return sum(numbers, Decimal(0))


def less(amount: Decimal, part: Decimal) -> Decimal:
    """Give an amount less a part of it, exactly."""
    return added((amount, part.copy_negate()))


class Verdict(StrEnum):
    """Whether a difference is worth a look (common practice, no source)."""

    AGREES = "agrees"
    WITHIN = "within"
    LOOK_INTO = "to look into"


def small(unit: str) -> Fraction:
    """Give the difference that is small whatever the book says, in ``unit``.

    It is 20 ml of a volume, 20 g of a weight, and 2 of anything counted.
    """
    dimension, factor = UNITS[unit].dimension, UNITS[unit].factor
    return Fraction(_SMALL[dimension]) / factor if dimension in _SMALL else Fraction(_FEW)


def verdict(book: Decimal, counted: Decimal, unit: str) -> Verdict:
    """Say what a count means against the book's amount, both in the stock ``unit``."""
    difference = abs(Fraction(counted) - Fraction(book))
    if not difference:
        return Verdict.AGREES
    allowed = max(SHARE * Fraction(book), small(unit))
    return Verdict.WITHIN if difference <= allowed else Verdict.LOOK_INTO


def share_of(part: Decimal, whole: Decimal) -> Decimal | None:
    """Give a part of a whole as a fraction to a tenth of a percent; None of nothing."""
    return round_to(Fraction(part) / Fraction(whole), _TENTH_OF_A_PERCENT) if whole > 0 else None
