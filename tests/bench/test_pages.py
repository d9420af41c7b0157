"""Fifty people clicking at once on PostgreSQL, beside a bare page in the same run.

Both are asked by the same visitors with the same pauses over the same kind of server, first the
bare page, then ours: one process each, as many threads. The target is the 95th percentile of
ordinary pages under 200 ms on two cores.
"""

from __future__ import annotations

import http.client
import random
import subprocess
import sys
import time
from contextlib import closing, contextmanager
from statistics import median, quantiles
from threading import Thread
from typing import TYPE_CHECKING
from urllib.parse import urlencode, urlsplit

import pytest

from recondition.book import copying, logins, reading
from recondition.book.engine import open_book
from recondition.book.roles import Role
from tests.postgres import serving as postgres
from tests.web.serving import served_process
from tests.web.visitors import PASSWORD

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

PEOPLE, PAUSE_S, SECONDS = 50, 2.0, 40
TARGET_MS = 200
ROLES = (Role.PREPARER, Role.PREPARER, Role.DEALER, Role.BOOKKEEPER, Role.SELLER)
BARE = (
    "from flask import Flask\n"
    "from cheroot.wsgi import Server\n"
    "app = Flask('bare')\n"
    "app.get('/')(lambda: '<!doctype html><title>bare</title><p>bare</p>')\n"
    "server = Server(('127.0.0.1', 0), app, numthreads=16)\n"
    "server.prepare()\n"
    "print(server.bind_addr[1], flush=True)\n"
    "server.serve()\n"
)


def pages_of(role: Role, vehicles: list[str]) -> list[str]:
    """Give the ordinary pages of a role, as often as they are opened."""
    cars = [f"/vehicles/{stock}" for stock in vehicles]
    match role:
        case Role.PREPARER:
            benches = [f"/bench/{stock}" for stock in vehicles]
            return ["/bench", *benches, *benches, *(f"{each}/finding" for each in benches)]
        case Role.DEALER:
            return ["/vehicles", *cars, *(f"{each}/ledger" for each in cars), "/search?q=bonnet"]
        case Role.BOOKKEEPER:
            return ["/books", "/books/accounts", "/stock", *(f"{each}/ledger" for each in cars)]
    return ["/histories", *(f"/histories/{stock}" for stock in vehicles)]


class Visitor(Thread):
    """One person: signs in where there is a login, then opens a page after each pause."""

    def __init__(self, address: str, pages: list[str], login: str | None, seed: int) -> None:
        """Take the pages that are opened in turn by chance."""
        super().__init__(daemon=True)
        self.place = urlsplit(address).netloc
        self.pages, self.login = pages, login
        self.chance = random.Random(seed)  # noqa: S311 - pauses, no secrets
        self.took: list[tuple[str, float]] = []
        self.failed: list[str] = []
        self.cookie = ""

    def arrive(self) -> None:
        """Sign in, where there is a login."""
        if self.login:
            with closing(http.client.HTTPConnection(self.place, timeout=60)) as link:
                self.cookie = self._sign_in(link)

    def run(self) -> None:
        """Click until the time is over."""
        with closing(http.client.HTTPConnection(self.place, timeout=60)) as link:
            self._click(link, {"Cookie": self.cookie} if self.cookie else {})

    def _click(self, link: http.client.HTTPConnection, headers: dict[str, str]) -> None:
        """Open one page after another."""
        time.sleep(self.chance.uniform(0, PAUSE_S))
        ends = time.monotonic() + SECONDS
        while time.monotonic() < ends:
            page = self.chance.choice(self.pages)
            began = time.perf_counter()
            link.request("GET", page, headers=headers)
            answer = link.getresponse()
            answer.read()
            self.took.append((page, (time.perf_counter() - began) * 1000))
            if answer.status != 200:
                self.failed.append(f"{page}: {answer.status}")
            time.sleep(self.chance.uniform(PAUSE_S / 2, PAUSE_S * 3 / 2))

    def _sign_in(self, link: http.client.HTTPConnection) -> str:
        """Sign in; give the cookie of the session."""
        link.request("GET", "/sign-in")
        answer = link.getresponse()
        page = answer.read().decode()
        mark = page.split('name="csrf" value="')[1].split('"')[0]
        cookie = answer.getheader("Set-Cookie", "").split(";")[0]
        body = urlencode({"csrf": mark, "name": self.login, "password": PASSWORD})
        kind = "application/x-www-form-urlencoded"
        link.request("POST", "/sign-in", body, {"Cookie": cookie, "Content-Type": kind})
        answer = link.getresponse()
        answer.read()
        assert answer.status == 302, answer.status
        given = answer.headers.get_all("Set-Cookie") or []
        return next(each.split(";")[0] for each in given if "recondition=" in each)


