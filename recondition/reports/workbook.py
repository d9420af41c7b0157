"""The bookkeeper's workbook: lines, journal, cars, invoices, stock, estimates, accounts, notes.

Each control total stands in three cells: the book's value, a live formula over the sheet it
comes from, and their difference, so that a preview without recalculation still shows the
figure. Rows are written one after another, so a book of any size takes the same memory.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from textwrap import wrap
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from recondition.accounts.chart import DEFAULT
from recondition.accounts.journal import Entry, Journal, merged
from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.book import Connection, batches, line_rows, reading
from recondition.book.accounting import chart_of, journal_of
from recondition.book.line_rows import COLUMNS
from recondition.book.scope import Scope
from recondition.reports import workbook_cars, workbook_stock
from recondition.reports.books_view import GENERAL
from recondition.reports.sheet_writer import Counted, Formula, abandon, three, write_sheet
from recondition.reports.whole import write_with

Progress = Callable[[str, int, int | None], None]

NOTE_WIDTH = 100
LINES, JOURNAL, NOTES, HEADS, ACCOUNTS = "lines", "journal", "notes", "chain heads", "accounts"
JOURNAL_HEADINGS = (
    "entry", "period", "date", "document", "account_code", "account_name", "stock_no", "debit",
    "credit", "currency", "memo",
)  # fmt: skip
_AMOUNT, _BILLED, _DEBIT, _CREDIT = (
    get_column_letter(COLUMNS.index(name) + 1)
    for name in ("amount_home", "billed", "debit", "credit")
)
_J_DEBIT, _J_CREDIT = (
    get_column_letter(JOURNAL_HEADINGS.index(name) + 1) for name in ("debit", "credit")
)


@dataclass(slots=True)
class Written:
    """What a workbook holds: rows by sheet, sums in minor units, the hash of its lines."""

    rows: dict[str, int] = field(default_factory=dict)
    cost: int = 0
    billed: int = 0
    debits: int = 0
    periods: set[str] = field(default_factory=set)
    digest: Any = field(default_factory=hashlib.sha256)

    @property
    def sha256(self) -> str:
        """SHA-256 over the record hashes of its lines, in their order."""
        return str(self.digest.hexdigest())


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a workbook is to hold, when it is made, and as which batch (None: not marked)."""

    scope: Scope
    stock: str | None
    made_at: datetime
    batch: str | None = None
    what: str = "workbook"


def silent(_words: str, _done: int, _total: int | None) -> None:
    """Say nothing of how far it is."""


def write_books(
    path: Path, conn: Connection, wanted: Wanted, progress: Progress = silent
) -> Written:
    """Write the workbook whole or not at all; give what it holds. Raises FileNotWritten."""
    maker = _Maker(conn, wanted, progress)
    write_with(path, maker.write)
    return maker.written


