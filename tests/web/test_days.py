"""Each person's day in a real browser: from an empty book to the sheet that a buyer opens.

Everybody asks for the shop by its name over TLS, as devices in a shop do; the whole day is
walked once on phones and once at desks.
"""

from __future__ import annotations

import io
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlsplit

import openpyxl
import pytest

from recondition.book.check import check
from tests.pictures import photograph
from tests.places import copied_book, opened
from tests.web.serving import SHOP, browser, served, tab
from tests.web.visitors import PASSWORD, but_chance
from tests.web.working import at_rest

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.long

CAR = "1967 Dunmarch Warden estate"


class Clock:
    """The clock of the shop's machine, which a test may put on; a device's own is held to it."""

    def __init__(self) -> None:
        """Begin some hours back, so that two hours of work end on the day they began on.

        A clock that runs past midnight is asked about: it may have been forgotten.
        """
        small_hours = datetime.now().astimezone().hour < 3
        self.later = timedelta(hours=-6 if small_hours else -3)

    def __call__(self) -> datetime:
        """Give the moment."""
        return datetime.now(UTC) + self.later


@dataclass(frozen=True)
class Shop:
    """Where the shop's pages are, how they are looked at, and the clock on its wall."""

    browser: Browser
    address: str
    phone: bool
    clock: Clock

    def door(self) -> Page:
        """Open a tab of somebody new."""
        page = tab(self.browser, phone=self.phone)
        page.set_default_timeout(30_000)
        return page

    def somebody(self, dealer: Page, login: str, role: str, person: str) -> Page:
        """Let the dealer give a login; let its owner set a password and come in."""
        dealer.goto(f"{self.address}/logins")
        dealer.fill("#name", login)
        dealer.select_option("#role", role)
        dealer.select_option("#person", person)
        dealer.get_by_role("button", name="Add it").click()
        given = urlsplit(dealer.input_value("#address"))
        page = self.door()
        page.goto(f"{self.address}{given.path}?{given.query}")
        page.fill("#password", PASSWORD)
        page.fill("#again", PASSWORD)
        page.get_by_role("button", name="Set it and sign in").click()
        page.get_by_role("button", name="Sign out").wait_for()
        return page

    def enter(self, page: Page, sheet: str, /, **fields: str) -> None:
        """Enter a row of a sheet by its form; a dot in a field's name is written ``__``."""
        page.goto(f"{self.address}/enter/{quote(sheet)}")
        for field, text in fields.items():
            place = page.locator(f'[name="{field.replace("__", ".")}"]')
            if not place.is_visible():
                page.locator("details.more summary").click()
            if place.evaluate("each => each.tagName") == "SELECT":
                place.select_option(text)
            else:
                place.fill(text)
        page.evaluate("document.body.dataset.before = 'yes'")  # it may say things of before
        page.get_by_role("button", name="Enter it", exact=True).click()
        page.locator("body:not([data-before]) :is(.said, .refused)").first.wait_for()
        assert not page.locator(".refused").count(), page.locator("main").inner_text()

    def see(self, page: Page, path: str) -> str:
        """Open a page; give what it says."""
        page.goto(f"{self.address}{path}")
        return page.locator("main").inner_text()


def begun(shop: Shop) -> Page:
    """Begin the book: the first login is a dealer's."""
    page = shop.door()
    page.goto(f"{shop.address}/begin/first-word")
    for name, text in (("full_name", "Mara Ridd"), ("person", "MR"), ("name", "mara"),
                       ("password", PASSWORD), ("again", PASSWORD)):  # fmt: skip
        page.fill(f"#{name}", text)
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="Sign out").wait_for()
    assert "Vehicles" in page.locator("h1").inner_text()
    return page


