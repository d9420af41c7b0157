"""What somebody tries who wants more than is theirs, or wants the pages to fall over."""

from __future__ import annotations

import re
from html import unescape
from threading import Thread
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

import pytest
from flask import render_template_string, url_for
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recondition.book import passwords, reading, trail
from recondition.errors import Refused
from recondition.web.app import make_app
from recondition.web.entry import refused_page
from tests.web.test_jobs import sent
from tests.web.test_who_may import ways
from tests.web.visitors import app_of, login_of, mark_of, post, signed_in

if TYPE_CHECKING:
    from flask import Flask
    from flask.testing import FlaskClient

    from recondition.book.engine import Book

SHOWN = "{{ refused.what }}|{{ refused.todo }}"


def refusing(book: Book) -> Flask:
    """Give the application with two pages that refuse, and one with a mistake of ours."""
    app = make_app(book)
    refused = Refused("3 h cost 1,234.50 USD", where=f"{book.location}", todo="Take 45.00 EUR.")

    @app.get("/refusing")
    def _raised() -> str:
        raise refused

    @app.get("/refusing/page")
    def _shown() -> Any:
        return refused_page(refused, render_template_string(SHOWN, refused=refused))

    @app.get("/mistaken/<token>")
    def _mistaken(token: str) -> str:
        message = f"no such thing: {token} {book.location}"
        raise RuntimeError(message)

    return app


def visitor(app: Flask, book: Book, role: str) -> FlaskClient:
    """Sign in to an application of the test's own."""
    client = signed_in(book, role)
    kept = client.get_cookie("recondition")
    assert kept is not None
    made = app.test_client()
    made.set_cookie("recondition", kept.value)
    return made


@pytest.mark.parametrize("path", ["/refusing", "/refusing/page"])
@pytest.mark.parametrize("kind", ["text/html", "application/json"])
def test_a_refusal_tells_no_amount_to_the_bench_and_no_folder_to_anybody(
    shop_book: Book, path: str, kind: str
) -> None:
    for role, seen in (("dealer", True), ("preparer", False), ("seller", False)):
        app = refusing(shop_book)
        answer = visitor(app, shop_book, role).get(path, headers={"Accept": kind})
        text = answer.get_data(as_text=True)
        assert "3 h cost" in text
        assert ("1,234.50" in text, "45.00" in text) == (seen, seen)
        assert str(shop_book.files.parent) not in text


def test_a_mistake_of_ours_is_told_without_what_it_was(
    shop_book: Book, caplog: pytest.LogCaptureFixture
) -> None:
    client = visitor(refusing(shop_book), shop_book, "dealer")
    answer = client.get("/mistaken/a-secret-token")
    text = answer.get_data(as_text=True)
    assert answer.status_code == 500
    assert "on our side" in text
    assert not [word for word in ("RuntimeError", "a-secret", ".book") if word in text]
    assert "/mistaken/<token>" in caplog.messages[0]
    assert "a-secret" not in caplog.messages[0]


def taken_in(client: FlaskClient, rows: list[list[Any]], sheet: str) -> dict[str, Any]:
    """Have a workbook checked and, where nothing is wrong, entered; give how it ended."""
    begun = post(client, "/import", workbook=sent(rows, sheet))
    checked = ended(client, begun.location)
    if checked["refused"]:
        return checked
    job = begun.location.rpartition("/")[2]
    return ended(client, post(client, f"/import/{job}/enter").location)


def ended(client: FlaskClient, address: str) -> dict[str, Any]:
    """Wait for long work."""
    until = monotonic() + 60
    while monotonic() < until:
        told: dict[str, Any] = client.get(
            address, headers={"Accept": "application/json"}
        ).get_json()
        if told["ended"]:
            return told
        sleep(0.1)
    raise TimeoutError(address)


PEOPLE = [["ref", "name", "role"], ["ZZ", "Zoe Zander", "preparer"]]


def test_a_workbook_brings_in_no_more_than_the_forms_of_a_role(shop_book: Book) -> None:
    told = taken_in(signed_in(shop_book, "bookkeeper"), PEOPLE, "people")
    assert told["refused"]["what"] == "this login may not enter rows of the sheet people."
    with shop_book.reading() as conn:
        assert "ZZ" not in reading.all_refs(conn, "person")
    told = taken_in(signed_in(shop_book, "dealer"), PEOPLE, "people")
    assert told["refused"] is None
    with shop_book.reading() as conn:
        assert "ZZ" in reading.all_refs(conn, "person")
        (noted,) = [n for n in trail.listed(conn, limit=20) if n.action == "workbook taken in"]
    assert (noted.login, noted.subject) == ("dealer login", "firms.xlsx")
    assert noted.detail == "1 of 1 rows were new"


