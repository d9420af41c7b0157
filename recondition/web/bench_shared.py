"""What the bench pages share: the clock of whoever asks, the map to tap, when it was pressed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from flask import request

from recondition.amounts import Quantity
from recondition.book import reading
from recondition.book.clocks import open_clock, unrated
from recondition.book.questions import vehicle_of
from recondition.book.roles import Right
from recondition.condition.bodies import body_of
from recondition.condition.findings import severity_words
from recondition.condition.panels import PANELS, Area
from recondition.errors import Refused
from recondition.intake.clocking import moment
from recondition.ledger.clocks import (
    Tick,
    forgotten,
    hands_on,
    hours_and_minutes,
    intervals,
    last_mark,
    started_at,
)
from recondition.reports.panel_map import plan
from recondition.web.forms import made_at, sent
from recondition.web.visit import may, the_book, visit
from recondition.worth.owner import LimitPassed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from recondition.book import Connection
    from recondition.condition.bodies import Body
    from recondition.condition.findings import Finding
    from recondition.condition.vehicle import Vehicle
    from recondition.ledger.clocks import Clock
    from recondition.ledger.drafts import Stored


class BeyondWhatOwnerAllowed(Refused):
    """Work that would pass an owner's limit, said to somebody who sees no money."""

    def __init__(self) -> None:
        """Leave the figures out."""
        super().__init__(
            "the owner has not let so much be done on this car",
            todo="Stop here and tell whoever speaks with the owner; the hours are kept once the "
            "owner has agreed.",
        )


@dataclass(frozen=True, slots=True)
class MyClock:
    """The open clock of whoever asks. ``entry`` is the clock itself, ``stock`` its vehicle's.

    ``asks`` says since when it runs where it looks forgotten, else it is empty; ``unrated`` what
    rate is missing, without which it cannot be stopped.
    """

    ref: str
    stock: str
    entry: Clock
    running: bool
    since: str
    spent: str
    asks: str
    unrated: str

    @property
    def words(self) -> str:
        """What it is on."""
        return self.entry.words


def my_clock(conn: Connection) -> MyClock | None:
    """Give the open clock of whoever asks, None without one."""
    person = reading.author_of(conn, visit().person)
    found = open_clock(conn, person)
    if found is None:
        return None
    now = moment(the_book(), None)
    left = forgotten(found.entry, now)
    began = started_at(found.entry)
    same_day = began[:10] == now[:10]
    return MyClock(
        ref=found.ref,
        stock=reading.names_of(conn, [found.entry.vehicle])[found.entry.vehicle],
        entry=found.entry,
        running=last_mark(found.entry).tick is not Tick.PAUSE,
        since=began[11:16] if same_day else began[:16].replace("T", " "),
        spent=_so_far(found.entry, now),
        asks=left.words if left is not None else "",
        unrated=unrated(conn, found.entry, date.fromisoformat(began[:10])),
    )


def _so_far(clock: Clock, now: str) -> str:
    """Write the time on a clock up to now, pauses left out."""
    if last_mark(clock).tick is Tick.PAUSE:
        return hours_and_minutes(hands_on(clock))
    ran = sum((end - start for start, end in intervals(clock, now)), timedelta())
    return hours_and_minutes(Quantity(Decimal(ran // timedelta(minutes=1)), "min"))


def pressed() -> dict[str, object]:
    """Give when a clock was turned, as ``intake.clocking`` takes it.

    ``ended`` is what somebody says; ``at`` what the device read off its own clock when the
    button was pressed, for the entry may have waited on it for a connection.
    """
    said = sent("ended", "").strip()
    read = sent("at", "").strip()
    return {"at": said or read or None, "read_off": bool(read and not said)}


def day_pressed() -> str:
    """Give the day of an entry: that of the device that kept it, else today."""
    return made_at("at").date().isoformat()


def sent_key() -> str | None:
    """Give the id that the device made for this entry, so that it is entered once."""
    return sent("key", "").strip() or None


def unpriced(refused: Refused) -> Refused:
    """Give a refusal that may be shown to whoever asks: without money where they see none."""
    hidden = isinstance(refused, LimitPassed) and not may(Right.MONEY)
    return BeyondWhatOwnerAllowed() if hidden else refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Car:
    """The car that a page is about, and what may be tapped on it.

    ``rows`` is the plan of tiles, ``elsewhere`` further panels by the name of their group,
    ``findings`` what stands on record, newest first.
    """

    stored: Stored[Vehicle]
    body: Body
    rows: list[tuple[str, str, str]]
    elsewhere: list[tuple[str, tuple[str, ...]]]
    findings: list[Stored[Finding]]

    @property
    def stock(self) -> str:
        """Its stock number."""
        return self.stored.ref

    @property
    def name(self) -> str:
        """Its year, make and model."""
        return self.stored.entry.designation


def car_of(conn: Connection, stock: str) -> Car:
    """Give the car of a page. Raises NotThere."""
    stored = vehicle_of(conn, stock)
    body = body_of(stored.entry.body_style)
    findings = reading.stored(conn, "finding", vehicle=stored.id)
    measured = reading.stored(conn, "film reading", vehicle=stored.id)
    outside = set(PANELS[Area.EXTERIOR])
    known = [each.entry.panel for each in (*findings, *measured) if each.entry.panel in outside]
    rows = plan(body, known)
    placed = {panel for row in rows for panel in row}
    return Car(
        stored=stored, body=body, rows=rows, elsewhere=_elsewhere(body, placed),
        findings=findings[::-1],
    )  # fmt: skip


def _elsewhere(body: Body, placed: set[str]) -> list[tuple[str, tuple[str, ...]]]:
    """Group the panels that have no tile on the plan by area."""
    groups = []
    for area, panels in PANELS.items():
        name = "more of the outside" if area is Area.EXTERIOR else area.value
        groups.append((name, tuple(p for p in panels if body.has(p) and p not in placed)))
    return groups


def finding_words(found: Stored[Finding]) -> str:
    """Say in a line what a finding is."""
    entry = found.entry
    return f"{found.ref} {entry.panel}: {entry.defect}, found as {severity_words(entry.severity)}"


def chosen(name: str, among: Iterable[str]) -> Sequence[str]:
    """Give what was ticked of a list that may hold several; what is not in it is left out."""
    there = set(among)
    return [each for each in request.form.getlist(name) if each in there]
