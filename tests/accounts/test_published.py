"""Margin scheme, stock book and interest against published examples.

Sources: East Cambridgeshire District Council, "VAT margin schemes" (83.33) and an accounting
firm's article repeating the rule (50), as kept in vat_margin_examples.csv; the required items of
the stock book from gov.uk, "VAT margin schemes: keeping records"; interest from OpenStax
Contemporary Mathematics, "Simple interest" (m00059). The worked margin of 12,000 is from the
trade notes (invented).
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from recondition.accounts.holding import HoldingRates, holding_for, whole
from recondition.accounts.margin import margin_tax, scheme_of
from recondition.accounts.values import ValueTest, change_of
from recondition.amounts import Money
from recondition.fields import Id, Words
from recondition.ledger.taxes import tax_within
from tests.check_values import check_values

FIFTH = Decimal("0.2")
ROUNDED_UP = {"81.13", "100.98", "406.07"}  # the source rounds loan interest up to the next cent


def usd(text: str) -> Money:
    return Money.of(text, "USD")


@pytest.mark.parametrize("row", check_values("vat_margin_examples"))
def test_the_published_margins_give_the_published_tax(row: dict[str, str]) -> None:
    bought = Money.of(row["purchase_gbp"], "GBP")
    sold = Money.of(row["sale_gbp"], "GBP")
    assert margin_tax(sold, bought, FIFTH) == Money.of(row["vat_due_gbp"], "GBP")


def test_repairs_lower_the_profit_and_never_the_margin_and_a_loss_gives_nil() -> None:
    sold, bought = usd("42000"), usd("30000")
    assert margin_tax(sold, bought, FIFTH) == usd("2000")
    assert tax_within(sold, FIFTH) == usd("7000")
    assert margin_tax(sold, usd("33000"), FIFTH) == usd("1500")  # what adding repairs would do
    assert margin_tax(bought, sold, FIFTH) == usd("0")


def test_each_reason_shuts_a_car_out() -> None:
    clear = {"imported": False, "tax_shown": False, "consigned": False, "bought": True}
    assert scheme_of(usd("1"), **clear).allowed
    for change in ("imported", "tax_shown", "consigned", "bought"):
        shut = scheme_of(usd("1"), **(clear | {change: not clear[change]}))
        assert len(shut.shut_out) == 1


def _interest(principal: str, rate: str, days: int) -> Money:
    zero = usd("0")
    rates = HoldingRates(interest=Decimal(rate), insurance=Decimal(0), drift=Decimal(0),
                         storage=zero, upkeep=zero)  # fmt: skip
    return whole(holding_for(rates, usd(principal), days))


ACTUAL_365 = [
    row
    for row in check_values("interest_examples")
    if row["basis"] == "actual/365" and row["interest_printed"].replace(".", "").isdigit()
]


@pytest.mark.parametrize("row", ACTUAL_365)
def test_interest_by_days_of_a_year_of_365(row: dict[str, str]) -> None:
    found = _interest(row["principal"], row["annual_rate"], int(row["days"]))
    exact, printed = Decimal(row["interest_exact"]), Decimal(row["interest_printed"])
    assert abs(found.number - exact) <= Decimal("0.005")
    up = Decimal("0.01") if row["interest_printed"] in ROUNDED_UP else Decimal(0)
    assert found.number == printed - (up if found.number != printed else 0)


def test_the_worked_day_of_holding() -> None:
    rates = HoldingRates(interest=Decimal("0.08"), insurance=Decimal("0.012"), drift=Decimal(0),
                         storage=usd("6"), upkeep=usd("0"))  # fmt: skip
    parts = {part.name: str(part.amount) for part in holding_for(rates, usd("72000"), 1)}
    assert (parts["interest"], parts["storage"], parts["insurance"]) == ("15.78", "6.00", "2.37")
    assert str(whole(holding_for(rates, usd("72000"), 1))) == "24.15"


def _tested(day: date, price: str) -> ValueTest:
    return ValueTest(
        vehicle=Id("a"), tested_on=day, expected_price=usd(price), to_complete=usd("500"),
        to_sell=usd("900"), basis=Words("two dealers asked"),
    )  # fmt: skip


def test_a_write_down_is_taken_back_up_to_cost_and_never_beyond() -> None:

    first = _tested(date(2031, 3, 31), "20000")
    assert change_of(usd("20000"), usd("20000"), first) == usd("-1400")
    better = _tested(date(2031, 4, 30), "21000")
    assert change_of(usd("20000"), usd("18600"), better) == usd("1000")
    best = _tested(date(2031, 5, 31), "99000")
    assert change_of(usd("20000"), usd("19600"), best) == usd("400")
    worthless = _tested(date(2031, 6, 30), "100")
    assert change_of(usd("20000"), usd("20000"), worthless) == usd("-20000")
