"""The journal and the balances of its accounts as tables."""

from __future__ import annotations

from collections.abc import Sequence

from recondition.accounts.journal import Entry, merged
from recondition.amounts import Money
from recondition.book import Connection
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import CellKind, Column, Table

_MONEY = CellKind.MONEY
_LEG_COLUMNS = (
    Column("account", "Account code"),
    Column("name", "Account name"),
    Column("vehicle", "Vehicle"),
    Column("debit", "Debit", _MONEY),
    Column("credit", "Credit", _MONEY),
)


def entry_table(view: View, entry: Entry) -> Table:
    """Give one entry: its number, day and document above, its legs, and both sums."""
    rows = tuple(
        (leg.code, leg.name, leg.vehicle, view.money(leg.debit) if leg.amount > 0 else None,
         view.money(leg.credit) if leg.amount < 0 else None)
        for leg in merged(entry)
    )  # fmt: skip
    parts = [part for leg in entry.legs for part in leg.parts]
    note = "; ".join(
        f"{role.removeprefix('inventory: ')} {view.money(amount).grouped}" for role, amount in parts
    )
    title = f"{entry.number}  {entry.day}  {entry.document}"
    debits = view.money(sum(leg.debit for leg in merged(entry)))
    return Table(title, _LEG_COLUMNS, rows, note, ("all", None, None, debits, debits))


def _sums(view: View, entries: Sequence[Entry]) -> Table:
    """Give what the entries debit and credit in all."""
    legs = [leg for entry in entries for leg in merged(entry)]
    debits, owed = view.money(sum(x.debit for x in legs)), view.money(sum(x.credit for x in legs))
    columns = (
        Column("entries", "Entries", CellKind.INTEGER),
        Column("debits", "Debits", _MONEY),
        Column("credits", "Credits", _MONEY),
    )
    return Table("Journal", columns, ((len(entries), debits, owed),), GENERAL)


def balances_table(view: View) -> Table:
    """Give each account with what was debited, credited, and what stands on it."""
    sums: dict[str, list[int]] = {}
    names: dict[str, str] = {}
    for entry in view.entries:
        for leg in merged(entry):
            found = sums.setdefault(leg.code, [0, 0])
            names[leg.code] = leg.name
            found[0] += leg.debit
            found[1] += leg.credit
    rows = tuple(
        (code, names[code], view.money(debit), view.money(credit), view.money(debit - credit))
        for code, (debit, credit) in sorted(sums.items())
    )
    columns = (
        Column("account", "Account code"),
        Column("name", "Account name"),
        Column("debit", "Debited", _MONEY),
        Column("credit", "Credited", _MONEY),
        Column("balance", "Stands at", _MONEY),
    )
    whole = view.money(sum(debit for debit, _ in sums.values()))
    total = ("all", None, whole, whole, Money.zero(view.currency))
    note = f"What stands on each account {view.when()}; below zero is a credit. {GENERAL}"
    return Table("Accounts", columns, rows, note, total)


def journal(conn: Connection, refs: tuple[str, ...], period: str | None) -> list[Table]:
    """Give the entries of a period, or of all; those that touch some vehicles, whole."""
    view = view_of(conn, period)
    kept = [
        entry
        for entry in view.of_period()
        if not refs or any(leg.vehicle in refs for leg in entry.legs)
    ]
    return [*(entry_table(view, entry) for entry in kept), _sums(view, kept)]


def balances(conn: Connection, period: str | None) -> list[Table]:
    """Give the balances of all accounts."""
    return [balances_table(view_of(conn, period))]
