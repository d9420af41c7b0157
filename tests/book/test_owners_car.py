"""An owner's car through the books: work in process, the bill with its tax, the sale, settled.

The figures are the worked example of the trade notes (invented): 18 h at 95.00, materials
charged at 64.80, sales tax of 8.25 % on materials alone, hammer 79,000.00, commission 10 %.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from recondition.accounts import chart
from recondition.accounts.invoices import PaidTooMuch, Way
from recondition.amounts import Quantity
from recondition.book import owed, reading
from recondition.book.engine import Book
from recondition.fields import Id, Words
from recondition.ledger.lines import Consumable, Labour, Loss, Payer, Purpose, Rework
from recondition.ledger.taxes import TaxCode
from recondition.materials.products import Product
from recondition.materials.receiving import Receipt
from recondition.reports.books_one_car import settlement
from recondition.worth.track import SaleTax
from tests.book import make
from tests.book.make import Shop, shop, usd
from tests.book.make_sales import balances, payment, percent, sale, undo

DAY = date(2031, 4, 2)


def _worked(book: Book, made: Shop) -> Id:
    """Work on the owner's car and bill it; give the invoice."""
    tax = TaxCode(
        code="ST", from_date=date(2031, 1, 1), rate=Decimal("0.0825"), recoverable=Decimal(0),
        charged_on=("part", "consumable"), source=Words("the state's table, invented"),
    )  # fmt: skip
    make.add(book, "tax code", "TC-1", tax)
    product = make.add(
        book, "product", "PR-1", Product(name="Mixed", material_type="supplies", unit="ml")
    )
    stock = Receipt(product=product, received_on=DAY, price=usd("41.37"),
                    quantity=Quantity.of("500", "ml"))  # fmt: skip
    make.add(book, "receipt", "RC-1", stock)
    line = make.line(made.consigned, work_date=DAY)
    hours = Labour(person=made.person, quantity=Quantity.of("18", "h"), **line)
    make.add(book, "labour", "L-1", hours)
    used = Consumable(
        product=product, quantity=Quantity.of("500", "ml"), billed=usd("64.80"), **line
    )
    make.add(book, "consumable", "U-1", used)
    with book.reading() as conn:
        entry = owed.unbilled(conn, "0008", DAY)
    return make.add(book, "owner invoice", "IV-1", entry)


def test_work_is_in_process_until_it_is_billed_and_tax_is_on_materials_alone(book: Book) -> None:
    made = shop(book)
    invoice = _worked(book, made)
    found = balances(book)
    assert found[chart.OWNER_RECEIVABLE] == 178015
    assert (found[chart.SERVICE_LABOUR], found[chart.SERVICE_MATERIALS]) == (-171000, -6480)
    assert found[chart.OUTPUT_TAX] == -535
    assert found[chart.COST_SERVICE] == 73887
    assert chart.WORK_FOR_OWNERS not in found
    make.refused(book, PaidTooMuch, "payment", payment("5", DAY, owner_invoice=invoice))
    undo(book, "IV-1-reversed", invoice, DAY, made.consigned)
    found = balances(book)
    assert found[chart.WORK_FOR_OWNERS] == 73887
    assert chart.OWNER_RECEIVABLE not in found
    with book.reading() as conn:
        assert str(owed.unbilled(conn, "0008", DAY).total) == "1774.80"


def test_the_owner_receives_what_the_settlement_says(book: Book) -> None:
    made = shop(book)
    invoice = _worked(book, made)
    day = date(2031, 5, 17)
    sold = make.add(
        book, "sale", "Y-1", sale(made.consigned, "79000", day, shop_commission=percent("10"))
    )
    came = payment("79000", day, way=Way.RECEIVED, sale=sold)
    make.add(book, "payment", "PY-1", came)
    kept = payment("1780.15", day, way=Way.SET_OFF, sale=sold, owner_invoice=invoice)
    make.add(book, "payment", "PY-2", kept)
    with book.reading() as conn:
        work, still = settlement(conn, "0008")[1:]
    last = still.rows[-1]
    assert [row[1] for row in work.rows] == ["owner invoice IV-1", "payment PY-2"]
    assert work.total is not None
    assert [str(cell) for cell in (work.total[-1], still.rows[-2][1])] == ["0.00", "0.00"]
    assert (last[0], str(last[1])) == ("owner receives when both are settled", "69319.85")
    too_much = payment("69319.86", day, sale=sold)
    make.refused(book, PaidTooMuch, "payment", too_much, ref="PY-3")
    make.add(book, "payment", "PY-3", payment("69319.85", day, sale=sold))
    found = balances(book)
    assert chart.DUE_TO_OWNER not in found
    assert chart.OWNER_RECEIVABLE not in found
    assert found[chart.COMMISSION_INCOME] == -790000
    assert found[chart.BANK] == 7900000 - 6931985


def test_work_done_again_for_nothing_is_an_expense_at_once(book: Book) -> None:
    made = shop(book)
    line = make.line(made.consigned, work_date=DAY)
    first = Labour(person=made.person, quantity=Quantity.of("2", "h"), **line)
    done = make.add(book, "labour", "L-1", first)
    again = Rework(of=done, cause="method", payer=Payer.SHOP)  # type: ignore[arg-type]
    second = Labour(
        person=made.person, quantity=Quantity.of("1", "h"), rework=again, loss=Loss.NORMAL, **line
    )
    make.add(book, "labour", "L-2", second)
    assert second.purpose is Purpose.RECONDITIONING
    found = balances(book)
    assert (found[chart.WORK_FOR_OWNERS], found[chart.NOT_BILLED]) == (7750, 3875)


@pytest.mark.parametrize(
    ("how", "income", "due"),
    [(SaleTax.ON_TOP, -100000, 880000), (SaleTax.IN_PRICE, -83333, 900000)],
)
def test_tax_on_the_shops_commission_is_on_top_of_it_or_in_it(
    book: Book, how: SaleTax, income: int, due: int
) -> None:
    made = shop(book)
    tax = TaxCode(code="STD", from_date=DAY, rate=Decimal("0.2"), recoverable=Decimal(1),
                  source=Words("invented"))  # fmt: skip
    make.add(book, "tax code", "TC-1", tax)
    entry = sale(made.consigned, "10000", DAY, shop_commission=percent("10"), tax=how,
                 tax_code="STD")  # fmt: skip
    sold = make.add(book, "sale", "Y-1", entry)
    found = balances(book)
    assert (found[chart.COMMISSION_INCOME], found[chart.DUE_TO_OWNER]) == (income, -due)
    make.add(book, "payment", "PY-1", payment(f"{due / 100:.2f}", DAY, sale=sold))
    assert chart.DUE_TO_OWNER not in balances(book)


@pytest.mark.parametrize("result", ["unsold", "withdrawn"])
def test_an_owner_bears_the_fee_of_a_car_that_was_not_sold(book: Book, result: str) -> None:
    made = shop(book)
    came_back = sale(made.consigned, None, DAY, result=result, fees=usd("350"))
    make.add(book, "sale", "Y-1", came_back)
    assert balances(book) == {chart.OWNER_RECEIVABLE: 35000, chart.PAYABLE: -35000}
    with book.reading() as conn:
        fell_through = Id(reading.id_of(conn, "sale", "Y-1"))
    make.refused(book, PaidTooMuch, "payment", payment("350.01", DAY, sale=fell_through))
    make.add(book, "payment", "PY-1", payment("350", DAY, sale=fell_through))
    back = payment("350", DAY, sale=fell_through, way=Way.RECEIVED)
    make.add(book, "payment", "PY-2", back)
    assert balances(book) == {}
