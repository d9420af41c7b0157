"""Reading cells that hold a day, a month or a moment.

ISO dates are understood in every book; day first or month first only where the book says
so. Two-digit years are refused: 24 may be 1924, which is no rarity among these vehicles.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from recondition.intake.cells import Cell, NotADate, tidy
from recondition.intake.texts import stored

if TYPE_CHECKING:
    from recondition.book.settings import Settings
    from recondition.intake.spec import ColumnSpec

_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/. ]+(\d{1,2})[-/. ]+(\d{4})")
_MONTH = re.compile(r"(\d{4})-(\d{1,2})", re.ASCII)
_EXAMPLES = {"iso": "2024-05-31", "day first": "31/05/2024", "month first": "05/31/2024"}


def day(cell: Cell, _column: ColumnSpec, settings: Settings) -> date:
    """Read a day from a spreadsheet's own date or from text; raises NotADate."""
    value = stored(cell).value
    if isinstance(value, datetime):
        return _midnight(value)
    if isinstance(value, date):
        return value
    if isinstance(value, str):
        return _from_text(tidy(value), settings)
    what = "A number or a time stands where a date belongs."
    raise NotADate(what, todo=f"Format the cell as a date, or write it like {_example(settings)}.")


def _midnight(value: datetime) -> date:
    """Give the day of a moment that is only a day; nothing is cut off."""
    if value.time() != time():
        what = "The date has a time of day with it."
        raise NotADate(what, todo="Write the date alone.")
    return value.date()


def _example(settings: Settings) -> str:
    """Show how a date is typed in this book."""
    return _EXAMPLES[settings.date_order]


def _from_text(text: str, settings: Settings) -> date:
    """Read a typed date in the book's order."""
    match = _YEAR_FIRST.fullmatch(text)
    if match is not None:
        return _checked(int(match[1]), int(match[2]), int(match[3]), settings)
    match = _YEAR_LAST.fullmatch(text)
    if match is None:
        todo = f"Write it like {_example(settings)}, with four digits for the year."
        what = "That is not a date."
        raise NotADate(what, todo=todo)
    first, second, year = int(match[1]), int(match[2]), int(match[3])
    if settings.date_order == "iso":
        what = "This book reads typed dates year first only."
        todo = "Write 2024-05-31, or put 'date order' = day first (or month first) on settings."
        raise NotADate(what, todo=todo)
    if settings.date_order == "day first":
        return _checked(year, second, first, settings)
    return _checked(year, first, second, settings)


def _checked(year: int, month: int, number: int, settings: Settings) -> date:
    """Give the day if the calendar has it."""
    try:
        return date(year, month, number)
    except ValueError:
        order = "year first" if settings.date_order == "iso" else settings.date_order
        what = f"The calendar has no such day (read {order})."
        raise NotADate(what, todo=f"Write it like {_example(settings)}.") from None


def month(cell: Cell, _column: ColumnSpec, _settings: Settings) -> str:
    """Read a month as YYYY-MM; a spreadsheet turns it into the month's first day."""
    value = stored(cell).value
    if isinstance(value, datetime | date) and value.day == 1:
        return value.strftime("%Y-%m")
    match = _MONTH.fullmatch(tidy(value)) if isinstance(value, str) else None
    if match is None or int(match[2]) not in range(1, 13):
        what = "That is not a month."
        raise NotADate(what, todo="Write it like 2024-05.")
    return f"{match[1]}-{int(match[2]):02d}"


def moment(cell: Cell, column: ColumnSpec, _settings: Settings) -> str:
    """Read a date and time with its zone; gives ISO 8601."""
    value = stored(cell).value
    try:
        found = datetime.fromisoformat(tidy(value)) if isinstance(value, str) else None
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        what = "That is not a date and time with its zone."
        raise NotADate(what, todo=f"Write it as text like {column.example}.")
    return found.isoformat()
