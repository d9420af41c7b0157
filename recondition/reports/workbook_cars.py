"""The workbook's sheets of cars: totals by purpose, invoices, estimates, findings and shares."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from openpyxl.utils import get_column_letter

from recondition.amounts import Money
from recondition.amounts.rounding import round_to
from recondition.book import Connection, reading, sums
from recondition.book.line_rows import COLUMNS
from recondition.book.scope import Scope
from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.vehicle import Holding
from recondition.ledger.lines import Purpose
from recondition.reports.books_bought import invoices
from recondition.reports.sheet_writer import three
from recondition.reports.table import Table

SheetRows = tuple[str, tuple[str, ...], Iterator[tuple[Any, ...]]]
VEHICLES, INVOICES, ESTIMATES = "vehicles", "invoices", "estimates"
FINDINGS, SHARES = "findings", "shares"
_LINES = "lines"
_STOCK, _PURPOSE, _AMOUNT, _BILLED = (
    get_column_letter(COLUMNS.index(name) + 1)
    for name in ("stock_no", "purpose", "amount_home", "billed")
)
_POINTS = ("low", "likely", "high")


class Cars:
    """Gives the sheets of cars for a scope; ``lines`` is how many rows the lines sheet has."""

    def __init__(self, conn: Connection, scope: Scope, lines: int) -> None:
        """Read what several sheets share."""
        self._conn = conn
        self._scope = scope
        self._last = max(lines + 1, 2)
        self._currency = reading.settings_of(conn).currency
        self._refs = reading.refs_by_id(conn, ("vehicle", "finding", "candidate"))
        vehicles = reading.stored(conn, "vehicle")
        self._vehicles = sorted(
            (item for item in vehicles if scope.vehicle in (None, item.id)),
            key=lambda item: item.ref,
        )

    def sheets(self) -> Iterator[SheetRows]:
        """Give each sheet: its name, headings and rows."""
        yield VEHICLES, self._vehicle_headings(), self._vehicle_rows()
        yield self._invoice_sheet()
        yield ESTIMATES, ESTIMATE_HEADINGS, self._estimates()
        yield FINDINGS, _FINDING_HEADINGS, self._findings()
        yield SHARES, _SHARE_HEADINGS, self._shares()

    def _by_car(self, kind: str) -> list[Any]:
        """List records of a kind, car by car."""
        found = reading.stored(self._conn, kind)
        return sorted(found, key=lambda item: (self._refs[item.entry.vehicle], item.sequence))

    def _vehicle_headings(self) -> tuple[str, ...]:
        """Name the columns of the vehicles sheet."""
        names = [purpose.value for purpose in Purpose] + ["all cost", "billed"]
        totals = [f"{name}, {cell}" for name in names for cell in ("book", "live", "difference")]
        return ("stock_no", "vehicle", "own_or_consigned", "lines", "currency", *totals)

    def _vehicle_rows(self) -> Iterator[tuple[Any, ...]]:
        """Give one row a vehicle, and one for the shop's own costs where it has any."""
        found: dict[str | None, dict[str, sums.Summed]] = {}
        for each in sums.by_vehicle_and_purpose(self._conn, exactly=self._scope.period):
            found.setdefault(each.vehicle, {})[each.purpose] = each
        rows: list[tuple[str | None, str, str, bool | None]] = [
            (item.id, item.ref, item.entry.designation, item.entry.holding is Holding.CONSIGNED)
            for item in self._vehicles
        ]
        if self._scope.vehicle is None and None in found:
            rows.append((None, sums.THE_SHOP, "the shop's own", None))
        for row, (key, ref, words, consigned) in enumerate(rows, start=2):
            purposes = found.get(key, {})
            holding = None if consigned is None else Holding.CONSIGNED if consigned else Holding.OWN
            yield (
                ref, words, holding.value if holding else None,
                sum(each.lines for each in purposes.values()), self._currency,
                *self._totals(purposes, row),
            )  # fmt: skip

    def _totals(self, purposes: dict[str, sums.Summed], row: int) -> list[Any]:
        """Give the control totals of one vehicle by purpose, of all cost and of what is billed."""
        wanted: list[tuple[int, str, str | None]] = [
            (purposes[p].cost if p in purposes else 0, _AMOUNT, p.value) for p in Purpose
        ]
        wanted.append((sum(each.cost for each in purposes.values()), _AMOUNT, None))
        wanted.append((sum(each.billed for each in purposes.values()), _BILLED, None))
        cells: list[Any] = []
        for minor, column, purpose in wanted:
            formula = _conditional(column, self._last, row, purpose)
            cells += three(Money(minor, self._currency), formula, row, 6 + len(cells))
        return cells

    def _invoice_sheet(self) -> SheetRows:
        """Give supplier invoices against their lines."""
        stock = tuple(item.ref for item in self._vehicles) if self._scope.vehicle else ()
        table = invoices(self._conn, stock, self._scope.period)[0]
        return INVOICES, (*(column.heading for column in table.columns), "currency"), (
            (*row, self._currency) for row in _cells(table)
        )  # fmt: skip

    def _estimates(self) -> Iterator[tuple[Any, ...]]:
        """Give each piece of candidate work: what was estimated and what its lines came to."""
        actual = sums.by_candidate(self._conn)
        cars = {item.id for item in self._vehicles}
        for item in self._by_car("candidate"):
            work = item.entry
            if work.vehicle not in cars:
                continue
            spent = actual.get(item.id)
            hours = Decimal(0) if spent is None else round_to(spent.hours, 2)
            yield (
                item.ref, self._refs[work.vehicle], work.name, work.state.value,
                *(getattr(work.hours, point) for point in _POINTS), hours,
                *(getattr(work.cash, point) for point in _POINTS),
                Money(spent.other if spent else 0, self._currency),
                Money(spent.cost if spent else 0, self._currency),
                spent.lines if spent else 0, self._currency,
            )  # fmt: skip

    def _findings(self) -> Iterator[tuple[Any, ...]]:
        """Give one row a finding, with how it ended and the cost of the lines that serve it."""
        endings = {item.entry.finding: item.entry for item in reading.stored(self._conn, "outcome")}
        costs = sums.by_finding(self._conn)
        cars = {item.id for item in self._vehicles}
        for item in self._by_car("finding"):
            found, ending = item.entry, endings.get(item.id)
            if found.vehicle not in cars:
                continue
            yield (
                item.ref, self._refs[found.vehicle], found.area.value, found.panel, found.defect,
                found.severity,
                None if found.severity is None else SEVERITY_WORDS[found.severity],
                found.found_on, ending.ended.value if ending else "open",
                ending.ended_on if ending else None, ending.severity_after if ending else None,
                Money(costs.get(item.id, 0), self._currency), self._currency,
            )  # fmt: skip

    def _shares(self) -> Iterator[tuple[Any, ...]]:
        """Give one row for each finding that a line serves."""
        for each in sums.shares(self._conn, self._scope):
            yield (
                each.line, each.finding, self._refs[each.vehicle], Decimal(each.weight),
                Money(each.cost, self._currency),
                None if each.billed is None else Money(each.billed, self._currency),
                self._currency,
            )  # fmt: skip


