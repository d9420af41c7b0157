"""Stock on the pages: what is there, what is due, counts by weight, a batch to its cars."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from tests.web.visitors import but_chance, post, signed_in

if TYPE_CHECKING:
    from recondition.book.engine import Book

PAGES = (
    "/stock", "/stock/reorder", "/stock/opened", "/stock/counts", "/stock/products/coating",
    "/stock/batches/RC-006",
)  # fmt: skip


def test_an_empty_shelf_says_what_to_do_first(empty_book: Book) -> None:
    from recondition.intake.form import one_row  # noqa: PLC0415 - only here

    row = {"ref": "AB", "name": "A. B.", "role": "dealer"}
    one_row(empty_book, "people", row, author_ref="AB", ref="AB")
    page = signed_in(empty_book).get("/stock").get_data(as_text=True)
    assert "There is no product yet." in page
    assert "/enter/products" in page


def test_on_hand_leads_to_a_product_and_on_to_its_lines_and_batches(shop_book: Book) -> None:
    client = signed_in(shop_book)
    assert 'href="/stock/products/coating"' in client.get("/stock").get_data(as_text=True)
    assert client.get("/stock/coating").location == "/stock/products/coating"
    page = client.get("/stock/products/coating").get_data(as_text=True)
    assert 'href="/records/consumable/U-007"' in page
    assert 'href="/stock/batches/RC-006"' in page
    assert "199.02" in page
    batch = client.get("/stock/batches/RC-006").get_data(as_text=True)
    assert 'href="/vehicles/0007"' in batch
    assert client.get("/stock/batches/HF-3107").status_code == 200
    assert client.get("/stock/products/none").status_code == 404
    assert client.get("/stock/batches/none").status_code == 404


@pytest.mark.parametrize("path", PAGES)
def test_a_preparer_sees_amounts_and_no_money(shop_book: Book, path: str) -> None:
    page = signed_in(shop_book, "preparer").get(path)
    assert page.status_code == 200
    text = but_chance(page.get_data(as_text=True))
    assert "USD" not in text
    assert not re.search(r"\d\.\d\d(?!\d)[^\w ]", re.sub(r"<[^>]*>", " | ", text))
    assert "Take a delivery in" not in text
    assert "recondition stock" not in text


def test_a_seller_sees_no_stock(shop_book: Book) -> None:
    client = signed_in(shop_book, "seller")
    assert [client.get(path).status_code for path in PAGES] == [403] * len(PAGES)


def test_a_count_by_weight_is_posted_as_the_command_does(shop_book: Book) -> None:
    client = signed_in(shop_book, "preparer")
    page = client.get("/stock/products/coating").get_data(as_text=True)
    assert 'name="gross:K-01"' in page
    empty = post(client, "/stock/weigh/coating", why="month end")
    assert empty.status_code == 400
    assert "no container was weighed" in empty.get_data(as_text=True)
    wrong = post(client, "/stock/weigh/coating", **{"gross:K-01": "heavy"})
    assert wrong.status_code == 400
    assert "heavy" in wrong.get_data(as_text=True)
    done = post(client, "/stock/weigh/coating", **{"gross:K-01": "140.0", "why": "spilled"},
                day="2031-04-01")  # fmt: skip
    assert done.status_code == 303
    assert "on the shelf, differs by" in client.get(done.location).get_data(as_text=True)
    with shop_book.reading() as conn:
        newest = max(
            (line for line in reading.lines(conn) if line.kind == "count"),
            key=lambda line: line.recorded_at,
        )
    assert newest.entry.words == "spilled"


def test_the_keeper_of_the_books_may_take_deliveries_in(shop_book: Book) -> None:
    page = signed_in(shop_book, "bookkeeper").get("/stock").get_data(as_text=True)
    assert "/enter/receipts" in page
    assert "164.99" in page
