"""Two months of the books through the command line, and what each line answers.

The shop, cars, people and firms are invented.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from openpyxl import load_workbook

from tests.cli.days import BOOKS
from tests.golden import masked, same_as_kept
from tests.once import once
from tests.places import copied
from tests.running import done, run, stand_in

GOLDEN = Path(__file__).parent / "golden"
READ = [line for line in BOOKS if line.startswith(("recondition books", "recondition period list"))]


def _played(folder: Path) -> str:
    with pytest.MonkeyPatch.context() as patched:
        stand_in(folder, patched)
        patched.setenv("RECONDITION_PERSON", "HK")
        return "".join(f"$ {line}\n{done(line)}" for line in BOOKS)


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Make the book of two months; give its folder and what was said."""
    return once(tmp_path_factory, "books", _played)


@pytest.fixture
def books(played: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in a copy of that folder."""
    folder = copied(played[0], tmp_path / "books")
    stand_in(folder, monkeypatch)
    monkeypatch.setenv("RECONDITION_PERSON", "HK")
    return folder


def test_two_months_go_as_they_were_kept(played: tuple[Path, str]) -> None:
    same_as_kept(GOLDEN / "day-books.txt", masked(played[1], played[0]))


@pytest.mark.usefixtures("books")
@pytest.mark.parametrize("line", READ)
def test_what_the_books_say_fits_eighty_columns_and_gives_json(line: str) -> None:
    assert [row for row in done(line).splitlines() if len(row) > 80] == []
    found = json.loads(done(f"{line} --json"))
    assert found
    assert all(isinstance(rows, list) for rows in found.values())


def test_a_report_of_the_books_becomes_a_page_and_a_pdf(books: Path) -> None:
    done("recondition books profit --html profit.html --pdf profit.pdf")
    page = (books / "profit.html").read_text(encoding="utf-8")
    assert "What each vehicle brought" in page
    assert "local accountant" in page
    assert (books / "profit.pdf").read_bytes().startswith(b"%PDF")


def test_a_plain_file_is_rfc_4180_and_takes_a_map_of_columns(books: Path) -> None:
    (books / "map.csv").write_text(
        "column,heading\nentry,No.\naccount_code,Account\ndebit,Dr\ncredit,Cr\n"
    )
    done("recondition export journal own.csv --columns map.csv")
    raw = (books / "own.csv").read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n")
    rows = list(csv.reader(raw.decode().splitlines()))
    assert rows[0] == ["No.", "Account", "Dr", "Cr"]
    debits = sum(round(float(row[2]) * 100) for row in rows[1:] if row[2])
    assert debits == sum(round(float(row[3]) * 100) for row in rows[1:] if row[3]) > 0


def test_a_batch_is_marked_and_the_next_says_what_is_new(books: Path) -> None:
    done("recondition export workbook first.xlsx --period 2031-04")
    done('recondition post charge X-18 12 stamps --paid-for "export papers" --work-date 2031-04-05')
    done("recondition post reversal X-001 'wrong car' --on 2031-04-06")
    said = done("recondition export workbook second.xlsx --period 2031-04")
    assert "2 lines are new, 1 of them take back a line that it held" in said
    lines = load_workbook(books / "second.xlsx")["lines"]
    headings = [cell.value for cell in lines[1]]
    place, line = headings.index("exported_batch"), headings.index("line_id")
    batches = {row[line]: row[place] for row in lines.iter_rows(min_row=2, values_only=True)}
    new = said.split("Batch ")[1].split(".")[0]
    assert batches["X-001-reversed"] == new
    assert len({name for name in batches.values() if name != new}) >= 1


@pytest.mark.usefixtures("books")
@pytest.mark.parametrize(
    "report", ["journal", "inventory", "profit", "landed", "invoices", "stock-book", "late"]
)
def test_a_report_of_a_vehicle_that_is_not_there_is_refused(report: str) -> None:
    ran = run(f"recondition books {report} X-99")
    assert (ran.status, ran.out) == (1, "")
    assert "no vehicle 'X-99'" in ran.err


@pytest.mark.usefixtures("books")
@pytest.mark.parametrize(
    "line", ["accounts X-17", "tax X-17", "hours X-17", "landed --period 2031-03"]
)
def test_a_report_takes_only_what_narrows_it(line: str) -> None:
    ran = run(f"recondition books {line}")
    assert ran.status == 2
    assert "Error: " in ran.err
