"""An owner's job as the book knows it: what is billed, on order, approved and still to come."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from recondition.amounts import Money
from recondition.amounts.exact import as_fraction
from recondition.amounts.money import total
from recondition.book import reading
from recondition.book.tables import entity, terms
from recondition.book.tables_books import entry_reversal
from recondition.book.tables_stock import approval
from recondition.condition.vehicle import Holding, Vehicle
from recondition.errors import Refused
from recondition.fields import Id
from recondition.ledger.approvals import Approval, OwnerInvoice
from recondition.ledger.drafts import Stored
from recondition.worth.advice import with_currency
from recondition.worth.estimates import Candidate, MeanRule
from recondition.worth.owner import (
    Job,
    Running,
    billed_lines,
    check_line_of,
    check_running,
    running,
    work_of,
)
from recondition.worth.weighing import mean

if TYPE_CHECKING:
    from recondition.book.context import Context
    from recondition.ledger.lines import Entered
    from recondition.ledger.orders import Order
    from recondition.ledger.pricing import Priced
    from recondition.worth.terms import SaleTerms


class NoOwner(Refused):
    """An owner's paper for a vehicle that is the shop's own."""

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"vehicle {ref} is the shop's own stock: there is no owner to write to",
            todo="Name a consigned vehicle.",
        )


class NothingToBill(Refused):
    """An invoice with no line on it."""

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"nothing on vehicle {ref} is left to bill",
            todo="Every billed line stands on an invoice already; 'recondition post list' shows "
            "them.",
        )


def consigned_vehicle(conn: Connection, stock: str) -> Stored[Vehicle]:
    """Give a consigned vehicle by its stock number. Raises NotThere, NoOwner."""
    vehicle: Stored[Vehicle] = reading.one(conn, "vehicle", stock)
    if vehicle.entry.holding is not Holding.CONSIGNED:
        raise NoOwner(stock)
    return vehicle


def unbilled(conn: Connection, stock: str, issued_on: date) -> OwnerInvoice:
    """Give the invoice of every line that bills something and stands on none yet.

    Raises NotThere, NoOwner, NothingToBill.
    """
    vehicle = consigned_vehicle(conn, stock)
    invoices = reading.stored(conn, "owner invoice", vehicle=vehicle.id)
    undone = set(conn.execute(select(entry_reversal.c.reverses)).scalars())
    before = {line for each in invoices if each.id not in undone for line in each.entry.lines}
    found = [
        (Id(line.id), line.priced.billed)
        for line in reading.lines(conn, vehicle.id)
        if line.id not in before and line.priced and line.priced.billed
    ]
    if not found:
        raise NothingToBill(stock)
    currency = reading.settings_of(conn).currency
    return OwnerInvoice(
        vehicle=Id(vehicle.id),
        issued_on=issued_on,
        lines=tuple(line for line, _ in found),
        total=total((billed for _, billed in found), currency),
    )


def job_of(conn: Connection, vehicle: str) -> Job:
    """Read what bears on one owner's job."""
    settings = reading.settings_of(conn)
    stated = reading.stored(conn, "terms", vehicle=vehicle)
    sale: SaleTerms | None = stated[-1].entry if stated else None
    candidates = reading.stored(conn, "candidate", vehicle=vehicle)
    rate = sale.charge_out_rate if sale is not None else None
    return Job(
        lines=billed_lines(reading.lines(conn, vehicle)),
        orders=tuple(reading.stored(conn, "order", vehicle=vehicle)),
        approvals=tuple(reading.stored(conn, "approval", vehicle=vehicle)),
        estimates={
            item.id: expected(item.entry, rate, settings.mean_rule)
            for item in candidates
            if rate is not None
        },
        states={item.id: item.entry.state for item in candidates},
        terms_limit=sale.owner_limit if sale is not None else None,
        currency=settings.currency,
    )


def expected(candidate: Candidate, rate: Money, rule: MeanRule) -> Fraction:
    """Give what an owner is expected to pay for a piece of work, failure included, exactly.

    Days by which a sale waits are the seller's cost, and nothing that is billed.
    """
    hours = mean(candidate.hours, rule)
    fails = 1 - as_fraction(candidate.p_success)
    failure = candidate.fail_cash.fraction if candidate.fail_cash else Fraction(0)
    return hours * rate.fraction + mean(candidate.cash, rule) + fails * failure


def running_of(conn: Connection, vehicle: str) -> Running:
    """Give the running figure of one owner's job."""
    return running(job_of(conn, vehicle))


def passed(conn: Connection, answer: Approval) -> tuple[str, ...]:
    """Say that the limit of an answer is passed already, by all that is billed and to come."""
    running = running_of(conn, answer.vehicle) if answer.limit is not None else None
    if running is None or running.left is None or running.left.minor >= 0:
        return ()
    whole, limit = with_currency(running.total), with_currency(running.total + running.left)
    return (f"{whole} are billed, ordered or still to come: the limit of {limit} is passed",)


def is_watched(conn: Connection, vehicle: str) -> bool:
    """Tell whether an owner's job has an approval or a limit to be held."""
    allowed = select(approval.c.record_id).where(approval.c.vehicle == vehicle).limit(1)
    limited = (
        select(terms.c.record_id)
        .join(entity, entity.c.current == terms.c.record_id)
        .where(entity.c.kind == "terms", entity.c.subject == f"vehicle:{vehicle}")
        .where(terms.c.owner_limit_minor.is_not(None))
        .limit(1)
    )
    return any(conn.execute(query).first() is not None for query in (allowed, limited))


def check_line(context: Context, entry: Entered, priced: Priced) -> None:
    """Refuse a line past what the owner allowed, before it is posted.

    Raises NotApproved, LimitPassed.
    """
    if entry.vehicle is None or priced.billed is None or priced.billed.minor <= 0:
        return
    job = job_of(context.conn, entry.vehicle)
    work = work_of(job, entry)
    called = context.ref(work) if work else ""
    check_line_of(job, entry, priced.billed, called)


def check_order(context: Context, ref: str, entry: Order) -> None:
    """Refuse an order that would take an owner's job past its limit. Raises LimitPassed."""
    if not context.consigned(entry.vehicle) or not is_watched(context.conn, entry.vehicle):
        return
    job = job_of(context.conn, entry.vehicle)
    known = next((each.id for each in job.orders if each.ref == ref), ref)
    before = tuple(each for each in job.orders if each.ref != ref)
    made: Stored[Order] = Stored(
        id=known, record="", ref=ref, kind="order", version=1, subject="", sequence=0, author="",
        recorded_at="", entry=entry,
    )  # fmt: skip
    check_running(running(job), running(replace(job, orders=(*before, made))))
