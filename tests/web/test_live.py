"""News on open pages: two people on one car or product see each other's entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event

from recondition.intake.form import one_row
from recondition.web.live import count_of
from tests.web.visitors import PASSWORD, login_of, signed_in
from tests.web.working import seen

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from playwright.sync_api import Browser, Page
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book

NOTICED_MS = 60_000


def labour(book: Book, words: str = "Wheels off, arches rinsed") -> str:
    """Enter some labour on 0007 as IC; give the line's ref."""
    row = {
        "vehicle": "0007", "person": "IC", "work_date": "2031-04-02", "quantity": "0.5 h",
        "words": words, "unlinked": "overhead",
    }  # fmt: skip
    made = one_row(book, "labour", row, author_ref="IC")
    assert made.refused is None, made.refused
    return made.draft.ref


def counted(book: Book, found: str = "80 ml") -> str:
    """Enter a count of the product coating as IC; give the line's ref."""
    row = {"product": "coating", "counted": found, "words": "spilled", "work_date": "2031-04-02"}
    made = one_row(book, "counts", row, author_ref="IC")
    assert made.refused is None, made.refused
    return made.draft.ref


def asked(client: FlaskClient, subject: str, since: int | str) -> TestResponse:
    """Ask for news as the script does."""
    return client.get(
        "/live", query_string={"subject": subject, "since": since},
        headers={"Accept": "application/json"},
    )  # fmt: skip


def count(book: Book, name: str) -> int:
    """Give the count that a page shows."""
    with book.reading() as conn:
        return count_of(conn, name)


def test_there_is_news_only_where_somebody_entered_something(shop_book: Book) -> None:
    client = signed_in(shop_book)
    known = count(shop_book, "0007")
    answer = asked(client, "0007", known)
    assert (answer.status_code, answer.data) == (204, b"")
    ref = labour(shop_book)
    news = asked(client, "0007", known).get_json()
    assert news["count"] > known
    assert f"IC entered labour {ref}" in news["said"]
    assert asked(client, "0012", count(shop_book, "0012")).status_code == 204
    assert asked(client, "0007", news["count"]).status_code == 204
    assert asked(client, "0007", "x").get_json()["count"] == news["count"]
    for nothing in ("", "9999", "product:none", "shop:"):
        assert asked(client, nothing, 0).status_code == 204


def test_a_product_and_all_of_the_stock_have_news_too(shop_book: Book) -> None:
    client = signed_in(shop_book)
    product, stock = count(shop_book, "product:coating"), count(shop_book, "stock")
    shop = count(shop_book, "shop")
    ref = counted(shop_book)
    assert asked(client, "product:coating", product).get_json()["said"] == [
        f"IC entered count {ref}"
    ]
    assert asked(client, "stock", stock).get_json()["count"] > stock
    assert asked(client, "product:coating", product).get_json()["count"] > product
    assert "said" in asked(client, "shop", shop - 1).get_json()


def test_a_version_is_told_apart_and_kinds_that_a_role_may_not_see_are_not_told(
    shop_book: Book,
) -> None:
    known = count(shop_book, "0007")
    with shop_book.reading() as conn:
        from recondition.intake.sheets import sheet_named  # noqa: PLC0415 - as above
        from recondition.web.rows import standing  # noqa: PLC0415 - only here

        finding = standing(conn, sheet_named("findings"), "F-001")
    finding["words"] = "Looked at again in daylight"
    made = one_row(shop_book, "findings", finding, author_ref="IC", ref="F-001")
    assert made.refused is None
    preparer = asked(signed_in(shop_book, "preparer"), "0007", known).get_json()
    assert preparer["said"] == ["IC changed finding F-001"]
    assert asked(signed_in(shop_book, "seller"), "0007", known).status_code == 403


def test_a_question_for_news_is_a_few_small_looks(shop_book: Book) -> None:
    client = signed_in(shop_book)
    known = count(shop_book, "0007")
    asked(client, "0007", known)
    statements: list[str] = []
    event.listen(
        shop_book.engine, "before_cursor_execute",
        lambda *given: statements.append(str(given[2])),
    )  # fmt: skip
    assert asked(client, "0007", known).status_code == 204
    # The session, the stock number, the head of the chain; begin and end.
    assert len([each for each in statements if each.startswith("SELECT")]) == 3


