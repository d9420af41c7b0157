"""The clock as the bench turns it: texts in, words out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from recondition.book import clocks, reading
from recondition.book.again import again
from recondition.book.posting import Poster
from recondition.errors import Refused
from recondition.intake.beside import said_beside
from recondition.intake.form import draft_of
from recondition.intake.identity import next_ref
from recondition.ledger.clocks import (
    Tick,
    elapsed,
    forgotten,
    hands_on,
    hours_and_minutes,
    last_mark,
    started_at,
)

if TYPE_CHECKING:
    from recondition.book.engine import Book

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


def moment(book: Book, text: str | None) -> str:
    """Read a moment; without a zone it is the shop's own. Now, where there is none.

    Raises NotAMoment, ClockAhead.
    """
    now = book.now().astimezone()
    if not text:
        return now.isoformat(timespec="seconds")
    day = now.date().isoformat()
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


@again
def start(book: Book, values: Mapping[str, str], *, author_ref: str, at: str | None) -> str:
    """Start a clock on a vehicle; ``values`` are fields of the sheet labour, without hours."""
    began = moment(book, at)
    row = {"work_date": began[:10], "person": author_ref, "quantity": "1 min"} | dict(values)
    with book.writing() as conn:
        poster = Poster(book, conn, reading.author_of(conn, author_ref))
        labour = draft_of(conn, "labour", row, ref="clock").entry
        ref = next_ref(_CLOCKS, reading.all_refs(conn, "clock"))
        verdict = clocks.start(poster, ref, labour, began, told=at is not None)
    said = [f"clock {ref}: started at {began[11:16]} on {values['vehicle']}"]
    return "\n".join([*said, *said_beside(verdict.told, verdict.reminders)])


@again
def turn(book: Book, tick: Tick, *, author_ref: str, at: str | None) -> str:
    """Pause the open clock, or take it up again."""
    when = moment(book, at)
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        poster = Poster(book, conn, person)
        turned = clocks.mark(conn, poster, person, tick, when, told=at is not None)
    done = "paused" if tick is Tick.PAUSE else "running again"
    return f"clock {turned.ref}: {done}, {hours_and_minutes(hands_on(turned.entry))} so far"


@again
def stop(
    book: Book, *, author_ref: str, at: str | None, override: str | None = None
) -> tuple[str, str | None]:
    """Stop the open clock; its hours become a labour line. Give words, and the vehicle's id.

    ``override`` is the reason for work that the film or a caution would stop.
    """
    when = moment(book, at)
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        poster = Poster(book, conn, person)
        line = next_ref(_LINES, reading.all_refs(conn, "labour"))
        stopped = clocks.stop(conn, poster, person, when, told=at is not None, line_ref=line,
            override=override,
        )  # fmt: skip
    with book.reading() as conn:
        posted = reading.one(conn, "labour", line)
    cost = f", {posted.priced.cost} {posted.priced.cost.currency}" if posted.priced else ""
    spent, clocked = (
        hours_and_minutes(hands_on(stopped.entry)),
        hours_and_minutes(elapsed(stopped.entry)),
    )
    words = f"labour {line}: {spent} hands-on, {clocked} by the clock{cost}"
    return words, posted.entry.vehicle if posted.entry.candidate else None


@again
def drop(book: Book, why: str, *, author_ref: str) -> str:
    """Drop the open clock without a line; the reason stays on record."""
    when = moment(book, None)
    with book.writing() as conn:
        person = reading.author_of(conn, author_ref)
        dropped = clocks.drop(conn, Poster(book, conn, person), person, when, why)
    return f"clock {dropped.ref}: dropped, no hours were posted"


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
