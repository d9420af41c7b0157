"""Late entries: allowed, and shown with the day they were recorded beside the day they happened.

The seven days are the project's own choice (common practice, no source): an entry written
within the working week is taken as made at the time.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from recondition.ledger.drafts import Stored

LATE_AFTER = timedelta(days=7)


def recorded_late(stored: Stored[Any], happened_on: date) -> date | None:
    """Give the day a record was made where that is more than seven days after the event.

    The day is the one of the zone it was recorded in. None for an entry in good time.
    """
    return stored.recorded_on if stored.recorded_on - happened_on > LATE_AFTER else None
