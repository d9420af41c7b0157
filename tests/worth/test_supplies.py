"""Shared supplies by rule and the minimum charge. Figures are invented."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.worth.supplies import BadSuppliesRule, due, minimum_due, supplies_rule


def usd(number: str) -> Money:
    return Money.of(number, "USD")


NONE = usd("0")


@pytest.mark.parametrize(
    ("text", "hours", "labour", "wanted"),
    [
        ("0", "8", "800", "0"),
        ("none", "8", "800", "0"),
        ("18 per job", "8", "800", "18"),
        ("18 per job", "0", "0", "0"),
        ("2.50 per hour", "7.5", "800", "18.75"),
        ("6% of labour, at most 45", "5", "500", "30"),
        ("6 % OF labour,  at most 45", "9", "900", "45"),
        ("1% of labour, at most 45", "1", "0.50", "0.01"),  # half a cent goes away from zero
    ],
)
def test_each_rule(text: str, hours: str, labour: str, wanted: str) -> None:
    rule = supplies_rule(text, "USD")
    assert due(rule, Fraction(hours), usd(labour), NONE) == usd(wanted)


def test_only_what_was_not_charged_yet_is_due() -> None:
    rule = supplies_rule("2.50 per hour", "USD")
    assert due(rule, Fraction(8), usd("800"), usd("12.50")) == usd("7.50")
    assert due(rule, Fraction(2), usd("200"), usd("12.50")) == usd("0")


@pytest.mark.parametrize(
    "text", ["a bit", "18", "-3 per job", "6% of labour", "600% of labour, at most 5", "5 per day"]
)
def test_other_words_are_refused_with_the_forms(text: str) -> None:
    with pytest.raises(BadSuppliesRule) as refused:
        supplies_rule(text, "USD")
    assert "per job" in refused.value.todo


@pytest.mark.parametrize("text", ["0", "18 per job", "2.50 per hour", "6% of labour, at most 45"])
def test_a_rule_in_words_reads_back(text: str) -> None:
    rule = supplies_rule(text, "USD")
    if text != "0":
        assert supplies_rule(rule.text, "USD") == rule
    assert rule.text


def test_the_minimum_charge() -> None:
    assert minimum_due(usd("150"), usd("120")) == usd("30")
    assert minimum_due(usd("150"), usd("150")) == usd("0")
    assert minimum_due(usd("0"), usd("0")) == usd("0")


@given(st.integers(0, 500), st.integers(0, 100_000), st.integers(0, 100_000))
def test_charged_twice_is_charged_once(hours: int, labour: int, already: int) -> None:
    rule = supplies_rule("6% of labour, at most 45", "USD")
    money, before = Money(labour, "USD"), Money(already, "USD")
    first = due(rule, Fraction(hours), money, before)
    assert 0 <= first.minor <= 4500
    assert due(rule, Fraction(hours), money, before + first) == NONE
