"""The page in a real browser: nothing to scroll sideways on a phone, at a desk or enlarged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import sync_playwright

from tests.browsing import ARGUMENTS, chromium
from tests.history.invented import sheet
from tests.history.reading import html_of
from tests.history.test_nothing_leaks import SHEET

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

# 320 is the width at which WCAG 2.2 (1.4.10, reflow) asks for no sideways scrolling.
WIDTHS = (320, 360, 768, 1200)


def _widths_that_overflow(page: Page, file: Path) -> list[int]:
    """Give the widths at which a page is wider than its window."""
    page.goto(file.as_uri())
    wide = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        if page.evaluate("document.documentElement.scrollWidth") > width:
            wide.append(width)
    return wide


def test_nothing_scrolls_sideways_and_nothing_is_fetched(tmp_path: Path) -> None:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        page = browser.new_page()
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        for name, made in (("told", sheet()), ("long-words", SHEET)):
            file = tmp_path / f"{name}.html"
            file.write_text(html_of(made), encoding="utf-8")
            assert _widths_that_overflow(page, file) == []
        browser.close()
    assert all(url.startswith("file:") for url in asked)
    assert len(asked) == 2
