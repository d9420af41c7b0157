"""Typed values, written as people write them under each setting, come back the same."""

from __future__ import annotations

from datetime import date
from itertools import product
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.book.settings import DATE_ORDERS, DECIMAL_MARKS, Settings, settings_from
from recondition.intake.cells import Cell
from recondition.intake.numbers import COUNTED
from recondition.intake.sheets import sheet_named
from recondition.intake.values import parse_cell
from tests.strategies import monies, quantities

if TYPE_CHECKING:
    from recondition.amounts import Money, Quantity

CURRENCIES = ("USD", "JPY", "KWD", "CLF")
DATE_FORMS = {"iso": "%Y-%m-%d", "day first": "%d/%m/%Y", "month first": "%m/%d/%Y"}


def can_be_used(quantity: Quantity) -> bool:
    """Tell whether a quantity can stand on a line: more than zero, and whole where counted."""
    whole = quantity.number == quantity.number.to_integral_value()
    return quantity.number > 0 and (whole or quantity.unit not in COUNTED)


def with_mark(text: str, settings: Settings) -> str:
    """Write a plain number with the book's decimal mark."""
    return text.replace(".", "," if settings.decimal_mark == "comma" else ".")


def grouped(money: Money, settings: Settings) -> str:
    """Write an amount with the thousands that go with the book's decimal mark."""
    if settings.decimal_mark == "point":
        return money.grouped
    return money.grouped.translate(str.maketrans(",.", ".,"))


@pytest.mark.parametrize(("mark", "currency"), list(product(DECIMAL_MARKS, CURRENCIES)))
@given(data=st.data())
def test_money(mark: str, currency: str, data: st.DataObject) -> None:
    settings = settings_from({"currency": currency, "decimal mark": mark})
    money = data.draw(monies(currency))
    column = sheet_named("interactions").column("delta_uplift")
    plain = with_mark(str(money), settings)
    for text in (plain, grouped(money, settings), f"{plain} {currency}", f"{currency} {plain}"):
        assert parse_cell(Cell(text), column, settings) == money


@pytest.mark.parametrize("currency", CURRENCIES)
@given(minor=st.integers(-(10**14), 10**14))
def test_money_through_a_spreadsheet_number(currency: str, minor: int) -> None:
    settings = settings_from({"currency": currency})
    column = sheet_named("interactions").column("delta_uplift")
    money = parse_cell(Cell(float(minor)), column, settings)
    assert parse_cell(Cell(float(money.number)), column, settings) == money


@pytest.mark.parametrize("mark", DECIMAL_MARKS)
@given(quantity=quantities().filter(can_be_used))
def test_quantities(mark: str, quantity: Quantity) -> None:
    settings = settings_from({"decimal mark": mark})
    column = sheet_named("consumables").column("quantity")
    text = f"{with_mark(quantity.number_text, settings)} {quantity.unit}"
    assert parse_cell(Cell(text), column, settings) == quantity


@pytest.mark.parametrize(("order", "mark"), list(product(DATE_ORDERS, DECIMAL_MARKS)))
@given(day=st.dates(date(1000, 1, 1)))
def test_dates(order: str, mark: str, day: date) -> None:
    settings = settings_from({"date order": order, "decimal mark": mark})
    column = sheet_named("labour").column("work_date")
    for text in (day.strftime(DATE_FORMS[order]), day.isoformat()):
        assert parse_cell(Cell(text), column, settings) == day


@given(
    text=st.text(
        st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters="#+"),
        min_size=1,
        max_size=300,
    )
)
def test_chassis_numbers_stay_as_they_are(text: str) -> None:
    column = sheet_named("vehicles").column("chassis_stamped")
    assert parse_cell(Cell(text), column, settings_from({})) == text
