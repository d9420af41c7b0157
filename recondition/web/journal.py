"""The journal, page by page: its entries, its accounts, and the lines behind each entry."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request, url_for

from recondition.accounts.journal import merged
from recondition.book import line_rows
from recondition.book.accounting import chart_of, journal_of
from recondition.book.context import NotThere
from recondition.book.roles import Right
from recondition.book.scope import Scope
from recondition.reports.books_journal import entry_table
from recondition.reports.books_named import OF_SHOP
from recondition.reports.books_view import view_of
from recondition.reports.table import CellKind, Column, Table
from recondition.web import entry_papers
from recondition.web.books import asked, at, known, leads_of
from recondition.web.linked import opened_up
from recondition.web.visit import needs, the_book

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from flask.typing import ResponseReturnValue

    from recondition.accounts.journal import Entry, Leg
    from recondition.book import Connection
    from recondition.reports.books_view import View

pages = Blueprint("journal", __name__)

ENTRIES_A_PAGE = 50
LEGS_A_PAGE = 200
_MONEY = CellKind.MONEY
_DIGITS_MAX = 9


@pages.get("/books/journal")
@needs(Right.BOOKS)
def entries() -> ResponseReturnValue:
    """Show the journal, some entries a page, each with its legs."""
    given, start = asked() | {"before": request.args.get("before", "")}, _start()
    with the_book().reading() as conn:
        there = known(conn)
        view = view_of(conn, given["period"] or None)
        found = view.entries if given["before"] == "yes" else view.of_period()
        kept = [entry for entry in found if _touches(entry, given["vehicle"])]
        some = kept[start : start + ENTRIES_A_PAGE]
        opened = opened_up(conn, [entry_table(view, entry) for entry in some], leads_of(""))
    shown = [(each, url_for("journal.entry", number=each.number)) for each in some]
    return render_template(
        "web/books_journal.html.j2", entries=list(zip(shown, opened, strict=True)), known=there,
        asked=given, reports=OF_SHOP, paging=_paging("journal.entries", start, ENTRIES_A_PAGE,
        len(kept), given), debits=view.money(sum(entry.debits for entry in kept)),
    )  # fmt: skip


def _touches(entry: Entry, vehicle: str) -> bool:
    """Tell whether an entry has to do with a vehicle; any has where none is named."""
    return not vehicle or any(leg.vehicle == vehicle for leg in entry.legs)


def _start() -> int:
    """Read how far into a long list the page begins."""
    text = request.args.get("from", "0")
    return int(text) if text.isdecimal() and len(text) <= _DIGITS_MAX else 0


def _paging(
    page: str, start: int, step: int, count: int, more: Mapping[str, str]
) -> dict[str, Any]:  # fmt: skip
    """Say which part of a long list is shown, and where the parts beside it are."""

    def beginning(first: int) -> str:
        return at(page, **more, **({"from": str(first)} if first else {}))

    return {
        "first": min(start + 1, count), "last": min(start + step, count), "count": count,
        "before": beginning(max(start - step, 0)) if start else "",
        "after": beginning(start + step) if start + step < count else "",
    }  # fmt: skip


@pages.get("/books/entries/<path:number>")
@needs(Right.BOOKS)
def entry(number: str) -> ResponseReturnValue:
    """Open one entry of the journal up to the lines and records that it is made of."""
    with the_book().reading() as conn:
        view = view_of(conn)
        found = next((each for each in view.entries if each.number == number), None)
        if found is None:
            raise NotThere(what="entry", name=number)
        lines, named = _lines_of(conn, found), entry_papers.naming(conn, view, found.document)
        there = {row[0] for row in lines.rows}
        if named is not None and there.issuperset(row[0] for row in named.rows):
            named = None
        tables = [
            entry_table(view, found),
            *([lines] if there else []),
            *([named] if named else []),
        ]
        opened = opened_up(conn, tables, leads_of(found.period))
        to = entry_papers.record_behind(conn, found.document)
    return render_template("web/books_entry.html.j2", entry=found, tables=opened, to=to)


_SHOWN = ("line_id", "kind", "stock_no", "work_date", "description", "findings", "amount_home")


def _lines_of(conn: Connection, entry: Entry) -> Table:
    """Give the posted lines behind an entry of the journal, and what moved stock in it."""
    columns = {name: place for place, name in enumerate(line_rows.COLUMNS)}

    def own(row: tuple[Any, ...]) -> bool:
        back = row[columns["reverses_line_id"]]
        day = row[columns["work_date"]]
        day = day if back else row[columns["tax_point_date"]] or day
        return row[columns["journal_document"]] == entry.document and str(day) == entry.day

    scope = Scope(period=entry.period)
    rows = line_rows.rows(conn, scope, journal_of(conn), chart_of(conn))
    kept = tuple(tuple(row[columns[name]] for name in _SHOWN) for row in rows if own(row))
    kept += entry_papers.stock_rows(conn, entry)
    headed = (
        Column("line", "Line"),
        Column("kind", "What"),
        Column("vehicle", "Vehicle"),
        Column("day", "Day", CellKind.DATE),
        Column("words", "Words"),
        Column("findings", "For findings"),
        Column("cost", "Cost", _MONEY),
    )
    return Table("Its lines", headed, kept)


@pages.get("/books/accounts/<path:code>")
@needs(Right.BOOKS)
def account(code: str) -> ResponseReturnValue:
    """Open what stands on one account up to the entries of the journal."""
    given, start = asked(), _start()
    with the_book().reading() as conn:
        there = known(conn)
        view = view_of(conn, given["period"] or None)
        legs = list(_legs(view, code))
        if not legs:
            raise NotThere(what="account that anything stands on", name=code)
        table = _account_table(view, legs, start)
        leads = {**leads_of(""), "entry": lambda number: url_for("journal.entry", number=number)}
        opened = opened_up(conn, [table], leads)
    return render_template(
        "web/books_report.html.j2", title=f"Account {code}", name="accounts", tables=opened,
        known=there, asked=given, by_period=True, by_vehicle=False, reports=OF_SHOP,
        paging=_paging("journal.account", start, LEGS_A_PAGE, len(legs), {**given, "code": code}),
    )  # fmt: skip


def _legs(view: View, code: str) -> Iterator[tuple[Entry, Leg]]:
    """Give what was debited and credited to an account."""
    for each in view.entries:
        for leg in merged(each):
            if leg.code == code:
                yield each, leg


def _account_table(view: View, legs: list[tuple[Entry, Leg]], start: int) -> Table:
    """Give the postings of an account with what stands on it after each."""
    rows, balance = [], 0
    for each, leg in legs:
        balance += leg.amount
        rows.append(
            (each.number, each.day, each.document, leg.vehicle,
             view.money(leg.debit) if leg.amount > 0 else None,
             view.money(leg.credit) if leg.amount < 0 else None, view.money(balance))
        )  # fmt: skip
    columns = (
        Column("entry", "Entry"),
        Column("day", "Day"),
        Column("document", "Document"),
        Column("vehicle", "Vehicle"),
        Column("debit", "Debited", _MONEY),
        Column("credit", "Credited", _MONEY),
        Column("balance", "Stands at", _MONEY),
    )
    debits = view.money(sum(leg.debit for _, leg in legs))
    credits_ = view.money(sum(leg.credit for _, leg in legs))
    total = ("all", None, None, None, debits, credits_, view.money(balance))
    title = f"{legs[0][1].name}, {view.when()}"
    return Table(title, columns, tuple(rows[start : start + LEGS_A_PAGE]), "", total)