class _Maker:
    """Writes one workbook, sheet by sheet."""

    def __init__(self, conn: Connection, wanted: Wanted, progress: Progress) -> None:
        self._conn = conn
        self._wanted = wanted
        self._progress = progress
        self._settings = reading.settings_of(conn)
        self.written = Written()
        self._counted = Counted()

    def write(self, path: Path) -> None:
        """Write it to a file."""
        book = Workbook(write_only=True)
        try:
            self._fill(book)
            book.save(path)
        finally:
            abandon(book)

    def _fill(self, book: Workbook) -> None:
        """Write every sheet."""
        made = self._wanted.made_at.astimezone(UTC).replace(tzinfo=None, microsecond=0)
        book.properties.creator = book.properties.lastModifiedBy = "recondition"
        book.properties.created = book.properties.modified = made
        journal = journal_of(self._conn)
        entries = tuple(entry for entry in journal.entries() if self._in_scope(entry))
        self._sheet(book, LINES, COLUMNS, self._lines(journal))
        self._sheet(book, JOURNAL, JOURNAL_HEADINGS, self._journal(entries))
        cars = workbook_cars.Cars(self._conn, self._wanted.scope, self.written.rows[LINES])
        for name, headings, rows in cars.sheets():
            self._sheet(book, name, headings, rows)
        for name, headings, rows in workbook_stock.sheets(self._conn):
            self._sheet(book, name, headings, rows)
        self._sheet(book, ACCOUNTS, ("what goes there", "from", "account_code", "account_name"),
                    self._accounts())  # fmt: skip
        self._sheet(book, HEADS, ("subject", "stock number", "count", "hash"), self._heads())
        write_sheet(book, NOTES, ("note", "book value", "live", "difference"),
                    list(self._notes()), self._counted, widest=NOTE_WIDTH)  # fmt: skip

    def _sheet(
        self, book: Workbook, name: str, headings: tuple[str, ...], rows: Iterator[Any]
    ) -> None:  # fmt: skip
        self._progress(f"writing {name}", 0, None)
        self.written.rows[name] = write_sheet(book, name, headings, rows, self._counted)

    def _in_scope(self, entry: Entry) -> bool:
        """Tell whether a journal entry belongs to what was asked for; it stays whole."""
        period, stock = self._wanted.scope.period, self._wanted.stock
        if period is not None and entry.period != period:
            return False
        return stock is None or any(leg.vehicle == stock for leg in entry.legs)

    def _lines(self, journal: Journal) -> Iterator[tuple[Any, ...]]:
        """Give the lines, counting and hashing them."""
        amount, billed, period, digest = (
            COLUMNS.index(n) for n in ("amount_home", "billed", "period", "record_hash")
        )
        total = line_rows.count(self._conn, self._wanted.scope)
        found = line_rows.rows(
            self._conn, self._wanted.scope, journal, chart_of(self._conn), self._wanted.batch
        )
        written = self.written
        for done, row in enumerate(found, start=1):
            written.cost += row[amount].minor
            written.billed += row[billed].minor if row[billed] is not None else 0
            written.periods.add(row[period])
            written.digest.update(row[digest].encode())
            if done % line_rows.PAGE == 0:
                self._progress(f"writing {LINES}", done, total)
            yield row

    def _journal(self, entries: tuple[Entry, ...]) -> Iterator[tuple[Any, ...]]:
        """Give one row a leg."""
        currency = self._settings.currency
        for entry in entries:
            legs = merged(entry)
            self.written.debits += sum(leg.debit for leg in legs)
            self.written.periods.add(entry.period)
            for leg in legs:
                yield (
                    entry.number, entry.period, date.fromisoformat(entry.day), entry.document,
                    leg.code, leg.name, leg.vehicle,
                    Money(leg.debit, currency) if leg.amount > 0 else None,
                    Money(leg.credit, currency) if leg.amount < 0 else None, currency, entry.memo,
                )  # fmt: skip

    def _accounts(self) -> Iterator[tuple[Any, ...]]:
        """Give the account map: every role, with each account it ever had and since when."""
        chart = chart_of(self._conn)
        for role in DEFAULT:
            for since, found in chart.history(role):
                yield (role, since, found.code, found.name)

    def _heads(self) -> Iterator[tuple[Any, ...]]:
        """Give the head of each chain; ``recondition check --against`` compares them."""
        refs = reading.refs_by_id(self._conn, ("vehicle", "product"))
        for head in reading.heads(self._conn):
            yield (head.subject, refs.get(head.subject.partition(":")[2]), head.count, head.hash)

    def _notes(self) -> Iterator[tuple[Any, ...]]:
        """Give what a reader must know, and the control totals."""
        row = 1
        for text in (part for words in self._words() for part in wrap(words, NOTE_WIDTH)):
            row += 1
            yield (text, None, None, None)
        for name, count in self.written.rows.items():
            row += 1
            live = Formula(f"=COUNTA('{name}'!$A$2:$A${max(count, 1) + 1})", "0")
            yield (f"rows on sheet {name}", count, live, Formula(f"=B{row}-C{row}", "0"))
        for words, value, formula in self._totals():
            row += 1
            yield (f"{words}, {self._settings.currency}", *three(value, formula, row, 2))

    def _totals(self) -> Iterator[tuple[str, Money, str]]:
        """Give the control totals: words, the book's value, the live formula."""
        written = self.written
        stated = line_rows.sums(self._conn, self._wanted.scope)

        def summed(sheet: str, column: str) -> str:
            return f"SUM({sheet}!${column}$2:${column}${max(written.rows[sheet] + 1, 2)})"

        netted = f"{summed(LINES, _DEBIT)}-{summed(LINES, _CREDIT)}"
        for words, minor, formula in (
            ("all cost", stated.cost, summed(LINES, _AMOUNT)),
            ("all billed", stated.billed, summed(LINES, _BILLED)),
            ("debits less credits of the lines", stated.cost, netted),
            ("debits of the journal", written.debits, summed(JOURNAL, _J_DEBIT)),
            ("credits of the journal", written.debits, summed(JOURNAL, _J_CREDIT)),
        ):
            yield words, Money(minor, self._settings.currency), formula

    def _words(self) -> list[str]:
        """Say what a reader must know."""
        settings, written, counted = self._settings, self.written, self._counted
        digits = minor_digits(settings.currency)
        periods = sorted(written.periods)
        span = f"{periods[0]} to {periods[-1]}" if periods else "no lines"
        only = f" Only vehicle {self._wanted.stock}." if self._wanted.stock else ""
        day = self._wanted.made_at.date().isoformat()
        unproven = line_rows.unproven(self._conn, self._wanted.scope)
        return [
            f"Made by recondition for {settings.shop_name or 'a shop without a name'}",
            f"Made at {self._wanted.made_at.isoformat(timespec='minutes')}",
            f"Posting periods: {span}.{only} Home currency: {settings.currency}, {digits} decimals",
            self._batch_words(),
            *self._narrowed(),
            f"SHA-256 over the column record_hash from top to bottom: {written.sha256}",
            f"Account map: version {chart_of(self._conn).version(day)}",
            *_STANDING,
            f"Lines without evidence (no document): {unproven}",
            (
                f"Amounts of more digits than a spreadsheet keeps (15): {counted.long_amounts}. "
                f"Texts cut to the length of a cell: {counted.cut}. Texts with characters that "
                f"cannot be shown: {counted.replaced}"
            ),
            GENERAL,
        ]

    def _narrowed(self) -> list[str]:
        """Say what is of the whole book where the rest is not."""
        scope = self._wanted.scope
        if scope.period is None and scope.vehicle is None:
            return []
        return [
            (
                "Lines, journal, vehicles, invoices and shares are narrowed to the period, "
                "estimates and findings to the vehicle. Stock, accounts and chain heads are of the "
                "whole book"
            )
        ]

    def _batch_words(self) -> str:
        """Say which batch this is, and what is new since the last one of its kind."""
        wanted = self._wanted
        if wanted.batch is None:
            return "Not marked as a batch: nobody was named who exports"
        return f"Batch {wanted.batch}. " + since_words(self._conn, wanted)


_STANDING = (
    (
        "Rounding: each line once, half away from zero; totals are sums of rounded lines, and "
        "shares of a line are dealt by largest remainder, so they add up to it"
    ),
    (
        "debit and credit of a line are on account_code; its gross amount is paid from "
        "paid_from_code. Both stand in the journal under journal_document"
    ),
    (
        "A reversal stands as a line of its own with the negative amount, beside the line it "
        "takes back"
    ),
    ("A consigned vehicle is never inventory: its cost is work in process until it is billed"),
    (
        "Chain heads: 'recondition check --against' this file tells later whether the book "
        "still holds these records unchanged. That proves the records, not the car"
    ),
)


def since_words(conn: Connection, wanted: Wanted) -> str:
    """Say what is new or reversed since the last export of the same kind and scope."""
    found = batches.since(conn, wanted.what, wanted.scope.period, wanted.stock)
    if found is None:
        return "It is the first of its kind"
    name, day, fresh, taken_back, others = found
    return (
        f"Since {name} of {day.isoformat()}: {fresh} lines are new, {taken_back} of them take back "
        f"a line that it held; {others} other postings are new"
    )
