"""Figures of the books on the pages: each opens up to the postings that come to it."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from recondition.intake.owners import invoice
from recondition.reports.books_view import view_of
from recondition.web.entry_papers import naming
from tests.web.test_books import leading, read
from tests.web.visitors import post, signed_in

if TYPE_CHECKING:
    from recondition.book.engine import Book

pytestmark = pytest.mark.long

FIGURE = re.compile(r'<a href="(/books/(?:vehicles|tax)/[^"]+)">(-?[\d,]+\.\d\d)</a>')


def total_of(page: str) -> str:
    """Give the last figure of the row of sums of the first table."""
    row = re.search(r'<tr class="total">(.*?)</tr>', page, re.DOTALL)
    assert row, page
    return re.findall(r"<span>(-?[\d,]+\.\d\d)</span>", row[1])[-1]


@pytest.mark.parametrize("month", ["", "2031-01", "2031-02", "2031-03", "2031-09"])
def test_every_figure_opens_up_to_postings_that_come_to_it(shop_book: Book, month: str) -> None:
    client = signed_in(shop_book)
    for sheet, row in (
        ("sales", {"vehicle": "0007", "price": "30,000.00", "sold_on": "2031-09-20"}),
        ("sales", {"vehicle": "0012", "price": "79,000.00", "sold_on": "2031-09-21"}),
        ("charges", {"vehicle": "0007", "work_date": "2031-09-25", "words": "a last polish",
                     "price": "1.65", "unlinked": "whole vehicle"}),
    ):  # fmt: skip
        made = post(client, f"/enter/{sheet}", **row)
        assert made.status_code == 303, made.get_data(as_text=True)
    found: dict[str, str] = {}
    pages = ["/books/inventory", "/books/profit", "/books/tax"]
    for at in (f"{page}?period={month}" for page in pages):
        found |= dict(FIGURE.findall(read(client, at)))
    if not month:
        found |= dict(FIGURE.findall(read(client, "/books/vehicles/0012/settlement")))
    assert len(found) >= (16 if month in ("", "2031-09") else 3)
    for to, amount in found.items():
        if "/books/tax/" not in to or "booked" in to or "owed" in to:
            assert total_of(read(client, to.replace("&amp;", "&"))) == amount, to
    said = " ".join(found)
    assert "/books/vehicles/0007/landed" in said
    assert ("/0007/after-sale" in said) is (month in ("", "2031-09"))
    assert client.get("/books/vehicles/0007/landed?period=spring").status_code == 400
    assert client.get("/books/vehicles/9999/landed").status_code == 404


def test_figures_lead_on_to_their_entry_account_and_record(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    profit, stock = read(client, "/books/profit"), read(client, "/books/inventory")
    assert leading(profit, "-1,733.23") == "/books/vehicles/0007/after-holding"
    assert leading(profit, "1,164.00") == "/books/vehicles/0007/holding"
    assert leading(stock, "11") == "/vehicles/0012/ledger"
    assert leading(stock, "28,006.08") == "/books/vehicles/0007/journal"
    month = read(client, "/books/inventory?period=2031-03")
    work = month.partition("Work in process for owners")[2]
    row = re.search(r"<tr>\s*<th[^>]*>.*?0012.*?</tr>", work, re.DOTALL)
    assert row is not None
    to = "/books/vehicles/0012/in-process?period=2031-03"
    assert row[0].count(f'href="{to}"') == 2  # the cost and the number of lines
    assert "/ledger" not in row[0]
    page = read(client, "/books/vehicles/0007/work?period=2031-01")
    assert leading(page, "2031-01/006") == "/books/entries/2031-01/006"
    assert leading(page, "1490") == "/books/accounts/1490?period=2031-01"


def test_what_an_owner_owes_for_work_leads_to_its_invoices_and_payments(shop_book: Book) -> None:
    client, at = signed_in(shop_book), "/books/vehicles/0012/settlement"
    before = read(client, at)
    assert "Nothing is booked from a sale of it yet" in before
    assert "What the owner owes for work" not in before
    number = invoice(
        shop_book, "0012", author_ref="IC", issued_on=date(2031, 4, 2), write=lambda *_: None
    )
    paid = {"owner_invoice": number, "amount": "50.00", "way": "received", "paid_on": "2031-04-03"}
    assert post(client, "/enter/payments", **paid).status_code == 303
    page = read(client, at)
    (ref,) = re.findall(r'<a href="/records/payment/([^"]+)">payment \1</a>', page)
    assert client.get(f"/records/payment/{ref}").status_code == 200
    assert leading(page, f"owner invoice {number}") == f"/records/owner%20invoice/{number}"
    owed = total_of(page.partition("What the owner owes for work")[2])
    assert leading(page, owed) == "/books/vehicles/0012/owed-for-work"
    assert total_of(read(client, "/books/vehicles/0012/owed-for-work")) == owed


def test_an_invoice_to_an_owner_opens_up_to_the_lines_that_it_bills(shop_book: Book) -> None:
    number = invoice(
        shop_book, "0012", author_ref="IC", issued_on=date(2031, 4, 2), write=lambda *_: None
    )
    with shop_book.reading() as conn:
        view, entry = view_of(conn), reading.one(conn, "owner invoice", number).entry
        entries = {each.document: each for each in view.entries}
        for document in (f"owner invoice {number}", f"cost of owner invoice {number}"):
            table = naming(conn, view, document)
            assert table is not None
            assert (len(table.rows), table.total[2]) == (len(entry.lines), entry.total)
    cost = entries[f"cost of owner invoice {number}"]
    assert table.total[3].minor == cost.debits
    page = read(signed_in(shop_book), f"/books/entries/{cost.number}")
    assert "What it bills" in page
    assert "No line stands behind it" not in page


def test_a_sold_car_says_so_and_asks_for_no_hammer(shop_book: Book) -> None:
    client = signed_in(shop_book)
    at = "/books/vehicles/0007"
    assert "It was sold" not in read(client, f"{at}/position")
    sale = {"vehicle": "0007", "price": "30,000.00", "sold_on": "2031-09-20"}
    assert post(client, "/enter/sales", **sale).status_code == 303
    for name in ("position", "week"):
        page = read(client, f"{at}/{name}")
        assert "It was sold on 2031-09-20" in page
        assert leading(page, "its settlement") == f"{at}/settlement"
        assert leading(page, "what it brought") == "/books/profit?vehicle=0007"
        assert 'name="hammer"' not in page
        assert "'recondition " not in page
    assert "as long as it still stands here" in read(client, f"{at}/week")
    assert "27,000.00" in read(client, f"{at}/position?hammer=27,000")


def test_tax_by_the_accounts_of_a_month_opens_up_to_what_was_booked_in_it(
    shop_book: Book,
) -> None:
    client = signed_in(shop_book)
    delivery = {"product": "clay", "quantity": "100 g", "received_on": "2031-04-03"}
    for day, back in (("2031-04-03", "2.00"), ("2031-05-03", "3.00")):
        row = delivery | {"received_on": day, "price": "10.00", "tax_recovered": back}
        assert post(client, "/enter/receipts", **row).status_code == 303
    page = read(client, "/books/tax?period=2031-04").partition("By the accounts")[2]
    to = leading(page, "2.00")
    assert to == "/books/tax/(comes%20back,%20booked)?period=2031-04"
    assert total_of(read(client, to)) == "2.00"
    assert total_of(read(client, leading(page, "-2.00"))) == "-2.00"
