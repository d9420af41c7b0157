"""Tax paid and charged by code, and the stock book of the margin scheme."""

from __future__ import annotations

from datetime import date
from typing import Any

from recondition.accounts.facts import StockFact
from recondition.accounts.figures import BOOKED
from recondition.accounts.margin import Scheme
from recondition.amounts import Money
from recondition.book import Connection, reading
from recondition.book.booking import Booking
from recondition.book.context import Context, NotThere
from recondition.book.facts import stock_facts
from recondition.book.sums import lines_with_tax, purchases, tax_by_code
from recondition.book.undone import undone_by
from recondition.condition.vehicle import Holding
from recondition.reports.books_figures import Added, legs_table
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import CellKind, Column, Table
from recondition.worth.track import SaleResult, SaleTax

_DATE, _MONEY = CellKind.DATE, CellKind.MONEY
RECEIVED = "(stock received)"


def tax(conn: Connection, period: str | None) -> list[Table]:
    """Give tax on what was bought and sold, by code, and how it ties to the accounts."""
    view = view_of(conn, period)
    money = view.money
    bought = [*tax_by_code(conn, period), *_received(conn, period)]
    columns = (
        Column("code", "Code"),
        Column("net", "Without tax", _MONEY),
        Column("tax", "Tax", _MONEY),
        Column("back", "Comes back", _MONEY),
        Column("cost", "Stays as cost", _MONEY),
        Column("lines", "Lines", CellKind.INTEGER),
    )
    rows = tuple(
        (code, money(net), money(paid), money(back), money(paid - back), count)
        for code, net, paid, back, count in bought
    )
    sums = [
        sum(row[1] for row in bought),
        sum(row[2] for row in bought),
        sum(row[3] for row in bought),
    ]
    total = ("all", money(sums[0]), money(sums[1]), money(sums[2]), money(sums[1] - sums[2]),
             sum(row[4] for row in bought))  # fmt: skip
    accounts = tuple(
        (words, money(sum(amount for *_, amount in _booked(view, code))))
        for code, (words, _, _) in BOOKED.items()
    )
    return [
        Table("Tax on what was bought", columns, rows, "", total),
        _sold(conn, period),
        Table("By the accounts", (Column("what", "What"), Column("amount", "Amount", _MONEY)),
              accounts, GENERAL),
    ]  # fmt: skip


def of_code(conn: Connection, code: str, period: str | None) -> list[Table]:
    """Give the lines behind the tax of a code, or what stock was received. Raises NotThere.

    Under a code of ``BOOKED`` it gives what was booked on the accounts of tax.
    """
    if code in BOOKED:
        view, words = view_of(conn, period), BOOKED[code][0]
        title = f"{words[0].upper()}{words[1:]}, {period or 'so far'}"
        return [legs_table(view, title, _booked(view, code), GENERAL)]
    currency = reading.settings_of(conn).currency
    found: list[tuple[Any, ...]]
    if code == RECEIVED:
        found = [
            (*fact.record[::-1], None, fact.day, fact.number, fact.owed - fact.tax_kept,
             fact.tax_recovered + fact.tax_kept, fact.tax_recovered, fact.tax_kept)
            for fact in _facts(conn, period)
        ]  # fmt: skip
    else:
        found = lines_with_tax(conn, code, period)
    if not found and not (period and of_code(conn, code, None)):
        raise NotThere(what="tax code that lines name", name=code)
    headed = ("Without tax", "Tax", "Comes back", "Stays as cost")
    columns = (
        Column("line", "Line"),
        Column("kind", "What"),
        Column("vehicle", "Vehicle"),
        Column("day", "Day", _DATE),
        Column("invoice", "Invoice"),
        *(Column(name.split()[0].lower(), name, _MONEY) for name in headed),
    )
    rows = tuple(
        (*row[:3], date.fromisoformat(row[3]), row[4], *(Money(each, currency) for each in row[5:]))
        for row in found
    )
    sums = (Money(sum(row[place] for row in found), currency) for place in range(5, 9))
    when = f", {period}" if period else ""
    return [Table(f"Tax {code}{when}", columns, rows, "", ("all", *[None] * 4, *sums))]


def _booked(view: View, code: str) -> list[Added]:
    """Give what was booked in a period (or so far) on accounts of tax, with what each leg adds."""
    _, sign, roles = BOOKED[code]
    return [
        (entry, leg, sign * leg.amount)
        for entry in view.of_period()
        for leg in entry.legs
        if leg.role in roles
    ]


def _facts(conn: Connection, period: str | None) -> list[StockFact]:
    """Give what moved stock and has tax, whether it comes back or stays as cost."""
    return [
        fact
        for fact in stock_facts(conn)
        if (fact.tax_recovered or fact.tax_kept) and period in (None, fact.period)
    ]


