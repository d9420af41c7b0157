"""Tables of stock and of the books, opened up: where their refs, cars and products lead."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import quote

from recondition.book import news, reading
from recondition.book.kinds import KINDS
from recondition.web.blind import without_money
from recondition.web.opened import Links, Opened
from recondition.web.permits import may_see, sees_money
from recondition.web.visit import visit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from recondition.book import Connection
    from recondition.reports.table import Table

# What leads to pages of its own, and not to a record.
_PLACES = ("vehicle", "product", "person", "supplier")
_KINDS = tuple(kind for kind in KINDS if kind not in _PLACES)
_WHOLE = frozenset({"ref", "line", "record", "container", "taken_back", "settles", "receipt"})
_REF = re.compile(r"[A-Za-z]{1,4}-\d{1,9}(?:-reversed)?")


def vehicle_at(stock: str) -> str:
    """Give the address of a vehicle by its stock number."""
    return f"/vehicles/{quote(stock, safe='')}"


def product_at(ref: str) -> str:
    """Give the address of a product by its ref."""
    return f"/stock/products/{quote(ref)}"


def places_in(conn: Connection) -> dict[str, Callable[[str], str]]:
    """Say where stock numbers and refs of products lead, by the key of their columns."""
    cars, products = (set(reading.all_refs(conn, kind)) for kind in ("vehicle", "product"))
    return {
        "vehicle": lambda text: vehicle_at(text) if text in cars else "",
        "product": lambda text: product_at(text) if text in products else "",
    }


def links_in(conn: Connection, tables: Iterable[Table]) -> Links:
    """Find which texts in some tables are refs of records that whoever is asking may see."""
    wanted: set[str] = set()
    for table in tables:
        for place, column in enumerate(table.columns):
            cells = [row[place] for row in table.rows]
            named = {cell for cell in cells if isinstance(cell, str)}
            if column.key in _WHOLE:
                wanted |= named
            wanted.update(ref for text in named for ref in _REF.findall(text))
    rights = visit().rights
    kinds = [kind for kind in _KINDS if may_see(kind, rights)]
    return Links(news.kinds_of(conn, wanted, kinds))


def opened_up(
    conn: Connection, tables: Sequence[Table], more: Mapping[str, Callable[[str], str]]
) -> list[Opened]:
    """Open tables up as whoever is asking may see them.

    ``more`` gives by the key of a column the address behind a text, '' for none, beside or
    instead of ``places_in``.
    """
    leads = {**places_in(conn), **more}
    seen = tables if sees_money(visit().rights) else [without_money(table) for table in tables]
    links = links_in(conn, seen)
    return [Opened(table, links, _leading(table, leads)) for table in seen]


def _leading(
    table: Table, leads: Mapping[str, Callable[[str], str]]
) -> Callable[[str, tuple[str, ...]], Mapping[str, str]]:
    """Give where the cells of a table's rows lead; the row of sums leads nowhere."""
    places = [(n, c.key) for n, c in enumerate(table.columns) if c.key in leads]

    def of_row(_title: str, row: tuple[str, ...]) -> Mapping[str, str]:
        if row[0] in ("all", "\u2013"):
            return {}
        return {key: leads[key](row[place]) for place, key in places}

    return of_row
