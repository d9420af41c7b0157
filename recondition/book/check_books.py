"""Checking the books: entries balance, closed months are as they were closed, exports hold.

The journal is worked out as for any report. Where it cannot be worked out at all, that is said;
what is wrong with the records behind it is found elsewhere.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import case, func, select

from recondition.accounts import chart
from recondition.accounts.journal import Entry
from recondition.book import reading
from recondition.book.accounting import journal_of, period_events, thawed
from recondition.book.closing import frozen
from recondition.book.damage import ASK
from recondition.book.looking import Look
from recondition.book.tables import chain_head, line, record
from recondition.book.tables_stock import movement
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import LineKind
from recondition.ledger.periods import PeriodEvent, PeriodStep
from recondition.materials.stock import Flow

_INTO_STOCK = (Flow.RECEIVED.value, Flow.COUNT_GAIN.value)
_BY_LINES = ("lines", "workbook")


def books(look: Look) -> None:
    """Look through the journal, the months that were closed, and the exports."""
    look.part("the journal of closed months", _closed)
    look.part("the journal", _journal)
    look.part("the exports", _exports)


def _closed(look: Look) -> None:
    """Hold that the journal kept with each close is whole in itself."""
    for item in period_events(look.conn):
        if item.entry.step is PeriodStep.CLOSED:
            look.examined.counts["closed months"] += 1
            for what in _faults(item.entry):
                _of_record(look, item, f"the journal of {item.entry.period} {what}")


def _faults(event: PeriodEvent) -> Iterable[str]:
    """Say what is wrong with a journal that was kept."""
    try:
        entries = thawed(event.period, event.journal or "[]")
    except (ValueError, KeyError, TypeError, IndexError):
        yield "cannot be read"
        return
    if frozen(entries) != (event.journal or "[]"):
        yield "is not written as it was kept"
    debits = event.debits.minor if event.debits is not None else 0
    if sum(entry.debits for entry in entries) != debits:
        yield "does not come to the sum that was kept with it"
    for entry in entries:
        if not _balances(entry):
            yield f"has an entry {entry.number} that does not balance"


def _balances(entry: Entry) -> bool:
    """Tell whether the debits of an entry are its credits."""
    return sum(leg.amount for leg in entry.legs) == 0


def _of_record(look: Look, item: Stored[Any], what: str) -> None:
    """Note damage to one record."""
    where = f"record {item.record}"
    look.examined.found(what, where, ASK, record=item.record, subject=item.subject)


def _journal(look: Look) -> None:
    """Hold that every entry balances, and accounts against the lines and the stock behind them."""
    absorbed: Counter[str] = Counter()
    stock = 0
    for entry in journal_of(look.conn).entries():
        look.examined.counts["journal entries"] += 1
        if not _balances(entry):
            words = f"debits and credits differ in {entry.document}"
            look.examined.found(words, f"entry {entry.number}", ASK)
        for leg in entry.legs:
            absorbed[entry.period] -= leg.amount if leg.role == chart.LABOUR_ABSORBED else 0
            stock += leg.amount if leg.role == chart.STOCK else 0
    _tie_labour(look, absorbed)
    _tie_stock(look, stock)


def _tie_labour(look: Look, absorbed: Counter[str]) -> None:
    """Hold what the journal took in for labour against the lines of each month."""
    query = (
        select(line.c.period, func.sum(line.c.cost_minor).label("cost"))
        .where(line.c.kind == LineKind.LABOUR.value)
        .group_by(line.c.period)
    )
    lines = {row.period: int(row.cost) for row in look.conn.execute(query)}
    for period in sorted({*lines, *absorbed}):
        if lines.get(period, 0) != absorbed[period]:
            words = (
                f"labour of {period} is {lines.get(period, 0)} by its lines and "
                f"{absorbed[period]} by the journal (minor units)"
            )
            look.examined.found(words, f"period {period}", ASK)


def _tie_stock(look: Look, by_journal: int) -> None:
    """Hold the stock account against what is on hand."""
    coming = movement.c.flow.in_(_INTO_STOCK)
    change = case((coming, movement.c.cost_minor), else_=-movement.c.cost_minor)
    query = select(func.coalesce(func.sum(change - movement.c.price_difference_minor), 0))
    on_hand = int(look.conn.execute(query).scalar_one())
    if on_hand != by_journal:
        words = f"stock is worth {on_hand} by its movements and {by_journal} by the journal"
        look.examined.found(f"{words} (minor units)", "account consumables stock", ASK)


@dataclass(slots=True)
class _Export:
    """One export: its record, how far it went in each chain, and how many lines it says."""

    item: Stored[Any]
    upto: dict[str, int]
    vehicle: str | None
    lines: int
    counted: int = 0

    @property
    def counts(self) -> bool:
        """Tell whether its lines can be counted: not where its vehicle's name was erased."""
        of = self.item.entry.vehicle
        known = of is None or f"vehicle:{self.vehicle}" in self.upto
        return bool(self.upto) and self.item.entry.what in _BY_LINES and known

    def count(self, row: Any) -> None:  # noqa: ANN401 - a line with its place in its chain
        """Count a line that was in it."""
        entry = self.item.entry
        if (
            row.sequence <= self.upto.get(row.subject, 0)
            and entry.period in (None, row.period)
            and (entry.vehicle is None or self.vehicle == row.vehicle)
        ):
            self.counted += 1


def _exports(look: Look) -> None:
    """Hold that what was handed out is still there, as many lines of it as were said."""
    stock = {ref: id_ for id_, ref in reading.refs_by_id(look.conn, ("vehicle",)).items()}
    found = []
    for item in reading.stored(look.conn, "export batch"):
        look.examined.counts["exports"] += 1
        entry = item.entry
        upto = {key: int(count) for key, count in json.loads(entry.upto).items()}
        found.append(_Export(item, upto, stock.get(entry.vehicle), int(entry.lines)))
    _lines_there(look, found)
    _lines_counted(look, [one for one in found if one.counts])


def _lines_there(look: Look, found: list[_Export]) -> None:
    """Hold that no chain is shorter than it was when it was exported."""
    if not found:
        return
    query = select(chain_head.c.subject, chain_head.c.count.label("records"))
    heads = {row.subject: row.records for row in look.conn.execute(query)}
    for export in found:
        if any(heads.get(subject, 0) < count for subject, count in export.upto.items()):
            words = f"entries that export {export.item.ref} held are gone"
            _of_record(look, export.item, words)


def _lines_counted(look: Look, found: list[_Export]) -> None:
    """Hold that each export says as many lines as it held."""
    if not found:
        return
    columns = (record.c.subject, record.c.sequence, line.c.period, line.c.vehicle)
    query = select(*columns).join(line, line.c.record_id == record.c.id)
    with look.stream(query) as rows:
        for row in rows:
            for export in found:
                export.count(row)
    for export in found:
        if export.counted != export.lines:
            words = (
                f"export {export.item.ref} says {export.lines} lines, "
                f"and {export.counted} are in the book"
            )
            _of_record(look, export.item, words)
