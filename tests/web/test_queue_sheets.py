"""A form of a sheet, filled in at the bench without a connection: held ahead, kept, sent once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from tests.web.keeping import keeping, says, settled, sign_in, until
from tests.web.serving import browser, tab

if TYPE_CHECKING:
    from recondition.book.engine import Book

pytestmark = pytest.mark.long

FORM = "/enter/gloss-readings?vehicle=0007&to=/bench/0007"
HELD = f"""caches.match(new URL("{FORM}", location.href).href).then(Boolean)"""


def gloss(book: Book) -> list[str]:
    """List the gloss readings of the bonnet."""
    with book.reading() as conn:
        found = [each.entry for each in reading.stored(conn, "gloss reading")]
    return ["; ".join(map(str, each.readings)) for each in found if each.panel == "bonnet"]


def test_a_gloss_reading_entered_without_a_connection_arrives_once(shop_book: Book) -> None:
    before = len(gloss(shop_book))
    with browser() as chrome, keeping(shop_book) as (address, _):
        page = tab(chrome, phone=True)
        sign_in(page.context, shop_book, address)
        page.goto(f"{address}/bench")
        until(page, "navigator.serviceWorker.controller !== null", 60)
        page.goto(f"{address}/bench/0007")
        until(page, HELD, 60)
        page.context.set_offline(True)
        page.goto(f"{address}{FORM}")  # from the device
        says(page, "as of")
        page.fill("#f-panel", "bonnet")
        page.fill("#f-readings", "84.5")
        page.select_option("#f-unit", "GU20")
        page.click("main form button.main")
        says(page, "unsent: 1")
        assert len(gloss(shop_book)) == before
        page.context.set_offline(False)
        settled(page)
        page.wait_for_url("**/bench/0007")
        page.context.close()
    assert len(gloss(shop_book)) == before + 1
    assert "84.5" in gloss(shop_book)
