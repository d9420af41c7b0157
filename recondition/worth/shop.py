"""Who works in the shop, when and where, and the rule by which a plan is laid out in time."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from recondition.worth.calendar import Calendar


class LayingOut(StrEnum):
    """How work is laid out in time.

    Under ``serial blocks`` one piece follows another: its delivery, then its hours stretched
    over the clock (24 hours for each shift), then its cure.
    """

    CALENDAR = "shop calendar"
    SERIAL_BLOCKS = "serial blocks"


class Reading(StrEnum):
    """Which reading of an estimate a limit, or the time wall, is held against."""

    MEAN = "mean"
    LIKELY = "likely"
    HIGH = "high"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """Somebody who works: ``hours_a_day`` from opening on; None is the whole shift."""

    name: str
    skills: frozenset[str] = frozenset()
    hours_a_day: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """The place where the work is done.

    Where nobody is named, each bay has one pair of hands for the whole shift, able to do
    anything. A job takes one bay and one pair of hands; two jobs on one vehicle at once take two.
    """

    calendar: Calendar = field(default_factory=Calendar)
    hands: tuple[Hand, ...] = ()
    bays: int = 1
    laying_out: LayingOut = LayingOut.CALENDAR
    time_reading: Reading = Reading.HIGH
    limit_reading: Reading = Reading.MEAN

    @property
    def working(self) -> tuple[Hand, ...]:
        """Give those who work, nameless ones where nobody is named."""
        return self.hands or tuple(Hand(name="") for _ in range(self.bays))

    def can(self, skills: tuple[str, ...]) -> tuple[int, ...]:
        """Give the places of those who have every skill asked for, whatever its capitals."""
        if not self.hands:
            return tuple(range(self.bays))
        asked = {skill.casefold() for skill in skills}
        return tuple(
            place
            for place, hand in enumerate(self.hands)
            if asked <= {skill.casefold() for skill in hand.skills}
        )
