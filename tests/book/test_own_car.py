"""The worked journal of an own car, from purchase abroad to the money of its sale.

The case is tests/data/cases/journal_own_car.csv: invented, balanced, worked by hand; total
debits and total credits are 406,601.10 each.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from recondition.accounts import chart
from recondition.accounts.invoices import Owed, Way
from recondition.amounts import Money, Quantity
from recondition.book import reading
from recondition.book.engine import Book
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Id, Words
from recondition.ledger.items import CostItem
from recondition.ledger.lines import (
    Consumable,
    Labour,
    Origin,
    Part,
    PartState,
    Purpose,
    Sublet,
    Unlinked,
)
from recondition.ledger.people import Supplier
from recondition.materials.products import Product
from recondition.materials.receiving import Receipt
from recondition.reports.books_bought import landed
from recondition.reports.books_cars import inventory, profit
from tests.book import make
from tests.book.make import Shop, shop, usd
from tests.book.make_sales import (
    abroad,
    balances,
    bill,
    entries,
    euros,
    paid_for,
    payment,
    percent,
    sale,
    undo,
)

CASE = Path(__file__).parents[1] / "data" / "cases" / "journal_own_car.csv"
Wanted = dict[tuple[str, str], dict[str, int]]


def _wanted() -> dict[str, tuple[str, dict[str, int]]]:
    """Read the case: day and amounts by account, for each entry."""
    found: dict[str, tuple[str, dict[str, int]]] = {}
    with CASE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            _, legs = found.setdefault(row["entry"], (row["date"], {}))
            side = Money.of(row["debit"] or "0", "USD") - Money.of(row["credit"] or "0", "USD")
            legs[row["account"]] = side.minor
    return found


def _bought(book: Book, made: Shop) -> Id:
    """Buy the car abroad and bring it here; give its id."""
    car = Vehicle(designation="Corvane Tessera", holding=Holding.OWN, imported=True)
    vehicle = make.add(book, "vehicle", "X-0417", car)
    seller = make.add(book, "supplier", "SEL", Supplier(name=Words("Seller abroad")))
    day, rate = date(2031, 3, 4), euros("58000.00", "1.0835")
    owed = bill(seller, "88", "62843.00", day, foreign=rate, owed=Owed.SELLER)
    invoice = make.add(book, "supplier invoice", "SI-1", owed)
    bought = abroad(vehicle, CostItem.PURCHASE, rate, day, supplier=seller, invoice_number="88")
    make.add(book, "charge", "X-1", bought)
    at_bank = euros("58000.00", "1.0912")
    paid = payment("63289.60", date(2031, 3, 18), foreign=at_bank, invoice=invoice)
    make.add(book, "payment", "PY-1", paid)
    day = date(2031, 3, 20)
    agent = abroad(vehicle, CostItem.AGENT, euros("900.00", "1.0912"), day)
    make.add(book, "charge", "X-2", agent)
    for place, (item, price) in enumerate({
        CostItem.AIR_FREIGHT: "4850.00", CostItem.TRANSIT_INSURANCE: "512.35",
        CostItem.DUTY: "1571.08", CostItem.ENTRY_FEE: "217.69", CostItem.BROKER: "385.00",
        CostItem.INLAND_HAULAGE: "640.00",
    }.items(), start=3):  # fmt: skip
        make.add(book, "charge", f"X-{place}", paid_for(vehicle, item, price, day))
    assert made.person
    return vehicle


def _prepared(book: Book, made: Shop, vehicle: Id) -> None:
    """Use up stock, work, fit a decal and tear half a set, send the wheels out."""
    mix = Product(name="Mixed shelf", material_type="supplies", unit="ml")
    product = make.add(book, "product", "PR-1", mix)
    stock = Receipt(product=product, received_on=date(2031, 2, 20), price=usd("96.42"),
                    quantity=Quantity.of("1000", "ml"))  # fmt: skip
    make.add(book, "receipt", "RC-1", stock)

    def line(day: int, **more: Any) -> dict[str, Any]:
        return make.line(vehicle, work_date=date(2031, 3, day), **more)

    used = Consumable(product=product, quantity=Quantity.of("1000", "ml"), **line(28))
    make.add(book, "consumable", "U-1", used)
    hours = Labour(person=made.person, quantity=Quantity.of("41.5", "h"),
                   started_at="2031-03-24T08:00:00+00:00", ended_at="2031-03-29T17:00:00+00:00",
                   **line(29))  # fmt: skip
    make.add(book, "labour", "L-1", hours)
    each = {"quantity": Quantity.of(1, "piece"), "origin": Origin.REPRODUCTION}
    fitted = Part(price=usd("214.00"), part_name=Words("decal set"), **each, **line(30))
    make.add(book, "part", "P-1", fitted)
    torn = Part(price=usd("107.00"), part_name=Words("half a set"), part_state=PartState.SPOILED,
                **each, **line(30, purpose=Purpose.SPOILAGE))  # fmt: skip
    make.add(book, "part", "P-2", torn)
    make.add(book, "sublet", "B-1", Sublet(price=usd("780.00"), **line(31)))


def _sold(book: Book, vehicle: Id) -> None:
    """Sell it at auction, with what that costs."""
    day = date(2031, 5, 17)
    made = sale(vehicle, "96500.00", day, commission=percent("6"), fees=usd("250.00"))
    sold = make.add(book, "sale", "Y-1", made)
    for place, (item, price) in enumerate(
        {CostItem.PHOTOGRAPHY: "420.00", CostItem.TRANSPORT_OUT: "385.00"}.items(), start=20
    ):
        out = {"purpose": Purpose.SELLING, "unlinked": Unlinked.SALE}
        make.add(book, "charge", f"X-{place}", paid_for(vehicle, item, price, day, **out))
    proceeds = payment("90460.00", date(2031, 5, 30), way=Way.RECEIVED, sale=sold)
    make.add(book, "payment", "PY-2", proceeds)


@pytest.fixture
def sold(book: Book) -> Book:
    """Give the book of the whole case."""
    made = shop(book)
    vehicle = _bought(book, made)
    _prepared(book, made, vehicle)
    _sold(book, vehicle)
    return book


def test_the_worked_journal_comes_out_entry_by_entry(sold: Book) -> None:
    found = [entry for entry in entries(sold) if entry.period != "2031-02"]
    wanted = _wanted()
    assert len(found) == len(wanted) == 12
    for entry, (name, (day, legs)) in zip(found, wanted.items(), strict=True):
        assert entry.day == day, name
        made: dict[str, int] = defaultdict(int)
        for leg in entry.legs:
            made[leg.name] += leg.amount
        assert dict(made) == legs, name
    assert sum(entry.debits for entry in found) == 40660110


def test_profit_landed_cost_and_inventory_are_those_of_the_case(sold: Book) -> None:
    with sold.reading() as conn:
        steps, costs = profit(conn, ("X-0417",), None)
        cars = inventory(conn, ("X-0417",), "2031-04")[0]
        here = landed(conn, ("X-0417",))[0]
    assert [str(cell) for cell in steps.rows[0][2:]] == [
        "96500.00", "21800.25", "14401.65", "14401.65",
    ]  # fmt: skip
    assert [str(cell) for cell in costs.rows[0][2:4]] == ["72001.20", "2698.55"]
    assert here.total is not None
    assert str(here.total[-1]) == "72001.20"
    row = dict(zip([column.key for column in cars.columns], cars.rows[0], strict=True))
    assert (str(row["journal"]), str(row["difference"])) == ("74699.75", "0.00")


def _row_of(book: Book, period: str | None) -> dict[str, str]:
    """Give the car's row of the inventory by its columns."""
    with book.reading() as conn:
        table = inventory(conn, ("X-0417",), period)[0]
    keys = [column.key for column in table.columns]
    return dict(zip(keys, map(str, table.rows[0]), strict=True))


