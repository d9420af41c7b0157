"""A year of an invented shop with 60 vehicles: imported, billed, held against, closed, exported.

Each month goes through the ordinary import; what owners owe is billed at its end; the month is
then reconciled, closed and exported as a batch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.book import closing, owed, reading
from recondition.book.accounting import closings, period_events
from recondition.condition.vehicle import Holding
from recondition.intake import owners
from recondition.intake.load import load
from recondition.ledger.periods import last_day
from recondition.reports import exporting
from recondition.reports.books_bought import invoices
from recondition.reports.books_cars import inventory
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.reports.workbook import silent

if TYPE_CHECKING:
    from datetime import date

    from recondition.book import Connection
    from recondition.book.engine import Book

PREPARER, BOOKKEEPER = "IC", "WP"


@dataclass(frozen=True, slots=True)
class Month:
    """One month as it was closed: the cells of its row."""

    cells: tuple[Cell, ...]


def run(book: Book, data: Path, reports: Path) -> Iterator[Month]:
    """Take in and close each month that is not closed yet, in order; give each as it was closed."""
    for folder in sorted(path for path in data.iterdir() if path.is_dir()):
        period = folder.name
        with book.reading() as conn:
            if period in closings(period_events(conn)):
                continue
        load(book, folder, author_ref=PREPARER)
        _bill(book, last_day(period))
        event = closing.close(book, period, "month end", author_ref=BOOKKEEPER)
        export = exporting.Export(what=exporting.WORKBOOK, period=period, author_ref=BOOKKEEPER)
        exporting.workbook(book, reports / f"books-{period}.xlsx", export, silent)
        with book.reading() as conn:
            yield Month((period, event.debits, *_ties(conn, period)))


def _bill(book: Book, day: date) -> None:
    """Bill every owner what is not billed yet."""
    with book.reading() as conn:
        theirs = [
            item.ref
            for item in reading.stored(conn, "vehicle")
            if item.entry.holding is Holding.CONSIGNED
        ]
    for stock in sorted(theirs):
        try:
            owners.invoice(
                book, stock, author_ref=BOOKKEEPER, issued_on=day, write=lambda *_paper: None
            )
        except owed.NothingToBill:
            continue


def _ties(conn: Connection, period: str) -> tuple[Cell, ...]:
    """Give what cars and stock stand at, their differences, and what no line took yet."""
    cars, _, stock = inventory(conn, (), period)
    bills = invoices(conn, (), None)[0]
    if cars.total is None or bills.total is None:
        message = "sums that are always there"
        raise ValueError(message)
    return (cars.total[-2], cars.total[-1], stock.rows[0][1], stock.rows[2][1], bills.total[5])


def table(months: list[Month]) -> Table:
    """Lay the months out."""
    money = CellKind.MONEY
    columns = (
        Column("period", "Month"),
        Column("debits", "Debits = credits", money),
        Column("cars", "Cars stand at", money),
        Column("cars_apart", "Difference to lines", money),
        Column("stock", "Stock stands at", money),
        Column("stock_apart", "Difference to moves", money),
        Column("left", "On invoices, left over", money),
    )
    note = "'recondition books late' lists what came after its month was closed."
    return Table("A year, closed month by month", columns, tuple(m.cells for m in months), note)
