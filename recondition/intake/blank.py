"""The empty workbook: every sheet with headings, lists, formats, and a page that explains."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from recondition.amounts.currencies import minor_digits
from recondition.book.reading import all_refs, settings_of
from recondition.condition.findings import SEVERITY_WORDS
from recondition.errors import Refused
from recondition.intake.blank_page import DARK, PAPER, RULE, panel_range, write_page
from recondition.intake.headings import letter
from recondition.intake.identity import next_ref
from recondition.intake.sheets import SHEETS
from recondition.intake.spec import ColumnSpec, Parse, Sheet

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.book.settings import Settings

ROWS_READY = 200

_AS_TEXT = frozenset(
    {Parse.CODE, Parse.NAME, Parse.REF, Parse.WORDS, Parse.MONTH, Parse.MOMENT, Parse.TO,
     Parse.TO_MANY, Parse.LINKS, Parse.TEXTS, Parse.FILE, Parse.TIERS, Parse.UNIT}
)  # fmt: skip
_WIDTHS = {Parse.WORDS: 34, Parse.CODE: 22, Parse.CHOICE: 20, Parse.LINKS: 22, Parse.TO_MANY: 18,
           Parse.REF: 9, Parse.TEXTS: 24, Parse.FILE: 26, Parse.SEVERITY: 10}  # fmt: skip
_WIDTH = 14
_PROMPT_LENGTH_MAX = 250


class FileThere(Refused):
    """A file lies already where the empty workbook is to be written."""

    exit_status = 2

    def __init__(self, path: Path) -> None:
        """Name the file."""
        super().__init__(
            f"There is a file at {path} already.",
            todo="Name another one; nothing is overwritten here.",
        )


class BlankNotWritten(Refused):
    """The system does not let the empty workbook be written."""

    def __init__(self, path: Path, error: OSError) -> None:
        """Name the file and what the system says."""
        super().__init__(
            f"The empty workbook cannot be written to {path}: {error.strerror or error}.",
            todo="Choose another place, or check rights and space.",
        )


class NotAWorkbookName(Refused):
    """A name for the empty workbook that does not end in .xlsx."""

    exit_status = 2

    def __init__(self, path: Path) -> None:
        """Name the file."""
        super().__init__(
            f"{path.name} is not the name of a workbook.",
            todo=f"Let it end in .xlsx, like {path.stem or 'shop'}.xlsx.",
        )


LISTED_MAX = 200  # signs of words; a cell's list holds 255 with its commas


def write_blank(
    path: Path, settings: Settings | None = None, first_refs: Mapping[str, str] | None = None,
    *, settings_on_it: bool = True,
) -> None:  # fmt: skip
    """Write the empty workbook to a new file.

    ``settings`` are put on their sheet, if they are to be ``settings_on_it``; ``first_refs``
    gives, by sheet, the first ref that is still free, so that a second workbook does not speak of
    the rows of the first. Raises FileThere, NotAWorkbookName, BlankNotWritten.
    """
    from openpyxl import Workbook  # noqa: PLC0415 - heavy, and only for workbooks

    if path.suffix.lower() != ".xlsx":
        raise NotAWorkbookName(path)
    _check_place(path)
    workbook = Workbook()
    workbook.properties.creator = "recondition"
    write_page(workbook.active)
    digits = 2 if settings is None else minor_digits(settings.currency)
    for sheet in SHEETS:
        page = workbook.create_sheet(sheet.name)
        _write_sheet(page, sheet, digits)
        if sheet.prefilled:
            first = (first_refs or {}).get(sheet.name, next_ref(sheet.ref_prefix, []))
            _prefill(page, sheet, first)
    if settings is not None and settings_on_it:
        _write_settings(workbook["settings"], settings)
    try:
        workbook.save(path)
    except OSError as error:
        raise BlankNotWritten(path, error) from error


def _check_place(path: Path) -> None:
    """Raise FileThere, or BlankNotWritten where the place cannot even be looked at."""
    try:
        if path.exists():
            raise FileThere(path)
    except OSError as error:
        raise BlankNotWritten(path, error) from error


def write_blank_for(book: Book, path: Path, *, settings_on_it: bool = True) -> None:
    """Write the empty workbook for a book: its settings, and refs that are still free.

    Without ``settings_on_it`` their sheet is empty, for somebody who may not enter them.
    """
    with book.reading() as conn:
        settings = settings_of(conn)
        first_refs = {
            sheet.name: next_ref(sheet.ref_prefix, all_refs(conn, sheet.kind))
            for sheet in SHEETS
            if sheet.prefilled
        }
    write_blank(path, settings, first_refs, settings_on_it=settings_on_it)


def _write_sheet(page: Any, sheet: Sheet, digits: int) -> None:  # noqa: ANN401 - openpyxl's sheet
    """Write the headings of one sheet with what helps to fill it."""
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side  # noqa: PLC0415

    for position, column in enumerate(sheet.columns):
        cell = page.cell(1, position + 1, heading(column))
        cell.font = Font(name="Calibri", bold=column.required, color=DARK)
        cell.fill = PatternFill("solid", start_color=PAPER)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.border = Border(bottom=Side("medium", color=RULE))
        dimension = page.column_dimensions[letter(position)]
        dimension.width = max(_WIDTHS.get(column.parse, _WIDTH), len(_longest_word(column)) + 3)
        dimension.number_format = number_format(column, digits)
        _help(page, column, letter(position))
    page.row_dimensions[1].height = 48
    page.freeze_panes = "B2"
    page.sheet_view.showGridLines = True
    page.page_setup.orientation = "landscape"
    page.page_setup.fitToHeight = 0
    page.sheet_properties.pageSetUpPr.fitToPage = True
    page.print_title_rows = "1:1"


def heading(column: ColumnSpec) -> str:
    """Give a heading as it stands in the workbook: a star marks what is needed."""
    return column.heading + (" *" if column.required else "")


def _longest_word(column: ColumnSpec) -> str:
    """Give the longest word of a heading: it is not to be broken."""
    return max(column.heading.split(), key=len)


def number_format(column: ColumnSpec, digits: int) -> str:
    """Give the number format of a column: text stays text, days are ISO days."""
    if column.parse in _AS_TEXT:
        return "@"
    if column.parse is Parse.DATE:
        return "yyyy-mm-dd"
    if column.parse is Parse.MONEY:
        return "#,##0." + "0" * digits if digits else "#,##0"
    return "General"


def choices(column: ColumnSpec) -> tuple[str, ...]:
    """Give the words of a column's drop-down list, none where it has none or too long a one."""
    if column.parse is Parse.YES_NO:
        return ("yes", "no")
    if column.parse is Parse.SEVERITY:
        return tuple(str(level) for level in range(len(SEVERITY_WORDS)))
    return column.choices if sum(map(len, column.choices)) < LISTED_MAX else ()


