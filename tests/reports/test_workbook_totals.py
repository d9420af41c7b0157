"""Workbooks of drawn and of empty books: totals, exact amounts, the same cells each time."""

from __future__ import annotations

import io
from collections import defaultdict
from datetime import UTC, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import formulas
import pytest
from hypothesis import HealthCheck, given, settings
from openpyxl import load_workbook

from recondition.accounts.summary import summarise
from recondition.book.settings import settings_from
from recondition.condition.vehicle import Holding, Vehicle
from recondition.ledger.chain import Head
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import pieces
from recondition.reports.books_data import BooksData
from recondition.reports.workbook import books, write_books
from tests.lines import CONSIGNED, FINDINGS, OWN, charge, labour, line_sets, posted, taken_back

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl.workbook import Workbook

    from recondition.ledger.rollup import Line

MADE = datetime(2031, 4, 1, 12, 30, tzinfo=UTC)


def _record(key: str, ref: str, entry: Any) -> Stored[Any]:
    return Stored(
        id=key,
        record=key,
        ref=ref,
        kind="vehicle",
        version=1,
        subject=f"vehicle:{key}",
        sequence=1,
        author="p1",
        recorded_at="2031-03-01T08:00:00+00:00",
        entry=entry,
    )


VEHICLES = (
    _record(
        OWN,
        "0007",
        Vehicle(designation="1968 Ostrel", holding=Holding.OWN),
    ),
    # As a number this is the same stock number, as a text it is another.
    _record(CONSIGNED, "7", Vehicle(designation="1971 Venlan", holding=Holding.CONSIGNED)),
)


def data(lines: tuple[Line, ...], currency: str = "USD") -> BooksData:
    """Give what the workbook is made from."""
    findings = tuple(_record(key, key.upper(), entry) for key, entry in FINDINGS.items())
    cut = pieces(lines, FINDINGS)
    named = {record.id: record.ref for record in (*VEHICLES, *findings, *lines)}
    return BooksData(
        settings=settings_from({"currency": currency, "shop name": "Lindqvist Works"}),
        vehicles=VEHICLES,
        findings=findings,
        outcomes=(),
        lines=lines,
        products=(),
        movements=(),
        pieces=cut,
        summaries=summarise(cut, {OWN: False, CONSIGNED: True}, currency),
        heads=(Head(f"vehicle:{OWN}", 3, "ab" * 32),),
        refs={**named, "p1": "P1"},
        hashes={line.record: "cd" * 32 for line in lines},
        made_at=MADE,
    )


def opened(lines: tuple[Line, ...], currency: str = "USD") -> Workbook:
    return load_workbook(io.BytesIO(books(data(lines, currency))))


def rows(book: Workbook, sheet: str) -> list[dict[str, Any]]:
    """Give a sheet's rows by heading."""
    first, *rest = book[sheet].iter_rows(values_only=True)
    return [dict(zip(map(str, first), row, strict=True)) for row in rest]


def some_lines() -> tuple[Line, ...]:
    wrong = posted(3, charge("999.99", links=("f2",)))
    return (
        posted(1, labour("41.5", links=("f1", "f2"), period="2031-03")),
        posted(2, charge("72001.20", purpose=Purpose.LANDED)),
        wrong,
        taken_back(4, wrong),
        posted(5, labour("18", vehicle=CONSIGNED)),
        posted(6, charge("12.34", vehicle=None, purpose=Purpose.OVERHEAD)),
    )


def recalculated(lines: tuple[Line, ...], folder: Path) -> dict[tuple[str, str], Any]:
    """Recalculate with the formulas package; give the values by sheet and cell."""
    path = folder / "books.xlsx"
    write_books(path, data(lines))
    model = formulas.ExcelModel().loads(str(path)).finish()
    found = {}
    for name, value in model.calculate().items():
        sheet, _, cell = str(name).rpartition("!")
        if ":" not in cell and hasattr(value, "value"):
            found[sheet.split("]")[-1].strip("'").lower(), cell] = value.value[0, 0]
    return found


