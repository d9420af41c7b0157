"""Signing in and out, the first login of a book, and what a page is protected by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import logins, trail
from tests.web.visitors import (
    PASSWORD,
    app_of,
    but_chance,
    login_of,
    mark_of,
    post,
    post_json,
    signed_in,
)

if TYPE_CHECKING:
    from recondition.book.engine import Book


@pytest.fixture
def book(empty_book: Book) -> Book:
    """Give an empty book with nobody in it."""
    return empty_book


WRONG = "not the password at all"
FIRST = {
    "name": "mara", "person": "MR", "full_name": "Mara Ridd",
    "password": PASSWORD, "again": PASSWORD,
}  # fmt: skip


def test_the_first_login_is_made_once_and_only_with_the_token(book: Book) -> None:
    client = app_of(book).test_client()
    client.environ_base["REMOTE_ADDR"] = "192.0.2.7"
    assert client.get("/begin/something-else").status_code == 400
    assert client.get("/begin/begin-here").status_code == 200
    answer = post(client, "/begin/begin-here", **FIRST)
    assert answer.status_code == 302, answer.get_data(as_text=True)
    with book.reading() as conn:
        (made,) = logins.listed(conn)
        rows = trail.listed(conn, limit=100)
    assert (made.name, made.role, made.person) == ("mara", "dealer", "MR")
    assert {"login made", "password set", "signed in"} <= {row.action for row in rows}
    assert {row.address for row in rows} == {"192.0.2.7"}
    assert client.get("/begin/begin-here").status_code == 400


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"again": "another one altogether"}, "not the same"),
        ({"password": "short", "again": "short"}, "at least 12"),
        ({"full_name": ""}, "full_name"),
    ],
)
def test_what_is_wrong_with_a_first_login_is_said_and_nothing_is_made(
    book: Book, changed: dict[str, str], said: str
) -> None:
    client = app_of(book).test_client()
    answer = post(client, "/begin/begin-here", **(FIRST | changed))
    assert answer.status_code in (400, 422)
    assert said in answer.get_data(as_text=True)
    with book.reading() as conn:
        assert not logins.any_there(conn)


def test_nobody_is_sent_to_sign_in_and_back(book: Book) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    client = app_of(book).test_client()
    answer = client.get("/?a=1")
    assert answer.status_code == 302
    assert answer.location == "/sign-in?then=/?a%3D1"
    answer = post(client, "/sign-in", name="mara", password=PASSWORD, then="/?a=1")
    assert answer.location == "/?a=1"
    assert client.get("/sign-in").status_code == 302


@pytest.mark.parametrize("then", ["//elsewhere.example", "/\\elsewhere.example",
                                  "https://elsewhere.example/", "sign-in"])  # fmt: skip
def test_nobody_is_sent_elsewhere(book: Book, then: str) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    answer = post(app_of(book).test_client(), "/sign-in", name="mara", password=PASSWORD, then=then)
    assert answer.location == "/"


def test_a_wrong_password_says_no_more_than_that(book: Book) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    client = app_of(book).test_client()
    one = post(client, "/sign-in", name="mara", password=WRONG)
    other = post(client, "/sign-in", name="nobody", password=WRONG)
    assert (one.status_code, other.status_code) == (403, 403)
    pages = [answer.get_data(as_text=True) for answer in (one, other)]
    assert pages[0].replace("mara", "nobody") == pages[1]


def test_signing_out_ends_the_session_in_the_book(book: Book) -> None:
    client = app_of(book).test_client()
    post(client, "/begin/begin-here", **FIRST)
    kept = client.get_cookie("recondition")
    assert kept is not None
    assert post(client, "/sign-out").status_code == 302
    client.set_cookie("recondition", kept.value)
    assert client.get("/").location == "/sign-in?then=/"


def test_a_form_from_elsewhere_does_nothing(book: Book) -> None:
    client = app_of(book).test_client()
    post(client, "/begin/begin-here", **FIRST)
    assert client.post("/sign-out").status_code == 400
    for headers in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example"}):
        answer = client.post("/sign-out", data={"csrf": "x"}, headers=headers)
        assert "not sent from a page of this book" in answer.get_data(as_text=True)
    assert client.get("/sign-in").status_code == 302


def test_another_session_s_mark_does_not_fit(book: Book) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    mine, other = signed_in(book), signed_in(book)
    page = other.get("/set-password").get_data(as_text=True)
    mark = page.split('name="csrf" value="')[1].split('"')[0]
    assert mine.post("/sign-out", data={"csrf": mark}).status_code == 400


def test_headers_keep_a_page_to_itself(book: Book) -> None:
    answer = app_of(book).test_client().get("/sign-in")
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cache-Control"] == "no-store"
    assert "Strict-Transport-Security" not in answer.headers
    safe = app_of(book).test_client().get("/sign-in", base_url="https://shop.example.test")
    assert "Strict-Transport-Security" in safe.headers


def test_cookies_are_out_of_reach(book: Book) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    login_of(book, "preparer")
    client = app_of(book).test_client()
    safe = {"base_url": "https://shop.example.test"}
    page = client.get("/sign-in", **safe).get_data(as_text=True)
    mark = page.split('name="csrf" value="')[1].split('"')[0]
    fields = {"csrf": mark, "name": "mara", "password": PASSWORD}
    answer = client.post("/sign-in", data=fields, **safe)
    (cookie,) = [c for c in answer.headers.getlist("Set-Cookie") if PASSWORD not in c]
    assert cookie.startswith("__Host-recondition=")
    for part in ("Secure", "HttpOnly", "SameSite=Lax", "Path=/"):
        assert part in cookie


def test_what_is_not_there_is_said_in_words(book: Book) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    client = signed_in(book)
    answer = client.get("/no/such/page")
    assert answer.status_code == 404
    assert "There is no such page." in answer.get_data(as_text=True)
    answer = post_json(client, "/no/such/page")
    todo = "Look at the address, or begin at the first page."
    said = {"what": "There is no such page.", "where": "", "todo": todo, "more": []}
    assert answer.json == said


@pytest.mark.parametrize(
    "path", ["/set-password?token={}", "/sign-in?then=/{}", "/sign-in?then={}"]
)
def test_what_a_visitor_sends_is_shown_as_text(empty_book: Book, path: str) -> None:
    hostile = "%22%3E%3Cform%20action%3D%22//elsewhere.example%22%3E"
    page = app_of(empty_book).test_client().get(path.format(hostile)).get_data(as_text=True)
    assert "elsewhere.example" in page
    assert "<form action=" not in page


def test_a_page_but_for_chance_has_no_mark_and_keeps_every_word_and_amount(book: Book) -> None:
    post(app_of(book).test_client(), "/begin/begin-here", **FIRST)
    client = signed_in(book)
    page = client.get("/set-password").get_data(as_text=True)
    mark = mark_of(client)
    assert mark in page
    shown = but_chance(page)
    assert mark not in shown
    assert len(page) - len(shown) < 500
    amounts = "0007: 1,800.00 USD, HF-3107; unlinked 2031-04-20T23:30 of 4f2a9c, 12 34 56"
    assert but_chance(amounts) == amounts
    assert but_chance("key 09af 1800 77aa 01be 240c 12aa of 240") == "key …of 240"
