"""The bookkeeper's workbook, read back and recalculated by an independent formula engine."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import formulas
import pytest
from openpyxl import load_workbook

from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.book import reading
from recondition.book.engine import Book
from recondition.book.line_rows import COLUMNS
from recondition.book.reversing import reverse_line
from recondition.book.scope import Scope
from recondition.fields import Id, Words
from recondition.ledger.lines import Charge, Purpose, Unlinked
from recondition.ledger.people import Setting
from recondition.reports.workbook import Wanted, write_books
from tests.book import make
from tests.places import copied_book, lies_at, opened

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

MADE = datetime(2031, 4, 30, 12, 30, tzinfo=UTC)
# The columns that a bookkeeper asks for, in their order (common practice, no source).
ASKED_FOR = [
    "line_id",
    "job_no",
    "stock_no",
    "chassis",
    "own_or_consigned",
    "owner_ref",
    "entry_date",
    "tax_point_date",
    "period",
    "work_date",
    "category",
    "account_code",
    "account_name",
    "cost_centre",
    "description",
    "panel",
    "operation_code",
    "person_ref",
    "quantity",
    "unit",
    "unit_cost",
    "net_amount",
    "tax_code",
    "tax_amount",
    "gross_amount",
    "recoverable_tax",
    "currency",
    "fx_rate",
    "fx_source",
    "amount_home",
    "debit",
    "credit",
    "supplier_ref",
    "supplier_invoice_no",
    "invoice_date",
    "invoice_line",
    "document_file",
    "document_sha256",
    "approved_by",
    "approval_ref",
    "billable",
    "billed_invoice_no",
    "reverses_line_id",
    "correction_reason",
    "measured_or_estimated",
    "created_at",
    "created_by",
    "exported_batch",
]
SHEETS = [
    "lines", "journal", "vehicles", "invoices", "estimates", "findings", "shares", "stock",
    "stock movements", "accounts", "chain heads", "notes",
]  # fmt: skip
Rows = list[dict[str, Any]]


@pytest.fixture(scope="module")
def year(demo_book: Book, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Give the demo's book with one line taken back."""
    folder = tmp_path_factory.mktemp("book")
    made = opened(copied_book(lies_at(demo_book), folder / "demo.book"))
    reverse_line(made, "L-005", "entered twice", author_ref="IC", day="2031-04-05", period=None)
    return made


def written(of: Book, path: Path, **scope: Any) -> Workbook:
    """Write the workbook and read it back."""
    stock = scope.pop("stock", None)
    with of.reading() as conn:
        vehicle = reading.id_of(conn, "vehicle", stock) if stock else None
        wanted = Wanted(scope=Scope(vehicle=vehicle, **scope), stock=stock, made_at=MADE)
        write_books(path, conn, wanted)
    return load_workbook(path)


@pytest.fixture(scope="module")
def whole(year: Book, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Workbook]:
    """Give the workbook of the whole demo, as a file and read back."""
    path = tmp_path_factory.mktemp("whole") / "books.xlsx"
    return path, written(year, path)


def rows(workbook: Workbook, sheet: str) -> Rows:
    """Read a sheet, each row as a dictionary by heading."""
    first, *rest = workbook[sheet].iter_rows(values_only=True)
    return [dict(zip(map(str, first), row, strict=True)) for row in rest]


def minor(value: Any, currency: str = "USD") -> int:
    return round(float(value or 0) * 10 ** minor_digits(currency))


def test_the_lines_have_the_columns_asked_for_and_add_up_to_the_cent(
    year: Book, whole: tuple[Path, Workbook]
) -> None:
    found = rows(whole[1], "lines")
    assert list(COLUMNS[: len(ASKED_FOR)]) == ASKED_FOR
    with year.reading() as conn:
        posted = {line.ref: line.priced.cost.minor for line in reading.lines(conn) if line.priced}
    assert {row["line_id"]: minor(row["amount_home"]) for row in found} == posted
    for row in found:
        assert minor(row["debit"]) - minor(row["credit"]) == minor(row["amount_home"])
        assert minor(row["net_amount"]) + minor(row["tax_amount"]) == minor(row["gross_amount"])


