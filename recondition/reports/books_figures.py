"""A figure of one vehicle opened up: the legs of the journal that it is the sum of."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from recondition.accounts.figures import FIGURES
from recondition.accounts.journal import Entry, Leg
from recondition.book import Connection
from recondition.book.context import NotThere
from recondition.book.questions import vehicle_of
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import CellKind, Column, Table

Added = tuple[Entry, Leg, int]
"""A leg with its entry, and what it adds to a figure in minor units."""


def figure(conn: Connection, stock: str, name: str, period: str | None) -> list[Table]:
    """Give the legs behind a figure of a vehicle, up to a period where one is named.

    ``name`` is one of ``FIGURES``. Raises NotThere.
    """
    if name not in FIGURES:
        raise NotThere(what="figure of one vehicle", name=name)
    vehicle_of(conn, stock)
    view, wanted = view_of(conn, period), FIGURES[name]
    side = "Debits add to it, credits" if wanted.sign > 0 else "Credits add to it, debits"
    note = f"{side} take from it. {GENERAL}"
    legs = list(wanted.legs(view.entries, stock))
    return [legs_table(view, f"{wanted.title}, {view.when()}", legs, note)]


def legs_table(view: View, title: str, found: Sequence[Added], note: str) -> Table:
    """List legs of the journal, each with its entry, its account and what it adds, and the sum."""
    columns = (
        Column("entry", "Entry"),
        Column("day", "Day", CellKind.DATE),
        Column("document", "Document"),
        Column("account", "Account code"),
        Column("name", "Account name"),
        Column("amount", "Amount", CellKind.MONEY),
    )
    rows = tuple(
        (entry.number, date.fromisoformat(entry.day), entry.document, leg.code, leg.name,
         view.money(amount))
        for entry, leg, amount in found
    )  # fmt: skip
    whole = view.money(sum(amount for *_, amount in found))
    return Table(title, columns, rows, note, ("all", None, None, None, None, whole))
