"""When a shop works: its week, its hours and its closed days, as hours from one midnight.

Times are wall-clock times of the shop. Hour 0 is the midnight before work can begin, so that
hour 30 is six in the morning of the second day. A cure or a delivery runs by the clock, work
runs by these windows. A day on which the clocks are changed counts as 24 hours.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

DAY = 24


@dataclass(frozen=True, slots=True)
class Calendar:
    """The working time of a shop.

    ``opens`` is the hour of the day at which work begins, ``shift`` the hours worked a day;
    ``weekdays`` are the days worked (0 is Monday), ``closed`` the days that are not.
    """

    opens: Fraction = Fraction(8)
    shift: Fraction = Fraction(8)
    weekdays: frozenset[int] = frozenset(range(5))
    closed: frozenset[date] = frozenset()

    def works_on(self, day: date) -> bool:
        """Tell whether the shop works on a day."""
        return day.weekday() in self.weekdays and day not in self.closed

    def windows(
        self, first: date, days: int, begin: Fraction, hours: Fraction | None = None
    ) -> Iterator[tuple[Fraction, Fraction]]:
        """Give the windows of so many days from ``first`` on, in hours from its midnight.

        ``begin`` is the hour before which nothing can be done. ``hours`` is how long one person
        works a day, from opening on; None is the whole shift.
        """
        length = self.shift if hours is None else min(hours, self.shift)
        for number in range(days):
            if self.works_on(first + timedelta(days=number)):
                opens = number * DAY + self.opens
                start = max(opens, begin)
                if start < opens + length:
                    yield start, opens + length

    def workdays(self, first: date, days: int) -> int:
        """Count the days worked among so many days from ``first`` on."""
        return sum(self.works_on(first + timedelta(days=number)) for number in range(days))
