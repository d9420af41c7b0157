"""Differences that counts found: use, spill or loss that nobody wrote down, by month."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.book import Connection
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Count
from recondition.materials.conversion import in_stock_unit
from recondition.materials.counts import added, share_of, verdict
from recondition.materials.products import Product
from recondition.materials.stock import Flow
from recondition.reports.stock_data import Shelves, measured_how
from recondition.reports.table import CellKind, Column, Table

_MONEY, _NUMBER = CellKind.MONEY, CellKind.NUMBER
_MONTH = len("YYYY-MM")
_RULE = (
    "Within: up to 5 % of the book's amount, or 20 ml, 20 g or 2 pieces; common practice, no "
    "source. A difference is posted in either case."
)


@dataclass(frozen=True, slots=True)
class _Counted:
    """One count: ``missing`` is positive where less was found than the book said."""

    product: Stored[Product]
    line: Stored[Count]
    counted: Decimal
    missing: Decimal
    cost: Money

    @property
    def month(self) -> str:
        """The calendar month of the count, YYYY-MM."""
        return self.line.entry.work_date.isoformat()[:_MONTH]

    @property
    def book(self) -> Decimal:
        """What the book said before."""
        return added((self.counted, self.missing))


def unrecorded(conn: Connection, which: str | None, _today: date) -> list[Table]:
    """List every count with its difference, then each product's months. Raises NotThere."""
    shelves = Shelves(conn, which)
    counts = sorted(_counts(shelves), key=lambda c: (c.product.ref, c.line.entry.work_date))
    return [_each(counts), _by_month(shelves, counts)]


def _counts(shelves: Shelves) -> Iterator[_Counted]:
    """Read the counts of the products asked for."""
    products = {each.id: each for each in shelves.products}
    for line in shelves.lines.values():
        if not isinstance(line.entry, Count) or line.entry.product not in products:
            continue
        product, priced = products[line.entry.product], line.priced
        if priced is None or priced.quantity is None:
            continue
        # What stock became is what was counted, in the unit and by the density of that day.
        left = [m for m in shelves.movements(product.id) if m.entry.source == line.id]
        counted = (
            left[0].entry.on_hand
            if left
            else in_stock_unit(line.entry.counted, product.entry).number
        )
        yield _Counted(product, line, counted, priced.quantity.number, priced.cost)


def _each(counts: list[_Counted]) -> Table:
    """One row a count, reversed ones marked."""
    rows = tuple(
        (c.month, c.line.ref, c.product.entry.name, c.product.entry.unit, c.book, c.counted,
         c.missing.copy_negate() if c.missing else c.missing,
         verdict(c.book, c.counted, c.product.entry.unit).value, _reason(c.line))
        for c in counts
    )  # fmt: skip
    columns = (
        Column("month", "Month"),
        Column("line", "Line"),
        Column("product", "Product"),
        Column("unit", "Unit"),
        Column("book", "Book", _NUMBER),
        Column("counted", "Found", _NUMBER),
        Column("difference", "Differs", _NUMBER),
        Column("tolerance", "Tolerance"),
        Column("reason", "Reason"),
    )
    note = _RULE if rows else "Nothing was counted yet."
    return Table("Counts", columns, rows, note)


def _reason(line: Stored[Count]) -> str:
    """Give why the count differs and how it was made."""
    words = f"{line.entry.words or 'no reason kept'} ({measured_how(line)})"
    return words if line.reversed_by is None else f"{words}; taken back"


def _by_month(shelves: Shelves, counts: list[_Counted]) -> Table:
    """One row a product and month: what counts found missing against what was issued."""
    groups: dict[tuple[str, str], list[_Counted]] = {}
    for each in counts:
        if each.line.reversed_by is None:
            groups.setdefault((each.product.id, each.month), []).append(each)
    rows = []
    for (product_id, month), found in groups.items():
        missing = added(each.missing for each in found)
        issued = _issued(shelves, product_id, month)
        cost = total((each.cost for each in found), shelves.settings.currency)
        product = found[0].product
        rows.append((product.ref, product.entry.name, month, product.entry.unit, missing, issued,
                     share_of(missing, issued), cost))  # fmt: skip
    columns = (
        Column("ref", "Ref"),
        Column("product", "Product"),
        Column("month", "Month"),
        Column("unit", "Unit"),
        Column("missing", "Missing", _NUMBER),
        Column("issued", "Issued", _NUMBER),
        Column("share", "Of issued", CellKind.PERCENT),
        Column("cost", "Cost", _MONEY),
    )
    note = (
        "Missing is what counts found less than the book said; below zero they found more. "
        "Issued is what lines of that month took out, without waste and what was taken back."
        if rows
        else "No count stands."
    )
    return Table("Unrecorded use by product and month", columns, tuple(rows), note)


def _issued(shelves: Shelves, product: str, month: str) -> Decimal:
    """Add up what standing lines used in a month."""
    return added(
        moved.entry.quantity
        for moved in shelves.movements(product)
        if moved.entry.flow is Flow.ISSUED
        and moved.entry.moved_on.isoformat().startswith(month)
        and shelves.stands(moved)
    )
