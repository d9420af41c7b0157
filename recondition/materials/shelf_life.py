"""How long an opened container keeps, in whole days from the day it was opened.

Common practice, no source beyond the product's own data sheet or label, whose figure counts.
"""

from __future__ import annotations

from datetime import date, timedelta

from recondition.amounts import Quantity


def good_until(opened_on: date, life: Quantity) -> date:
    """Give the last day an opened container is good; parts of a day are not counted.

    ``life`` is any unit of time; a day is 24 clock hours. Raises UnitMismatch.
    """
    return opened_on + timedelta(days=int(life.to("day")))


def days_left(last_good: date, today: date) -> int:
    """Give the days until the last good day: 0 on that day, negative when it is past."""
    return (last_good - today).days


def in_words(left: int) -> str:
    """Write how long something keeps yet, or how long it is past."""
    days = "1 day" if abs(left) == 1 else f"{abs(left)} days"
    if left == 0:
        return "today is the last day"
    return f"good for {days}" if left > 0 else f"{days} past"
