"""Wraps invented entries as the book would hand them over."""

from __future__ import annotations

from datetime import date
from typing import Any

from recondition.fields import Id
from recondition.ledger.drafts import Stored

CAR = Id("v-1")
MADE_ON = date(2025, 6, 20)


def stored(
    kind: str, entity: str, entry: Any, *, sequence: int = 1, at: str = "", **more: Any
) -> Stored[Any]:
    """Wrap an entry as the book would hand it over; recorded the day it happened."""
    days = ("work_date", "found_on", "ended_on", "arrived_on", "read_on", "tested_on")
    happened = next((getattr(entry, day) for day in days if getattr(entry, day, None)), MADE_ON)
    return Stored(
        id=entity,
        record=f"r-{entity}",
        ref=f"row {entity}",
        kind=kind,
        version=1,
        subject=f"vehicle:{CAR}",
        sequence=sequence,
        author="p-1",
        recorded_at=at or f"{happened.isoformat()}T17:30:00+02:00",
        entry=entry,
        **more,
    )
