"""Posting periods on a page: what is open in a month, closing it, reopening it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request, url_for

from recondition.amounts import Money
from recondition.book import closing, reading, trail
from recondition.book.accounting import closings, period_events
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.ledger.periods import check_period
from recondition.reports.books_bought import invoices
from recondition.reports.books_hours import late
from recondition.reports.books_ties import ties
from recondition.reports.table import CellKind, Column, Table
from recondition.web.books import leads_of
from recondition.web.entry import done, refused_page
from recondition.web.forms import sent
from recondition.web.linked import opened_up
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from datetime import date

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection

pages = Blueprint("periods", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """What there is to know of a month before it is closed or reopened.

    ``first`` is the month to be seen to before, '' for none; ``known`` tells whether anything is
    booked in it; ``tables`` are what is open, and how its sums tie.
    """

    state: str
    debits: str
    first: str
    known: bool
    tables: tuple[Table, ...]


def open_in(conn: Connection, month: str, today: date) -> Month:
    """Find what is open in a month."""
    states = {period: (state, debits) for period, state, debits in closing.states(conn, today)}
    state, debits = states.get(month, ("open", 0))
    closed = closings(period_events(conn))
    if state == "open":
        before = sorted(p for p in closing.used_periods(conn) if p < month and p not in closed)
    else:
        before = sorted((p for p in closed if p > month), reverse=True)
    (tied,) = ties(conn, month)
    tied = replace(tied, title=f"{tied.title}, to the end of {month}")
    tables = [_left_over(conn, month), late(conn, (), month)[0], tied]
    if state == "open":
        tables.insert(1, _accruals(conn, month))
    currency = reading.settings_of(conn).currency
    return Month(
        state=state, debits=Money(debits, currency).grouped + f" {currency}",
        first=before[0] if before else "", known=month in states, tables=tuple(tables),
    )  # fmt: skip


def _left_over(conn: Connection, month: str) -> Table:
    """Give the invoices of a month that their lines do not take up whole."""
    found = invoices(conn, (), month)[0]
    place = [column.key for column in found.columns].index("unallocated")
    rows = tuple(row for row in found.rows if isinstance(row[place], Money) and row[place])
    note = "" if rows else "Every invoice of the month is taken up by its lines."
    return Table("Invoices to be allocated", found.columns, rows, note)


def _accruals(conn: Connection, month: str) -> Table:
    """Give what a close would accrue."""
    orders, cars = (reading.refs_by_id(conn, (kind,)) for kind in ("order", "vehicle"))
    rows = tuple(
        (orders[each.order], cars[each.vehicle], each.received_on, each.amount)
        for each in closing.accruals_due(conn, month)
    )
    columns = (
        Column("ref", "Order"),
        Column("vehicle", "Vehicle"),
        Column("day", "Back on", CellKind.DATE),
        Column("amount", "Quoted", CellKind.MONEY),
    )
    note = "Sublet work that is back and has no invoice: a close accrues it, and the month after "
    return Table("To be accrued", columns, rows, note + "takes it back.")


@pages.get("/books/periods/<month>")
@needs(Right.BOOKS)
def month(month: str) -> ResponseReturnValue:
    """Show what is open in a month, and ask before it is closed or reopened."""
    return _page(month, None)


def _page(month: str, refused: Refused | None) -> str:
    """Lay the page of a month out. Raises NotAPeriod."""
    check_period(month)
    book = the_book()
    with book.reading() as conn:
        found = open_in(conn, month, book.now().astimezone().date())
        opened = opened_up(conn, found.tables, leads_of(month))
    given = {"why": request.form.get("why", "")}
    return render_template(
        "web/books_period.html.j2", month=month, found=found, tables=opened, refused=refused,
        given=given,
    )  # fmt: skip


@pages.post("/books/periods/<month>/close")
@needs(Right.BOOKS)
def close(month: str) -> ResponseReturnValue:
    """Close a month: its journal is frozen."""
    try:
        event = closing.close(
            the_book(), month, sent("why", "month end"), author_ref=visit().person
        )
    except Refused as refused:
        return refused_page(refused, _page(month, refused))
    _noted("period closed", month)
    said = [f"Period {month}: closed. Debits and credits are {event.debits} each."]
    said += [
        f"Accrued: {each.amount} for sublet work back on {each.received_on}."
        for each in event.accruals
    ]
    return done(said, url_for("periods.month", month=month))


@pages.post("/books/periods/<month>/reopen")
@needs(Right.BOOKS)
def reopen(month: str) -> ResponseReturnValue:
    """Reopen the last closed month, with the reason."""
    try:
        closing.reopen(the_book(), month, sent("why", ""), author_ref=visit().person)
    except Refused as refused:
        return refused_page(refused, _page(month, refused))
    _noted("period reopened", month)
    said = f"Period {month}: reopened. The close before it stays on record."
    return done([said], url_for("periods.month", month=month))


def _noted(action: str, month: str) -> None:
    """Note on the trail what was done to a month."""
    asker = visit()
    trail.noted(
        the_book(), action=action, subject=month, login_id=asker.signed_in.login.id,
        address=asker.address,
    )  # fmt: skip
