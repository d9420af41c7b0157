"""What is kept on a device is shown there in the words that were tapped, and sent as before."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from tests.web.keeping import keeping, ready, settled, sign_in, told, until
from tests.web.serving import browser, tab

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

AGED = """() => import("/static/keep.js").then(({ kept, note }) => kept()
  .then((all) => note(all.at(-1).number, { words: undefined })))"""
SHOWN = """() => Object.fromEntries([...document.querySelectorAll("#kept > li:last-child dt")]
  .map((one) => [one.textContent, one.nextElementSibling.textContent]))"""


@pytest.fixture
def bench(shop_book: Book) -> Iterator[tuple[Page, str]]:
    """Give a phone whose worker holds the pages, signed in as a preparer, and the address."""
    with browser() as chrome, keeping(shop_book) as (address, _):
        page = tab(chrome, phone=True)
        sign_in(page.context, shop_book, address)
        ready(page, address)
        until(page, "caches.match(new URL('/unsent', location.href).href)", 60)
        yield page, address
        page.context.close()


def entered(page: Page) -> dict[str, str]:
    """Press the button of a form without a connection; give what the page of unsent shows."""
    page.context.set_offline(True)
    page.locator("main form button.main").last.tap()
    page.wait_for_selector("#unsent a")
    page.tap("#unsent a")
    page.wait_for_selector("#kept dt")
    found: dict[str, str] = page.evaluate(SHOWN)
    return found


def test_a_kept_finding_says_what_was_tapped_and_is_sent_as_ever(
    shop_book: Book, bench: tuple[Page, str]
) -> None:
    page, address = bench
    page.goto(f"{address}/bench/0007/finding")
    page.get_by_label("left front wing").tap()
    page.get_by_label("oxidation").tap()
    page.get_by_label("2 visible close in daylight").tap()
    shown = entered(page)
    assert shown["Panel"] == "left front wing"
    assert shown["What is wrong"] == "oxidation"
    assert shown["How bad"] == "2 visible close in daylight"
    page.context.set_offline(False)
    settled(page)
    with shop_book.reading() as conn:
        newest = max(reading.stored(conn, "finding"), key=lambda each: each.sequence).entry
    assert (newest.panel, newest.defect, newest.severity) == ("left front wing", "oxidation", 2)


def test_what_could_not_be_inspected_says_so(bench: tuple[Page, str]) -> None:
    page, address = bench
    page.goto(f"{address}/bench/0007/finding")
    page.get_by_label("oxidation").tap()
    page.get_by_label("could not be inspected").tap()
    assert entered(page)["How bad"] == "could not be inspected"


def test_a_kept_use_names_the_product_and_the_clock_that_it_is_for(
    bench: tuple[Page, str],
) -> None:
    page, address = bench
    page.goto(f"{address}/bench/0007")
    page.locator("li.todo", has_text="C-007").get_by_role("button", name="Start clock").tap()
    told(page, "clock")
    page.goto(f"{address}/bench/0007/use?way=count")
    product = page.locator("main select[name=product]")
    product.select_option(index=1)
    words = product.locator("option:checked").inner_text().strip()
    page.locator("main input[inputmode=decimal]").first.fill("1")
    shown = entered(page)
    assert shown["For"].startswith("your clock: Take the water")
    assert words in shown.values()


def test_an_entry_kept_by_an_older_page_is_shown_as_it_is(bench: tuple[Page, str]) -> None:
    page, address = bench
    page.goto(f"{address}/bench/0007/finding")
    page.get_by_label("left front wing").tap()
    page.get_by_label("2 visible close in daylight").tap()
    assert entered(page)["How bad"] == "2 visible close in daylight"
    page.evaluate(AGED)
    until(page, "[...document.querySelectorAll('#kept dd')].some((one) => one.textContent === '2')")
