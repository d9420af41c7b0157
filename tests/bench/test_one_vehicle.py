"""One vehicle's pages and one more line take the same in a book of any size."""

from __future__ import annotations

from datetime import datetime
from statistics import median
from typing import TYPE_CHECKING

import pytest

from recondition.book import questions, reading
from recondition.book.engine import RollBack
from recondition.book.posting import Poster
from recondition.book.public import source_of
from recondition.book.today import today_of
from recondition.reports import lists
from recondition.reports.pages import REPORTS
from tests.bench.beside import seconds, sizes, steps
from tests.bench.big import EACH, big_book, labour

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

    from recondition.book.engine import Book

pytestmark = pytest.mark.bench
AT, CAR, TIMES = datetime(2032, 1, 1, 8), "0001", 5  # noqa: DTZ001 - the shop's own wall clock
# What is read may grow by this much: an index is a step deeper in a big book.
GROWS_MAX, SLOWER_MAX = 1.1, 2.0


def _report(name: str) -> Callable[[Connection], object]:
    return lambda conn: REPORTS[name](conn, (CAR,), AT)


def _history(conn: Connection) -> object:
    return source_of(conn, questions.vehicle_of(conn, CAR), AT.date())


def _ledger(conn: Connection) -> object:
    return lists.lines(conn, CAR), reading.standing_refs(conn, questions.vehicle_of(conn, CAR).id)


PAGES: dict[str, Callable[[Connection], object]] = {
    "cost and uplift": _report("cost-and-uplift"),
    "condition": _report("condition"),
    "work history": _history,
    "list for today": lambda conn: today_of(conn, CAR, AT.astimezone()),
    "ledger": _ledger,
}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_one_vehicle_is_independent_of_the_books_size(name: str) -> None:
    page = PAGES[name]
    read, took = [], []
    for lines in sizes():
        with big_book(lines).reading() as conn:
            page(conn)  # what is read for the first time comes from the disk
            read.append(steps(conn, lambda: page(conn)))
            took.append(median(seconds(lambda: page(conn)) for _ in range(TIMES)))
        print(f"\n{name}, {EACH} of {lines:,} lines: {took[-1] * 1000:.0f} ms, "  # noqa: T201
              f"{read[-1]:,} thousand steps")  # fmt: skip
    print(f"{name}: ratio of the greatest to the smallest book {took[-1] / took[0]:.2f}")  # noqa: T201
    assert read[-1] <= GROWS_MAX * read[0]
    assert took[-1] < SLOWER_MAX * took[0]


def test_one_more_line_is_independent_of_the_books_size() -> None:
    read, took = [], []
    for lines in sizes():
        book = big_book(lines)
        with book.writing() as conn:
            _post(book, conn, "ZZ-0")
            read.append(steps(conn, lambda: _post(book, conn, "ZZ-1")))  # noqa: B023 - as above
            took.append(
                median(seconds(lambda: _post(book, conn, f"ZZ-{n}")) for n in range(2, 7))  # noqa: B023
            )
            raise RollBack
        print(f"\none more of {lines:,} lines: {took[-1] * 1000:.1f} ms, "  # noqa: T201
              f"{read[-1]:,} thousand steps")  # fmt: skip
    assert took[-1] < 3 * took[0]


def _post(book: Book, conn: Connection, ref: str) -> None:
    """Post a quarter of an hour."""
    Poster(book, conn, reading.id_of(conn, "person", "P01")).post(labour(conn, ref))
