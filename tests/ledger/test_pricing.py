"""Pricing of each kind of line, sharing over findings, and the exact negative."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.amounts.units import UnitMismatch
from recondition.fields import Id, Words
from recondition.ledger.lines import (
    Cause,
    Charge,
    Consumable,
    Count,
    Labour,
    Link,
    Origin,
    Part,
    Payer,
    Purpose,
    Rework,
    Standing,
    Sublet,
)
from recondition.ledger.people import Rate
from recondition.ledger.pricing import cost_of, hours_at, per_unit, price, reverse, shares_of
from tests.strategies import monies

DAY = date(2031, 3, 4)


def usd(text: str) -> Money:
    return Money.of(text, "USD")


LINE: dict[str, Any] = {
    "work_date": DAY,
    "words": Words("w"),
    "purpose": Purpose.RECONDITIONING,
    "standing": Standing.MEASURED,
}
RATE = Rate(person=Id("p"), from_date=DAY, cost_rate=usd("38.75"), charge_out_rate=usd("95"))


def labour(hours: str, unit: str = "h", **more: Any) -> Labour:
    return Labour(person=Id("p"), quantity=Quantity.of(hours, unit), **LINE, **more)


@pytest.mark.parametrize(
    ("hours", "rate", "cost"),
    [
        # Worked by hand; the half cent goes away from zero.
        ("41.5", "38.75", "1608.13"),
        ("-41.5", "38.75", "-1608.13"),
        ("18.0", "38.75", "697.50"),
        ("18.0", "95.00", "1710.00"),
        ("0", "95.00", "0.00"),
    ],
)
def test_hours_at_a_rate_are_rounded_once(hours: str, rate: str, cost: str) -> None:
    assert hours_at(Quantity.of(hours, "h"), usd(rate)) == usd(cost)


def test_minutes_are_hours_exactly() -> None:
    """20 min is a third of an hour, which no decimal of hours holds."""
    assert hours_at(Quantity.of("20", "min"), usd("30")) == usd("10.00")
    assert hours_at(Quantity.of("100", "min"), usd("38.75")) == usd("64.58")


def test_a_measured_amount_is_priced_in_any_unit_of_its_dimension() -> None:
    """35 ml at 42.00 a litre = 1.47; 120 g at 8.10 for 500 g = 1.944, worked by hand."""
    assert per_unit(Quantity.of("35", "ml"), usd("42"), Quantity.of("1", "l")) == usd("1.47")
    assert per_unit(Quantity.of("120", "g"), usd("8.10"), Quantity.of("500", "g")) == usd("1.94")
    with pytest.raises(UnitMismatch):
        per_unit(Quantity.of("35", "ml"), usd("42"), Quantity.of("1", "kg"))


def test_each_kind_has_its_cost() -> None:
    part = Part(quantity=Quantity.of("3", "piece"), price=usd("19.99"), origin=Origin.USED,
                part_name=Words("decal"), **LINE)  # fmt: skip
    used = Consumable(product=Id("c"), quantity=Quantity.of("35", "ml"), price=usd("42"),
                      price_per=Quantity.of("1", "l"), **LINE)  # fmt: skip
    entries = (labour("2"), part, used, Sublet(price=usd("300.01"), **LINE),
               Charge(price=usd("-5"), **LINE))  # fmt: skip
    assert [cost_of(entry, RATE).text for entry in entries] == [
        "77.50 USD", "59.97 USD", "1.47 USD", "300.01 USD", "-5.00 USD",
    ]  # fmt: skip
    with pytest.raises(ValueError, match="with a rate"):
        cost_of(labour("2"), None)


def test_an_owner_is_billed_charge_out_hours_or_what_is_entered_or_the_cost() -> None:
    charge = Charge(price=usd("10"), **LINE)
    billed = [
        price(entry, RATE, consigned=True).billed
        for entry in (labour("2"), labour("2", billed=usd("7")), charge)
    ]
    assert billed == [usd("190"), usd("7"), usd("10")]
    assert price(labour("2"), RATE, consigned=False).billed is None


def test_the_rate_that_was_used_is_kept_with_labour_only() -> None:
    assert price(labour("2"), RATE, consigned=False).rate == usd("38.75")
    assert price(Charge(price=usd("1"), **LINE), RATE, consigned=False).rate is None


def test_a_currency_without_cents_and_one_with_three() -> None:
    yen = Rate(person=Id("p"), from_date=DAY, cost_rate=Money.of("3875", "JPY"))
    dinar = Rate(person=Id("p"), from_date=DAY, cost_rate=Money.of("38.755", "KWD"))
    assert cost_of(labour("1.5"), yen) == Money.of("5813", "JPY")
    assert cost_of(labour("1.5"), dinar) == Money.of("58.133", "KWD")


def test_a_cent_left_over_goes_by_the_finding() -> None:
    links = tuple(Link(Id(name)) for name in ("c", "a", "b"))
    shares = shares_of(links, usd("10.00"), usd("0.01"))
    assert [(share.finding, share.cost, share.billed) for share in shares] == [
        ("a", usd("3.34"), usd("0.01")),
        ("b", usd("3.33"), usd("0.00")),
        ("c", usd("3.33"), usd("0.00")),
    ]
    assert shares_of((), usd("10.00"), None) == ()


@given(
    monies("USD"),
    monies("USD"),
    st.lists(st.integers(0, 1000), min_size=1, max_size=6).filter(any),
    st.booleans(),
)
def test_shares_add_up_and_a_reversal_undoes_each(
    cost: Money,
    billed: Money,
    weights: list[int],
    consigned: bool,  # noqa: FBT001 - drawn
) -> None:
    links = tuple(Link(Id(f"f{n}"), Decimal(weight)) for n, weight in enumerate(weights))
    entry = Charge(price=cost, billed=billed, links=links, **LINE)
    line = price(entry, None, consigned=consigned)
    assert sum(share.cost.minor for share in line.shares) == cost.minor
    if consigned:
        assert sum(share.billed.minor for share in line.shares if share.billed) == billed.minor
    back = reverse(line)
    assert (back.cost, reverse(back)) == (-line.cost, line)
    for share, undone in zip(line.shares, back.shares, strict=True):
        assert share.cost + undone.cost == Money(0, "USD")
        assert (share.finding, share.weight) == (undone.finding, undone.weight)
    # Posting the negative by hand comes to the same: no cent is left by rounding.
    by_hand = price(Charge(price=-cost, billed=-billed, links=links, **LINE), None,
                    consigned=consigned)  # fmt: skip
    assert by_hand == back


def again(payer: Payer) -> Rework:
    return Rework(of=Id("l1"), cause=Cause.METHOD, payer=payer)


def test_billed_hours_are_apart_from_hands_on_hours() -> None:
    """A day of 7.5 h worked was billed at 6.5 h (a practitioner's log, common practice)."""
    found = price(labour("7.5", billed_time=Quantity.of("6.5", "h")), RATE, consigned=True)
    assert (found.cost, found.billed) == (usd("290.63"), usd("617.50"))
    nothing = price(labour("2", billed_time=Quantity.of(0, "h")), RATE, consigned=True)
    assert nothing.billed == usd("0")


@pytest.mark.parametrize(
    ("payer", "billed"), [(Payer.SHOP, "0"), (Payer.SUPPLIER, "0"), (Payer.OWNER, "190")]
)
def test_work_done_again_is_billed_only_to_an_owner_who_pays(payer: Payer, billed: str) -> None:
    found = price(labour("2", rework=again(payer)), RATE, consigned=True)
    assert (found.cost, found.billed) == (usd("77.50"), usd(billed))
    said = price(labour("2", rework=again(payer), billed=usd("5")), RATE, consigned=True)
    assert said.billed == usd("5")


def test_what_comes_from_stock_costs_what_stock_was_worth() -> None:
    used = Consumable(product=Id("x"), quantity=Quantity.of(35, "ml"), **LINE)
    assert price(used, None, consigned=False, stock_cost=usd("1.78")).cost == usd("1.78")
    counted = Count(product=Id("x"), counted=Quantity.of(35, "ml"), **LINE)
    assert price(counted, None, consigned=False, stock_cost=usd("-0.40")).cost == usd("-0.40")
    with pytest.raises(ValueError, match="stock"):
        price(used, None, consigned=False)


def test_a_weighed_amount_is_priced_where_there_is_no_stock() -> None:
    weighed = Consumable(
        product=Id("x"), price=usd("44"), price_per=Quantity.of(1, "l"), **LINE
    )  # fmt: skip
    amount = Quantity.of("37.7", "ml")
    assert price(weighed, None, consigned=False, amount=amount).cost == usd("1.66")
    with pytest.raises(ValueError, match="amount"):
        price(weighed, None, consigned=False)


def test_the_amount_of_a_reversal_is_the_negative_too() -> None:
    used = Consumable(product=Id("x"), quantity=Quantity.of(35, "ml"), **LINE)
    made = price(used, None, consigned=False, stock_cost=usd("1.78"))
    whole = replace(made, quantity=Quantity.of(35, "ml"))
    assert reverse(whole).quantity == Quantity.of(-35, "ml")
    assert reverse(made).quantity is None
