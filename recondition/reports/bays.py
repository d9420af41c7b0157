"""The shop's days as a table: which vehicle stands in which bay, with which work and whom."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.bays import Stay, stays

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from recondition.worth.question import Question
    from recondition.worth.several import Together

BAYS = "Which bay when"
CURES = " cures"  # behind the ref of work that keeps its bay after it is done
_OPENING = "opening"


def bays(found: Together, questions: Mapping[str, Question]) -> Table:
    """Give one row for each working day that a piece of work takes a bay."""
    rows = [row for stay in stays(found, questions) for row in _rows(found, stay)]
    return Table(
        title=BAYS,
        columns=(
            Column("day", "Day", CellKind.DATE),
            Column("bay", "Bay", CellKind.INTEGER),
            Column("vehicle", "Vehicle"),
            Column("work", "Work"),
            Column("who", "Who"),
            Column("from", "From"),
            Column("to", "To"),
        ),
        rows=tuple(sorted(rows, key=_place)),
        note="The plan holds that a bay is free for each piece of work; which one is our choice.",
    )


def _place(row: tuple[Cell, ...]) -> tuple[str, str, bool, str]:
    """Order rows by day, bay and hour; what goes on from the day before comes first."""
    day, bay, _, work, _, begin, _ = row
    return str(day), f"{bay:>6}", begin != _OPENING, f"{begin} {work}"


def _rows(found: Together, stay: Stay) -> Iterator[tuple[Cell, ...]]:
    """Write a stay day by day; its cure, where it keeps the bay, as such."""
    lying = stay.lying
    yield from _days(found, stay, (lying.start, lying.end), lying.ref, lying.who or "anybody")
    if stay.end > lying.end:
        yield from _days(found, stay, (lying.end, stay.end), f"{lying.ref}{CURES}", "nobody")


def _days(
    found: Together, stay: Stay, span: tuple[datetime, datetime], work: str, who: str
) -> Iterator[tuple[Cell, ...]]:
    """Write one span of a stay: on working days, with the hours of its first and last day."""
    start, end = span
    day = start.date()
    while datetime.combine(day, time()) < end:
        if found.calendar.works_on(day) or who == "nobody":
            begin = start.strftime("%H:%M") if start.date() == day else _OPENING
            until = end.strftime("%H:%M") if end.date() == day else "closing"
            yield (day, stay.bay, stay.vehicle, work, who, begin, until)
        day += timedelta(days=1)


def grid(table: Table) -> tuple[list[date], dict[int, dict[date, list[tuple[Cell, ...]]]]]:
    """Give the days of a table of bays, and its rows by bay and day."""
    by_bay: dict[int, dict[date, list[tuple[Cell, ...]]]] = {}
    for row in table.rows:
        day, bay = row[0], row[1]
        if isinstance(day, date) and isinstance(bay, int):
            by_bay.setdefault(bay, {}).setdefault(day, []).append(row)
    days = sorted({day for in_bay in by_bay.values() for day in in_bay})
    return days, dict(sorted(by_bay.items()))
