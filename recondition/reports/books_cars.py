"""What cars stand at, what they brought, and what stands in stock and process at month end."""

from __future__ import annotations

from recondition.accounts import chart
from recondition.accounts.figures import summed
from recondition.accounts.reconciling import CarInventory, on, profit_of, stands_at
from recondition.book import Connection, reading
from recondition.book.facts import UndoneBy, stock_facts
from recondition.book.facts import period_of as booked_in
from recondition.book.sums import by_vehicle_and_purpose, issued_to_lines
from recondition.book.undone import undone_by
from recondition.condition.vehicle import Holding
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import entered_of, period_of
from recondition.reports.books_view import GENERAL, View, view_of
from recondition.reports.table import Cell, CellKind, Column, Table

_MONEY = CellKind.MONEY


def car_inventories(conn: Connection, view: View) -> list[CarInventory]:
    """Hold each own car's inventory by the journal against its lines, accruals and tests."""
    cars = [
        (item.id, item.ref)
        for item in reading.stored(conn, "vehicle")
        if item.entry.holding is Holding.OWN
    ]
    spent = {
        (each.vehicle, each.purpose): each.cost
        for each in by_vehicle_and_purpose(conn, view.period)
    }
    tested, sold, after = (summed(view.entries, n) for n in ("tested", "sold", "after_sale"))
    found = []
    for car, ref in sorted(cars, key=lambda pair: pair[1]):
        row = CarInventory(
            vehicle=ref,
            landed=spent.get((car, Purpose.LANDED), 0),
            reconditioning=spent.get((car, Purpose.RECONDITIONING), 0),
            tested=tested.get(ref, 0),
            released=-sold.get(ref, 0),
            after_sale=-after.get(ref, 0),
            journal=stands_at(view.balances, ref),
        )
        if any((row.landed, row.reconditioning, row.released, row.after_sale, row.journal)):
            found.append(row)
    return found


def inventory(conn: Connection, refs: tuple[str, ...], period: str | None) -> list[Table]:
    """Give own cars, owners' jobs and stock at the end of a period, each against its lines."""
    return inventory_at(conn, view_of(conn, period), refs)


def inventory_at(conn: Connection, view: View, refs: tuple[str, ...]) -> list[Table]:
    """Give the inventory as ``inventory`` does, by a journal that was read already."""
    money = view.money
    cars = [row for row in car_inventories(conn, view) if not refs or row.vehicle in refs]
    late = any(row.after_sale for row in cars)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (row.vehicle, *(money(part) for part in _parts(row, late=late))) for row in cars
    )
    gone = (Column("after_sale", "Gone to after-sale work", _MONEY),)
    columns = (
        Column("vehicle", "Vehicle"),
        Column("landed", "Landed", _MONEY),
        Column("work", "Work on it", _MONEY),
        Column("tested", "Written down, accrued", _MONEY),
        Column("sold", "Gone to cost of sales", _MONEY),
        *(gone if late else ()),
        Column("journal", "Stands at", _MONEY),
        Column("difference", "Difference to lines", _MONEY),
    )
    sums = [sum(_parts(row, late=late)[place] for row in cars) for place in range(len(columns) - 1)]
    total: tuple[Cell, ...] = ("all", *(money(each) for each in sums))
    note = f"Own cars {view.when()}. Lines: 'recondition post list VEHICLE'. {GENERAL}"
    tables = [Table("Own cars in inventory", columns, rows, note, total)]
    if not refs:
        tables += [_owners(conn, view), _stock(conn, view)]
    return tables


def _parts(row: CarInventory, *, late: bool) -> tuple[int, ...]:
    """Give the columns of a car's row, in minor units; ``late`` where any had after-sale work."""
    return (
        row.landed,
        row.reconditioning,
        row.tested,
        -row.released,
        *((-row.after_sale,) if late else ()),
        row.journal,
        row.difference,
    )


