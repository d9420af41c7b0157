"""Plain lists around the decision: tests to make first, comparables, sales."""

from __future__ import annotations

from recondition.book import Connection, reading
from recondition.book.undone import undone_by
from recondition.reports.lists_bench import of
from recondition.reports.table import CellKind, Column, Table

_DATE, _MONEY, _PERCENT = CellKind.DATE, CellKind.MONEY, CellKind.PERCENT


def trials(conn: Connection, stock: str | None) -> list[Table]:
    """List tests that could be made first."""
    work = reading.refs_by_id(conn, ["candidate"])
    rows = [
        (t.ref, t.entry.name, work.get(t.entry.decides or "", ""), t.entry.p_good,
         t.entry.reliability, t.entry.test_hours, t.entry.test_cash)
        for t in of(conn, stock, "trial")
    ]  # fmt: skip
    columns = (
        Column("ref", "Test"),
        Column("name", "What is tested"),
        Column("decides", "Decides"),
        Column("p_good", "Turns out well", _PERCENT),
        Column("reliability", "Test is right", _PERCENT),
        Column("hours", "Test hours", CellKind.NUMBER),
        Column("cash", "Test cash", _MONEY),
    )
    return [Table("Tests to make first", columns, tuple(rows))]


def comparables(conn: Connection, stock: str | None) -> list[Table]:
    """List sales of like vehicles."""
    rows = [
        (c.ref, c.entry.what, c.entry.price_is.value, c.entry.sold_on, c.entry.price,
         c.entry.basis.value, "; ".join(c.entry.features))
        for c in of(conn, stock, "comparable")
    ]  # fmt: skip
    columns = (
        Column("ref", "Ref"),
        Column("what", "Sold vehicle"),
        Column("is", "Row is"),
        Column("sold_on", "Sold", _DATE),
        Column("price", "Price", _MONEY),
        Column("basis", "Price is"),
        Column("features", "Features"),
    )
    return [Table("Comparables", columns, tuple(rows))]


def sales(conn: Connection, stock: str | None) -> list[Table]:
    """List what became of vehicles at their sales, and what was settled."""
    names, gone = reading.refs_by_id(conn, ["vehicle"]), undone_by(conn)
    rows = []
    for item in sorted(of(conn, stock, "sale"), key=lambda item: item.ref):
        made, sale = item.booked, item.entry
        settled = (
            (made.hammer, made.commission, made.fees, made.tax)
            if made
            else (sale.price, None, None, None)
        )
        rows.append(
            (item.ref, names.get(sale.vehicle, ""), sale.sold_on, sale.result.value, *settled,
             gone.get(item.id))
        )  # fmt: skip
    columns = (
        Column("ref", "Sale"),
        Column("vehicle", "Vehicle"),
        Column("sold_on", "Day", _DATE),
        Column("result", "Result"),
        Column("hammer", "Hammer", _MONEY),
        Column("commission", "Commission", _MONEY),
        Column("fees", "Fees", _MONEY),
        Column("tax", "Tax", _MONEY),
        Column("taken_back", "Taken back by"),
    )
    return [Table("Sales", columns, tuple(rows))]