def _received(conn: Connection, period: str | None) -> list[tuple[str, int, int, int, int]]:
    """Add up the tax on stock received, in the form of tax by code."""
    found = _facts(conn, period)
    back, kept = (sum(f.tax_recovered for f in found), sum(f.tax_kept for f in found))
    net = sum(fact.owed for fact in found) - kept
    return [(RECEIVED, net, back + kept, back, len(found))] if found else []


def _sold(conn: Connection, period: str | None) -> Table:
    """List the tax on each sale and owner's invoice."""
    gone, names = undone_by(conn), reading.refs_by_id(conn, ("vehicle",))
    rows: list[Any] = []
    for item in reading.stored(conn, "sale", "owner invoice"):
        booked = item.booked
        if booked is None or booked.tax is None or (period and booked.period != period):
            continue
        sale = item.kind == "sale"
        how = item.entry.tax.value if sale and item.entry.tax else "on owner's invoice"
        base = (
            (booked.margin if booked.margin is not None else booked.hammer)
            if sale
            else item.entry.total
        )
        rows.append(
            (item.ref, names[item.entry.vehicle], item.entry.sold_on if sale else
             item.entry.issued_on, how, base, booked.tax, gone.get(item.id))
        )  # fmt: skip
    rows.sort(key=lambda row: (row[2], row[0]))
    columns = (
        Column("ref", "Document"),
        Column("vehicle", "Vehicle"),
        Column("day", "Day", _DATE),
        Column("how", "How"),
        Column("base", "Taxed amount", _MONEY),
        Column("tax", "Tax", _MONEY),
        Column("taken_back", "Taken back by"),
    )
    return Table("Tax on what was sold", columns, tuple(rows))


def stock_book(conn: Connection, refs: tuple[str, ...]) -> list[Table]:
    """Give the stock book: how each car came, how it went, margin and tax, and its scheme."""
    context, gone = Context(conn), undone_by(conn)
    booking = Booking(context, lambda: None)
    sales = {
        item.entry.vehicle: item
        for item in reading.stored(conn, "sale")
        if item.id not in gone and item.entry.result is SaleResult.SOLD
    }
    bought = purchases(conn)
    cars = [
        item for item in reading.stored(conn, "vehicle")
        if item.entry.holding is Holding.OWN and item.id in bought
    ]  # fmt: skip
    rows = []
    ordered = sorted(cars, key=lambda item: (bought[item.id][0], item.ref))
    for number, item in enumerate(ordered, start=1):
        if refs and item.ref not in refs:
            continue
        day, invoice, seller = bought[item.id]
        scheme = booking.scheme(item.id)
        rows.append(
            (number, item.ref, date.fromisoformat(day), invoice, scheme.purchase_price, seller,
             item.entry.designation, item.entry.chassis_stamped, *_gone(sales.get(item.id)),
             _scheme_words(scheme, sales.get(item.id)))
        )  # fmt: skip
    columns = (
        Column("number", "Number", CellKind.INTEGER),
        Column("vehicle", "Stock number"),
        Column("bought_on", "Bought on", _DATE),
        Column("bought_invoice", "Purchase invoice"),
        Column("price", "Purchase price", _MONEY),
        Column("seller", "Seller"),
        Column("what", "Description"),
        Column("chassis", "Chassis number"),
        Column("sold_on", "Sold on", _DATE),
        Column("sold_invoice", "Sales invoice"),
        Column("sold_for", "Selling price", _MONEY),
        Column("disposal", "Disposal"),
        Column("buyer", "Buyer"),
        Column("margin", "Margin", _MONEY),
        Column("tax", "Tax due", _MONEY),
        Column("scheme", "Margin scheme"),
    )
    note = (
        "The purchase price is the scheme's: price and premium of the car alone, no repairs, no "
        f"transport. {GENERAL}"
    )
    return [Table("Stock book", columns, tuple(rows), note)]


def _scheme_words(scheme: Scheme, sale: Any) -> str:  # noqa: ANN401 - a Stored sale or None
    """Say whether the scheme may be used, and where a price changed after the sale."""
    at_sale = sale.booked.scheme_price if sale is not None and sale.booked else None
    if at_sale is not None and at_sale != scheme.purchase_price:
        return (
            f"the sale was booked with a purchase price of {at_sale.grouped}: take it back and "
            "enter it again"
        )
    return "may be used" if scheme.allowed else "; ".join(scheme.shut_out)


def _gone(sale: Any) -> tuple[Any, ...]:  # noqa: ANN401 - a Stored sale or None
    """Give the selling side of a row: day, invoice, price, disposal, buyer, margin, tax."""
    if sale is None or sale.entry.result is not SaleResult.SOLD or sale.booked is None:
        return (None, None, None, None, None, None, None)
    under = sale.entry.tax is SaleTax.MARGIN
    return (
        sale.entry.sold_on,
        sale.entry.invoice_number,
        sale.booked.hammer,
        sale.entry.tax.value if sale.entry.tax else "sold without tax",
        sale.entry.buyer,
        sale.booked.margin if under else None,
        sale.booked.tax,
    )
