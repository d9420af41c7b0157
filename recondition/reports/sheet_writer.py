"""Writing one sheet of a workbook: real numbers and dates, text that stays text.

Rows are written one after another and never held, so a sheet of any length takes the same
memory. Text is stored as a string, never as a formula, with the quote prefix where it begins
like one (the list of first characters is OWASP's, CSV Injection). Control characters become
U+FFFD. Text beyond the format's 32,767 characters is cut with a visible mark and counted.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import chain, islice
from typing import TYPE_CHECKING, Any

from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties

from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.reports.cells import visible
from recondition.reports.plain import FORMULA_STARTS

if TYPE_CHECKING:
    from openpyxl.cell import Cell
    from openpyxl.workbook import Workbook

Sheet = Any  # a write-only sheet; what it takes over from others is not in its type stub

TEXT_MAX = 32_767
DIGITS_MAX = 10**15
CUT_MARK = " [cut: the text is longer than a cell holds]"
INK = "0F4C5C"
COLUMNS_PER_PAGE = 16
LOOKED_AT = 200
_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
# What a text must not hold to be written as it is; a leading # may be read as an error.
_ODD = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]|_x|^[=+@#\t\n\uff1d\uff0b\uff0d\uff20-]"
)
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


def three(value: Money, formula: str, row: int, first: int) -> tuple[Any, ...]:
    """Give a control total's three cells: book value, live formula, difference."""
    look = money_format(value.currency)
    digits = minor_digits(value.currency)
    book, there = get_column_letter(first), get_column_letter(first + 1)
    return (
        value,
        Formula(f"=ROUND({formula},{digits})", look),
        Formula(f"=ROUND({book}{row}-{there}{row},{digits})", look),
    )


class _Column:
    """One column of a sheet; a styled cell of it is filled anew for each row.

    That is safe since a row is written as soon as it is appended.
    """

    def __init__(self, sheet: Sheet, counted: Counted) -> None:
        """Begin with no cell of its own."""
        self._sheet = sheet
        self._counted = counted
        self._styled: dict[str, Cell] = {}

    def of(self, value: Any) -> Any:  # noqa: ANN401 - one arm a kind of value
        """Give what is to be appended for a value."""
        kind = type(value)
        if kind is str:
            odd = len(value) > TEXT_MAX or _ODD.search(value)
            return self._text(value) if odd else value
        if value is None or kind is int or kind is Decimal or kind is date:
            return value
        if kind is Money:
            # openpyxl writes a Decimal's own digits; rounding what a reader gets back to the
            # currency's decimals gives the exact minor units.
            self._counted.long_amounts += abs(value.minor) >= DIGITS_MAX
            return self._number(value.number, value.currency)
        if kind is Formula:
            cell = self._cell(value.number_format)
            cell.value, cell.number_format = value.text, value.number_format
            return cell
        return value if isinstance(value, int | date) else self._text(str(value))

    def _cell(self, key: str) -> Cell:
        """Give the cell of this column that has a certain look."""
        found = self._styled.get(key)
        if found is None:
            found = self._styled[key] = WriteOnlyCell(self._sheet)
        return found

    def _number(self, number: Decimal, currency: str) -> Cell:
        """Give an amount with its currency's decimals."""
        cell = self._styled.get(currency)
        if cell is None:
            cell = self._cell(currency)
            cell.number_format = money_format(currency)
        cell.value = number
        return cell

    def _text(self, text: str) -> Any:  # noqa: ANN401 - a cell or a plain text
        """Give a text that needs care: cleaned, wrapped, marked as text."""
        shown = clean(text, self._counted)
        starts = text.startswith(FORMULA_STARTS)
        if not starts and not shown.startswith("#"):
            return shown
        key = f"text {starts}"
        made = key not in self._styled
        cell = self._cell(key)
        if made:
            cell.number_format = "@"
            if starts:
                # openpyxl offers no setter for the quote prefix of a cell.
                cell._style.quotePrefix = 1  # type: ignore[attr-defined]  # noqa: SLF001
        cell.value = shown
        cell.data_type = "s"
        return cell


def abandon(book: Workbook) -> None:
    """Close what is still open of a workbook that was not saved, and remove its working files."""
    for sheet in book.worksheets:
        made: Sheet = sheet
        with suppress(Exception):  # half-written sheets cannot be closed well
            made.close()
        with suppress(Exception):
            made._writer.cleanup()  # noqa: SLF001 - the library offers no other way


def write_sheet(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Workbook,
    name: str,
    headings: Sequence[str],
    rows: Iterable[Sequence[Any]],
    counted: Counted,
    *,
    widest: int = 44,
) -> int:
    """Write a sheet of data into a write-only workbook; give how many rows it has.

    Headings are frozen and have a filter; widths go by the first rows, up to ``widest`` signs;
    nothing is merged.
    """
    sheet: Sheet = book.create_sheet(name)
    waiting = iter(rows)
    first = list(islice(waiting, LOOKED_AT))
    _lay_out(sheet, headings, first, widest)
    columns = [_Column(sheet, counted) for _ in headings]
    sheet.append(list(_headings(sheet, headings, first, counted)))
    count = 0
    for row in chain(first, waiting):
        count += 1
        sheet.append([column.of(value) for column, value in zip(columns, row, strict=True)])
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(headings))}{count + 1}"
    return count


def _headings(
    sheet: Sheet, headings: Sequence[str], first: list[Sequence[Any]], counted: Counted
) -> Iterator[Cell]:
    """Give the heading row; over numbers it stands on the right."""
    for place, heading in enumerate(headings):
        cell = WriteOnlyCell(sheet, clean(heading, counted))
        right = any(isinstance(row[place], Money | Decimal | int | Formula) for row in first)
        cell.font, cell.border = _HEADING, _RULE
        cell.alignment = Alignment(
            wrap_text=True, vertical="top", horizontal="right" if right else None
        )
        yield cell


def _lay_out(
    sheet: Sheet, headings: Sequence[str], first: list[Sequence[Any]], widest: int
) -> None:  # fmt: skip
    """Set what stands before the rows: widths, frozen headings, the printed page."""
    for place, heading in enumerate(headings):
        width = max(len(heading), *(_shown_width(row[place]) for row in first), 8)
        letter = get_column_letter(place + 1)
        sheet.column_dimensions[letter].width = min(width, widest) + 2
    sheet.freeze_panes = "B2"
    sheet.page_setup.orientation = "landscape"
    sheet.print_title_rows = "1:1"
    if len(headings) <= COLUMNS_PER_PAGE:
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _shown_width(value: Any) -> int:  # noqa: ANN401 - a cell of any kind
    """Guess how wide a value is drawn, in characters."""
    if isinstance(value, Formula):
        return 14
    if isinstance(value, Money):
        return len(value.grouped)
    return max((len(line) for line in str(value).splitlines()), default=0) if value else 0
