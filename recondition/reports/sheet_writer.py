"""Writing one sheet of a workbook: real numbers and dates, text that stays text.

Text is stored as a string, never as a formula, with the quote prefix where it begins like
one (the list of first characters is OWASP's, CSV Injection). Control characters become
U+FFFD. Text beyond the format's 32,767 characters is cut with a visible mark and counted.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties

from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.reports.cells import visible
from recondition.reports.plain import FORMULA_STARTS

if TYPE_CHECKING:
    from openpyxl.cell import Cell, MergedCell
    from openpyxl.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

TEXT_MAX = 32_767
DIGITS_MAX = 10**15
CUT_MARK = " [cut: the text is longer than a cell holds]"
INK = "0F4C5C"
COLUMNS_PER_PAGE = 16
WRAPPED_FROM = 60
_TEXT_PLACE = Alignment(wrap_text=True, vertical="top")
_NUMBER_PLACE = Alignment(wrap_text=True, vertical="top", horizontal="right")
_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_HEADING = Font(bold=True, color=INK)
_RULE = Border(bottom=Side(style="thin", color=INK))


@dataclass(frozen=True, slots=True)
class Formula:
    """A live formula, as the spreadsheet writes it, with its number format."""

    text: str
    number_format: str


@dataclass(slots=True)
class Counted:
    """What had to be changed in texts while writing; the notes sheet says so."""

    cut: int = 0
    long_amounts: int = 0
    replaced: int = 0


def money_format(currency: str) -> str:
    """Give the number format of a currency: its own count of decimals, grouped."""
    digits = minor_digits(currency)
    return "#,##0" + ("." + "0" * digits if digits else "")


def clean(text: str, counted: Counted) -> str:
    """Make a text fit for a cell, counting what was changed."""
    shown = visible(text).replace("\r\n", "\n").replace("\r", "\n")
    counted.replaced += shown != text
    # The format reads _x0041_ as the letter A (ECMA-376, ST_Xstring): escape the first mark.
    shown = _ESCAPE.sub(r"_x005F\g<0>", shown)
    if len(shown) > TEXT_MAX:
        counted.cut += 1
        shown = shown[: TEXT_MAX - len(CUT_MARK)] + CUT_MARK
    return shown


def put(cell: Cell | MergedCell, value: Any, counted: Counted) -> None:  # noqa: ANN401 - a cell of any kind
    """Write one value into a cell, with the format that its type asks for."""
    match value:
        case None:
            return
        case Formula():
            cell.value = value.text
            cell.number_format = value.number_format
        case Money():
            # openpyxl writes a Decimal's own digits; rounding what a reader gets back to the
            # currency's decimals gives the exact minor units.
            cell.value = value.number
            counted.long_amounts += abs(value.minor) >= DIGITS_MAX
            cell.number_format = money_format(value.currency)
        case Decimal() | int():
            cell.value = value
            cell.number_format = "General"
        case date():
            cell.value = value
            cell.number_format = "yyyy-mm-dd"
        case _:
            text = clean(str(value), counted)
            cell.value = text
            cell.data_type = "s"
            cell.number_format = "@"
            if len(text) > WRAPPED_FROM:
                cell.alignment = _TEXT_PLACE
            if text.startswith(FORMULA_STARTS):
                # openpyxl offers no setter for the quote prefix of a cell.
                cell._style.quotePrefix = 1  # type: ignore[union-attr]  # noqa: SLF001


def write_sheet(
    book: Workbook,
    name: str,
    headings: Sequence[str],
    rows: Iterable[Sequence[Any]],
    counted: Counted,
) -> Worksheet:
    """Write a sheet of data: frozen headings, a filter, widths by content, nothing merged."""
    sheet: Worksheet = book.create_sheet(name)
    widths = [len(heading) for heading in headings]
    for place, heading in enumerate(headings, start=1):
        cell = sheet.cell(1, place)
        put(cell, heading, counted)
        cell.font, cell.border = _HEADING, _RULE
        cell.alignment = _TEXT_PLACE
    last = 1
    for last, row in enumerate(rows, start=2):
        for place, value in enumerate(row, start=1):
            put(sheet.cell(last, place), value, counted)
            if isinstance(value, Money | Decimal | int | Formula):
                sheet.cell(1, place).alignment = _NUMBER_PLACE
            widths[place - 1] = max(widths[place - 1], _shown_width(value))
    for place, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = min(max(width, 8), 44) + 2
    sheet.freeze_panes = "B2"
    sheet.page_setup.orientation = "landscape"
    sheet.print_title_rows = "1:1"
    if len(headings) <= COLUMNS_PER_PAGE:
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(headings))}{last}"
    return sheet


def _shown_width(value: Any) -> int:  # noqa: ANN401 - a cell of any kind
    """Guess how wide a value is drawn, in characters."""
    if isinstance(value, Formula):
        return 14
    if isinstance(value, Money):
        return len(value.grouped)
    return max((len(line) for line in str(value).splitlines()), default=0) if value else 0