def prepared(shop: Shop, dealer: Page) -> None:
    """Let the dealer enter people, the car and what the shop measures and works with."""
    for ref, name, role in (("HK", "Hana Kess", "preparer"), ("BK", "Brin Kolm", "bookkeeper"),
                            ("SV", "Sela Voss", "seller")):  # fmt: skip
        shop.enter(dealer, "people", ref=ref, name=name, role=role)
    shop.enter(dealer, "rates", person="HK", from_date="2021-01-01", cost_rate="41.00")
    shop.enter(dealer, "vehicles", ref="0007", designation=CAR)
    shop.enter(dealer, "instruments", ref="G1", name="pocket film gauge",
               principle="magnetic and eddy current", uncertainty="2.5")  # fmt: skip


def kept(page: Page, words: str) -> None:
    """Wait until an entry that the phone kept was taken by the book, and what was said."""
    page.get_by_text(words).first.wait_for()
    page.wait_for_function("document.querySelector('#unsent')?.hidden")


def found(shop: Shop, preparer: Page) -> None:
    """Let the preparer find, photograph and measure at the car."""
    preparer.goto(f"{shop.address}/bench")
    preparer.get_by_role("link", name="0007").click()
    preparer.get_by_role("link", name="Finding", exact=True).click()
    preparer.locator('[name="panel"][value="bonnet"]').locator("..").click()
    preparer.fill("#defect-typed", "wash swirls")
    preparer.locator('[name="severity"][value="2"]').locator("..").click()
    shot = photograph("2031:03:04 10:00:00")
    file: Any = {"name": "bonnet.jpg", "mimeType": "image/jpeg", "buffer": shot}
    preparer.set_input_files("#photo-1", file)
    preparer.get_by_role("button", name="Enter the finding").click()
    kept(preparer, "finding F-001")
    preparer.goto(f"{shop.address}/bench/0007/film")
    preparer.locator('[name="panel"][value="bonnet"]').locator("..").click()
    preparer.fill("#film-readings", "104 108 111 106 118")
    preparer.get_by_role("button", name="Enter the readings").click()
    kept(preparer, "film reading T-001")


def decided(shop: Shop, dealer: Page) -> None:
    """Let the dealer say what could be done and may bring, and freeze the answer."""
    said = shop.see(dealer, "/vehicles/0007/plan")
    assert "no sale terms yet" in said
    shop.enter(dealer, "terms", vehicle="0007", basis="hammer", as_is__low="20000",
               as_is__likely="25000", as_is__high="30000", labour_cost_rate="41")  # fmt: skip
    shop.enter(
        dealer, "candidates", vehicle="0007", name="one-step polish", findings="F-001",
        hours__low="2", hours__likely="3", hours__high="4", cash__low="10", cash__likely="20",
        cash__high="30", uplift__low="900", uplift__likely="1800", uplift__high="3000",
    )  # fmt: skip
    dealer.goto(f"{shop.address}/vehicles/0007/plan")
    dealer.locator("#work-C-001 .verdict").wait_for()
    assert "Do" in dealer.locator("#work-C-001 .verdict").inner_text()
    dealer.get_by_role("button", name="Freeze it").click()
    dealer.get_by_text("Last frozen as").wait_for()


def stocked(shop: Shop, dealer: Page, bookkeeper: Page) -> None:
    """Let the bookkeeper take a delivery in, and the dealer label the bottle."""
    shop.enter(bookkeeper, "products", ref="cut", name="Cut no. 3, 500 ml",
               material_type="medium compound", unit="ml", density_g_ml="1.08")  # fmt: skip
    shop.enter(bookkeeper, "receipts", product="cut", quantity="500 ml", price="22.00")
    shop.enter(dealer, "containers", ref="K-07", product="cut", tare="120.4")


