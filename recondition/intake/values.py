"""Parsing one cell: the one table from a column's kind to the function that reads it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from recondition.intake import dates, lists, numbers, texts
from recondition.intake.cells import Cell, RequiredEmpty
from recondition.intake.spec import ColumnSpec, Parse

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.settings import Settings

PARSERS: dict[Parse, Callable[[Cell, ColumnSpec, Settings], Any]] = {
    Parse.CODE: texts.code,
    Parse.NAME: texts.name,
    Parse.REF: texts.ref,
    Parse.WORDS: texts.words,
    Parse.MONEY: numbers.money,
    Parse.FOREIGN: numbers.foreign_money,
    Parse.NUMBER: numbers.number,
    Parse.WHOLE: numbers.whole,
    Parse.QUANTITY: numbers.quantity,
    Parse.UNIT: texts.unit,
    Parse.DATE: dates.day,
    Parse.MONTH: dates.month,
    Parse.MOMENT: dates.moment,
    Parse.CHOICE: texts.choice,
    Parse.NUMBERS: lists.several_numbers,
    Parse.PAIRS: lists.pairs,
    Parse.SEVERITY: texts.severity,
    Parse.YES_NO: texts.yes_no,
    Parse.SHARE: numbers.share,
    Parse.PERCENT: numbers.percent,
    Parse.TIERS: lists.tiers,
    Parse.TO: lists.to,
    Parse.TO_MANY: lists.to_many,
    Parse.LINKS: lists.links,
    Parse.TEXTS: lists.to_many,
    Parse.FILE: lists.file,
}


def parse_cell(cell: Cell, column: ColumnSpec, settings: Settings) -> Any:  # noqa: ANN401 - any entry's or library's type
    """Read one cell; None where it is empty and the column has no default.

    Raises a CellRefused that says what is wrong and what to do.
    """
    if cell.blank:
        if column.required:
            what = "Nothing stands here, and it is needed."
            raise RequiredEmpty(what, todo=f"Fill it in: {column.help}.")
        if not column.default:
            return None
        cell = Cell(column.default)
    return PARSERS[column.parse](cell, column, settings)
