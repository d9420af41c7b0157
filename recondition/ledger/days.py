"""Days and periods that a record can have happened on (common practice, no source).

A car that is prepared for sale was built after 1880; a date far outside is a slip of the
hand, and a posted one could never be mended.
"""

from __future__ import annotations

import dataclasses
from datetime import date
from typing import Any

from recondition.errors import Refused

YEAR_MIN, YEAR_MAX = 1880, 2199


class ImplausibleDay(Refused):
    """A day or period that lies far outside the life of any vehicle."""

    def __init__(self, field: str, found: str) -> None:
        """Name the field and what it holds."""
        super().__init__(
            f"the {field.replace('_', ' ')} {found} is no day of this trade",
            todo=f"Give a year from {YEAR_MIN} to {YEAR_MAX}.",
        )


class BeforeItsCause(Refused):
    """An outcome before its finding, or a reversal before its line."""

    def __init__(self, *, what: str, day: date, cause: str, began: date) -> None:
        """Name both and their days."""
        super().__init__(
            f"{what} is dated {day.isoformat()}, before {cause} of {began.isoformat()}",
            todo=f"Correct the day, or that of {cause} where it is the wrong one.",
        )


def check_days(entry: Any) -> None:  # noqa: ANN401 - any entry class
    """Refuse an entry with an implausible day or period. Raises ImplausibleDay."""
    for field in dataclasses.fields(entry):
        value = getattr(entry, field.name)
        if isinstance(value, date):
            year = value.year
        elif field.name == "period" and value:
            year = int(value[:4])
        else:
            continue
        if not YEAR_MIN <= year <= YEAR_MAX:
            raise ImplausibleDay(field.name, str(value))
