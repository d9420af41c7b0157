"""What ties to what: each sum that is known in two ways, side by side, and what parts them."""

from __future__ import annotations

from recondition.accounts import chart
from recondition.accounts.reconciling import on
from recondition.book import Connection
from recondition.reports.books_bought import invoices
from recondition.reports.books_cars import inventory_at
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import Cell, CellKind, Column, Table

_MONEY = CellKind.MONEY
_COLUMNS = (
    Column("what", "What"),
    Column("one", "Known by"),
    Column("by_one", "Comes to", _MONEY),
    Column("other", "and by"),
    Column("by_other", "Comes to", _MONEY),
    Column("difference", "Difference", _MONEY),
)


def ties(conn: Connection, period: str | None) -> list[Table]:
    """Give every sum that is known in two ways, at the end of a period or so far.

    Supplier invoices are left out at the end of a period: their lines may come later.
    """
    view = view_of(conn, period)
    cars, _, stock = inventory_at(conn, view, ())
    journal, apart = _minor(cars, "journal"), _minor(cars, "difference")
    by_moves, by_journal = (_money(stock.rows[place][1]) for place in (0, 1))
    legs = [leg for entry in view.entries for leg in entry.legs]
    rows = [
        _row(view, "Journal", ("debits", sum(leg.debit for leg in legs)),
             ("credits", sum(leg.credit for leg in legs))),
        _row(view, "Own cars in inventory",
             ("lines, accruals and value tests", journal + apart), ("journal", journal)),
        _row(view, "Consumables stock", ("movements", by_moves), ("journal", by_journal)),
    ]  # fmt: skip
    if period is None:
        rows.append(_invoices(conn, view))
    differs = [str(row[0]) for row in rows if _money(row[5])]
    said = f"Not tied: {', '.join(differs)}." if differs else "Everything ties."
    return [
        Table("What ties to what", _COLUMNS, tuple(rows), f"{said[:-1]}, {view.when()}. {GENERAL}")
    ]


def _row(view: View, what: str, one: tuple[str, int], other: tuple[str, int]) -> tuple[Cell, ...]:
    """Hold one sum against another; amounts in minor units."""
    return (
        what, one[0], view.money(one[1]), other[0], view.money(other[1]),
        view.money(one[1] - other[1]),
    )  # fmt: skip


def _invoices(conn: Connection, view: View) -> tuple[Cell, ...]:
    """Hold what invoices leave over against the account of what is to be allocated."""
    left = _minor(invoices(conn, (), None)[0], "unallocated")
    booked = on(view.balances, chart.TO_ALLOCATE)
    return _row(view, "Supplier invoices", ("left over, by invoice", left),
                ("to be allocated, by the journal", booked))  # fmt: skip


def _minor(table: Table, key: str) -> int:
    """Give the total of a column in minor units."""
    place = [column.key for column in table.columns].index(key)
    return _money(table.total[place]) if table.total is not None else 0


def _money(cell: object) -> int:
    """Give a cell of money in minor units."""
    return int(getattr(cell, "minor", 0))
