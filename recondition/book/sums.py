"""Sums that the database makes itself, for books of any size. Amounts are minor units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection, func, select

from recondition.accounts.facts import InvoiceKey, invoice_key
from recondition.accounts.reconciling import Taken
from recondition.amounts import Quantity
from recondition.book import reading
from recondition.book.facts import on_account, stock_facts
from recondition.book.scope import Scope
from recondition.book.sorting import by_bytes
from recondition.book.tables import entity, line, record, share
from recondition.book.tables_stock import movement
from recondition.ledger.items import BOUGHT_FOR
from recondition.ledger.lines import LineKind, Purpose

THE_SHOP = "(the shop)"  # no stock number has this form: brackets and a blank
THE_STOCK = "(stock)"


@dataclass(frozen=True, slots=True)
class Summed:
    """Lines of one vehicle (its id, None for the shop) and purpose, added up."""

    vehicle: str | None
    purpose: str
    cost: int
    billed: int
    lines: int


def by_vehicle_and_purpose(
    conn: Connection, period: str | None = None, *, exactly: str | None = None
) -> list[Summed]:
    """Add lines up by vehicle and purpose, up to a period or of exactly one."""
    query = select(
        line.c.vehicle,
        line.c.purpose,
        func.sum(line.c.cost_minor).label("cost"),
        func.coalesce(func.sum(line.c.billed_minor), 0).label("billed"),
        func.count().label("lines"),
    )
    if period is not None:
        query = query.where(line.c.period <= period)
    if exactly is not None:
        query = query.where(line.c.period == exactly)
    query = query.group_by(line.c.vehicle, line.c.purpose)
    return [
        Summed(row.vehicle, row.purpose, int(row.cost), int(row.billed), row.lines)
        for row in conn.execute(query)
    ]


def issued_to_lines(conn: Connection, period: str | None = None) -> int:
    """Add up what lines cost that came from stock, up to a period where one is named."""
    query = select(func.coalesce(func.sum(line.c.cost_minor), 0)).join(
        movement, movement.c.source == line.c.record_id
    )
    if period is not None:
        query = query.where(line.c.period <= period)
    return int(conn.execute(query).scalar_one())


def tax_by_code(conn: Connection, period: str | None) -> list[tuple[str, int, int, int, int]]:
    """Add up tax on lines by code: code, net, tax, what comes back, lines."""
    paid, back = func.sum(line.c.tax_minor), func.sum(line.c.tax_recovered_minor)
    query = (
        select(line.c.tax_code, func.sum(line.c.cost_minor).label("cost"), paid.label("tax"),
               back.label("back"), func.count().label("lines"))
        .where(line.c.tax_code.is_not(None))
        .group_by(line.c.tax_code)
        .order_by(by_bytes(line.c.tax_code))
    )  # fmt: skip
    if period is not None:
        query = query.where(line.c.period == period)
    return [
        (r.tax_code, int(r.cost) - int(r.tax) + int(r.back), int(r.tax), int(r.back), r.lines)
        for r in conn.execute(query)
    ]


def lines_with_tax(conn: Connection, code: str, period: str | None) -> list[tuple[Any, ...]]:
    """Give every line with a tax code: ref, kind, vehicle, day, invoice, net, tax, back, cost."""
    names = reading.refs_by_id(conn, ("vehicle",))
    query = (
        select(entity.c.ref, entity.c.kind.label("named"), line)
        .join(entity, entity.c.id == line.c.record_id)
        .where(line.c.tax_code == code)
        .order_by(line.c.work_date, by_bytes(entity.c.ref))
    )
    if period is not None:
        query = query.where(line.c.period == period)
    found = [
        (r.ref, r.named, names.get(r.vehicle, THE_SHOP),
         r.work_date if r.reverses else r.tax_point or r.work_date, r.invoice_number,
         r.cost_minor - r.tax_minor + r.tax_recovered_minor, r.tax_minor, r.tax_recovered_minor,
         r.tax_minor - r.tax_recovered_minor)
        for r in conn.execute(query)
    ]  # fmt: skip
    return sorted(found, key=lambda row: row[3])


def purchases(conn: Connection) -> dict[str, tuple[str, str | None, str | None]]:
    """Give day, invoice number and seller's ref of the purchase of each vehicle, by its id."""
    names = reading.refs_by_id(conn, ("supplier",))
    query = (
        select(line.c.vehicle, line.c.work_date, line.c.tax_point, line.c.invoice_number,
               line.c.supplier)
        .join(record, record.c.id == line.c.record_id)
        .where(line.c.item == BOUGHT_FOR[0].value, line.c.purpose == Purpose.LANDED)
        .where(line.c.reverses.is_(None))
        .order_by(line.c.work_date, record.c.sequence)
    )  # fmt: skip
    found: dict[str, tuple[str, str | None, str | None]] = {}
    for row in conn.execute(query):
        day = row.tax_point or row.work_date
        found.setdefault(row.vehicle, (day, row.invoice_number, names.get(row.supplier)))
    return found


