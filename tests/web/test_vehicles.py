"""The vehicles and their parts: what each role sees, and that every total opens up to its lines."""

from __future__ import annotations

import re
from html import unescape
from threading import Barrier, Thread
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from flask import g
from markupsafe import Markup

from recondition.book import closing, reading
from recondition.book.open_work import kinds_by_ref, standing_of_all, state_of
from recondition.book.questions import vehicle_of
from recondition.book.roles import RIGHTS, Role
from recondition.intake.form import one_row
from recondition.ledger.rollup import period_of
from recondition.web.kept import Kept
from recondition.web.opened import Links
from recondition.web.permits import may_see_document
from recondition.web.vehicles import seen
from tests.book.make import counted
from tests.web.visitors import PASSWORD, app_of, but_chance, post, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book

PARTS = ("", "/findings", "/findings?view=arrival", "/findings?view=changes", "/timeline",
         "/ledger", "/cost", "/plan")  # fmt: skip


def text_of(client: FlaskClient, path: str, status: int = 200) -> str:
    answer = client.get(path)
    assert answer.status_code == status, (path, answer.get_data(as_text=True))
    return answer.get_data(as_text=True)


def total_of(page: str) -> str:
    """Read the last cell of the row of totals of a ledger."""
    row = re.search(r'<tr class="total">(.*?)</tr>', page, re.DOTALL)
    assert row is not None
    return re.findall(r">([^<>]+)</span></td>", row[1])[-1]


def test_the_list_says_what_stands_open_and_money_to_whoever_may_see_it(demo_book: Book) -> None:
    dealer = text_of(signed_in(demo_book), "/vehicles")
    assert 'href="/vehicles/0007/ledger">29,739.31</a>' in dealer
    assert 'href="/enter/vehicles?to=/vehicles"' in dealer
    preparer = text_of(signed_in(demo_book, "preparer"), "/vehicles")
    assert "1974 Marrowen Vireo 2000 GT coupe" in preparer
    for kept_back in ("29,739.31", "Posted cost", "/plan", "/enter/vehicles"):
        assert kept_back not in preparer
    assert signed_in(demo_book, "seller").get("/vehicles").status_code == 403


def test_what_stands_open_is_counted_as_the_lists_count_it(demo_book: Book) -> None:
    with demo_book.reading() as conn:
        one, other = standing_of_all(conn, "USD")
        vehicle = vehicle_of(conn, "0007")
        ended = {o.entry.finding for o in reading.stored(conn, "outcome", vehicle=vehicle.id)}
        found = reading.stored(conn, "finding", vehicle=vehicle.id)
        work = reading.stored(conn, "candidate", vehicle=vehicle.id)
        cost = sum(line.priced.cost.minor for line in reading.lines(conn, vehicle.id))
    assert (one.ref, one.holding, one.sold) == ("0007", "own stock", False)
    assert one.findings == sum(f.id not in ended for f in found) > 0
    assert one.work == sum(c.entry.state.value in ("open", "started") for c in work) > 0
    assert one.cost.minor == cost
    assert (other.ref, other.orders, other.clocks) == ("0012", 0, 0)


def test_an_empty_book_says_what_to_do_first(empty_book: Book) -> None:
    dealer = app_of(empty_book).test_client()
    fields = {"name": "first", "person": "MR", "full_name": "Mara Rell"}
    fields |= dict.fromkeys(("password", "again"), PASSWORD)
    assert post(dealer, "/begin/begin-here", **fields).status_code == 302
    page = text_of(dealer, "/vehicles")
    assert "There is no vehicle yet" in page
    assert 'class="button main" href="/enter/vehicles?to=/vehicles"' in page
    for sheet in ("people", "rates"):
        assert f'href="/enter/{sheet}?to=/vehicles"' in page
    assert "without it no clock can be stopped" in page
    assert "No vehicle is here" in text_of(dealer, "/week")


def test_a_car_that_nobody_looked_at_says_what_to_do_first(shop_book: Book) -> None:
    car = {"ref": "0099", "designation": "1966 Ostra 9", "holding": "own stock"}
    assert one_row(shop_book, "vehicles", car, author_ref="IC", ref="0099").refused is None
    dealer, preparer = signed_in(shop_book), signed_in(shop_book, "preparer")
    book_keeper = signed_in(shop_book, "bookkeeper")
    for view in ("now", "arrival", "changes"):
        for client, may in ((dealer, True), (preparer, True), (book_keeper, False)):
            page = text_of(client, f"/vehicles/0099/findings?view={view}")
            assert "Nobody has looked at 0099 yet" in page
            for kept_back in ("everything named was inspected", "Nothing to show", "0 findings"):
                assert kept_back not in page
            for sheet in ("findings", "panels", "film-readings"):
                assert (f'href="/enter/{sheet}?vehicle=0099' in page) is may
            assert ("ask for that first" in page) is not may
    page = text_of(dealer, "/vehicles/0099/timeline")
    assert 'href="/enter/terms?vehicle=0099&amp;to=/vehicles/0099/timeline"' in page
    assert "Fill the sheet" not in page
    for client in (preparer, book_keeper):
        page = text_of(client, "/vehicles/0099/timeline")
        assert "/enter/terms" not in page
        assert "Whoever decides what is done enters them" in page


