"""An import against reading the same .csv and writing the same rows with nothing around it."""

from __future__ import annotations

import csv
import itertools
import sqlite3
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.bench.beside import beside, seconds
from tests.bench.big import SHEETS, bench_folder, imported, others_of, write_shop

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.bench
FEW, MANY = 2000, 8000


@pytest.fixture
def folder() -> Iterator[Path]:
    """Give a folder on a real disk."""
    with tempfile.TemporaryDirectory(dir=bench_folder()) as made:
        yield Path(made)


def bare(sheets: Path, place: Path) -> None:
    """Read the sheets of lines and write their rows into tables of text, in one transaction."""
    plain = sqlite3.connect(place, isolation_level=None)
    plain.execute("PRAGMA journal_mode=WAL")
    plain.execute("PRAGMA synchronous=FULL")
    plain.execute("BEGIN IMMEDIATE")
    for name, _, _ in SHEETS:
        with (sheets / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
            rows = csv.reader(stream)
            headings = next(rows)
            columns = ", ".join(f'"{heading}" TEXT' for heading in headings)
            plain.execute(f'CREATE TABLE "{name}" ({columns})')
            marks = ", ".join("?" * len(headings))
            plain.executemany(f'INSERT INTO "{name}" VALUES ({marks})', rows)  # noqa: S608 - ours
    plain.execute("COMMIT")
    plain.close()


def test_an_import_beside_a_bare_loop(folder: Path) -> None:
    sheets, number = write_shop(folder / "sheets", FEW), itertools.count()
    rows = FEW + others_of(FEW)
    ratio = beside(
        f"{rows:,} rows imported",
        lambda: imported(sheets, folder / f"{next(number)}.book"),
        lambda: bare(sheets, folder / f"{next(number)}.bare"),
        times=3,
    )
    assert ratio < 500


def test_an_import_takes_as_long_for_each_row_however_many(folder: Path) -> None:
    each = []
    for lines in (FEW, MANY):
        sheets = write_shop(folder / f"{lines}", lines)
        rows = lines + others_of(lines)
        took = seconds(lambda: imported(sheets, folder / f"{lines}.book"))  # noqa: B023 - at once
        each.append(took / rows)
        print(f"\n{rows:,} rows: {took:.1f} s, {rows / took:,.0f} rows a second")  # noqa: T201
    assert each[1] < 1.5 * each[0]