def taken_from_invoices(conn: Connection) -> dict[InvoiceKey, tuple[Taken, ...]]:
    """Give what lines and receipts took from each invoice, by supplier and number."""
    names = reading.refs_by_id(conn, ("vehicle",))
    found: dict[InvoiceKey, list[Taken]] = {}
    query = (
        select(entity.c.ref, line.c.supplier, line.c.invoice_number, line.c.vehicle,
               line.c.cost_minor, line.c.tax_recovered_minor)
        .join(entity, entity.c.id == line.c.record_id)
        .where(line.c.supplier.is_not(None), line.c.invoice_number.is_not(None), on_account())
        .order_by(line.c.work_date, by_bytes(entity.c.ref))
    )  # fmt: skip
    for row in conn.execute(query):
        key = invoice_key(row.supplier, row.invoice_number)
        car = names.get(row.vehicle, THE_SHOP)
        amount = row.cost_minor + (row.tax_recovered_minor or 0)
        if key is not None:
            found.setdefault(key, []).append(
                Taken(ref=row.ref, number=row.invoice_number, vehicle=car, amount=amount)
            )
    for fact in stock_facts(conn):
        if fact.invoice is not None:
            took = fact.owed + fact.tax_recovered
            each = Taken(ref=fact.ref, number=fact.number or "", vehicle=THE_STOCK, amount=took)
            found.setdefault(fact.invoice, []).append(each)
    return {key: tuple(each) for key, each in found.items()}


@dataclass(frozen=True, slots=True)
class Worked:
    """What the lines of one piece of candidate work came to; ``other`` is without labour."""

    hours: Fraction
    cost: int
    other: int
    lines: int


def by_candidate(conn: Connection) -> dict[str, Worked]:
    """Add lines up by the candidate work they carry out."""
    query = select(
        line.c.candidate, line.c.kind, line.c.cost_minor, line.c.quantity_number,
        line.c.quantity_unit,
    ).where(line.c.candidate.is_not(None))  # fmt: skip
    found: dict[str, Worked] = {}
    for row in conn.execute(query):
        before = found.get(row.candidate, Worked(Fraction(0), 0, 0, 0))
        labour = row.kind == LineKind.LABOUR
        hours = (
            Quantity(Decimal(row.quantity_number), row.quantity_unit).to("h")
            if labour and row.quantity_number is not None
            else 0
        )
        found[row.candidate] = Worked(
            before.hours + Fraction(hours),
            before.cost + row.cost_minor,
            before.other + (0 if labour else row.cost_minor),
            before.lines + 1,
        )
    return found


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours that a line books or takes back, which are below zero; the rest is the labour's own.

    ``line`` is the id of that line, ``person`` and ``vehicle`` are ids, ``vehicle`` None for the
    shop.
    """

    line: str
    person: str
    day: date
    vehicle: str | None
    rework: bool
    hours: Fraction


def hours_of(
    conn: Connection, person: str | None = None, days: tuple[date, date] | None = None
) -> Iterator[Hours]:
    """Give the hours of every line of labour; of one person, or from a day to another."""
    back = line.alias("back")
    own = (line.c.person, line.c.work_date, line.c.vehicle, line.c.rework_of, line.c.reverses,
           line.c.quantity_number, line.c.quantity_unit)  # fmt: skip
    for query, sign in (
        (select(line.c.record_id, *own), 1),
        (select(back.c.record_id, *own).join(back, back.c.reverses == line.c.record_id), -1),
    ):
        kept = query.where(line.c.kind == LineKind.LABOUR)
        if person is not None:
            kept = kept.where(line.c.person == person)
        if days is not None:
            first, last = (day.isoformat() for day in days)
            kept = kept.where(line.c.work_date.between(first, last))
        for row in conn.execute(kept):
            if row.reverses is not None:  # it takes back by the day of the line that it reverses
                continue
            hours = Quantity(Decimal(row.quantity_number), row.quantity_unit).to("h")
            yield Hours(row.record_id, row.person, date.fromisoformat(row.work_date), row.vehicle,
                        rework=row.rework_of is not None, hours=sign * Fraction(hours))  # fmt: skip


def by_finding(conn: Connection) -> dict[str, int]:
    """Add up what each finding bears of lines."""
    query = select(share.c.finding, func.sum(share.c.cost_minor).label("cost"))
    return {row.finding: int(row.cost) for row in conn.execute(query.group_by(share.c.finding))}


@dataclass(frozen=True, slots=True)
class Shared:
    """What one finding bears of one line: their refs, and the vehicle's id."""

    line: str
    finding: str
    vehicle: str
    weight: str
    cost: int
    billed: int | None


def shares(conn: Connection, scope: Scope) -> Iterator[Shared]:
    """Give what findings bear of the lines of a scope."""
    about, head = entity.alias("about"), record.alias("head")
    query = (
        select(
            entity.c.ref,
            about.c.ref.label("about"),
            line.c.vehicle,
            share.c.weight,
            share.c.cost_minor,
            share.c.billed_minor,
        )
        .join(line, line.c.record_id == share.c.record_id)
        .join(entity, entity.c.id == share.c.record_id)
        .join(about, about.c.id == share.c.finding)
        .join(head, head.c.id == share.c.record_id)
        .where(scope.where())
        .order_by(entity.c.subject, head.c.sequence, by_bytes(about.c.ref))
    )
    with conn.execute(query.execution_options(yield_per=1000)) as rows:
        for row in rows:
            yield Shared(
                row.ref, row.about, row.vehicle, row.weight, row.cost_minor, row.billed_minor
            )


def vehicles_of_movements(conn: Connection) -> dict[str, str]:
    """Give the stock number of the vehicle whose line moved stock, by the line's id."""
    query = (
        select(movement.c.source, entity.c.ref)
        .join(line, line.c.record_id == movement.c.source)
        .join(entity, entity.c.id == line.c.vehicle)
    )
    return {row.source: row.ref for row in conn.execute(query)}
