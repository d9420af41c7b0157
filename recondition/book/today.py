"""The day's list of one vehicle, read from a book; what is judged stands in ``worth.today``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection, select

from recondition.amounts.exact import as_fraction
from recondition.book import reading
from recondition.book.questions import vehicle_of
from recondition.book.shelf import on_hand_of
from recondition.book.surfaces import SHEET_KINDS, job_sheet
from recondition.book.tables import entity
from recondition.condition.findings import Finding
from recondition.condition.vehicle import Holding, Vehicle
from recondition.ledger.approvals import Answer
from recondition.ledger.clocks import instant
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Labour, Reversal
from recondition.ledger.orders import Order
from recondition.materials.on_shelf import trouble
from recondition.worth.estimates import Candidate, CandidateState
from recondition.worth.owner import answers
from recondition.worth.today import Day, Todo, Worked, not_chosen, todays
from recondition.worth.track import Decision

_KINDS = (*SHEET_KINDS, "decision", "order", "approval", "change request")


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """The day's list of a vehicle. ``findings`` are the vehicle's, by id.

    ``decision`` is the one that says what was chosen, None where none was frozen; ``others`` are
    the refs of open work that it leaves out. ``done`` is work that is over.
    """

    vehicle: Stored[Vehicle]
    todos: tuple[Todo, ...]
    findings: dict[str, Stored[Finding]]
    decision: Stored[Decision] | None
    others: tuple[str, ...]
    done: tuple[Stored[Candidate], ...]


def today_of(conn: Connection, stock: str, now: datetime) -> Today:
    """Give the day's list of a vehicle at a moment with its zone. Raises NotThere."""
    vehicle = vehicle_of(conn, stock)
    records = reading.stored(conn, *_KINDS, vehicle=vehicle.id)
    found = reading.by_kind(records, _KINDS)
    decision = next(reversed(found["decision"]), None)
    candidates = {item.id: item.entry for item in found["candidate"]}
    refs = {item.id: item.ref for item in found["candidate"]}
    zone = now.tzinfo
    day = Day(
        sheet=job_sheet(conn, vehicle.id, records=records),
        candidates=candidates,
        refs=refs,
        now=now,
        chosen=frozenset(decision.entry.chosen) if decision is not None else None,
        worked=_worked(reading.lines_among(records), zone),
        orders=_orders(found["order"]),
        owner=_owner(vehicle, refs, found),
        shelf=_shelf(conn, candidates.values(), now.date()),
        no_touch=frozenset(p.entry.panel for p in found["panel"] if p.entry.no_touch),
    )
    return Today(
        vehicle=vehicle,
        todos=todays(day),
        findings={item.id: item for item in found["finding"]},
        decision=decision,
        others=not_chosen(day),
        done=tuple(c for c in found["candidate"] if c.entry.state is CandidateState.DONE),
    )


def _worked(lines: Iterable[Stored[Any]], zone: tzinfo | None) -> dict[str, Worked]:
    """Give the hours of each piece of candidate work, and when its last standing line ended."""
    found: dict[str, Worked] = {}
    for line in lines:
        entry = line.entry
        if isinstance(entry, Reversal) or line.reversed_by or not entry.candidate:
            continue
        hours = as_fraction(entry.quantity.to("h")) if isinstance(entry, Labour) else Fraction(0)
        ended = _ended(line, zone)
        was = found.get(entry.candidate, Worked(Fraction(0), ended))
        found[entry.candidate] = Worked(was.hours + hours, max(was.ended, ended))
    return found


def _ended(line: Stored[Any], zone: tzinfo | None) -> datetime:
    """Give when the work of a line was over: as stated, else when it was recorded.

    What was recorded on a later day was over at the end of its own day.
    """
    stated = getattr(line.entry, "ended_at", None)
    if stated:
        return instant(stated)
    midnight = datetime.combine(line.entry.work_date + timedelta(days=1), time(), zone)
    return min(instant(line.recorded_at), midnight)


def _orders(found: Iterable[Stored[Order]]) -> dict[str, tuple[tuple[str, Order], ...]]:
    """Give the orders of each piece of candidate work with their refs."""
    by_candidate: dict[str, tuple[tuple[str, Order], ...]] = {}
    for each in found:
        if each.entry.candidate:
            before = by_candidate.get(each.entry.candidate, ())
            by_candidate[each.entry.candidate] = (*before, (each.ref, each.entry))
    return by_candidate


def _owner(
    vehicle: Stored[Vehicle], refs: dict[str, str], found: Mapping[str, list[Stored[Any]]]
) -> dict[str, str]:
    """Say of each piece of work why the owner's word on it is missing.

    An owner who was asked about nothing yet has left the work to the shop.
    """
    if vehicle.entry.holding is not Holding.CONSIGNED:
        return {}
    said = answers(found["approval"])
    missing: dict[str, str] = {}
    for item in refs if said else ():
        if item not in said:
            missing[item] = "the owner has not approved it"
        elif said[item] is Answer.DECLINED:
            missing[item] = "the owner declined it"
    for request in found["change request"]:
        asked = f"waits for the owner's answer: asked on {request.entry.asked_on.isoformat()}"
        for item in request.entry.candidates:
            if item not in said:
                missing[item] = f"{asked} ({request.ref})"
    return missing


def _shelf(conn: Connection, candidates: Iterable[Candidate], today: date) -> dict[str, str]:
    """Say of each product that candidate work would use what is wrong with it, if anything."""
    wanted = sorted({str(product) for each in candidates for product in each.products})
    if not wanted:
        return {}
    containers = reading.stored(conn, "container")
    receipts = reading.stored(conn, "receipt", ids=_receipts(conn, wanted))
    found = {}
    for product in reading.stored(conn, "product", ids=wanted):
        words = trouble(
            product.entry,
            on_hand_of(conn, product.id),
            {c.ref: c.entry for c in containers if c.entry.product == product.id},
            {r.id: r.entry for r in receipts if r.entry.product == product.id},
            today,
        )
        if words:
            found[product.id] = words
    return found


def _receipts(conn: Connection, products: list[str]) -> list[str]:
    """Give the ids of every delivery of some products."""
    subjects = [f"product:{product}" for product in products]
    query = select(entity.c.id).where(entity.c.kind == "receipt", entity.c.subject.in_(subjects))
    return list(conn.execute(query).scalars())
