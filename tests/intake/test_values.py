"""One cell at a time: what is read, and what is refused by which name."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest

from recondition.amounts import Money, Quantity
from recondition.book.kinds import KINDS
from recondition.book.settings import settings_from
from recondition.intake import cells
from recondition.intake.cells import Cell
from recondition.intake.sheets import SHEETS, sheet_named
from recondition.intake.spec import Parse
from recondition.intake.values import PARSERS, parse_cell
from recondition.ledger.codec import hints
from recondition.ledger.lines import LineEntry
from recondition.worth.terms import Slice

POINT = settings_from({"currency": "USD"})
COMMA = settings_from({"currency": "EUR", "decimal mark": "comma", "date order": "day first"})
MONTH_FIRST = settings_from({"date order": "month first"})


def read(where: str, value: Any, settings: Any = POINT, number_format: str = "General") -> Any:
    sheet, _, field = where.partition("/")
    return parse_cell(Cell(value, number_format), sheet_named(sheet).column(field), settings)


def usd(minor: int) -> Money:
    return Money(minor, "USD")


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.1 + 0.2, 30),
        (1234.5, 123450),
        (7, 700),
        (Decimal("7.25"), 725),
        ("$1,234.50", 123450),
        ("1 234.5", 123450),
        ("1'234.50", 123450),
        ("USD 12.50", 1250),
        ("12.50 usd", 1250),
        ("\u00a012.5\u202f", 1250),
        ("-$5", -500),
        ("$-5", -500),
        ("\u22125", -500),
        ("(1,200.50)", -120050),
        (".5", 50),
    ],
)
def test_money_with_a_decimal_point(value: Any, expected: int) -> None:
    assert read("interactions/delta_uplift", value) == usd(expected)


@pytest.mark.parametrize(
    ("value", "expected"),
    [("1.234,50 €", 123450), ("€ 1 234,5", 123450), ("1.234", 123400), ("12,5", 1250)],
)
def test_money_with_a_decimal_comma(value: str, expected: int) -> None:
    assert read("charges/price", value, COMMA) == Money(expected, "EUR")


@pytest.mark.parametrize(
    ("where", "value", "settings", "refusal"),
    [
        ("charges/price", "1.234,50", POINT, cells.NotANumber),
        ("charges/price", "1,5", POINT, cells.NotANumber),
        ("charges/price", "1234.5", COMMA, cells.NotANumber),
        ("charges/price", "12,34,567", POINT, cells.NotANumber),
        ("charges/price", "abc", POINT, cells.NotANumber),
        ("charges/price", "12.50-", POINT, cells.NotANumber),
        ("charges/price", True, POINT, cells.NotANumber),
        ("charges/price", datetime(2024, 5, 1), POINT, cells.NotANumber),  # noqa: DTZ001
        ("charges/price", "€5", POINT, cells.OtherCurrencySign),
        ("charges/price", "EUR 5", POINT, cells.OtherCurrencySign),
        ("charges/price", "Fr. 50", POINT, cells.OtherCurrencySign),
        ("charges/price", "5 apples", POINT, cells.OtherCurrencySign),
        ("charges/price", 1 / 3, POINT, cells.TooFine),
        ("charges/price", 0.125, POINT, cells.TooFine),
        ("charges/price", "12.500", POINT, cells.TooFine),
        ("charges/price", 10**15, POINT, cells.DamagedBySpreadsheet),
        ("charges/price", 1e300, POINT, cells.DamagedBySpreadsheet),
        ("charges/price", "1.2E+05", POINT, cells.DamagedBySpreadsheet),
        ("charges/price", "9" * 30, POINT, cells.OutOfBounds),
        ("charges/price", "#REF!", POINT, cells.FormulaError),
        ("charges/words", " \u00a0\u200b", POINT, cells.RequiredEmpty),
        ("vehicles/chassis_stamped", 1234567890123456, POINT, cells.DamagedBySpreadsheet),
        ("vehicles/chassis_stamped", 1.23457e16, POINT, cells.DamagedBySpreadsheet),
        ("vehicles/chassis_stamped", "1.23457E+16", POINT, cells.DamagedBySpreadsheet),
        ("vehicles/chassis_stamped", "1,23457E+16", POINT, cells.DamagedBySpreadsheet),
        ("vehicles/chassis_stamped", datetime(2024, 5, 1), POINT, cells.DamagedBySpreadsheet),  # noqa: DTZ001
        ("vehicles/chassis_stamped", True, POINT, cells.DamagedBySpreadsheet),
        ("vehicles/chassis_stamped", "A\x07B", POINT, cells.ControlCharacter),
        ("vehicles/chassis_stamped", "A\u200bB", POINT, cells.ControlCharacter),
        ("vehicles/chassis_stamped", "A\nB", POINT, cells.ControlCharacter),
        ("vehicles/chassis_stamped", "A" * 301, POINT, cells.TooLong),
        ("findings/words", "a\u202eb", POINT, cells.ControlCharacter),
        ("findings/ref", "F 001", POINT, cells.BadRef),
        ("people/ref", "HK;AB", POINT, cells.BadRef),
        ("findings/stage", "arival", POINT, cells.NotInList),
        ("findings/severity", 5, POINT, cells.OutOfBounds),
        ("panels/no_touch", "perhaps", POINT, cells.NotYesOrNo),
        ("labour/quantity", "2 ml", POINT, cells.UnitNotReadable),
        ("labour/quantity", 0, POINT, cells.OutOfBounds),
        ("labour/quantity", -1, POINT, cells.OutOfBounds),
        ("consumables/quantity", 35, POINT, cells.UnitNotReadable),
        ("consumables/quantity", "2 gallons", POINT, cells.UnitNotReadable),
        ("consumables/quantity", "ml", POINT, cells.NotANumber),
        ("candidates/hours.low", -1, POINT, cells.OutOfBounds),
        ("candidates/p_success", "90", POINT, cells.OutOfBounds),
        ("vehicles/model_year", 1961.5, POINT, cells.OutOfBounds),
        ("labour/work_date", "03/05/2024", POINT, cells.NotADate),
        ("labour/work_date", "31/02/2024", COMMA, cells.NotADate),
        ("labour/work_date", "3/5/24", COMMA, cells.NotADate),
        ("labour/work_date", 45000, POINT, cells.NotADate),
        ("labour/work_date", datetime(2024, 5, 1, 9, 30), POINT, cells.NotADate),  # noqa: DTZ001
        ("labour/period", "2024-13", POINT, cells.NotADate),
        ("documents/taken_at", "2024-05-02 09:30", POINT, cells.NotADate),
        ("documents/file", "../secret.jpg", POINT, cells.BadFile),
        ("documents/file", "C:\\photos\\a.jpg", POINT, cells.BadFile),
        ("labour/links", "F-001; F-001", POINT, cells.NamedTwice),
        ("labour/links", "F-001 60; F-002", POINT, cells.OutOfBounds),
        ("labour/links", "F-001 0; F-002 1", POINT, cells.OutOfBounds),
        ("terms/commission", 6, POINT, cells.BadRate),
        ("terms/commission", "10%; 8%", POINT, cells.BadRate),
        ("terms/commission", "10% to 50000", POINT, cells.BadRate),
        ("terms/commission", "10% to 500; 9% to 400; 8%", POINT, cells.BadRate),
    ],
)
def test_what_is_refused(where: str, value: Any, settings: Any, refusal: type) -> None:
    with pytest.raises(refusal) as caught:
        read(where, value, settings)
    assert caught.value.what
    assert caught.value.todo


@pytest.mark.parametrize(
    "number_format", ["[$€-407] #,##0.00", '#,##0.00 "EUR"', "£#,##0.00", "[$GBP] #,##0.00"]
)
def test_a_number_shown_with_another_sign_is_refused(number_format: str) -> None:
    with pytest.raises(cells.OtherCurrencySign):
        read("charges/price", 12.5, POINT, number_format)


@pytest.mark.parametrize(
    "number_format",
    [
        "$#,##0.00",
        "[$$-409]#,##0.00;[Red]-[$$-409]#,##0.00",
        '_("$"* #,##0.00_);_("$"* \\(#,##0.00\\)',
    ],
)
def test_a_number_shown_with_the_own_sign_is_read(number_format: str) -> None:
    assert read("charges/price", 12.5, POINT, number_format) == usd(1250)


@pytest.mark.parametrize(
    ("where", "value", "number_format", "expected"),
    [
        ("vehicles/chassis_stamped", 123456, "General", "123456"),
        ("vehicles/chassis_stamped", " AB  12\u00a0", "General", "AB  12"),
        ("vehicles/ref", 7, "0000", "0007"),
        ("vehicles/ref", "0007", "@", "0007"),
        ("findings/ref", 1, '"F-"000', "F-001"),
        ("findings/vehicle", 7.0, "0000", "0007"),
        ("vehicles/odometer_shown", 23415, "000000", "023415"),
        ("findings/words", "one\r\ntwo\n", "General", "one\ntwo"),
        ("findings/stage", "During_Work", "General", "during work"),
        ("vehicles/holding", " OWN  stock ", "General", "own stock"),
        ("findings/severity", 2.0, "General", 2),
        ("findings/severity", "2 visible close in daylight", "General", 2),
        ("findings/severity", None, "General", None),
        ("panels/no_touch", True, "General", True),
        ("panels/no_touch", "N", "General", False),
        ("panels/no_touch", None, "General", False),
        ("products/unit", "Litres", "General", "l"),
        ("labour/quantity", 2.5, "General", Quantity.of("2.5", "h")),
        ("labour/quantity", "150 min", "General", Quantity.of(150, "min")),
        ("consumables/quantity", "35 ml", "General", Quantity.of(35, "ml")),
        ("candidates/p_success", 0.9, "0%", Decimal("0.9")),
        ("candidates/p_success", "90%", "General", Decimal("0.90")),
        ("candidates/uplift_percent.low", 0.035, "0.0%", Decimal("3.5")),
        ("candidates/uplift_percent.low", "3.5%", "General", Decimal("3.5")),
        ("candidates/uplift_percent.low", -3, "General", Decimal(-3)),
        ("terms/commission", 0.06, "0%", (Slice(Decimal("0.06")),)),
        ("labour/links", "F-001; F-002", "@", (("F-001", Decimal(1)), ("F-002", Decimal(1)))),
        ("labour/links", "F-1 60%, F-2 40%", "@", (("F-1", Decimal(60)), ("F-2", Decimal(40)))),
        ("candidates/requires", "C-01; C-02\nC-03", "@", ("C-01", "C-02", "C-03")),
        ("labour/period", datetime(2024, 5, 1), "mmm-yy", "2024-05"),  # noqa: DTZ001
        ("documents/taken_at", "2024-05-02T09:30Z", "@", "2024-05-02T09:30:00+00:00"),
        ("documents/file", "photos\\bonnet.jpg", "@", "photos/bonnet.jpg"),
    ],
)
def test_what_is_read(where: str, value: Any, number_format: str, expected: Any) -> None:
    assert read(where, value, POINT, number_format) == expected


def test_slices_of_a_rate() -> None:
    found = read("terms/commission", "10% up to $50,000; 8%")
    assert found == (Slice(Decimal("0.10"), usd(5_000_000)), Slice(Decimal("0.08")))


@pytest.mark.parametrize(
    ("value", "settings"),
    [
        ("2024-05-03", POINT),
        ("2024/5/3", COMMA),
        ("3/5/2024", COMMA),
        ("03.05.2024", COMMA),
        ("5-3-2024", MONTH_FIRST),
        (datetime(2024, 5, 3), POINT),  # noqa: DTZ001
        (date(2024, 5, 3), POINT),
    ],
)
def test_dates_in_the_order_of_the_book(value: Any, settings: Any) -> None:
    assert read("labour/work_date", value, settings) == date(2024, 5, 3)


def test_a_formula_without_value_is_named() -> None:
    cell = Cell(None, formula_without_value=True)
    with pytest.raises(cells.FormulaWithoutValue):
        parse_cell(cell, sheet_named("charges").column("price"), POINT)


def test_every_way_of_reading_has_a_parser() -> None:
    assert set(PARSERS) == set(Parse)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_columns_are_the_fields_of_the_kind(sheet: Any) -> None:
    fields = {column.field.partition(".")[0] for column in sheet.columns}
    entry = set(hints(KINDS[sheet.kind].entry))
    assert sheet.ref.field == "ref"
    # Drops are typed as pairs, and kept as heights and widths.
    fields = fields - {"drops"} | ({"heights", "widths"} if "drops" in fields else set())
    assert fields - entry <= {"ref", "file"}
    # Clocked hours come from a clock, and a count is always the shop's own adjustment.
    without = {"labour": {"clock", "taken"}, "count": set(hints(LineEntry))}
    without["charge"] = {"shared_out"}
    assert entry - fields <= {"file_name"} | without.get(sheet.kind, set())
    assert len({column.heading.casefold() for column in sheet.columns}) == len(sheet.columns)