def test_the_number_of_open_findings_is_said_where_it_leads(demo_book: Book) -> None:
    dealer = signed_in(demo_book)
    listed = text_of(dealer, "/vehicles")
    for stock in ("0007", "0012"):
        count = re.search(rf'href="/vehicles/{stock}/findings">(\d+)</a>', listed)
        assert count is not None
        assert f" {count[1]} of them " in text_of(dealer, f"/vehicles/{stock}/findings")


def test_refs_of_documents_that_are_shut_lead_nowhere(demo_book: Book) -> None:
    with app_of(demo_book).test_request_context(), demo_book.reading() as conn:
        for role in (Role.DEALER, Role.PREPARER):
            g.visit = SimpleNamespace(rights=RIGHTS[role])
            links = seen(conn, "0007").links
            kept = reading.stored(conn, "document", vehicle=vehicle_of(conn, "0007").id)
            for each in kept:
                open_ = may_see_document(each.entry, RIGHTS[role])
                assert (links.kinds.get(each.ref) == "document") is open_


@pytest.mark.parametrize("stock", [pytest.param("0007", marks=pytest.mark.long), "0012"])
def test_every_part_is_there_for_the_dealer(demo_book: Book, stock: str) -> None:
    dealer = signed_in(demo_book)
    for part in PARTS:
        page = text_of(dealer, f"/vehicles/{stock}{part}")
        assert page.count('aria-current="page"') >= 1, part
        assert " style=" not in page
    assert "There is no vehicle" in text_of(dealer, "/vehicles/0999", 404)


def test_a_preparer_sees_no_money_on_any_part(demo_book: Book) -> None:
    preparer = signed_in(demo_book, "preparer")
    with demo_book.reading() as conn:
        lines = reading.lines(conn, vehicle_of(conn, "0007").id)
    amounts = {line.priced.cost.grouped for line in lines if abs(line.priced.cost.minor) > 1000}
    for part in ("/ledger", "/cost", "/plan"):
        assert preparer.get(f"/vehicles/0007{part}").status_code == 403
    assert preparer.get("/vehicles/0007/plan/answer").status_code == 200
    for part in PARTS[:5]:
        page = text_of(preparer, f"/vehicles/0007{part}")
        assert "USD" not in but_chance(page)
        assert not set(re.findall(r"[\d,]+\.\d\d\b", page)) & amounts, part
        assert "19,900" not in page


@pytest.mark.parametrize("stock", [pytest.param("0007", marks=pytest.mark.long), "0012"])
def test_every_total_of_cost_and_uplift_opens_up_to_lines_that_add_up(
    demo_book: Book, stock: str
) -> None:  # fmt: skip
    dealer = signed_in(demo_book)
    page = text_of(dealer, f"/vehicles/{stock}/cost")
    found = set(re.findall(rf'href="(/vehicles/{stock}/ledger\?[^"]+)">([^<]+)</a>', page))
    assert len(found) > 20
    for address, amount in found:
        behind = text_of(dealer, unescape(address))
        assert total_of(behind) == amount, address
    whole = total_of(text_of(dealer, f"/vehicles/{stock}/ledger"))
    assert f'/vehicles/{stock}/ledger">{whole}</a>' in page


def test_refs_lead_to_their_records_and_nothing_else_does(demo_book: Book) -> None:
    page = text_of(signed_in(demo_book), "/vehicles/0007/ledger")
    assert '<a href="/records/labour/L-001">L-001</a>' in page
    assert '<a href="/records/finding/F-002">F-002</a>' in page
    links = Links({"F-1": "finding", "MR": "person", "C-10": "change request"})
    assert links.text("F-1") == Markup('<a href="/records/finding/F-1">F-1</a>')
    assert links.text("a <b> F-12, F-1") == Markup(
        'a &lt;b&gt; F-12, <a href="/records/finding/F-1">F-1</a>'
    )
    assert links.text("MR said F-1-x") == Markup("MR said F-1-x")
    assert 'href="/records/change%20request/C-10"' in links.text("see C-10.")


