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
from functools import cache
from itertools import chain, islice
from typing import TYPE_CHECKING, Any

from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties

from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.reports.cells import visible
from recondition.reports.plain import FORMULA_STARTS

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

Sheet = Any  # a write-only sheet; what it takes over from others is not in its type stub

TEXT_MAX = 32_767
DIGITS_MAX = 10**15
QUOTED = "quoted"
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


@cache
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


_STYLE_OF: Any = Cell.style_id


class _Cell(Cell):
    """A cell whose style is looked up once, not for each row."""

    __slots__ = ("known",)

    known: int

    @property
    def style_id(self) -> int:
        """The number of its style in the workbook."""
        return self.known


class _Column:
    """One column of a sheet: a plain cell and one for each look, filled anew for each row.

    That is safe since a row is written as soon as it is appended. Setting value and type of a
    cell directly spares the library's guess at what a value is, half of its time.
    """

    def __init__(self, sheet: Sheet, place: int, counted: Counted) -> None:
        """Begin with a plain cell."""
        self._sheet = sheet
        self._place = place
        self._counted = counted
        self._plain = self._made()
        self._styled: dict[str, Any] = {}

    def _made(self) -> _Cell:
        """Make a cell of this column."""
        make: Any = _Cell  # the stub asks for row and column, which come later
        cell: _Cell = make(self._sheet)
        cell.column = self._place
        return cell

    def of(self, value: Any) -> Any:  # noqa: ANN401, PLR0911 - one arm a kind of value
        """Give the cell that holds a value, which is there."""
        kind = type(value)
        if kind is str:
            if len(value) > TEXT_MAX or _ODD.search(value):
                return self._text(value)
            return _filled(self._plain, value, "s")
        if kind is Money:
            # openpyxl writes a Decimal's own digits; rounding what a reader gets back to the
            # currency's decimals gives the exact minor units.
            self._counted.long_amounts += abs(value.minor) >= DIGITS_MAX
            look = money_format(value.currency)
            return _filled(self._cell(look, look), value.number, "n")
        if kind is int or kind is Decimal:
            return _filled(self._plain, value, "n")
        if kind is date:
            return _filled(self._cell("date", "yyyy-mm-dd"), value, "d")
        if kind is Formula:
            return _filled(self._cell(f"live {value.number_format}", value.number_format),
                           value.text, "f")  # fmt: skip
        return self._text(str(value))

    def _cell(self, key: str, look: str) -> Any:  # noqa: ANN401 - as above
        """Give the cell of this column that has a certain number format."""
        found = self._styled.get(key)
        if found is None:
            found = self._styled[key] = self._made()
            found.number_format = look
            if key == QUOTED:
                # openpyxl offers no setter for the quote prefix of a cell.
                style: Any = found
                style._style.quotePrefix = 1  # noqa: SLF001
            found.known = _STYLE_OF.fget(found)
        return found

    def _text(self, text: str) -> Any:  # noqa: ANN401 - as above
        """Give a text that needs care: cleaned, and marked as text where it looks like more."""
        shown = clean(text, self._counted)
        if not text.startswith(FORMULA_STARTS):
            return _filled(self._plain, shown, "s")
        return _filled(self._cell(QUOTED, "@"), shown, "s")


def _filled(cell: Any, value: Any, kind: str) -> Any:  # noqa: ANN401 - as above
    """Put a value of a known type into a cell."""
    cell._value = value  # noqa: SLF001 - the setter would guess the type
    cell.data_type = kind
    return cell


class _Rows:
    """Turns values into the cells of a row, in place of the library's own guessing."""

    def __init__(self, columns: Sequence[_Column]) -> None:
        """Take the columns in their order."""
        self._columns = columns

    def __call__(self, values: Sequence[Any], row: int) -> Iterator[Any]:
        """Give the cells of one row; what is empty is left out."""
        for column, value in zip(self._columns, values, strict=True):
            if value is not None:
                cell = column.of(value)
                cell.row = row
                yield cell


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
    sheet.append(list(_headings(sheet, headings, first, counted)))
    columns = [_Column(sheet, place, counted) for place in range(1, len(headings) + 1)]
    sheet._values_to_row = _Rows(columns)  # noqa: SLF001 - see _Column
    count = 0
    for row in chain(first, waiting):
        count += 1
        sheet.append(row if isinstance(row, list | tuple) else list(row))
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
