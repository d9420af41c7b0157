"""One table for every medium: a report builds it, a small writer renders it.

A table knows nothing of terminals, pages or files. Money stays Money until it is written,
so no writer can round.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.amounts import Money

Cell = str | Money | Decimal | int | date | None


class CellKind(StrEnum):
    """What a column holds; None may stand in any of them."""

    TEXT = "text"
    MONEY = "money"
    NUMBER = "number"
    INTEGER = "integer"
    DATE = "date"
    PERCENT = "percent"


# A percent cell holds the fraction (0.9 is shown as 90 %), as every rate in the book does.
_TYPES: dict[CellKind, type] = {
    CellKind.TEXT: str,
    CellKind.MONEY: Money,
    CellKind.NUMBER: Decimal,
    CellKind.INTEGER: int,
    CellKind.DATE: date,
    CellKind.PERCENT: Decimal,
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: ``key`` for machines, ``heading`` for people."""

    key: str
    heading: str
    kind: CellKind = CellKind.TEXT

    @property
    def is_text(self) -> bool:
        """Whether the column reads from the left; all the others line up on the right."""
        return self.kind in (CellKind.TEXT, CellKind.DATE)


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under columns. ``total`` is the one row that adds up; data files leave it out.

    Raises ValueError where a row has another number of cells than there are columns and
    TypeError where a cell is not what its column holds (a float never is).
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""
    total: tuple[Cell, ...] | None = None

    def __post_init__(self) -> None:
        """Check every cell against its column."""
        for row in self.all_rows:
            for column, cell in zip(self.columns, row, strict=True):
                wanted = _TYPES[column.kind]
                if cell is not None and (not isinstance(cell, wanted) or isinstance(cell, bool)):
                    message = f"column {column.key} holds {column.kind}, not {type(cell).__name__}"
                    raise TypeError(message)

    @property
    def all_rows(self) -> tuple[tuple[Cell, ...], ...]:
        """The rows with the total, where there is one, as the last."""
        return self.rows if self.total is None else (*self.rows, self.total)
