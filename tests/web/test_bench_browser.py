"""The bench in a real browser on a phone: one thumb, a pad, a label, and without any script."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
import segno

from recondition.book import reading
from tests.pictures import photograph
from tests.web.serving import browser, by_name, served, tab
from tests.web.visitors import PASSWORD, login_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

SMALL = {"viewport": {"width": 360, "height": 740}}
TARGETS = "main button, main .button, main .tap, main .tick, main summary, main input, main select"
TOO_SMALL = """(targets) => [...document.querySelectorAll(targets)]
  .filter((one) => one.checkVisibility() && !one.closest(".tap input, .tick input, .unseen"))
  .filter((one) => !one.matches(".tap input, .tick input"))
  .filter((one) => one.getBoundingClientRect().height < 55.5)
  .map((one) => one.outerHTML.slice(0, 90))"""
PAGES = ("", "/0007", "/0007/use", "/0007/use?way=level", "/0007/finding", "/0007/film",
         "/0007/photograph")  # fmt: skip


@pytest.fixture(scope="module")
def started() -> Iterator[Browser]:
    """Start one browser for all tests."""
    with browser() as found:
        yield found


def at_the_bench(started: Browser, book: Book, url: str, **more: Any) -> Page:
    """Give a phone whose user, a preparer, is signed in."""
    page = tab(started, phone=True, **(SMALL | more))
    page.goto(f"{by_name(url)}/sign-in")
    page.fill("#name", login_of(book, "preparer", "TA"))
    page.fill("#password", PASSWORD)
    page.click("button.main")
    page.wait_for_url("**/bench")
    return page


def stored(book: Book, kind: str) -> list[Any]:
    with book.reading() as conn:
        return reading.stored(conn, kind)


def test_every_target_is_large_and_nothing_is_wider_than_the_screen(
    started: Browser, shop_book: Book
) -> None:
    with served(shop_book) as url:
        page = at_the_bench(started, shop_book, url)
        wrong = {}
        for path in PAGES:
            page.goto(f"{by_name(url)}/bench{path}")
            page.evaluate("document.querySelectorAll('details').forEach((d) => (d.open = true))")
            wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            wrong[path] = [*page.evaluate(TOO_SMALL, TARGETS), *([wide] if wide > 0 else [])]
    assert wrong == {path: [] for path in PAGES}


def test_one_tap_starts_the_clock(started: Browser, shop_book: Book) -> None:
    with served(shop_book) as url:
        page = at_the_bench(started, shop_book, url)
        page.click("text=0007")
        page.locator("li.todo", has_text="C-007").get_by_role("button", name="Start clock").tap()
        page.wait_for_selector("text=Your clock runs")
        page.get_by_role("button", name="Pause").tap()
        page.wait_for_selector("text=Your clock is paused")
    (clock,) = stored(shop_book, "clock")
    assert (len(clock.entry.marks), clock.entry.words[:14]) == (2, "Take the water")


def test_a_finding_takes_a_few_taps_and_its_photograph(started: Browser, shop_book: Book) -> None:
    with served(shop_book) as url:
        page = at_the_bench(started, shop_book, url)
        page.goto(f"{by_name(url)}/bench/0007/finding")
        page.get_by_label("left front wing").tap()
        assert page.locator("[data-fold=panel]").get_attribute("open") is None
        page.get_by_label("oxidation").tap()
        page.get_by_label("2 visible close in daylight").tap()
        shot = {
            "name": "a.jpg",
            "mimeType": "image/jpeg",
            "buffer": photograph("2031:01:20 09:00:00"),
        }
        page.set_input_files("#photo-1", shot)
        page.set_input_files(
            "#photo-2", shot | {"buffer": photograph("2031:01:20 09:01:00", shade=3)}
        )
        assert page.locator("input[type=file]").count() == 3
        page.get_by_role("button", name="Enter the finding").tap()
        page.wait_for_selector("text=finding F-")
    finding = max(stored(shop_book, "finding"), key=lambda each: each.sequence)
    assert (finding.entry.panel, finding.entry.defect) == ("left front wing", "oxidation")
    kept = [each for each in stored(shop_book, "document") if each.entry.finding == finding.id]
    assert len(kept) == 2


def tapped(page: Page, *keys: str) -> None:
    for key in keys:
        page.locator(".pad").get_by_role("button", name=key, exact=True).tap()


def test_readings_are_tapped_in_series_and_the_gauge_is_remembered(
    started: Browser, shop_book: Book
) -> None:
    with served(shop_book) as url:
        page = at_the_bench(started, shop_book, url)
        page.goto(f"{by_name(url)}/bench/0007/film")
        page.get_by_label("bonnet", exact=True).tap()
        tapped(page, "1", "0", "4", "Next reading", "1", "1", "point", "5", "undo", "undo", "2")
        assert page.input_value("#film-readings") == "104 112"
        page.locator("#film-readings").press("End")
        page.keyboard.type(" 108")
        assert page.locator(".readings li").all_inner_texts() == ["104", "112", "108"]
        page.get_by_label("mil", exact=True).tap()
        page.get_by_label("um", exact=True).tap()
        page.get_by_role("button", name="Enter the readings").tap()
        page.wait_for_selector("text=lowest 104 um")
        page.wait_for_selector("text=headroom")
        page.goto(f"{by_name(url)}/bench/0012/film")
        assert page.is_checked("input[name=unit][value=um]")


def test_a_label_is_scanned_into_its_field(started: Browser, shop_book: Book) -> None:
    code = io.BytesIO()
    segno.make_qr("K-02").save(code, kind="png", scale=8)
    with served(shop_book) as url:
        page = at_the_bench(started, shop_book, url)
        page.goto(f"{by_name(url)}/bench/0007/use")
        shot = {"name": "label.png", "mimeType": "image/png", "buffer": code.getvalue()}
        page.set_input_files("[data-scan] input", shot)
        page.wait_for_selector("text=Read: K-02")
        assert page.input_value("#use-1") == "K-02"
        assert page.evaluate("document.activeElement.id") == "use-2"
        page.set_input_files("[data-scan] input", shot | {"buffer": b"no picture"})
        page.wait_for_selector("text=could not")


def test_the_bench_works_without_any_script(started: Browser, shop_book: Book) -> None:
    book = replace(shop_book, now=lambda: datetime(2031, 4, 20, 12, tzinfo=UTC))
    with served(book) as url:
        page = at_the_bench(started, book, url, java_script_enabled=False)
        page.goto(f"{by_name(url)}/bench/0007/film")
        page.get_by_label("roof", exact=True).check(force=True)
        page.fill("#film-readings", "104 108 111 106 118")
        page.click("text=Enter the readings")
        assert "lowest 104 um" in page.inner_text(".said")
        page.goto(f"{by_name(url)}/bench/0007/use")
        for number, text in enumerate(("K-02", "320.5", "301.2"), start=1):
            page.fill(f"#use-{number}", text)
        page.click("text=Enter the use")
        assert "weighed: 19.3 g" in page.inner_text(".said")
        page.locator(".said a").click()
        page.get_by_text("Take it back").first.wait_for()
