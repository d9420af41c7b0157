"""Money: exact, in one currency, of a size that can be stored."""

from __future__ import annotations

import operator
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts.currencies import UnknownCurrency
from recondition.amounts.money import (
    AmountTooLarge,
    CurrencyMismatch,
    Money,
    NotAnAmount,
    TooFineForCurrency,
    rounded,
    total,
)
from recondition.amounts.rounding import round_half_away
from tests.strategies import decimals, monies

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.amounts.exact import Exact


@pytest.mark.parametrize(
    ("text", "currency", "minor", "written"),
    [
        ("1234.5", "USD", 123450, "1234.50"),
        ("-0.05", "EUR", -5, "-0.05"),
        ("1500", "JPY", 1500, "1500"),
        ("0.001", "KWD", 1, "0.001"),
        ("1.0001", "CLF", 10001, "1.0001"),
        (" +7 ", "GBP", 700, "7.00"),
        (".5", "GBP", 50, "0.50"),
        ("-0", "GBP", 0, "0.00"),
    ],
)
def test_text_in_and_out(text: str, currency: str, minor: int, written: str) -> None:
    """Currencies of 0, 2, 3 and 4 decimals (ISO 4217)."""
    money = Money.of(text, currency)
    assert money == Money(minor, currency)
    assert str(money) == written
    assert money.text == f"{written} {currency}"


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "abc",
        "1,234.50",
        "1.234,50",
        "1e3",
        "$5",
        "--1",
        "5.",
        "NaN",
        "٣",
        "1 000",
        "9" * 61,
    ],
)
def test_text_that_is_no_amount(text: str) -> None:
    """Grouping, commas and signs are read by the import, never guessed here."""
    with pytest.raises(NotAnAmount) as refused:
        Money.of(text, "USD")
    assert "1234.50" in refused.value.todo


@pytest.mark.parametrize(
    ("amount", "currency"),
    [("1.005", "USD"), ("12.500", "USD"), ("0.5", "JPY"), (Decimal("0.0001"), "KWD")],
)
def test_too_fine(amount: str | Decimal, currency: str) -> None:
    """Nothing is rounded on the way in."""
    with pytest.raises(TooFineForCurrency) as refused:
        Money.of(amount, currency)
    assert currency in refused.value.what


def test_a_decimal_is_taken_by_its_value() -> None:
    """Its zeros are arithmetic, not something that a person wrote."""
    assert Money.of(Decimal("12.5000"), "USD") == Money(1250, "USD")
    assert Money.of(Decimal("1E+3"), "JPY") == Money(1000, "JPY")


@pytest.mark.parametrize("number", [Decimal("NaN"), Decimal("Infinity"), Decimal("1E-999999")])
def test_decimals_that_are_no_amount(number: Decimal) -> None:
    """Neither endless nor endlessly small."""
    with pytest.raises(NotAnAmount):
        Money.of(number, "USD")


def test_too_large() -> None:
    """Beyond 64 bits nothing can be stored, so nothing is made."""
    assert Money(2**63 - 1, "USD").minor == 2**63 - 1
    with pytest.raises(AmountTooLarge):
        Money(2**63, "USD")
    for amount in (Decimal("1E+999999999"), 10**5000, "9" * 40):
        with pytest.raises(AmountTooLarge):
            Money.of(amount, "USD")


@pytest.mark.parametrize("value", [1.0, 0.1, True, None])
def test_float_and_bool_are_refused(value: object) -> None:
    """At construction, in ``of`` and in ``times``."""
    with pytest.raises(TypeError):
        Money(value, "USD")  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Money.of(value, "USD")  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Money(100, "USD").times(value)  # type: ignore[arg-type]


def test_unknown_currency() -> None:
    """A code without a minor unit is none (ISO 4217: XAU is gold)."""
    with pytest.raises(UnknownCurrency):
        Money(1, "XAU")