def _triples(book: Workbook) -> list[tuple[str, str, str, str, Any]]:
    """Give every control total: sheet, its cells for book, live and difference, its value."""
    found = []
    for name in book.sheetnames:
        for row in book[name].iter_rows():
            for one, two, three in zip(row, row[1:], row[2:], strict=False):
                if two.data_type == "f" and three.data_type == "f" and one.data_type != "f":
                    cells = (one.coordinate, two.coordinate, three.coordinate)
                    found.append((name, *cells, one.value))
    return found


def _check_totals(lines: tuple[Line, ...], folder: Path) -> int:
    triples, values = _triples(opened(lines)), recalculated(lines, folder)
    for sheet, _, live, difference, book_value in triples:
        assert float(values[sheet, live]) == pytest.approx(float(book_value), abs=1e-6)
        assert float(values[sheet, difference]) == 0
    return len(triples)


def test_every_live_formula_gives_the_book_value(tmp_path: Path) -> None:
    # Three rows (two vehicles, the shop) of eight totals, and the notes' own.
    assert _check_totals(some_lines(), tmp_path) > 24


def test_a_book_without_lines_recalculates_too(tmp_path: Path) -> None:
    assert _check_totals((), tmp_path) > 16


@settings(
    max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(lines=line_sets(most=6))
def test_any_lines_with_reversals_recalculate(lines: tuple[Line, ...], tmp_path: Path) -> None:
    _check_totals(lines, tmp_path)


@settings(max_examples=15, deadline=None)
@given(line_sets())
def test_the_lines_sheet_adds_up_to_the_cent(lines: tuple[Line, ...]) -> None:
    book = opened(lines)
    totals: dict[tuple[Any, Any], Decimal] = defaultdict(Decimal)
    for row in rows(book, "lines"):
        totals[row["stock number"], row["purpose"]] += round(Decimal(str(row["cost"])), 2)
    for summary in data(lines).summaries:
        stock = {OWN: "0007", CONSIGNED: "7", None: "(the shop)"}[summary.vehicle]
        for purpose, money in summary.purposes.items():
            assert totals.get((stock, purpose.value), Decimal(0)) == money.number


@pytest.mark.parametrize(
    ("currency", "amount"),
    [("JPY", "123456789012"), ("KWD", "0.105"), ("USD", "9999999999999.99"), ("CLF", "-0.0001")],
)
def test_an_amount_reads_back_exactly(currency: str, amount: str) -> None:
    line = posted(1, charge(amount, currency))
    (row,) = rows(opened((line,), currency), "lines")
    assert line.priced is not None
    digits = len(amount.partition(".")[2])
    assert round(Decimal(str(row["cost"])), digits) == line.priced.cost.number


def test_a_reversal_is_the_exact_negative_and_names_its_line() -> None:
    third, fourth = rows(opened(some_lines()), "lines")[2:4]
    assert (third["cost"], fourth["cost"]) == (999.99, -999.99)
    assert fourth["reverses"] == "L0003"
    assert (fourth["kind"], fourth["purpose"]) == ("charge", "reconditioning")
    assert "entered twice" in fourth["what"]


def test_every_sheet_has_a_filter_and_headings_of_its_own() -> None:
    book = opened(some_lines())
    stock = ["stock", "stock movements"]
    rest = ["shares", "chain heads", "notes"]
    assert book.sheetnames == ["lines", "vehicles", "findings", *stock, *rest]
    for sheet in book.worksheets:
        assert sheet.auto_filter.ref
        headings = [cell.value for cell in sheet[1]]
        assert len(set(headings)) == len(headings)


def test_the_same_data_gives_the_same_cells_and_properties() -> None:
    first, second = opened(some_lines()), opened(some_lines())
    assert first.properties.creator == "recondition"
    assert first.properties.created == MADE.replace(tzinfo=None)
    for one, two in zip(first.worksheets, second.worksheets, strict=True):
        assert list(one.values) == list(two.values)


def test_a_workbook_replaces_the_old_one_whole(tmp_path: Path) -> None:
    path = tmp_path / "books.xlsx"
    path.write_bytes(b"old")
    write_books(path, data(some_lines()))
    assert load_workbook(path).sheetnames[0] == "lines"
    assert [item.name for item in tmp_path.iterdir()] == ["books.xlsx"]
