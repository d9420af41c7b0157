"""The books on the pages: every sum leads to its lines, months close, what ties is said."""

from __future__ import annotations

import io
import re
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING
from urllib.parse import quote

import pytest

from recondition.book import reading, trail
from recondition.reports.books_hours import hours, of_week
from recondition.reports.books_named import OF_SHOP
from recondition.reports.books_ties import ties
from recondition.reports.books_view import view_of
from recondition.reports.table import Column, Table
from recondition.web.entry_papers import naming, record_behind
from recondition.web.linked import _links_of
from tests.web.visitors import post, signed_in
from tests.web.working import ended

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book

pytestmark = pytest.mark.long


def read(client: FlaskClient, path: str) -> str:
    """Give the text of a page that has to be there."""
    answer = client.get(path)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 200, text
    return text


def leading(page: str, words: str) -> str:
    """Give the address behind some words."""
    found = re.search(rf'<a [^>]*href="([^"]+)">{re.escape(words)}</a>', page)
    assert found, words
    return found[1]


def test_a_month_that_holds_a_sale_alone_can_be_chosen(shop_book: Book) -> None:
    client = signed_in(shop_book)
    sale = {"vehicle": "0007", "price": "30,000.00", "sold_on": "2031-09-20"}
    assert post(client, "/enter/sales", **sale).status_code == 303
    assert "<option>2031-09</option>" in read(client, "/books/journal")
    assert ">2031-09<" in read(client, "/books")


def test_a_month_that_holds_an_accrual_taken_back_alone_can_be_chosen(shop_book: Book) -> None:
    client, may = signed_in(shop_book), "<option>2031-05</option>"
    order = {"vehicle": "0012", "what": "sublet", "name": "Rechroming", "quoted": "400.00",
             "received_on": "2031-04-20"}  # fmt: skip
    assert post(client, "/enter/orders", **order).status_code == 303
    assert may not in read(client, "/books/journal")
    for month in ("2031-01", "2031-02", "2031-03", "2031-04"):
        assert post(client, f"/books/periods/{month}/close", why="month end").status_code == 303
    assert may in read(client, "/books/journal")
    assert "400.00" in read(client, "/books/journal?period=2031-05")


def test_a_hammer_is_read_as_every_amount_and_the_page_stays(shop_book: Book) -> None:
    client = signed_in(shop_book)
    at = "/books/vehicles/0007/position"
    assert "38,500.00" in read(client, f"{at}?hammer=38,500")
    for text in ("38,50", "1,5", "abc", "-5"):
        answer = client.get(f"{at}?hammer={text}")
        page = answer.get_data(as_text=True)
        assert answer.status_code in (400, 422), text
        assert f'name="hammer" inputmode="decimal" value="{text}"' in page
        assert "In it today" in page
    car = {"ref": "24/017", "designation": "1966 Ostra 9", "holding": "own stock"}
    assert post(client, "/enter/vehicles", **car).status_code == 303
    page = read(client, "/books/vehicles/24/017/position")
    assert "Name a hammer to try" in page
    assert 'name="hammer"' in page
    assert "What a hammer would clear" in read(
        client, "/books/vehicles/24/017/position?hammer=9,000"
    )


