"""Hypothesis strategies for the values that every room handles.

A new value type joins this file, so that each property test draws it in the same way.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from recondition.amounts.currencies import CODES
from recondition.amounts.exact import decimal_from_units
from recondition.amounts.money import Money
from recondition.amounts.quantity import Quantity
from recondition.amounts.units import UNITS

if TYPE_CHECKING:
    from decimal import Decimal

# Sums of a few dozen such amounts still fit into the 64 bits of a stored amount.
LARGEST_DRAWN = 10**15


def currencies() -> st.SearchStrategy[str]:
    """Any ISO 4217 code that has a minor unit."""
    return st.sampled_from(sorted(CODES))


def monies(currency: str | None = None) -> st.SearchStrategy[Money]:
    """Money, negative and zero included, in one currency or in any."""
    codes = currencies() if currency is None else st.just(currency)
    return st.builds(Money, st.integers(-LARGEST_DRAWN, LARGEST_DRAWN), codes)


def decimals(places: int = 6) -> st.SearchStrategy[Decimal]:
    """Finite decimals of up to ``places`` decimals, some with trailing zeros."""
    units = st.integers(-(10**12), 10**12)
    return st.builds(decimal_from_units, units, st.integers(0, places))


def quantities(unit: str | None = None) -> st.SearchStrategy[Quantity]:
    """Quantities, negative and zero included, in one unit or in any."""
    codes = st.sampled_from(list(UNITS)) if unit is None else st.just(unit)
    return st.builds(Quantity, decimals(), codes)


def exact_numbers() -> st.SearchStrategy[Decimal | Fraction | int]:
    """Every kind of exact number that the amounts take, halves among them."""
    halves = st.integers(-(10**6), 10**6).map(lambda twice: Fraction(twice, 2))
    return st.one_of(st.integers(-(10**9), 10**9), decimals(), st.fractions(), halves)


def weights() -> st.SearchStrategy[list[tuple[str, Decimal | Fraction | int]]]:
    """Keys with weights of zero or more, at least one of them above zero."""
    weight = st.one_of(
        st.integers(0, 1000),
        st.fractions(min_value=0, max_value=10, max_denominator=97),
        st.decimals(min_value=0, max_value=100, places=2),
    )
    pairs = st.dictionaries(st.text("abcdef", min_size=1, max_size=3), weight, min_size=1)
    return pairs.filter(lambda drawn: any(drawn.values())).map(lambda drawn: list(drawn.items()))
