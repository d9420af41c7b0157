"""Closed periods as ``check`` sees them: when each was closed, and what came too late."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select

from recondition.book.looking import Look
from recondition.book.moments import TOLERANCE
from recondition.book.tables import record
from recondition.book.tables_books import period_event
from recondition.ledger import chain
from recondition.ledger.periods import PeriodStep


@dataclass(frozen=True, slots=True)
class Closings:
    """The standing close of each closed period: the moment it was recorded."""

    at: dict[str, datetime]

    @classmethod
    def of(cls, look: Look) -> Closings:
        """Read what happened to periods, in order."""
        found: dict[str, datetime] = {}

        def read() -> None:
            query = (
                select(period_event.c.period, period_event.c.step, record.c.recorded_at)
                .join(record, record.c.id == period_event.c.record_id)
                .where(record.c.subject == chain.SHOP)
                .order_by(record.c.sequence)
            )
            for row in look.conn.execute(query):
                if row.step == PeriodStep.CLOSED.value:
                    found[row.period] = datetime.fromisoformat(row.recorded_at)
                else:
                    found.pop(row.period, None)

        look.part("the periods", lambda _: read())
        return cls(found)

    def too_late(self, payload: dict[str, Any]) -> str | None:
        """Name the closed period that a record was booked in after it was closed, if any.

        With a period those before it are closed too. Clocks of several machines may differ.
        """
        period = payload["priced"].get("period")
        if period is None or not self.at:
            return None
        last = max(self.at)
        if period > last:
            return None
        made = datetime.fromisoformat(payload["recorded_at"])
        return str(period) if made > self.at[last] + TOLERANCE else None
