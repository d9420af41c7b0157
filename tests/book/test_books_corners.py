"""Corners of the books: what comes in another order, another month, or twice."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest

from recondition.accounts import chart
from recondition.accounts.chart import MappedAccount
from recondition.accounts.invoices import OfAnotherOwner, Way
from recondition.accounts.journal import merged
from recondition.accounts.values import ValueTest
from recondition.book import closing, owed, reading
from recondition.book.accounting import chart_of, journal_of
from recondition.book.line_rows import COLUMNS, rows
from recondition.book.reversing import reverse_line
from recondition.book.scope import Scope
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Id, Words
from recondition.ledger.booked import EntryReversal, StillRelied
from recondition.ledger.items import CostItem
from recondition.ledger.lines import Purpose, Sublet, Unlinked
from recondition.ledger.people import Person, Supplier
from recondition.ledger.periods import PeriodClosed, PeriodTooEarly
from recondition.ledger.rules import SecondFromOneDay
from recondition.ledger.taxes import TaxCode
from recondition.reports.books_bought import invoices
from recondition.reports.books_cars import inventory
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

if TYPE_CHECKING:
    from recondition.book.engine import Book

MARCH = date(2031, 3, 5)
APRIL = date(2031, 4, 12)


def _supplier(book: Book) -> Id:
    return make.add(book, "supplier", "FW", Supplier(name=Words("Forwarder")))


def _bought(book: Book, made: Shop, ref: str = "X-1", price: str = "10000", **more: Any) -> Id:
    day = more.pop("day", MARCH)
    return make.add(book, "charge", ref, paid_for(made.own, CostItem.PURCHASE, price, day, **more))


def _sublet(vehicle: Id, price: str, day: date, **more: Any) -> Sublet:
    return Sublet(price=usd(price), **make.line(vehicle, work_date=day, **more))


def _close(book: Book, *periods: str) -> None:
    for period in periods:
        closing.close(book, period, "month end", author_ref="HK")


def test_what_is_paid_for_an_owner_and_billed_costs_the_shop_once(book: Book) -> None:
    made = shop(book)
    for place, purpose in enumerate((Purpose.SELLING, Purpose.HOLDING)):
        entry = make.charge(made.consigned, "400", purpose=purpose, work_date=MARCH)
        make.add(book, "charge", f"X-{place}", entry)
    free = make.charge(made.consigned, "5", purpose=Purpose.SELLING, billed=usd("0"))
    make.add(book, "charge", "X-9", free)
    assert balances(book)[chart.WORK_FOR_OWNERS] == 80000
    with book.reading() as conn:
        entry = owed.unbilled(conn, "0008", MARCH)
    make.add(book, "owner invoice", "IV-1", entry)
    found = balances(book)
    assert (found[chart.COST_SERVICE], found["selling: other"]) == (80000, 500)
    assert chart.WORK_FOR_OWNERS not in found


@pytest.mark.parametrize("later", [MARCH, APRIL])
def test_an_invoice_entered_anew_is_owed_once(book: Book, later: date) -> None:
    made, supplier = shop(book), _supplier(book)
    named = {"supplier": supplier, "invoice_number": "77"}
    freight = paid_for(made.own, CostItem.SEA_FREIGHT, "500", MARCH, **named)
    make.add(book, "charge", "X-1", freight)
    first = make.add(book, "supplier invoice", "SI-1", bill(supplier, "77", "500", later))
    undo(book, "SI-1-reversed", first, later)
    assert balances(book)[chart.PAYABLE] == -50000
    assert chart.TO_ALLOCATE not in balances(book)
    with book.reading() as conn:
        assert [row[1] for row in invoices(conn, (), None)[-1].rows] == ["77"]
    make.add(book, "supplier invoice", "SI-2", bill(supplier, "77", "500", later))
    found = balances(book)
    assert found[chart.PAYABLE] == -50000
    assert chart.TO_ALLOCATE not in found


def test_nothing_is_booked_before_its_day_or_before_what_it_takes_back(book: Book) -> None:
    made = shop(book)
    early = paid_for(made.own, CostItem.PORT, "5", MARCH, period="2031-02")
    make.refused(book, PeriodTooEarly, "charge", early)
    _bought(book, made, period="2031-05")
    with pytest.raises(PeriodTooEarly):
        reverse_line(book, "X-1", "x", author_ref="HK", day="2031-03-06", period="2031-04")
    sold = make.add(book, "sale", "Y-1", sale(made.own, "15000", date(2031, 5, 20)))
    back = EntryReversal(vehicle=made.own, reverses=sold, reversed_on=date(2031, 5, 25),
                         why=Words("x"), period="2031-04")  # fmt: skip
    make.refused(book, PeriodTooEarly, "entry reversal", back)


def test_a_month_before_a_closed_one_is_closed_with_it(book: Book) -> None:
    made = shop(book)
    _bought(book, made)
    make.add(book, "sale", "Y-1", sale(made.own, "15000", APRIL))
    _close(book, "2031-03", "2031-04")
    february = {"period": "2031-02"}
    late = paid_for(made.own, CostItem.SEA_FREIGHT, "333", date(2031, 2, 10))
    named = paid_for(made.own, CostItem.SEA_FREIGHT, "333", date(2031, 2, 10), **february)
    make.refused(book, PeriodClosed, "charge", named, ref="X-9")
    make.add(book, "charge", "X-2", late)
    assert entries(book)[-1].period == "2031-05"
    assert balances(book)[chart.COST_VEHICLE] == 1033300


def test_a_write_down_of_a_sold_car_stays(book: Book) -> None:
    made = shop(book)
    _bought(book, made)
    fields = {"vehicle": made.own, "to_complete": usd("0"), "basis": Words("market")}
    low = ValueTest(tested_on=MARCH, expected_price=usd("9000"), to_sell=usd("0"), **fields)
    first = make.add(book, "value test", "VT-1", low)
    better = ValueTest(tested_on=APRIL, expected_price=usd("9500"), to_sell=usd("0"), **fields)
    second = make.add(book, "value test", "VT-2", better)
    back = {"vehicle": made.own, "reversed_on": APRIL, "why": Words("x")}
    make.refused(book, StillRelied, "entry reversal", EntryReversal(reverses=first, **back))
    make.add(book, "sale", "Y-1", sale(made.own, "9500", APRIL))
    make.refused(book, StillRelied, "entry reversal", EntryReversal(reverses=second, **back))


def test_a_car_that_comes_back_keeps_work_and_purchase_apart(book: Book) -> None:
    made = shop(book)
    _bought(book, made)
    make.add(book, "sublet", "B-1", _sublet(made.own, "700", MARCH))
    sold = make.add(book, "sale", "Y-1", sale(made.own, "15000", date(2031, 3, 20)))
    _close(book, "2031-03")
    undo(book, "Y-1-reversed", sold, date(2031, 4, 10), made.own)
    make.add(book, "sublet", "B-2", _sublet(made.own, "500", APRIL))
    make.add(book, "sale", "Y-2", sale(made.own, "16000", date(2031, 5, 20)))
    found = balances(book)
    assert (found[chart.COST_VEHICLE], found[chart.COST_RECONDITIONING]) == (1000000, 120000)


def test_a_set_off_stays_with_one_owner_and_comes_off_the_car_that_was_sold(book: Book) -> None:
    made = shop(book)
    stranger = make.add(book, "person", "PW", Person(name=Words("Paul Wiese"), role="owner"))
    with book.reading() as conn:
        owner = Id(reading.id_of(conn, "person", "OW"))
    cars = [
        make.add(book, "vehicle", ref, Vehicle(designation="x", holding=Holding.CONSIGNED, owner=o))
        for ref, o in (("0013", stranger), ("0014", owner))
    ]
    make.add(book, "charge", "X-1", make.charge(made.consigned, "1710"))
    with book.reading() as conn:
        entry = owed.unbilled(conn, "0008", MARCH)
    invoice = make.add(book, "owner invoice", "IV-1", entry)
    sold = [
        make.add(book, "sale", f"Y-{n}", sale(car, "79000", MARCH, shop_commission=percent("10")))
        for n, car in enumerate(cars)
    ]
    wrong, right = (
        payment("1710", MARCH, way=Way.SET_OFF, sale=each, owner_invoice=invoice) for each in sold
    )
    make.refused(book, OfAnotherOwner, "payment", wrong)
    make.add(book, "payment", "PY-1", right)
    (entry_made,) = (each for each in entries(book) if each.document == "payment PY-1")
    assert {(leg.role, leg.vehicle) for leg in entry_made.legs} == {
        (chart.DUE_TO_OWNER, "0014"), (chart.OWNER_RECEIVABLE, "0008"),
    }  # fmt: skip


def test_the_day_of_the_work_decides_what_is_after_a_sale(book: Book) -> None:
    made = shop(book)
    _bought(book, made)
    make.add(book, "sale", "Y-1", sale(made.own, "15000", date(2031, 3, 20)))
    billed_late = _sublet(made.own, "780", date(2031, 3, 10), tax_point=date(2031, 3, 31))
    make.add(book, "sublet", "B-1", billed_late)
    _bought(book, made, "X-2", "50", day=date(2031, 3, 25))
    found = balances(book)
    assert (found[chart.COST_RECONDITIONING], found[chart.COST_VEHICLE]) == (78000, 1005000)
    assert chart.AFTER_SALE not in found


def test_a_sellers_bill_that_comes_later_moves_what_was_owed_to_its_own_account(
    book: Book,
) -> None:
    made, supplier = shop(book), _supplier(book)
    _bought(book, made, supplier=supplier, invoice_number="P1")
    owed_to = make.add(book, "supplier invoice", "SI-1", bill(supplier, "P1", "10000", APRIL))
    make.add(book, "payment", "PY-1", payment("10000", APRIL, invoice=owed_to))
    found = balances(book)
    assert chart.PAYABLE not in found
    assert chart.PAYABLE_SELLER not in found


def test_a_credit_note_is_allocated_to_its_car(book: Book) -> None:
    made, supplier = shop(book), _supplier(book)
    _bought(book, made)
    make.add(book, "supplier invoice", "SI-1", bill(supplier, "CN5", "-120", MARCH))
    cut = paid_for(made.own, CostItem.SEA_FREIGHT, "-120", MARCH, supplier=supplier,
                   invoice_number="CN5")  # fmt: skip
    make.add(book, "charge", "X-2", cut)
    found = balances(book)
    assert chart.TO_ALLOCATE not in found
    assert found[chart.PAYABLE] == 12000
    with book.reading() as conn:
        assert str(inventory(conn, ("0007",), None)[0].rows[0][-2]) == "9880.00"


def test_kinds_of_posting_on_one_account_are_read_as_one_and_closed_months_keep_theirs(
    book: Book,
) -> None:
    made = shop(book)
    for role in (CostItem.PURCHASE, CostItem.DUTY):
        row = MappedAccount(role=chart.by_item("inventory", role), from_date=date(2020, 1, 1),
                            code="1400", name="Cars")  # fmt: skip
        make.add(book, "account", f"AC-{role}", row)
    _bought(book, made)
    make.add(book, "charge", "X-2", paid_for(made.own, CostItem.DUTY, "70", MARCH))
    joint = [merged(each) for each in entries(book)]
    assert sorted(leg.amount for legs in joint for leg in legs if leg.code == "1400") == [1007000]
    _close(book, "2031-03")
    newer = MappedAccount(role="inventory: purchase", from_date=date(2021, 1, 1), code="7777",
                          name="New")  # fmt: skip
    make.add(book, "account", "AC-new", newer)
    with book.reading() as conn:
        found = list(rows(conn, Scope(), journal_of(conn), chart_of(conn)))
    code = COLUMNS.index("account_code")
    assert {row[code] for row in found} == {"1400"}


def test_cents_of_foreign_money_are_taken_in_the_month_of_the_last_line(book: Book) -> None:
    made, supplier = shop(book), _supplier(book)
    named = {"supplier": supplier, "invoice_number": "9", "unlinked": Unlinked.ARRIVAL}
    whole = euros("100.00", "1.0835")
    make.add(book, "supplier invoice", "SI-1", bill(supplier, "9", "108.35", MARCH, foreign=whole))
    for ref, part, day in (
        ("X-1", "33.33", MARCH),
        ("X-2", "33.33", APRIL),
        ("X-3", "33.34", APRIL),
    ):
        line = abroad(made.own, CostItem.AGENT, euros(part, "1.0835"), day, **named)
        make.add(book, "charge", ref, line)
        if ref == "X-1":
            _close(book, "2031-03")
    found = balances(book)
    assert (found[chart.ROUNDING], found[chart.PAYABLE]) == (1, -10835)
    assert chart.TO_ALLOCATE not in found


def _code(rate: str) -> TaxCode:
    return TaxCode(code="STD", from_date=MARCH, rate=Decimal(rate), recoverable=Decimal(1),
                   source=Words("the office's page"))  # fmt: skip


def _bank(code: str) -> MappedAccount:
    return MappedAccount(role=chart.BANK, from_date=MARCH, code=code, name="House bank")


@pytest.mark.parametrize(
    ("kind", "made"),
    [("tax code", (_code("0.2"), _code("0.21"))), ("account", (_bank("1001"), _bank("1002")))],
)
def test_a_second_row_from_one_day_is_refused_and_never_passed_over(
    book: Book, kind: str, made: tuple[Any, Any]
) -> None:
    shop(book)
    make.add(book, kind, "A-1", made[0])
    assert "A-1" in str(make.refused(book, SecondFromOneDay, kind, made[1], ref="A-2"))
    make.add(book, kind, "A-1", made[1])  # under its own ref it is the next version
    with book.reading() as conn:
        assert [item.entry for item in reading.stored(conn, kind)] == [made[1]]
