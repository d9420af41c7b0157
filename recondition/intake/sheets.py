"""Every sheet of the workbook, in the order in which rows are imported.

The order is that of reference: a row may name rows of sheets before its own, and of its own
sheet. A command's options and a folder of .csv follow the same specification.
"""

from __future__ import annotations

from recondition.errors import Refused
from recondition.intake.sheets_bench import BENCH_SHEETS, MEASURED_SHEETS
from recondition.intake.sheets_books import (
    BOOKS_SHEETS,
    BOUGHT_SHEETS,
    LATER_BOOKS_SHEETS,
)
from recondition.intake.sheets_car import DOCUMENTS, FINDINGS, OUTCOMES, PANELS_SHEET, VEHICLES
from recondition.intake.sheets_history import HISTORY_SHEETS
from recondition.intake.sheets_lines import LINE_SHEETS
from recondition.intake.sheets_owner import OWNER_SHEETS
from recondition.intake.sheets_sale import SALES
from recondition.intake.sheets_shop import SHOP_SHEETS
from recondition.intake.sheets_stock import LATER_STOCK_SHEETS, STOCK_SHEETS
from recondition.intake.sheets_worth import (
    CANDIDATES,
    COMPARABLES,
    INTERACTIONS,
    TERMS,
    TRIALS,
)
from recondition.intake.spec import ColumnSpec, Parse, Sheet

SHEETS: tuple[Sheet, ...] = (
    *SHOP_SHEETS,
    *BOOKS_SHEETS,
    *BENCH_SHEETS,
    VEHICLES,
    PANELS_SHEET,
    FINDINGS,
    DOCUMENTS,
    *MEASURED_SHEETS,
    CANDIDATES,
    INTERACTIONS,
    TERMS,
    TRIALS,
    COMPARABLES,
    *OWNER_SHEETS,
    BOUGHT_SHEETS[0],
    *STOCK_SHEETS,
    *LINE_SHEETS,
    BOUGHT_SHEETS[1],
    *LATER_STOCK_SHEETS,
    OUTCOMES,
    SALES,
    *LATER_BOOKS_SHEETS,
    *HISTORY_SHEETS,
)

_BY_NAME = {sheet.name: sheet for sheet in SHEETS}
_BY_KIND = {sheet.kind: sheet for sheet in SHEETS}


class NoSuchSheet(Refused):
    """No sheet of that name is known."""

    exit_status = 2


def sheet_named(name: str) -> Sheet:
    """Give the sheet of a name; case and outer blanks do not count. Raises NoSuchSheet."""
    sheet = _BY_NAME.get(name.strip().casefold())
    if sheet is None:
        what = f"There is no sheet called {name.strip()!r}."
        raise NoSuchSheet(what, todo=f"Sheets are: {', '.join(_BY_NAME)}.")
    return sheet


def known_sheet(name: str) -> Sheet | None:
    """Give the sheet of a name, None where there is none."""
    return _BY_NAME.get(name.strip().casefold())


def sheet_of_kind(kind: str) -> Sheet:
    """Give the sheet whose rows are records of this kind; KeyError where there is none."""
    return _BY_KIND[kind]


__all__ = [
    "SHEETS",
    "ColumnSpec",
    "NoSuchSheet",
    "Parse",
    "Sheet",
    "known_sheet",
    "sheet_named",
    "sheet_of_kind",
]