@pytest.mark.parametrize("stock", ["26/014", "a?b#c", "<b>", "%2e%2e", "a%2Fb", "\u00e9"])
def test_whatever_stands_in_a_stock_number_it_has_its_pages(shop_book: Book, stock: str) -> None:
    dealer = signed_in(shop_book, "dealer")
    row = {"ref": stock, "designation": "Wick Two", "holding": "own stock"}
    assert post(dealer, "/enter/vehicles", **row).status_code == 303
    seen: set[tuple[str, str]] = set()
    for first in ("/vehicles", "/bench", "/histories"):
        page = dealer.get(first).get_data(as_text=True)
        with app_of(shop_book).test_request_context():
            one = url_for({"/vehicles": "vehicles.one", "/bench": "bench.car"}.get(
                first, "histories.one"), stock=stock)  # fmt: skip
        assert f'href="{one}"' in page
        page = dealer.get(one).get_data(as_text=True)
        seen |= {
            each
            for each in re.findall(r'(href|action)="([^"#]+)"', page)
            if each[1].startswith(one)
        }
    assert len(seen) > 8
    routes = app_of(shop_book).url_map.bind("")
    for kind, link in seen:
        path = unquote(unescape(link).partition("?")[0])
        found = routes.match(path, method="GET" if kind == "href" else "POST")
        assert found[1]["stock"] == stock
        if kind == "href":
            with dealer.get(unescape(link)) as answer:
                assert answer.status_code in (200, 302), link


@pytest.mark.long
def test_fifty_sign_ins_at_once_take_the_memory_of_four(
    shop_book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    login_of(shop_book, "dealer")
    most, now = [0], [0]
    made = passwords._hasher()  # noqa: SLF001 - what takes the memory
    real = type(made).verify

    def counted(own: Any, *given_: Any) -> bool:
        now[0] += 1
        most[0] = max(most[0], now[0])
        sleep(0.01)
        try:
            return bool(real(own, *given_))
        finally:
            now[0] -= 1

    monkeypatch.setattr(type(made), "verify", counted)
    app = app_of(shop_book)
    answers: list[int] = []

    def one(place: int) -> None:
        client = app.test_client()
        client.environ_base["REMOTE_ADDR"] = f"192.0.2.{place}"
        answers.append(post(client, "/sign-in", name=f"n{place}", password="x" * 20).status_code)

    threads = [Thread(target=one, args=(place,)) for place in range(50)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(answers) <= {403, 503}
    assert 403 in answers
    assert 1 <= most[0] <= 4


# What fields of forms are called, and what is typed into them.
NAMES = ("name", "ref", "vehicle", "key", "at", "to", "then", "why", "day", "days", "number",
         "period", "month", "words", "role", "person", "what", "cash", "seconds", "way", "product",
         "container", "gross", "panel", "candidate", "mark", "reason", "place", "x", "values",
         "password", "quantity", "unit", "likely", "reading", "on", "file")  # fmt: skip
TYPED = st.one_of(
    st.text(max_size=30),
    st.sampled_from(["0007", "blade", "bonnet", "-1", "1e999", "NaN", "9" * 40, "2031-02-30", "[]",
                     "{}", "'", "<b>", "..", "/", "\ud800", "2031-03", "0", "10 ml"]),
)  # fmt: skip


def _typed(rule: str, words: list[str]) -> str:
    """Fill the parts of an address with words."""
    parts = rule.split("/")
    for place, part in enumerate(parts):
        if "<" in part:
            word = words[place % len(words)].encode("utf-8", "surrogatepass")
            parts[place] = "1" if "int:" in part else quote(word, safe="") or "none"
    return "/".join(parts)


@pytest.mark.long
def test_whatever_is_sent_is_no_mistake_of_ours(shop_book: Book) -> None:
    client = signed_in(shop_book, "dealer")
    mark = mark_of(client)
    known = [(m, r.rule) for m, r in ways(shop_book) if not r.rule.startswith("/api/")]
    apart = ("/week", "/look", "/password", "/close")  # long work; what ends the session
    known = [(m, rule) for m, rule in known if m == "GET" or not rule.endswith(apart)]

    @settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
    @given(
        st.sampled_from(known), st.lists(TYPED, min_size=1, max_size=4),
        st.dictionaries(st.sampled_from(NAMES), TYPED, max_size=6),
    )  # fmt: skip
    def tried(way: tuple[str, str], words: list[str], fields: dict[str, str]) -> None:
        method, rule = way
        plain = {n: t.encode("utf-8", "surrogatepass") for n, t in fields.items()}
        data = {} if method == "GET" else {"csrf": mark, **plain}
        query = plain if method == "GET" else {}
        with client.open(
            _typed(rule, words), method=method, data=data, query_string=query
        ) as answer:
            assert answer.status_code < 500, (rule, answer.status_code)

    tried()
