"""What an entry must satisfy against the rest of the book before it is chained."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Column

from recondition.accounts.chart import MappedAccount
from recondition.accounts.hours import PaidHours
from recondition.book import (
    admission_bench,
    admission_books,
    admission_history,
    admission_owner,
    admission_stock,
    owed,
)
from recondition.book.context import Context
from recondition.book.tables import rate
from recondition.book.tables_books import account, paid_hours, tax_code
from recondition.condition.findings import Outcome
from recondition.ledger.clocks import Clock
from recondition.ledger.codec import PlainDict
from recondition.ledger.days import BeforeItsCause, check_days
from recondition.ledger.drafts import Draft
from recondition.ledger.fitting import check_from_order, check_order, check_window
from recondition.ledger.lines import LineEntry, Part, Sublet
from recondition.ledger.orders import Order
from recondition.ledger.people import Rate, Setting
from recondition.ledger.rules import ReworkOfAnotherVehicle, SecondFromOneDay, check_currency
from recondition.ledger.taxes import TaxCode
from recondition.materials.products import Product


def admit(context: Context, draft: Draft, fields: PlainDict) -> None:
    """Refuse a draft that contradicts itself or the book; ``fields`` is its plain form.

    Raises what its name says: ImplausibleDay, OtherCurrency, CurrencyFixed, BadSetting,
    FindingOfAnotherVehicle, BeforeItsCause, SecondFromOneDay, what an outcome's own check names,
    and what ``admission_stock``, ``admission_owner``, ``admission_books``, ``admission_history``,
    ``admission_bench`` and ``ledger.fitting`` name.
    """
    entry: Any = draft.entry
    check_days(entry)
    match entry:
        case Outcome():
            entry.check()
        case Setting():
            context.check_setting(draft.ref, entry.value)
        case Rate() | TaxCode() | MappedAccount() | PaidHours():
            _check_first_day(context, draft.ref, entry)
        case Product():
            entry.check()
        case Order():
            check_order(entry)
            owed.check_order(context, draft.ref, entry)
        case Clock():
            context.check_clock(draft.ref, entry)
        case LineEntry():
            _check_line(context, entry)
    admission_stock.admit(context, draft.ref, entry)
    admission_owner.admit(context, entry)
    admission_books.admit(context, draft.ref, entry)
    admission_history.admit(context, entry)
    check_currency(fields, context.settings().currency)
    context.check_findings(entry)
    if isinstance(entry, Outcome):
        _check_order(context, entry)
    admission_bench.admit(context, entry)


_FromADay = Rate | TaxCode | MappedAccount | PaidHours
_DATED: dict[type[Any], tuple[Column[Any], Column[Any], str]] = {
    Rate: (rate.c.person, rate.c.from_date, "{} has a rate"),
    TaxCode: (tax_code.c.code, tax_code.c.from_date, "tax code {} has a rate"),
    MappedAccount: (account.c.role, account.c.from_date, "'{}' has an account"),
    PaidHours: (paid_hours.c.person, paid_hours.c.week, "{} has paid hours"),
}


def _check_first_day(context: Context, ref: str, entry: _FromADay) -> None:
    """Refuse a second row for one person, code or role from one day. Raises SecondFromOneDay."""
    key, first, words = _DATED[type(entry)]
    value, day = getattr(entry, key.name), getattr(entry, first.name)
    there = context.from_day(key, value, first, day)
    if there and ref not in there:
        name = context.ref(value) if key.name == "person" else value
        raise SecondFromOneDay(words.format(name), day.isoformat(), min(there))


def _check_line(context: Context, entry: LineEntry) -> None:
    """Refuse a line against its order, its window, or the line whose work it does again."""
    if isinstance(entry, Part | Sublet):
        order: Order | None = context.entry("order", entry.order) if entry.order else None
        if order is not None:
            check_from_order(entry, order, context.ref(str(entry.order)))
        if isinstance(entry, Part):
            check_window(entry, order.window if order else None)
    if entry.rework is None:
        return
    first = context.line_if_there(entry.rework.of)
    if first is None:  # it stands further down in the same import
        return
    ref = context.ref(entry.rework.of)
    if first["entry"].get("vehicle") != entry.vehicle:
        raise ReworkOfAnotherVehicle(ref)
    began = date.fromisoformat(first["entry"]["work_date"])
    if entry.work_date < began:
        what = "the rework"
        raise BeforeItsCause(what=what, day=entry.work_date, cause=f"line {ref}", began=began)


def _check_order(context: Context, entry: Outcome) -> None:
    """Refuse an outcome before its finding was made. Raises BeforeItsCause."""
    found_on = context.found_on(entry.finding)
    if found_on is not None and entry.ended_on < found_on:
        cause = f"finding {context.ref(entry.finding)}"
        raise BeforeItsCause(what="the outcome", day=entry.ended_on, cause=cause, began=found_on)
