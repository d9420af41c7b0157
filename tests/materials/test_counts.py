"""What a count says. The tolerance is common practice, no source."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.materials.counts import Verdict, added, share_of, small, verdict

AMOUNTS = st.decimals(0, 100_000, places=3)


@pytest.mark.parametrize(
    ("book", "counted", "unit", "said"),
    [
        ("959.3", "959.3", "ml", Verdict.AGREES),
        ("1000", "950", "ml", Verdict.WITHIN),  # exactly 5 percent
        ("1000", "949.9", "ml", Verdict.LOOK_INTO),
        ("1000", "1050", "ml", Verdict.WITHIN),
        ("1000", "1050.1", "ml", Verdict.LOOK_INTO),
        ("100", "80", "ml", Verdict.WITHIN),  # 20 percent, yet only 20 ml
        ("100", "79", "ml", Verdict.LOOK_INTO),
        ("100", "80", "g", Verdict.WITHIN),
        ("0.1", "0.08", "l", Verdict.WITHIN),  # the same 20 ml and 21 ml in litres
        ("0.1", "0.079", "l", Verdict.LOOK_INTO),
        ("0.1", "0.079", "kg", Verdict.LOOK_INTO),
        ("12", "10", "piece", Verdict.WITHIN),
        ("12", "9", "piece", Verdict.LOOK_INTO),
        ("100", "95", "piece", Verdict.WITHIN),  # 5 pieces, and 5 percent
        ("0", "2", "piece", Verdict.WITHIN),
        ("0", "3", "piece", Verdict.LOOK_INTO),
    ],
)
def test_a_difference_is_within_five_percent_or_a_small_amount(
    book: str, counted: str, unit: str, said: Verdict
) -> None:
    assert verdict(Decimal(book), Decimal(counted), unit) is said


def test_the_small_amount_is_told_in_the_stock_unit() -> None:
    assert small("ml") == 20
    assert small("l") == Fraction(1, 50)
    assert small("kg") == Fraction(1, 50)
    assert small("piece") == small("set") == 2


@given(book=AMOUNTS, counted=AMOUNTS)
def test_millilitres_and_litres_get_the_same_verdict(book: Decimal, counted: Decimal) -> None:
    assert verdict(book, counted, "ml") is verdict(book / 1000, counted / 1000, "l")


@given(book=AMOUNTS, difference=AMOUNTS)
def test_more_and_less_are_treated_alike(book: Decimal, difference: Decimal) -> None:
    assert verdict(book, book + difference, "g") is verdict(book, book - difference, "g")


def test_a_share_is_a_fraction_to_a_tenth_of_a_percent_and_nothing_has_none() -> None:
    assert share_of(Decimal(1), Decimal(3)) == Decimal("0.333")
    assert share_of(Decimal("-12.5"), Decimal(100)) == Decimal("-0.125")
    assert share_of(Decimal(5), Decimal(0)) is None


def test_amounts_add_up_beyond_the_digits_of_an_ordinary_sum() -> None:
    # 16 whole digits and 18 decimals: an ordinary sum of Decimals rounds after 28 digits.
    large, fine = Decimal(10**15), Decimal("0.000000000000000001")
    assert added([large, fine, -large]) == fine
    assert added([]) == 0
