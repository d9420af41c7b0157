"""Every page in the browser, on a phone and at a desk, light and dark: no barrier, no complaint.

Pages are taken from the application's own map of addresses, so that a new one is looked at too.
Barriers are looked for with axe-core by the rules of WCAG 2.0 to 2.2, levels A and AA.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.web.serving import browser, served, tab
from tests.web.visitors import PASSWORD, app_of, login_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
WAYS = [(True, False), (True, True), (False, False), (False, True)]  # on a phone, dark
# What stands for each part of an address, in the demo's book.
PARTS: dict[str, list[str]] = {}
# Addresses that are no pages: files, answers to scripts, and what leads elsewhere.
NO_PAGES = ("/static/", "/api/", "/files/", "/begin/")


def addresses(book: Book) -> list[str]:
    """Give every address of a page, its parts filled in."""
    found = []
    for rule in app_of(book).url_map.iter_rules():
        if "GET" not in (rule.methods or ()) or rule.rule.startswith(NO_PAGES):
            continue
        filled = [rule.rule]
        for part in rule.arguments:
            assert part in PARTS, f"{rule.rule}: say in PARTS what stands for <{part}>"
            name = next(
                p for p in (f"<{part}>", f"<int:{part}>", f"<path:{part}>") if p in rule.rule
            )
            filled = [each.replace(name, value) for each in filled for value in PARTS[part]]
        found += filled
    return sorted(set(found))


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


def wrong_with(page: Page, address: str) -> list[str]:
    """Open a page; say what is wrong with it."""
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    answer = page.goto(address)
    assert answer is not None
    if "text/html" not in answer.headers.get("content-type", ""):
        return []
    found: Any = Axe().run(page, options=RULES).response["violations"]
    wrong = [
        f"{address} {each['id']}: {node['html'][:160]}" for each in found for node in each["nodes"]
    ]
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    if wide > 0:
        wrong.append(f"{address} is {wide} px wider than the screen")
    if answer.status != 200:
        wrong.append(f"{address}: {answer.status}")
    return wrong + [f"{address}: {said}" for said in complaints]


@pytest.mark.parametrize(("phone", "dark"), WAYS)
def test_no_page_has_a_barrier(
    shop_book: Book, started: Browser, *, phone: bool, dark: bool
) -> None:
    name = login_of(shop_book, "dealer")
    with served(shop_book) as address:
        page = signed_in(started, address, name, phone=phone, dark=dark)
        wrong = [said for each in addresses(shop_book) for said in wrong_with(page, address + each)]
    assert wrong == []