def test_a_line_is_taken_back_with_a_reason_and_once(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    assert "Why" in text_of(dealer, "/vehicles/0007/ledger?back=L-001")
    before = counted(shop_book)
    answer = post(dealer, "/vehicles/0007/reverse", line="L-001", why=" ")
    assert answer.status_code == 400
    assert "the reason is missing" in answer.get_data(as_text=True)
    assert counted(shop_book) == before
    answer = post(dealer, "/vehicles/0007/reverse", line="L-001", why="typed twice")
    assert answer.status_code == 303
    page = text_of(dealer, answer.headers["Location"])
    assert "reversal L-001-reversed: L-001 is taken back" in page
    assert "typed twice" in page
    page = text_of(dealer, "/vehicles/0007/ledger?back=L-001")
    assert "It was taken back already, by L-001-reversed" in page
    assert 'action="/vehicles/0007/reverse"' not in page
    assert "stays. What is right is entered" in text_of(
        dealer, "/vehicles/0007/ledger?back=L-001-reversed"
    )
    again = post(dealer, "/vehicles/0007/reverse", line="L-001", why="again")
    assert again.status_code == 422
    assert "line L-001 was reversed already" in again.get_data(as_text=True)


def test_a_line_of_another_vehicle_and_a_hand_without_the_right_are_refused(
    shop_book: Book,
) -> None:
    with shop_book.reading() as conn:
        other = reading.lines(conn, vehicle_of(conn, "0012").id)[0].ref
    answer = post(signed_in(shop_book), "/vehicles/0007/reverse", line=other, why="no")
    assert answer.status_code == 422
    said = answer.get_data(as_text=True)
    assert f"line {other} is not on vehicle 0007: it is on vehicle 0012" in said
    with shop_book.reading() as conn:
        shops = [each.ref for each in reading.lines(conn) if each.subject == "shop"]
    answer = post(signed_in(shop_book), "/vehicles/0007/reverse", line=shops[0], why="no")
    assert "it is on the shop" in answer.get_data(as_text=True)
    for role in ("preparer", "seller"):
        answer = post(signed_in(shop_book, role), "/vehicles/0007/reverse", line="L-001", why="no")
        assert answer.status_code == 403


def test_a_line_of_a_closed_month_says_what_taking_it_back_will_do(shop_book: Book) -> None:
    with shop_book.reading() as conn:
        lines = reading.lines(conn, vehicle_of(conn, "0007").id)
        first = min(lines, key=period_of)
        author = min(reading.all_refs(conn, "person"))
    closing.close(shop_book, period_of(first), "reported", author_ref=author)
    page = text_of(signed_in(shop_book), f"/vehicles/0007/ledger?back={first.ref}")
    assert f"Its month {period_of(first)} is closed" in page
    assert "or the first open one after it" in page
    assert "the month of today" not in text_of(signed_in(shop_book), "/vehicles/0007/ledger")


def test_the_state_of_a_vehicle_moves_with_its_own_entries_alone(shop_book: Book) -> None:
    with shop_book.reading() as conn:
        ids = [vehicle_of(conn, stock).id for stock in ("0007", "0012")]
        before = [state_of(conn, each) for each in ids]
        kinds = kinds_by_ref(conn, ids[0])
    assert kinds["F-001"] == "finding"
    assert kinds["L-001"] == "labour"
    post(signed_in(shop_book), "/vehicles/0007/reverse", line="L-001", why="typed twice")
    with shop_book.reading() as conn:
        after = [state_of(conn, each) for each in ids]
    assert after[0] != before[0]
    assert after[1] == before[1]


def test_what_is_kept_is_made_once_and_the_least_used_goes_first() -> None:
    kept, made = Kept(most=2), list[str]()

    def making(name: str) -> str:
        made.append(name)
        return name

    for name in ("a", "b", "a", "c", "a", "b"):
        assert kept.get(name, lambda name=name: making(name)) == name
    assert made == ["a", "b", "c", "b"]
    together, at_once = Kept(), Barrier(4)

    def ask() -> None:
        at_once.wait()
        together.get("x", lambda: making("x"))

    threads = [Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert made.count("x") == 1


def test_what_cannot_be_made_is_tried_again() -> None:
    kept = Kept()
    with pytest.raises(ZeroDivisionError):
        kept.get("a", lambda: 1 // 0)
    assert kept.get("a", lambda: 2) == 2


def test_the_cost_of_an_owners_car_is_said_to_be_what_the_owner_is_billed(demo_book: Book) -> None:
    dealer = signed_in(demo_book)
    for stock, billed in (("0012", True), ("0007", False)):
        page = text_of(dealer, f"/vehicles/{stock}/cost")
        assert ("billed to the owner for that so far" in page) is billed
        assert ("Billed to the owner, by kind of line and area" in page) is billed
        assert ("spent on that so far" in page) is not billed
