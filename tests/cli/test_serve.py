"""``recondition serve`` as a process: what it prints, and how it ends."""

from __future__ import annotations

import http.client
import signal
import socket
import ssl
import threading
from pathlib import Path

import pytest

from recondition.web.authority import AUTHORITY_FILE
from tests.places import copied_book
from tests.running import run
from tests.web.making import write_pair
from tests.web.serving import SHOP, Serving, served_process

ENDED = "Stopping; what is running is finished first.\nStopped.\n"


@pytest.fixture
def book(empty_file: Path, tmp_path: Path) -> Path:
    """Copy an empty book into a folder of its own."""
    return Path(copied_book(empty_file, tmp_path / "shop.book"))


def _status(serving: Serving, path: str = "/sign-in", host: str = "127.0.0.1") -> int:
    line: http.client.HTTPConnection
    if serving.url.startswith("https:"):
        context = ssl.create_default_context()
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        line = http.client.HTTPSConnection("127.0.0.1", serving.port, timeout=10, context=context)
    else:
        line = http.client.HTTPConnection("127.0.0.1", serving.port, timeout=10)
    line.request("GET", path, headers={"Host": host})
    status = line.getresponse().status
    line.close()
    return status


def test_it_says_where_the_pages_are_and_where_a_new_book_begins(book: Path) -> None:
    with served_process(book) as serving:
        assert serving.said[0] == "The pages are at:"
        assert serving.url == f"http://127.0.0.1:{serving.port}"
        begin = serving.begin.removeprefix(serving.url)
        assert begin.startswith("/begin/")
        assert len(begin) > 40
        assert (_status(serving), _status(serving, begin)) == (200, 200)
        assert _status(serving, "/begin/guessed") != 200
        assert _status(serving, host="evil.example.test") == 400
        assert serving.stop() == (0, ENDED)


@pytest.mark.long
def test_ctrl_c_lets_what_runs_finish(book: Path) -> None:
    """A request whose body is still on its way when the end is asked for gets its answer."""
    with served_process(book, "--threads", "2") as serving:
        with socket.create_connection(("127.0.0.1", serving.port), timeout=10) as line:
            line.sendall(b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\n"
                         b"Content-Type: application/x-www-form-urlencoded\r\n\r\na")  # fmt: skip
            _status(serving)  # by then the other one is being answered
            serving.process.send_signal(signal.SIGINT)
            late = threading.Timer(1, lambda: line.sendall(b"=bc"))
            late.start()
            with line.makefile("rb") as answered:
                answer = answered.readline()
            late.join()
        assert answer.startswith(b"HTTP/1.1 ")
        assert serving.ended() == (0, ENDED)


@pytest.mark.long
def test_a_port_that_is_taken_is_said_and_nothing_stays_behind(book: Path) -> None:
    with served_process(book) as serving:
        ran = run(f"recondition serve --book {book} --port {serving.port}")
        assert (ran.status, "another program listens there already" in ran.err) == (2, True)
        pairing = f"--lan --host 127.0.0.1 --port {serving.port - 1}"
        before = threading.active_count()
        ran = run(f"recondition serve --book {book} {pairing}")
        assert (ran.status, f":{serving.port}: another program" in ran.err) == (2, True)
        assert threading.active_count() == before


@pytest.mark.long
def test_lan_serves_pages_and_pairing_and_keeps_its_authority(book: Path) -> None:
    lan = ("--lan", "--host", "127.0.0.1", "--host-name", SHOP)
    with served_process(book, *lan) as serving:
        pages, begin = serving.url, serving.begin
        assert pages == f"https://{SHOP}:{serving.port}"
        assert begin.startswith(f"{pages}/begin/")
        paired = next(address for address in serving.addresses if address.startswith("http:"))
        port = int(paired.rpartition(":")[2])
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        line.request("GET", "/", headers={"Host": SHOP})
        text = line.getresponse().read().decode().replace("<wbr>", "")
        line.close()
        marks = [said.strip() for said in serving.said if said.count(":") > 14]
        assert "".join(marks) in text
        assert pages in text
        assert _status(serving, host=SHOP) == 200
        assert serving.stop() == (0, ENDED)
    assert (book.parent / "shop.book.lan" / AUTHORITY_FILE).exists()
    with served_process(book, *lan) as again:
        assert [said.strip() for said in again.said if said.count(":") > 14] == marks


@pytest.mark.long
def test_a_certificate_of_ones_own_and_when_it_ends(book: Path) -> None:
    certificate, key = write_pair(book.parent, days=20)
    more = ("--certificate", str(certificate), "--certificate-key", str(key))
    with served_process(book, *more) as serving:
        assert serving.url == f"https://{SHOP}:{serving.port}"
        assert any(said.startswith("The certificate ends in 18 days") for said in serving.said)
        assert (_status(serving, host=SHOP), _status(serving, host="other.test")) == (200, 400)


@pytest.mark.long
def test_behind_a_proxy_the_pages_are_at_the_proxys_name(book: Path) -> None:
    with served_process(book, "--behind-proxy", "--host-name", "Pages.Example.test") as serving:
        assert serving.said[1].strip() == "https://pages.example.test"
        assert serving.said[2] == "The proxy passes requests on to:"
        assert serving.said[3].strip().startswith("http://127.0.0.1:")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ("--certificate a.pem", "need each other"),
        ("--lan --behind-proxy", "three ways to TLS"),
        ("--host-name https://shop.example.test", "no name of a machine"),
        ("--host-name 'two words'", "no name of a machine"),
        ("--port 65535", "65534"),
        ("--threads 0", "1<=x<=64"),
    ],
)
def test_what_does_not_go_together_is_said(options: str, said: str) -> None:
    ran = run(f"recondition serve {options}")
    assert ran.status == 2
    assert said in ran.err
