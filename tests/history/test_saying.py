"""Dates, numbers and units as a reader of a place expects them (Unicode CLDR)."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from recondition.amounts import Quantity
from recondition.condition.findings import ExtentKind
from recondition.history.saying import NoSuchLocale, Saying
from tests.history.invented import sheet
from tests.history.reading import html_of, page_of, page_text, read_page

DAY = date(2026, 3, 4)


# The long date and the marks of numbers of each place as CLDR gives them.
@pytest.mark.parametrize(
    ("locale", "day", "number"),
    [
        ("en_GB", "4 March 2026", "1,234.5"),
        ("en_US", "March 4, 2026", "1,234.5"),
        ("en_DE", "4 March 2026", "1.234,5"),
        ("en-US", "March 4, 2026", "1,234.5"),
    ],
)
def test_dates_and_numbers_follow_the_place(locale: str, day: str, number: str) -> None:
    say = Saying(locale)
    assert say.day(DAY) == day
    assert say.number(Decimal("1234.50")) == number


@pytest.mark.parametrize(
    ("locale", "shown"),
    [
        ("en_GB", "101.6 µm (4 mil)"),
        ("en_US", "4 mil (101.6 µm)"),
        ("en_DE", "101,6 µm (4 mil)"),
    ],
)
def test_film_is_told_in_both_units_the_usual_one_first(locale: str, shown: str) -> None:
    # The international yard of 1959: a mil is 25.4 um exactly, so that 101.6 um are 4 mil.
    assert Saying(locale).film(Decimal("101.6")) == shown


@pytest.mark.parametrize("name", ["xx_YY", "", "english", "de_DE", "fr", "en_GB_x_!"])
def test_an_unknown_place_and_another_language_are_refused(name: str) -> None:
    with pytest.raises(NoSuchLocale) as raised:
        Saying(name)
    assert "en_GB" in raised.value.todo
    assert raised.value.exit_status == 2


def test_the_tag_is_that_of_bcp_47() -> None:
    assert (Saying("en_US").tag, Saying("en-GB").name) == ("en-US", "en_GB")


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [
        ("0.05", 1, "0.1"),
        ("-0.05", 1, "-0.1"),
        ("2.5", 0, "3"),
        ("100.00", None, "100"),
        ("1E+3", None, "1,000"),
        ("0.000001", None, "0.000001"),
    ],
)
def test_numbers_are_rounded_half_away_from_zero_only_where_asked(
    value: str, places: int | None, shown: str
) -> None:
    assert Saying().number(Decimal(value), places) == shown


def test_a_long_number_keeps_every_figure() -> None:
    assert Saying().number(12345678901234567890) == "12,345,678,901,234,567,890"


def test_quantities_parts_and_extents() -> None:
    say = Saying("en_DE")
    pair, one = Quantity.of("1", "pair"), Quantity.of("1", "piece")
    assert say.part_name("decals", pair) == "decals (1 pair)"
    assert say.part_name("lamp", one) == "lamp"
    assert say.part_name("tyre", Quantity.of("4", "piece")) == "tyre (4)"
    assert say.extent(Quantity.of("2.5", "cm"), ExtentKind.LENGTH) == "2,5 cm long"
    assert say.extent(None, ExtentKind.WHOLE_PANEL) == "whole panel"
    assert say.extent(None, None) == ""
    assert say.numbers([3, 4, 7]) == "3, 4 and 7"


def test_a_whole_sheet_is_written_for_one_place() -> None:
    made = sheet(locale="en_US")
    seen = page_text(html_of(made))
    assert page_of(made).language == "en-US"
    assert dict(read_page(html_of(made)).tags)["html"] == {"lang": "en-US"}
    assert "April 3, 2025" in seen
    assert "3 April 2025" not in seen
    assert "mean 3.86 mil (98 µm), 4 readings" in seen
