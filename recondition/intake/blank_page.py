"""The first page of the empty workbook: what each sheet and column is for."""

from __future__ import annotations

from typing import Any

from recondition.condition.panels import PANELS
from recondition.intake.sheets import SHEETS
from recondition.intake.sources import READ_ME
from recondition.intake.spec import ColumnSpec, Parse

# A dark slate on warm paper: contrast 11 to 1 and more, readable printed in grey.
DARK = "FF23303A"
PAPER = "FFF3EEE3"
RULE = "FF8A7F6A"

_INTRODUCTION = (
    (
        "One row is one thing: a vehicle, a finding, a piece of candidate work, a line of "
        "cost. Fill in what you know, sheet by sheet; sheets and columns you do not need stay"
        " empty."
    ),
    (
        "A star after a heading marks what a row must have. Text, days and amounts may be "
        "typed as you type them elsewhere; how days and decimals are read is said on the "
        "sheet settings."
    ),
    (
        "The ref in the first column is the row's name. The same ref with the same content is"
        " known already and changes nothing, so this file can be imported as often as you "
        "like. The same ref with other content is a new version of a finding or an estimate. "
        "A posted line of cost is never changed: it is reversed and entered anew under "
        "another ref."
    ),
    (
        "Rows with nothing but a ref are empty rows. A row you take out of this file deletes "
        "nothing in the book. A row without a ref is known by its content."
    ),
    (
        "Columns of your own may stand anywhere; they are not read. Titles may stand above "
        "the headings. Several refs in one cell are parted by semicolons: F-001; F-002."
    ),
    (
        "If anything is wrong, every problem is listed with its row and column, and nothing "
        "at all is written until the file is right."
    ),
)
_HEADINGS = ("sheet", "column", "needed", "form or unit", "what goes there", "example")
_LONG = 150  # letters that fit one line of an explanation
_WIDTHS = (16, 30, 9, 24, 78, 28)
_PANEL_COLUMN = "H"
_PANEL_FIRST = 2


def panel_range() -> str:
    """Give the cells of the page that list the panels."""
    last = _PANEL_FIRST + sum(map(len, PANELS.values())) - 1
    return f"'{READ_ME}'!${_PANEL_COLUMN}${_PANEL_FIRST}:${_PANEL_COLUMN}${last}"


def write_page(page: Any) -> None:  # noqa: ANN401 - openpyxl's sheet
    """Write the page into the workbook's first sheet."""
    from openpyxl.styles import Alignment, Font  # noqa: PLC0415 - heavy, and only for workbooks

    page.title = READ_ME
    page.sheet_view.showGridLines = False
    for position, width in enumerate(_WIDTHS):
        page.column_dimensions["ABCDEF"[position]].width = width
    page.cell(1, 1, "A workbook for the book").font = Font(name="Calibri", size=18, color=DARK)
    page.row_dimensions[1].height = 30
    row = 2
    for paragraph in _INTRODUCTION:
        page.merge_cells(start_row=row, start_column=1, end_row=row, end_column=6)
        cell = page.cell(row, 1, paragraph)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.font = Font(name="Calibri", color=DARK)
        page.row_dimensions[row].height = 34
        row += 1
    _write_columns(page, row + 1)
    _write_panels(page)
    page.page_setup.orientation = "landscape"
    page.page_setup.fitToHeight = 0
    page.sheet_properties.pageSetUpPr.fitToPage = True


def _write_columns(page: Any, row: int) -> None:  # noqa: ANN401 - openpyxl's sheet
    """Write one row for every column of every sheet, under what the sheet is for."""
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side  # noqa: PLC0415

    for position, text in enumerate(_HEADINGS, start=1):
        cell = page.cell(row, position, text)
        cell.font = Font(name="Calibri", bold=True, color=DARK)
        cell.border = Border(bottom=Side("medium", color=RULE))
    for sheet in SHEETS:
        row += 1
        page.merge_cells(start_row=row, start_column=2, end_row=row, end_column=6)
        page.row_dimensions[row].height = 32 if len(sheet.explanation) > _LONG else 18
        for position, text in enumerate((sheet.name, sheet.explanation), start=1):
            cell = page.cell(row, position, text)
            cell.font = Font(name="Calibri", bold=position == 1, color=DARK)
            cell.fill = PatternFill("solid", start_color=PAPER)
            cell.alignment = Alignment(wrap_text=True, vertical="top")
        for column in sheet.columns:
            row += 1
            described = _described(column)
            # Spreadsheets keep the height a file gives, so wrapped words need it said.
            lines = max(
                -(-len(text) // (width - 4))
                for text, width in zip(described, _WIDTHS[1:], strict=True)
            )
            page.row_dimensions[row].height = 15 * max(lines, 1)
            for position, text in enumerate(described, start=2):
                cell = page.cell(row, position, text)
                cell.number_format = "@"
                cell.alignment = Alignment(wrap_text=True, vertical="top")
                cell.font = Font(name="Calibri", color=DARK)


def _described(column: ColumnSpec) -> tuple[str, str, str, str, str]:
    """Describe a column: heading, needed or not, form, meaning, example."""
    form = column.unit if column.unit and column.parse is not Parse.QUANTITY else column.parse.value
    meaning = column.help
    if column.choices:
        meaning += ". One of: " + ", ".join(column.choices)
    if column.default:
        meaning += f". Empty means {column.default}"
    needed = "yes" if column.required else ""
    return column.heading, needed, form, meaning, column.example


def _write_panels(page: Any) -> None:  # noqa: ANN401 - openpyxl's sheet
    """List the panels with their areas beside the explanation; lists on sheets use them."""
    from openpyxl.styles import Font  # noqa: PLC0415 - heavy, and only for workbooks

    page.cell(1, 8, "panels").font = Font(name="Calibri", bold=True, color=DARK)
    page.cell(1, 9, "area").font = Font(name="Calibri", bold=True, color=DARK)
    page.column_dimensions[_PANEL_COLUMN].width = 26
    page.column_dimensions["I"].width = 24
    row = _PANEL_FIRST
    for area, panels in PANELS.items():
        for panel in panels:
            page.cell(row, 8, panel)
            page.cell(row, 9, area.value)
            row += 1
