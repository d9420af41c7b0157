"""The server: who gets in, who does not hold the others up, and how it ends."""

from __future__ import annotations

import http.client
import socket
import ssl
import threading
import time
from contextlib import ExitStack
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from flask import Flask, request
from playwright.sync_api import Error

from recondition.web import behind, serving
from recondition.web.serving import (
    Listening,
    NotListening,
    OpenToReaders,
    hold_protected,
    listen,
    stop,
)
from tests.places import created, opened
from tests.web.serving import SHOP, authority, browser, by_name, served, served_app, tab

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def _app() -> Flask:
    app = Flask("test")

    @app.route("/", methods=["GET", "POST"])
    def page() -> str:
        if request.method == "POST":
            return str(len(request.get_data()))
        return f"<title>{request.host_url}</title>{request.remote_addr}"

    return app


def _slow() -> tuple[Flask, threading.Event, threading.Event]:
    """Give an application that says when it was asked, and answers when it may."""
    app, asked, over = Flask("slow"), threading.Event(), threading.Event()

    @app.get("/")
    def page() -> str:
        asked.set()
        over.wait(60)
        return "done"

    return app, asked, over


@pytest.fixture(scope="module")
def asked() -> list[str]:
    """Give the list of what the application of this module's server was asked for."""
    return []


@pytest.fixture(scope="module")
def plain(asked: list[str]) -> Iterator[str]:
    """Serve over plain HTTP, for those who only ask."""
    app = _app()
    app.before_request(lambda: asked.append(request.path))
    with served_app(app) as url:
        yield url


@pytest.fixture(scope="module")
def safe() -> Iterator[str]:
    """Serve over TLS, for those who only ask."""
    with served_app(_app(), tls=True, threads=4) as url:
        yield url


def _port(url: str) -> int:
    return int(url.rpartition(":")[2])


def _get(
    url: str, path: str = "/", **headers: str
) -> tuple[int, str]:  # fmt: skip
    """Ask for a page; an ``_`` in a header's name stands for ``-``."""
    made: type[http.client.HTTPConnection] = http.client.HTTPConnection
    more = {}
    if url.startswith("https:"):
        trusted = authority().certificate.public_bytes(Encoding.PEM).decode()
        made = http.client.HTTPSConnection
        more = {"context": ssl.create_default_context(cadata=trusted)}
    line = made("127.0.0.1", _port(url), timeout=10, **more)
    try:
        line.request("GET", path, headers={k.replace("_", "-"): v for k, v in headers.items()})
        answer = line.getresponse()
        return answer.status, answer.read().decode()
    finally:
        line.close()


@pytest.mark.parametrize(
    "host",
    ["127.0.0.1", "localhost:{port}", "LOCALHOST", f"{SHOP}:{{port}}", f"{SHOP}.", "[::1]:{port}",
     "shop.example.test:443"],
)  # fmt: skip
def test_whoever_asks_by_a_name_that_is_served_gets_in(plain: str, host: str) -> None:
    assert _get(plain, Host=host.format(port=_port(plain)))[0] == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example.test", f"{SHOP}.evil.example.test", f"not{SHOP}", "", "[::2]", "::1:80:80",
     f"{SHOP}@evil.example.test", f"evil.example.test#{SHOP}", "192.168.1.1"],
)  # fmt: skip
def test_whoever_asks_by_another_name_is_told_and_reaches_nothing(
    plain: str, asked: list[str], host: str
) -> None:
    asked.clear()
    status, words = _get(plain, Host=host)
    forwarded, _ = _get(plain, Host=host or "none", X_Forwarded_Host=SHOP)
    assert (status, forwarded, asked) == (400, 400, [])
    assert "not served under this name" in words
    assert not host or host not in words


def test_a_proxy_is_believed_only_where_there_is_one(plain: str) -> None:
    said = {"X_Forwarded_For": "203.0.113.9", "X_Forwarded_Proto": "https",
            "X_Forwarded_Host": SHOP}  # fmt: skip
    status, words = _get(plain, **said)
    assert (status, "203.0.113.9" in words, "https:" in words) == (200, False, False)
    with served_app(_app(), behind_proxy=True) as url:
        assert _get(url, **said) == (200, f"<title>https://{SHOP}/</title>203.0.113.9")
        last = "198.51.100.1, 203.0.113.9"
        assert "203.0.113.9" in _get(url, **{**said, "X_Forwarded_For": last})[1]
        assert _get(url, **{**said, "X_Forwarded_Host": "evil.example.test"})[0] == 400


def test_pages_come_over_tls_under_their_name(safe: str) -> None:
    assert _get(safe, Host=f"{SHOP}:{_port(safe)}")[1].startswith(f"<title>https://{SHOP}:")


def test_whoever_stays_silent_holds_nobody_up(safe: str) -> None:
    with ExitStack() as silent:
        for _ in range(3):
            silent.enter_context(socket.create_connection(("127.0.0.1", _port(safe))))
        began = time.monotonic()
        assert _get(safe)[0] == 200
        assert time.monotonic() - began < serving.SILENT_SECONDS / 2


def test_whoever_speaks_plain_http_to_tls_is_told(safe: str) -> None:
    with (
        socket.create_connection(("127.0.0.1", _port(safe)), timeout=10) as line,
        line.makefile("rb") as answered,
    ):
        line.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
        answer = answered.read()
    assert answer.startswith(b"HTTP/1.1 400 ")
    assert b"write https:// before the address" in answer


