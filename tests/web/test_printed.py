"""What the pages look like on paper: well-filled sheets, no controls, no heading over nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from pypdfium2 import PdfDocument

from recondition.intake.form import one_row
from tests.web.keeping import sign_in
from tests.web.serving import SHOP, browser, served, tab

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

A4_MM = 297
MM_PER_PX = 25.4 / 96
CONTROLS = "button, .button, form, input, select, summary, nav a:not([aria-current])"
SHOWN = """(which) => [...document.querySelectorAll(which)]
  .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height > 1)
  .map((one) => one.outerHTML.slice(0, 90))"""
# A heading with no words or pictures before the next heading, and a table without a row.
EMPTY = """() => {
  const seen = (one) => one.checkVisibility() && one.getBoundingClientRect().height > 1;
  const all = [...document.querySelectorAll("main :is(h1, h2, h3, p, li, dd, svg, img, td, th)")];
  const shown = all.filter(seen);
  const heads = shown.filter((one, at) => one.matches("h2, h3")
    && (at + 1 === shown.length || shown[at + 1].matches("h1, h2")));
  const tables = [...document.querySelectorAll("main table")].filter(seen)
    .filter((one) => !one.querySelector("tbody th"));
  return [...heads, ...tables].map((one) => one.textContent.trim().slice(0, 60));
}"""


@pytest.fixture
def paper(shop_book: Book) -> Iterator[tuple[Page, str]]:
    """Give a desk whose user, a dealer, prints; vehicle 0099 has three findings and no more."""
    car = {"ref": "0099", "designation": "1966 Ostra 9", "holding": "own stock"}
    one_row(shop_book, "vehicles", car, author_ref="IC", ref="0099")
    for panel in ("bonnet", "roof", "left front door"):
        row = {"vehicle": "0099", "panel": panel, "defect": "stain", "severity": "2",
               "found_on": "2031-04-01"}  # fmt: skip
        assert one_row(shop_book, "findings", row, author_ref="IC", ref=None).refused is None
    with served(shop_book, host=SHOP) as address, browser() as started:
        page = tab(started)
        sign_in(page.context, shop_book, address, "dealer")
        yield page, address


def sheets(page: Page, into: Path) -> list[str]:
    """Print a page on A4; give the words of each sheet."""
    page.pdf(path=into, format="A4")
    with PdfDocument(into) as printed:
        return [sheet.get_textpage().get_text_range() for sheet in printed]


@pytest.mark.parametrize(("path", "most"), [("/vehicles/0099/findings", 1), ("/bench/0099", 1),
                                            ("/vehicles/0099", 1), ("/vehicles/0007", 1),
                                            ("/bench/0007", 2)])  # fmt: skip
def test_a_page_takes_few_sheets_and_leaves_none_blank(
    paper: tuple[Page, str], tmp_path: Path, path: str, most: int
) -> None:
    page, address = paper
    page.goto(f"{address}{path}")
    printed = sheets(page, tmp_path / "page.pdf")
    assert len(printed) <= most
    assert [sheet for sheet in printed if len(sheet.split()) < 10] == []


@pytest.mark.parametrize("path", ["/vehicles/0099", "/vehicles/0099/findings", "/vehicles/0007",
                                  "/vehicles/0007/findings", "/bench", "/bench/0099",
                                  "/bench/0007"])  # fmt: skip
def test_paper_has_no_controls_and_nothing_empty(paper: tuple[Page, str], path: str) -> None:
    page, address = paper
    page.emulate_media(media="print")
    page.goto(f"{address}{path}")
    assert page.evaluate(SHOWN, CONTROLS) == []
    assert page.evaluate(EMPTY) == []


def test_a_map_takes_a_third_of_a_sheet_at_most(paper: tuple[Page, str]) -> None:
    page, address = paper
    page.emulate_media(media="print")
    page.goto(f"{address}/vehicles/0007/findings")
    high = [each.bounding_box() for each in page.locator("figure svg").all()]
    assert len(high) == 2
    assert max(box["height"] for box in high if box) * MM_PER_PX <= A4_MM / 3


@pytest.mark.parametrize("media", ["screen", "print"])
@pytest.mark.parametrize(("role", "totals"), [("dealer", 1), ("preparer", 0)])
def test_a_list_has_no_row_of_totals_where_nothing_is_totalled(
    paper: tuple[Page, str], shop_book: Book, media: Any, role: str, totals: int
) -> None:  # fmt: skip
    page, address = paper
    sign_in(page.context, shop_book, address, role)
    page.emulate_media(media=media)
    for width in (390, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        page.goto(f"{address}/stock")
        assert len(page.evaluate(SHOWN, "tbody tr")) > 5
        assert len(page.evaluate(SHOWN, "tr.total")) == totals
