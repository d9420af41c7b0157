"""A page with one form that is kept, served by name over TLS, and what the book has of it."""

from __future__ import annotations

import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, render_template_string, request
from playwright.sync_api import Error

from recondition.book import reading, sessions
from recondition.book.roles import Right
from recondition.web.app import COOKIE, SECURE_COOKIE, make_app
from recondition.web.entry import done
from recondition.web.forms import post_row, said_of, sent
from recondition.web.visit import needs
from tests.web.serving import SHOP, served_app
from tests.web.visitors import PASSWORD, login_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask import Flask
    from flask.typing import ResponseReturnValue
    from playwright.sync_api import BrowserContext, Page

    from recondition.book.engine import Book

NOTE = "/bench/-/note"
PAGE = """{% extends "web/base.html.j2" %}{% from "web/forms.html.j2" import mark %}
{% block title %}Note{% endblock %}{% block room %}bench{% endblock %}
{% block body %}<h1>A finding in a few words</h1>
<form method="post" data-keep="A finding on 0007" enctype="multipart/form-data">{{ mark() }}
<input type="hidden" name="key"><input type="hidden" name="vehicle" value="{{ stock }}">
<label for="defect">Defect</label><input id="defect" name="defect">
<label for="severity">Severity</label><input id="severity" name="severity" value="2">
<label for="shot">Photograph</label><input id="shot" name="shot" type="file">
<button>Keep</button></form>
<p><a href="/bench/-/other">The other page</a></p>{% endblock %}"""


@dataclass(slots=True)
class Notes:
    """The page and its form; ``asked`` is what was sent to the book.

    ``fails`` is how often the book is to fail yet, ``loses`` how often the connection is to break
    before the whole answer is out. Where ``crosses`` is given, an entry's answer waits until
    somebody asks for the other page, and that page comes well after the answer.
    """

    stock: str
    asked: list[str] = field(default_factory=list)
    fails: int = 0
    loses: int = 0
    crosses: Event | None = None

    def pages(self) -> Blueprint:
        """Give the blueprint."""
        made = Blueprint("notes", __name__)
        made.get(NOTE)(needs(Right.BENCH)(self.page))
        made.get("/bench/-/other", endpoint="other")(needs(Right.BENCH)(self.other))
        made.post(NOTE)(needs(Right.BENCH)(self.entered))
        return made

    def page(self) -> ResponseReturnValue:
        """Show the form."""
        return render_template_string(PAGE, stock=self.stock)

    def other(self) -> ResponseReturnValue:
        """Show the form on another page."""
        if self.crosses and "X-Ahead" not in request.headers:
            self.crosses.set()
            time.sleep(2)
        return self.page()

    def entered(self) -> ResponseReturnValue:
        """Enter a finding, and its photograph where there is one, as the bench does."""
        self.asked.append(sent("defect"))
        if self.fails:
            self.fails -= 1
            message = "a mistake of ours"
            raise RuntimeError(message)
        key = request.form.get("key") or None
        row = {"vehicle": self.stock, "panel": "roof"}
        row |= {"defect": sent("defect"), "severity": sent("severity", "2")}
        result = post_row("findings", row, key=key)
        lines = said_of(result)
        shot = request.files.get("shot")
        if shot:
            photograph = {"vehicle": self.stock, "kind": "photograph", "title": sent("defect")}
            photograph["finding"] = result.draft.ref
            made = post_row(
                "documents", photograph, key=key and f"{key}:photo", file=shot
            )  # fmt: skip
            lines += said_of(made)
        if self.crosses:
            self.crosses.wait(30)
        if self.loses:
            self.loses -= 1
            return Response(_cut_off(), headers={"Content-Length": "200"})
        return done(lines, NOTE)


def _cut_off() -> Iterator[bytes]:
    """Begin an answer, and end as a broken connection does."""
    yield b'{"said": ['
    message = "the connection broke"
    raise OSError(message)


