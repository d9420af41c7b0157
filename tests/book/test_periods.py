"""Closed months take nothing more; what comes late, is accrued or undone lands where it should."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from recondition.accounts import chart
from recondition.accounts.chart import MappedAccount
from recondition.amounts import Quantity
from recondition.book import closing
from recondition.book.check import check
from recondition.book.reversing import reverse_line
from recondition.fields import Id, Words
from recondition.ledger.items import CostItem
from recondition.ledger.lines import Sublet
from recondition.ledger.orders import Order, Ordered
from recondition.ledger.periods import PeriodClosed, PeriodIsSo, PeriodNotInOrder
from recondition.materials.products import Product
from recondition.materials.receiving import Receipt
from recondition.reports.books_cars import inventory
from recondition.reports.books_hours import late
from tests.book import make
from tests.book.make import Shop, shop, usd
from tests.book.make_sales import balances, entries, paid_for, sale, undo

if TYPE_CHECKING:
    from recondition.accounts.journal import Entry
    from recondition.book.engine import Book

MARCH, APRIL = "2031-03", "2031-04"
DAY = date(2031, 3, 12)


def _close(book: Book, period: str) -> None:
    closing.close(book, period, "month end", author_ref="HK")


def _freight(book: Book, made: Shop, ref: str = "X-1", **more: object) -> Id:
    freight = paid_for(made.own, CostItem.SEA_FREIGHT, "100.00", DAY, **more)
    return make.add(book, "charge", ref, freight)


def _of(book: Book, period: str) -> list[Entry]:
    return [entry for entry in entries(book) if entry.period == period]


def test_a_closed_month_keeps_its_journal_and_takes_nothing_more(book: Book) -> None:
    made = shop(book)
    _freight(book, made)
    _close(book, MARCH)
    before = _of(book, MARCH)
    wanted = paid_for(made.own, CostItem.SEA_FREIGHT, "5", DAY, period=MARCH)
    make.refused(book, PeriodClosed, "charge", wanted, ref="X-9")
    _freight(book, made, "X-2")
    row = MappedAccount(role=chart.PAYABLE, from_date=date(2031, 1, 1), code="9", name="Creditors")
    make.add(book, "account", "AC-1", row)
    assert _of(book, MARCH) == before
    (later,) = _of(book, APRIL)
    assert (later.day, later.legs[1].name) == ("2031-03-12", "Creditors")
    assert check(book).damages == []


def test_stock_sales_and_reversals_go_to_the_open_month_too(book: Book) -> None:
    made = shop(book)
    _freight(book, made)
    _close(book, MARCH)
    mix = Product(name="Mixed", material_type="supplies", unit="ml")
    product = make.add(book, "product", "PR-1", mix)
    came = Receipt(product=product, received_on=DAY, price=usd("9"),
                   quantity=Quantity.of("9", "ml"))  # fmt: skip
    make.add(book, "receipt", "RC-1", came)
    make.add(book, "sale", "Y-1", sale(made.own, "900", DAY))
    reverse_line(book, "X-1", "twice", author_ref="HK", day="2031-03-13", period=None)
    assert {entry.period for entry in entries(book)} == {MARCH, APRIL}
    assert len(_of(book, MARCH)) == 1
    with book.reading() as conn:
        rows = late(conn, (), None)[0].rows
    assert sorted(str(row[2]) for row in rows) == ["receipt", "reversal", "sale"]
    assert {(row[0], row[1]) for row in rows} == {(APRIL, MARCH)}


def test_months_close_in_order_and_reopen_from_the_last(book: Book) -> None:
    made = shop(book)
    _freight(book, made)
    make.add(book, "charge", "X-2", paid_for(made.own, CostItem.PORT, "7", date(2031, 4, 1)))
    with pytest.raises(PeriodNotInOrder):
        _close(book, APRIL)
    _close(book, MARCH)
    _close(book, APRIL)
    with pytest.raises(PeriodIsSo):
        _close(book, MARCH)
    with pytest.raises(PeriodNotInOrder):
        closing.reopen(book, MARCH, "a late bill", author_ref="HK")
    closing.reopen(book, APRIL, "a late bill", author_ref="HK")
    with book.reading() as conn:
        states = closing.states(conn, date(2031, 4, 30))
    assert [(period, state) for period, state, _ in states] == [(MARCH, "closed"), (APRIL, "open")]


def test_sublet_work_not_invoiced_is_accrued_and_taken_back(book: Book) -> None:
    made = shop(book)
    back = Order(vehicle=made.own, what=Ordered.SUBLET, name=Words("wheels"), quoted=usd("780"),
                 quantity=Quantity.of(1, "piece"), received_on=date(2031, 3, 30))  # fmt: skip
    order = make.add(book, "order", "OR-1", back)
    _close(book, MARCH)
    (accrued,), (undone,) = _of(book, MARCH), _of(book, APRIL)
    assert [(leg.role, leg.amount) for leg in accrued.legs] == [
        (chart.RECONDITIONING, 78000), (chart.ACCRUED, -78000),
    ]  # fmt: skip
    assert (undone.day, sum(leg.amount for leg in undone.legs if leg.vehicle)) == (
        "2031-04-01", -78000,
    )  # fmt: skip
    billed = Sublet(
        price=usd("800"), order=order, **make.line(made.own, work_date=date(2031, 4, 2))
    )
    make.add(book, "sublet", "B-1", billed)
    _close(book, APRIL)
    assert balances(book) == {chart.RECONDITIONING: 80000, chart.PAYABLE: -80000}


def test_what_comes_after_a_sale_never_enters_inventory(book: Book) -> None:
    made = shop(book)
    _freight(book, made)
    sold = make.add(book, "sale", "Y-1", sale(made.own, "900", date(2031, 3, 20)))
    _close(book, MARCH)
    _freight(book, made, "X-2")  # a late bill of before the sale
    after = make.line(made.own, work_date=date(2031, 4, 3))
    make.add(book, "charge", "X-3", make.Charge(price=usd("40"), **after))
    found = balances(book)
    assert (found[chart.COST_VEHICLE], found[chart.AFTER_SALE]) == (20000, 4000)
    undo(book, "Y-1-reversed", sold, date(2031, 4, 10), made.own)
    found = balances(book)
    assert chart.COST_VEHICLE not in found
    with book.reading() as conn:
        car = inventory(conn, ("0007",), None)[0]
        earlier = inventory(conn, ("0007",), MARCH)[0]
    assert car.total is not None
    assert earlier.total is not None
    # Both freights are back; work that was done on a sold car stays an expense of its month.
    assert [str(cell) for cell in car.total[-2:]] == ["240.00", "0.00"]
    assert [str(cell) for cell in earlier.total[-2:]] == ["0.00", "0.00"]
