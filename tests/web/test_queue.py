"""What the bench enters is kept on the device and sent once, over a real connection by name."""

from __future__ import annotations

import time
from threading import Event
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import delete, update

from recondition.book.tables_logins import login, login_session
from tests.pictures import picture
from tests.web.keeping import (
    NOTE,
    enter,
    findings,
    keeping,
    photographs,
    ready,
    says,
    settled,
    sign_in,
    told,
    until,
)
from tests.web.serving import browser, tab

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book
    from tests.web.keeping import Notes

pytestmark = pytest.mark.long

Shop = tuple["Page", "Notes", str]


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as started:
        yield started


@pytest.fixture
def shop(shop_book: Book, chrome: Browser) -> Iterator[Shop]:
    """Give a phone at the page with the form, signed in as a preparer."""
    with keeping(shop_book) as (address, notes):
        page = tab(chrome, phone=True)
        sign_in(page.context, shop_book, address)
        ready(page, address)
        yield page, notes, address
        page.context.close()


def test_entries_made_without_a_connection_are_there_once(shop_book: Book, shop: Shop) -> None:
    page, notes, address = shop
    context = page.context
    context.set_offline(True)
    enter(page, "away one")
    enter(page, "away two", picture())
    enter(page, "away three")
    says(page, "unsent: 3, since")
    says(page, "no connection")
    page.close()
    page = context.new_page()
    page.goto(f"{address}{NOTE}")  # from the device
    says(page, "as of")
    says(page, "unsent: 3")
    assert notes.asked == []
    context.set_offline(False)
    settled(page)
    until(page, "!('asOf' in document.body.dataset)")
    told(page, "finding F-")
    assert findings(shop_book, "away") == ["away one", "away three", "away two"]
    assert photographs(shop_book, "away") == ["away two"]
    assert notes.asked == ["away one", "away two", "away three"]


def test_an_entry_whose_answer_is_lost_is_entered_once(shop_book: Book, shop: Shop) -> None:
    page, notes, _ = shop
    notes.loses = 2
    enter(page, "lost once", picture())
    settled(page)
    assert notes.asked == ["lost once"] * 3
    assert findings(shop_book, "lost") == ["lost once"]
    assert photographs(shop_book, "lost") == ["lost once"]
    told(page, "already there")


def test_an_answer_leads_nobody_away_who_has_gone_elsewhere(shop: Shop) -> None:
    page, notes, address = shop
    notes.crosses = Event()
    enter(page, "crossed one")
    page.get_by_role("link", name="The other page").click()
    page.wait_for_url("**/bench/-/other")
    settled(page)
    told(page, "finding F-")
    assert page.url == f"{address}/bench/-/other"


def test_whoever_enters_something_after_all_has_not_gone(shop: Shop) -> None:
    page, _, _ = shop
    page.evaluate("dispatchEvent(new Event('beforeunload'))")  # on the way, and stopped
    enter(page, "stayed one")
    told(page, "finding F-")  # well before the page would think so by itself


def test_what_the_book_refuses_is_set_aside_and_holds_nothing_up(
    shop_book: Book, shop: Shop
) -> None:
    page, notes, address = shop
    page.context.set_offline(True)
    enter(page, "aside one")
    enter(page, "aside two", picture(), severity="9")
    enter(page, "aside three")
    enter(page, "aside four", severity="8")
    page.context.set_offline(False)
    says(page, "set aside: 2")
    settled(page)
    assert findings(shop_book, "aside") == ["aside one", "aside three"]
    page.click("#unsent a")
    until(page, "document.querySelectorAll('#kept > li').length === 2")
    first = page.locator("#kept > li").first
    assert "severity" in first.locator(".refused").inner_text()
    assert first.locator("img").evaluate("shown => shown.decode().then(() => shown.naturalWidth)")
    first.get_by_text("Open and change").click()
    until(page, "document.getElementById('defect')?.value === 'aside two'")
    assert page.locator("#shot").evaluate("input => input.files.length") == 1
    page.fill("#severity", "3")
    page.click("main form button")
    says(page, "set aside: 1")
    settled(page)
    assert findings(shop_book, "aside") == ["aside one", "aside three", "aside two"]
    assert photographs(shop_book, "aside") == ["aside two"]
    page.wait_for_url(lambda url: "/unsent" not in url)  # the page goes on by itself
    page.wait_for_load_state()
    page.goto(f"{address}/unsent")
    answers = iter(["dismiss", "accept"])
    page.on("dialog", lambda asked: getattr(asked, next(answers))())
    page.get_by_text("Throw away").click()
    assert page.locator("#kept > li").count() == 1  # asked first, and it stays
    page.get_by_text("Throw away").click()
    until(page, "document.getElementById('unsent')?.hidden")
    assert page.locator("#nothing-kept").is_visible()
    assert len(notes.asked) == 5


