"""Stock: what is on hand, due and past its life, a product's movements, a batch to its cars."""

from __future__ import annotations

import uuid
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from flask import Blueprint, redirect, render_template, request, url_for

from recondition.book import reading
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.bench import count_by_weight
from recondition.intake.sheets import sheet_named
from recondition.reports import stock as reports
from recondition.reports.table import CellKind, Column, Table
from recondition.web.entry import done, refused_page
from recondition.web.forms import sent
from recondition.web.linked import opened_up, product_at
from recondition.web.live import STOCK, count_of
from recondition.web.permits import hold_sheet, may_enter
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.ledger.drafts import Stored
    from recondition.materials.products import Product

pages = Blueprint("stock", __name__)

_SEES = (Right.BENCH, Right.BOOKS)
PARTS = {
    "stock.first": "On hand", "stock.reorder": "Due for an order", "stock.opened": "Opened",
    "stock.counts": "Counts",
}  # fmt: skip
"""The pages about all of the stock, in their order."""


class NothingWeighed(Refused):
    """A count by weight without a weight."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what to fill in."""
        super().__init__(
            "no container was weighed",
            where="weights",
            todo="Nothing was counted. Weigh every container of it that is here; one that is not "
            "weighed counts as not there.",
        )


def _leads(conn: Connection) -> dict[str, Callable[[str], str]]:
    """Say where the cells of tables of stock lead, by the key of their columns."""
    there = set(reading.all_refs(conn, "receipt"))
    return {"receipt": lambda ref: url_for("stock.batch", ref=ref) if ref in there else ""}


def _may() -> dict[str, bool]:
    """Say what whoever is asking may enter about stock."""
    rights = visit().rights
    return {sheet: may_enter(sheet, rights) for sheet in ("receipts", "counts", "containers")}


def _tables(here: str, title: str, function: str, empty: str) -> str:
    """Lay out a page with tables about all of the stock."""
    book = the_book()
    today = book.now().astimezone().date()
    with book.reading() as conn:
        count = count_of(conn, STOCK)
        made = getattr(reports, function)(conn, None, today)
        leads = _leads(conn)
        if function in ("on_hand", "reorder", "unrecorded"):
            leads["ref"] = product_at
        tables = opened_up(conn, made, leads)
        known = bool(reading.all_refs(conn, "product"))
    return render_template(
        "web/stock.html.j2", here=here, parts=PARTS, title=title, tables=tables, count=count,
        may_enter=_may(), empty="" if any(t.table.rows for t in tables) else empty, known=known,
    )  # fmt: skip


@pages.get("/stock")
@needs(*_SEES)
def first() -> ResponseReturnValue:
    """List what is on hand by the book."""
    empty = "Nothing was ever received into stock. Take the first delivery in."
    return _tables("stock.first", "Stock on hand", "on_hand", empty)


@pages.get("/stock/reorder")
@needs(*_SEES)
def reorder() -> ResponseReturnValue:
    """List what is due for an order."""
    return _tables("stock.reorder", "Due for an order", "reorder", "")


@pages.get("/stock/opened")
@needs(*_SEES)
def opened() -> ResponseReturnValue:
    """List what is open and past its shelf life, or soon."""
    return _tables("stock.opened", "Opened and past its life", "opened", "")


@pages.get("/stock/counts")
@needs(*_SEES)
def counts() -> ResponseReturnValue:
    """List what counts found: use that nobody recorded, by product and month."""
    empty = "Nothing was counted yet. Open a product to count it, by weight or by pieces."
    return _tables("stock.counts", "Counts and unrecorded use", "unrecorded", empty)


@pages.get("/stock/<product>")
@needs(*_SEES)
def short(product: str) -> ResponseReturnValue:
    """Go to the page of a product."""
    return redirect(product_at(product))


@pages.get("/stock/products/<path:ref>")
@needs(*_SEES)
def one(ref: str) -> ResponseReturnValue:
    """Show a product: what is on hand, its containers, its movements and where it went."""
    return _product(ref, None)