def _help(page: Any, column: ColumnSpec, at: str) -> None:  # noqa: ANN401 - openpyxl's sheet
    """Give a column its drop-down list and a note that shows when a cell is chosen."""
    from openpyxl.worksheet.datavalidation import DataValidation  # noqa: PLC0415

    listed = choices(column)
    if listed:
        check = DataValidation(
            type="list", formula1='"' + ",".join(listed) + '"', allow_blank=True, errorStyle="stop"
        )
        check.errorTitle, check.error = "Not on the list", "Choose one of the list, or leave it."
        check.showErrorMessage = True
    elif column.field == "panel":
        check = DataValidation(type="list", formula1=panel_range(), allow_blank=True)
        check.showErrorMessage = False
    else:
        check = DataValidation(allow_blank=True)
    check.promptTitle = column.heading[:32]
    check.prompt = _shortened(column)
    check.showInputMessage = True
    check.add(f"{at}2:{at}100000")
    page.add_data_validation(check)


def _shortened(column: ColumnSpec) -> str:
    """Give the help of a column in the length that a note can have, cut at a word."""
    example = f" Example: {column.example}" if column.example else ""
    text = column.help + "." + example
    if len(text) <= _PROMPT_LENGTH_MAX:
        return text
    return text[:_PROMPT_LENGTH_MAX].rpartition(" ")[0] + " ..."


def _prefill(page: Any, sheet: Sheet, first: str) -> None:  # noqa: ANN401 - openpyxl's sheet
    """Write the refs of the first rows, as text."""
    ref = first
    for row in range(2, ROWS_READY + 2):
        cell = page.cell(row, 1, ref)
        cell.number_format = "@"
        ref = next_ref(sheet.ref_prefix, [ref])


def _write_settings(page: Any, settings: Settings) -> None:  # noqa: ANN401 - openpyxl's sheet
    """Write the settings that are in force."""
    rows = (
        ("currency", settings.currency),
        ("shop name", settings.shop_name),
        ("date order", settings.date_order),
        ("decimal mark", settings.decimal_mark),
        ("mean rule", settings.mean_rule.value),
    )
    for row, (name, value) in enumerate(((n, v) for n, v in rows if v), start=2):
        page.cell(row, 1, name)
        page.cell(row, 2, value).number_format = "@"