def test_a_session_that_is_over_keeps_everything_until_the_same_login_is_back(
    shop_book: Book, shop: Shop
) -> None:
    page, notes, address = shop
    with shop_book.writing() as conn:
        conn.execute(delete(login_session))
    enter(page, "whose one")
    says(page, "sign in again")
    enter(page, "whose two")
    says(page, "unsent: 2")
    sign_in(page.context, shop_book, address, "dealer")
    page.goto(f"{address}{NOTE}")
    says(page, "By preparer login, who has to sign in here: 2.")
    enter(page, "whose own")
    says(page, "unsent: 2")
    told(page, "finding F-")
    assert notes.asked == ["whose own"]  # never as somebody else
    page.goto(f"{address}/unsent")
    assert "whose" not in page.inner_text("#kept")
    assert page.locator("#kept li").first.inner_text().startswith("An entry by preparer login")
    sign_in(page.context, shop_book, address)
    page.goto(f"{address}{NOTE}")
    while len(notes.asked) < 3:
        page.wait_for_timeout(100)
    settled(page)
    assert notes.asked == ["whose own", "whose one", "whose two"]
    assert findings(shop_book, "whose") == ["whose one", "whose own", "whose two"]


def test_a_page_of_an_older_session_sends_with_the_mark_of_the_new_one(
    shop_book: Book, shop: Shop
) -> None:
    page, notes, address = shop
    sign_in(page.context, shop_book, address)  # the page still carries the mark of the one before
    enter(page, "mark one")
    settled(page)
    assert (findings(shop_book, "mark"), notes.asked) == (["mark one"], ["mark one"])


@pytest.mark.parametrize("locks", [True, False])
def test_two_tabs_send_each_entry_once(shop_book: Book, shop: Shop, *, locks: bool) -> None:
    page, notes, address = shop
    if not locks:  # a browser without them: the lease in the store stands in
        page.context.add_init_script(
            "delete Navigator.prototype.locks; delete ServiceWorkerRegistration.prototype.sync"
        )
        page.goto(f"{address}{NOTE}")
    assert page.evaluate("'locks' in navigator") is locks
    other = page.context.new_page()
    other.goto(f"{address}{NOTE}")
    page.context.set_offline(True)
    for number in range(3):
        enter(page, f"tabs {number}")
        enter(other, f"tabs other {number}")
    page.context.set_offline(False)
    settled(page)
    settled(other)
    assert len(notes.asked) == len(set(notes.asked)) == 6
    assert len(findings(shop_book, "tabs")) == 6


def test_the_worker_sends_while_no_page_is_open(shop_book: Book, shop: Shop) -> None:
    page, notes, address = shop
    page.context.set_offline(True)
    enter(page, "slept on", picture())
    (worker,) = page.context.service_workers
    empty = page.context.new_page()
    page.close()
    page.context.set_offline(False)
    worker.evaluate(
        "self.dispatchEvent(new SyncEvent('sync', { tag: 'recondition-send' }))"
    )  # fmt: skip
    ends = time.monotonic() + 20
    while not findings(shop_book, "slept"):
        assert time.monotonic() < ends
        empty.wait_for_timeout(100)
    empty.goto(f"{address}{NOTE}")
    told(empty, "finding F-")
    assert (notes.asked, photographs(shop_book, "slept")) == (["slept on"], ["slept on"])


def test_an_entry_that_the_role_may_no_longer_make_is_set_aside(
    shop_book: Book, shop: Shop
) -> None:
    page, notes, _ = shop
    page.context.set_offline(True)
    enter(page, "no longer")
    with shop_book.writing() as conn:
        conn.execute(update(login).where(login.c.role == "preparer").values(role="seller"))
    page.context.set_offline(False)
    says(page, "set aside: 1")
    assert notes.asked == []


def test_a_fault_of_the_book_is_waited_for_and_then_lets_others_pass(
    shop_book: Book, shop: Shop, caplog: pytest.LogCaptureFixture
) -> None:
    page, notes, _ = shop
    notes.fails = 2
    enter(page, "fault one")
    says(page, "cannot take entries now")
    settled(page)
    assert notes.asked == ["fault one"] * 3
    assert findings(shop_book, "fault") == ["fault one"]
    assert "a mistake of ours" in caplog.text


def test_over_a_plain_address_nothing_is_kept_and_forms_still_work(
    shop_book: Book, chrome: Browser
) -> None:
    with keeping(shop_book, tls=False) as (address, notes):
        page = tab(chrome, phone=True)
        sign_in(page.context, shop_book, address)
        page.goto(f"{address}{NOTE}")
        assert page.evaluate("window.isSecureContext") is False
        says(page, "Nothing is kept on this device: this address is not protected (http).")
        page.fill("#defect", "plain one")
        page.click("main form button")
        page.wait_for_selector(".said")
        assert "finding F-" in page.inner_text(".said")
        assert notes.asked == findings(shop_book, "plain") == ["plain one"]
        assert page.evaluate("'serviceWorker' in navigator") is False
        page.goto(f"{address}/unsent")
        assert page.locator("#nothing-kept").is_visible()
        page.context.close()
