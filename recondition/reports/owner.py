"""For an owner: the quote before the work, the invoice after it, and how near the limit is.

Only what an owner is billed stands here: no cost to the shop, no rate behind it, no private
note, no supplier. General information: local rules on estimates, supplies and tax decide.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from fractions import Fraction
from typing import Any

from recondition.amounts import Money
from recondition.amounts.money import rounded, total
from recondition.amounts.rounding import round_to
from recondition.book import Connection, owed, reading
from recondition.book.booking import Booking
from recondition.book.context import Context
from recondition.book.settings import Settings
from recondition.condition.vehicle import Vehicle
from recondition.errors import Refused
from recondition.ledger.approvals import Answer, OwnerInvoice
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Labour
from recondition.ledger.rollup import entered_of
from recondition.ledger.taxes import TaxCode
from recondition.reports.html import Page, Section, to_html
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.estimates import Candidate, CandidateState
from recondition.worth.owner import Running, answers
from recondition.worth.supplies import due
from recondition.worth.terms import SaleTerms
from recondition.worth.weighing import mean

_MONEY, _DATE = CellKind.MONEY, CellKind.DATE
_OPEN = (CandidateState.OPEN, CandidateState.STARTED)
_TAX = "Tax is not included: the shop's accountant decides what is due where you are."
_GENERAL = (
    "General information. Rules on estimates, approvals and shared supplies differ from place to "
    "place; local law decides."
)


class NoChargeOut(Refused):
    """A quote without the rate that an hour is charged at."""

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"the terms of vehicle {ref} name no charge-out rate, so no hour can be quoted",
            todo="Give it with 'recondition terms set' (--charge-out-rate) and quote again.",
        )


def limit_tables(conn: Connection, stock: str) -> list[Table]:
    """Show the running figure against the owner's limit, and what it rests on."""
    vehicle = owed.consigned_vehicle(conn, stock)
    running = owed.running_of(conn, vehicle.id)
    refs = reading.names_of(conn, {item.candidate for item in running.items if item.candidate})
    rows: list[tuple[Cell, ...]] = [
        (refs.get(item.candidate, ""), item.answer.value if item.answer else "not asked",
         item.estimate, item.billed, item.committed, item.to_come)
        for item in running.items
    ]  # fmt: skip
    columns = (
        Column("ref", "Work"),
        Column("answer", "Owner's answer"),
        Column("estimate", "Expected", _MONEY),
        Column("billed", "Billed", _MONEY),
        Column("committed", "On order", _MONEY),
        Column("to_come", "Still to come", _MONEY),
    )
    return [
        Table("Against the owner's limit", _FIGURE, _figures(running), _said(running)),
        Table("Work behind it", columns, tuple(rows), "Expected is at the charge-out rate, "
              "failure included; only approved work is still to come."),
        _asked(conn, vehicle),
        _approved(conn, vehicle),
    ]  # fmt: skip


def _asked(conn: Connection, vehicle: Stored[Vehicle]) -> Table:
    """List what the owner was asked, and which answer came."""
    asked = reading.stored(conn, "change request", vehicle=vehicle.id)
    refs = reading.names_of(conn, {item for each in asked for item in each.entry.candidates})
    approvals = reading.stored(conn, "approval", vehicle=vehicle.id)
    came = {each.entry.request: f"{each.ref}, {each.entry.answer.value}" for each in approvals}
    rows = tuple(
        (each.ref, each.entry.asked_on, ", ".join(refs[item] for item in each.entry.candidates),
         each.entry.amount, each.entry.limit, each.entry.words, came.get(each.id, "open"))
        for each in asked
    )  # fmt: skip
    columns = (
        Column("ref", "Asked"),
        Column("day", "Day", _DATE),
        Column("work", "Work"),
        Column("amount", "Amount", _MONEY),
        Column("limit", "Limit in all", _MONEY),
        Column("words", "Why"),
        Column("answer", "Answer"),
    )
    return Table("What was asked", columns, rows, "" if rows else "Nothing was asked.")


