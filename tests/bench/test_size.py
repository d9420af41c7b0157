"""Imports of many rows: in bounded memory, all or nothing, and whole afterwards."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING

import pytest

from recondition.book.check import check
from recondition.book.engine import open_book
from recondition.book.reading import ids_by_ref
from recondition.book.sums import by_vehicle_and_purpose
from tests.bench.beside import steps
from tests.bench.big import bench_folder, big_place, others_of, write_shop
from tests.bench.test_one_vehicle import GROWS_MAX, PAGES

if TYPE_CHECKING:
    from collections.abc import Iterator

MILLION = 1_000_000
FEW, MORE = 1500, 6000
# What a row leaves behind for good: hours of a person on a day, and little else.
GROWTH_MAX_MIB = 16
WHOLE_MAX_MIB = 600


def run(folder: Path, place: Path, *limit: str) -> tuple[int, str, int]:
    """Import in a process of its own: rows written, where it was refused, peak in MiB."""
    command = [sys.executable, "-m", "tests.bench.importing", str(folder), str(place), *limit]
    ran = subprocess.run(command, check=True, capture_output=True, text=True)
    rows, where, peak = ran.stdout.split()
    return int(rows), where, int(peak)


@pytest.fixture
def folder() -> Iterator[Path]:
    """Give a folder for sheets and books."""
    with tempfile.TemporaryDirectory() as made:
        yield Path(made)


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, int]]:
    """Make a small book and one of four times as many lines; give the peak of memory of each."""
    made = []
    folder = tmp_path_factory.mktemp("both")
    for lines in (FEW, MORE):
        sheets, place = write_shop(folder / f"{lines}", lines), folder / f"{lines}.book"
        rows, _, peak = run(sheets, place, "14")
        assert rows == lines + others_of(lines)
        made.append((place, peak))
    return made


@pytest.mark.long
def test_memory_does_not_grow_with_the_rows(both: list[tuple[Path, int]]) -> None:
    few, more = (peak for _, peak in both)
    print(f"\n{FEW:,} lines {few} MiB, {MORE:,} lines {more} MiB")  # noqa: T201
    assert more - few < GROWTH_MAX_MIB


@pytest.mark.long
@pytest.mark.parametrize("name", PAGES)
def test_a_page_reads_as_much_of_a_book_however_big(
    both: list[tuple[Path, int]], name: str
) -> None:
    read = []
    for place, _ in both:
        with open_book(str(place)).reading() as conn:
            read.append(steps(conn, lambda: PAGES[name](conn)))
    assert read[1] <= GROWS_MAX * read[0]


@pytest.mark.long
@pytest.mark.parametrize(
    ("sheet", "row", "where"),
    [("charges", "X-LAST,0000,2031-12-31,never,,not a number,storage,storage", "charges"),
     ("labour", "L-LAST,0000,2031-12-31,never,,P00,25,", "labour")],
    ids=["not readable", "refused by the book"],
)  # fmt: skip
def test_one_wrong_row_at_the_end_and_nothing_is_there(
    folder: Path, empty_file: Path, sheet: str, row: str, where: str
) -> None:
    sheets = write_shop(folder / "sheets", FEW)
    with (sheets / f"{sheet}.csv").open("a", encoding="utf-8", newline="") as stream:
        stream.write(f"{row}\r\n")
    rows, refused, _ = run(sheets, folder / "made.book")
    assert rows == 0
    assert refused.startswith(f"{where},_row_")
    shutil.copy(empty_file, folder / "empty.book")
    empty, book = (open_book(str(folder / name)) for name in ("empty.book", "made.book"))
    with empty.reading() as before, book.reading() as conn:
        assert ids_by_ref(conn, "person", ["P00"]) == {}
        assert by_vehicle_and_purpose(conn) == by_vehicle_and_purpose(before) == []
    assert check(book).damages == []


@pytest.mark.full
def test_a_million_lines() -> None:
    """Make the book of a million lines anew and check it; the benches read the same one."""
    folder = bench_folder() / "million"
    shutil.rmtree(folder, ignore_errors=True)
    started = perf_counter()
    sheets = write_shop(folder / "sheets", MILLION)
    size = sum(path.stat().st_size for path in sheets.iterdir())
    print(f"\nwritten in {perf_counter() - started:.0f} s: {size / 2**20:,.0f} MiB of .csv")  # noqa: T201
    started = perf_counter()
    rows, where, peak = run(sheets, folder / "made.book")
    took = perf_counter() - started
    assert (rows, where) == (MILLION + others_of(MILLION), "-")
    size = (folder / "made.book").stat().st_size
    print(f"{rows:,} rows imported in {took:,.0f} s, {rows / took:,.0f} a second; "  # noqa: T201
          f"peak {peak} MiB; book {size / 2**20:,.0f} MiB")  # fmt: skip
    started = perf_counter()
    found = check(open_book(str(folder / "made.book")))
    print(f"checked in {perf_counter() - started:,.0f} s: {len(found.damages)} damages")  # noqa: T201
    assert found.damages == []
    (folder / "made.book").replace(big_place(MILLION))
    shutil.rmtree(folder)
    assert peak < WHOLE_MAX_MIB
