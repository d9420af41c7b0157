"""The clock of a person at work: started, paused, taken up again, stopped.

Moments are ISO 8601 with their zone and are compared as instants, so that a clock that runs
over a change of the hour, or into another zone, counts what went by and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from recondition.amounts import Quantity
from recondition.amounts.rounding import round_half_away, round_to
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.lines import Labour, Link, Rework, Unlinked

DAY_HOURS = 24
_FORGOTTEN_AFTER = timedelta(hours=12)  # common practice, no source
_LONGEST = 31 * DAY_HOURS
_WRITTEN_TO_H = Fraction(1, 200)  # hours are written with two decimals: half of the last one


class Tick(StrEnum):
    """What somebody did to a clock."""

    START = "start"
    PAUSE = "pause"
    RESUME = "resume"
    STOP = "stop"


class EndsBeforeItStarts(Refused):
    """A clock, or a stretch of work, that ends before it starts."""

    def __init__(self, what: str, start: str, end: str) -> None:
        """Name it and both moments."""
        super().__init__(
            f"{what} would end at {end}, and it began at {start}",
            todo="Correct one of the two moments.",
        )


class ClockNotSo(Refused):
    """A clock is to be turned in a way that its state does not allow."""

    def __init__(self, called: str, state: str, since: str) -> None:
        """Name the clock, how it stands and since when."""
        super().__init__(
            f"clock {called} is {state} since {since}",
            todo="'recondition clock show' says what can be done with it.",
        )


class MomentWithoutZone(Refused):
    """Text that is no moment, or a moment that does not say in which zone."""

    def __init__(self, found: str) -> None:
        """Show the moment."""
        super().__init__(
            f"{found!r} is no moment with a zone", todo="Write it as 2031-03-04T16:05-05:00."
        )


class HalfAStretch(Refused):
    """A start without an end, or an end without a start."""

    def __init__(self) -> None:
        """Say that both are needed."""
        super().__init__(
            "the line says when the work started or ended, and not both",
            todo="Give both moments, or neither.",
        )


class LongerThanItsStretch(Refused):
    """More hands-on time than passed by the clock."""

    def __init__(self, hours: str, stretch: str) -> None:
        """Show both."""
        super().__init__(
            f"{hours} do not fit into {stretch} by the clock",
            todo="Correct the hours, the start or the end.",
        )


class MoreThanADay(Refused):
    """More hours of one person on one day than a day has."""

    def __init__(self, person: str, day: date, hours: str, before: str) -> None:
        """Name person and day, what would stand and what stands."""
        super().__init__(
            f"{person} would have {hours} hours on {day.isoformat()}, {before} of them posted "
            "before",
            todo=f"A day has {DAY_HOURS}: correct the hours, the day or the person. A line that "
            "sums several days says when they started and ended.",
        )


class NotATime(Refused):
    """A length of time below zero, or longer than any job."""

    def __init__(self, what: str, found: str) -> None:
        """Name it and what was given."""
        super().__init__(
            f"the {what} are given as {found}",
            todo=f"Give what was needed, from 0 to {_LONGEST} h.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One turn of a clock. ``at`` is ISO 8601 with zone; ``afterwards`` where it was told later."""

    tick: Tick
    at: str
    afterwards: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """One stretch of work of one person on one vehicle; each mark is a new version.

    ``dropped`` says why it ended without a line.
    """

    vehicle: Id
    person: Id
    words: Words
    marks: tuple[Mark, ...]
    operation: str | None = None
    panel: str | None = None
    candidate: Id | None = None
    links: tuple[Link, ...] = ()
    unlinked: Unlinked | None = None
    rework: Rework | None = None
    film_removal: Quantity | None = None
    override: Words | None = None
    stopped: bool = False
    dropped: Words | None = None


@dataclass(frozen=True, slots=True)
class Forgotten:
    """A clock that looks left running: since when, how long, and the words that ask."""

    since: str
    ran: Quantity
    words: str


