"""How one cell reads, the same in the terminal, on a page and in a file."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

from recondition.amounts import Money
from recondition.reports.table import Cell, CellKind, Column, Table

# Control characters (a terminal obeys them, XML forbids most), lone halves of surrogate
# pairs and the two non-characters XML forbids. Tab and line ends are text.
_UNSHOWABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
REPLACEMENT = "\ufffd"
NOTHING = "\u2013"


def visible(text: str) -> str:
    """Put U+FFFD, the replacement character, where a character cannot be shown."""
    return _UNSHOWABLE.sub(REPLACEMENT, text)


def plain(number: Decimal) -> str:
    """Write a number exactly, without exponent and without trailing zeros."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def shown(cell: Cell, kind: CellKind, currency: str | None) -> str:
    """Write a cell for people. Money that is not in the column's ``currency`` names its own."""
    match cell:
        case None:
            return NOTHING
        case Money():
            return cell.grouped if cell.currency == currency else f"{cell.grouped} {cell.currency}"
        case Decimal():
            return f"{plain(cell * 100)} %" if kind is CellKind.PERCENT else plain(cell)
        case date():
            return cell.isoformat()
        case _:
            return visible(str(cell))


def currencies(table: Table) -> tuple[str | None, ...]:
    """Give each money column's one currency; None for other columns and for mixed ones."""
    cells = [[row[place] for row in table.all_rows] for place in range(len(table.columns))]
    found = [{cell.currency for cell in column if isinstance(cell, Money)} for column in cells]
    return tuple(codes.pop() if len(codes) == 1 else None for codes in found)


def headings(table: Table) -> tuple[str, ...]:
    """Give the headings; a money column's names its currency (one currency per column)."""
    pairs = zip(table.columns, currencies(table), strict=True)
    return tuple(_heading(column, code) for column, code in pairs)


def _heading(column: Column, code: str | None) -> str:
    return f"{column.heading}, {code}" if code else column.heading


def shown_rows(table: Table) -> tuple[tuple[str, ...], ...]:
    """Write every row for people, the total last."""
    codes = currencies(table)
    return tuple(
        tuple(
            shown(cell, column.kind, code)
            for cell, column, code in zip(row, table.columns, codes, strict=True)
        )
        for row in table.all_rows
    )
