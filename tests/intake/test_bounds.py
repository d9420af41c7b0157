"""What no amount, rate, day or count can be is refused where it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book.settings import settings_from
from recondition.intake import cells
from recondition.intake.cells import Cell
from recondition.intake.form import one_row
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from recondition.intake.rows import CutOffTooLate, parse_row
from recondition.intake.sheets import sheet_named
from recondition.intake.values import parse_cell
from tests.intake.sheetmaker import Rows, base, write_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

SETTINGS = settings_from({"currency": "USD"})

NEVER_BELOW_NOTHING = {
    "rates": ("cost_rate", "charge_out_rate"),
    "terms": (
        "as_is.low", "as_is.likely", "as_is.high", "labour_cost_rate", "charge_out_rate", "fees",
        "holding_per_day", "cash_limit", "owner_limit",
    ),
    "parts": ("price", "billed"),
    "consumables": ("price", "billed"),
    "sublets": ("price", "billed"),
    "charges": ("billed",),
    "labour": ("billed",),
}  # fmt: skip
FIELDS = [(sheet, field) for sheet, fields in NEVER_BELOW_NOTHING.items() for field in fields]


@pytest.mark.parametrize(("sheet", "field"), FIELDS)
def test_money_that_cannot_be_below_nothing(sheet: str, field: str) -> None:
    column = sheet_named(sheet).column(field)
    assert parse_cell(Cell("0"), column, SETTINGS).minor == 0
    for text in ("-0.01", "(5)"):
        with pytest.raises(cells.OutOfBounds, match="cannot be below nothing"):
            parse_cell(Cell(text), column, SETTINGS)


def test_a_charge_is_below_nothing_only_for_a_credit_note() -> None:
    sheet = sheet_named("charges")
    given = {"vehicle": "0007", "work_date": "2031-03-04", "words": "price cut", "price": "-5",
             "item": "sea freight"}  # fmt: skip
    refused = parse_row(sheet, {name: Cell(text) for name, text in given.items()}, SETTINGS)
    assert [fault.column.field for fault in refused.faults] == ["price"]
    assert "credit note" in refused.faults[0].refused.what
    noted = given | {"invoice_number": "CN5"}
    taken = parse_row(sheet, {name: Cell(text) for name, text in noted.items()}, SETTINGS)
    assert taken.faults == []


@pytest.mark.parametrize("field", ["commission", "premium"])
@pytest.mark.parametrize("rate", ["100%", "1", 1, "250%", "-1%", "99% to 500; 100%"])
def test_a_rate_that_leaves_nothing(field: str, rate: str | int) -> None:
    with pytest.raises(cells.BadRate, match="less than 100 %"):
        parse_cell(Cell(rate), sheet_named("terms").column(field), SETTINGS)


@pytest.mark.parametrize("limit", ["0", "-5"])
def test_a_slice_that_ends_at_nothing(limit: str) -> None:
    with pytest.raises(cells.BadRate, match="follow each other"):
        parse_cell(Cell(f"10% to {limit}; 8%"), sheet_named("terms").column("premium"), SETTINGS)


def test_high_rates_that_leave_something() -> None:
    (piece,) = parse_cell(Cell("99.5%"), sheet_named("terms").column("premium"), SETTINGS)
    assert str(piece.rate) == "0.995"
    assert parse_cell(Cell("0%"), sheet_named("terms").column("commission"), SETTINGS)[0].rate == 0


@pytest.mark.parametrize("text", ["1.5 pieces", "0.5 pair", "2.5 sets", "1.5"])
def test_what_is_counted_is_whole(text: str) -> None:
    with pytest.raises(cells.OutOfBounds, match="counted whole"):
        parse_cell(Cell(text), sheet_named("parts").column("quantity"), SETTINGS)


def test_whole_counts_and_measured_parts() -> None:
    column = sheet_named("parts").column("quantity")
    assert parse_cell(Cell("2.0 pairs"), column, SETTINGS).unit == "pair"
    assert parse_cell(Cell("1.5 l"), column, SETTINGS).number_text == "1.5"


def test_a_cut_off_after_the_sale() -> None:
    texts = {"vehicle": "0007", "basis": "hammer", "labour_cost_rate": "40", "as_is.low": "1",
             "as_is.likely": "2", "as_is.high": "3", "sale_day": "2024-06-01"}  # fmt: skip
    given = {field: Cell(text) for field, text in texts.items()}
    sheet = sheet_named("terms")
    assert not parse_row(sheet, {**given, "cut_off": Cell("2024-06-01")}, SETTINGS).faults
    (fault,) = parse_row(sheet, {**given, "cut_off": Cell("2024-06-02")}, SETTINGS).faults
    assert isinstance(fault.refused, CutOffTooLate)
    assert fault.column.heading == "cut-off"


@pytest.mark.parametrize(("mark", "typed"), [(",", "1.040,50"), (".", "1,040.50")])
def test_the_decimal_mark_may_be_the_sign_itself(
    book: Book, tmp_path: Path, mark: str, typed: str
) -> None:
    sheets: dict[str, Rows] = {"settings": [["setting", "value"], ["decimal mark", mark]]}
    sheets |= base()
    sheets["rates"][1][3] = typed
    path = write_workbook(tmp_path / "job.xlsx", sheets)
    assert load(book, path, author_ref="HK").changed == 7


def test_after_a_setting_that_cannot_be_nothing_else_is_judged(book: Book, tmp_path: Path) -> None:
    rows: Rows = [["setting", "value"], ["decimal mark", "dot"], ["datum", "iso"]]
    sheets = {"settings": rows, **base()}
    sheets["rates"][1][3] = "1,5 EUR"
    sheets["labour"][1][3] = "nobody"
    with pytest.raises(ImportRefused) as caught:
        load(book, write_workbook(tmp_path / "job.xlsx", sheets), author_ref="ZZ")
    assert [(p.sheet, p.row) for p in caught.value.problems.listed] == [
        ("settings", 2),
        ("settings", 3),
    ]


def test_another_currency_than_that_of_the_book_is_told_alone(book: Book, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "one.xlsx", base()), author_ref="HK")
    rows: Rows = [["setting", "value"], ["currency", "EUR"]]
    sheets = {"settings": rows, **base()}
    sheets["rates"][1][3] = "$40.00"
    with pytest.raises(ImportRefused) as caught:
        load(book, write_workbook(tmp_path / "two.xlsx", sheets), author_ref="HK")
    assert [problem.kind for problem in caught.value.problems.listed] == ["currency fixed"]


def test_one_row_and_what_to_do_with_a_command(book: Book, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "one.xlsx", base()), author_ref="HK")
    finding: Rows = [base()["findings"][0], ["F-003", "0007", "boot lid", "dull", "2024-05-02"]]
    path = write_workbook(tmp_path / "two.xlsx", {"findings": finding})
    assert load(book, path, author_ref="HK").words()[-1] == "1 row was written."
    with pytest.raises(ImportRefused) as caught:
        one_row(book, "rates", {"person": "HK", "from_date": "soon", "cost_rate": "-1"},
                author_ref="HK")  # fmt: skip
    assert caught.value.words().endswith("Mend what is listed and enter it again.")


def test_a_document_whose_name_is_too_long_for_the_system(book: Book, tmp_path: Path) -> None:
    rows: Rows = [["ref", "vehicle", "kind", "title", "file"]]
    rows.append(["D-001", "0007", "other", "a", "n" * 280 + ".txt"])
    path = write_workbook(tmp_path / "job.xlsx", {**base(), "documents": rows})
    with pytest.raises(ImportRefused) as caught:
        load(book, path, author_ref="HK")
    assert [problem.kind for problem in caught.value.problems.listed] == ["file not found"]
