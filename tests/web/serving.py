"""Serves a book to the tests of this room, in a thread or as a process, and opens its pages.

Pages are asked for by the name ``shop.example.test``, as a device in a shop asks: a browser takes
``localhost`` and ``127.0.0.1`` for safe even without TLS, and would hide what is lost without it.
"""

from __future__ import annotations

import base64
import hashlib
import os
import re
import signal
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import sync_playwright

from recondition.web.authority import Authority, open_authority, server_file
from recondition.web.behind import LOOPBACK_NAMES, hosted, proxied
from recondition.web.certificates import tls_context
from recondition.web.serving import Listening, listen, stop
from tests.browsing import ARGUMENTS, chromium
from tests.places import beside, place

if TYPE_CHECKING:
    from collections.abc import Iterator
    from wsgiref.types import WSGIApplication

    from playwright.sync_api import Browser, Page

    from recondition.book.engine import Book

SHOP = "shop.example.test"
NAMES = (*LOOPBACK_NAMES, SHOP)
START = "import sys; from recondition.cli import main; sys.argv[0] = 'recondition'; main()"
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True,
    "device_scale_factor": 2,
}  # fmt: skip
DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}}


@cache
def _folder() -> tempfile.TemporaryDirectory[str]:
    """Keep a folder for the authority of this run's tests, as long as the process lives."""
    return tempfile.TemporaryDirectory()


@cache
def authority() -> Authority:
    """Give the authority that vouches for what ``served`` serves over TLS."""
    return open_authority(Path(_folder().name) / "lan", [SHOP], "test", datetime.now(UTC))


@cache
def certificate() -> Path:
    """Give the file with the key and the certificate of what ``served`` serves over TLS."""
    return server_file(authority(), NAMES, datetime.now(UTC))


def key_mark(certificates: Path) -> str:
    """Give the mark by which the browser is told to trust the first certificate of a file."""
    first = x509.load_pem_x509_certificates(certificates.read_bytes())[0]
    public = first.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(public).digest()).decode()


@contextmanager
def served(
    book: Book, *, tls: bool = False, host: str = "127.0.0.1", threads: int = 8, **options: Any
) -> Iterator[str]:
    """Serve a book in threads of this process; give the address that its pages begin at.

    ``host`` is the name in the address (``SHOP`` for the browser of this module);
    ``options`` are those of ``recondition.web.options.Options``.
    """
    from recondition.web.app import make_app  # noqa: PLC0415 - heavy, and not for all
    from recondition.web.options import Options  # noqa: PLC0415 - as above

    app: WSGIApplication = make_app(book, Options(**options))
    with served_app(app, tls=tls, host=host, threads=threads, **options) as address:
        yield address


@contextmanager
def served_app(
    app: WSGIApplication, *, tls: bool = False, host: str = "127.0.0.1", threads: int = 8,
    behind_proxy: bool = False, **_: Any,
) -> Iterator[str]:  # fmt: skip
    """Serve any application as ``served`` does."""
    context = tls_context(certificate(), certificate()) if tls else None
    guarded = hosted(app, NAMES)
    guarded = proxied(guarded) if behind_proxy else guarded
    running = listen(guarded, Listening(port=0, threads=threads, tls=context))
    try:
        yield f"{'https' if tls else 'http'}://{host}:{running.port}"
    finally:
        assert stop(running), "a request did not end"


@dataclass(slots=True)
class Serving:
    """A running ``recondition serve``: its process and the lines that it printed at the start."""

    process: subprocess.Popen[str]
    said: list[str] = field(default_factory=list)
    later: list[str] = field(default_factory=list)
    listener: Thread | None = None

    @property
    def addresses(self) -> list[str]:
        """Every address that was printed, in their order."""
        return [found for line in self.said for found in re.findall(r"https?://\S+", line)]

    @property
    def url(self) -> str:
        """The first address, to begin at."""
        return self.addresses[0]

    @property
    def begin(self) -> str:
        """The address that the first login of the book is made at."""
        return next(address for address in self.addresses if "/begin/" in address)

    @property
    def port(self) -> int:
        """The port that the pages are served at."""
        return int(self.url.rsplit(":", 1)[1].split("/")[0])

    def kill(self) -> None:
        """Take the process away without a word, as a power cut does."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(10)

    def stop(self) -> tuple[int, str]:
        """Ask the process to end; give its status and what it said after its start."""
        self.process.send_signal(signal.SIGTERM)
        return self.ended()

    def ended(self) -> tuple[int, str]:
        """Wait for the process to end; give its status and what it said after its start."""
        status = self.process.wait(20)
        assert self.listener is not None
        self.listener.join()
        return status, "".join(self.later)

    def listen(self) -> None:
        """Read on whatever it says, so that it need not wait for somebody to do so."""
        lines = self.process.stdout
        assert lines is not None
        self.listener = Thread(target=lambda: self.later.extend(lines))
        self.listener.start()


@contextmanager
def served_process(book_path: str | Path, *arguments: str) -> Iterator[Serving]:
    """Run ``recondition serve`` as a process of its own, at a free port unless one is named.

    Output and complaints come in one stream. Whatever happens, the process is gone afterwards.
    """
    port = () if "--port" in arguments else ("--port", "0")
    line = ["serve", "--book", place(book_path), *port, *arguments]
    process = subprocess.Popen(
        [sys.executable, "-c", START, *line], text=True,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        env={**os.environ, **beside(book_path)},
    )  # fmt: skip
    serving = Serving(process)
    try:
        assert process.stdout is not None
        for text in process.stdout:
            serving.said.append(text.rstrip("\n"))
            if text.startswith("Stop with"):
                break
        else:
            message = "it did not start:\n" + "\n".join(serving.said)
            raise AssertionError(message)
        serving.listen()
        yield serving
    finally:
        if process.poll() is None:
            serving.kill()
        if serving.listener is not None:
            serving.listener.join()
        assert process.stdout is not None
        process.stdout.close()


@contextmanager
def browser(*key_marks: str) -> Iterator[Browser]:
    """Start the browser; ``SHOP`` leads it to this machine, and it trusts what is served here.

    ``key_marks`` are of further certificates that it is to trust (``key_mark``).
    """
    trusted = ",".join([key_mark(certificate()), *key_marks])
    arguments = [
        *ARGUMENTS,
        f"--host-resolver-rules=MAP {SHOP} 127.0.0.1",
        f"--ignore-certificate-errors-spki-list={trusted}",
    ]
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium(), args=arguments)
        yield started
        started.close()


def tab(started: Browser, *, phone: bool = False, dark: bool = False, **more: Any) -> Page:
    """Open a tab of its own, with its own cookies, on a phone or at a desk, light or dark."""
    shape = {**(PHONE if phone else DESK), "color_scheme": "dark" if dark else "light", **more}
    context = started.new_context(**shape)
    page = context.new_page()
    page.set_default_timeout(10_000)
    return page


@contextmanager
def browser_page(url: str, *, phone: bool = False, dark: bool = False) -> Iterator[Page]:
    """Open an address in a browser of its own; ``127.0.0.1`` in it is asked for by ``SHOP``."""
    with browser() as started:
        page = tab(started, phone=phone, dark=dark)
        page.goto(by_name(url))
        yield page


def by_name(url: str) -> str:
    """Write an address of this machine as a device in the shop would ask for it."""
    return url.replace("//127.0.0.1:", f"//{SHOP}:")
