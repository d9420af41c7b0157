"""Time and memory of the bookkeeper's sheets, against plain loops of the same run."""

from __future__ import annotations

import sqlite3
import tracemalloc
from time import perf_counter
from typing import TYPE_CHECKING, Any

import pytest
from openpyxl import Workbook

from recondition.amounts import Money
from recondition.book import line_rows, sums
from recondition.book.accounting import chart_of, journal_of
from recondition.book.engine import Book, create_book
from recondition.book.line_rows import COLUMNS
from recondition.book.scope import Scope
from recondition.reports.sheet_writer import Counted, Formula, write_sheet
from tests.book import make

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

ROWS, MANY = 100_000, 1_000_000
CARS = 60


def filled(path: Path, rows: int, *, whole: bool) -> Book:
    """Make a book and fill its tables directly; ``whole`` with all that a line's row needs.

    Posting so many lines one by one would take an hour; what is measured only reads.
    """
    book = create_book(str(path))
    made = make.shop(book)
    car = make.Vehicle(designation="x", holding=make.Holding.OWN)
    cars = [make.add(book, "vehicle", f"{1000 + n}", car) for n in range(CARS)]
    plain = sqlite3.connect(path)
    plain.execute("PRAGMA synchronous = OFF")

    def lines() -> Iterator[tuple[Any, ...]]:
        for n in range(rows):
            day = f"2031-{1 + n % 12:02}-{1 + n % 28:02}"
            yield (f"{n:032x}", cars[n % CARS], "labour", day, day[:7], 1000 + n % 977,
                   ("reconditioning", "selling", "spoilage")[n % 3], "measured", "whole vehicle",
                   made.person, "1.25", "h", 3875, "polish")  # fmt: skip

    plain.executemany(
        "INSERT INTO line (record_id, vehicle, kind, work_date, period, cost_minor, purpose, "
        "standing, unlinked, person, quantity_number, quantity_unit, rate_minor, operation) "
        "VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?)", lines(),
    )  # fmt: skip
    if whole:
        _records(plain, cars, made.person, rows)
    plain.commit()
    plain.close()
    return book


def _records(plain: sqlite3.Connection, cars: list[Any], person: str, rows: int) -> None:
    """Add what stands beside each line: its record, its name and its words."""
    ids = [(f"{n:032x}", f"vehicle:{cars[n % CARS]}", n) for n in range(rows)]
    plain.executemany(
        "INSERT INTO record (id, subject, sequence, previous, hash, format, kind, entity, version, "
        "author, recorded_at, key, canonical) VALUES (?,?,?,'',?,'1','labour',?,1,?,?,?,'{}')",
        ((i, s, 10 + n, f"{n:064x}", i, person, "2031-03-04T08:00:00+00:00", f"k{n}")
         for i, s, n in ids),
    )  # fmt: skip
    plain.executemany(
        "INSERT INTO entity (id, kind, ref, subject, current) VALUES (?,'labour',?,?,?)",
        ((i, f"L-{n:06}", s, i) for i, s, n in ids),
    )
    plain.executemany(
        "INSERT INTO free_text (record_id, field, salt, content) VALUES (?,'words',?,?)",
        ((i, b"x", "One-step polish of the panel named beside, in two passes") for i, _, _ in ids),
    )


def sheet(book: Book, path: Path, count: int) -> None:
    """Write the lines sheet as the workbook does."""
    with book.reading() as conn:
        workbook = Workbook(write_only=True)
        rows = line_rows.rows(conn, Scope(), journal_of(conn), chart_of(conn))
        assert write_sheet(workbook, "lines", COLUMNS, rows, Counted()) == count
        workbook.save(path)


def bare(rows: Iterable[Iterable[Any]], path: Path) -> None:
    """Write the same cells with nothing around them."""
    workbook = Workbook(write_only=True)
    page = workbook.create_sheet("lines")
    for row in rows:
        page.append(row)
    workbook.save(path)


def value(cell: Any) -> Any:
    """Give what openpyxl takes for a cell."""
    return (
        cell.number if isinstance(cell, Money) else cell.text if isinstance(cell, Formula) else cell
    )


@pytest.mark.bench
def test_the_lines_sheet_costs_little_more_than_the_bare_loop(tmp_path: Path) -> None:
    book = filled(tmp_path / "big.sqlite", ROWS, whole=True)
    with book.reading() as conn:
        journal, chart = journal_of(conn), chart_of(conn)
        cells = [[value(c) for c in row] for row in line_rows.rows(conn, Scope(), journal, chart)]
    ratios = []
    for _ in range(2):
        started = perf_counter()
        bare(cells, tmp_path / "bare.xlsx")
        plain = perf_counter() - started
        started = perf_counter()
        sheet(book, tmp_path / "ours.xlsx", ROWS)
        ours = perf_counter() - started
        ratios.append(ours / plain)
        print(f"\n{ROWS} rows: {ours:.1f} s against {plain:.1f} s bare, ratio {ratios[-1]:.2f}")  # noqa: T201
    assert min(ratios) < 1.2


@pytest.mark.bench
def test_the_lines_sheet_takes_the_same_memory_however_long(tmp_path: Path) -> None:
    peaks = []
    for rows in (10_000, 40_000):
        book = filled(tmp_path / f"{rows}.sqlite", rows, whole=True)
        tracemalloc.start()
        sheet(book, tmp_path / "ours.xlsx", rows)
        peaks.append(tracemalloc.get_traced_memory()[1] / 2**20)
        tracemalloc.stop()
        print(f"\npeak {peaks[-1]:.1f} MiB for {rows} rows")  # noqa: T201
    assert peaks[1] < 1.2 * peaks[0]


@pytest.mark.bench
def test_a_roll_up_costs_little_more_than_the_bare_driver(tmp_path: Path) -> None:
    path = tmp_path / "many.sqlite"
    book = filled(path, MANY, whole=False)
    query = (
        "SELECT vehicle, purpose, sum(cost_minor), coalesce(sum(billed_minor), 0), count(*) "
        "FROM line GROUP BY vehicle, purpose"
    )
    plain = sqlite3.connect(path)
    ratios = []
    for _ in range(3):
        started = perf_counter()
        bare_rows = plain.execute(query).fetchall()
        alone = perf_counter() - started
        started = perf_counter()
        with book.reading() as conn:
            found = sums.by_vehicle_and_purpose(conn)
        ours = perf_counter() - started
        assert len(found) == len(bare_rows)
        ratios.append(ours / alone)
        print(f"\n{MANY} lines: {ours:.2f} s against {alone:.2f} s, ratio {ratios[-1]:.2f}")  # noqa: T201
    assert min(ratios) < 1.3