def test_nonsense_at_the_port_of_tls_harms_nobody(
    safe: str, capfd: pytest.CaptureFixture[str]
) -> None:
    for sent in (b"\x16\x03\x01\x02\x00\x01", b"\0" * 4000, b"", bytes(range(256))):
        with socket.create_connection(("127.0.0.1", _port(safe)), timeout=10) as line:
            line.sendall(sent)
    assert _get(safe)[0] == 200
    assert capfd.readouterr().err == ""


def test_more_than_is_taken_is_refused_before_it_is_read(plain: str, safe: str) -> None:
    length = str(serving.BODY_MAX_BYTES + 1)
    for url in (plain, safe):
        assert _get(url, Content_Length=length)[0] == 413
        assert _get(url, Cookie="a" * serving.HEADERS_MAX_BYTES)[0] == 413
        assert _get(url)[0] == 200


def test_what_runs_is_finished_and_nobody_else_is_let_in() -> None:
    app, asked, over = _slow()
    running = listen(app, Listening(port=0, threads=2))
    found: list[tuple[int, str]] = []
    url = f"http://127.0.0.1:{running.port}"
    asking = threading.Thread(target=lambda: found.append(_get(url)))
    asking.start()
    assert asked.wait(60)
    threading.Timer(0.5, over.set).start()
    assert stop(running)
    asking.join()
    assert found == [(200, "done")]
    assert not running.alive
    with pytest.raises(ConnectionRefusedError):
        _get(url)


def test_what_takes_too_long_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "STOPPING_SECONDS", 0.1)
    app, asked, over = _slow()
    running = listen(app, Listening(port=0, threads=1))
    asking = threading.Thread(target=lambda: _get(f"http://127.0.0.1:{running.port}"))
    asking.start()
    assert asked.wait(60)
    assert not stop(running)
    assert asking.is_alive()  # it is left to itself
    over.set()
    asking.join()


def test_why_one_cannot_listen_is_said() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(NotListening, match=f"127.0.0.1:{port}: another program"):
            listen(_app(), Listening(port=port))
    for host in ("203.0.113.7", "no-such-machine.invalid", "2001:db8::7"):
        with pytest.raises(NotListening, match="no address of this machine"):
            listen(_app(), Listening(host=host, port=0))


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_this_machine_alone_may_be_spoken_to_in_plain_sight(host: str) -> None:
    hold_protected(host, protected=False)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.2", "no-such-machine.invalid"])  # noqa: S104 - to be refused
def test_a_network_may_not(host: str) -> None:
    with pytest.raises(OpenToReaders, match=host):
        hold_protected(host, protected=False)
    hold_protected(host, protected=True)


def test_what_is_private() -> None:
    inside = ("10.0.0.1", "172.31.9.9", "192.168.0.1", "169.254.1.1", "127.0.0.1", "fd00::1", "::1")
    outside = ("8.8.4.4", "172.32.0.1", "192.169.0.1", "2001:db8::1", "::ffff:8.8.4.4")
    assert [behind.is_private(address) for address in inside] == [True] * len(inside)
    assert [behind.is_private(address) for address in outside] == [False] * len(outside)
    assert all(behind.is_private(address) for address in behind.private_addresses())
    assert behind.machine_names()[0].endswith(".local")


def test_a_book_keeps_a_connection_for_each_thread(tmp_path: Path) -> None:
    created(tmp_path / "shop.book").close()
    book = opened(tmp_path / "shop.book", keep=5)
    together = threading.Barrier(5)

    def read() -> None:
        with book.reading():
            together.wait(10)

    readers = [threading.Thread(target=read) for _ in range(5)]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    assert book.engine.pool.checkedin() == 5  # type: ignore[attr-defined]
    book.close()


def test_how_to_speak_tls_is_told_to_everybody(tmp_path: Path) -> None:
    created(tmp_path / "shop.book").close()
    book = opened(tmp_path / "shop.book")
    with served(book) as url:
        status, text = _get(url, "/help/tls")
    book.close()
    assert status == 200
    for said in ("--lan", "--certificate-key", "--behind-proxy", "--host-name", "X-Forwarded-For",
                 "X-Forwarded-Proto", "X-Forwarded-Host"):  # fmt: skip
        assert said in text, said


@pytest.mark.long
def test_by_its_name_a_page_is_safe_over_tls_alone() -> None:
    with (
        served_app(_app(), tls=True, host=SHOP) as safe,
        served_app(_app()) as plain,
        browser() as started,
    ):
        page = tab(started, phone=True)
        for url, secure in ((safe, True), (by_name(plain), False), (plain, True)):
            page.goto(url)
            assert page.evaluate("window.isSecureContext") is secure, url
            assert page.title() == f"{url}/"
        page.goto(safe)
        assert page.evaluate("'serviceWorker' in navigator")


@pytest.mark.long
def test_a_browser_that_does_not_trust_the_authority_opens_nothing() -> None:
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - the one that is not ours

    from tests.browsing import ARGUMENTS, chromium  # noqa: PLC0415 - as above

    rule = f"--host-resolver-rules=MAP {SHOP} 127.0.0.1"
    with served_app(_app(), tls=True, host=SHOP) as safe, sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium(), args=[*ARGUMENTS, rule])
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            started.new_page().goto(safe)
        started.close()


def test_a_slash_that_is_written_as_a_code_is_one() -> None:
    app = Flask("slashes")
    app.add_url_rule("/of/<path:ref>", "of", lambda ref: f"{ref} of {request.path}")
    with served_app(app) as address:
        host = address.removeprefix("http://")
        asked = http.client.HTTPConnection(host, timeout=10)
        asked.request("GET", "/of/24%2F017%2fb")
        assert asked.getresponse().read() == b"24/017/b of /of/24/017/b"
        asked.close()
