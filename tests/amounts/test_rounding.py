"""Rounding half away from zero, against printed examples and as a property."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts.rounding import round_half_away, round_to
from tests.strategies import exact_numbers

if TYPE_CHECKING:
    from recondition.amounts.exact import Exact


@pytest.mark.parametrize(
    ("value", "expected"),
    [("0.5", 1), ("1.5", 2), ("2.5", 3), ("-2.5", -3), ("2.4999", 2), ("-0.4", 0), ("0", 0)],
)
def test_a_half_goes_away_from_zero(value: str, expected: int) -> None:
    """The rule itself; 2.5 is where Python's own round gives 2."""
    assert round_half_away(Decimal(value)) == expected
    assert round_half_away(Fraction(value)) == expected


@pytest.mark.parametrize(
    ("principal", "percent", "days", "printed"),
    [
        ("7000", "3.26", 100, "62.52"),
        ("45500", "11.8", 50, "735.48"),
        ("150000", "5.85", 70, "1682.88"),
    ],
)
def test_printed_interest(principal: str, percent: str, days: int, printed: str) -> None:
    """OpenStax Contemporary Mathematics, Simple Interest (module m00059), actual/365.

    Only examples are used in which rounding up, as that chapter does for loans, and
    rounding half away agree.
    """
    interest = Fraction(principal) * Fraction(percent) / 100 * days / 365
    assert str(round_to(interest, 2)) == printed


def test_a_loan_that_is_rounded_up_differs() -> None:
    """The same chapter prints 81.13 for 5,600 at 11.75 % over 45 days: it rounds loans up."""
    interest = Fraction(5600) * Fraction("0.1175") * 45 / 365
    assert str(round_to(interest, 2)) == "81.12"


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [("1.005", 2, "1.01"), ("-1.005", 2, "-1.01"), ("-0.001", 2, "0.00"), ("7", 3, "7.000")],
)
def test_places_are_all_written(value: str, places: int, text: str) -> None:
    """Also where they are zeros, and without a negative zero."""
    assert str(round_to(Decimal(value), places)) == text


@given(exact_numbers())
def test_a_reversal_is_exact(value: Exact) -> None:
    """round(-x) == -round(x)."""
    assert round_half_away(-value) == -round_half_away(value)


@given(exact_numbers(), st.integers(0, 8))
def test_the_error_is_at_most_a_half(value: Exact, places: int) -> None:
    """And a half is the error only where the result lies further from zero."""
    result = Fraction(round_to(value, places))
    error = abs(result - Fraction(value)) * 10**places
    assert error <= Fraction(1, 2)
    assert error < Fraction(1, 2) or abs(result) > abs(Fraction(value))


@pytest.mark.parametrize("value", [0.5, True, "1", None])
def test_only_exact_numbers(value: object) -> None:
    """A float, a bool and text are mistakes of the caller."""
    with pytest.raises(TypeError, match="an exact number is needed"):
        round_half_away(value)  # type: ignore[arg-type]


def test_no_number_and_no_places() -> None:
    """Neither NaN nor a negative count of decimals means anything."""
    with pytest.raises(ValueError, match="finite"):
        round_half_away(Decimal("NaN"))
    with pytest.raises(ValueError, match="negative"):
        round_to(1, -1)
