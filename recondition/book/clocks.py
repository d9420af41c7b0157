"""Clocks in the book: the open one of a person, its turns, and the line it ends in."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import Connection, select

from recondition.book import reading
from recondition.book.context import Context
from recondition.book.posting import Poster
from recondition.book.reversing import WhyNeeded
from recondition.book.tables import entity
from recondition.book.tables_stock import clock as clock_table
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.clocks import (
    Clock,
    Mark,
    Tick,
    elapsed,
    forgotten,
    hands_on,
    last_mark,
    started_at,
    turn,
)
from recondition.ledger.drafts import Draft, Stored
from recondition.ledger.jobsheet import Verdict
from recondition.ledger.lines import (
    PURPOSE_OF_LOSS,
    PURPOSE_OF_UNLINKED,
    HoursTaken,
    Labour,
    Loss,
    Payer,
    Purpose,
    Standing,
)
from recondition.ledger.rules import KeyReused, check_line


class NoOpenClock(Refused):
    """A clock is to be turned, and the person has none open."""

    def __init__(self, person: str) -> None:
        """Name the person."""
        super().__init__(
            f"{person} has no clock open",
            todo="Start one with 'recondition clock start', or enter the hours with "
            "'recondition post labour'.",
        )


class ForgottenClock(Refused):
    """A clock that was left running; only the person knows when the work ended."""

    def __init__(self, ref: str, words: str) -> None:
        """Name the clock and how long it has run."""
        super().__init__(
            f"clock {ref} {words}",
            todo="Was it forgotten? Say when the work ended or paused, with --at 17:30 or "
            "--at 2031-03-04T17:30; --at with the time now if it ran all along.",
        )


class NothingClocked(Refused):
    """A clock stopped before half a minute of work was on it."""

    def __init__(self, ref: str) -> None:
        """Name the clock."""
        super().__init__(
            f"clock {ref} has less than half a minute on it",
            todo="Let it run, or drop it with 'recondition clock drop WHY'.",
        )


def open_clock(conn: Connection, person: str) -> Stored[Clock] | None:
    """Give a person's open clock, None where there is none."""
    return next(iter(open_clocks(conn, person)), None)


def open_clocks(conn: Connection, person: str | None = None) -> list[Stored[Clock]]:
    """List every open clock, or those of one person."""
    query = (
        select(entity.c.id)
        .join(clock_table, clock_table.c.record_id == entity.c.current)
        .where(entity.c.kind == "clock", clock_table.c.stopped.is_not(True))
    )
    if person is not None:
        query = query.where(clock_table.c.person == person)
    return reading.stored(conn, "clock", ids=list(conn.execute(query).scalars()))


def turned_with(conn: Connection, key: str, tick: Tick) -> Stored[Clock] | None:
    """Give a clock as the turn with an idempotency key left it; None where no turn has the key.

    Raises KeyReused where another turn, or something else, has it.
    """
    found = reading.made_with(conn, key)
    if found is None:
        return None
    if found.kind != "clock" or last_mark(found.entry).tick is not tick:
        raise KeyReused(key, f"{found.kind} {found.ref}")
    return found


def line_key(key: str) -> str:
    """Give the key of the line that the stop with a key posts."""
    return f"{key}:line"


def unrated(conn: Connection, clock: Clock | Labour, day: date) -> str:
    """Say which rate is missing that the hours of a clock need when it is stopped, '' if none."""
    look = Context(conn)
    rate, who = look.rate(clock.person, day), look.person(clock.person)
    owner_pays = clock.rework is None or clock.rework.payer is Payer.OWNER
    bills = owner_pays and look.consigned(clock.vehicle)
    if rate is not None and not (bills and rate.charge_out_rate is None):
        return ""
    missing = "cost rate" if rate is None else "charge-out rate"
    return (
        f"no {missing} of {who} holds on {day.isoformat()}: the dealer or bookkeeper has to enter "
        "one before this clock is stopped"
    )


def start(  # noqa: PLR0913 - each is a separate choice of the caller
    poster: Poster, ref: str, labour: Labour, at: str, *, told: bool, key: str | None = None
) -> Verdict:
    """Start a clock on what a labour row says; give what the rules of the trade say of it.

    The row is checked like any line, so that work which would be stopped at posting is stopped
    before it begins. Raises ClockRunsAlready and what posting names.
    """
    check_line(labour, consigned=True)
    verdict = poster.judge(labour)
    if labour.vehicle is None:
        message = "a clock runs on a vehicle"
        raise ValueError(message)
    entry = Clock(
        vehicle=labour.vehicle,
        person=labour.person,
        words=labour.words,
        marks=(Mark(tick=Tick.START, at=at, afterwards=told),),
        operation=labour.operation,
        panel=labour.panel,
        candidate=labour.candidate,
        links=labour.links,
        unlinked=labour.unlinked,
        rework=labour.rework,
        film_removal=labour.film_removal,
        override=labour.override,
    )
    poster.post(Draft(id=uuid.uuid4().hex, kind="clock", ref=ref, entry=entry, key=key))
    return verdict


