"""What an entry must satisfy against the rest of the book before it is chained."""

from __future__ import annotations

from typing import Any

from recondition.amounts.units import UNITS
from recondition.book.context import Context
from recondition.condition.findings import Outcome
from recondition.ledger.codec import PlainDict
from recondition.ledger.days import BeforeItsCause, check_days
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import Consumable
from recondition.ledger.people import Rate, Setting
from recondition.ledger.rules import OtherUnit, SecondRate, check_currency


def admit(context: Context, draft: Draft, fields: PlainDict) -> None:
    """Refuse a draft that contradicts itself or the book; ``fields`` is its plain form.

    Raises what its name says: ImplausibleDay, OtherCurrency, CurrencyFixed, BadSetting,
    FindingOfAnotherVehicle, BeforeItsCause, OtherUnit, SecondRate, and what an outcome's own
    check names.
    """
    entry: Any = draft.entry
    check_days(entry)
    match entry:
        case Outcome():
            entry.check()
        case Setting():
            context.check_setting(draft.ref, entry.value)
        case Rate():
            _check_rate(context, draft.ref, entry)
        case Consumable():
            _check_unit(context, entry)
    check_currency(fields, context.settings().currency)
    context.check_findings(entry)
    if isinstance(entry, Outcome):
        _check_order(context, entry)


def _check_rate(context: Context, ref: str, entry: Rate) -> None:
    """Refuse a second rate of one person from one day. Raises SecondRate."""
    for other, day in context.rate_days(entry.person):
        if day == entry.from_date and other != ref:
            raise SecondRate(context.ref(entry.person), day.isoformat(), other)


def _check_unit(context: Context, entry: Consumable) -> None:
    """Refuse an amount in another kind of unit than the product's. Raises OtherUnit."""
    product, unit = context.product(entry.product)
    if UNITS[unit].dimension != UNITS[entry.quantity.unit].dimension:
        raise OtherUnit(product, unit, str(entry.quantity))


def _check_order(context: Context, entry: Outcome) -> None:
    """Refuse an outcome before its finding was made. Raises BeforeItsCause."""
    found_on = context.found_on(entry.finding)
    if found_on is not None and entry.ended_on < found_on:
        cause = f"finding {context.ref(entry.finding)}"
        raise BeforeItsCause(what="the outcome", day=entry.ended_on, cause=cause, began=found_on)
