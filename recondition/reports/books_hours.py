"""Hours paid against hours booked, by person and week; and what came after a close."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from recondition.accounts.hours import Week, monday_of
from recondition.amounts import Money
from recondition.amounts.rounding import round_to
from recondition.book import Connection, reading
from recondition.book.accounting import period_events
from recondition.book.booking import BOOKED, day_booked
from recondition.book.sums import Hours, hours_of
from recondition.ledger.lines import document_day
from recondition.ledger.periods import PeriodStep, month_of
from recondition.ledger.rollup import period_of
from recondition.reports.table import Cell, CellKind, Column, Table

_NUMBER = CellKind.NUMBER
_SIX_DAYS = timedelta(days=6)


def weeks(conn: Connection, period: str | None) -> list[Week]:
    """Give every person's weeks that have hours paid or booked; of one month where it is named.

    A week belongs to the month of its Monday.
    """
    people = reading.refs_by_id(conn, ("person",))
    sums: dict[tuple[str, Any], list[Fraction]] = {}
    paid: dict[tuple[str, Any], Fraction] = {}
    for item in reading.stored(conn, "paid hours"):
        key = people[item.entry.person], item.entry.week
        paid[key] = paid.get(key, Fraction(0)) + Fraction(item.entry.hours.to("h"))
    for each in hours_of(conn):
        key = people[each.person], monday_of(each.day)
        sums.setdefault(key, [Fraction(0)] * 3)[_sort(each)] += each.hours
    made = []
    for who, week in sorted({*sums, *paid}):
        if period is not None and month_of(week) != period:
            continue
        jobs, rework, shop = sums.get((who, week), [Fraction(0)] * 3)
        there = paid.get((who, week))
        made.append(
            Week(person=who, week=week, paid=None if there is None else round_to(there, 2),
                 jobs=round_to(jobs + rework, 2), rework=round_to(rework, 2),
                 overhead=round_to(shop, 2))
        )  # fmt: skip
    return made


def _sort(each: Hours) -> int:
    """Say what hours were for: 0 a job, 1 rework, 2 the shop."""
    return 1 if each.rework else 2 if each.vehicle is None else 0


def of_week(conn: Connection, person: str, week: date) -> list[Table]:
    """Give the lines behind the hours of a person in the week of a day. Raises NotThere."""
    own = reading.id_of(conn, "person", person)
    cars = reading.refs_by_id(conn, ("vehicle",))
    monday = monday_of(week)
    found = {each.line: each for each in hours_of(conn, own, (monday, monday + _SIX_DAYS))}
    rows: list[tuple[Cell, ...]] = []
    sums = [Fraction(0)] * 3
    for line in reading.stored(conn, "labour", "reversal", ids=list(found)):
        each = found[line.id]
        words = getattr(line.entry, "why", None) or line.entry.words
        sums[_sort(each)] += each.hours
        rows.append((line.ref, line.kind, each.day, cars.get(each.vehicle or ""),
                     words, *_in_columns(_sort(each), each.hours)))  # fmt: skip
    columns = (
        Column("line", "Line"),
        Column("kind", "What"),
        Column("day", "Day", CellKind.DATE),
        Column("vehicle", "Vehicle"),
        Column("words", "Words"),
        Column("jobs", "On jobs, h", _NUMBER),
        Column("rework", "of which rework, h", _NUMBER),
        Column("overhead", "For the shop, h", _NUMBER),
    )
    jobs, rework, shop = sums
    total = ("all", None, None, None, None,
             *(round_to(each, 2) for each in (jobs + rework, rework, shop)))  # fmt: skip
    lines = Table(f"Hours of {person}, week of {monday}", columns, tuple(rows), "", total)
    paid = _paid_in(conn, own, monday)
    return [lines, paid] if paid.rows else [lines]


def _paid_in(conn: Connection, person: str, monday: date) -> Table:
    """Give the records of the hours that a person was paid for in a week."""
    found = [
        item
        for item in reading.stored(conn, "paid hours")
        if (item.entry.person, item.entry.week) == (person, monday)
    ]
    rows = tuple(
        (item.ref, item.kind, round_to(Fraction(item.entry.hours.to("h")), 2)) for item in found
    )
    columns = (Column("ref", "Ref"), Column("kind", "What"), Column("paid", "Paid, h", _NUMBER))
    return Table("Paid hours", columns, rows)


def _in_columns(sort: int, hours: Fraction) -> tuple[Cell, ...]:
    """Put hours under what they were for; those of rework are hours on jobs too."""
    shown = round_to(hours, 2)
    return (
        (shown, None, None) if sort == 0 else (shown, shown, None) if sort == 1
        else (None, None, shown)
    )  # fmt: skip


def hours(conn: Connection, period: str | None) -> list[Table]:
    """Give hours paid, on jobs, reworked and left over, by person and week."""
    found = weeks(conn, period)
    rows = tuple(
        (w.person, w.week, w.paid, w.jobs, w.rework, w.overhead, w.unallocated) for w in found
    )
    columns = (
        Column("person", "Person"),
        Column("week", "Week of", CellKind.DATE),
        Column("paid", "Paid, h", _NUMBER),
        Column("jobs", "On jobs, h", _NUMBER),
        Column("rework", "of which rework, h", _NUMBER),
        Column("overhead", "For the shop, h", _NUMBER),
        Column("left", "Left over, h", _NUMBER),
    )
    known = [w for w in found if w.unallocated is not None]
    total = (
        "all", None, _sum(w.paid for w in known) if known else None,
        _sum(w.jobs for w in found), _sum(w.rework for w in found),
        _sum(w.overhead for w in found), _sum(w.unallocated for w in known) if known else None,
    )  # fmt: skip
    note = "Paid = on jobs + for the shop + left over, where paid hours are entered."
    return [Table("Hours by person and week", columns, rows, note, total)]


def _sum(numbers: Any) -> Decimal:  # noqa: ANN401 - any iterable of numbers
    """Add numbers up, without those that are not there."""
    return sum((each for each in numbers if each is not None), Decimal(0))


def late(conn: Connection, refs: tuple[str, ...], period: str | None) -> list[Table]:
    """Give what was booked after its own month was closed, by whom, when, and why."""
    by = reading.refs_by_id(conn, ("person",)).get
    vehicles = reading.refs_by_id(conn, ("vehicle",))
    rows: list[tuple[Cell, ...]] = []
    by_id = {each.id: each for each in reading.lines(conn)}
    for each in by_id.values():
        booked = period_of(each)
        first = by_id.get(each.reverses or "", each)
        own = month_of(document_day(first.entry))
        if own >= booked:
            continue
        car = vehicles.get(each.subject.removeprefix("vehicle:"))
        why = getattr(each.entry, "why", None) or each.entry.words
        rows.append((booked, own, each.kind, each.ref, car, _amount(each), by(each.author),
                     each.recorded_on, why))  # fmt: skip
    kinds = ("supplier invoice", "payment", "sale", "owner invoice", "value test", "receipt",
             "late freight", "supplier return", "stock reversal", "entry reversal")  # fmt: skip
    for item in reading.stored(conn, *kinds):
        own = month_of(day_booked(item.entry))
        if item.booked is None or own >= item.booked.period or not isinstance(item.entry, BOOKED):
            continue
        words = getattr(item.entry, "why", None) or getattr(item.entry, "words", None)
        car = vehicles.get(getattr(item.entry, "vehicle", None) or "")
        rows.append((item.booked.period, own, item.kind, item.ref, car, _moved(item),
                     by(item.author), item.recorded_on, words))  # fmt: skip
    rows += [
        (e.entry.period, e.entry.period, "period reopened", e.ref, None, None, by(e.author),
         e.recorded_on, e.entry.why)
        for e in period_events(conn)
        if e.entry.step is PeriodStep.REOPENED
    ]  # fmt: skip
    kept = [
        row for row in rows if period in (None, row[0], row[1]) and (not refs or row[4] in refs)
    ]
    kept.sort(key=lambda row: (str(row[0]), str(row[7]), str(row[3])))
    columns = (
        Column("booked", "Booked in"),
        Column("own", "Belongs to"),
        Column("kind", "What"),
        Column("ref", "Ref"),
        Column("vehicle", "Vehicle"),
        Column("cost", "Amount", CellKind.MONEY),
        Column("by", "By"),
        Column("at", "Entered", CellKind.DATE),
        Column("why", "Why, or what"),
    )
    note = (
        "Each belongs to an earlier month than the one it is booked in: that month was closed by "
        "then, or the later one was named, or what it takes back is of that month. A closed month "
        "takes nothing more; one that was opened again is listed too."
    )
    return [Table("Booked in a later month", columns, tuple(kept), note)]


def _moved(item: Any) -> Any:  # noqa: ANN401 - a Stored entry of the books
    """Give the amount on the document of what was booked, None where it has none of its own."""
    names = ("total", "price", "amount", "credit")
    found = (getattr(item.entry, name, None) for name in names)
    return next((each for each in found if isinstance(each, Money)), None)


def _amount(line: Any) -> Any:  # noqa: ANN401 - a Stored line
    """Give what a line cost."""
    return line.priced.cost if line.priced else None