def _owners(conn: Connection, view: View) -> Table:
    """Give work in process on owners' cars: what is not billed yet, by car."""
    names = reading.refs_by_id(conn, ("vehicle",))
    found = {
        vehicle: amount
        for (vehicle, role), amount in view.balances.items()
        if role == chart.WORK_FOR_OWNERS and amount and vehicle is not None
    }
    waiting: dict[str, int] = {}
    gone = undone_by(conn)
    standing = [
        item
        for item in reading.stored(conn, "owner invoice")
        if item.id not in gone
        and (view.period is None or (item.booked and item.booked.period <= view.period))
    ]
    billed = {each for item in standing for each in item.entry.lines}
    for car in (car for car, ref in names.items() if ref in found):
        lines = {each.id: each for each in reading.lines(conn, car)}
        for each in lines.values():
            inside = view.period is None or period_of(each) <= view.period
            own = each.priced and each.priced.billed and each.id not in billed
            purpose = entered_of(each, lines)[1].purpose
            if own and inside and purpose not in (Purpose.SPOILAGE, Purpose.OVERHEAD):
                waiting[names[car]] = waiting.get(names[car], 0) + 1
    rows = tuple(
        (vehicle, waiting.get(vehicle, 0), view.money(amount))
        for vehicle, amount in sorted(found.items())
    )
    columns = (
        Column("vehicle", "Vehicle"),
        Column("lines", "Lines not billed", CellKind.INTEGER),
        Column("cost", "In process, at cost", _MONEY),
    )
    total = ("all", sum(waiting.get(v, 0) for v in found), view.money(sum(found.values())))
    return Table("Work in process for owners", columns, rows, "", total)


def _stock(conn: Connection, view: View) -> Table:
    """Give stock by the journal against its movements."""
    by_moves = _stock_value(conn, view.period)
    by_journal = on(view.balances, chart.STOCK)
    rows = (
        ("value on hand by stock movements", view.money(by_moves)),
        ("by the journal", view.money(by_journal)),
        ("difference", view.money(by_moves - by_journal)),
    )
    columns = (Column("what", "Consumables stock"), Column("value", "Value", _MONEY))
    return Table("Consumables stock", columns, rows, "'recondition stock list' opens it up.")


def _stock_value(conn: Connection, period: str | None) -> int:
    """Give what is on hand at the end of a period: receipts and the like less issues."""
    facts = [f for f in stock_facts(conn) if period is None or f.period <= period]
    value = sum(fact.owed - fact.difference for fact in facts)
    return value - issued_to_lines(conn, period)


def profit(conn: Connection, refs: tuple[str, ...], period: str | None) -> list[Table]:
    """Give what each vehicle brought: gross, after selling, after holding."""
    view = view_of(conn, period)
    state = _states(conn, period)
    rows = []
    for item in sorted(reading.stored(conn, "vehicle"), key=lambda each: each.ref):
        if refs and item.ref not in refs:
            continue
        made = profit_of(view.balances, item.ref)
        if not refs and not any(vehicle == item.ref for vehicle, _ in view.balances):
            continue
        rows.append((item.ref, state.get(item.id, "not sold"), made))
    note = (
        f"By the journal, {view.when()}; 'recondition books journal VEHICLE' opens a row up. "
        f"Overhead is in none of them. {GENERAL}"
    )
    return [
        _summed(view, "What each vehicle brought", _STEPS, [
            (ref, said, (m.revenue, m.gross, m.after_selling, m.after_holding))
            for ref, said, m in rows
        ], note),
        _summed(view, "What lies between", _COSTS, [
            (ref, said, (m.cost_vehicle, m.cost_work, m.selling, m.spoiled + m.exchange + m.other,
                         m.holding))
            for ref, said, m in rows
        ], ""),
    ]  # fmt: skip


_STEPS = ("Sales and service", "Gross", "After selling", "After holding")
_COSTS = ("Cost of the car", "Cost of the work", "Selling", "Spoiled, exchange, other", "Holding")


def _summed(
    view: View, title: str, names: tuple[str, ...], rows: list[tuple[str, str, tuple[int, ...]]],
    note: str,
) -> Table:  # fmt: skip
    """Give a table of amounts by vehicle, with their sums."""
    columns = (
        Column("vehicle", "Vehicle"),
        Column("sale", "Sale"),
        *(Column(name.split(",")[0].lower().replace(" ", "_"), name, _MONEY) for name in names),
    )
    cells: tuple[tuple[Cell, ...], ...] = tuple(
        (ref, said, *map(view.money, amounts)) for ref, said, amounts in rows
    )
    sums = [sum(amounts[place] for _, _, amounts in rows) for place in range(len(names))]
    return Table(title, columns, cells, note, ("all", None, *map(view.money, sums)))


def _states(conn: Connection, period: str | None) -> dict[str, str]:
    """Say how the last sale of each vehicle ended, at the end of a period where one is named."""
    undone, found = UndoneBy(conn), dict[str, str]()
    for item in reading.stored(conn, "sale"):
        if period is not None and booked_in(item) > period:
            continue
        back = undone.of(item.id)
        gone = back is not None and (period is None or back.period <= period)
        if found.get(item.entry.vehicle) != "sold":
            found[item.entry.vehicle] = "taken back" if gone else item.entry.result.value
    return found
