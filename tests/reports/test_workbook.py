"""The bookkeeper's workbook, read back and recalculated by an independent formula engine."""

from __future__ import annotations

import dataclasses
import io
from pathlib import Path
from typing import Any

import formulas
import openpyxl
import pytest
from recondition.reports.books_data import BooksData, books_data

from recondition.amounts.currencies import minor_digits
from recondition.book import reading
from recondition.book.engine import Book
from recondition.book.reversing import reverse_line
from recondition.fields import Words
from recondition.reports.workbook import LINE_HEADINGS, books

Sheets = dict[str, list[dict[str, Any]]]


@pytest.fixture(scope="module")
def book(demo_book: Book) -> Book:
    """Give the demo's book with one line taken back."""
    reverse_line(
        demo_book, "L-005", "entered twice", author_ref="IC", day="2031-04-05", period=None
    )
    return demo_book


@pytest.fixture(scope="module")
def data(book: Book) -> BooksData:
    with book.reading() as conn:
        return books_data(conn, made_at=book.now())


def _rows(content: bytes) -> Sheets:
    """Read a workbook back, each row as a dictionary by heading."""
    read = openpyxl.load_workbook(io.BytesIO(content))
    sheets = {}
    for sheet in read:
        headings = [cell.value for cell in sheet[1]]
        sheets[sheet.title] = [
            dict(zip(headings, row, strict=True))
            for row in sheet.iter_rows(min_row=2, values_only=True)
        ]
    return sheets


def _minor(value: Any, currency: str) -> int:
    return round(float(value) * 10 ** minor_digits(currency))


def test_the_totals_of_the_lines_are_those_of_the_book_to_the_cent(data: BooksData) -> None:
    sheets = _rows(books(data))
    for line, row in zip(data.lines, sheets["lines"], strict=True):
        assert line.priced is not None
        assert _minor(row["cost"], "USD") == line.priced.cost.minor
    posted = sum(line.priced.cost.minor for line in data.lines if line.priced)
    assert sum(_minor(row["cost"], "USD") for row in sheets["lines"]) == posted
    by_vehicle = {row["stock number"]: row["all cost, book"] for row in sheets["vehicles"]}
    assert sum(_minor(value, "USD") for value in by_vehicle.values()) == posted


def test_a_reversal_keeps_what_the_price_of_the_line_it_takes_back_is_for(
    data: BooksData,
) -> None:
    rows = {row["line"]: row for row in _rows(books(data))["lines"]}
    (back,) = [row for row in rows.values() if row["reverses"] == "L-005"]
    taken = rows["L-005"]
    assert taken["price per"] == "1 h"
    same = ("price per", "unit", "rate or price")
    assert [back[name] for name in same] == [taken[name] for name in same]
    assert back["quantity"] == -taken["quantity"]


def test_the_shares_of_each_line_add_up_to_it(data: BooksData) -> None:
    sheets = _rows(books(data))
    shared: dict[str, int] = {}
    for row in sheets["shares"]:
        shared[row["line"]] = shared.get(row["line"], 0) + _minor(row["cost"], "USD")
    linked = {row["line"]: row for row in sheets["lines"] if row["findings and shares"]}
    assert shared.keys() == linked.keys()
    assert all(shared[ref] == _minor(row["cost"], "USD") for ref, row in linked.items())


@pytest.mark.filterwarnings("ignore")
def test_every_live_formula_recalculates_to_the_books_value(
    data: BooksData, tmp_path: Path
) -> None:
    path = tmp_path / "books.xlsx"
    path.write_bytes(books(data))
    solved = formulas.ExcelModel().loads(str(path)).finish().calculate()
    checked = 0
    for name in ("vehicles", "notes"):
        for row in openpyxl.load_workbook(path)[name].iter_rows(min_row=2):
            for cell in row:
                if cell.data_type != "f":
                    continue
                value = solved[f"'[books.xlsx]{name.upper()}'!{cell.coordinate}"].value[0, 0]
                heading = str(cell.parent.cell(1, cell.column).value)
                if "difference" in heading:
                    assert value == 0, (cell.coordinate, cell.value)
                else:
                    beside = cell.parent.cell(cell.row, cell.column - 1).value
                    assert float(value) == pytest.approx(float(beside), abs=1e-9)
                checked += 1
    assert checked > 50


def test_text_numbers_and_dates_have_their_own_types(data: BooksData) -> None:
    read = openpyxl.load_workbook(io.BytesIO(books(data)))
    lines = read["lines"]
    column = {heading: place for place, heading in enumerate(LINE_HEADINGS, start=1)}
    stock, day, cost = (
        lines.cell(2, column[name]) for name in ("stock number", "work date", "cost")
    )
    assert (stock.value, stock.number_format) == ("0007", "@")
    assert day.is_date
    assert cost.data_type == "n"
    assert cost.number_format == "#,##0.00"
    assert not [sheet.title for sheet in read if sheet.sheet_state != "visible"]
    assert not [sheet.title for sheet in read if sheet.merged_cells.ranges]
    assert all(sheet.freeze_panes == "B2" for sheet in read)


@pytest.mark.parametrize(
    "text",
    ["=1+2", "+1", "-1", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0", "a\x07b", "\u202eevil", "🚗"],
)
def test_hostile_text_stays_text(data: BooksData, text: str) -> None:
    first = data.lines[0]
    entry = dataclasses.replace(first.entry, words=Words(text))
    changed = dataclasses.replace(data, lines=(dataclasses.replace(first, entry=entry),
                                               *data.lines[1:]))  # fmt: skip
    sheet = openpyxl.load_workbook(io.BytesIO(books(changed)))["lines"]
    cell = sheet.cell(2, LINE_HEADINGS.index("what") + 1)
    assert cell.data_type == "s"
    assert cell.value == text.replace("\x07", "\ufffd")
    assert cell.quotePrefix == (text[0] in "=+-@\t")


def test_a_text_too_long_for_a_cell_is_cut_visibly_and_counted(data: BooksData) -> None:
    first = data.lines[0]
    entry = dataclasses.replace(first.entry, words=Words("x" * 40_000))
    changed = dataclasses.replace(data, lines=(dataclasses.replace(first, entry=entry),
                                               *data.lines[1:]))  # fmt: skip
    sheets = _rows(books(changed))
    assert sheets["lines"][0]["what"].endswith("longer than a cell holds]")
    assert any("cell: 1." in str(row["note"]) for row in sheets["notes"])


def test_the_heads_in_the_workbook_are_those_of_the_book(book: Book, data: BooksData) -> None:
    rows = _rows(books(data))["chain heads"]
    with book.reading() as conn:
        heads = reading.heads(conn)
    assert [(row["subject"], row["count"], row["hash"]) for row in rows] == [
        (head.subject, head.count, head.hash) for head in heads
    ]