def _product(ref: str, refused: Refused | None) -> str:
    """Lay out the page of a product. Raises NotThere."""
    book = the_book()
    today = book.now().astimezone().date()
    with book.reading() as conn:
        count = count_of(conn, f"product:{ref}")
        product: Stored[Product] = reading.one(conn, "product", ref)
        holders = _containers(conn, product)
        found = [
            *(replace(table, total=None) for table in reports.on_hand(conn, ref, today)),
            _holders_table(holders), _batches(conn, product),
            *reports.moves(conn, ref, today),
        ]  # fmt: skip
        on_hand, *tables = opened_up(conn, found, _leads(conn))
    return render_template(
        "web/stock_product.html.j2", product=product, on_hand=on_hand, tables=tables, count=count,
        may_enter=_may(), weighed=[h for h in holders if h.entry.tare is not None],
        refused=refused, given=request.form, here=product_at(ref), named=quote(ref, safe=""),
        key=sent("key", "") or uuid.uuid4().hex,
    )  # fmt: skip


def _containers(conn: Connection, product: Stored[Product]) -> list[Stored[Any]]:
    """Give the labelled containers of a product that are not emptied."""
    return [
        each
        for each in reading.stored(conn, "container")
        if each.entry.product == product.id and each.entry.emptied_on is None
    ]


def _holders_table(holders: list[Stored[Any]]) -> Table:
    """List containers."""
    rows = tuple(
        (each.ref, str(each.entry.tare) if each.entry.tare else "", each.entry.tare_note or "",
         each.entry.opened_on)
        for each in holders
    )  # fmt: skip
    columns = (
        Column("container", "Container"),
        Column("tare", "Weighs empty"),
        Column("note", "With"),
        Column("opened", "Open since", CellKind.DATE),
    )
    note = "" if rows else "No container of it has a label; a label lets its use be weighed."
    return Table("Containers", columns, rows, note)


def _batches(conn: Connection, product: Stored[Product]) -> Table:
    """List the deliveries of a product; each leads to the vehicles that got it."""
    rows = tuple(
        (each.ref, each.entry.received_on, str(each.entry.quantity),
         each.entry.batch_number or "", each.entry.use_by)
        for each in reading.stored(conn, "receipt")
        if each.entry.product == product.id
    )  # fmt: skip
    columns = (
        Column("receipt", "Delivery"),
        Column("day", "Received", CellKind.DATE),
        Column("quantity", "Amount"),
        Column("batch", "Batch number"),
        Column("use_by", "Use by", CellKind.DATE),
    )
    note = "Open a delivery to see which vehicles got it."
    return Table("Deliveries", columns, rows, note if rows else "It was never received into stock.")


@pages.get("/stock/batches/<path:ref>")
@needs(*_SEES)
def batch(ref: str) -> ResponseReturnValue:
    """Follow a delivery, by its ref or its printed batch number, to the vehicles that got it."""
    book = the_book()
    with book.reading() as conn:
        made = reports.trace(conn, ref, book.now().astimezone().date())
        tables = opened_up(conn, made, _leads(conn))
    return render_template("web/stock_batch.html.j2", ref=ref, tables=tables)


@pages.post("/stock/weigh/<path:ref>")
@needs(*_SEES)
def weigh(ref: str) -> ResponseReturnValue:
    """Post the count of a product by the weights of its containers as they stand."""
    hold_sheet(sheet_named("counts"), visit().rights)
    weights = [
        f"{name.removeprefix('gross:')}={value.strip()}"
        for name, value in request.form.items()
        if name.startswith("gross:") and value.strip()
    ]
    try:
        if not weights:
            raise NothingWeighed
        said = count_by_weight(
            the_book(), ref, weights, why=sent("why", ""), day=sent("day", "") or None,
            author_ref=visit().person, key=sent("key", "") or None,
        )  # fmt: skip
    except Refused as refused:
        return refused_page(refused, _product(ref, refused))
    return done(said, product_at(ref))