def test_the_parts_of_the_books_are_called_as_their_commands(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    page = read(client, "/books")
    for name, report in OF_SHOP.items():
        address = leading(page, name.replace("-", " ").capitalize())
        assert address == f"/books/{name}"
        assert f"<h1>{report.title}</h1>" in read(client, address)


def test_a_total_opens_up_to_its_account_entry_line_and_record(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    accounts = read(client, "/books/accounts?period=2031-02")
    assert "2,345.68" not in accounts
    account = leading(accounts, "1490")
    assert account == "/books/accounts/1490?period=2031-02"
    postings = read(client, account)
    balance = re.search(r"<th scope=\"row\">1490</th>|1490</a>", accounts)
    assert balance is not None
    entry = leading(postings, "2031-01/006")
    opened = read(client, entry)
    assert "2031-01-20: hours" in opened
    assert leading(opened, "L-001") == "/records/labour/L-001"
    assert "50.40" in opened
    assert client.get("/books/accounts/0815").status_code == 404
    assert client.get("/books/entries/2031-01/999").status_code == 404


def test_the_lines_of_an_entry_come_to_what_it_says(shop_book: Book) -> None:
    """Every entry made of lines is the sum of those that its page lists."""
    from recondition.web.journal import _lines_of  # noqa: PLC0415 - only here

    with shop_book.reading() as conn:
        view = view_of(conn)
        made_of_lines = [e for e in view.entries if e.document in ("hours", "stock used")]
        assert len(made_of_lines) > 10
        for entry in made_of_lines[::8]:
            lines = _lines_of(conn, entry)
            assert sum(row[-1].minor for row in lines.rows) == entry.debits, entry.number


@pytest.mark.parametrize("name", list(OF_SHOP))
def test_each_report_is_a_page(shop_book: Book, name: str) -> None:
    client = signed_in(shop_book, "bookkeeper")
    page = read(client, f"/books/{name}")
    assert OF_SHOP[name].title in page
    assert "recondition post" not in page
    narrowed = read(client, f"/books/{name}?period=2031-02&vehicle=0007")
    assert "'recondition " not in narrowed
    assert signed_in(shop_book, "preparer").get(f"/books/{name}").status_code == 403


def test_a_line_leads_to_the_line_where_another_kind_has_the_same_ref(shop_book: Book) -> None:
    with shop_book.reading() as conn:
        for kind in ("charge", "mixed batch"):
            assert "X-001" in reading.all_refs(conn, kind)
    client = signed_in(shop_book, "bookkeeper")
    for page in ("/books/landed", "/books/entries/2031-01/001"):
        assert leading(read(client, page), "X-001") == "/records/charge/X-001"
    links = _links_of(Table("", (Column("record", ""),), ()), {"X-001": ["mixed batch", "charge"]})
    assert links.kinds == {"X-001": "mixed batch"}


def test_an_entry_without_lines_leads_to_what_it_comes_from(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    bought = read(client, "/books/entries/2031-01/002")
    invoice = leading(bought, "invoice N-10331 of supplies")
    assert invoice == "/records/supplier%20invoice/SI-001"
    receipts = re.findall(r'<th scope="row"><a href="/records/receipt/(RC-\d+)">', bought)
    assert len(receipts) == len(set(receipts)) == 12
    freight = read(client, "/books/entries/2031-02/001")
    assert leading(freight, "LF-001") == "/records/late%20freight/LF-001"
    paid = read(client, "/books/entries/2031-02/006")
    assert leading(paid, "payment PY-001") == "/records/payment/PY-001"
    assert "Nothing to show" not in paid
    for address in (invoice, "/records/payment/PY-001", "/records/receipt/RC-005"):
        assert client.get(address).status_code == 200


def test_what_took_from_an_invoice_on_another_day_is_listed_with_it(shop_book: Book) -> None:
    with shop_book.reading() as conn:
        view = view_of(conn)
        named = naming(conn, view, "invoice N-10331 of supplies")
        again = naming(conn, view, "invoice N-10331 of supplies, taken back")
        assert naming(conn, view, "hours") is None
        assert record_behind(conn, "hours") == ""
        assert record_behind(conn, "payment PY-001, taken back") == "/records/payment/PY-001"
    assert named == again
    assert named is not None
    assert len(named.rows) == 12
    assert named.total is not None
    assert named.total[2] == view.money(361_55)


def test_hours_open_up_to_their_lines(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    page = read(client, "/books/hours")
    assert leading(page, "IC") == "/records/person/IC"
    to = leading(page, "3.7")
    assert to == "/books/hours/IC/2031-01-20"
    lines = read(client, to)
    assert leading(lines, "L-001") == "/records/labour/L-001"
    assert lines.count("/records/labour/") == 3
    with shop_book.reading() as conn:
        for who, week, _, *shown, _ in hours(conn, None)[0].rows:
            lines = of_week(conn, str(who), week)[0]
            assert lines.total is not None
            assert list(lines.total[5:]) == shown, (who, week)
    assert client.get("/books/hours/nobody/2031-01-20").status_code == 404
    assert client.get("/books/hours/IC/monday").status_code == 400


def test_paid_hours_open_up_to_their_record(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    with shop_book.reading() as conn:
        week = next(row for row in hours(conn, None)[0].rows if row[0] == "IC" and row[2])
        table = of_week(conn, "IC", date.fromisoformat(str(week[1])))[1]
    assert [row[1:] for row in table.rows] == [("paid hours", week[2])]
    page = read(client, "/books/hours")
    to = leading(page, f"{Decimal(str(week[6])).normalize():f}")
    assert (
        to
        == leading(page, f"{Decimal(str(week[2])).normalize():f}")
        == f"/books/hours/IC/{week[1]}"
    )
    ref = table.rows[0][0]
    assert leading(read(client, to), str(ref)) == f"/records/paid%20hours/{ref}"
    second = {"person": "IC", "week": str(week[1]), "hours": "38.5"}
    again = post(client, "/enter/paid%20hours", **second)
    assert again.status_code == 422
    assert f"IC has paid hours from {week[1]} already ({ref})" in again.get_data(as_text=True)


def test_tax_opens_up_to_the_lines_that_name_its_code(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    code = {"code": "S/T 20", "from_date": "2031-01-01", "rate": "20%", "recoverable": "50%"}
    charge = {"vehicle": "0007", "work_date": "2031-04-02", "words": "dye", "item": "other",
              "unlinked": "whole vehicle"}  # fmt: skip
    delivery = {"product": "clay", "quantity": "100 g", "received_on": "2031-04-03"}
    for sheet, row in (
        ("tax codes", code | {"source": "invented"}),
        ("charges", charge | {"price": "100.00", "tax_code": "S/T 20"}),
        ("receipts", delivery | {"price": "10.00", "tax_recovered": "2.00"}),
    ):
        made = post(client, f"/enter/{quote(sheet)}", **row)
        assert made.status_code == 303, made.get_data(as_text=True)
    page = read(client, "/books/tax?period=2031-04")
    to = leading(page, "20.00")
    assert (to, leading(page, "S/T 20")) == ("/books/tax/S/T%2020?period=2031-04",) * 2
    lines = read(client, to)
    (ref,) = set(re.findall(r'"/records/charge/(X-\d+)"', lines))
    assert "110.00" not in lines  # what comes back is no cost, and the rest stays apart
    row = re.search(rf">{ref}</a></th>.*?</tr>", lines, re.DOTALL)
    assert row is not None
    assert re.findall(r"<span>([\d.]+)</span>", row[0]) == ["100.00", "20.00", "10.00", "10.00"]
    received = read(client, leading(page, "2.00"))
    assert re.search(r'"/records/receipt/RC-\d+"', received)
    assert client.get("/books/tax/none").status_code == 404
    assert leading(read(client, "/books/tax"), "tax charged, booked") == "/books/accounts"
    assert "Nothing to show." in read(client, "/books/tax/S/T%2020?period=2031-02")
    assert leading(read(client, "/books/stock-book"), "21,480.00") == "/books/landed?vehicle=0007"
    assert leading(read(client, "/books/inventory"), "by the journal") == "/books/accounts"


def test_the_journal_of_a_vehicle_goes_up_to_the_end_of_a_month(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    to = "/books/journal?vehicle=0007&period=2031-01&before=yes"
    whole, ended = (
        set(re.findall(r"Lines of (\S+)<", read(client, address)))
        for address in ("/books/journal?vehicle=0007", to)
    )
    assert ended == {number for number in whole if number <= "2031-01/999"}
    assert ended < whole
    later = read(client, "/books/journal?vehicle=0007&period=2031-02&before=yes")
    assert ended < set(re.findall(r"Lines of (\S+)<", later))
    assert 'name="before" value="yes" checked' in later


def test_what_ties_to_the_end_of_a_month_leads_to_the_same_sum(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    month = read(client, "/books/periods/2031-02")
    assert "What ties to what, to the end of 2031-02" in month
    assert "31,802.74" in month
    accounts = leading(month, "Journal")
    assert "31,802.74" in read(client, accounts)
    assert leading(read(client, "/books/ties"), "Journal") == "/books/journal"


def test_what_is_booked_in_a_later_month_is_so_with_no_month_closed(shop_book: Book) -> None:
    page = read(signed_in(shop_book, "bookkeeper"), "/books/late")
    assert leading(page, "P-001") == "/records/part/P-001"
    assert "Nothing was added to a closed month" not in page
    assert "or the later one was named" in page


def test_a_download_that_fails_leads_back_to_its_form(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    columns = (io.BytesIO(b"column,heading\r\nno such column,x\r\n"), "map.csv")
    page, now = ended(client, post(client, "/books/downloads", what="lines", columns=columns))
    assert now["refused"]
    assert leading(read(client, page), "Back to the downloads") == "/books/downloads"


def test_what_is_not_there_is_said(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    assert client.get("/books/astrology").status_code == 404
    assert client.get("/books/tax?period=spring").status_code == 400
    assert client.get("/books/profit?vehicle=9999").status_code == 404
    for name in ("week", "settlement", "position"):
        assert "0007" in read(client, f"/books/vehicles/0007/{name}")
    assert "27,000.00" in read(client, "/books/vehicles/0007/position?hammer=27,000")
    assert client.get("/books/vehicles/0007/weather").status_code == 404


def test_a_long_journal_comes_in_parts(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    first = read(client, "/books/journal")
    assert "1 to 50 of 57 entries" in first
    rest = read(client, leading(first, "Further").replace("&amp;", "&"))
    assert "51 to 57 of 57 entries" in rest
    only = read(client, "/books/journal?vehicle=0012")
    assert "2031-01/001" not in only


def test_a_month_shows_what_is_open_then_closes_and_opens_again(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    march = read(client, "/books/periods/2031-03")
    assert "SI-006" in march
    assert "18.15" in march
    assert "see to 2031-01 first" in march
    early = post(client, "/books/periods/2031-03/close", why="month end")
    assert early.status_code == 422
    assert "2031-01 is still open" in early.get_data(as_text=True)
    for month in ("2031-01", "2031-02", "2031-03"):
        closed = post(client, f"/books/periods/{month}/close", why="month end")
        assert closed.status_code == 303
        assert f"Period {month}: closed." in read(client, closed.location)
    assert "Open 2031-03 again" in read(client, "/books/periods/2031-03")
    without = post(client, "/books/periods/2031-03/reopen")
    assert without.status_code in (400, 422)
    opened = post(client, "/books/periods/2031-03/reopen", why="an invoice came late")
    assert "stays on record" in read(client, opened.location)
    assert "an invoice came late" in read(client, "/books")
    with shop_book.reading() as conn:
        actions = [noted.action for noted in trail.listed(conn, limit=4)]
    assert actions == ["period reopened", *["period closed"] * 3]
    assert post(signed_in(shop_book, "seller"), "/books/periods/2031-03/close").status_code == 403


def test_what_ties_is_said_and_what_does_not_is_named(shop_book: Book) -> None:
    with shop_book.reading() as conn:
        (table,) = ties(conn, None)
        (february,) = ties(conn, "2031-02")
    assert [row[0] for row in table.rows] == [
        "Journal", "Own cars in inventory", "Consumables stock", "Supplier invoices",
    ]  # fmt: skip
    assert all(not row[5].minor for row in table.rows)  # type: ignore[union-attr]
    assert table.note.startswith("Everything ties, so far.")
    assert len(february.rows) == 3
    assert "at the end of 2031-02" in february.note


def test_columns_of_a_file_are_chosen_from_a_map(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    answer = client.get("/books/downloads/columns-lines.csv")
    assert answer.data.startswith(b"column,heading\r\nline_id,line_id\r\n")
    assert "columns-lines.csv" in answer.headers["Content-Disposition"]
    assert client.get("/books/downloads/columns-else.csv").status_code in (400, 404)
    page = read(client, "/books/downloads")
    assert "marked in the book as batch EX-001" in page
