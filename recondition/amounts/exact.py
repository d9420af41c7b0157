"""Exact numbers in and out: no float, no binary rounding, no decimal context.

Python's ``Decimal`` rounds silently to the precision of whatever context is active
(28 digits by default), so nothing here uses Decimal arithmetic: text becomes a Decimal by
its constructor, which is exact, and everything that is computed is a Fraction.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

Exact = Decimal | Fraction | int

# Longer text is not a number that anybody typed, and parsing it would cost time and memory.
MAX_TEXT_LENGTH = 60

_PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")


def require_exact(value: object) -> None:
    """Raise TypeError unless ``value`` is a Decimal, Fraction or int (a bool is none).

    A float is refused here because 0.1 as a float is not one tenth.
    """
    if isinstance(value, bool) or not isinstance(value, Decimal | Fraction | int):
        msg = f"an exact number is needed (Decimal, Fraction or int), not {type(value).__name__}"
        raise TypeError(msg)


def as_fraction(value: Exact) -> Fraction:
    """Return the same number as a Fraction.

    Raises TypeError for a float and ValueError for a Decimal that is not finite.
    """
    require_exact(value)
    if isinstance(value, Decimal) and not value.is_finite():
        msg = f"a finite number is needed, not {value}"
        raise ValueError(msg)
    return Fraction(value)


def decimal_from_text(text: str) -> Decimal | None:
    """Read plain decimal text such as ``-1234.50``; None where it is anything else.

    Grouping, exponents, a decimal comma and currency signs are for the import to resolve:
    here ``1,234`` could mean two numbers, so it means none.
    """
    stripped = text.strip()
    if len(stripped) > MAX_TEXT_LENGTH or not _PLAIN.fullmatch(stripped):
        return None
    return Decimal(stripped)


def decimal_from_units(units: int, places: int) -> Decimal:
    """Return ``units / 10**places`` written with exactly ``places`` decimals."""
    return Decimal(f"{units}E-{places}")
