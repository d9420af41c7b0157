"""Tables and sentences for whoever may see no money: what tells of it is left out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from recondition.amounts.currencies import CODES
from recondition.book.roles import Right
from recondition.ledger.documents import Visibility
from recondition.reports.table import CellKind, Table
from recondition.web.permits import PAPERS_OF_MONEY

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from recondition.errors import Refused
    from recondition.reports.table import Cell

# Columns that are no amounts and yet tell what something costs or brings.
TELLING = frozenset(
    {"average_cost", "percent", "commission", "premium", "billing", "quote", "margin", "rate",
     "share", "markup", "change_percent", "drift"}
)  # fmt: skip
_AMOUNT = re.compile(rf"[,;]?\s*[-\u2212]?\d[\d,.' \u00a0\u202f]*\s(?:{'|'.join(sorted(CODES))})\b")
_PLAIN_AMOUNT = re.compile(r"[-\u2212]?\b(?:\d{1,3}(?:[,' \u00a0\u202f]\d{3})+|\d{3,})\.\d{2}\b")


PRIVATE_NOTE = "private note"  # the name of its row where a vehicle is told field by field


def without_money(table: Table) -> Table:
    """Give a table without its columns of money, and without those that tell of it.

    Sentences below it lose their amounts, and a vehicle its private note. A row of totals goes
    where nothing that it adds up is left.
    """
    telling = {c.key for c in table.columns if c.kind is CellKind.MONEY} | TELLING
    made = without_columns(table, telling)
    return Table(
        made.title,
        made.columns,
        tuple(_plain(row) for row in made.rows if row[:1] != (PRIVATE_NOTE,)),
        without_amounts(made.note),
        None if made.total is None or not any(made.total[1:]) else _plain(made.total),
    )


def without_columns(table: Table, keys: Collection[str]) -> Table:
    """Give a table without some of its columns."""
    kept = [place for place, column in enumerate(table.columns) if column.key not in keys]
    return Table(
        table.title,
        tuple(table.columns[place] for place in kept),
        tuple(_cut(row, kept) for row in table.rows),
        table.note,
        None if table.total is None else _cut(table.total, kept),
    )


def _cut(row: tuple[Cell, ...], kept: Iterable[int]) -> tuple[Cell, ...]:
    """Give some cells of a row."""
    return tuple(row[place] for place in kept)


def _plain(row: tuple[Cell, ...]) -> tuple[Cell, ...]:
    """Give a row, texts without amounts that name their currency."""
    return tuple(_AMOUNT.sub("", cell) if isinstance(cell, str) else cell for cell in row)


def without_amounts(text: str) -> str:
    """Give a sentence without amounts of money: with their currency, or of some size with cents."""
    return _PLAIN_AMOUNT.sub("…", _AMOUNT.sub("", text))


def blinded(refused: Refused) -> Refused:
    """Take the amounts out of a refusal, for whoever may see no money."""
    refused.what = without_amounts(refused.what)
    refused.todo = without_amounts(refused.todo)
    return refused


def documents_seen(table: Table, rights: Iterable[Right]) -> Table:
    """Give the list of kept files with those alone that some rights may see."""
    held = set(rights)
    if held & {Right.MONEY, Right.DECIDE, Right.BOOKS}:
        return table
    keys = [column.key for column in table.columns]
    kind, seen_by = keys.index("kind"), keys.index("who_may_see")
    private = Visibility.EVIDENCE.value
    papers = {paper.value for paper in PAPERS_OF_MONEY}
    rows = tuple(
        row
        for row in table.rows
        if (row[kind] not in papers if Right.BENCH in held else row[seen_by] != private)
    )
    return Table(table.title, table.columns, rows, table.note)
