"""Workbook, lines and journal as files, against writing the same cells with nothing around."""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from openpyxl import Workbook, load_workbook

from recondition.reports import exporting
from recondition.reports.workbook import silent
from tests.bench.beside import beside
from tests.bench.big import big_book

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.bench
LINES = 10_000


@pytest.fixture
def folder() -> Iterator[Path]:
    """Give a folder for what is written."""
    with tempfile.TemporaryDirectory() as made:
        yield Path(made)


def test_the_workbook_beside_openpyxl_alone(folder: Path) -> None:
    book, export = big_book(LINES), exporting.Export(what=exporting.WORKBOOK)
    path = folder / "books.xlsx"
    exporting.workbook(book, path, export, silent)
    opened = load_workbook(path, read_only=True)
    cells = {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in opened}

    def bare() -> None:
        plain = Workbook(write_only=True)
        for title, rows in cells.items():
            sheet = plain.create_sheet(title)
            for row in rows:
                sheet.append(row)
        plain.save(folder / "bare.xlsx")

    count = sum(len(rows) for rows in cells.values())
    assert count > 3 * LINES
    ratio = beside(
        f"workbook of {LINES:,} lines, {count:,} rows in all",
        lambda: exporting.workbook(book, path, export, silent),
        bare,
        times=3,
    )
    assert ratio < 4


@pytest.mark.parametrize("what", [exporting.LINES, exporting.JOURNAL])
def test_plain_files_beside_csv_alone(folder: Path, what: str) -> None:
    book, export = big_book(LINES), exporting.Export(what=what)
    path = folder / f"{what}.csv"
    exporting.plain_file(book, path, export, None)
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    assert len(rows) > LINES

    def bare() -> None:
        with (folder / "bare.csv").open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(rows)

    def ours() -> None:
        exporting.plain_file(book, path, export, None)

    assert beside(f"{what} of {LINES:,} lines as .csv", ours, bare, times=3) < 60
