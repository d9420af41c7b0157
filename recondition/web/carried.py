"""What goes from a process that works to the pages: tables and refusals as plain values."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money
from recondition.reports.table import Cell, CellKind, Column, Table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Plain = dict[str, Any]


def plain_table(table: Table) -> Plain:
    """Write a table with texts, lists and None alone, so that nothing of it is lost."""
    return {
        "title": table.title,
        "columns": [[each.key, each.heading, each.kind.value] for each in table.columns],
        "rows": [[_plain(cell) for cell in row] for row in table.rows],
        "note": table.note,
        "total": None if table.total is None else [_plain(cell) for cell in table.total],
    }


def table_of(plain: Mapping[str, Any]) -> Table:
    """Read a table back that ``plain_table`` wrote."""
    columns = tuple(Column(key, heading, CellKind(kind)) for key, heading, kind in plain["columns"])
    total = plain["total"]
    return Table(
        plain["title"],
        columns,
        tuple(_row(columns, row) for row in plain["rows"]),
        plain["note"],
        None if total is None else _row(columns, total),
    )


def _row(columns: Sequence[Column], cells: Sequence[Any]) -> tuple[Cell, ...]:
    """Read the cells of one row back."""
    return tuple(_cell(column.kind, cell) for column, cell in zip(columns, cells, strict=True))


def _plain(cell: Cell) -> str | list[str] | None:
    """Write one cell."""
    match cell:
        case None:
            return None
        case Money():
            return [str(cell.minor), cell.currency]
        case date():
            return cell.isoformat()
    return str(cell)


def _cell(kind: CellKind, plain: Any) -> Cell:  # noqa: ANN401 - as it was carried
    """Read one cell back."""
    if plain is None:
        return None
    match kind:
        case CellKind.MONEY:
            return Money(int(plain[0]), plain[1])
        case CellKind.NUMBER | CellKind.PERCENT:
            return Decimal(plain)
        case CellKind.INTEGER:
            return int(plain)
        case CellKind.DATE:
            return date.fromisoformat(plain)
    return str(plain)