def at(started: Browser, url: str, name: str) -> Page:
    """Open the pages in a browser of one's own, signed in."""
    from tests.web.serving import tab  # noqa: PLC0415 - a browser is needed

    page = tab(started)
    page.set_default_timeout(NOTICED_MS)
    page.goto(f"{url}/sign-in")
    page.fill("#name", name)
    page.fill("#password", PASSWORD)
    page.click("main button")
    page.wait_for_load_state()
    return page


@pytest.mark.long
def test_two_people_see_each_other_without_loading_anew(shop_book: Book) -> None:
    from tests.web.serving import browser, served  # noqa: PLC0415 - a browser is needed

    names = [login_of(shop_book, role) for role in ("dealer", "preparer")]
    with served(shop_book) as url, browser() as started:
        one, other = (at(started, url, name) for name in names)
        told: list[str] = []
        for page in (one, other):
            page.on("console", lambda message: told.append(message.text))
            page.goto(f"{url}/stock/products/coating")
            page.evaluate("window.same = true")
        # One of them is writing while the other enters a count.
        one.fill("#why", "half a sentence")
        one.focus("#why")
        other.fill('[name="gross:K-01"]', "140.0")
        other.fill("#day", "2031-04-01")
        other.click('button:text-is("Count")')
        other.locator(".said").wait_for()
        seen(one, "document.querySelector('[data-live-part=tables]').innerText.includes('Q-003')")
        said = one.locator("[data-live-news]")
        said.wait_for()
        assert "entered count Q-003" in said.inner_text()
        assert one.evaluate("window.same")
        assert one.input_value("#why") == "half a sentence"
        assert one.evaluate("document.activeElement.id") == "why"
        assert "140" not in one.locator("form [name='gross:K-01']").input_value()
        # And the other way: what somebody has the focus on keeps it.
        other.focus("[data-live-part=tables] a >> nth=0")
        held = other.evaluate("document.activeElement.textContent")
        before = other.inner_text("[data-live-part='on-hand']")
        counted(shop_book, "70 ml")
        shown = "document.querySelector('[data-live-part=on-hand]').innerText"
        seen(other, f"old => {shown} !== old", before)
        assert other.evaluate("document.activeElement.textContent") == held
        assert not [line for line in told if "Content Security" in line or "rror" in line]


@pytest.mark.long
def test_a_part_in_which_somebody_writes_waits_until_they_are_done(shop_book: Book) -> None:
    from tests.web.serving import browser, served  # noqa: PLC0415 - a browser is needed

    name = login_of(shop_book, "dealer")
    with served(shop_book) as url, browser() as started:
        page = at(started, url, name)
        page.goto(f"{url}/stock/products/coating")
        page.evaluate("""() => {
            const part = document.querySelector('[data-live-part=on-hand]');
            part.insertAdjacentHTML('beforeend', '<label>x <input id="mine" value=""></label>');
        }""")
        page.fill("#mine", "not done yet")
        counted(shop_book, "70 ml")
        page.locator("[data-live-news].said").wait_for()
        page.wait_for_timeout(3000)
        assert page.input_value("#mine") == "not done yet"
        page.fill("#mine", "")
        page.evaluate("document.activeElement.blur()")
        seen(page, "!document.querySelector('#mine')")
        assert "70" in page.inner_text("[data-live-part='on-hand']")


@pytest.mark.long
def test_a_hidden_page_asks_nothing_and_a_server_that_is_gone_is_asked_less(
    shop_book: Book,
) -> None:
    from tests.web.serving import browser, served  # noqa: PLC0415 - a browser is needed

    name = login_of(shop_book, "dealer")
    asks: list[Any] = []
    with browser() as started:
        with served(shop_book) as url:
            page = at(started, url, name)
            page.on("request", lambda asking: "/live?" in asking.url and asks.append(asking))
            page.goto(f"{url}/stock")
            with page.expect_request("**/live?*"):
                pass
            page.evaluate("""() => {
                Object.defineProperty(document, 'visibilityState', { get: () => window.seen });
                window.seen = 'hidden';
                document.dispatchEvent(new Event('visibilitychange'));
            }""")
            page.wait_for_timeout(500)
            quiet = len(asks)
            page.wait_for_timeout(5000)
            assert len(asks) == quiet
            with page.expect_request("**/live?*"):
                page.evaluate("""() => {
                    window.seen = 'visible';
                    document.dispatchEvent(new Event('visibilitychange'));
                }""")
        asks.clear()
        page.wait_for_timeout(14_500)
        assert 1 <= len(asks) <= 4
