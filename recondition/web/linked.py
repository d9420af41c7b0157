"""Tables of stock and of the books, opened up: where their refs, cars and products lead."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import quote

from recondition.book import news, reading
from recondition.book.kinds import KINDS, LINE_KINDS
from recondition.book.roles import Right
from recondition.web.blind import without_money
from recondition.web.opened import Links, Opened, record_at
from recondition.web.permits import may_see, sees_money
from recondition.web.record_view import documents_seen
from recondition.web.visit import may, visit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from recondition.book import Connection
    from recondition.reports.table import Table

# What leads to pages of its own, and not to a record.
_PLACES = ("vehicle", "product", "person", "supplier")
_KINDS = tuple(kind for kind in KINDS if kind not in _PLACES)
_WHOLE = frozenset({"ref", "line", "record", "container", "taken_back", "settles", "receipt"})
# Columns of lines: in such a table a ref that kinds share is a line's first of all.
_OF_LINES = frozenset({"line", "lines", "refs"})
_REF = re.compile(r"[A-Za-z]{1,4}-\d{1,9}(?:-reversed)?")


def vehicle_at(stock: str) -> str:
    """Give the address of a vehicle by its stock number; its work history for who sees no more."""
    shop = may(Right.MONEY, Right.BENCH)
    return f"/{'vehicles' if shop else 'histories'}/{quote(stock, safe='')}"


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


def _kinds_in(conn: Connection, tables: Iterable[Table]) -> dict[str, list[str]]:
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
    found = news.kinds_of(conn, wanted, [kind for kind in _KINDS if may_see(kind, rights)])
    return found if sees_money(rights) else _without_shut(conn, found)


def _without_shut(conn: Connection, found: Mapping[str, list[str]]) -> dict[str, list[str]]:
    """Leave out the documents that whoever is asking may not see."""
    papers = {ref for ref, kinds in found.items() if "document" in kinds}
    shut = papers - documents_seen(conn, papers, visit().rights)
    return {
        ref: [kind for kind in kinds if kind != "document" or ref not in shut]
        for ref, kinds in found.items()
    }


def _links_of(table: Table, found: Mapping[str, list[str]]) -> Links:
    """Give where the refs of one table lead: in a table of lines to the line, if there is one."""
    of_lines = any(column.key in _OF_LINES for column in table.columns)

    def first(kinds: list[str]) -> str:
        return next((kind for kind in kinds if of_lines and kind in LINE_KINDS), kinds[0])

    return Links({ref: first(kinds) for ref, kinds in found.items() if kinds})


def opened_up(
    conn: Connection, tables: Sequence[Table], more: Mapping[str, Callable[[str], str]],
    of_row: Callable[[str, Mapping[str, str]], Mapping[str, str]] | None = None,
) -> list[Opened]:  # fmt: skip
    """Open tables up as whoever is asking may see them.

    ``more`` gives by the key of a column the address behind a text, '' for none, beside or
    instead of ``places_in``. ``of_row`` gives it by the title of a table and a row of it, both
    by key; where a row names the kind of its record, its ref leads to that one.
    """
    leads = {**places_in(conn), **more}
    seen = tables if sees_money(visit().rights) else [without_money(table) for table in tables]
    found = _kinds_in(conn, seen)

    def whole(table: Table) -> Callable[[str, tuple[str, ...]], Mapping[str, str]]:
        keys = [column.key for column in table.columns]

        def of(title: str, row: tuple[str, ...]) -> Mapping[str, str]:
            if row[0] in ("all", "\u2013"):  # the row of sums leads nowhere
                return {}
            cells = dict(zip(keys, row, strict=True))
            each = {key: leads[key](text) for key, text in cells.items() if key in leads}
            own = _by_kind(cells, found)
            return {**each, **own, **(of_row(title, cells) if of_row else {})}

        return of

    return [Opened(table, _links_of(table, found), whole(table)) for table in seen]


def _by_kind(cells: Mapping[str, str], found: Mapping[str, list[str]]) -> dict[str, str]:
    """Say where the ref of a row leads that names its kind beside it."""
    kind = cells.get("kind", "")
    return {
        key: record_at(kind, cells[key])
        for key in ("line", "ref")
        if kind in found.get(cells.get(key, ""), ())
    }
