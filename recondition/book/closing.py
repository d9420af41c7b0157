"""Closing and reopening posting periods; each is an event by a named person, with its reason."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

import rfc8785
from sqlalchemy import Connection, select

from recondition.accounts.journal import Entry
from recondition.amounts import Money
from recondition.book import reading
from recondition.book.accounting import chart_of, closings, journal_of, period_events
from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.posting import Poster
from recondition.book.reversing import WhyNeeded
from recondition.book.tables import line
from recondition.fields import Id, Words
from recondition.ledger.drafts import Draft
from recondition.ledger.orders import Ordered
from recondition.ledger.periods import (
    Accrual,
    PeriodEvent,
    PeriodIsSo,
    PeriodNotInOrder,
    PeriodStep,
    check_period,
    last_day,
)

if TYPE_CHECKING:
    from recondition.ledger.codec import Plain


def frozen(entries: Iterable[Entry]) -> str:
    """Write entries as canonical text (RFC 8785, every number a string)."""
    plain: list[Plain] = [
        {
            "number": entry.number,
            "day": entry.day,
            "document": entry.document,
            "memo": entry.memo,
            "legs": [
                {"role": leg.role, "code": leg.code, "name": leg.name, "amount": str(leg.amount)}
                | ({"vehicle": leg.vehicle} if leg.vehicle else {})
                | ({"parts": [[role, str(part)] for role, part in leg.parts]} if leg.parts else {})
                for leg in entry.legs
            ],
        }
        for entry in entries
    ]
    return rfc8785.dumps(plain).decode()


def accruals_due(conn: Connection, period: str) -> tuple[Accrual, ...]:
    """Give sublet work that was back by the end of a period and has no line yet.

    It stands at the price quoted for it; without a quote nothing can be accrued.
    """
    end = last_day(period)
    query = select(line.c.order).where(
        line.c.order.is_not(None), line.c.period <= period, line.c.reverses.is_(None)
    )
    query = query.where(
        line.c.record_id.not_in(select(line.c.reverses).where(line.c.reverses.is_not(None)))
    )
    billed = set(conn.execute(query).scalars())
    return tuple(
        Accrual(
            order=Id(item.id),
            vehicle=item.entry.vehicle,
            received_on=item.entry.received_on,
            amount=item.entry.quoted,
        )
        for item in sorted(reading.stored(conn, "order"), key=lambda item: item.ref)
        if item.entry.what is Ordered.SUBLET
        and item.entry.quoted
        and item.entry.received_on is not None
        and item.entry.received_on <= end
        and item.entry.returned_on is None
        and item.id not in billed
    )


@again
def close(book: Book, period: str, why: str, *, author_ref: str) -> PeriodEvent:
    """Close a period and freeze its journal with the account map it was made with.

    Raises NotAPeriod, WhyNeeded, UnknownAuthor, PeriodIsSo, PeriodNotInOrder.
    """
    check_period(period)
    if not why.strip():
        raise WhyNeeded
    with book.writing(alone=True) as conn:
        author = reading.author_of(conn, author_ref)
        standing = closings(period_events(conn))
        if period in standing:
            raise PeriodIsSo(period, "closed")
        earlier = sorted(p for p in used_periods(conn) if p < period and p not in standing)
        if earlier:
            raise PeriodNotInOrder(period, earlier[0], PeriodStep.CLOSED)
        poster = Poster(book, conn, author)
        accrued = accruals_due(conn, period)
        currency = reading.settings_of(conn).currency
        entries = _entries_of(conn, period, accrued)
        heads = "".join(head.hash for head in reading.heads(conn))
        event = PeriodEvent(
            period=period,
            step=PeriodStep.CLOSED,
            why=Words(why),
            map_version=chart_of(conn).version(last_day(period).isoformat()),
            journal=frozen(entries),
            debits=Money(sum(entry.debits for entry in entries), currency),
            heads=hashlib.sha256(heads.encode()).hexdigest(),
            accruals=accrued,
        )
        _post(poster, conn, event)
    return event


@again
def reopen(book: Book, period: str, why: str, *, author_ref: str) -> None:
    """Reopen a closed period, the last one first.

    Raises NotAPeriod, WhyNeeded, UnknownAuthor, PeriodIsSo, PeriodNotInOrder.
    """
    check_period(period)
    if not why.strip():
        raise WhyNeeded
    with book.writing(alone=True) as conn:
        author = reading.author_of(conn, author_ref)
        standing = closings(period_events(conn))
        if period not in standing:
            raise PeriodIsSo(period, "open")
        later = sorted((p for p in standing if p > period), reverse=True)
        if later:
            raise PeriodNotInOrder(period, later[0], PeriodStep.REOPENED)
        event = PeriodEvent(period=period, step=PeriodStep.REOPENED, why=Words(why))
        _post(Poster(book, conn, author), conn, event)


def used_periods(conn: Connection) -> set[str]:
    """Give the periods that anything is booked in."""
    return {entry.period for entry in journal_of(conn).entries()}


def _entries_of(conn: Connection, period: str, accrued: tuple[Accrual, ...]) -> list[Entry]:
    """Give the entries of a period that is being closed, with its accruals."""
    journal = journal_of(conn, closing=(period, accrued))
    return [entry for entry in journal.entries() if entry.period == period]


def _post(poster: Poster, conn: Connection, event: PeriodEvent) -> None:
    """Post an event under the period's name and its number."""
    number = 1 + sum(1 for item in period_events(conn) if item.entry.period == event.period)
    ref = f"{event.period} {event.step.value} {number}"
    poster.post(Draft(id=uuid.uuid4().hex, kind="period event", ref=ref, entry=event))


def states(conn: Connection, today: date) -> list[tuple[str, str, int]]:
    """Give every period that is used or closed with its state and the sum of its debits.

    In the order of time; the month of ``today`` is among them.
    """
    sums: dict[str, int] = {today.isoformat()[:7]: 0}
    for entry in journal_of(conn).entries():
        sums[entry.period] = sums.get(entry.period, 0) + entry.debits
    closed = closings(period_events(conn))
    for period in closed:
        sums.setdefault(period, 0)
    return [
        (period, "closed" if period in closed else "open", sums[period]) for period in sorted(sums)
    ]