def mark(  # noqa: PLR0913 - each is a separate choice of the caller
    conn: Connection,
    poster: Poster,
    person: str,
    tick: Tick,
    at: str,
    *,
    told: bool,
    key: str | None = None,
) -> Stored[Clock]:
    """Pause or take up again; ``told`` where the moment was given and not read off the clock.

    Raises NoOpenClock, ForgottenClock and what ``ledger.clocks.turn`` names.
    """
    found = open_clock(conn, person)
    if found is None:
        raise NoOpenClock(reading.refs_by_id(conn, ("person",)).get(person, person))
    left = None if told else forgotten(found.entry, at)
    if left is not None:
        raise ForgottenClock(found.ref, left.words)
    turned = turn(found.entry, Mark(tick=tick, at=at, afterwards=told), called=found.ref)
    poster.post(Draft(id=found.id, kind="clock", ref=found.ref, entry=turned, key=key))
    return replace(found, entry=turned)


def stop(  # noqa: PLR0913 - each is a separate choice of the caller
    conn: Connection,
    poster: Poster,
    person: str,
    at: str,
    *,
    told: bool,
    line_ref: str,
    override: str | None = None,
    key: str | None = None,
) -> Stored[Clock]:
    """Stop a person's clock and post its hours as a labour line under ``line_ref``.

    Raises NoOpenClock, ForgottenClock, NothingClocked and what posting names.
    """
    stopped = mark(conn, poster, person, Tick.STOP, at, told=told, key=key)
    hours = hands_on(stopped.entry)
    if not hours:
        raise NothingClocked(stopped.ref)
    entry = _labour(conn, stopped, at)
    if override:
        entry = replace(entry, override=Words(override))
    of_line = line_key(key) if key else None
    poster.post(Draft(id=uuid.uuid4().hex, kind="labour", ref=line_ref, entry=entry, key=of_line))
    return stopped


def drop(  # noqa: PLR0913 - each is a separate choice of the caller
    conn: Connection, poster: Poster, person: str, at: str, why: str, *, key: str | None = None
) -> Stored[Clock]:
    """End a person's clock without a line. Raises NoOpenClock, WhyNeeded."""
    if not why.strip():
        raise WhyNeeded
    found = open_clock(conn, person)
    if found is None:
        raise NoOpenClock(reading.refs_by_id(conn, ("person",)).get(person, person))
    turned = turn(found.entry, Mark(tick=Tick.STOP, at=at), called=found.ref)
    dropped = replace(turned, dropped=Words(why))
    poster.post(Draft(id=found.id, kind="clock", ref=found.ref, entry=dropped, key=key))
    return replace(found, entry=dropped)


def _labour(conn: Connection, stopped: Stored[Clock], at: str) -> Labour:
    """Turn a stopped clock into the line of its hours."""
    clock = stopped.entry
    told = any(each.afterwards for each in clock.marks)
    rule = reading.settings_of(conn).loss_rule
    purpose = PURPOSE_OF_UNLINKED[clock.unlinked] if clock.unlinked else Purpose.RECONDITIONING
    if clock.rework is not None:
        owner = clock.rework.payer is Payer.OWNER
        purpose = PURPOSE_OF_LOSS[Loss.NORMAL if owner else rule]
    return Labour(
        vehicle=clock.vehicle,
        work_date=datetime.fromisoformat(started_at(clock)).date(),
        words=Words(clock.words),
        links=clock.links,
        unlinked=clock.unlinked,
        purpose=purpose,
        standing=Standing.MEASURED,
        panel=clock.panel,
        operation=clock.operation,
        candidate=clock.candidate,
        rework=clock.rework,
        person=clock.person,
        quantity=hands_on(clock),
        elapsed=elapsed(clock),
        taken=HoursTaken.AFTERWARDS if told else HoursTaken.BY_THE_CLOCK,
        started_at=started_at(clock),
        ended_at=at,
        clock=Id(stopped.id),
        film_removal=clock.film_removal,
        override=clock.override,
    )
