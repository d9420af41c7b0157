"""The pages that people get, in a real browser: phone, desk and paper."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Page, sync_playwright

from recondition.book.engine import Book
from recondition.reports.inspection import inspection_page
from recondition.reports.pages import REPORTS, page_of
from recondition.reports.writing import write_page
from tests.browsing import ARGUMENTS, chromium
from tests.pdf_text import pages_of
from tests.places import copied

pytestmark = pytest.mark.long

BENCH = ("arrival", "condition", "changes")
PAGES = (
    "worth-doing.html", "cost-and-uplift.html", "work-history.html", "inspection.html",
    *(f"{name}.html" for name in BENCH),
)  # fmt: skip
WIDTHS = (360, 1200)
Scheme = Literal["light", "dark"]

APRIL = datetime(2031, 4, 8)  # noqa: DTZ001 - the shop's own wall clock


@pytest.fixture(scope="module")
def folder(
    demo: tuple[Path, str], demo_book: Book, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """Give the demo's reports, and beside them the pages that it does not write."""
    now = demo_book.now()
    place = copied(demo[0] / "made" / "reports", tmp_path_factory.mktemp("pages") / "reports")
    with demo_book.reading() as conn:
        made = {name: page_of(name, REPORTS[name](conn, (), APRIL), made_at=now) for name in BENCH}
        made["inspection"] = inspection_page(conn, "0007", now)
    for name, page in made.items():
        write_page(page, place / f"{name}.html", None, now)
    return place


@pytest.fixture(scope="module")
def tab() -> Iterator[Tab]:
    """Give one tab; a new one takes longer than all that a test does in it."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield Tab(started.new_page())
        started.close()


class Tab:
    """A tab with every request it made and everything it complained of since it was opened."""

    def __init__(self, page: Page) -> None:
        """Listen to a page."""
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def open(self, path: Path, width: int, scheme: Scheme = "light") -> Page:
        """Load a file at a width; nothing is left of the page before."""
        self.page.goto("about:blank")
        self.page.set_viewport_size({"width": width, "height": 800})
        self.page.emulate_media(color_scheme=scheme)
        self.requests.clear()
        self.complaints.clear()
        self.page.goto(path.as_uri())
        return self.page


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_fits_its_width_and_asks_for_nothing(
    tab: Tab, folder: Path, name: str, width: int
) -> None:
    page = tab.open(folder / name, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.requests == [(folder / name).as_uri()]
    assert tab.complaints == []


@pytest.mark.parametrize("name", PAGES)
def test_a_page_can_be_read_without_seeing_it(tab: Tab, folder: Path, name: str) -> None:
    page = tab.open(folder / name, 1200)
    assert (page.get_attribute("html", "lang") or "").partition("-")[0] == "en"
    assert page.title()
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3')].map(h => +h.tagName[1])")
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    unnamed = (
        "[...document.querySelectorAll('svg[role=img]')].filter(s => !s.querySelector('title'))"
    )
    assert page.evaluate(f"{unnamed}.length") == 0
    assert page.evaluate("document.querySelectorAll('table:not(:has(caption))').length") == 0
    assert page.evaluate("document.querySelectorAll('main').length") == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_every_text_has_enough_contrast(tab: Tab, folder: Path, name: str, scheme: Scheme) -> None:
    # WCAG 2.2, 1.4.3: 4.5 to 1 for text; ratio (L1 + 0.05) / (L2 + 0.05), threshold 0.04045.
    page = tab.open(folder / name, 1280, scheme)
    worst = page.evaluate(
        """() => {
          const rgb = text => text.match(/[\\d.]+/g).map(Number);
          const part = c => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
          const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
          const behind = e => {
            for (; e; e = e.parentElement) {
              const found = rgb(getComputedStyle(e).backgroundColor);
              if (found.length === 3 || found[3] > 0) return found;
            }
            return [255, 255, 255];
          };
          let worst = 21;
          for (const e of document.querySelectorAll('body *')) {
            const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
            if (!own || e.closest('svg') || !e.checkVisibility()) continue;
            const [a, b] = [light(rgb(getComputedStyle(e).color)), light(behind(e))];
            worst = Math.min(worst, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05));
          }
          return worst;
        }"""
    )
    assert worst >= 4.5


def test_the_panel_map_can_be_read_on_a_phone(tab: Tab, folder: Path) -> None:
    """Every text of a map is as high as small print, and stays within its own tile."""
    page = tab.open(folder / "condition.html", 360)
    texts = page.evaluate(
        """() => [...document.querySelectorAll('figure svg')].flatMap(svg => {
          const boxes = [...svg.querySelectorAll('path')]
            .map(path => path.getBoundingClientRect())
            .filter(box => box.width > 60 && box.width < 130 && box.height > 25);
          return [...svg.querySelectorAll('text')].map(text => {
            const box = text.getBoundingClientRect();
            const tile = boxes.find(b => box.x + box.width / 2 > b.x && box.y > b.y - 2 &&
              box.x + box.width / 2 < b.right && box.bottom < b.bottom + 4);
            return [text.textContent.trim(), box.height, !tile || box.width <= tile.width,
                    Boolean(tile)];
          });
        })"""
    )
    assert sum(inside for *_, inside in texts) > 30
    assert [text for text, height, *_ in texts if height < 10] == []
    assert [text for text, _, fits, _ in texts if not fits] == []


def test_on_paper_the_table_behind_a_picture_is_printed(tab: Tab, folder: Path) -> None:
    page = tab.open(folder / "worth-doing.html", 1200)
    text = "\n".join(pages_of(page.pdf(format="A4")))
    assert "Worth in the plan" in text


def test_on_paper_a_map_takes_a_third_of_a_sheet_at_most(tab: Tab, folder: Path) -> None:
    page = tab.open(folder / "condition.html", 1200)
    page.emulate_media(media="print")
    high = [each.bounding_box() for each in page.locator("figure svg").all()]
    page.emulate_media(media="screen")
    assert 0 < max(box["height"] for box in high if box) * 25.4 / 96 <= 99
