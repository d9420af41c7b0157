"""Posting periods: months that are open until they are closed, and named events between.

A closed month takes no more lines. What happened in it and comes later goes to the first open
month after it, with its own day visible (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from recondition.amounts import Money
from recondition.errors import Refused
from recondition.fields import Id, Words


class PeriodStep(StrEnum):
    """What happened to a period."""

    CLOSED = "closed"
    REOPENED = "reopened"


@dataclass(frozen=True, slots=True, kw_only=True)
class Accrual:
    """Sublet work that is back and not yet invoiced, at the price quoted for it."""

    order: Id
    vehicle: Id
    received_on: date
    amount: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodEvent:
    """A period closed or reopened, by whom and why.

    On closing, ``journal`` is the canonical text of its journal, ``map_version`` the hash of
    the account map it was made with, ``debits`` the sum of debits (and of credits), ``heads`` a
    hash over all chain heads of that moment; ``accruals`` are reversed in the next period.
    """

    period: str
    step: PeriodStep
    why: Words
    map_version: str | None = None
    journal: str | None = None
    debits: Money | None = None
    heads: str | None = None
    accruals: tuple[Accrual, ...] = ()


class PeriodClosed(Refused):
    """Something would go into a closed period."""

    def __init__(self, period: str, open_one: str) -> None:
        """Name the period and the next open one."""
        super().__init__(
            f"period {period} is closed and takes nothing more",
            todo=f"Leave the period empty: it then goes to {open_one}, with its own day visible.",
        )


class PeriodTooEarly(Refused):
    """Something would be booked in a month before its own day, or before what it takes back."""

    def __init__(self, period: str, earliest: str) -> None:
        """Name the period and the first that fits."""
        super().__init__(
            f"period {period} lies before {earliest}, to which this belongs",
            todo=f"Name {earliest} or a later month, or leave the period empty.",
        )


class PeriodNotInOrder(Refused):
    """A period is closed before one that lies before it, or reopened before a later one."""

    def __init__(self, period: str, first: str, step: PeriodStep) -> None:
        """Name the period and the one to be seen to first."""
        verb = "closed" if step is PeriodStep.CLOSED else "reopened"
        other = "still open and has postings" if step is PeriodStep.CLOSED else "closed"
        super().__init__(
            f"period {period} cannot be {verb} while {first} is {other}",
            todo=f"See to {first} first: 'recondition period list' shows them all.",
        )


class PeriodIsSo(Refused):
    """A period that is closed or open already."""

    def __init__(self, period: str, state: str) -> None:
        """Name the period and its state."""
        super().__init__(
            f"period {period} is {state} already", todo="'recondition period list' shows them all."
        )


class NotAPeriod(Refused):
    """A period that is not written as year and month."""

    exit_status = 2

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(f"{found!r} is not a period", todo="Write it as 2031-03.")


def check_period(text: str) -> str:
    """Give a period as written if it is one. Raises NotAPeriod."""
    try:
        date.fromisoformat(f"{text}-01")
    except ValueError:
        raise NotAPeriod(text) from None
    return text


def month_of(day: date) -> str:
    """Give the month of a day as YYYY-MM."""
    return day.isoformat()[: len("YYYY-MM")]


def next_month(period: str) -> str:
    """Give the month after a period."""
    return month_of(first_day(period) + timedelta(days=31))


def first_day(period: str) -> date:
    """Give the first day of a period."""
    return date.fromisoformat(f"{period}-01")


def last_day(period: str) -> date:
    """Give the last day of a period."""
    return first_day(next_month(period)) - timedelta(days=1)


def first_open(period: str, closed: Collection[str]) -> str:
    """Give a period, or the first one after the last that is closed.

    Months before a closed one are closed with it, since what stands at its end rests on them.
    """
    last = max(closed, default="")
    return next_month(last) if period <= last else period


def booking_period(
    wanted: str | None, day: date, closed: Collection[str], *, not_before: str = ""
) -> str:
    """Give the period that something of a day goes to.

    The one named, else that of the day or the first open one after it. ``not_before`` is the
    period of what is taken back. Raises PeriodClosed for one that is named and closed, and
    PeriodTooEarly for one before the day or before what is taken back.
    """
    earliest = max(month_of(day), not_before)
    if wanted is None:
        return first_open(earliest, closed)
    if first_open(wanted, closed) != wanted:
        raise PeriodClosed(wanted, first_open(earliest, closed))
    if wanted < earliest:
        raise PeriodTooEarly(wanted, earliest)
    return wanted
