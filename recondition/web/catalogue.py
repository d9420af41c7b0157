"""Every list and report by its name: what it can be narrowed to, and who may see it."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

from recondition.book import reading
from recondition.book.questions import vehicle_of
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.numbers import amount
from recondition.ledger.periods import check_period
from recondition.reports.books_named import OF_SHOP, REFS
from recondition.web.blind import documents_seen, without_columns, without_money
from recondition.web.permits import hidden, sees_money

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from recondition.book import Connection
    from recondition.reports.table import Table

Rights = tuple[Right, ...]
SHOP: Rights = (Right.BENCH, Right.MONEY, Right.DECIDE, Right.BOOKS)
MONEY: Rights = (Right.MONEY,)
DECIDE: Rights = (Right.MONEY, Right.DECIDE)
ANY: Rights = (*SHOP, Right.RELEASE)
PUBLIC: Rights = (Right.RELEASE, Right.DECIDE)


class NoSuchReport(Refused):
    """No list or report of that name is known."""

    exit_status = 2
    http_status = 404

    def __init__(self, name: str, known: Iterable[str]) -> None:
        """Name those that there are."""
        super().__init__(f"there is no list or report {name!r}", todo=f"Take: {', '.join(known)}.")


class NotForThisReport(Refused):
    """A report is asked for without what it is about, or narrowed to what it cannot be."""

    exit_status = 2

    def __init__(self, name: str, why: str, takes: Iterable[str]) -> None:
        """Say what it takes."""
        known = ", ".join(takes) or "nothing"
        super().__init__(f"{name}: {why}", todo=f"What it takes: {known}.")


@dataclass(frozen=True, slots=True)
class Shown:
    """One list or report.

    ``module`` and ``function`` make its tables; it is loaded when it is asked for. ``takes`` are
    the names that it can be narrowed by, those with a star must be given: ``vehicle``,
    ``vehicles``, ``period``, ``which`` (a product, or a batch), ``hammers``, ``range``.
    """

    name: str
    words: str
    module: str
    function: str
    takes: tuple[str, ...]
    rights: Rights

    @property
    def parameters(self) -> tuple[str, ...]:
        """The names that it can be narrowed by."""
        return tuple(name.strip("*") for name in self.takes)


def _list(
    name: str, words: str, function: str, rights: Rights = SHOP, *, of_vehicle: bool = True
) -> Shown:
    """Give the row of a list of records."""
    module, _, own = function.rpartition(".")
    takes = ("vehicle",) if of_vehicle else ()
    return Shown(name, words, module or "lists", own, takes, rights)


LISTS = {
    row.name: row
    for row in (
        _list("vehicles", "Vehicles", "vehicles", ANY, of_vehicle=False),
        _list("findings", "Findings and how they ended", "findings"),
        _list("candidates", "Candidate work", "candidates"),
        _list("lines", "Posted lines", "lines"),
        _list("panels", "Panels", "panels"),
        _list("documents", "Kept files", "documents", ANY),
        _list("terms", "Sale terms", "terms", DECIDE),
        _list("people", "People and rates", "people", of_vehicle=False),
        _list("suppliers", "Suppliers", "suppliers", of_vehicle=False),
        _list("products", "Products", "products", of_vehicle=False),
        _list("gloss", "Gloss readings", "lists_bench.gloss"),
        _list("water", "Drops and hardness", "lists_bench.water"),
        _list("tests", "Identification tests", "lists_bench.tests"),
        _list("custody", "Things in custody", "lists_bench.custody"),
        _list("rules", "Rules of the order of work", "lists_bench.rules", of_vehicle=False),
        _list("orders", "Orders", "lists_orders.orders"),
        _list("parts", "Parts by where they are", "lists_orders.parts"),
        _list("tax-codes", "Tax codes", "lists_books.tax_codes", MONEY, of_vehicle=False),
        _list("accounts", "Account map", "lists_books.accounts", MONEY, of_vehicle=False),
        _list("supplier-invoices", "Supplier invoices", "lists_books.supplier_invoices", MONEY,
              of_vehicle=False),
        _list("payments", "Payments", "lists_books.payments", MONEY, of_vehicle=False),
        _list("value-tests", "Value tests", "lists_books.value_tests", MONEY),
        _list("consents", "What may be shown", "lists_history.consents", PUBLIC),
        _list("editions", "Editions of work histories", "lists_history.editions", PUBLIC),
        _list("trials", "Tests that could be made first", "lists_worth.trials", DECIDE),
        _list("comparables", "Sales of like vehicles", "lists_worth.comparables", DECIDE),
        _list("sales", "Sales", "lists_worth.sales", MONEY),
    )
}  # fmt: skip

_PAGES, _BOOKS = "pages", "books_named"


def _narrowed(name: str) -> str:
    """Name what a report of the books can be narrowed to."""
    return "vehicles" if name == REFS else "period"


_VEHICLES, _BOTH = ("vehicles",), ("vehicles", "period")

REPORTS = {
    row.name: row
    for row in (
        Shown("worth-doing", "What is worth doing", _PAGES, "", _VEHICLES, DECIDE),
        Shown("cost-and-uplift", "Cost and uplift", _PAGES, "", _VEHICLES, MONEY),
        Shown("arrival", "Arrival condition", _PAGES, "", _VEHICLES, SHOP),
        Shown("condition", "Condition now", _PAGES, "", _VEHICLES, SHOP),
        Shown("changes", "What changed", _PAGES, "", _VEHICLES, SHOP),
        Shown("rework", "What was done again", _PAGES, "", _VEHICLES, SHOP),
        Shown("operations", "What operations take", _PAGES, "", _VEHICLES, SHOP),
        Shown("track-record", "Decisions against what happened", _PAGES, "", _VEHICLES, DECIDE),
        Shown("film", "Film by panel", "film", "tables", ("vehicle*", "range"), SHOP),
        Shown("owner-limit", "Against an owner's limit", "owner", "limit_tables", ("vehicle*",),
              DECIDE),
        Shown("vehicle", "One vehicle", "lists", "one_vehicle", ("vehicle*",), SHOP),
        Shown("product", "One product", "lists", "one_product", ("which*",), SHOP),
        Shown("stock", "Stock on hand", "stock", "on_hand", ("which",), SHOP),
        Shown("stock-moves", "Movements of a product", "stock", "moves", ("which*",), SHOP),
        Shown("stock-trace", "Where a batch went", "stock", "trace", ("which*",), SHOP),
        Shown("stock-reorder", "Due for an order", "stock", "reorder", ("which",), SHOP),
        Shown("stock-opened", "Open and past its life", "stock", "opened", ("which",), SHOP),
        Shown("stock-unrecorded", "Unrecorded use", "stock", "unrecorded", ("which",), SHOP),
        *(
            Shown(name, named.title, _BOOKS, name, tuple(map(_narrowed, named.narrowed)), MONEY)
            for name, named in OF_SHOP.items()
        ),
        Shown("week", "Another week", "books_one_car", "week", ("vehicle*",), DECIDE),
        Shown("settlement", "Settlement", "books_one_car", "settlement", ("vehicle*",), MONEY),
        Shown("position", "What is in a car today", "books_one_car", "position",
              ("vehicle*", "hammers"), DECIDE),
        Shown("periods", "Posting periods", "lists_books", "periods", (), MONEY),
    )
}  # fmt: skip

Asked = dict[str, list[str]]


def of_name(rows: Mapping[str, Shown], name: str, rights: Iterable[Right]) -> Shown:
    """Give a list or report by its name. Raises NoSuchReport; what may not be seen is none."""
    held = set(rights)
    known = [row.name for row in rows.values() if held & set(row.rights)]
    if name not in known:
        raise NoSuchReport(name, known)
    return rows[name]


def hold_asked(row: Shown, asked: Asked) -> None:
    """Hold that a report gets what it needs and nothing else. Raises NotForThisReport."""
    for name in asked:
        if name not in row.parameters:
            raise NotForThisReport(row.name, f"it cannot be narrowed by {name}", row.parameters)
    for name in row.takes:
        if name.endswith("*") and not asked.get(name[:-1]):
            raise NotForThisReport(row.name, f"{name[:-1]} is missing", row.parameters)


def tables_of(
    conn: Connection, row: Shown, asked: Asked, rights: Iterable[Right], now: datetime
) -> list[Table]:
    """Make the tables of a list or report, with what some rights may see of them.

    ``now`` is on the shop's own wall clock, without a zone. Raises NotForThisReport, NotThere,
    NotAPeriod and what the report raises.
    """
    held = set(rights)
    hold_asked(row, asked)
    for ref in [*asked.get("vehicles", []), *asked.get("vehicle", [])]:
        vehicle_of(conn, ref)
    for period in asked.get("period", []):
        check_period(period)
    made = _made(conn, row, asked, now)
    if row.name == "documents":
        made = [documents_seen(table, held) for table in made]
    if row.name in _OF_KIND:
        out = hidden(_OF_KIND[row.name], held)
        made = [without_columns(table, out) for table in made]
    return made if sees_money(held) else [without_money(table) for table in made]


# Lists with columns that are shut to some, named as the fields of their kind.
_OF_KIND = {"suppliers": "supplier", "people": "person", "consents": "consent"}


def _made(conn: Connection, row: Shown, asked: Asked, now: datetime) -> list[Table]:
    """Call what makes the tables."""
    if row.module == _PAGES:
        from recondition.reports.pages import REPORTS as PARTS  # noqa: PLC0415 - heavy

        parts = PARTS[row.name](conn, tuple(asked.get("vehicles", ())), now)
        return [table for part in parts for table in part.tables]
    if row.module == _BOOKS:
        period = next(iter(asked.get("period", ())), None)
        return OF_SHOP[row.name].tables(conn, tuple(asked.get("vehicles", ())), period)
    make: Callable[..., list[Table]] = getattr(
        import_module(f"recondition.reports.{row.module}"), row.function
    )
    one: dict[str, str | None] = {name: values[0] for name, values in asked.items() if values}
    if row.module == "stock":
        return make(conn, one.get("which"), now.date())
    if row.name == "periods":
        return make(conn, now.date())
    if row.name == "position":
        return make(conn, one["vehicle"], _hammers(conn, asked.get("hammers", [])))
    given: dict[str, Any] = {"vehicles": tuple(asked.get("vehicles", ()))} | one
    return make(conn, *(given.get(name, ()) if name == "vehicles" else given.get(name)
                        for name in row.parameters), *_no_vehicle(row))  # fmt: skip


def _no_vehicle(row: Shown) -> tuple[None, ...]:
    """Give what a list that is never of one vehicle takes in its place."""
    return (None,) if row.name in LISTS and not row.takes else ()


def _hammers(conn: Connection, texts: Iterable[str]) -> list[Any]:
    """Read hammers to be tried, in the book's currency."""
    settings = reading.settings_of(conn)
    return [amount(text, settings, "hammer") for text in texts]