def test_the_journal_balances_and_every_account_opens_up_to_its_lines(
    whole: tuple[Path, Workbook],
) -> None:
    journal, lines = rows(whole[1], "journal"), rows(whole[1], "lines")
    sides: dict[str, int] = {}
    booked: dict[tuple[Any, ...], int] = {}
    for leg in journal:
        amount = minor(leg["debit"]) - minor(leg["credit"])
        sides[leg["entry"]] = sides.get(leg["entry"], 0) + amount
        key = (leg["period"], leg["document"], leg["account_code"], leg["stock_no"])
        booked[key] = booked.get(key, 0) + amount
    assert set(sides.values()) == {0}
    for row in lines:
        key = (row["period"], row["journal_document"], row["account_code"],
               None if row["stock_no"] == "(the shop)" else row["stock_no"])  # fmt: skip
        booked[key] -= minor(row["amount_home"])
        paid = (row["period"], row["journal_document"], row["paid_from_code"], None)
        booked[paid] = booked.get(paid, 0) + minor(row["gross_amount"])
    charged = {(row["period"], row["journal_document"], row["account_code"]) for row in lines}
    left = {key: amount for key, amount in booked.items() if key[:3] in charged}
    assert set(left.values()) == {0}
    # What lines are paid from adds up too, but where receipts of stock share the document.
    stock = {row["journal_document"] for row in lines if row["paid_from_code"] == "1280"}
    owed = {
        key: amount for key, amount in booked.items()
        if key[2] in {row["paid_from_code"] for row in lines} and key[1] not in stock
        and any(key[:2] == (row["period"], row["journal_document"]) for row in lines)
    }  # fmt: skip
    assert set(owed.values()) == {0}


def test_a_reversal_shows_the_line_it_takes_back_and_why(whole: tuple[Path, Workbook]) -> None:
    by_id = {row["line_id"]: row for row in rows(whole[1], "lines")}
    back, taken = by_id["L-005-reversed"], by_id["L-005"]
    assert (back["reverses_line_id"], taken["reversed_by_line_id"]) == ("L-005", "L-005-reversed")
    assert back["correction_reason"] == "entered twice"
    same = ("unit_cost_is_for", "unit", "unit_cost", "description", "purpose", "account_code")
    assert [back[name] for name in same] == [taken[name] for name in same]
    assert back["quantity"] == -taken["quantity"]
    assert back["credit"] == taken["debit"]


def test_the_shares_of_each_line_add_up_to_it(whole: tuple[Path, Workbook]) -> None:
    shared: dict[str, int] = {}
    for row in rows(whole[1], "shares"):
        shared[row["line_id"]] = shared.get(row["line_id"], 0) + minor(row["cost"])
    linked = {row["line_id"]: row for row in rows(whole[1], "lines") if row["findings"]}
    assert shared.keys() == linked.keys()
    assert all(shared[ref] == minor(row["amount_home"]) for ref, row in linked.items())


@pytest.mark.filterwarnings("ignore")
def test_every_live_formula_recalculates_to_the_books_value(whole: tuple[Path, Workbook]) -> None:
    path, read = whole
    solved = formulas.ExcelModel().loads(str(path)).finish().calculate()
    checked = 0
    for name in ("vehicles", "stock", "notes"):
        for row in read[name].iter_rows(min_row=2):
            for cell in row:
                if cell.data_type != "f":
                    continue
                value = solved[f"'[books.xlsx]{name.upper()}'!{cell.coordinate}"].value[0, 0]
                heading = str(cell.parent.cell(1, cell.column).value)
                if "difference" in heading:
                    assert value == 0, (name, cell.coordinate, cell.value)
                else:
                    beside = cell.parent.cell(cell.row, cell.column - 1).value
                    assert float(value) == pytest.approx(float(beside), abs=1e-9)
                checked += 1
    assert checked > 80


def test_sheets_have_filters_frozen_headings_and_nothing_hidden_or_merged(
    whole: tuple[Path, Workbook],
) -> None:
    read = whole[1]
    assert read.sheetnames == SHEETS
    for sheet in read.worksheets:
        assert sheet.auto_filter.ref == sheet.dimensions
        headings = [cell.value for cell in sheet[1]]
        assert len(set(headings)) == len(headings)
        assert (sheet.freeze_panes, sheet.sheet_state) == ("B2", "visible")
        assert not sheet.merged_cells.ranges


def test_text_numbers_and_dates_have_their_own_types(whole: tuple[Path, Workbook]) -> None:
    lines = whole[1]["lines"]
    place = {heading: number for number, heading in enumerate(COLUMNS, start=1)}
    stock, day, cost, code = (
        lines.cell(2, place[name])
        for name in ("stock_no", "work_date", "amount_home", "account_code")
    )
    assert (stock.value, stock.data_type, code.data_type) == ("0007", "s", "s")
    assert (day.is_date, day.number_format) == (True, "yyyy-mm-dd")
    assert (cost.data_type, cost.number_format) == ("n", "#,##0.00")
    currencies = {row["currency"] for name in ("lines", "journal") for row in rows(whole[1], name)}
    assert currencies == {"USD"}


def test_the_hash_in_the_notes_is_that_of_the_lines(whole: tuple[Path, Workbook]) -> None:
    digest = hashlib.sha256()
    for row in rows(whole[1], "lines"):
        digest.update(row["record_hash"].encode())
    notes = [str(row["note"]) for row in rows(whole[1], "notes")]
    assert any(note.endswith(digest.hexdigest()) for note in notes)
    assert any("local accountant" in note for note in notes)


