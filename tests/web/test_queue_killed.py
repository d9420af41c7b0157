"""The server is taken away and comes back, the connection too; each entry is there exactly once."""

from __future__ import annotations

import base64
import random
import socket
import time
from collections import Counter
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Error

from recondition.book import reading
from tests.pictures import picture
from tests.places import lies_at
from tests.web.keeping import findings, says, settled, sign_in, stock_of, until
from tests.web.serving import SHOP, Serving, browser, certificate, served_process, tab

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

# Fill the form of the bench and press its button, in one go; "kept" when the device has it.
ENTER = """([defect, shot]) => new Promise((kept) => {
  const form = document.querySelector("form[data-keep][enctype]");
  form.elements.panel_typed.value = "roof";
  form.elements.defect_typed.value = defect;
  if (shot) {
    const bytes = Uint8Array.from(atob(shot), (sign) => sign.charCodeAt(0));
    const chosen = new DataTransfer();
    chosen.items.add(new File([bytes], "shot.png", { type: "image/png" }));
    form.querySelector("input[type=file]").files = chosen.files;
  }
  document.addEventListener("kept", () => kept("kept"), { once: true });
  setTimeout(kept, 8000, "late");
  form.requestSubmit(form.querySelector("button.main"));
})"""


@dataclass(slots=True)
class Shop:
    """A server that can be taken away and put back, and a phone in its network."""

    book: Book
    port: int
    page: Page
    process: ExitStack = field(default_factory=ExitStack)
    serving: Serving | None = None

    @property
    def address(self) -> str:
        """Where the pages begin."""
        return f"https://{SHOP}:{self.port}"

    @property
    def form(self) -> str:
        """Where the form for findings is."""
        return f"{self.address}/bench/{stock_of(self.book)}/finding"

    def start(self) -> None:
        """Start the server where it is away, at the same port."""
        if self.serving is None:
            self.serving = self.process.enter_context(
                served_process(
                    lies_at(self.book), "--port", str(self.port), "--host-name", SHOP,
                    "--certificate", str(certificate()), "--certificate-key", str(certificate()),
                )
            )  # fmt: skip

    def kill(self) -> None:
        """Take the server away as a power cut does."""
        if self.serving is not None:
            self.serving.kill()
            self.process.close()
            self.serving = None

    def enter(self, defect: str, *, shot: bool = False) -> bool:
        """Enter a finding; tell whether the device said that it is kept."""
        content = base64.b64encode(picture()).decode() if shot else ""
        try:
            return bool(self.page.evaluate(ENTER, [defect, content]) == "kept")
        except Error:  # the page was just giving way to another
            return False

    def reopen(self) -> None:
        """Close the page and open it again, as somebody who puts the phone away does."""
        context = self.page.context
        self.page.close()
        self.page = context.new_page()
        self.page.goto(self.form)
        until(self.page, "document.querySelector('form[data-keep][enctype]') !== null")


def free_port() -> int:
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return int(tried.getsockname()[1])


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as started:
        yield started


@contextmanager
def opened_shop(book: Book, chrome: Browser) -> Iterator[Shop]:
    """Open a shop with the page for findings in front, which the device holds."""
    shop = Shop(book, free_port(), tab(chrome, phone=True))
    with shop.process:
        shop.start()
        sign_in(shop.page.context, book, shop.address)
        shop.page.goto(shop.form)
        until(shop.page, "navigator.serviceWorker.controller !== null")
        until(shop.page, "caches.match(location.href).then(Boolean)")
        yield shop
        shop.page.context.close()


def shots_of(book: Book, begin: str) -> list[str]:
    """List the defects whose findings have photographs, one for each photograph, sorted."""
    with book.reading() as conn:
        defects = {each.id: each.entry.defect for each in reading.stored(conn, "finding")}
        named = [each.entry.finding for each in reading.stored(conn, "document")]
    return sorted(defects[name] for name in named if name and defects[name].startswith(begin))


def test_a_server_killed_in_the_middle_of_sending_has_each_entry_once(
    shop_book: Book, chrome: Browser
) -> None:
    entries = [f"killed {number:02}" for number in range(9)]
    with opened_shop(shop_book, chrome) as shop:
        shop.page.context.set_offline(True)
        for number, defect in enumerate(entries):
            assert shop.enter(defect, shot=number % 3 == 0)
        says(shop.page, "unsent: 9")
        shop.page.context.set_offline(False)
        for so_many in (2, 5):
            ends = time.monotonic() + 60
            while len(findings(shop_book, "killed")) < so_many:
                assert time.monotonic() < ends, shop.page.inner_text("body")
                shop.page.wait_for_timeout(20)
            shop.kill()
            assert len(findings(shop_book, "killed")) < len(entries)
            says(shop.page, "unsent")
            shop.start()
        settled(shop.page)
        assert findings(shop_book, "killed") == entries
        assert shots_of(shop_book, "killed") == entries[::3]


@pytest.mark.parametrize("seed", [1, 2])
def test_whatever_comes_and_goes_each_entry_is_there_once(
    shop_book: Book, chrome: Browser, seed: int
) -> None:
    chance = random.Random(seed)  # noqa: S311 - a schedule that can be run again
    kept, doubtful = list[str](), set[str]()
    with opened_shop(shop_book, chrome) as shop:
        for number in range(16):
            defect = f"seed {number:02}"
            if shop.enter(defect, shot=chance.random() < 0.25):
                kept.append(defect)
            else:  # the page gave way to one without the form, or to none: somebody opens it again
                doubtful.add(defect)
                shop.reopen()
            for _ in range(chance.randrange(3)):
                happen(shop, chance)
        shop.page.context.set_offline(False)
        shop.start()
        shop.reopen()
        settled(shop.page)
        times = Counter(findings(shop_book, "seed"))
        assert {defect: times[defect] for defect in kept} == dict.fromkeys(kept, 1)
        assert {defect for defect in times if times[defect] > 1} == set()
        assert set(times) - set(kept) <= doubtful
        assert len(kept) > 7  # else the schedule tried nothing


def happen(shop: Shop, chance: random.Random) -> None:
    """Let something happen to the shop."""
    what = chance.choice(
        ["away", "back", "away", "back", "kill", "start", "start", "reopen", "wait"]
    )
    match what:
        case "away" | "back":
            shop.page.context.set_offline(what == "away")
        case "kill":
            shop.kill()
        case "start":
            shop.start()
        case "reopen":
            shop.reopen()
        case _:
            shop.page.wait_for_timeout(chance.randrange(20, 700))
