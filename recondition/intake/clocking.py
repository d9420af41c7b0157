"""The clock as the bench turns it: texts in, words out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from recondition.book import clocks, reading
from recondition.book.again import again
from recondition.book.posting import Poster
from recondition.errors import Refused
from recondition.intake.beside import said_beside
from recondition.intake.form import draft_of
from recondition.intake.identity import next_ref
from recondition.ledger.clocks import (
    Clock,
    Tick,
    elapsed,
    forgotten,
    hands_on,
    hours_and_minutes,
    instant,
    last_mark,
    started_at,
)
from recondition.ledger.rules import KeyReused

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.ledger.drafts import Stored

_CLOCKS, _LINES = "CK-", "L-"


class NotAMoment(Refused):
    """A moment that is not written as one."""

    exit_status = 2

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(
            f"{found!r} is not a moment",
            where="--at",
            todo="Write 17:30 for today, or 2031-03-04T17:30; a zone may follow, as -05:00.",
        )


class ClockAhead(Refused):
    """A clock is turned at a moment that has not come."""

    def __init__(self, found: str) -> None:
        """Show the moment."""
        super().__init__(f"{found} has not come yet", where="--at", todo="Give a moment past.")


def moment(book: Book, text: str | None, day: str = "") -> str:
    """Read a moment; without a zone it is the shop's own, without a day today's or that ``day``.

    Now, where there is none. Raises NotAMoment, ClockAhead.
    """
    now = book.now().astimezone()
    if not text:
        return now.isoformat(timespec="seconds")
    day = day or now.date().isoformat()
    full = f"{day}T{text}" if "-" not in text and "T" not in text else text
    try:
        found = datetime.fromisoformat(full.replace(" ", "T"))
    except ValueError:
        raise NotAMoment(text) from None
    if found.tzinfo is None:
        found = found.astimezone()
    if found > now:
        raise ClockAhead(found.isoformat(timespec="minutes"))
    return found.isoformat(timespec="seconds")


@dataclass(frozen=True, slots=True)
class Press:
    """When a clock is turned, and the idempotency key under which that counts once.

    ``at`` is a moment in words, None for now. ``read_off`` says that a device read it off its
    own clock as the button was pressed: it is no moment that somebody told later, and one that
    lies a little ahead of the shop's clock is now.
    """

    at: str | None = None
    key: str | None = None
    read_off: bool = False

    @property
    def told(self) -> bool:
        """Whether somebody told the moment."""
        return self.at is not None and not self.read_off

    def moment(self, book: Book) -> str:
        """Give the moment. Raises NotAMoment, ClockAhead."""
        try:
            return moment(book, self.at)
        except ClockAhead:
            if not self.read_off:
                raise
            return moment(book, None)

    def before(self, conn: Connection, book: Book, tick: Tick, person: str) -> Stored[Clock] | None:
        """Give the clock as an earlier try with the same key left it, None where there was none.

        Raises KeyReused where that was another turn, of somebody else, or at another moment.
        """
        found = clocks.turned_with(conn, self.key, tick) if self.key else None
        if found is None or self.key is None:
            return None
        last = last_mark(found.entry)
        same = not (self.told and instant(moment(book, self.at, last.at[:10])) != instant(last.at))
        if found.entry.person != person or not same:
            raise KeyReused(self.key, f"clock {found.ref} ({tick.value} at {last.at})")
        return found


@again
def start(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    values: Mapping[str, str],
    *,
    author_ref: str,
    at: str | None,
    key: str | None = None,
    read_off: bool = False,
) -> str:
    """Start a clock on a vehicle; ``values`` are fields of the sheet labour, without hours.

    The same again under the same ``key`` is there already; for ``read_off`` see Press.
    """
    press = Press(at, key, read_off)
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        before = press.before(conn, book, Tick.START, person)
        if before is not None:
            return _started_before(conn, before, values, key)
        began = press.moment(book)
        row = {"work_date": began[:10], "person": author_ref, "quantity": "1 min"} | dict(values)
        poster = Poster(book, conn, person)
        labour = draft_of(conn, "labour", row, ref="clock").entry
        ref = next_ref(_CLOCKS, reading.all_refs(conn, "clock"))
        verdict = clocks.start(poster, ref, labour, began, told=press.told, key=key)
        missing = clocks.unrated(conn, labour, date.fromisoformat(began[:10]))
    said = [f"clock {ref}: started at {began[11:16]} on {values['vehicle']}"]
    told = (*verdict.told, *([missing] if missing else []))
    return "\n".join([*said, *said_beside(told, verdict.reminders)])


def _started_before(
    conn: Connection, before: Stored[Clock], values: Mapping[str, str], key: str | None
) -> str:
    """Say that a clock was started by an earlier try. Raises KeyReused where it was another."""
    vehicle = reading.refs_by_id(conn, ("vehicle",))[before.entry.vehicle]
    words = values.get("words", "")
    if vehicle != values["vehicle"] or words.strip() != before.entry.words.strip():
        raise KeyReused(key or "", f"clock {before.ref} on {vehicle}: {before.entry.words}")
    began = started_at(before.entry)
    return f"clock {before.ref}: already there, started at {began[11:16]} on {vehicle}"


@again
def turn(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    tick: Tick,
    *,
    author_ref: str,
    at: str | None,
    key: str | None = None,
    read_off: bool = False,
) -> str:
    """Pause the open clock, or take it up again; for ``key`` and ``read_off`` see ``start``."""
    press = Press(at, key, read_off)
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        turned, there = press.before(conn, book, tick, person), "already there, "
        if turned is None:
            when, there = press.moment(book), ""
            poster = Poster(book, conn, person)
            turned = clocks.mark(conn, poster, person, tick, when, told=press.told, key=key)
    done = "paused" if tick is Tick.PAUSE else "running again"
    return f"clock {turned.ref}: {there}{done}, {hours_and_minutes(hands_on(turned.entry))} so far"


@again
def stop(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    *,
    author_ref: str,
    at: str | None,
    override: str | None = None,
    key: str | None = None,
    read_off: bool = False,
) -> tuple[str, str | None]:
    """Stop the open clock; its hours become a labour line. Give words, and the vehicle's id.

    ``override`` is the reason for work that the film or a caution would stop; for ``key`` and
    ``read_off`` see ``start``.
    """
    press = Press(at, key, read_off)
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        stopped, there = press.before(conn, book, Tick.STOP, person), "already there, "
        if stopped is None:
            when, there = press.moment(book), ""
            line = next_ref(_LINES, reading.all_refs(conn, "labour"))
            stopped = clocks.stop(conn, Poster(book, conn, person), person, when, told=press.told,
                line_ref=line, override=override, key=key,
            )  # fmt: skip
        else:
            line = _line_of(conn, stopped, key or "")
    with book.reading() as conn:
        posted = reading.one(conn, "labour", line)
    cost = f", {posted.priced.cost} {posted.priced.cost.currency}" if posted.priced else ""
    spent, clocked = (
        hours_and_minutes(hands_on(stopped.entry)),
        hours_and_minutes(elapsed(stopped.entry)),
    )
    words = f"labour {line}: {there}{spent} hands-on, {clocked} by the clock{cost}"
    return words, posted.entry.vehicle if posted.entry.candidate else None


def _line_of(conn: Connection, stopped: Stored[Clock], key: str) -> str:
    """Give the ref of the line that the stop with a key posted. Raises KeyReused where none."""
    line = reading.made_with(conn, clocks.line_key(key))
    if line is None:  # it was dropped with that key
        raise KeyReused(key, f"clock {stopped.ref}, dropped")
    return line.ref


@again
def drop(book: Book, why: str, *, author_ref: str, key: str | None = None) -> str:
    """Drop the open clock without a line; the reason stays on record. For ``key`` see ``start``."""
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        dropped, there = Press(None, key).before(conn, book, Tick.STOP, person), "already there, "
        if dropped is None:
            when, there = moment(book, None), ""
            dropped = clocks.drop(conn, Poster(book, conn, person), person, when, why, key=key)
        elif dropped.entry.dropped != why:
            raise KeyReused(key or "", f"clock {dropped.ref}, {_ended(dropped.entry)}")
    return f"clock {dropped.ref}: {there}dropped, no hours were posted"


def _ended(clock: Clock) -> str:
    """Say how a clock that stands ended."""
    return f"dropped because {clock.dropped}" if clock.dropped else "stopped"


def shown(book: Book) -> list[tuple[str, str, str, str, str]]:
    """Say of every open clock: ref, person, vehicle, what it is on, and how it stands."""
    now = moment(book, None)
    with book.reading() as conn:
        refs = reading.refs_by_id(conn, ("person", "vehicle"))
        rows = []
        for found in clocks.open_clocks(conn):
            entry = found.entry
            left = forgotten(entry, now)
            last = last_mark(entry)
            state = "paused since" if last.tick is Tick.PAUSE else "running since"
            stands = f"{state} {last.at[:16].replace('T', ' ')}"
            if left is not None:
                stands += f"; forgotten? It {left.words}"
            began = started_at(entry)[:10]
            rows.append((found.ref, refs.get(entry.person, ""), refs.get(entry.vehicle, ""),
                         f"{entry.words} ({began})", stands))  # fmt: skip
    return rows