_FIGURE = (Column("figure", "Figure"), Column("amount", "Amount", _MONEY))


def _figures(running: Running) -> tuple[tuple[Cell, ...], ...]:
    """Write the running figure line by line."""
    return (
        ("limit", running.limit),
        ("billed", running.billed),
        ("committed", running.committed),
        ("still to come", running.to_come),
        ("all of it", running.total),
        ("left of the limit", running.left),
    )


def _said(running: Running) -> str:
    """Say in words how a job stands against its limit."""
    if running.limit is None or running.left is None:
        return "No limit is on record: an approval or the sale terms can state one."
    if running.left.minor < 0:
        return f"The limit ({running.limit_from}) would be passed: ask before going on."
    return f"The limit is that of {running.limit_from}."


def _head(conn: Connection, vehicle: Stored[Vehicle], settings: Settings) -> tuple[str, ...]:
    """Say who writes to whom about what."""
    owner = ""
    if vehicle.entry.owner:
        (person,) = reading.stored(conn, "person", ids=[vehicle.entry.owner])
        owner = person.entry.name or "the owner"
    chassis = vehicle.entry.chassis_stamped
    number = f", chassis number as stamped {chassis}" if chassis else ""
    return (
        f"From: {settings.shop_name or 'the shop'}",
        f"To: {owner or 'the owner'}",
        f"Vehicle: {vehicle.entry.designation}, stock number {vehicle.ref}{number}",
    )


def _approved(conn: Connection, vehicle: Stored[Vehicle]) -> Table:
    """List what the owner answered: which work, how much, who, how and when."""
    answers = reading.stored(conn, "approval", vehicle=vehicle.id)
    named = {one for each in answers for one in (*each.entry.candidates, each.entry.by)}
    refs = reading.names_of(conn, named)
    rows = tuple(
        (each.ref, each.entry.answered_on,
         ", ".join(refs[item] for item in each.entry.candidates), each.entry.answer.value,
         each.entry.amount, each.entry.limit, refs[each.entry.by], each.entry.how.value)
        for each in answers
    )  # fmt: skip
    columns = (
        Column("ref", "Answer"),
        Column("day", "Day", _DATE),
        Column("work", "Work"),
        Column("answer", "Said"),
        Column("amount", "Amount", _MONEY),
        Column("limit", "Limit in all", _MONEY),
        Column("by", "By"),
        Column("how", "How"),
    )
    return Table("What was answered", columns, rows, "" if rows else "Nothing was answered yet.")


def quote(conn: Connection, stock: str, *, made_at: datetime) -> str:
    """Write the quote for an owner's job as a page. Raises NoOwner, NoChargeOut, NotThere."""
    vehicle = owed.consigned_vehicle(conn, stock)
    settings = reading.settings_of(conn)
    stated = reading.stored(conn, "terms", vehicle=vehicle.id)
    sale: SaleTerms | None = stated[-1].entry if stated else None
    if sale is None or sale.charge_out_rate is None:
        raise NoChargeOut(stock)
    said = answers(reading.stored(conn, "approval", vehicle=vehicle.id))
    work = [
        item
        for item in reading.stored(conn, "candidate", vehicle=vehicle.id)
        if item.entry.state in _OPEN and said.get(item.id) is not Answer.DECLINED
    ]
    table, hours, labour = _offered(work, said, sale.charge_out_rate, settings)
    running = owed.running_of(conn, vehicle.id)
    sections = (
        Section("Who and what", _head(conn, vehicle, settings)),
        Section("The work", _how_counted(sale.charge_out_rate), (table,)),
        Section("Besides", _besides(settings, running, hours, labour)),
        Section("Approval", ("Signed, with the work that may be done:", "_" * 40,
                             "Day and name:", "_" * 40), (_approved(conn, vehicle),)),
        Section("For the reader", (_TAX, _GENERAL)),
    )  # fmt: skip
    return _page("Quote", vehicle, "What the work is expected to come to.", sections, made_at)