def instant(text: str) -> datetime:
    """Read a moment. Raises MomentWithoutZone."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise MomentWithoutZone(text) from None
    if found.tzinfo is None:
        raise MomentWithoutZone(text)
    return found


def last_mark(clock: Clock) -> Mark:
    """Give the newest mark of a clock."""
    return clock.marks[-1]


def started_at(clock: Clock) -> str:
    """Give the moment a clock was started."""
    return clock.marks[0].at


_AFTER = {
    Tick.PAUSE: (Tick.START, Tick.RESUME),
    Tick.RESUME: (Tick.PAUSE,),
    Tick.STOP: (Tick.START, Tick.PAUSE, Tick.RESUME),
}
_STATE = {
    Tick.START: "running",
    Tick.RESUME: "running",
    Tick.PAUSE: "paused",
    Tick.STOP: "stopped",
}


def turn(clock: Clock, mark: Mark, *, called: str) -> Clock:
    """Add a mark to a clock. Raises ClockNotSo, EndsBeforeItStarts, MomentWithoutZone."""
    last = last_mark(clock)
    if last.tick not in _AFTER.get(mark.tick, ()):
        raise ClockNotSo(called, _STATE[last.tick], last.at)
    if instant(mark.at) < instant(last.at):
        what = f"clock {called}"
        raise EndsBeforeItStarts(what, last.at, mark.at)
    stopped = mark.tick is Tick.STOP
    return replace(clock, marks=(*clock.marks, mark), stopped=stopped)


def intervals(clock: Clock, until: str | None = None) -> tuple[tuple[datetime, datetime], ...]:
    """Give the hands-on stretches of a clock; one that runs ends at ``until``, if given."""
    found: list[tuple[datetime, datetime]] = []
    began: datetime | None = None
    for mark in clock.marks:
        if mark.tick in (Tick.START, Tick.RESUME):
            began = instant(mark.at)
        elif began is not None:
            found.append((began, instant(mark.at)))
            began = None
    if began is not None and until is not None:
        found.append((began, max(began, instant(until))))
    return tuple(found)


def hands_on(clock: Clock) -> Quantity:
    """Give the time a clock ran, pauses left out, in whole minutes, rounded once."""
    return _minutes(sum((end - began for began, end in intervals(clock)), timedelta()))


def elapsed(clock: Clock) -> Quantity:
    """Give the time from a clock's start to its last mark, in whole minutes, rounded once."""
    return _minutes(instant(last_mark(clock).at) - instant(started_at(clock)))


def _minutes(time: timedelta) -> Quantity:
    """Give a length of time in whole minutes."""
    seconds = Fraction(time // timedelta(microseconds=1), 1_000_000)
    return Quantity(Decimal(round_half_away(seconds / 60)), "min")


def hours_and_minutes(time: Quantity) -> str:
    """Write a length of time as ``2 h 35 min``."""
    hours, minutes = divmod(round_half_away(time.to("min")), 60)
    parts = [f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(minutes or not hours)
    return " ".join(parts)


def forgotten(clock: Clock, now: str) -> Forgotten | None:
    """Tell whether a clock looks left running: 12 hours at a stretch, or from another day.

    Common practice, no source. It is asked about, never stopped by itself.
    """
    last = last_mark(clock)
    if last.tick in (Tick.STOP, Tick.PAUSE):
        return None
    began, ends = instant(last.at), instant(now)
    another_day = ends.astimezone(began.tzinfo).date() > began.date()
    if ends - began <= _FORGOTTEN_AFTER and not another_day:
        return None
    ran = _minutes(ends - began)
    since = last.at[:16].replace("T", " ")
    return Forgotten(last.at, ran, f"has run for {hours_and_minutes(ran)} since {since}")


def check_times(entry: Labour) -> None:
    """Refuse a labour line whose times contradict each other.

    Raises HalfAStretch, EndsBeforeItStarts, LongerThanItsStretch, NotATime.
    """
    kinds = (("hands-on hours", entry.quantity), ("bay hours", entry.bay),
             ("clock hours", entry.elapsed), ("billed hours", entry.billed_time))  # fmt: skip
    for what, time in kinds:
        if time is not None and not 0 <= time.to("h") <= _LONGEST:
            raise NotATime(what, str(time))
    if entry.elapsed is not None and _longer(entry.quantity, entry.elapsed):
        raise LongerThanItsStretch(str(entry.quantity), hours_and_minutes(entry.elapsed))
    if (entry.started_at is None) != (entry.ended_at is None):
        raise HalfAStretch
    if entry.started_at is None or entry.ended_at is None:
        return
    stretch = instant(entry.ended_at) - instant(entry.started_at)
    if stretch < timedelta():
        what = "the work"
        raise EndsBeforeItStarts(what, entry.started_at, entry.ended_at)
    whole = _minutes(stretch)
    for time in (entry.quantity, entry.elapsed):
        if time is not None and _longer(time, whole):
            raise LongerThanItsStretch(str(time), hours_and_minutes(whole))


def _longer(time: Quantity, stretch: Quantity) -> bool:
    """Tell whether a time is longer than a stretch, beyond the hundredth it is written to."""
    return time.to("h") > stretch.to("h") + _WRITTEN_TO_H


def check_day(person: str, day: date, before: Fraction, hours: Fraction) -> None:
    """Refuse more than 24 hands-on hours of a person on one day. Raises MoreThanADay."""
    whole = before + hours
    if whole > DAY_HOURS:
        raise MoreThanADay(person, day, _told(whole), _told(before))


def _told(hours: Fraction) -> str:
    """Write hours with as many decimals as they need, two at most."""
    return f"{round_to(hours, 2).normalize():f}"
