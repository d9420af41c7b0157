"""One car's money: what is in it, what a hammer would clear, another week, its settlement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from recondition.accounts import chart
from recondition.accounts.figures import FIGURES
from recondition.accounts.holding import WEEK, holding_for, whole
from recondition.accounts.reconciling import on, stands_at
from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.book import Connection, reading
from recondition.book.booking import terms_of
from recondition.book.context import Context
from recondition.book.questions import vehicle_of
from recondition.book.undone import undone_by
from recondition.condition.vehicle import Holding, Vehicle
from recondition.errors import Refused
from recondition.fields import Id
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import entered_of
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.estimates import Basis
from recondition.worth.settlement import hammer_of
from recondition.worth.settling import settle_sale
from recondition.worth.terms import SaleTerms
from recondition.worth.track import Sale, SaleResult

_MONEY = CellKind.MONEY
_ANY_DAY = date(2000, 1, 1)  # a ladder has no day
_RUNGS = (Fraction(8, 10), Fraction(9, 10), Fraction(1), Fraction(11, 10), Fraction(12, 10))


class NoHammerToTry(Refused):
    """A ladder of hammers for a car that has no sale terms, and no hammer named."""

    exit_status = 2

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"vehicle {ref} has no sale terms to take a price from",
            todo="Name a hammer to try, or enter its terms ('recondition terms set').",
        )


class NotAHammer(Refused):
    """A hammer to try that is not above zero."""

    exit_status = 2

    def __init__(self, tried: Money) -> None:
        """Name the amount."""
        super().__init__(
            f"nothing is sold at a hammer of {tried.text}", todo="Write an amount above zero."
        )


def in_it(
    conn: Connection, vehicle: Stored[Vehicle]
) -> list[tuple[str, int, int, tuple[str, ...]]]:
    """Give what a vehicle has cost, by what it was paid for: words, cost, lines, their refs."""
    lines = {each.id: each for each in reading.lines(conn, vehicle.id)}
    found: dict[tuple[int, str], tuple[int, list[str]]] = {}
    order = tuple(Purpose)
    for each in lines.values():
        kind, entry = entered_of(each, lines)
        item = getattr(entry, "item", None)
        name = f"{entry.purpose.value}: {item.value if item else kind}"
        cost, refs = found.get((order.index(entry.purpose), name), (0, []))
        minor = each.priced.cost.minor if each.priced else 0
        found[order.index(entry.purpose), name] = (cost + minor, [*refs, each.ref])
    return [
        (name, cost, len(refs), tuple(refs)) for (_, name), (cost, refs) in sorted(found.items())
    ]


def position(conn: Connection, stock: str, hammers: Sequence[Money]) -> list[Table]:
    """Give what is in a car today, and what some hammers would clear.

    Of a car that is sold only those that are named. Raises NotThere, NoHammerToTry, NotAHammer,
    BadSlices.
    """
    vehicle = vehicle_of(conn, stock)
    today, lines, spent = _spent(conn, vehicle)
    sold = _sold(conn, vehicle)
    ladder = [] if sold and not hammers else [_ladder(conn, vehicle, hammers, spent)]
    return [*sold, today, *ladder, lines]


def spent_on(conn: Connection, stock: str) -> list[Table]:
    """Give what is in a car today, and which lines that is. Raises NotThere, BadSlices."""
    vehicle = vehicle_of(conn, stock)
    today, lines, _ = _spent(conn, vehicle)
    return [*_sold(conn, vehicle), today, lines]


def sale_of(conn: Connection, vehicle: str) -> Stored[Sale] | None:
    """Give the sale of a vehicle (its id) that stands and went through, None where none does."""
    gone = undone_by(conn)
    found = (
        item
        for item in reading.stored(conn, "sale", vehicle=vehicle)
        if item.id not in gone and item.entry.result is SaleResult.SOLD
    )
    return next(found, None)


def _sold(conn: Connection, vehicle: Stored[Vehicle]) -> list[Table]:
    """Say that a car is sold; nothing of one that is not."""
    sale = sale_of(conn, vehicle.id)
    if sale is None:
        return []
    columns = (
        Column("sale", "Sale"),
        Column("day", "Day", CellKind.DATE),
        Column("hammer", "Hammer", _MONEY),
    )
    note = (
        f"It was sold on {sale.entry.sold_on.isoformat()}. 'recondition books settlement' says "
        "what comes to whom, 'recondition books profit' what it brought."
    )
    hammer = sale.booked.hammer if sale.booked else None
    return [Table("Sold", columns, ((sale.ref, sale.entry.sold_on, hammer),), note)]


def _spent(conn: Connection, vehicle: Stored[Vehicle]) -> tuple[Table, Table, Money]:
    """Give what is in a car today by what it was paid for, its lines, and the sum."""
    currency = reading.settings_of(conn).currency
    parts = in_it(conn, vehicle)
    spent = Money(sum(cost for _, cost, _, _ in parts), currency)
    rows = tuple((name, count, Money(cost, currency)) for name, cost, count, _ in parts)
    columns = (
        Column("what", "What"),
        Column("lines", "Lines", CellKind.INTEGER),
        Column("cost", "Cost", _MONEY),
    )
    count = sum(lines for _, _, lines, _ in parts)
    named = (Column("what", "What"), Column("refs", "Lines"))
    return (
        Table("In it today", columns, rows, "", ("all", count, spent)),
        Table("Which lines", named, tuple((name, "; ".join(refs)) for name, *_, refs in parts)),
        spent,
    )


def _ladder(
    conn: Connection, vehicle: Stored[Vehicle], hammers: Sequence[Money], spent: Money
) -> Table:
    """Give what each hammer brings, and what it clears of what is in the car."""
    terms = terms_of(Context(conn), vehicle.id)
    currency = spent.currency
    tried = list(hammers) or _rungs(vehicle, terms, currency)
    for each in tried:
        if each.minor <= 0:
            raise NotAHammer(each)
    own = vehicle.entry.holding is Holding.OWN
    rows = []
    for hammer in tried:
        sale = Sale(vehicle=Id(vehicle.id), sold_on=_ANY_DAY, price=hammer)
        made = settle_sale(sale, terms, currency)
        comes = made.hammer - made.commission - made.fees
        rows.append(
            (made.hammer, made.hammer + made.premium, made.commission, made.fees, comes, spent,
             comes - spent)
        )  # fmt: skip
    columns = (
        Column("hammer", "Hammer", _MONEY),
        Column("all_in", "Buyer pays", _MONEY),
        Column("commission", "Commission", _MONEY),
        Column("fees", "Fees", _MONEY),
        Column("comes", "Comes in", _MONEY),
        Column("spent", "In it", _MONEY),
        Column("clears", "Clears", _MONEY),
    )
    rates = "the vehicle's sale terms" if terms else "no commission and no fees: it has no terms"
    note = (
        f"By {rates}; before tax on the sale, and before what is still to be spent. What is in "
        "it is sunk: it says nothing of which work is worth doing."
    )
    if any(name.startswith(f"{Purpose.SELLING.value}: ") for name, *_ in in_it(conn, vehicle)):
        note += " Selling costs that are posted already stand in it; fees may be among them."
    if not own:
        note += " The car is its owner's: 'recondition books settlement' says what comes to whom."
    return Table("What a hammer would clear", columns, tuple(rows), note)


def _rungs(vehicle: Stored[Vehicle], terms: SaleTerms | None, currency: str) -> list[Money]:
    """Give five hammers around the likely price as it stands. Raises NoHammerToTry."""
    if terms is None:
        raise NoHammerToTry(vehicle.ref)
    likely = terms.as_is.likely.fraction
    hammer = likely if terms.basis is Basis.HAMMER else hammer_of(likely, terms)
    whole_units = [round(hammer * rung / 100) * 100 for rung in _RUNGS]
    return [rounded(Fraction(each), currency) for each in dict.fromkeys(whole_units) if each > 0]


def week(conn: Connection, stock: str) -> list[Table]:
    """Give what another day and another week of a car cost, split. Raises NotThere."""
    vehicle = vehicle_of(conn, stock)
    view = view_of(conn)
    rates = view.settings.holding
    own = vehicle.entry.holding is Holding.OWN
    base = view.money(stands_at(view.balances, stock) if own else 0)
    day, seven = holding_for(rates, base, 1), holding_for(rates, base, WEEK)
    rows = tuple(
        (one.name, one.basis, one.amount, many.amount)
        for one, many in zip(day, seven, strict=True)
        if many.amount
    )
    columns = (
        Column("what", "What"),
        Column("basis", "Rests on"),
        Column("day", "A day", _MONEY),
        Column("week", "A week", _MONEY),
    )
    terms = terms_of(Context(conn), vehicle.id)
    rests = "the settings 'interest a year', 'storage a day', 'insurance a year', 'upkeep a day' "
    rests += "and 'drift a year'"
    note = f"Rates are {rests}; a year counts as 365 days."
    if not rows:
        note = f"It rests on {rests}, and none of them comes to anything here."
    if terms is not None and terms.holding_per_day is not None:
        note += f" The sale terms count {terms.holding_per_day.grouped} a day in plans."
    total = ("all", None, whole(day), whole(seven))
    sold = _sold(conn, vehicle)
    if sold:
        note = f"Of a car that is sold: as long as it still stands here. {note}"
    return [*sold, Table("What another week costs", columns, rows, note, total)]


def settlement(conn: Connection, stock: str) -> list[Table]:
    """Give what comes in from a sale and who gets it. Raises NotThere."""
    vehicle = vehicle_of(conn, stock)
    view = view_of(conn)
    own = vehicle.entry.holding is Holding.OWN
    came, said = ("to_come_in", "To come in") if own else ("due_to_owner", "Due to the owner")
    table = _movements(view, stock, came, ("Settlement", said))
    if not table.rows:
        table = replace(table, note=f"Nothing is booked from a sale of it yet. {GENERAL}")
    words = ("What the owner owes for work", "Owed by the owner")
    work = [] if own else [_movements(view, stock, "owed_for_work", words)]
    return [table, *(each for each in work if each.rows), _open_table(view, stock, own=own)]


def _movements(view: View, stock: str, name: str, words: tuple[str, str]) -> Table:
    """List every document that moved a figure of a car, with what is still open of it.

    ``words`` are the table's title and the heading of its amounts.
    """
    moved = list(FIGURES[name].legs(view.entries, stock))
    columns = (
        Column("day", "Day", CellKind.DATE),
        Column("document", "Document"),
        Column("amount", words[1], _MONEY),
    )
    rows = tuple(
        (date.fromisoformat(entry.day), entry.document, view.money(amount))
        for entry, _, amount in moved
    )
    total = (None, "still open", view.money(sum(amount for *_, amount in moved)))
    return Table(words[0], columns, rows, GENERAL, total)


def _open_table(view: View, stock: str, *, own: bool) -> Table:
    """Give what is open on the sale and on the owner's invoices."""
    roles = [("to come in from the sale", chart.SALE_RECEIVABLE, 1)]
    if not own:
        roles += [
            ("due to the owner from the sale", chart.DUE_TO_OWNER, -1),
            ("the owner owes for work", chart.OWNER_RECEIVABLE, 1),
        ]
    amounts = [(words, sign * on(view.balances, role, stock)) for words, role, sign in roles]
    rows: list[tuple[Cell, ...]] = [(words, view.money(amount)) for words, amount in amounts]
    if not own:
        rows.append(
            ("owner receives when both are settled", view.money(amounts[1][1] - amounts[2][1]))
        )
    columns = (Column("what", "What"), Column("amount", "Amount", _MONEY))
    return Table("Still open", columns, tuple(rows))
