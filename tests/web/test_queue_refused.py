"""What the book refuses, or the device keeps, is said in sight, and stands in its form again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from tests.pictures import picture
from tests.web.keeping import findings, keeping, photographs, says, settled, sign_in, until
from tests.web.serving import browser, tab
from tests.web.test_queue_sheets import FORM, gloss

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as started:
        yield started


@pytest.fixture
def phone(shop_book: Book, chrome: Browser) -> Iterator[Page]:
    """Give a phone of a preparer on the page of a car, whose pages the device holds."""
    with keeping(shop_book) as (address, _):
        page = tab(chrome, phone=True)
        sign_in(page.context, shop_book, address)
        page.goto(f"{address}/bench")
        until(page, "navigator.serviceWorker.controller !== null", 60)
        page.goto(f"{address}/bench/0007")
        use = "caches.match(new URL('/bench/0007/use', location.href).href).then(Boolean)"
        until(page, use, 60)
        yield page
        page.context.close()


def in_sight(page: Page, selector: str) -> bool:
    """Tell whether something stands on the screen as it is scrolled now."""
    box = page.locator(selector).bounding_box()
    size = page.viewport_size
    assert box is not None
    assert size is not None
    return 0 <= box["y"] < size["height"]


def files_of(page: Page) -> list[int]:
    """Count the pictures in each field for one."""
    counted: list[int] = page.locator("input[type=file][name=photo]").evaluate_all(
        "all => all.map((each) => each.files.length)"
    )
    return counted


def test_a_refused_entry_stands_in_its_form_and_says_why(shop_book: Book, phone: Page) -> None:
    phone.goto(phone.url.replace("/bench/0007", FORM))
    phone.fill("#f-panel", "bonnet")
    phone.fill("#f-readings", "84,5 glossy")
    phone.select_option("#f-unit", "GU20")
    phone.click("main form button.main")
    phone.locator("main form .refused").wait_for()
    assert "readings" in phone.locator("main form .refused").inner_text()
    assert in_sight(phone, "main form .refused")
    assert phone.input_value("#f-readings") == "84,5 glossy"
    assert phone.input_value("#f-panel") == "bonnet"
    says(phone, "set aside: 1")
    phone.fill("#f-readings", "84.5")
    phone.click("main form button.main")
    phone.wait_for_url("**/bench/0007")
    until(phone, "document.getElementById('unsent')?.hidden", 60)  # it took the other's place
    assert gloss(shop_book).count("84.5") == 1


def test_a_refused_finding_with_pictures_can_be_opened_and_changed(
    shop_book: Book, phone: Page
) -> None:
    before = len(photographs(shop_book, ""))
    phone.goto(phone.url + "/finding")
    phone.fill("#defect-typed", "aside mark")
    shots: list[Any] = [
        {"name": f"{n}.png", "mimeType": "image/png", "buffer": picture()} for n in (1, 2)
    ]
    for place, shot in enumerate(shots):
        phone.locator("input[type=file][name=photo]").nth(place).set_input_files([shot])
    phone.locator("main form[data-keep] button.main").click()
    phone.locator("main form .refused").wait_for()
    assert files_of(phone) == [1, 1, 0]
    phone.click("#unsent a")
    phone.get_by_text("Open and change").click()
    until(phone, "document.querySelector('form[data-keep]')?.dataset.instead")
    assert files_of(phone) == [1, 1, 0]
    phone.locator("main form[data-keep] input[name=panel][value=roof]").check(force=True)
    phone.locator("main form[data-keep] button.main").click()
    until(phone, "document.getElementById('unsent')?.hidden", 60)
    settled(phone)
    assert findings(shop_book, "aside") == ["aside mark"]
    assert len(photographs(shop_book, "")) == before + 2


def test_a_turn_of_the_clock_kept_without_a_connection_shows_at_once(
    shop_book: Book, phone: Page
) -> None:
    phone.locator("button.main:has-text('Start clock')").first.click()
    phone.locator("section.clock button:has-text('Stop')").first.wait_for()
    settled(phone)
    phone.context.set_offline(True)
    clock = phone.locator("section.clock")
    clock.get_by_role("button", name="Pause").click()
    clock.get_by_role("button", name="Go on").wait_for()
    clock.get_by_role("button", name="Go on").click()
    clock.get_by_role("button", name="Pause").wait_for()
    clock.get_by_role("button", name="Stop", exact=True).click()
    until(phone, "document.querySelector('section.clock h2').textContent.includes('stopped')")
    assert "kept here, unsent" in clock.locator("h2").inner_text()
    assert clock.get_by_role("button", name="Stop", exact=True).is_disabled()
    says(phone, "unsent: 3")
    assert in_sight(phone, "#unsent")
    phone.click("#unsent a")
    until(phone, "document.querySelectorAll('#kept > li').length === 3")
    names = phone.locator("#kept h2").all_inner_texts()
    assert [name.split(":")[0] for name in names] == ["Pause", "Go on", "Stop"]
    assert all("0007" in name for name in names)
    phone.context.set_offline(False)
    settled(phone)
    with shop_book.reading() as conn:
        labour = reading.stored(conn, "labour")
    assert len([each for each in labour if str(each.entry.work_date) > "2031"]) > 0
