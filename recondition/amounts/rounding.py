"""Rounding half away from zero, the only rounding that posted figures use.

It is symmetric, ``round(-x) == -round(x)``, so that a reversing line is exactly the
negative of the line it reverses. Python's own ``round`` goes to the even neighbour.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts.exact import Exact, as_fraction, decimal_from_units

if TYPE_CHECKING:
    from decimal import Decimal


def round_half_away(value: Exact) -> int:
    """Return the nearest whole number; a half goes away from zero (2.5 -> 3, -2.5 -> -3).

    Raises TypeError for a float and ValueError for a Decimal that is not finite.
    """
    exact = as_fraction(value)
    nearest = (2 * abs(exact.numerator) + exact.denominator) // (2 * exact.denominator)
    return nearest if exact >= 0 else -nearest


def round_to(value: Exact, places: int) -> Decimal:
    """Return ``value`` to ``places`` decimals, half away from zero, all places written.

    Raises ValueError where ``places`` is negative, else as ``round_half_away``.
    """
    if places < 0:
        msg = f"decimal places cannot be negative: {places}"
        raise ValueError(msg)
    units = round_half_away(as_fraction(value) * Fraction(10) ** places)
    return decimal_from_units(units, places)
