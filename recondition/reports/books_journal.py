"""The journal and the balances of its accounts as tables."""

from __future__ import annotations

from datetime import date

from recondition.amounts import Money
from recondition.book import Connection
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import CellKind, Column, Table

_MONEY = CellKind.MONEY
JOURNAL_COLUMNS = (
    Column("entry", "Entry"),
    Column("period", "Period"),
    Column("day", "Day", CellKind.DATE),
    Column("document", "Document"),
    Column("account", "Account code"),
    Column("name", "Account name"),
    Column("vehicle", "Vehicle"),
    Column("debit", "Debit", _MONEY),
    Column("credit", "Credit", _MONEY),
    Column("memo", "Memo"),
)


def journal_table(view: View) -> Table:
    """Give the entries of a view, one row a leg, with the sums of both sides."""
    rows = [
        (entry.number, entry.period, date.fromisoformat(entry.day), entry.document, leg.code,
         leg.name, leg.vehicle, view.money(leg.debit) if leg.amount > 0 else None,
         view.money(leg.credit) if leg.amount < 0 else None, entry.memo)
        for entry in view.of_period()
        for leg in entry.legs
    ]  # fmt: skip
    debits = view.money(sum(entry.debits for entry in view.of_period()))
    total = ("all", None, None, None, None, None, None, debits, debits, None)
    return Table("Journal", JOURNAL_COLUMNS, tuple(rows), GENERAL, total)


def balances_table(view: View) -> Table:
    """Give each account with what was debited, credited, and what stands on it."""
    sums: dict[tuple[str, str], list[int]] = {}
    for entry in view.entries:
        for leg in entry.legs:
            found = sums.setdefault((leg.code, leg.name), [0, 0])
            found[0] += leg.debit
            found[1] += leg.credit
    rows = tuple(
        (code, name, view.money(debit), view.money(credit), view.money(debit - credit))
        for (code, name), (debit, credit) in sorted(sums.items())
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
    """Give the journal of a period, or of all; of some vehicles only where they are named."""
    view = view_of(conn, period)
    whole = journal_table(view)
    if not refs:
        return [whole]
    kept = {
        entry.number for entry in view.of_period() if any(leg.vehicle in refs for leg in entry.legs)
    }
    rows = tuple(row for row in whole.rows if row[0] in kept)
    note = "Every entry that touches " + ", ".join(refs) + f", whole. {GENERAL}"
    return [Table(whole.title, whole.columns, rows, note)]


def balances(conn: Connection, refs: tuple[str, ...], period: str | None) -> list[Table]:
    """Give the balances of all accounts."""
    del refs
    return [balances_table(view_of(conn, period))]
