"""Commission and premium: read examples, slices, and an inverse that is exact."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.amounts.rounding import round_to
from recondition.fields import Id
from recondition.worth.estimates import Basis, ThreeAmounts
from recondition.worth.settlement import (
    BadSlices,
    all_in,
    hammer_of,
    pass_through,
    premium_on,
    seller_keeps,
)
from recondition.worth.terms import SaleTerms, Slice
from tests.strategies_worth import sale_terms
from tests.worth import brute_force as plain


def usd(number: int | str) -> Money:
    return Money.of(number, "USD")


def terms_with(
    premium: tuple[Slice, ...] = (),
    commission: tuple[Slice, ...] = (),
    basis: Basis = Basis.ALL_IN,
    fees: Money | None = None,
) -> SaleTerms:
    return SaleTerms(
        vehicle=Id("v"),
        basis=basis,
        as_is=ThreeAmounts(usd(1), usd(1), usd(1)),
        labour_cost_rate=usd(0),
        premium=premium,
        commission=commission,
        fees=fees,
    )


def flat(rate: str) -> tuple[Slice, ...]:
    return (Slice(Decimal(rate)),)


def test_an_all_in_limit_of_1000_at_10_percent_bids_909_09() -> None:
    # Published arithmetic, read in explanations of the buyer's premium: M / (1 + b).
    hammer = hammer_of(Fraction(1000), terms_with(premium=flat("0.10")))
    assert rounded(hammer, "USD") == usd("909.09")


def test_premium_12_and_commission_6_pass_0_8393_of_an_all_in_uplift() -> None:
    terms = terms_with(premium=flat("0.12"), commission=flat("0.06"))
    k = pass_through(terms)
    assert k is not None
    assert round_to(k, 4) == Decimal("0.8393")
    assert seller_keeps(Fraction(500), terms) == 500 * k


def test_15_percent_on_top_is_13_04_percent_of_what_the_buyer_pays() -> None:
    # Read example: a commission of 15 percent against a premium of 15 percent.
    premium = premium_on(Fraction(1000), terms_with(premium=flat("0.15")))
    share = premium / all_in(Fraction(1000), terms_with(premium=flat("0.15")))
    assert round_to(100 * share, 2) == Decimal("13.04")
    commissioned = terms_with(commission=flat("0.15"), basis=Basis.HAMMER)
    assert 1000 - seller_keeps(Fraction(1000), commissioned) == 150


def test_slices_are_charged_each_on_its_own_part() -> None:
    premium = (Slice(Decimal("0.20"), usd(1000)), Slice(Decimal("0.10")))
    terms = terms_with(premium=premium, commission=flat("0.05"), fees=usd(30))
    assert premium_on(Fraction(1500), terms) == 250
    assert hammer_of(Fraction(1750), terms) == 1500
    assert seller_keeps(Fraction(1750), terms) == 1500 - 75 - 30
    assert pass_through(terms) is None


def test_slices_of_one_rate_are_flat() -> None:
    both = (Slice(Decimal("0.10"), usd(1000)), Slice(Decimal("0.10")))
    assert pass_through(terms_with(premium=both)) == Fraction(10, 11)


@given(sale_terms(), st.fractions(min_value=-3000, max_value=5000, max_denominator=700))
def test_the_inverse_is_exact_and_the_slices_add_up(terms: SaleTerms, price: Fraction) -> None:
    assert hammer_of(all_in(price, terms), terms) == price
    assert all_in(hammer_of(price, terms), terms) == price
    assert premium_on(price, terms) == plain.in_slices(price, terms.premium)
    fees = terms.fees.fraction if terms.fees else 0
    assert seller_keeps(price, terms) == plain.kept(price, terms) - fees


@pytest.mark.parametrize(
    ("slices", "words"),
    [
        ((Slice(Decimal(10)),), "of 1000 % is not"),
        ((Slice(Decimal("-0.1")),), "of -10 % is not"),
        ((Slice(Decimal("0.1"), usd(1000)),), "nothing holds above it"),
        ((Slice(Decimal("0.1")), Slice(Decimal("0.2"))), "do not rise"),
        (
            (
                Slice(Decimal("0.1"), usd(900)),
                Slice(Decimal("0.2"), usd(800)),
                Slice(Decimal("0.3")),
            ),
            "do not rise",
        ),
    ],
)
def test_slices_that_leave_a_hammer_without_a_rate_are_refused(
    slices: tuple[Slice, ...], words: str
) -> None:
    with pytest.raises(BadSlices, match=words):
        premium_on(Fraction(100), terms_with(premium=slices))