ESTIMATE_HEADINGS = (
    "work", "stock_no", "what it is", "state", "hours low", "hours likely", "hours high",
    "hours worked", "cash low", "cash likely", "cash high", "cost without labour", "all cost",
    "lines", "currency",
)  # fmt: skip
_FINDING_HEADINGS = (
    "finding", "stock_no", "area", "panel", "defect", "severity", "severity in words", "found",
    "ended", "ended on", "severity after", "cost", "currency",
)  # fmt: skip
_SHARE_HEADINGS = ("line_id", "finding", "stock_no", "weight", "cost", "billed", "currency")


def _cells(table: Table) -> Iterable[tuple[Any, ...]]:
    """Give the rows of a table as they are: a workbook writes money and days itself."""
    return table.rows


def _conditional(column: str, last: int, row: int, purpose: str | None) -> str:
    """Write the sum of a column over the lines of this row's vehicle.

    EXACT compares stock numbers as the texts they are: SUMIFS would take "0007" for 7, and
    the equals sign "a7" for "A7".
    """
    same = f"EXACT({_LINES}!${_STOCK}$2:${_STOCK}${last},$A{row})"
    kind = f'*({_LINES}!${_PURPOSE}$2:${_PURPOSE}${last}="{purpose}")' if purpose else ""
    return f"SUMPRODUCT({same}{kind}*{_LINES}!${column}$2:${column}${last})"
