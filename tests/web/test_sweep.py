"""Every page in the browser, on a phone and at a desk, light and dark: no barrier, no complaint.

Pages are taken from the application's own map of addresses, so that a new one is looked at too.
Barriers are looked for with axe-core by the rules of WCAG 2.0 to 2.2, levels A and AA.
"""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from recondition.book import share_links
from recondition.reports.books_named import OF_SHOP
from recondition.web.bench_use import WAYS
from tests.web.serving import browser, served, tab
from tests.web.visitors import PASSWORD, app_of, login_of
from tests.web.visitors import signed_in as visitor

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, ConsoleMessage, Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
SIDES = [(True, False), (True, True), (False, False), (False, True)]  # on a phone, dark
# What stands for an address with parts in it, in the demo's book; nothing where it is no page.
PARTS: dict[str, tuple[str, ...]] = {
    "/bench/<path:stock>": ("/bench/0007", "/bench/0012"),
    "/bench/<path:stock>/photograph": ("/bench/0007/photograph",),
    "/bench/<path:stock>/film": ("/bench/0007/film",),
    "/bench/<path:stock>/finding": ("/bench/0007/finding",),
    "/bench/<path:stock>/use": tuple(f"/bench/0007/use?way={way}" for way in WAYS),
    "/books/<name>": tuple(f"/books/{name}" for name in OF_SHOP),
    "/books/vehicles/<path:stock>/<name>": (
        "/books/vehicles/0007/position",
        "/books/vehicles/0007/week",
        "/books/vehicles/0012/settlement",
    ),
    "/books/downloads/columns-<what>.csv": (),
    "/books/hours/<path:person>/<week>": (),
    "/books/tax/<path:code>": (),
    "/books/entries/<path:number>": (),
    "/books/accounts/<path:code>": (),
    "/books/periods/<month>": ("/books/periods/2031-03",),
    "/enter/<name>": tuple(
        f"/enter/{name}?vehicle=0007"
        for name in (
            "findings",
            "candidates",
            "terms",
            "labour",
            "documents",
            "receipts",
            "film%20readings",
            "sales",
        )
    ),
    "/records/<kind>/<path:ref>": (
        "/records/vehicle/0007",
        "/records/finding/F-001",
        "/records/candidate/C-001",
        "/records/line/L-001",
        "/records/document/D-001",
        "/records/person/IC",
    ),
    "/vehicles/<path:stock>": ("/vehicles/0007",),
    "/vehicles/<path:stock>/plan": ("/vehicles/0007/plan", "/vehicles/0012/plan"),
    "/vehicles/<path:stock>/plan/answer": (),
    "/vehicles/<path:stock>/ledger": ("/vehicles/0007/ledger",),
    "/vehicles/<path:stock>/findings": ("/vehicles/0007/findings",),
    "/vehicles/<path:stock>/timeline": ("/vehicles/0007/timeline",),
    "/vehicles/<path:stock>/cost": ("/vehicles/0007/cost",),
    "/histories/<path:stock>": ("/histories/0007",),
    "/histories/<path:stock>/release": ("/histories/0007/release",),
    "/histories/<path:stock>/look/sheet": (),
    "/histories/<path:stock>/pictures/<path:ref>": (),
    "/histories/<path:stock>/pictures/<path:ref>/shown.jpg": (),
    "/histories/<path:stock>/editions/<int:number>/<name>": (),
    "/jobs/<job_id>": (),
    "/jobs/<job_id>/file": (),
    "/stock/<product>": (),
    "/stock/products/<path:ref>": (),
    "/stock/batches/<path:ref>": (),
    # Walked below, where there is something released.
    "/s/<token>": (),
    "/s/<token>/sheet": (),
    "/s/<token>/<name>": (),
}
# Addresses that are no pages: files, answers to scripts, and what only the first login sees.
NO_PAGES = ("/static/", "/api/", "/files/", "/begin/", "/device/", "/live", "/worker.js",
            "/manifest.webmanifest", "/import/blank.xlsx")  # fmt: skip


