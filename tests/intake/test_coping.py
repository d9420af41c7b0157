"""Whole files as people really send them."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest
from openpyxl import Workbook, load_workbook

from recondition.amounts import Money
from recondition.book.reading import lines, one
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from tests.intake.sheetmaker import Rows, base, write_folder, write_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book


def test_a_small_job_and_the_same_file_again(book: Book, tmp_path: Path) -> None:
    path = write_workbook(tmp_path / "job.xlsx", base())
    first = load(book, path, author_ref="HK")
    again = load(book, path, author_ref="HK")
    assert [(c.sheet, c.new) for c in first.counts][-1] == ("labour", 1)
    assert first.words()[-1] == "6 rows were written."
    assert again.changed == 0
    assert again.rows == 6
    assert again.words()[-1] == "Everything is in the book already; nothing was changed."
    with book.reading() as conn:
        (line,) = lines(conn)
    assert line.priced.cost == Money(10_000, "USD")
    assert sorted(share.cost.minor for share in line.priced.shares) == [4_000, 6_000]


def test_checking_writes_nothing(book: Book, tmp_path: Path) -> None:
    path = write_workbook(tmp_path / "job.xlsx", base())
    report = load(book, path, author_ref="HK", check_only=True)
    assert report.changed == 6
    assert report.words()[-1] == "Checked only: nothing was written."
    assert load(book, path, author_ref="HK").changed == 6


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_folder_of_csv_is_the_same_import(book: Book, tmp_path: Path, delimiter: str) -> None:
    folder = write_folder(tmp_path / "job", base(), delimiter)
    assert load(book, folder, author_ref="HK").changed == 6
    workbook = write_workbook(tmp_path / "job.xlsx", base())
    assert load(book, workbook, author_ref="HK").changed == 0


def test_titles_above_order_blank_rows_and_columns_of_ones_own(book: Book, tmp_path: Path) -> None:
    sheets = base()
    workbook = Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        page = workbook.create_sheet(name.upper() + " ")
        page["A1"] = "Everything about the green one"
        page.merge_cells("A1:C1")
        page.append([])
        for row in rows:
            page.append(["", *reversed(row), None])
            page.append([None, "  ", "\u00a0"])
        page.cell(3, 12, "my own column")
    workbook.create_sheet("shopping list")["A1"] = "milk"
    workbook.save(tmp_path / "job.xlsx")
    report = load(book, tmp_path / "job.xlsx", author_ref="HK")
    assert report.changed == 6
    assert "sheet 'shopping list' is not known here, not read" in report.notices
    assert any("my own column (column L)" in notice for notice in report.notices)


def test_real_dates_text_numbers_and_zeros(book: Book, tmp_path: Path) -> None:
    sheets = base()
    sheets["findings"][1][4] = datetime(2024, 5, 2)  # noqa: DTZ001 - as a spreadsheet has it
    sheets["findings"][2][4] = date(2024, 5, 2)
    sheets["labour"][1][4] = " 2.5 "
    sheets["rates"][1][3] = "$40.00"
    sheets["vehicles"][0].append("chassis number as stamped")
    sheets["vehicles"][1].append(123456)
    path = write_workbook(tmp_path / "job.xlsx", sheets)
    workbook = load_workbook(path)
    for name, cell in (("vehicles", "A2"), ("findings", "B2"), ("labour", "B2")):
        workbook[name][cell] = 7
        workbook[name][cell].number_format = "0000"
    workbook.save(path)
    load(book, path, author_ref="HK")
    with book.reading() as conn:
        assert one(conn, "vehicle", "0007").entry.chassis_stamped == "123456"
        assert one(conn, "finding", "F-002").entry.found_on == date(2024, 5, 2)


def test_settings_of_the_file_hold_for_its_other_sheets(book: Book, tmp_path: Path) -> None:
    sheets: dict[str, Rows] = {
        "settings": [
            ["setting", "value"],
            ["currency", "eur"],
            ["Date Order", "Day first"],
            ["decimal mark", "comma"],
            ["indifference", "1.250,50 €"],
        ],
        **base(),
    }
    sheets["rates"][1][2:] = ["31.12.2023", "1.040,50 €"]
    path = write_workbook(tmp_path / "job.xlsx", sheets)
    load(book, path, author_ref="HK")
    with book.reading() as conn:
        assert one(conn, "rate", "R-001").entry.cost_rate == Money(104_050, "EUR")
        assert one(conn, "rate", "R-001").entry.from_date == date(2023, 12, 31)
        assert one(conn, "setting", "indifference").entry.value == "1250.50"


def test_the_stored_value_of_a_formula_counts(book: Book, tmp_path: Path) -> None:
    path = write_workbook(tmp_path / "job.xlsx", base())
    _with_formula(path, stored="<v>2.5</v>")
    load(book, path, author_ref="HK")
    with book.reading() as conn:
        (line,) = lines(conn)
    assert line.priced.cost == Money(10_000, "USD")


def test_a_formula_without_stored_value_is_a_problem(book: Book, tmp_path: Path) -> None:
    path = write_workbook(tmp_path / "job.xlsx", base())
    _with_formula(path, stored="")
    with pytest.raises(ImportRefused) as caught:
        load(book, path, author_ref="HK")
    (problem,) = caught.value.problems.listed
    assert problem.kind == "formula without a stored value"
    assert problem.where == "labour, row 2, hours (column E)"


def _with_formula(path: Path, stored: str) -> None:
    """Put a formula where the hours stand, with or without its value, as programs store it."""
    import zipfile  # noqa: PLC0415 - only here

    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    changed = 0
    for name, content in parts.items():
        if name.startswith("xl/worksheets/") and b'r="E2" t="n"><v>2.5</v>' in content:
            formula = f'r="E2"><f>1+1.5</f>{stored}'.encode()
            parts[name] = content.replace(b'r="E2" t="n"><v>2.5</v>', formula)
            changed += 1
    assert changed == 1
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


def test_rows_without_a_ref(book: Book, tmp_path: Path) -> None:
    sheets = base()
    row = sheets["labour"][1]
    sheets["labour"] += [[None, *row[1:]], [None, *row[1:]]]
    path = write_workbook(tmp_path / "job.xlsx", sheets)
    report = load(book, path, author_ref="HK")
    assert report.changed == 8
    assert any("labour: 2 rows have no ref" in notice for notice in report.notices)
    assert load(book, path, author_ref="HK").changed == 0
    sheets["labour"].append([None, *row[1:]])
    more = write_workbook(tmp_path / "more.xlsx", sheets)
    assert load(book, more, author_ref="HK").changed == 1
    with book.reading() as conn:
        refs = sorted(line.ref for line in lines(conn))
    assert [ref.rpartition("-")[2] for ref in refs[1:]] == ["1", "2", "3"]
    assert all(ref.startswith("auto-") for ref in refs if ref != "L-001")


def test_other_content_under_the_same_ref(book: Book, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "one.xlsx", base()), author_ref="HK")
    sheets = base()
    sheets["findings"][1][3] = "oxidation, heavy"
    report = load(book, write_workbook(tmp_path / "two.xlsx", sheets), author_ref="HK")
    assert [(c.sheet, c.version) for c in report.counts if c.version] == [("findings", 1)]
    sheets["labour"][1][4] = 3
    with pytest.raises(ImportRefused) as caught:
        load(book, write_workbook(tmp_path / "three.xlsx", sheets), author_ref="HK")
    (problem,) = caught.value.problems.listed
    assert (problem.kind, problem.sheet, problem.row) == ("posted differs", "labour", 2)
    assert "reverse" in problem.todo


def test_a_row_that_is_absent_deletes_nothing(book: Book, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "one.xlsx", base()), author_ref="HK")
    only = {"findings": base()["findings"][:2]}
    report = load(book, write_workbook(tmp_path / "two.xlsx", only), author_ref="HK")
    assert report.changed == 0
    with book.reading() as conn:
        assert one(conn, "finding", "F-002").entry.panel == "roof"


def test_candidates_may_name_each_other_in_any_order(book: Book, tmp_path: Path) -> None:
    heads = ["ref", "vehicle", "work", "hours low", "hours likely", "hours high", "requires",
             "excludes", "uplift low", "uplift likely", "uplift high"]  # fmt: skip
    sheets = {
        **base(),
        "candidates": [
            heads,
            ["C-001", "0007", "polish", 1, 2, 3, "C-002", "C-003", 1, 2, 3],
            ["C-002", "0007", "wash", 1, 1, 1, None, None, 1, 2, 3],
            ["C-003", "0007", "leave as found", 0, 0, 0, None, "C-001", 0, 0, 0],
        ],
    }
    path = write_workbook(tmp_path / "job.xlsx", sheets)
    assert load(book, path, author_ref="HK").changed == 9
    sheets["candidates"].append(["C-004", "0007", "wax", 1, 1, 1, "C-001", None, 1, 2, 3])
    sheets["candidates"][1][7] = "C-003; C-004"
    path = write_workbook(tmp_path / "more.xlsx", sheets)
    assert load(book, path, author_ref="HK").changed == 2


def test_documents_lie_beside_the_workbook(book: Book, tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "note.txt").write_text("gauge readings, bonnet", encoding="utf-8")
    rows: Rows = [
        ["ref", "vehicle", "kind", "title", "file"],
        ["D-001", "0007", "other", "readings", "photos\\note.txt"],
    ]
    path = write_workbook(tmp_path / "job.xlsx", {**base(), "documents": rows})
    assert load(book, path, author_ref="HK").changed == 7
    with book.reading() as conn:
        assert one(conn, "document", "D-001").entry.file_name == "note.txt"


def test_progress_is_told_and_the_staging_file_goes(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    sheets = base()
    for number in range(3, 1004):
        sheets["findings"].append([f"F-{number}", "0007", "roof", "scratch", "2024-05-02"])
    told: list[tuple[str, int, int | None]] = []
    folder = write_folder(tmp_path / "job", sheets)
    report = load(
        book, folder, author_ref="HK", progress=lambda *step: told.append(step), check_only=True
    )
    assert report.rows == 1007
    assert ("reading findings", 500, None) in told
    assert told[-1] == ("writing labour", 1007, 1007)
    assert list((tmp_path / "temporary").iterdir()) == []


def test_a_csv_row_counts_as_one_however_many_lines_it_has(book: Book, tmp_path: Path) -> None:
    sheets = base()
    sheets["findings"][0].append("private note")
    sheets["findings"][1].append("first\nsecond\nthird")
    sheets["findings"][2][4] = "soon"
    folder = write_folder(tmp_path / "job", sheets)
    with pytest.raises(ImportRefused) as caught:
        load(book, folder, author_ref="HK")
    assert [p.where for p in caught.value.problems.listed] == ["findings, row 3, found (column E)"]
