"""What stands open on each vehicle, counted by the database, and where its records' refs lead."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, exists, func, select

from recondition.amounts import Money
from recondition.book.sorting import by_bytes
from recondition.book.tables import candidate, chain_head, entity, finding, line, outcome
from recondition.book.tables import vehicle as cars
from recondition.book.tables_books import entry_reversal
from recondition.book.tables_stock import clock, ordered
from recondition.book.tables_worth import sale
from recondition.ledger.chain import SHOP
from recondition.worth.estimates import CandidateState
from recondition.worth.track import SaleResult

_OPEN = (CandidateState.OPEN.value, CandidateState.STARTED.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One vehicle: what stands open on it, and what was posted on it.

    ``findings`` have not ended, ``work`` is candidate work that is open or begun, ``orders`` are
    on their way, ``clocks`` are not stopped.
    """

    ref: str
    designation: str
    holding: str
    sold: bool
    findings: int
    work: int
    orders: int
    clocks: int
    cost: Money


def standing_of_all(conn: Connection, currency: str) -> list[Standing]:
    """Give every vehicle with what stands open on it, by stock number."""
    open_items = [_counted(conn, query) for query in (_findings(), _work(), _orders(), _clocks())]
    costs, sold = _costs(conn), _sold(conn)
    query = (
        select(entity.c.id, entity.c.ref, cars.c.designation, cars.c.holding)
        .join(cars, cars.c.record_id == entity.c.current)
        .where(entity.c.kind == "vehicle")
        .order_by(by_bytes(entity.c.ref))
    )
    made = []
    for row in conn.execute(query):
        findings, work, orders, clocks = (counts.get(row.id, 0) for counts in open_items)
        made.append(
            Standing(
                ref=row.ref, designation=row.designation, holding=row.holding,
                sold=row.id in sold, findings=findings, work=work, orders=orders, clocks=clocks,
                cost=Money(costs.get(row.id, 0), currency),
            )
        )  # fmt: skip
    return made


def _counted(conn: Connection, query: Select[Any]) -> dict[str, int]:
    """Give the counts of a query by vehicle."""
    return {row[0]: int(row[1]) for row in conn.execute(query)}


def _findings() -> Select[Any]:
    """Count findings without an ending."""
    ended = exists().where(outcome.c.finding == entity.c.id)
    return (
        select(finding.c.vehicle, func.count())
        .join(entity, (entity.c.current == finding.c.record_id) & (entity.c.kind == "finding"))
        .where(~ended)
        .group_by(finding.c.vehicle)
    )


def _work() -> Select[Any]:
    """Count candidate work that is open or begun in its newest version."""
    of_kind = (entity.c.current == candidate.c.record_id) & (entity.c.kind == "candidate")
    return (
        select(candidate.c.vehicle, func.count())
        .join(entity, of_kind)
        .where(candidate.c.state.in_(_OPEN))
        .group_by(candidate.c.vehicle)
    )


def _orders() -> Select[Any]:
    """Count what is ordered and neither here nor sent back."""
    return (
        select(ordered.c.vehicle, func.count())
        .join(entity, (entity.c.current == ordered.c.record_id) & (entity.c.kind == "order"))
        .where(ordered.c.ordered_on.is_not(None), ordered.c.received_on.is_(None))
        .where(ordered.c.returned_on.is_(None))
        .group_by(ordered.c.vehicle)
    )


def _clocks() -> Select[Any]:
    """Count clocks that are not stopped."""
    return (
        select(clock.c.vehicle, func.count())
        .join(entity, (entity.c.current == clock.c.record_id) & (entity.c.kind == "clock"))
        .where(clock.c.stopped.is_not(True))
        .group_by(clock.c.vehicle)
    )


def _costs(conn: Connection) -> dict[str, int]:
    """Add up what was posted on each vehicle, in minor units."""
    query = (
        select(line.c.vehicle, func.sum(line.c.cost_minor))
        .where(line.c.vehicle.is_not(None))
        .group_by(line.c.vehicle)
    )
    return {row[0]: int(row[1]) for row in conn.execute(query)}


def _sold(conn: Connection) -> set[str]:
    """Give the vehicles with a sale that was not taken back."""
    query = (
        select(sale.c.vehicle)
        .where(sale.c.result == SaleResult.SOLD.value)
        .where(sale.c.record_id.not_in(select(entry_reversal.c.reverses)))
    )
    return set(conn.execute(query).scalars())


def kinds_by_ref(conn: Connection, vehicle: str) -> dict[str, str]:
    """Give the kind of each record of a vehicle's chain by its ref; refs of two kinds are left."""
    query = select(entity.c.ref, entity.c.kind).where(entity.c.subject == f"vehicle:{vehicle}")
    found: dict[str, str] = {}
    twice: set[str] = set()
    for row in conn.execute(query):
        if found.setdefault(row.ref, row.kind) != row.kind:
            twice.add(row.ref)
    return {ref: kind for ref, kind in found.items() if ref not in twice}


def state_of(conn: Connection, vehicle: str) -> str:
    """Give a hash that changes with every entry that may bear on a vehicle's decision.

    These are the entries of its own chain, of the shop's and of the products'.
    """
    subjects = chain_head.c.subject
    query = (
        select(subjects, chain_head.c.count, chain_head.c.hash)
        .where(subjects.in_([SHOP, f"vehicle:{vehicle}"]) | subjects.like("product:%"))
        .order_by(by_bytes(subjects))
    )
    digest = hashlib.sha256()
    for row in conn.execute(query):
        digest.update(f"{row.subject} {row.count} {row.hash}\n".encode())
    return digest.hexdigest()
