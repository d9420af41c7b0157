"""First stage of an import: every row is read into the staging file, every problem kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import chain, islice
from typing import TYPE_CHECKING

from recondition.book.settings import Settings, settings_from
from recondition.errors import Refused
from recondition.intake import headings
from recondition.intake.cells import BadFile, Cell, CellRefused
from recondition.intake.problems import Problem, Problems
from recondition.intake.rows import Fault, Row, parse_row
from recondition.intake.sheets import known_sheet

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.intake.headings import Headings
    from recondition.intake.sources import RawSheet
    from recondition.intake.spec import Sheet
    from recondition.intake.staging import Staging

Progress = Callable[[str, int, int | None], None]

PROGRESS_EVERY = 500


class SettingNotUsable(CellRefused):
    """A value that the setting cannot take."""

    kind = "setting not usable"


@dataclass(slots=True)
class Parsed:
    """The first stage at work: where rows go, and what it leaves beside them.

    ``base`` is the folder that the names of files are seen from; ``chosen`` holds the
    settings that the source itself gives, ``unread`` the kinds whose sheet has no headings.
    ``fixed_currency`` is that of a book with amounts in it; ``stopped`` tells that a setting
    could not be used and nothing after it was read.
    """

    base: Path
    settings: Settings
    staging: Staging
    progress: Progress
    problems: Problems = field(default_factory=Problems)
    headings: dict[str, Headings] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    notices: list[str] = field(default_factory=list)
    chosen: dict[str, str] = field(default_factory=dict)
    fixed_currency: str | None = None
    stopped: bool = False


def parse_sheets(raw_sheets: list[RawSheet], parsed: Parsed) -> None:
    """Read sheets in import order; settings found on the way hold for what follows.

    Where a setting cannot be used, no other sheet is read: it would be read wrongly.
    """
    for raw in raw_sheets:
        sheet = known_sheet(raw.name)
        if sheet is None:
            continue
        with raw.rows() as rows:
            _parse_sheet(sheet, rows, parsed)
        if sheet.kind == "setting":
            _check_currency(parsed)
            if parsed.problems:
                parsed.stopped = True
                return
    if parsed.chosen:
        names = ", ".join(f"{name} = {value}" for name, value in parsed.chosen.items())
        parsed.notices.append(f"read under these settings: {names}")


def _check_currency(parsed: Parsed) -> None:
    """Refuse another currency than that of the amounts in the book."""
    wanted = parsed.settings.currency
    if parsed.fixed_currency in (None, wanted):
        return
    problem = Problem(
        kind="currency fixed",
        sheet="settings",
        row=0,
        column="value",
        found=wanted,
        what=f"This book holds amounts in {parsed.fixed_currency} already; "
        "its currency cannot change.",
        todo="Take the row out, or make another book for the other currency.",
    )
    parsed.problems.add(problem)


def _parse_sheet(sheet: Sheet, rows: Iterator[list[Cell]], parsed: Parsed) -> None:
    """Find the headings of one sheet and read its rows."""
    first = list(islice(rows, headings.ROWS_SEARCHED))
    found = headings.best(sheet, first)
    if found is None:
        if any(not cell.blank for row in first for cell in row):
            parsed.problems.add(headings.not_found(sheet))
            parsed.unread.add(sheet.kind)
        return
    parsed.headings[sheet.kind] = found
    filled = 0
    for number, cells in enumerate(chain(first, rows), start=1):
        by_field = _by_field(found, cells)
        if number <= found.row or not _filled(sheet, by_field):
            continue
        if not filled:
            _complain(sheet, found, parsed)
        filled += 1
        _stage(sheet, number, by_field, parsed)
        if filled % PROGRESS_EVERY == 0:
            parsed.progress(f"reading {sheet.name}", filled, None)


def _complain(sheet: Sheet, found: Headings, parsed: Parsed) -> None:
    """Name the columns that are missing, and those that are not known."""
    for problem in headings.problems(sheet, found):
        parsed.problems.add(problem)
    if found.extra:
        names = ", ".join(found.extra)
        parsed.notices.append(f"{sheet.name}: not read, because not known here: {names}")


def _by_field(found: Headings, cells: list[Cell]) -> dict[str, Cell]:
    """Give a row's cells by the fields they stand under."""
    return {f: cells[p] for f, p in found.positions.items() if p < len(cells)}


def _filled(sheet: Sheet, cells: dict[str, Cell]) -> bool:
    """Tell whether a row holds anything besides a ref that was written in beforehand."""
    ignored = "ref" if sheet.ref_prefix else ""
    return any(not cell.blank for name, cell in cells.items() if name != ignored)


def _stage(sheet: Sheet, number: int, cells: dict[str, Cell], parsed: Parsed) -> None:
    """Read one row, keep its problems, and put it into the staging file."""
    row = parse_row(sheet, cells, parsed.settings)
    if row.file:
        _check_file(sheet, row, parsed.base)
    if sheet.kind == "setting" and not row.faults:
        _try_setting(sheet, row, parsed)
    found = parsed.headings[sheet.kind]
    for fault in row.faults:
        # A needed column that is missing was told once; it is not told for every row.
        if fault.column.field in found.positions or not fault.column.required:
            parsed.problems.add(_problem(sheet, number, fault, found))
    parsed.staging.add(sheet, number, row)


def _check_file(sheet: Sheet, row: Row, base: Path) -> None:
    """Note a fault where a document's file is not there, or a link leads outside."""
    inside = True
    try:
        path = (base / row.file).resolve()
        inside = path.is_relative_to(base.resolve())
        if inside and path.is_file():
            return
    except (OSError, RuntimeError):  # a name longer than the system takes, a link to itself
        pass
    what = "There is no such file." if inside else "The file lies outside the folder."
    todo = "Put the file beside the workbook or below it, and write its name as it is there."
    column = sheet.column("file")
    row.faults.append(Fault(column, Cell(row.file), BadFile(what, todo=todo)))


def _problem(sheet: Sheet, number: int, fault: Fault, found: Headings) -> Problem:
    """Say where a fault stands."""
    return Problem(
        kind=fault.refused.kind,
        sheet=sheet.name,
        row=number,
        column=found.place(fault.column),
        found=fault.cell.found,
        what=fault.refused.what,
        todo=fault.refused.todo,
    )


def _try_setting(sheet: Sheet, row: Row, parsed: Parsed) -> None:
    """Refuse a value that its setting cannot take, and let a good one hold at once."""
    value = str(row.plain["value"])
    try:
        parsed.settings = merged(parsed.settings, {row.ref: value})
        parsed.chosen[row.ref] = value
    except Refused as refused:
        fault = SettingNotUsable(refused.what, todo=refused.todo)
        row.faults.append(Fault(sheet.column("value"), Cell(value), fault))


def merged(now: Settings, values: dict[str, str]) -> Settings:
    """Lay values over the settings in force; raises what a setting refuses."""
    before = {
        "currency": now.currency,
        "shop name": now.shop_name,
        "date order": now.date_order,
        "decimal mark": now.decimal_mark,
        "mean rule": now.mean_rule.value,
        "indifference": str(now.indifference),
    }
    if values.get("currency", now.currency) != now.currency:
        before.pop("indifference")
    return settings_from({**before, **values})
