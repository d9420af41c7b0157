"""Roll-up and books of 10 thousand to a million lines, against bare SQL and pandas."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest

from recondition.book import sums
from recondition.book.accounting import journal_of
from tests.bench.beside import beside, seconds, sizes
from tests.bench.big import big_book

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.engine import Book

pytestmark = pytest.mark.bench
BY_VEHICLE = (
    "SELECT vehicle, purpose, sum(cost_minor), coalesce(sum(billed_minor), 0), count(*) "
    "FROM line GROUP BY vehicle, purpose"
)
BY_FINDING = "SELECT finding, sum(cost_minor) FROM share GROUP BY finding"
COSTS = "SELECT vehicle, purpose, period, cost_minor FROM line"


@pytest.fixture(params=sizes(), ids=lambda size: f"{size:,}")
def lines(request: pytest.FixtureRequest) -> int:
    """Give a size of book."""
    return int(request.param)


@pytest.fixture
def both(lines: int) -> Iterator[tuple[Book, sqlite3.Connection]]:
    """Give a big book, and the same file by the bare driver."""
    book = big_book(lines)
    plain = sqlite3.connect(str(book.path))
    yield book, plain
    plain.close()
    book.close()


def test_roll_up_by_vehicle_and_by_finding(
    both: tuple[Book, sqlite3.Connection], lines: int
) -> None:
    book, plain = both

    def ours(add_up: Any) -> list[Any]:
        with book.reading() as conn:
            return list(add_up(conn))

    assert len(ours(sums.by_vehicle_and_purpose)) == len(plain.execute(BY_VEHICLE).fetchall())
    for what, add_up, query in (
        ("vehicle", sums.by_vehicle_and_purpose, BY_VEHICLE),
        ("finding", sums.by_finding, BY_FINDING),
    ):
        ratio = beside(
            f"{lines:,} lines by {what}, bare SQL",
            lambda: ours(add_up),  # noqa: B023 - called at once
            lambda: plain.execute(query).fetchall(),  # noqa: B023
        )
        assert ratio < 2 or lines < 100_000  # opening the book counts in a small one

    def grouped() -> None:
        pd.read_sql(COSTS, plain).groupby(["vehicle", "purpose"]).cost_minor.sum()

    beside(
        f"{lines:,} lines by vehicle, pandas", lambda: ours(sums.by_vehicle_and_purpose), grouped
    )


def test_the_journal_of_all_periods(both: tuple[Book, sqlite3.Connection], lines: int) -> None:
    book, plain = both

    def ours() -> int:
        with book.reading() as conn:
            return sum(leg.debit for entry in journal_of(conn).entries() for leg in entry.legs)

    whole = plain.execute("SELECT sum(cost_minor) FROM line").fetchone()[0]
    assert ours() >= whole
    took = seconds(ours)
    print(f"\njournal of {lines:,} lines: {took:.2f} s, {lines / took:,.0f} lines a second")  # noqa: T201
    beside(
        f"journal of {lines:,} lines, pandas by period and vehicle",
        ours,
        lambda: pd.read_sql(COSTS, plain).groupby(["period", "vehicle", "purpose"]).sum(),
        times=3,
    )
    assert took < lines / 2000 + 5