def stock_of(book: Book) -> str:
    """Name a vehicle of a book."""
    with book.reading() as conn:
        return min(reading.all_refs(conn, "vehicle"))


def findings(book: Book, begin: str) -> list[str]:
    """List the defects of all findings that begin with some letters, sorted."""
    with book.reading() as conn:
        found = [each.entry.defect for each in reading.stored(conn, "finding")]
    return sorted(defect for defect in found if defect.startswith(begin))


def photographs(book: Book, begin: str) -> list[str]:
    """List the titles of all documents that begin with some letters, sorted."""
    with book.reading() as conn:
        found = [str(each.entry.title) for each in reading.stored(conn, "document")]
    return sorted(title for title in found if title.startswith(begin))


@contextmanager
def keeping(book: Book, *, tls: bool = True) -> Iterator[tuple[str, Notes]]:
    """Serve a book with that page, by name; give the address and the page."""
    notes = Notes(stock_of(book))
    app: Flask = make_app(book)
    app.register_blueprint(notes.pages())
    with served_app(app, tls=tls, host=SHOP) as address:
        yield address, notes


def sign_in(context: BrowserContext, book: Book, address: str, role: str = "preparer") -> None:
    """Let a browser hold the session of a login of a role."""
    token = sessions.sign_in(book, login_of(book, role), PASSWORD, address="127.0.0.1")
    secure = address.startswith("https")
    name = SECURE_COOKIE if secure else COOKIE
    context.clear_cookies()
    context.add_cookies(
        [{"name": name, "value": token, "url": f"{address}/", "secure": secure, "httpOnly": True,
          "sameSite": "Lax"}]
    )  # fmt: skip


def enter(page: Page, defect: str, shot: bytes | None = None, **more: str) -> None:
    """Fill the form and press its button; come back when the device says that it is kept."""
    page.fill("#defect", defect)
    for name, text in more.items():
        page.fill(f"#{name}", text)
    if shot is not None:
        file: Any = {"name": "shot.png", "mimeType": "image/png", "buffer": shot}
        page.set_input_files("#shot", file)
    page.click("main form button")
    until(page, "document.getElementById('defect').value === ''")


def settled(page: Page) -> None:
    """Wait until nothing on the device is unsent, and the page says so."""
    kept = "import('/static/keep.js').then(({ kept }) => kept())"
    until(page, f"{kept}.then((all) => all.every((entry) => entry.refused))", 60)
    shown = "document.getElementById('unsent')?.textContent"
    until(page, f"{shown} !== undefined && !{shown}.includes('unsent')", 60)


def ready(page: Page, address: str) -> None:
    """Open the page with the form and wait until the worker looks after it and holds it."""
    page.goto(f"{address}{NOTE}")
    until(page, "navigator.serviceWorker.controller !== null", 60)
    until(page, "caches.match(location.href)", 60)


def until(page: Page, true: str, seconds: float = 15) -> None:
    """Wait until something is true on a page; the strict policy forbids the page to poll."""
    ends = time.monotonic() + seconds
    while not _now(page, f"Promise.resolve({true}).then(Boolean)"):
        assert time.monotonic() < ends, f"never: {true}\n{_now(page, 'document.body.innerText')}"
        page.wait_for_timeout(50)


def told(page: Page, text: str) -> None:
    """Wait until a page shows something that the book said."""
    until(page, f"document.querySelector('main .said')?.textContent.includes({text!r})")


def _now(page: Page, asked: str) -> Any:
    """Ask a page, which may just be giving way to another."""
    try:
        return page.evaluate(asked)
    except Error as error:
        if "navigation" not in str(error):
            raise
        return None


def says(page: Page, text: str, seconds: float = 15) -> None:
    """Wait until the bar of a page says something."""
    until(page, f"document.getElementById('unsent')?.textContent.includes({text!r})", seconds)