def test_the_heads_in_the_workbook_are_those_of_the_book(
    year: Book, whole: tuple[Path, Workbook]
) -> None:
    with year.reading() as conn:
        heads = reading.heads(conn)
    found = [(row["subject"], row["count"], row["hash"]) for row in rows(whole[1], "chain heads")]
    assert found == [(head.subject, head.count, head.hash) for head in heads]


def test_one_period_and_one_vehicle_are_cut_out_and_still_tie(year: Book, tmp_path: Path) -> None:
    period = written(year, tmp_path / "period.xlsx", period="2031-02")
    assert {row["period"] for row in rows(period, "lines")} == {"2031-02"}
    assert {row["period"] for row in rows(period, "journal")} == {"2031-02"}
    cost = sum(minor(row["amount_home"]) for row in rows(period, "lines"))
    assert sum(minor(row["all cost, book"]) for row in rows(period, "vehicles")) == cost
    car = written(year, tmp_path / "car.xlsx", stock="0012")
    assert {row["stock_no"] for row in rows(car, "lines")} == {"0012"}
    assert [row["stock_no"] for row in rows(car, "vehicles")] == ["0012"]
    assert {row["stock_no"] for row in rows(car, "findings")} == {"0012"}


def test_the_same_data_gives_the_same_cells_and_properties(
    year: Book, whole: tuple[Path, Workbook], tmp_path: Path
) -> None:
    again = written(year, tmp_path / "again.xlsx")
    assert again.properties.creator == "recondition"
    assert again.properties.created == MADE.replace(tzinfo=None)
    for one, two in zip(whole[1].worksheets, again.worksheets, strict=True):
        assert list(one.values) == list(two.values)


HOSTILE = [
    "=1+2", "+1", "-1", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0", "a\x07b", "\u202eevil", "🚗",
    "#N/A", "_x0041_", "שלום עולם", "x" * 40_000,
]  # fmt: skip


def test_hostile_text_stays_text_in_every_place(year: Book, tmp_path: Path) -> None:
    """The same text as words, chassis number and supplier's invoice number."""
    made = opened(copied_book(lies_at(year), tmp_path / "hostile.book"))
    with made.reading() as conn:
        vehicle = reading.id_of(conn, "vehicle", "0007")
    for place, text in enumerate(HOSTILE):
        entry = make.charge(
            Id(vehicle), words=Words(text), invoice_number=text[:50].strip() or None
        )
        make.add(made, "charge", f"H-{place}", entry)
    read = written(made, tmp_path / "hostile.xlsx")
    sheet = read["lines"]
    place_of = {heading: number for number, heading in enumerate(COLUMNS)}
    cells = {row[0].value: row for row in sheet.iter_rows(min_row=2)}
    for place, text in enumerate(HOSTILE):
        cell = cells[f"H-{place}"][place_of["description"]]
        assert cell.data_type == "s"
        if len(text) > 1000:
            assert cell.value.endswith("longer than a cell holds]")
        else:
            # The format escapes what looks like an escape; openpyxl shows it as it is written.
            assert cell.value == text.replace("\x07", "\ufffd").replace("_x", "_x005F_x")
        assert bool(cell.quotePrefix) == (text[0] in "=+-@\t")
    assert any("cell: 1." in str(row["note"]) for row in rows(read, "notes"))


@pytest.mark.parametrize(
    ("currency", "amount"),
    [("JPY", "123456789012"), ("KWD", "0.105"), ("USD", "9999999999999.99"), ("CLF", "-0.0001")],
)
def test_an_amount_reads_back_exactly(
    book: Book, tmp_path: Path, currency: str, amount: str
) -> None:
    make.add(book, "setting", "currency", Setting(value=currency))
    fields = make.line(None, unlinked=Unlinked.OVERHEAD, purpose=Purpose.OVERHEAD)
    make.add(book, "charge", "X-1", Charge(price=Money.of(amount, currency), **fields))
    (row,) = rows(written(book, tmp_path / "books.xlsx"), "lines")
    digits = len(amount.partition(".")[2])
    assert round(Decimal(str(row["amount_home"])), digits) == Decimal(amount)


@pytest.mark.filterwarnings("ignore")
def test_a_workbook_of_an_book_replaces_the_old_one_whole(book: Book, tmp_path: Path) -> None:
    path = tmp_path / "out" / "books.xlsx"
    path.parent.mkdir()
    path.write_bytes(b"old")
    read = written(book, path)
    assert read.sheetnames == SHEETS
    assert [item.name for item in path.parent.iterdir()] == ["books.xlsx"]
    solved = formulas.ExcelModel().loads(str(path)).finish().calculate()
    assert solved
