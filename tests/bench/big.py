"""Big books for measuring: a shop of two years, written as .csv and taken in by the import.

A book is made once and lies in the folder that RECONDITION_BENCH_FOLDER names, else in the
user's cache, so that every bench of every run reads the same one from a real disk.
"""

from __future__ import annotations

import csv
import os
import tempfile
import uuid
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.amounts import Quantity
from recondition.book.engine import Book, create_book, open_book
from recondition.book.reading import id_of
from recondition.book.schema import NEWEST
from recondition.fields import Id, Words
from recondition.intake.load import load
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import Labour, Link, Purpose, Standing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection

    from recondition.intake.report import ImportReport

FIRST, DAYS = date(2030, 1, 1), 730
LAST = date(2032, 1, 2)
EACH = 500
"""Lines of one vehicle, however big the book: so one vehicle's page is the same page."""
AT_ONCE = 80
PEOPLE = 40
FINDINGS, PRODUCTS = 3, 10
# Twelve of twenty lines are hours, four uses of a product, four charges.
SHEETS = (("labour", 0, 12), ("consumables", 12, 16), ("charges", 16, 20))
_HEADINGS = {
    "labour": ["person", "hours", "candidate"],
    "consumables": ["product", "amount used", "price", "price is for"],
    "charges": ["amount", "no finding because", "paid for"],
}
_CANDIDATES = [
    "ref", "vehicle", "work", "hours low", "hours likely", "hours high", "uplift low",
    "uplift likely", "uplift high", "chance of success",
]  # fmt: skip
_TERMS = [
    "ref", "vehicle", "prices are", "as-is price low", "as-is price likely", "as-is price high",
    "labour cost rate per hour", "seller's commission",
]  # fmt: skip
_OF_ALL = ["ref", "vehicle", "work date", "words (a buyer may read)", "findings"]


def cars_of(rows: int) -> int:
    """Give the number of vehicles in a book of so many lines."""
    return max(1, rows // EACH)


def others_of(rows: int) -> int:
    """Give the number of rows of other kinds beside so many lines."""
    return PEOPLE * 2 + PRODUCTS + cars_of(rows) * (3 + FINDINGS)


def write_shop(folder: Path, rows: int) -> Path:
    """Write the shop's sheets and so many lines into a folder of .csv files."""
    folder.mkdir(parents=True)
    cars = range(cars_of(rows))
    _write(folder, "people", ["initials", "name", "role"], (
        [f"P{n:02}", f"Hand {n}", "preparer"] for n in range(PEOPLE)))  # fmt: skip
    _write(folder, "rates", ["ref", "person", "from", "cost rate per hour"], (
        [f"R-{n:02}", f"P{n:02}", "2029-01-01", 30 + n] for n in range(PEOPLE)))  # fmt: skip
    _write(folder, "products", ["ref", "name", "material type", "unit"], (
        [f"M-{n}", f"Compound {n}", "fine polish", "ml"] for n in range(PRODUCTS)))  # fmt: skip
    _write(folder, "vehicles", ["stock number", "designation", "whose it is"], (
        [f"{n:04}", "1961 Tavorel Lisse 1600 coupe", "own stock"] for n in cars))  # fmt: skip
    _write(folder, "findings", ["ref", "vehicle", "panel", "defect", "found"], (
        [f"F-{n:04}-{k}", f"{n:04}", "bonnet", "oxidation", "2030-01-01"]
        for n in cars for k in range(FINDINGS)))  # fmt: skip
    _write(folder, "candidates", _CANDIDATES, (
        [f"C-{n:04}", f"{n:04}", "one-step polish", 150, 200, 300, 900, 1400, 2100, "100%"]
        for n in cars))  # fmt: skip
    _write(folder, "terms", _TERMS, (
        [f"T-{n:04}", f"{n:04}", "hammer", 18000, 22000, 27000, 41, "6%"]
        for n in cars))  # fmt: skip
    for name, first, end in SHEETS:
        _write(folder, name, _OF_ALL + _HEADINGS[name], _lines(name, range(first, end), rows))
    return folder


def _write(folder: Path, name: str, headings: list[str], rows: Iterator[list[object]]) -> None:
    with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(headings)
        writer.writerows(rows)


def _lines(name: str, places: range, rows: int) -> Iterator[list[object]]:
    """Give the lines of one sheet in the order of their days."""
    cars = cars_of(rows)
    at_once = min(AT_ONCE, cars)
    for n in range(rows):
        if n // at_once % 20 not in places:
            continue
        # The shop has so many vehicles in at a time; work goes round them.
        car = min(n // (at_once * EACH) * at_once + n % at_once, cars - 1)
        day = FIRST + timedelta(days=n * DAYS // rows)
        finding = f"F-{car:04}-{n % FINDINGS}"
        links = f"{finding} 60; F-{car:04}-{(n + 1) % FINDINGS} 40" if n % 4 == 0 else finding
        own = _own(name, n, car)
        words = f"Pass {n} over the panel named beside"
        linked = "" if name == "charges" else links
        yield [f"{name[0].upper()}-{n:07}", f"{car:04}", day.isoformat(), words, linked, *own]


def _own(name: str, n: int, car: int) -> list[object]:
    """Give what a line has of its own kind."""
    if name == "labour":
        candidate = f"C-{car:04}" if n % 3 == 0 else ""
        return [f"P{n % PEOPLE:02}", f"0.{1 + n % 4}", candidate]
    if name == "consumables":
        return [f"M-{n % 10}", f"{1 + n % 40} ml", f"{20 + n % 9}.50", "500 ml"]
    return [f"{5 + n % 300}.{n % 90 + 10}", "storage", "storage"]


def imported(folder: Path, place: Path) -> tuple[Book, ImportReport]:
    """Make a book of a folder of .csv files."""
    book = create_book(str(place))
    return book, load(book, folder, author_ref="P00")


def bench_folder() -> Path:
    """Give the folder in which the big books lie."""
    named = os.environ.get("RECONDITION_BENCH_FOLDER")
    cache = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    folder = Path(named) if named else cache / "recondition-bench"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def big_place(rows: int) -> Path:
    """Say where the book of so many lines lies; a new schema makes it anew."""
    return bench_folder() / f"{rows}-{NEWEST}.book"


def big_book(rows: int) -> Book:
    """Give the book of so many lines, made now if it is not there yet."""
    place = big_place(rows)
    if not place.exists():
        with tempfile.TemporaryDirectory(dir=bench_folder()) as folder:
            made = Path(folder) / "made.book"
            book, report = imported(write_shop(Path(folder) / "sheets", rows), made)
            assert report.changed == rows + others_of(rows)
            with book.engine.connect() as conn:
                conn.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            book.close()
            made.replace(place)
    return open_book(str(place))


def labour(conn: Connection, ref: str, days: int = 0) -> Draft:
    """Give a quarter of an hour on the second vehicle so many days after the last, to be posted."""
    return Draft(
        id=uuid.uuid4().hex,
        kind="labour",
        ref=ref,
        entry=Labour(
            vehicle=Id(id_of(conn, "vehicle", "0001")),
            work_date=LAST + timedelta(days=days),
            words=Words("masked by hand"),
            links=(Link(Id(id_of(conn, "finding", "F-0001-1")), Decimal(1)),),
            purpose=Purpose.RECONDITIONING,
            standing=Standing.MEASURED,
            person=Id(id_of(conn, "person", "P01")),
            quantity=Quantity.of("0.25", "h"),
        ),
    )