def clicked(address: str, visits: Sequence[tuple[list[str], str | None]]) -> list[Visitor]:
    """Let all visitors click at once; give them afterwards."""
    visitors = [Visitor(address, pages, login, at) for at, (pages, login) in enumerate(visits)]
    for visitor in visitors:
        visitor.arrive()
    for visitor in visitors:
        visitor.start()
    for visitor in visitors:
        visitor.join()
    return visitors


def told(name: str, visitors: list[Visitor]) -> float:
    """Say how long pages took; give the 95th percentile in milliseconds."""
    times = [took for visitor in visitors for _, took in visitor.took]
    at_95 = quantiles(times, n=20)[-1]
    say(f"\n{name}: {len(times)} pages, {len(times) / SECONDS:.1f} a second")
    say(f"  median {median(times):.1f} ms, 95th percentile {at_95:.1f} ms, "
        f"longest {max(times):.0f} ms")  # fmt: skip
    return at_95


def say(words: str) -> None:
    """Print a figure."""
    sys.stdout.write(f"{words}\n")


def by_page(visitors: list[Visitor]) -> None:
    """Say which pages took longest."""
    pages: dict[str, list[float]] = {}
    for visitor in visitors:
        for page, took in visitor.took:
            pages.setdefault(page.split("?")[0], []).append(took)
    for page, took in sorted(pages.items(), key=lambda each: -median(each[1]))[:12]:
        say(f"  {page}: median {median(took):.0f} ms, longest {max(took):.0f} ms")


@pytest.fixture
def shop(
    demo: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[str, list[str]]]:
    """Give the demo's book on a PostgreSQL that writes to the disk, and its stock numbers.

    It has fifty logins.
    """
    with postgres(hasty=False) as make:
        url = make("shop")
        monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
        copying.copy_book(str(demo[0] / "made" / "demo.book"), url)
        with closing(open_book(url)) as book:
            with book.reading() as conn:
                people, stocks = (reading.all_refs(conn, kind) for kind in ("person", "vehicle"))
            for at in range(PEOPLE):
                role = ROLES[at % len(ROLES)]
                token = logins.add(book, f"login {at}", role, people[at % len(people)], by=None)
                logins.set_password(book, token, PASSWORD)
        yield url, stocks


@contextmanager
def bare() -> Iterator[str]:
    """Serve a bare page; give its address."""
    process = subprocess.Popen([sys.executable, "-c", BARE], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        yield f"http://127.0.0.1:{process.stdout.readline().strip()}"
    finally:
        process.kill()
        process.stdout.close()
        process.wait()


@pytest.mark.bench
def test_fifty_people(shop: tuple[str, list[str]]) -> None:
    url, stocks = shop
    with bare() as address:
        plain = told("bare page", clicked(address, [(["/"], None)] * PEOPLE))
    roles = [ROLES[at % len(ROLES)] for at in range(PEOPLE)]
    visits = [(pages_of(role, stocks), f"login {at}") for at, role in enumerate(roles)]
    with served_process(url, "--threads", "16") as running:
        visitors = clicked(running.url, visits)
    ours = told("ours", visitors)
    by_page(visitors)
    say(f"ratio of the 95th percentiles {ours / plain:.1f}")
    assert [each for visitor in visitors for each in visitor.failed] == []
    assert ours < TARGET_MS