def addresses(book: Book) -> list[str]:
    """Give every address of a page, its parts filled in."""
    found: set[str] = set()
    for rule in app_of(book).url_map.iter_rules():
        if "GET" in (rule.methods or ()) and not rule.rule.startswith(NO_PAGES):
            assert not rule.arguments or rule.rule in PARTS, f"{rule.rule}: not in PARTS"
            found.update(PARTS.get(rule.rule, (rule.rule,)))
    return sorted(found | set(named(book)))


def named(book: Book) -> Iterator[str]:
    """Give addresses that other pages lead to: the first of each kind."""
    client = visitor(book, "dealer")

    def leads(page: str, place: str) -> list[str]:
        text = client.get(page).get_data(as_text=True)
        return [unescape(each) for each in re.findall(rf'href="({place}[^"#]+)', text)]

    products = leads("/stock", "/stock/products/")
    batches = [each for product in products for each in leads(product, "/stock/batches/")]
    yield from (products[0], batches[0])
    for page, place in (
        ("/books/journal", "/books/entries/"), ("/books/accounts", "/books/accounts/"),
        ("/books/hours", "/books/hours/"),
        ("/histories/0007", "/histories/0007/pictures/"),
    ):  # fmt: skip
        yield leads(page, place)[0]


@pytest.fixture(scope="module")
def started() -> Iterator[Browser]:
    """Start one browser for all pages."""
    with browser() as found:
        yield found


def signed_in(started: Browser, address: str, name: str, **way: bool) -> Page:
    """Sign in with the browser."""
    page = tab(started, **way)
    page.goto(f"{address}/sign-in")
    page.fill("#name", name)
    page.fill("#password", PASSWORD)
    page.click("button.main")
    page.wait_for_url(lambda url: "/sign-in" not in url)
    return page


def wrong_with(page: Page, address: str, *, missing: bool = False) -> list[str]:
    """Open a page; say what is wrong with it. One that is ``missing`` answers 404."""
    complaints: list[str] = []

    def heard(said: ConsoleMessage) -> None:
        if said.type == "error" and not (missing and "404" in said.text):
            complaints.append(said.text)

    page.on("console", heard)
    answer = page.goto(address)
    assert answer is not None
    if "text/html" not in answer.headers.get("content-type", ""):
        return []
    page.locator("[data-waits]").wait_for(state="detached", timeout=120_000)
    page.wait_for_load_state()
    found: Any = Axe().run(page, options=RULES).response["violations"]
    wrong = [
        f"{address} {each['id']}: {node['html'][:160]}" for each in found for node in each["nodes"]
    ]
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    if wide > 0:
        wrong.append(f"{address} is {wide} px wider than the screen")
    page.remove_listener("console", heard)
    if answer.status != (404 if missing else 200):
        wrong.append(f"{address}: {answer.status}")
    return wrong + [f"{address}: {said}" for said in complaints]


@pytest.mark.parametrize(("phone", "dark"), SIDES)
def test_no_page_has_a_barrier(
    shop_book: Book, started: Browser, *, phone: bool, dark: bool
) -> None:
    name = login_of(shop_book, "dealer")
    with served(shop_book) as address:
        page = signed_in(started, address, name, phone=phone, dark=dark)
        wrong = [said for each in addresses(shop_book) for said in wrong_with(page, address + each)]
    assert wrong == []


@pytest.mark.parametrize(("phone", "dark"), SIDES)
def test_no_page_of_a_released_sheet_has_a_barrier(
    released_book: Book, started: Browser, *, phone: bool, dark: bool
) -> None:
    book = released_book
    with served(book) as address:
        link = share_links.make(book, "0007", number=None, by=None, days=30)
        page = signed_in(started, address, login_of(book, "seller"), phone=phone, dark=dark)
        wrong = [
            said
            for each in ("/histories/0007", "/histories", f"/s/{link}", "/s/nothing")
            for said in wrong_with(page, address + each, missing=each == "/s/nothing")
        ]
    assert wrong == []
