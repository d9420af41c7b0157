"""Hours of a person that stand already: for the day's total and for overlapping stretches."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

from sqlalchemy import Connection, select

from recondition.amounts import Quantity
from recondition.book.context import Context
from recondition.book.tables import line
from recondition.errors import Refused
from recondition.ledger.clocks import check_day, check_times, instant, overlap
from recondition.ledger.lines import Labour

_STANDING = (
    line.c.reverses.is_(None),
    line.c.record_id.not_in(select(line.c.reverses).where(line.c.reverses.is_not(None))),
)


class OverlappingHours(Refused):
    """Two stretches of work of one person at the same time."""

    def __init__(self, person: str, started: str, ended: str, other: str) -> None:
        """Name the person, the new stretch and the one that stands."""
        super().__init__(
            f"{person} cannot work from {started} to {ended}: line {other} has part of that time",
            todo="Correct the times, or reverse the other line.",
        )


def _sums_days(started: str | None, ended: str | None) -> bool:
    """Tell whether a line sums the hours of several days, from one moment to another.

    Such a line has no one day to be held against; its hours only have to fit its stretch.
    """
    if started is None or ended is None:
        return False
    return instant(ended) - instant(started) > timedelta(days=1)


class Timesheet:
    """Standing labour by person and day inside one transaction."""

    def __init__(self, conn: Connection, context: Context) -> None:
        """Read through one connection."""
        self._conn = conn
        self._context = context
        self._hours: dict[tuple[str, date], Fraction] = {}
        self._stretches: dict[str, list[tuple[str, str, str]]] = {}

    def admit(self, entry: Labour) -> None:
        """Refuse hours that cannot be. Raises what ``ledger.clocks`` names, OverlappingHours."""
        check_times(entry)
        if _sums_days(entry.started_at, entry.ended_at):
            return
        name = self._context.ref(entry.person)
        standing = self._on(entry.person, entry.work_date)
        check_day(name, entry.work_date, standing, entry.quantity.to("h"))
        if entry.started_at is None or entry.ended_at is None:
            return
        for started, ended, other in self._timed(entry.person):
            if overlap((entry.started_at, entry.ended_at), (started, ended)):
                raise OverlappingHours(
                    name, entry.started_at, entry.ended_at, self._context.ref(other)
                )

    def note(self, record_id: str, entry: Labour) -> None:
        """Remember a line that was posted."""
        if _sums_days(entry.started_at, entry.ended_at):
            return
        self._hours[entry.person, entry.work_date] += entry.quantity.to("h")
        if entry.started_at is not None and entry.ended_at is not None:
            self._timed(entry.person).append((entry.started_at, entry.ended_at, record_id))

    def forget(self) -> None:
        """Forget everything, since a line was taken back."""
        self._hours.clear()
        self._stretches.clear()

    def _on(self, person: str, day: date) -> Fraction:
        """Give the hours of a person that stand on a day."""
        if (person, day) not in self._hours:
            query = select(
                line.c.quantity_number, line.c.quantity_unit, line.c.started_at, line.c.ended_at
            ).where(line.c.person == person, line.c.work_date == day.isoformat(), *_STANDING)
            self._hours[person, day] = sum(
                (
                    Quantity.of(row[0], row[1]).to("h")
                    for row in self._conn.execute(query)
                    if not _sums_days(row[2], row[3])
                ),
                Fraction(0),
            )
        return self._hours[person, day]

    def _timed(self, person: str) -> list[tuple[str, str, str]]:
        """Give the standing stretches of a person: start, end and line."""
        if person not in self._stretches:
            query = select(line.c.started_at, line.c.ended_at, line.c.record_id).where(
                line.c.person == person,
                line.c.started_at.is_not(None),
                *_STANDING,
            )
            self._stretches[person] = [
                (r[0], r[1], r[2]) for r in self._conn.execute(query) if not _sums_days(r[0], r[1])
            ]
        return self._stretches[person]
