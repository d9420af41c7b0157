"""The books: periods, what ties to what, and every report opened up to its lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request, url_for

from recondition.accounts.figures import BOOKED, FIGURES
from recondition.book import news, reading
from recondition.book.accounting import closings, period_events
from recondition.book.context import NotThere
from recondition.book.reversing import day_of
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.numbers import amount
from recondition.ledger.periods import check_period, month_of, next_month
from recondition.reports import lists_books
from recondition.reports.books_named import OF_SHOP, PERIOD, REFS, named
from recondition.web.entry import refused_page
from recondition.web.entry_papers import record_behind
from recondition.web.linked import opened_up
from recondition.web.opened import record_at
from recondition.web.permits import may_enter
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.reports.table import Table

pages = Blueprint("books", __name__)

ENTERED = {
    "accounts": ("accounts",), "hours": ("paid hours",), "inventory": ("value tests",),
    "invoices": ("supplier invoices", "payments", "shared charges"),
    "profit": ("sales", "payments"), "tax": ("tax codes",),
}  # fmt: skip
"""The sheets that a report rests on, whose forms its page leads to."""
OF_ONE = {"week": "Another week", "settlement": "Settlement", "position": "Position"}
"""What the books say of one vehicle."""
_OF_INVENTORY = ("landed", "work", "tested", "sold", "journal", "after_sale", "in_process")


def known(conn: Connection) -> dict[str, list[str]]:
    """Give what the books can be narrowed to: months, the newest first, and stock numbers."""
    closed = closings(period_events(conn))
    months = {month_of(the_book().now().astimezone().date()), *closed, *news.months_booked(conn)}
    months |= {next_month(month) for month, each in closed.items() if each.entry.accruals}
    return {"periods": sorted(months)[::-1], "vehicles": reading.all_refs(conn, "vehicle")}


def asked() -> dict[str, str]:
    """Give what the address narrows a report to. Raises NotAPeriod."""
    period = request.args.get("period", "").strip()
    if period:
        check_period(period)
    return {"period": period, "vehicle": request.args.get("vehicle", "").strip()}


def at(page: str, **more: str) -> str:
    """Give the address of a page of the books; what is empty is left out."""
    given: dict[str, Any] = {name: value for name, value in more.items() if value}
    return url_for(page, **given)


@pages.get("/books")
@needs(Right.BOOKS)
def first() -> ResponseReturnValue:
    """Show the periods with their state, and what else the books can be asked for."""
    book = the_book()
    today = book.now().astimezone().date()
    with book.reading() as conn:
        there = known(conn)
        states, events = lists_books.periods(conn, today)
        leads = {"period": lambda month: url_for("periods.month", month=month)}
        opened = opened_up(conn, [states, *([events] if events.rows else [])], leads)
        used = bool(there["vehicles"]) or len(states.rows) > 1
    return render_template("web/books.html.j2", tables=opened, reports=OF_SHOP, used=used)


@pages.get("/books/<name>")
@needs(Right.BOOKS)
def report(name: str) -> ResponseReturnValue:
    """Show one report, narrowed to a month or a vehicle where it can be."""
    found, given = named(name), asked()
    refs = (given["vehicle"],) if given["vehicle"] else ()
    with the_book().reading() as conn:
        there = known(conn)
        tables = found.tables(conn, refs, given["period"] or None)
        opened = opened_up(conn, tables, leads_of(given["period"]), row_leads(given["period"]))
    return render_template(
        "web/books_report.html.j2", paging=None, title=found.title, name=name, tables=opened,
        known=there, asked=given, by_period=PERIOD in found.narrowed,
        by_vehicle=REFS in found.narrowed, reports=OF_SHOP,
        sheets=[each for each in ENTERED.get(name, ()) if may_enter(each, visit().rights)],
    )  # fmt: skip


def leads_of(period: str) -> dict[str, Callable[[str], str]]:
    """Say where the cells of reports lead, by the key of their columns."""
    return {
        "account": lambda code: at("journal.account", code=code, period=period),
        "what": lambda what: _tied(what, period),
        "booked": lambda month: url_for("periods.month", month=month),
    }


def row_leads(period: str) -> Callable[[str, Mapping[str, str]], dict[str, str]]:
    """Say where the figures of a row lead: to the entries or lines behind them.

    What is given takes the title of a table and a row of it, by the keys of its columns. Of a
    month it leads to what is as of its end; where there is no such page, nowhere.
    """

    def leads(title: str, cells: Mapping[str, str]) -> dict[str, str]:
        car, found = cells.get("vehicle", ""), dict[str, str]()
        match title:
            case "Hours by person and week":
                to = url_for("books.week", person=cells["person"], week=cells["week"])
                found = {**dict.fromkeys(cells, to), "person": record_at("person", cells["person"])}
            case "What each vehicle brought" | "What lies between" | "Own cars in inventory":
                names = FIGURES.keys() & cells.keys()
                found = {name: figure_at(car, name, period) for name in names}
            case "Work in process for owners":
                to = figure_at(car, "in_process", period)
                found = {"cost": to, "lines": to if period else url_for("ledger.lines", stock=car)}
            case "Tax on what was bought":
                found = dict.fromkeys(cells, at("books.taxed", code=cells["code"], period=period))
            case "By the accounts":
                code = next(each for each, said in BOOKED.items() if said[0] == cells["what"])
                found = {"amount": at("books.taxed", code=code, period=period)}
                found |= {} if period else {"what": at("books.report", name="accounts")}
            case "Stock book":
                found = {"price": at("books.report", name="landed", vehicle=car)}
        return found

    return leads


def figure_at(stock: str, name: str, period: str = "") -> str:
    """Give the address of what a figure of a vehicle is the sum of, up to a month if one is named.

    ``name`` is one of ``FIGURES``.
    """
    return at("books.of_one", stock=stock, name=name.replace("_", "-"), period=period)


@pages.get("/books/hours/<path:person>/<week>")
@needs(Right.BOOKS)
def week(person: str, week: str) -> ResponseReturnValue:
    """Open the hours of a person in the week of a day up to their lines."""
    from recondition.reports.books_hours import of_week  # noqa: PLC0415 - heavy, and only here

    with the_book().reading() as conn:
        tables = of_week(conn, person, day_of(week))
        opened = opened_up(conn, tables, leads_of(""))
        there = known(conn)
    return render_template(
        "web/books_report.html.j2", paging=None, title=f"Hours of {person}", name="hours",
        tables=opened, known=there, asked=asked(), by_period=False, by_vehicle=False,
        reports=OF_SHOP,
    )  # fmt: skip


@pages.get("/books/tax/<path:code>")
@needs(Right.BOOKS)
def taxed(code: str) -> ResponseReturnValue:
    """Open the tax of a code up to the lines that name it."""
    from recondition.reports.books_tax import of_code  # noqa: PLC0415 - heavy, and only here

    given = asked()
    with the_book().reading() as conn:
        leads = leads_of(given["period"]) | {"entry": _entry_at}
        opened = opened_up(conn, of_code(conn, code, given["period"] or None), leads)
        there = known(conn)
    return render_template(
        "web/books_report.html.j2", paging=None, title=f"Tax {code}", name="tax", tables=opened,
        known=there, asked=given, by_period=True, by_vehicle=False, reports=OF_SHOP,
    )  # fmt: skip


def _tied(what: str, period: str) -> str:
    """Give the report that opens a sum up which is known in two ways; '' for other texts.

    The journal of a month says what was booked in it alone; the accounts, what was so far.
    """
    if what == "value on hand by stock movements":
        return "" if period else url_for("stock.first")
    names = {"Journal": "accounts" if period else "journal", "Own cars in inventory": "inventory",
             "Consumables stock": "inventory", "Supplier invoices": "invoices",
             "by the journal": "accounts"}  # fmt: skip
    return at("books.report", name=names[what], period=period) if what in names else ""


@pages.get("/books/vehicles/<path:stock>/<name>")
@needs(Right.BOOKS)
def of_one(stock: str, name: str) -> ResponseReturnValue:
    """Show what the books say of one vehicle: a week, its settlement, its position, a figure."""
    from recondition.reports import books_one_car  # noqa: PLC0415 - heavy, and only here

    if name.replace("-", "_") in FIGURES:
        return _figure(stock, name.replace("-", "_"))
    if name not in OF_ONE:
        raise NotThere(what="report of one vehicle", name=name)
    tried, refused = request.args.get("hammer", "").strip(), None
    with the_book().reading() as conn:
        settings = reading.settings_of(conn)
        if name == "position":
            tables = books_one_car.spent_on(conn, stock)
            try:
                hammers = [amount(tried, settings, "the hammer")] if tried else []
                tables = books_one_car.position(conn, stock, hammers)
            except Refused as found:
                refused = found
        else:
            tables = getattr(books_one_car, name)(conn, stock)
        leads = leads_of("") | _documents(conn, tables) | {"sale": _sale_at}
        opened = opened_up(conn, tables, leads, _open_leads(stock))
        sold = books_one_car.sale_of(conn, reading.id_of(conn, "vehicle", stock))
    page = render_template(
        "web/books_vehicle.html.j2", stock=stock, name=name, tables=opened, names=OF_ONE,
        tried=tried, currency=settings.currency, refused=refused,
        sold=sold.entry.sold_on.isoformat() if sold else "",
    )  # fmt: skip
    return refused_page(refused, page) if refused and tried else page


def _documents(conn: Connection, tables: Sequence[Table]) -> dict[str, Callable[[str], str]]:
    """Say where the documents of the journal in some tables lead: to their records."""
    named = {
        str(cell)
        for table in tables
        for row in table.rows
        for cell, column in zip(row, table.columns, strict=True)
        if column.key == "document"
    }
    found = {document: record_behind(conn, document) for document in named}
    return {"document": lambda document: found.get(document, "")}


def _sale_at(ref: str) -> str:
    """Give the address of a sale by its ref."""
    return record_at("sale", ref)


def _entry_at(number: str) -> str:
    """Give the address of an entry of the journal by its number."""
    return url_for("journal.entry", number=number)


_OPEN = {
    "to come in from the sale": "to_come_in", "due to the owner from the sale": "due_to_owner",
    "the owner owes for work": "owed_for_work",
}  # fmt: skip


def _open_leads(stock: str) -> Callable[[str, Mapping[str, str]], dict[str, str]]:
    """Say where what is open on a vehicle leads: to the postings that it is the sum of."""

    def leads(title: str, cells: Mapping[str, str]) -> dict[str, str]:
        name = _OPEN.get(cells["what"], "") if title == "Still open" else ""
        return {"amount": figure_at(stock, name)} if name else {}

    return leads


def _figure(stock: str, name: str) -> str:
    """Open a figure of one vehicle up to the postings that it is the sum of."""
    from recondition.reports.books_figures import figure  # noqa: PLC0415 - heavy, and only here

    given = asked()
    with the_book().reading() as conn:
        tables = figure(conn, stock, name, given["period"] or None)
        opened = opened_up(conn, tables, leads_of(given["period"]) | {"entry": _entry_at})
        there = known(conn)
    return render_template(
        "web/books_report.html.j2", paging=None, title=f"{stock}: {FIGURES[name].title}",
        name="inventory" if name in _OF_INVENTORY else "profit", tables=opened, known=there,
        asked=given, by_period=True, by_vehicle=False, reports=OF_SHOP,
    )  # fmt: skip
