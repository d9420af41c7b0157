"""Finding the row of headings and which column each of them is.

Titles above the headings, columns in any order, columns of the user's own: all are taken as
they come. What is missing and needed is a problem; what is not known is a notice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from recondition.intake.cells import Cell, tidy
from recondition.intake.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from recondition.intake.spec import ColumnSpec, Sheet

ROWS_SEARCHED = 20
_REQUIRED_MIN = 2


@dataclass(frozen=True, slots=True)
class Headings:
    """Where a sheet's known columns stand: position in the row by field."""

    row: int
    positions: dict[str, int]
    extra: tuple[str, ...]

    def place(self, column: ColumnSpec) -> str:
        """Name a column by its heading and letter."""
        position = self.positions.get(column.field)
        return (
            column.heading if position is None else f"{column.heading} (column {letter(position)})"
        )


def letter(position: int) -> str:
    """Give the letter of a column, counted from 0: A, B, ... Z, AA."""
    letters = ""
    number = position + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _key(text: str) -> str:
    """Fold what does not matter in a heading: case, blanks, dashes, a mark for required."""
    return re.sub(r"[\s_\-\u00a0*:]+", " ", tidy(text)).strip().casefold()


def _by_key(sheet: Sheet) -> dict[str, str]:
    """Give the field for every heading and alias of a sheet."""
    return {
        _key(name): column.field
        for column in sheet.columns
        for name in (column.heading, *column.aliases)
    }


def match(sheet: Sheet, number: int, cells: Sequence[Cell]) -> Headings | None:
    """Read a row as headings; None where it cannot be the row of headings."""
    known = _by_key(sheet)
    positions: dict[str, int] = {}
    extra: list[str] = []
    for position, cell in enumerate(cells):
        if cell.blank or not isinstance(cell.value, str):
            continue
        field = known.get(_key(cell.value))
        if field is None or field in positions:
            extra.append(f"{cell.found} (column {letter(position)})")
        else:
            positions[field] = position
    required = [c.field for c in sheet.columns if c.required and c.field in positions]
    if "ref" in positions or len(required) >= _REQUIRED_MIN:
        return Headings(number, positions, tuple(extra))
    return None


def best(sheet: Sheet, rows: Sequence[Sequence[Cell]]) -> Headings | None:
    """Find the row with the most known headings among the first rows of a sheet."""
    found = [match(sheet, number, cells) for number, cells in enumerate(rows, start=1)]
    known = [headings for headings in found if headings is not None]
    return max(known, key=lambda headings: len(headings.positions), default=None)


def problems(sheet: Sheet, headings: Headings) -> list[Problem]:
    """List the needed columns that are missing."""
    return [
        Problem(
            kind="column missing",
            sheet=sheet.name,
            row=headings.row,
            column=column.heading,
            found="",
            what="This column is needed and is not there.",
            todo=f"Add a column headed {column.heading!r}: {column.help}.",
        )
        for column in sheet.columns
        if column.required and column.field not in headings.positions
    ]


def not_found(sheet: Sheet) -> Problem:
    """Say that a sheet with rows has no row of headings."""
    needed = ", ".join(c.heading for c in sheet.columns if c.required or c.field == "ref")
    return Problem(
        kind="headings missing",
        sheet=sheet.name,
        row=0,
        column="",
        found="",
        what=f"No row of headings was found in the first {ROWS_SEARCHED} rows.",
        todo=f"Put the headings in one row, at least: {needed}.",
    )
