"""The released page in a real browser: it checks itself, is read by everybody, and prints."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

from recondition.history.folder import HTML
from recondition.history.wording_proof import CHECK_WORDS
from tests.browsing import ARGUMENTS, chromium
from tests.history.released import Released, released
from tests.pdf_text import pages_of

pytestmark = pytest.mark.long

STATUS = '[data-proof="status"]'
DONE = f'{STATUS}:is([data-state="unchanged"], [data-state="altered"])'
WIDTHS = (360, 1100)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Released:
    """Give what was released."""
    return released(tmp_path_factory, empty_file)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Give one browser for all tests of the file."""
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(scope="module")
def tab(browser: Browser) -> Page:
    """Give one tab."""
    return browser.new_context().new_page()


@pytest.fixture
def received(made: Released, tmp_path: Path) -> Path:
    """Give the page as it was received, alone."""
    file = tmp_path / HTML
    file.write_bytes(made.files[HTML])
    return file


def opened(tab: Page, file: Path) -> tuple[str, list[str]]:
    """Open a page and give the state it comes to and what it says."""
    tab.goto(file.as_uri())
    tab.wait_for_selector(DONE)
    status = tab.locator(STATUS)
    return str(status.get_attribute("data-state")), status.locator("> *").all_inner_texts()


def test_it_reads_unchanged_and_asks_nothing_of_any_other_place(
    tab: Page, received: Path, made: Released
) -> None:
    asked: list[str] = []
    said: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("console", lambda message: said.append(message.text))
    tab.on("pageerror", lambda error: said.append(str(error)))
    state, lines = opened(tab, received)
    assert lines[0] == CHECK_WORDS["unchanged"]
    assert state == "unchanged"
    assert re.fullmatch(r"Compared: \d+ records, \d+ places with text, 7 pictures\.", lines[1])
    assert lines[2] == CHECK_WORDS["signed"].format(fingerprint=made.fingerprint)
    assert made.code in lines[3]
    assert lines[-1] == CHECK_WORDS["limit_vehicle"]
    assert [url for url in asked if not url.startswith("data:")] == [received.as_uri()]
    assert said == []


def test_without_script_it_reads_not_checked(browser: Browser, received: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    tab.goto(received.as_uri())
    assert tab.locator(STATUS).inner_text() == CHECK_WORDS["not_checked"]
    assert "roof afterwards, 20 March 2031" in tab.locator("main").inner_text()
    context.close()


def test_a_changed_word_is_found_and_its_record_named(tab: Page, received: Path) -> None:
    page = received.read_text(encoding="utf-8")
    changed = page.replace("Cut, then refined.</", "Cut and refined.</", 1)
    assert changed != page
    received.write_text(changed, encoding="utf-8")
    state, lines = opened(tab, received)
    assert state == "altered"
    assert lines[0] == CHECK_WORDS["altered"]
    assert any(
        "shows “Cut and refined.” where it says “Cut, then refined.”" in one for one in lines
    )


def test_swapped_pictures_are_found_and_named(tab: Page, received: Path) -> None:
    page = received.read_text(encoding="utf-8")
    one, two = re.findall(r'data-picture="evidence/[12]" src="([^"]*)"', page)
    assert one != two
    swapped = page.replace(one, "\0").replace(two, one).replace("\0", two)
    received.write_text(swapped, encoding="utf-8")
    state, lines = opened(tab, received)
    assert state == "altered"
    for number in (1, 2):
        assert CHECK_WORDS["fault_picture"].format(name=f"evidence/{number}") in lines


@pytest.mark.parametrize("width", WIDTHS)
def test_an_accessibility_check_finds_nothing(width: int, browser: Browser, received: Path) -> None:
    context = browser.new_context(bypass_csp=True, viewport={"width": width, "height": 900})
    tab = context.new_page()
    assert opened(tab, received)[0] == "unchanged"
    found = Axe().run(tab)
    assert [each["id"] for each in found.response["violations"]] == []
    passed = {each["id"] for each in found.response["passes"]}
    assert {"color-contrast", "document-title", "html-has-lang", "image-alt"} <= passed
    context.close()


@pytest.mark.parametrize("width", [320, *WIDTHS])
def test_nothing_scrolls_sideways(width: int, tab: Page, received: Path) -> None:
    """WCAG 2.2, 1.4.10 (reflow): at a width of 320 there is no sideways scrolling."""
    tab.set_viewport_size({"width": width, "height": 800})
    opened(tab, received)
    assert tab.evaluate("document.documentElement.scrollWidth") <= width


HIDDEN = """() => Array.from(document.querySelectorAll("main [data-record], header [data-record]"))
  .filter((element) => !element.checkVisibility() || element.getClientRects().length === 0)
  .map((element) => element.dataset.record)"""
CLIPPED = """() => Array.from(document.querySelectorAll("main *"))
  .filter((element) => element.scrollWidth > element.clientWidth + 1 &&
    getComputedStyle(element).overflowX !== "visible")
  .map((element) => element.outerHTML.slice(0, 80))"""


def bare(text: str) -> str:
    """Take blanks out and ligatures apart."""
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", text))


def test_on_paper_everything_is_shown(tab: Page, received: Path, made: Released) -> None:
    tab.set_viewport_size({"width": 794, "height": 1123})
    opened(tab, received)
    tab.emulate_media(media="print")
    assert tab.evaluate(HIDDEN) == []
    assert tab.evaluate(CLIPPED) == []
    printed = tab.pdf(format="A4")
    tab.emulate_media(media="screen")
    text = bare("".join(pages_of(printed)))
    sections = re.findall(r"<h2[^>]*>([^<]*)</h2>", received.read_text(encoding="utf-8"))
    words = (made.code, "Cut, then refined.", "roof afterwards", made.fingerprint, *sections)
    assert [each for each in words if bare(each) not in text] == []