def _how_counted(rate: Money) -> tuple[str, ...]:
    """Say how hours are counted and at what rate."""
    words = (
        f"Hours are hands-on hours by the clock, at {rate} {rate.currency} an hour. Each amount "
        "is a range: seldom less than low, seldom more than high. Expected counts in that "
        "a piece of work may fail and be done again; high is with that failure."
    )
    return (words,)


def _offered(
    work: Iterable[Stored[Candidate]],
    said: dict[str, Answer],
    rate: Money,
    settings: Settings,
) -> tuple[Table, Fraction, Money]:
    """Give the table of the work with its sums, the expected hours and what they come to."""
    rows: list[tuple[Cell, ...]] = []
    sums: tuple[list[Money], list[Money], list[Money]] = ([], [], [])
    hours = Fraction(0)
    for item in work:
        entry = item.entry
        zero = Money.zero(settings.currency)
        fails = entry.fail_cash if entry.fail_cash and entry.p_success < 1 else zero
        low, high = (
            rounded(Fraction(h) * rate.fraction + c.fraction + more.fraction, settings.currency)
            for h, c, more in (
                (entry.hours.low, entry.cash.low, zero),
                (entry.hours.high, entry.cash.high, fails),
            )
        )
        middle = rounded(owed.expected(entry, rate, settings.mean_rule), settings.currency)
        hours += mean(entry.hours, settings.mean_rule)
        for column, value in zip(sums, (low, middle, high), strict=True):
            column.append(value)
        answer = said.get(item.id)
        rows.append((item.ref, entry.name, f"{entry.hours.low:f} to {entry.hours.high:f}",
                     low, middle, high, answer.value if answer else "to be answered"))  # fmt: skip
    columns = (
        Column("ref", "Work"),
        Column("name", "What it is"),
        Column("hours", "Hours"),
        Column("low", "Low", _MONEY),
        Column("expected", "Expected", _MONEY),
        Column("high", "High", _MONEY),
        Column("answer", "Owner's answer"),
    )
    added = [total(column, settings.currency) for column in sums]
    whole: tuple[Cell, ...] = ("all", "", "", *added, "")
    table = Table("Work and amounts", columns, tuple(rows), "Materials, parts and work sent out "
                  "are in the amounts.", whole if rows else None)  # fmt: skip
    return table, hours, rounded(hours * rate.fraction, settings.currency)


def _besides(
    settings: Settings, running: Running, hours: Fraction, labour: Money
) -> tuple[str, ...]:
    """Say what else may be charged, and what may not be passed."""
    zero = Money.zero(settings.currency)
    supplies = due(settings.shared_supplies, hours, labour, zero)
    about = f"; about {supplies} {supplies.currency} for this work" if supplies else ""
    words = [f"Shared supplies: {settings.shared_supplies.text}{about}."]
    if settings.minimum_charge:
        words.append(f"Minimum charge for a job: {settings.minimum_charge} {settings.currency}.")
    if running.billed:
        words.append(f"Billed so far: {running.billed.grouped} {settings.currency}.")
    words.append(
        "No limit is stated. Please state one."
        if running.limit is None
        else f"Not to be exceeded without asking: {running.limit.grouped} "
        f"{settings.currency} in all."
    )
    return tuple(words)


def _page(
    title: str,
    vehicle: Stored[Vehicle],
    lead: str,
    sections: tuple[Section, ...],
    made_at: datetime,
) -> str:
    """Render a paper for an owner."""
    return to_html(
        Page(
            title=title,
            subject=f"{vehicle.ref} {vehicle.entry.designation}",
            lead=lead,
            sections=sections,
            foot=f"Made {made_at:%Y-%m-%d %H:%M %Z}.",
        )
    )