@pytest.mark.parametrize(
    "operation",
    [operator.add, operator.sub, operator.lt, operator.le, operator.gt, operator.ge],
)
def test_currencies_do_not_mix(operation: Callable[[object, object], object]) -> None:
    """Equality may be asked across currencies; nothing else may."""
    with pytest.raises(CurrencyMismatch):
        operation(Money(1, "USD"), Money(1, "EUR"))
    with pytest.raises(TypeError):
        operation(Money(1, "USD"), 1)
    assert Money(1, "USD") != Money(1, "EUR")


def test_order_and_truth() -> None:
    """Amounts order by size; only zero is false."""
    small, large = Money(-5, "USD"), Money(3, "USD")
    assert small < large
    assert small <= small  # noqa: PLR0124 - the operator is under test
    assert large > small
    assert large >= large  # noqa: PLR0124 - the operator is under test
    assert not large < small
    assert small
    assert not Money.zero("USD")
    assert abs(small) == Money(5, "USD")


def test_times_rounds_once_half_away() -> None:
    """2.5 hours at 41.23 is 103.075, so 103.08; its reversal is exactly the negative."""
    rate = Money.of("41.23", "USD")
    assert rate.times(Decimal("2.5")) == Money.of("103.08", "USD")
    assert rate.times(Decimal("-2.5")) == Money.of("-103.08", "USD")
    assert Money(1, "USD").times(Fraction(1, 2)) == Money(1, "USD")


def test_rounded_and_total() -> None:
    """From exact major units, and sums of rounded lines."""
    assert rounded(Fraction(1, 3), "USD") == Money(33, "USD")
    assert rounded(Fraction("0.0005"), "KWD") == Money(1, "KWD")
    assert total([], "EUR") == Money.zero("EUR")
    assert total([Money(5, "EUR"), Money(-7, "EUR")], "EUR") == Money(-2, "EUR")
    with pytest.raises(CurrencyMismatch):
        total([Money(5, "EUR"), Money(5, "USD")], "EUR")


def test_grouped() -> None:
    """For people; plain text stays without grouping."""
    assert Money.of("-1234567.8", "USD").grouped == "-1,234,567.80"
    assert Money.of("1234567", "JPY").grouped == "1,234,567"
    assert Money.of("999", "USD").grouped == "999.00"


@given(monies())
def test_text_round_trip(money: Money) -> None:
    """What is written reads back the same, as text, Decimal and Fraction."""
    assert Money.of(str(money), money.currency) == money
    assert Money.of(money.number, money.currency) == money
    assert rounded(money.fraction, money.currency) == money
    assert money.grouped.replace(",", "") == str(money)


@given(monies("USD"), decimals())
def test_times_against_exact_arithmetic(money: Money, factor: Decimal) -> None:
    """The product is exact until its one rounding, and symmetric."""
    expected = round_half_away(Fraction(money.minor) * Fraction(factor))
    if abs(expected) < 2**63:
        assert money.times(factor).minor == expected
        assert money.times(-factor) == -money.times(factor) == (-money).times(factor)


@given(st.lists(monies("GBP"), max_size=20))
def test_a_total_and_its_reversal(amounts: list[Money]) -> None:
    """A total is the sum of its lines in any order, and reversing every line reverses it."""
    whole = total(amounts, "GBP")
    assert whole == total(reversed(amounts), "GBP")
    assert total((-money for money in amounts), "GBP") == -whole
    assert not whole - whole


@given(monies("CLF"))
def test_a_narrow_decimal_context_changes_nothing(money: Money) -> None:
    """No figure depends on the precision some other code has set."""
    with localcontext() as context:
        context.prec = 2
        assert Money.of(str(money), "CLF") == money
        assert Money.of(money.number, "CLF") == money
        factor: Exact = Decimal("1.0001")
        assert money.times(factor).minor == round_half_away(money.minor * Fraction("1.0001"))
