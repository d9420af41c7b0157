"""What is bought: foreign money, tax, shared freight, opening balances, invoices and lines."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.accounts import chart
from recondition.accounts.invoices import InvoiceTwice, PaidTooMuch, Way
from recondition.amounts import Money, Quantity
from recondition.amounts.documents import ForeignDiffers, Settled
from recondition.book import line_rows, reading
from recondition.book.accounting import chart_of, journal_of
from recondition.book.booking import Booking
from recondition.book.context import Context
from recondition.book.reversing import reverse_line
from recondition.book.scope import Scope
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Id, Words
from recondition.ledger.items import CostItem
from recondition.ledger.people import Supplier
from recondition.ledger.shared import SharedBy, SharedCharge, SharesUnclear, charges_of
from recondition.ledger.taxes import NoTaxCode, TaxCode, TaxWithoutCode
from recondition.materials.products import Product
from recondition.materials.receiving import Receipt, StockReversal
from recondition.reports.books_bought import invoices, landed
from recondition.reports.books_tax import RECEIVED, of_code, stock_book, tax
from recondition.worth.track import SaleTax
from tests.book import make
from tests.book.make import shop, usd
from tests.book.make_sales import (
    abroad,
    balances,
    bill,
    entries,
    euros,
    paid_for,
    payment,
    sale,
)
from tests.check_values import check_values

if TYPE_CHECKING:
    from recondition.book.engine import Book

DAY = date(2031, 3, 20)


def _supplier(book: Book) -> Id:
    return make.add(book, "supplier", "FW", Supplier(name=Words("Forwarder")))


def _code(book: Book, recoverable: str, since: date = date(2031, 1, 1), rate: str = "0.2") -> None:
    entry = TaxCode(code="STD", from_date=since, rate=Decimal(rate),
                    recoverable=Decimal(recoverable), source=Words("invented"))  # fmt: skip
    make.add(book, "tax code", f"TC-{since}", entry)


@pytest.mark.parametrize(
    ("recoverable", "cost", "back"), [("1", 10000, 2000), ("0", 12000, 0), ("0.5", 11000, 1000)]
)
def test_tax_that_does_not_come_back_is_cost(
    book: Book, recoverable: str, cost: int, back: int
) -> None:
    made = shop(book)
    _code(book, recoverable)
    taxed = paid_for(made.own, CostItem.SEA_FREIGHT, "100", DAY, tax_code="STD")
    make.add(book, "charge", "X-1", taxed)
    found = balances(book)
    assert found[chart.by_item("inventory", CostItem.SEA_FREIGHT)] == cost
    assert found.get(chart.INPUT_TAX, 0) == back
    assert found[chart.PAYABLE] == -12000
    with book.reading() as conn:
        (row,) = tax(conn, "2031-03")[0].rows
    assert [str(cell) for cell in row[1:4]] == ["100.00", "20.00", f"{back / 100:.2f}"]


def test_a_rate_holds_from_its_day_and_tax_needs_a_code(book: Book) -> None:
    made = shop(book)
    _code(book, "1", date(2031, 3, 15))
    early = paid_for(made.own, CostItem.PORT, "100", date(2031, 3, 14), tax_code="STD")
    make.refused(book, NoTaxCode, "charge", early)
    bare = paid_for(made.own, CostItem.PORT, "100", DAY, tax=usd("20"))
    make.refused(book, TaxWithoutCode, "charge", bare)
    as_billed = paid_for(made.own, CostItem.PORT, "100", DAY, tax_code="STD", tax=usd("19.99"))
    make.add(book, "charge", "X-1", as_billed)
    assert balances(book)[chart.INPUT_TAX] == 1999


def test_foreign_money_is_held_against_its_rate_and_rounding_has_its_own_account(
    book: Book,
) -> None:
    made, supplier = shop(book), _supplier(book)
    wrong = paid_for(made.own, CostItem.AGENT, "99", DAY, foreign=euros("90", "1.0001"))
    make.refused(book, ForeignDiffers, "charge", wrong)
    whole = euros("100.00", "1.0835")
    owed = bill(supplier, "7", "108.35", DAY, foreign=whole)
    make.add(book, "supplier invoice", "SI-1", owed)
    for ref, part in (("X-1", "33.33"), ("X-2", "33.33"), ("X-3", "33.34")):
        line = abroad(made.own, CostItem.AGENT, euros(part, "1.0835"), DAY, supplier=supplier,
                      invoice_number="7")  # fmt: skip
        make.add(book, "charge", ref, line)
    # 36.11 + 36.11 + 36.12 = 108.34: the cent is rounding, and nothing is left unallocated.
    found = balances(book)
    assert (found[chart.ROUNDING], found[chart.PAYABLE]) == (1, -10835)
    assert chart.TO_ALLOCATE not in found
    with book.reading() as conn:
        (row,) = invoices(conn, (), None)[0].rows
    assert str(row[5]) == "0.00"


def test_a_payment_in_parts_takes_all_off_and_the_rest_is_exchange(book: Book) -> None:
    shop(book)
    supplier = _supplier(book)
    owed = bill(supplier, "7", "108.35", DAY, foreign=euros("100.00", "1.0835"))
    invoice = make.add(book, "supplier invoice", "SI-1", owed)
    for ref, part, rate in (("PY-1", "33.33", "1.09"), ("PY-2", "66.67", "1.07")):
        foreign = euros(part, rate)
        paid = payment(str(foreign.home("USD")), DAY, foreign=foreign, invoice=invoice)
        make.add(book, "payment", ref, paid)
    found = balances(book)
    assert chart.PAYABLE not in found
    # Paid 36.33 and 71.34 for what stood at 36.11 and 72.24.
    assert (found[chart.EXCHANGE_LOSS], found[chart.EXCHANGE_GAIN]) == (22, -90)
    more = payment("1.07", DAY, foreign=euros("1", "1.07"), invoice=invoice)
    make.refused(book, PaidTooMuch, "payment", more)


def test_an_invoice_ties_to_its_lines_over_cars_and_months_and_doubles_show(book: Book) -> None:
    made, supplier = shop(book), _supplier(book)
    named = {"supplier": supplier, "invoice_number": "A 17"}
    early = paid_for(made.own, CostItem.PORT, "40", date(2031, 2, 27), **named)
    make.add(book, "charge", "X-1", early)
    invoice = make.add(book, "supplier invoice", "SI-1", bill(supplier, "a  17", "100", DAY))
    other = paid_for(made.consigned, CostItem.PORT, "50", DAY, **named)
    make.add(book, "charge", "X-2", other)
    found = balances(book)
    assert (found[chart.PAYABLE], found[chart.TO_ALLOCATE]) == (-10000, 1000)
    make.refused(book, InvoiceTwice, "supplier invoice", bill(supplier, "A 17", "100", DAY))
    twin = bill(supplier, "A 18", "100", date(2031, 4, 1))
    make.add(book, "supplier invoice", "SI-2", twin)
    with book.reading() as conn:
        first, opened, doubles, _ = invoices(conn, (), None)
    assert [str(cell) for cell in first.rows[0][3:7]] == ["100.00", "90.00", "10.00", "100.00"]
    assert [(row[1], str(row[3])) for row in opened.rows] == [("0007", "40.00"), ("0008", "50.00")]
    assert [row[0] for row in doubles.rows] == ["SI-1", "SI-2"]
    make.add(book, "payment", "PY-1", payment("60", DAY, invoice=invoice))
    assert balances(book)[chart.PAYABLE] == -14000


def test_what_is_paid_at_once_takes_nothing_off_an_invoice(book: Book) -> None:
    made, supplier = shop(book), _supplier(book)
    named = {"supplier": supplier, "invoice_number": "7", "settled": Settled.BANK}
    cash = paid_for(made.own, CostItem.PORT, "40", date(2031, 2, 27), **named)
    make.add(book, "charge", "X-1", cash)
    make.add(book, "supplier invoice", "SI-1", bill(supplier, "7", "100", DAY))
    found = balances(book)
    assert (found[chart.BANK], found[chart.PAYABLE]) == (-4000, -10000)
    assert found[chart.TO_ALLOCATE] == 10000
    with book.reading() as conn:
        (row,) = invoices(conn, (), None)[0].rows
    assert str(row[5]) == "100.00"


def test_a_credit_note_is_received(book: Book) -> None:
    shop(book)
    supplier = _supplier(book)
    note = make.add(book, "supplier invoice", "SI-1", bill(supplier, "C1", "-30", DAY))
    make.refused(book, PaidTooMuch, "payment", payment("30", DAY, invoice=note))
    make.add(book, "payment", "PY-1", payment("30", DAY, invoice=note, way=Way.RECEIVED))
    found = balances(book)
    assert chart.PAYABLE not in found
    assert found[chart.BANK] == 3000


def test_a_shop_that_starts_in_the_year_enters_one_opening_entry(book: Book) -> None:
    made, supplier = shop(book), _supplier(book)
    start = date(2031, 3, 1)
    part_done = paid_for(made.own, CostItem.PURCHASE, "20000", start, settled=Settled.OPENING)
    make.add(book, "charge", "X-1", part_done)
    mix = Product(name="Mixed", material_type="supplies", unit="ml")
    product = make.add(book, "product", "PR-1", mix)
    on_shelf = Receipt(product=product, received_on=start, price=usd("300"),
                       quantity=Quantity.of("900", "ml"), settled=Settled.OPENING)  # fmt: skip
    make.add(book, "receipt", "RC-1", on_shelf)
    old = bill(supplier, "old", "150", start, opening=True)
    invoice = make.add(book, "supplier invoice", "SI-1", old)
    (entry,) = entries(book)
    assert (entry.document, entry.day) == ("opening", "2031-03-01")
    made_of = {leg.role: leg.amount for leg in entry.legs}
    assert made_of == {
        "inventory: purchase": 2000000, chart.STOCK: 30000, chart.PAYABLE: -15000,
        chart.OPENING: -2015000,
    }  # fmt: skip
    make.add(book, "payment", "PY-1", payment("150", DAY, invoice=invoice))
    assert chart.PAYABLE not in balances(book)


def test_stock_taken_back_takes_its_tax_and_its_debt_back(book: Book) -> None:
    shop(book)
    supplier = _supplier(book)
    mix = Product(name="Mixed", material_type="supplies", unit="ml")
    product = make.add(book, "product", "PR-1", mix)
    came = Receipt(product=product, received_on=DAY, price=usd("50"), tax_recovered=usd("10"),
                   quantity=Quantity.of("500", "ml"), supplier=supplier, invoice_number="S1",
                   freight=usd("4"))  # fmt: skip
    receipt = make.add(book, "receipt", "RC-1", came)
    make.add(book, "supplier invoice", "SI-1", bill(supplier, "S1", "64", DAY))
    assert balances(book) == {chart.STOCK: 5400, chart.INPUT_TAX: 1000, chart.PAYABLE: -6400}
    back = StockReversal(product=product, reverses=receipt, reversed_on=DAY, why=Words("twice"))
    make.add(book, "stock reversal", "RC-1-reversed", back)
    assert balances(book) == {chart.TO_ALLOCATE: 6400, chart.PAYABLE: -6400}


def test_tax_that_stays_as_cost_on_stock_counts_with_what_comes_back(book: Book) -> None:
    made, supplier = shop(book), _supplier(book)
    assert made
    mix = Product(name="Mixed", material_type="supplies", unit="ml")
    product = make.add(book, "product", "PR-1", mix)
    ids = []
    for ref, price, more in (
        ("RC-1", "25.48", {"tax_recovered": usd("4.84")}),
        ("RC-2", "20.00", {"tax_not_recovered": usd("1.60")}),
        ("RC-3", "7.00", {}),
    ):
        came = Receipt(product=product, received_on=DAY, price=usd(price), supplier=supplier,
                       quantity=Quantity.of("500", "ml"), invoice_number="S1", **more)  # fmt: skip
        ids.append(make.add(book, "receipt", ref, came))
    with book.reading() as conn:
        (row,) = tax(conn, "2031-03")[0].rows
        (opened,) = of_code(conn, RECEIVED, "2031-03")
    assert [str(cell) for cell in row[1:]] == ["45.48", "6.44", "4.84", "1.60", "2"]
    assert [each[0] for each in opened.rows] == ["RC-1", "RC-2"]
    assert opened.total is not None
    assert [str(cell) for cell in opened.total[5:]] == [str(cell) for cell in row[1:5]]
    back = StockReversal(product=product, reverses=ids[1], reversed_on=DAY, why=Words("twice"))
    make.add(book, "stock reversal", "RC-2-reversed", back)
    with book.reading() as conn:
        (row,) = tax(conn, None)[0].rows
    assert [str(cell) for cell in row[1:5]] == ["25.48", "4.84", "4.84", "0.00"]


def test_the_scheme_price_leaves_out_repairs_and_an_imported_car_is_shut_out(book: Book) -> None:
    made = shop(book)
    abroad_car = Vehicle(designation="Corvane Altair", holding=Holding.OWN, imported=True)
    imported = make.add(book, "vehicle", "X-9", abroad_car)
    for place, vehicle in enumerate((made.own, imported)):
        bought = paid_for(vehicle, CostItem.PURCHASE, "30000", DAY)
        make.add(book, "charge", f"X-{place}", bought)
        premium = paid_for(vehicle, CostItem.PREMIUM, "3000", DAY)
        make.add(book, "charge", f"X-1{place}", premium)
    make.add(book, "charge", "X-20", make.charge(made.own, "3000"))
    with book.reading() as conn:
        booking = Booking(Context(conn), lambda: None)
        own, foreign, theirs = (booking.scheme(v) for v in (made.own, imported, made.consigned))
    assert (own.purchase_price, own.shut_out) == (usd("33000"), ())
    assert foreign.shut_out == ("it was imported",)
    assert len(theirs.shut_out) == 1


# What the published stock book asks for (gov.uk, VAT margin schemes: keeping records), and where
# it stands here.
STOCK_BOOK = {
    "stock number in numerical sequence": "number",
    "date of purchase": "bought_on",
    "purchase invoice number (unless self-made)": "bought_invoice",
    "purchase price": "price",
    "name of seller": "seller",
    "description of the item": "what",
    "date of sale": "sold_on",
    "sales invoice number": "sold_invoice",
    "selling price or method of disposal": "sold_for",
    "name of buyer": "buyer",
    "margin on sale": "margin",
    "VAT due": "tax",
}


def test_the_stock_book_has_every_field_that_is_asked_for(book: Book) -> None:
    made = shop(book)
    _code(book, "1")
    make.add(book, "charge", "X-1", paid_for(made.own, CostItem.PURCHASE, "30000", DAY))
    sold = sale(made.own, "42000", date(2031, 4, 2), tax=SaleTax.MARGIN, tax_code="STD",
                buyer=Words("J. Ostrel, 4 Mill Lane"), invoice_number="501")  # fmt: skip
    make.add(book, "sale", "Y-1", sold)
    with book.reading() as conn:
        (table,) = stock_book(conn, ())
    wanted = [row["field"] for row in check_values("vat_stock_book_fields")]
    keys = [column.key for column in table.columns]
    assert {STOCK_BOOK[field] for field in wanted} <= set(keys)
    (row,) = table.rows
    told = {key: str(cell) for key, cell in zip(keys, row, strict=True)}
    assert (told["number"], told["price"], told["sold_for"]) == ("1", "30000.00", "42000.00")
    assert (told["margin"], told["tax"], told["buyer"]) == (
        "12000.00", "2000.00", "J. Ostrel, 4 Mill Lane",
    )  # fmt: skip


def _shared(**more: object) -> SharedCharge:
    fields = {
        "work_date": DAY, "price": usd("100"), "by": SharedBy.EQUALLY, "words": Words("freight"),
        "vehicles": (Id("a"), Id("b"), Id("c")), "item": CostItem.SEA_FREIGHT,
    } | more  # fmt: skip
    return SharedCharge(**fields)  # type: ignore[arg-type]


NAMES = ("0007", "0008", "0009")


def test_the_odd_cent_goes_by_rule_and_says_how_it_came_about() -> None:
    made = charges_of(_shared(), NAMES, {})
    assert [str(charge.price) for _, charge in made] == ["33.34", "33.33", "33.33"]
    assert made[0][1].shared_out == "1 of 3 equal shares of 100.00"
    by_value = charges_of(
        _shared(by=SharedBy.VALUE), NAMES, {"0007": 5000, "0008": 2500, "0009": 2500}
    )
    assert [str(charge.price) for _, charge in by_value] == ["50.00", "25.00", "25.00"]
    with pytest.raises(SharesUnclear):
        charges_of(_shared(by=SharedBy.WEIGHT), NAMES, {})
    with pytest.raises(SharesUnclear):
        charges_of(_shared(weights=(Decimal(1), Decimal(2))), NAMES, {})


@given(
    price=st.integers(1, 10**7),
    tax=st.integers(0, 10**6),
    weights=st.lists(st.integers(1, 5000), min_size=3, max_size=3),
)
def test_shares_add_up_to_the_whole_whatever_the_weights(
    price: int, tax: int, weights: list[int]
) -> None:
    shared = _shared(
        price=Money(price, "USD"), tax=Money(tax, "USD"), tax_code="STD", by=SharedBy.WEIGHT,
        weights=tuple(map(Decimal, weights)),
    )  # fmt: skip
    made = charges_of(shared, NAMES, {})
    assert sum(charge.price.minor for _, charge in made) == price
    assert sum(charge.tax.minor for _, charge in made if charge.tax) == tax


def test_a_shared_charge_becomes_one_line_a_car(book: Book) -> None:
    made = shop(book)
    shared = _shared(vehicles=(made.own, made.consigned), price=usd("0.05"))
    make.add(book, "shared charge", "SC-1", shared)
    with book.reading() as conn:
        lines = reading.lines(conn)
    assert sorted((each.ref, each.priced.cost.minor) for each in lines if each.priced) == [
        ("SC-1/0007", 3), ("SC-1/0008", 2),
    ]  # fmt: skip


def test_shares_of_foreign_money_say_what_the_document_said_and_add_up_to_it(book: Book) -> None:
    made = shop(book)
    bought = euros("2801.13", "1.0907")
    shared = _shared(
        vehicles=(made.own, made.consigned), price=bought.home("USD"), foreign=bought
    )  # fmt: skip
    make.add(book, "shared charge", "SC-1", shared)
    reverse_line(book, "SC-1/0008", "not ours", author_ref="HK", day="2031-04-20", period=None)
    with book.reading() as conn:
        own, theirs = landed(conn, ("0007",))[0], landed(conn, ("0008",))[0]
        rows = list(line_rows.rows(conn, Scope(), journal_of(conn), chart_of(conn)))
    said = "of 2801.13 EUR on SC-1 at 1.0907 (day rate)"
    assert [row[3] for row in own.rows] == [f"1400.57 EUR {said}"]
    assert [row[3] for row in theirs.rows] == [f"1400.56 EUR {said}", f"-1400.56 EUR {said}"]
    names = ("line_id", "foreign_amount", "fx_rate", "fx_source")
    places = [line_rows.COLUMNS.index(name) for name in names]
    rate = (Decimal("1.0907"), "day rate")
    assert {tuple(row[place] for place in places) for row in rows} == {
        ("SC-1/0007", "1400.57 EUR", *rate), ("SC-1/0008", "1400.56 EUR", *rate),
        ("SC-1/0008-reversed", "-1400.56 EUR", *rate),
    }  # fmt: skip
