"""The pages of the bench without a connection: whose they are, and which are never held."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from recondition.web import device
from tests.web.keeping import NOTE, enter, keeping, ready, says, settled, sign_in, stock_of, until
from tests.web.serving import browser, tab

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

HELD = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const kept = await (await caches.open(name)).keys();
    found[name] = kept.map((request) => new URL(request.url).pathname);
  }
  return found;
}"""


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as started:
        yield started


@pytest.fixture
def phone(shop_book: Book, chrome: Browser) -> Iterator[tuple[Page, str]]:
    """Give a phone at the page with the form, signed in as a dealer, who sees money elsewhere."""
    with keeping(shop_book) as (address, _):
        page = tab(chrome, phone=True)
        sign_in(page.context, shop_book, address, "dealer")
        ready(page, address)
        until(page, f"caches.match('{NOTE}').then(Boolean)")
        yield page, address
        page.context.close()


def held(page: Page) -> tuple[list[str], list[str]]:
    """Give the names of the caches with pages, and the paths of all pages that are held."""
    found = page.evaluate(HELD)
    names = [name for name in found if name.startswith("pages-")]
    return names, sorted(path for name in names for path in found[name])


def test_pages_one_step_ahead_open_without_a_connection(
    shop_book: Book, phone: tuple[Page, str]
) -> None:
    page, address = phone
    until(page, "caches.match('/bench/-/other').then(Boolean)")
    stock = stock_of(shop_book)
    page.goto(f"{address}/bench/{stock}")
    until(page, f"caches.match('/bench/{stock}/finding').then(Boolean)")
    until(page, f"caches.match('/bench/{stock}/film').then(Boolean)")
    page.context.set_offline(True)
    for path in (f"/bench/{stock}", f"/bench/{stock}/finding", "/bench/-/other", "/unsent"):
        page.goto(f"{address}{path}")
        says(page, "No answer from the book: this page is as of")
        assert page.evaluate("getComputedStyle(document.body).margin") == "0px"  # with its style
    page.goto(f"{address}/bench/{stock}/never-opened")
    assert "was not opened on this device before" in page.inner_text("main")
    page.context.set_offline(False)
    page.goto(f"{address}/unsent")
    until(page, "document.getElementById('unsent')?.hidden")


def test_pages_with_money_are_never_held(shop_book: Book, phone: tuple[Page, str]) -> None:
    page, address = phone
    stock = stock_of(shop_book)
    for path in ("/vehicles", f"/vehicles/{stock}", "/stock", "/books", "/bench"):
        page.goto(f"{address}{path}")
    until(page, "caches.match('/bench').then(Boolean)")
    _, paths = held(page)
    assert [path for path in paths if not path.startswith(("/bench", "/unsent"))] == []
    page.context.set_offline(True)
    page.goto(f"{address}/vehicles")
    assert "this page is not kept on the device" in page.inner_text("main")


def test_the_pages_of_a_login_go_when_it_signs_out_or_another_comes(
    shop_book: Book, phone: tuple[Page, str]
) -> None:
    page, address = phone
    dealers, paths = held(page)
    assert (len(dealers), NOTE in paths) == (1, True)
    sign_in(page.context, shop_book, address, "preparer")  # without signing out before
    page.goto(f"{address}/bench")
    until(page, "caches.match('/bench').then(Boolean)")
    preparers, _ = held(page)
    assert len(preparers) == 1
    assert preparers != dealers
    page.context.set_offline(True)
    page.goto(f"{address}{NOTE}")
    page.context.set_offline(False)
    page.goto(f"{address}/bench")
    page.click("form.out button")
    page.wait_for_url("**/sign-in**")
    assert held(page) == ([], [])
    page.context.set_offline(True)
    page.goto(f"{address}/bench")
    assert "There is no connection" in page.inner_text("main")


def test_whoever_signs_out_is_told_what_stays_on_the_device(phone: tuple[Page, str]) -> None:
    page, address = phone
    page.context.set_offline(True)
    enter(page, "left here")
    says(page, "unsent: 1")
    asked: list[str] = []
    page.once("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.click("form.out button")
    assert "not in the book yet: 1. They stay here" in asked[0]
    assert page.url == f"{address}{NOTE}"
    page.context.set_offline(False)
    settled(page)
    page.click("form.out button")
    page.wait_for_url("**/sign-in**")


def test_a_new_version_of_the_pages_takes_the_place_of_the_old_one(
    phone: tuple[Page, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, _ = phone
    (before,) = [name for name in page.evaluate(HELD) if name.startswith("static-")]
    folder = tmp_path / "static"
    shutil.copytree(device._static(), folder)  # noqa: SLF001 - where the files lie
    with (folder / "site.css").open("a", encoding="utf-8") as file:
        file.write("/* another look */")
    monkeypatch.setattr(device, "_static", lambda: folder)
    device.worker.cache_clear()
    page.evaluate("navigator.serviceWorker.ready.then((found) => found.update()).then(() => 1)")
    until(page, f"caches.has('{before}').then((there) => !there)")
    found = page.evaluate(HELD)
    assert len([name for name in found if name.startswith("static-")]) == 1, (before, list(found))
    (after,) = [name for name in found if name.startswith("static-")]
    device.worker.cache_clear()
    assert after != before
    assert NOTE in held(page)[1]  # pages of before stay
    enter(page, "after the change")
    settled(page)
