"""The shop's own record: rework by cause, and what operations took beside their estimates."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from recondition.amounts.money import total
from recondition.amounts.rounding import round_to
from recondition.book import Connection, questions, reading
from recondition.book.kinds import LINE_KINDS
from recondition.ledger.drafts import Stored
from recondition.ledger.rework import Again, Sum, by_cause, by_payer, done_again
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.operations import Range, amounts, operations

_MONEY, _NUMBER, _COUNT = CellKind.MONEY, CellKind.NUMBER, CellKind.INTEGER


def _lines(conn: Connection, refs: tuple[str, ...]) -> list[Stored[Any]]:
    """Read the lines of the vehicles named, or of the whole shop. Raises NotThere."""
    named = [vehicle.id for vehicle in questions.vehicles(conn, refs)] if refs else [None]
    found = [line for vehicle in named for line in reading.lines(conn, vehicle)]
    return sorted(found, key=lambda line: (line.recorded_at, line.sequence))


def _hours(exact: Fraction) -> Decimal:
    """Give hours to two decimals."""
    return round_to(exact, 2)


def rework_tables(conn: Connection, refs: tuple[str, ...]) -> tuple[str, tuple[Table, ...]]:
    """Say in a sentence, and show in tables, what was done again and why."""
    currency = reading.settings_of(conn).currency
    found = done_again(_lines(conn, refs), currency)
    if not found:
        return "No rework is on record. A line that names the line it does again counts here.", ()
    hours = sum((again.hours for again in found), Fraction(0))
    cost = total((again.cost for again in found), currency)
    counted = "1 line does" if len(found) == 1 else f"{len(found)} lines do"
    words = f"{counted} work again: {_hours(hours)} hands-on hours, {cost.grouped} {currency}."
    return words, (
        _sums("Rework by cause", "Cause", by_cause(found, currency)),
        _sums("Rework by who pays", "Who pays", by_payer(found, currency)),
        _each(conn, found),
    )


def _sums(title: str, heading: str, sums: Iterable[Sum]) -> Table:
    """Show rework added up by one of its keys."""
    columns = (
        Column("key", heading),
        Column("lines", "Lines", _COUNT),
        Column("hours", "Hands-on hours", _NUMBER),
        Column("cost", "Cost", _MONEY),
        Column("billed", "Billed", _MONEY),
    )
    rows = [(s.key.value, s.lines, _hours(s.hours), s.cost, s.billed) for s in sums]
    return Table(title, columns, tuple(rows))


def _each(conn: Connection, found: tuple[Again, ...]) -> Table:
    """List the lines of rework, each with the line whose work it does again."""
    refs = reading.refs_by_id(conn, ("vehicle", "document", *LINE_KINDS))
    columns = (
        Column("line", "Line"),
        Column("vehicle", "Vehicle"),
        Column("day", "Day", CellKind.DATE),
        Column("again", "Does again"),
        Column("words", "What"),
        Column("cause", "Cause"),
        Column("payer", "Who pays"),
        Column("documents", "Documents"),
        Column("hours", "Hours", _NUMBER),
        Column("cost", "Cost", _MONEY),
    )
    rows: list[tuple[Cell, ...]] = []
    for again in found:
        entry: Any = again.line.entry
        rows.append(
            (again.line.ref, refs.get(entry.vehicle or "", ""), entry.work_date,
             refs[again.rework.of], entry.words, again.rework.cause.value,
             again.rework.payer.value, ", ".join(refs[each] for each in entry.documents),
             _hours(again.hours) if again.hours else None, again.cost)
        )  # fmt: skip
    return Table("Rework, line by line", columns, tuple(rows))


def operation_tables(conn: Connection, refs: tuple[str, ...]) -> tuple[str, tuple[Table, ...]]:
    """Say and show what operations took, beside what was estimated."""
    lines = _lines(conn, refs)
    candidates = {item.id: item.entry for item in reading.stored(conn, "candidate")}
    named = reading.refs_by_id(conn, LINE_KINDS)
    rows = [
        (each.name, f"n = {each.actual.n}", _three(each.actual),
         _three(each.estimated) if each.estimated else "",
         f"{each.inside} of {each.estimated.n}" if each.estimated else "",
         ", ".join(named[line] for line in each.lines))
        for each in operations(lines, candidates)
    ]  # fmt: skip
    columns = (
        Column("operation", "Operation"),
        Column("jobs", "Jobs"),
        Column("hours", "Hours low/middle/high"),
        Column("likely", "Estimated low/middle/high"),
        Column("inside", "Inside its range"),
        Column("lines", "Lines"),
    )
    note = (
        "Hands-on hours of whole jobs: low, middle and high are the smallest, the median and the "
        "largest on record; estimated are the likely figures. Rework, lost work, and hours that "
        "were assumed are left out. An estimate stands beside them where no other operation "
        "served the same candidate work."
    )
    tables = [Table("Hours by operation", columns, tuple(rows), note)]
    used = _amounts(conn, lines, named)
    if used.rows:
        tables.append(used)
    if not rows:
        words = "No labour that counts names its operation yet; with it, what work takes adds up."
        return words, tuple(tables[1:])
    counted = "1 operation is" if len(rows) == 1 else f"{len(rows)} operations are"
    return f"{counted} on record, by what the work took.", tuple(tables)


def _three(found: Range) -> str:
    """Write low/middle/high to two decimals, as estimates are typed; one figure of one job."""
    points = (found.low,) if found.n == 1 else (found.low, found.middle, found.high)
    return "/".join(f"{_hours(point).normalize():f}" for point in points)


def _amounts(conn: Connection, lines: list[Stored[Any]], named: dict[str, str]) -> Table:
    """Show what jobs used of each product, measured or counted."""
    products = {item.id: item for item in reading.stored(conn, "product")}

    def amount_of(line: Stored[Any]) -> Fraction | None:
        priced, entry = line.priced, line.entry
        if priced is not None and priced.quantity is not None:
            return Fraction(priced.quantity.number)
        unit = products[entry.product].entry.unit
        same = entry.quantity is not None and entry.quantity.unit == unit
        return Fraction(entry.quantity.number) if same else None

    rows = [
        (each.name, products[each.product].ref, f"n = {each.used.n}",
         f"{_three(each.used)} {products[each.product].entry.unit}",
         ", ".join(named[line] for line in each.lines))
        for each in amounts(lines, amount_of)
    ]  # fmt: skip
    columns = (
        Column("operation", "Operation"),
        Column("product", "Product"),
        Column("jobs", "Jobs"),
        Column("used", "Used, low/middle/high"),
        Column("lines", "Lines"),
    )
    return Table(
        "Amounts by operation and product", columns, tuple(rows),
        "Measured or counted; assumed and wasted amounts are left out.",
    )  # fmt: skip