def worked(shop: Shop, preparer: Page) -> None:
    """Let the preparer work by the clock, weigh what is used, and end the finding."""
    preparer.goto(f"{shop.address}/bench/0007")
    work = preparer.locator("li.todo")
    assert "Test panel before correction" in work.inner_text()
    work.get_by_text("Begin all the same").click()
    work.get_by_role("button", name="Start clock").click()
    kept(preparer, "Your clock runs")
    preparer.goto(f"{shop.address}/bench/0007/use")
    preparer.locator('[name="container"]').fill("K-07")
    preparer.locator('[name="measure.gross_before"]').fill("742.6")
    preparer.locator('[name="measure.gross_after"]').fill("701.9")
    preparer.get_by_role("button", name="Enter the use").click()
    kept(preparer, "consumable U-001")
    preparer.locator('.said a[href="/records/consumable/U-001"]').wait_for()
    shop.clock.later += timedelta(hours=2)
    preparer.goto(f"{shop.address}/bench/0007")
    preparer.get_by_role("button", name="Stop", exact=True).click()
    kept(preparer, "No clock of yours runs")
    shop.clock.later = timedelta()  # long work is done by processes with the machine's own clock
    shop.enter(preparer, "outcomes", vehicle="0007", finding="F-001", ended="resolved",
               severity_after="0")  # fmt: skip
    assert "41.00" not in shop.see(preparer, "/bench/0007")


def booked(shop: Shop, bookkeeper: Page) -> None:
    """Let the bookkeeper read the ledger and take the workbook home."""
    said = shop.see(bookkeeper, "/vehicles/0007/ledger")
    assert "L-001" in said
    assert "U-001" in said
    bookkeeper.goto(f"{shop.address}/books/downloads")
    bookkeeper.locator('[name="what"][value="workbook"]').check()
    bookkeeper.get_by_role("button", name="Write the file").click()
    with bookkeeper.expect_download() as waiting:
        bookkeeper.get_by_role("link", name="Download").last.click(timeout=120_000)
    content = waiting.value.path().read_bytes()
    sheets = openpyxl.load_workbook(io.BytesIO(content), read_only=True).sheetnames
    assert any("lines" in name.lower() for name in sheets)


def released(shop: Shop, seller: Page) -> str:
    """Let the seller look at the sheet, release it and make a link; give its address."""
    seller.goto(f"{shop.address}/histories/0007")
    seller.get_by_role("button", name="Make a trial copy").click()
    at_rest(seller.get_by_role("link", name="Release it...")).click()
    seller.get_by_role("button", name="Release it").click()
    seller.get_by_text("Done.").wait_for(timeout=120_000)
    said = shop.see(seller, "/histories/0007")
    assert "Edition 1" in said
    seller.get_by_role("button", name="Make a link").click()
    return urlsplit(seller.input_value("#address")).path


def bought(shop: Shop, path: str) -> None:
    """Let a buyer without a login open the link and see the sheet alone."""
    buyer = shop.door()
    buyer.goto(f"{shop.address}{path}")
    assert not buyer.get_by_role("navigation").count()
    sheet = buyer.frame_locator("iframe").locator("body")
    sheet.get_by_text("wash swirls").first.wait_for()
    words = sheet.inner_text()
    assert CAR in words
    for private in ("41.00", "22.00", "1800", "1,800", "25,000", "Hana Kess"):
        assert private not in but_chance(words)
    buyer.goto(f"{shop.address}/vehicles")
    assert "Sign in" in buyer.locator("h1").inner_text()


@pytest.mark.parametrize("phone", [True, False], ids=["on phones", "at desks"])
def test_a_day_from_the_empty_book_to_the_released_sheet(
    empty_file: Path, tmp_path: Path, *, phone: bool
) -> None:
    clock = Clock()
    with (
        closing(
            opened(copied_book(empty_file, tmp_path / "shop.book"), keep=True, now=clock)
        ) as book,
        browser() as started,
        served(book, tls=True, host=SHOP, first_token="first-word") as address,  # noqa: S106
    ):
        shop = Shop(started, address, phone, clock)
        dealer = begun(shop)
        prepared(shop, dealer)
        preparer = shop.somebody(dealer, "hana", "preparer", "HK")
        bookkeeper = shop.somebody(dealer, "brin", "bookkeeper", "BK")
        seller = shop.somebody(dealer, "sela", "seller", "SV")
        found(shop, preparer)
        decided(shop, dealer)
        stocked(shop, dealer, bookkeeper)
        worked(shop, preparer)
        booked(shop, bookkeeper)
        bought(shop, released(shop, seller))
        assert "sela" in shop.see(dealer, "/trail")
        assert not check(book).damages
