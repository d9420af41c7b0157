"""Tables for machines: CSV (RFC 4180) and JSON. Totals stay out: they are not data."""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.reports.cells import currencies, headings, plain

if TYPE_CHECKING:
    from recondition.reports.table import Cell, Table

# OWASP, CSV Injection: a text that begins with one of these may be run as a formula. The
# four wide forms that some spreadsheets accept as well are from memory.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")

Json = str | int | dict[str, str] | None


def defused(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet might run as a formula."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def to_csv(table: Table) -> str:
    """Write comma-separated values: every field quoted, lines ended by CR LF.

    Money and numbers are plain (``-12.30``), dates ISO 8601, nothing is empty. Texts are
    defused; numbers are not, so a negative amount stays a number.
    """
    file = io.StringIO()
    writer = csv.writer(file, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    codes = currencies(table)
    writer.writerow(defused(heading) for heading in headings(table))
    for row in table.rows:
        writer.writerow(_field(cell, code) for cell, code in zip(row, codes, strict=True))
    return file.getvalue()


def _field(cell: Cell, code: str | None) -> str:
    match cell:
        case None:
            return ""
        case Money():
            return str(cell) if cell.currency == code else cell.text
        case Decimal():
            return plain(cell)
        case date():
            return cell.isoformat()
        case int():
            return str(cell)
        case _:
            return defused(cell)


def to_json(table: Table) -> list[dict[str, Json]]:
    """Give one object a row, by column key. Money is ``{"amount": "12.30", "currency": …}``.

    Numbers are strings too, so that no reader passes them through a binary float; counts
    are integers.
    """
    keys = [column.key for column in table.columns]
    return [dict(zip(keys, map(_value, row), strict=True)) for row in table.rows]


def _value(cell: Cell) -> Json:
    match cell:
        case Money():
            return {"amount": str(cell), "currency": cell.currency}
        case Decimal():
            return plain(cell)
        case date():
            return cell.isoformat()
        case _:
            return cell