def invoice_page(
    conn: Connection, stock: str, entry: OwnerInvoice, number: str, *, made_at: datetime
) -> str:
    """Render an invoice; ``number`` is its own, or that it is a preview."""
    vehicle = owed.consigned_vehicle(conn, stock)
    settings = reading.settings_of(conn)
    by_id = {line.id: line for line in reading.lines(conn, vehicle.id)}
    names = {item.id: item for item in reading.stored(conn, "candidate", vehicle=vehicle.id)}
    groups: dict[str | None, list[Stored[Any]]] = {}
    for line in sorted((by_id[each] for each in entry.lines), key=lambda e: e.entry.work_date):
        _, entered = entered_of(line, by_id)
        groups.setdefault(entered.candidate, []).append(line)
    refs = {line.id: line.ref for line in by_id.values()}
    ordered = sorted(groups, key=lambda key: (key is None, names[key].ref if key else ""))
    tables = tuple(
        _billed_table(
            f"{names[key].ref} {names[key].entry.name}" if key else "Other work and charges",
            groups[key], by_id, refs, settings.currency,
        )
        for key in ordered
    )  # fmt: skip
    taxes = Booking(Context(conn), lambda: None).owner_taxes(entry)
    whole = entry.total + total((tax for _, _, tax in taxes), settings.currency)
    amount = f"{whole.grouped} {settings.currency}"
    sections = (
        Section("Who and what", _head(conn, vehicle, settings)),
        Section("What was done", (), tables),
        _to_pay(entry, taxes),
        Section("What it rests on", (), (_approved(conn, vehicle),)),
        Section("For the reader", (_GENERAL,)),
    )
    lead = f"{number}, {entry.issued_on.isoformat()}: {amount} to pay, {_with(taxes)}."
    return _page("Invoice", vehicle, lead, sections, made_at)


Taxes = list[tuple[TaxCode, Money, Money]]


def _with(taxes: Taxes) -> str:
    """Say whether tax is in an amount."""
    return "with tax" if taxes else "before tax"


def _to_pay(entry: OwnerInvoice, taxes: Taxes) -> Section:
    """Give what is to be paid: the work, each tax and on how much, and the sum."""
    currency = entry.total.currency
    if not taxes:
        amount = f"{entry.total.grouped} {currency}"
        return Section("To pay", (f"Total of this invoice: {amount}. {_TAX}",))
    rows: list[tuple[Cell, ...]] = [("work and materials", None, None, entry.total)]
    rows += [(f"tax {code.code}", code.rate, base, tax) for code, base, tax in taxes]
    columns = (
        Column("what", "What"),
        Column("rate", "Rate", CellKind.PERCENT),
        Column("base", "On", _MONEY),
        Column("amount", "Amount", _MONEY),
    )
    whole = entry.total + total((tax for _, _, tax in taxes), currency)
    table = Table("Total of this invoice", columns, tuple(rows), "", ("all", None, None, whole))
    return Section("To pay", (), (table,))


def _billed_table(
    title: str,
    lines: list[Stored[Any]],
    by_id: dict[str, Stored[Any]],
    refs: dict[str, str],
    currency: str,
) -> Table:
    """List billed lines with their sum; a reversal is a credit that names its line."""
    rows: list[tuple[Cell, ...]] = []
    for line in lines:
        _, entry = entered_of(line, by_id)
        words: str = entry.words
        if line.reverses:
            words = f"Credit for {refs[line.reverses]}: {words}"
        billed = line.priced.billed if line.priced else None
        rows.append((line.ref, line.entry.work_date, words, _quantity(line, entry), billed))
    bills = (line.priced.billed for line in lines if line.priced)
    whole = total((each for each in bills if each is not None), currency)
    columns = (
        Column("ref", "Line"),
        Column("day", "Day", _DATE),
        Column("words", "What"),
        Column("quantity", "How much"),
        Column("amount", "Amount", _MONEY),
    )
    return Table(title, columns, tuple(rows), "", ("all", None, "", "", whole))


def _quantity(line: Stored[Any], entry: Any) -> str:  # noqa: ANN401 - any line entry
    """Write billed hours, pieces or an amount; nothing where there is none."""
    if isinstance(entry, Labour):
        billed = entry.billed_time if entry.billed_time is not None else entry.quantity
        return f"{round_to(billed.to('h'), 2).normalize():f} h"
    amount = (line.priced.quantity if line.priced else None) or getattr(entry, "quantity", None)
    return f"{abs(amount.number):f} {amount.unit}" if amount else ""