def test_work_after_the_sale_is_no_cost_of_sales_and_a_figure_of_its_own(sold: Book) -> None:
    before = _row_of(sold, None)
    with sold.reading() as conn:
        vehicle, sent = (
            reading.one(conn, kind, ref) for kind, ref in (("vehicle", "X-0417"), ("sublet", "B-1"))
        )
    late = replace(sent.entry, vehicle=vehicle.id, price=usd("1.65"), work_date=date(2031, 6, 2))
    make.add(sold, "sublet", "B-2", late)
    found = balances(sold)
    assert found[chart.AFTER_SALE] == 165
    released = found[chart.COST_VEHICLE] + found[chart.COST_RECONDITIONING]
    after = _row_of(sold, None)
    assert "after_sale" not in before
    assert after == before | {"work": "2700.20", "after_sale": "-1.65"}
    assert after["sold"] == str(usd("0.00") - Money(released, "USD")) == "-74699.75"
    assert (after["difference"], after["journal"]) == ("0.00", "0.00")


def test_a_car_is_sold_from_the_month_of_its_sale_until_it_is_taken_back(sold: Book) -> None:
    def said(period: str | None) -> object:
        with sold.reading() as conn:
            return profit(conn, ("X-0417",), period)[0].rows[0][1]

    assert [said(month) for month in ("2031-04", "2031-05", None)] == ["not sold", "sold", "sold"]
    with sold.reading() as conn:
        ids = {kind: reading.one(conn, kind, ref) for kind, ref in
               (("payment", "PY-2"), ("sale", "Y-1"))}  # fmt: skip
    for ref, item in zip(("E-1", "E-2"), ids.values(), strict=True):
        whose = item.entry.vehicle if item.kind == "sale" else None
        undo(sold, ref, Id(item.id), date(2031, 6, 4), whose)
    months = ("2031-04", "2031-05", "2031-06", None)
    assert [said(month) for month in months] == ["not sold", "sold", "taken back", "taken back"]
