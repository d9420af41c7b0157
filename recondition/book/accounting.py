"""The journal of a book, its account map, and the standing closes of its periods."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import replace

from sqlalchemy import Connection, select

from recondition.accounts.chart import Chart, MappedAccount
from recondition.accounts.facts import (
    AccrualFact,
    Facts,
)
from recondition.accounts.journal import Entry, Journal, Leg
from recondition.book import reading
from recondition.book.facts import UndoneBy, holdings, line_facts, stock_facts
from recondition.book.facts_paid import (
    invoice_facts,
    owner_invoice_facts,
    payment_facts,
    sale_facts,
    value_facts,
)
from recondition.book.tables import line
from recondition.ledger.drafts import Stored
from recondition.ledger.periods import Accrual, PeriodEvent, PeriodStep


def facts_of(conn: Connection, events: list[Stored[PeriodEvent]]) -> Facts:
    """Read everything the journal is derived from; ``events`` happened to its periods."""
    consigned, undone = holdings(conn), UndoneBy(conn)
    stock = tuple(stock_facts(conn))
    return Facts(
        lines=line_facts(conn, consigned),
        line_periods=frozenset(conn.execute(select(line.c.period).distinct()).scalars()),
        stock=stock,
        invoices=tuple(invoice_facts(conn, undone, stock)),
        payments=tuple(payment_facts(conn, undone)),
        sales=tuple(sale_facts(conn, undone, consigned)),
        owner_invoices=tuple(owner_invoice_facts(conn, undone)),
        values=tuple(value_facts(conn, undone)),
        accruals=tuple(_accruals(conn, events, consigned)),
        names=reading.refs_by_id(conn, ("vehicle", "supplier")),
    )


def period_events(conn: Connection) -> list[Stored[PeriodEvent]]:
    """Give what happened to periods, in order."""
    return sorted(reading.stored(conn, "period event"), key=lambda item: item.sequence)


def closings(events: list[Stored[PeriodEvent]]) -> dict[str, Stored[PeriodEvent]]:
    """Give the standing close of each closed period."""
    found: dict[str, Stored[PeriodEvent]] = {}
    for item in events:
        if item.entry.step is PeriodStep.CLOSED:
            found[item.entry.period] = item
        else:
            found.pop(item.entry.period, None)
    return found


def _accruals(
    conn: Connection, events: list[Stored[PeriodEvent]], consigned: Mapping[str, bool]
) -> Iterator[AccrualFact]:
    """Give the accruals of the periods that are closed."""
    names = reading.refs_by_id(conn, ("order",))
    for period, item in closings(events).items():
        for each in item.entry.accruals:
            yield _accrual(each, period, names, consigned)


def _accrual(
    each: Accrual, period: str, names: Mapping[str, str], consigned: Mapping[str, bool]
) -> AccrualFact:
    """Give one accrual as the journal takes it."""
    return AccrualFact(
        ref=names.get(each.order, each.order),
        vehicle=each.vehicle,
        consigned=consigned[each.vehicle],
        happened=each.received_on.isoformat(),
        period=period,
        amount=each.amount.minor,
    )


def chart_of(conn: Connection) -> Chart:
    """Give the account map of a book."""
    rows: list[MappedAccount] = [item.entry for item in reading.stored(conn, "account")]
    return Chart(rows)


def journal_of(conn: Connection, closing: tuple[str, tuple[Accrual, ...]] | None = None) -> Journal:
    """Give the journal of a book, with the frozen entries of its closed periods.

    ``closing`` are the period that is being closed and its accruals.
    """
    events = period_events(conn)
    frozen = {
        period: thawed(period, item.entry.journal or "[]")
        for period, item in closings(events).items()
    }
    facts = facts_of(conn, events)
    if closing is not None:
        names, consigned = reading.refs_by_id(conn, ("order",)), holdings(conn)
        more = tuple(_accrual(each, closing[0], names, consigned) for each in closing[1])
        facts = replace(facts, accruals=(*facts.accruals, *more))
    return Journal(facts, chart_of(conn), frozen)


def thawed(period: str, text: str) -> tuple[Entry, ...]:
    """Read the entries of a closed period from their canonical text."""
    return tuple(
        Entry(
            number=found["number"],
            period=period,
            day=found["day"],
            document=found["document"],
            memo=found["memo"],
            legs=tuple(
                Leg(
                    role=leg["role"],
                    code=leg["code"],
                    name=leg["name"],
                    vehicle=leg.get("vehicle"),
                    amount=int(leg["amount"]),
                    parts=tuple((part[0], int(part[1])) for part in leg.get("parts", ())),
                )
                for leg in found["legs"]
            ),
        )
        for found in json.loads(text)
    )
