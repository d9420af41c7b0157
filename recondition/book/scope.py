"""Which lines a report or an export is about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, literal

from recondition.book.tables import line


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """Which lines: of one period, of one vehicle (its id), or all of them."""

    period: str | None = None
    vehicle: str | None = None

    def where(self) -> Any:  # noqa: ANN401 - a condition of SQLAlchemy
        """Give the condition on the table of lines."""
        conditions: list[Any] = [literal(True)]  # noqa: FBT003 - a condition that always holds
        if self.period is not None:
            conditions.append(line.c.period == self.period)
        if self.vehicle is not None:
            conditions.append(line.c.vehicle == self.vehicle)
        return and_(*conditions)
