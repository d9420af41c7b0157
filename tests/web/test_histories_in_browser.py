"""Work histories in a real browser: the framed sheet checks itself, a place is drawn, a link."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from tests.web.serving import browser, by_name, served, tab
from tests.web.visitors import PASSWORD, login_of
from tests.web.working import at_rest

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

SLOW_MS = 60_000
UNCHANGED = "Unchanged: the records, the words and the pictures of this page agree"
SIGNED = "The signature was checked and is by the key whose fingerprint is"
BOX = ("from_left", "from_top", "width", "height")


@pytest.fixture
def book(released_book: Book) -> Book:
    """Give the book with one car and its first edition."""
    return released_book


def signed_in(page: Page, book: Book, url: str) -> list[str]:
    """Sign in as a seller; give the list that takes what the browser complains of."""
    told: list[str] = []
    page.set_default_timeout(SLOW_MS)
    page.on("console", lambda line: told.append(line.text) if line.type == "error" else None)
    page.on("pageerror", lambda error: told.append(str(error)))
    page.goto(f"{url}/sign-in")
    page.fill("#name", login_of(book, "seller", "MR"))
    page.fill("#password", PASSWORD)
    page.click("button.main")
    page.wait_for_url("**/histories")
    return told


def box(page: Page) -> list[float]:
    """Read the four figures of the place."""
    return [float(page.input_value(f"#f-{name}")) for name in BOX]


def test_a_seller_looks_hides_a_place_and_gives_a_link(book: Book) -> None:
    with served(book, tls=True) as address, browser() as started:
        url = by_name(address)
        page = tab(started, phone=True)
        told = signed_in(page, book, url)
        page.goto(f"{url}/histories/0007")
        page.click("text=Make a trial copy")
        sheet = page.frame_locator("iframe")
        status = sheet.locator("[data-proof=status]", has_text=UNCHANGED)
        status.wait_for()
        assert SIGNED in status.inner_text()
        at_rest(page.get_by_role("button", name="Make a link")).tap()
        link = page.input_value("#address")

        buyer = tab(started, phone=True, dark=True)
        buyer.set_default_timeout(SLOW_MS)
        complaints: list[str] = []
        buyer.on("console", lambda line: complaints.append(line.text))
        buyer.goto(link)
        buyer.frame_locator("iframe").locator("[data-proof=status]", has_text=SIGNED).wait_for()
        assert buyer.locator("nav, form").count() == 0
        width = buyer.evaluate("document.documentElement.scrollWidth")
        assert width <= buyer.evaluate("innerWidth")
        with buyer.expect_download() as download:
            at_rest(buyer.get_by_role("link", name="Download the PDF")).tap()
        assert download.value.suggested_filename == "work-history.pdf"

        page.goto(f"{url}/histories/0007/pictures/D-001")
        page.wait_for_load_state("networkidle")
        area = page.locator("#places").bounding_box()
        assert area is not None
        at = [(area["x"] + area["width"] * x, area["y"] + area["height"] * y)
              for x, y in ((0.5, 0.6), (0.3, 0.4), (0.1, 0.2))]  # fmt: skip
        page.mouse.move(*at[0])
        page.mouse.down()
        page.mouse.move(*at[1])
        page.mouse.move(*at[2])
        page.mouse.up()
        assert box(page) == pytest.approx([10, 20, 40, 40], abs=1)
        page.focus("#places")
        for key in ("ArrowRight", "ArrowUp", "Shift+ArrowDown"):
            page.keyboard.press(key)
        assert box(page) == pytest.approx([11, 19, 40, 41], abs=1)
        page.fill("#f-width", "5")
        assert page.get_attribute("#new-place", "width") == "5"
        page.fill("#f-why", "plate of another car")
        page.click("text=Hide this place")
        page.wait_for_selector(".hidden-place")
        assert buyer.goto(link).status == 404
        assert not told, told
        assert not [line for line in complaints if "Content" in line], complaints
    with book.reading() as conn:
        (hidden,) = reading.stored(conn, "redaction")
    assert hidden.entry.width == 5
