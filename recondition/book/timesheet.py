"""Hours of a person that stand already: for the day's total and for overlapping stretches."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection, bindparam, select, tuple_

from recondition.amounts import Quantity
from recondition.book.context import Context
from recondition.book.standing import standing
from recondition.book.tables import line
from recondition.errors import Refused
from recondition.ledger.clocks import check_day, check_times, instant
from recondition.ledger.lines import Labour

_AT_ONCE = 500

_HOURS = select(
    line.c.person,
    line.c.work_date,
    line.c.quantity_number,
    line.c.quantity_unit,
    line.c.started_at,
    line.c.ended_at,
).where(
    # Several pairs make SQLite walk through every line; each column by itself has an index.
    line.c.person.in_(bindparam("people", expanding=True)),
    line.c.work_date.in_(bindparam("days", expanding=True)),
    tuple_(line.c.person, line.c.work_date).in_(bindparam("pairs", expanding=True)),
    standing(),
)
_TIMED = select(line.c.started_at, line.c.ended_at, line.c.record_id).where(
    line.c.person == bindparam("person"), line.c.started_at.is_not(None), standing()
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


Stretch = tuple[datetime, datetime, str]


def _start(stretch: Stretch) -> datetime:
    """Give when a stretch starts."""
    return stretch[0]


class Timesheet:
    """Standing labour by person and day inside one transaction."""

    def __init__(self, conn: Connection, context: Context) -> None:
        """Read through one connection."""
        self._conn = conn
        self._context = context
        self._hours: dict[tuple[str, date], Fraction] = {}
        self._stretches: dict[str, list[Stretch]] = {}

    def expect(self, entries: Iterable[Any]) -> None:
        """Read the hours that some entries are held against at once, before the first of them."""
        labour = (entry for entry in entries if isinstance(entry, Labour))
        self._read({(entry.person, entry.work_date) for entry in labour} - self._hours.keys())

    def admit(self, entry: Labour) -> None:
        """Refuse hours that cannot be. Raises what ``ledger.clocks`` names, OverlappingHours."""
        check_times(entry)
        if _sums_days(entry.started_at, entry.ended_at):
            return
        name = self._context.person(entry.person)
        standing = self._on(entry.person, entry.work_date)
        check_day(name, entry.work_date, standing, entry.quantity.to("h"))
        if entry.started_at is None or entry.ended_at is None:
            return
        timed = self._timed(entry.person)
        began, ends = instant(entry.started_at), instant(entry.ended_at)
        place = bisect_left(timed, began, key=_start)
        # They do not overlap each other, so that only those beside the new one can.
        for started, ended, other in timed[max(place - 1, 0) : place + 1]:
            if began < ended and started < ends:
                raise OverlappingHours(
                    name, entry.started_at, entry.ended_at, self._context.ref(other)
                )

    def note(self, record_id: str, entry: Labour) -> None:
        """Remember a line that was posted."""
        if _sums_days(entry.started_at, entry.ended_at):
            return
        self._hours[entry.person, entry.work_date] += entry.quantity.to("h")
        if entry.started_at is not None and entry.ended_at is not None:
            stretch = (instant(entry.started_at), instant(entry.ended_at), record_id)
            if stretch[0] < stretch[1]:
                insort(self._timed(entry.person), stretch, key=_start)

    def forget(self) -> None:
        """Forget everything, since a line was taken back."""
        self._hours.clear()
        self._stretches.clear()

    def _on(self, person: str, day: date) -> Fraction:
        """Give the hours of a person that stand on a day."""
        if (person, day) not in self._hours:
            self._read({(person, day)})
        return self._hours[person, day]

    def _read(self, days: Collection[tuple[str, date]]) -> None:
        """Read the hours of some people on some days."""
        self._hours.update(dict.fromkeys(days, Fraction(0)))
        pairs = sorted((person, day.isoformat()) for person, day in days)
        for start in range(0, len(pairs), _AT_ONCE):
            some = pairs[start : start + _AT_ONCE]
            people, on = (sorted(set(each)) for each in zip(*some, strict=True))
            given = {"pairs": some, "people": people, "days": on}
            for row in self._conn.execute(_HOURS, given):
                if not _sums_days(row.started_at, row.ended_at):
                    hours = Quantity.of(row.quantity_number, row.quantity_unit).to("h")
                    self._hours[row.person, date.fromisoformat(row.work_date)] += hours

    def _timed(self, person: str) -> list[Stretch]:
        """Give the standing stretches of a person by their start."""
        if person not in self._stretches:
            found = (
                (instant(row[0]), instant(row[1]), row[2])
                for row in self._conn.execute(_TIMED, {"person": person})
                if not _sums_days(row[0], row[1])
            )
            # A stretch of no length is beside no other, and would hide the one behind it.
            self._stretches[person] = sorted((s for s in found if s[0] < s[1]), key=_start)
        return self._stretches[person]
