"""Hours paid against hours on jobs, by person and week (common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from recondition.amounts import Quantity
from recondition.errors import Refused
from recondition.fields import Id

HOURS_OF_A_WEEK = 168


@dataclass(frozen=True, slots=True, kw_only=True)
class PaidHours:
    """What one person was paid for in the week that begins on ``week``, a Monday."""

    person: Id
    week: date
    hours: Quantity


class NotAMonday(Refused):
    """A week that does not begin on a Monday."""

    def __init__(self, found: date) -> None:
        """Name the day and the Monday of its week."""
        monday = monday_of(found)
        super().__init__(
            f"{found.isoformat()} is no Monday", todo=f"Write {monday.isoformat()} for that week."
        )


class MoreThanAWeek(Refused):
    """More hours paid for one week than it has."""

    def __init__(self, found: Quantity) -> None:
        """Name the hours."""
        super().__init__(
            f"a week has {HOURS_OF_A_WEEK} hours, not {found}",
            todo="Write the hours of that one week.",
        )


def monday_of(day: date) -> date:
    """Give the Monday of the week a day lies in (ISO 8601)."""
    return day - timedelta(days=day.weekday())


def check_week(entry: PaidHours) -> None:
    """Hold that a week begins on a Monday and is no longer than one.

    Raises NotAMonday, MoreThanAWeek.
    """
    if entry.week != monday_of(entry.week):
        raise NotAMonday(entry.week)
    if entry.hours.to("h") > HOURS_OF_A_WEEK:
        raise MoreThanAWeek(entry.hours)


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """One person's week: paid, on jobs (rework among them), overhead, and what is left over."""

    person: str
    week: date
    paid: Decimal | None
    jobs: Decimal
    rework: Decimal
    overhead: Decimal

    @property
    def unallocated(self) -> Decimal | None:
        """Paid hours that stand on no job and no overhead; below zero where more is booked."""
        return None if self.paid is None else self.paid - self.jobs - self.overhead
