"""Logins, one's own password and the trail on the pages."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from recondition.book import logins, trail
from recondition.book.roles import Role
from recondition.web.trail_page import PAGE_ROWS
from tests.book.make import add
from tests.places import copied_book, opened
from tests.web.visitors import PASSWORD, app_of, login_of, post, post_json, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book

NEW = "seven slow turns of the pad"


@pytest.fixture
def book(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    """Give a book with two people in it."""
    from recondition.fields import Words  # noqa: PLC0415 - only here
    from recondition.ledger.people import Person  # noqa: PLC0415 - as above

    made = opened(copied_book(empty_file, tmp_path / "shop.book"))
    add(made, "person", "HK", Person(name=Words("Hanna Kolb"), role="preparer"))
    add(made, "person", "MR", Person(name=Words("Mara Ridd"), role="dealer"))
    yield made
    made.close()


def by_name(book: Book, name: str) -> logins.Login:
    with book.reading() as conn:
        return logins.named(conn, name)


def test_a_login_is_added_and_its_token_shown_once(book: Book) -> None:
    client = signed_in(book)
    answer = post(client, "/logins", name="hanna", role="preparer", person="HK")
    page = answer.get_data(as_text=True)
    assert answer.status_code == 200
    found = re.search(r'value="http://localhost(/set-password\?token=[A-Za-z0-9_-]{43})"', page)
    assert found, page
    assert found[1].partition("=")[2] not in client.get("/logins").get_data(as_text=True)
    visitor = app_of(book).test_client()
    assert visitor.get(found[1]).status_code == 200
    token = found[1].partition("=")[2]
    post(visitor, "/set-password", token=token, password=PASSWORD, again=PASSWORD)
    made = by_name(book, "hanna")
    assert (made.role, made.person, made.has_password) == (Role.PREPARER, "HK", True)
    again = post_json(client, "/logins/hanna/token")
    assert again.json["address"].startswith("http://localhost/set-password?token=")
    with book.reading() as conn:
        assert token not in str(trail.listed(conn, limit=100))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"name": "hanna", "role": "king", "person": "HK"}, "there is no role"),
        ({"name": "", "role": "seller", "person": "HK"}, "a name of 1 to"),
        ({"name": "hanna", "role": "seller", "person": ""}, "Person is empty"),
        ({"name": "hanna", "role": "seller", "person": "XX"}, "XX"),
        ({"name": "Dealer Login", "role": "seller", "person": "HK"}, "already"),
    ],
)
def test_a_refused_login_is_said_and_what_was_typed_stays(
    book: Book, fields: dict[str, str], said: str
) -> None:
    answer = post(signed_in(book), "/logins", **fields)
    page = answer.get_data(as_text=True)
    assert answer.status_code in (400, 422)
    assert said in page
    assert f'name="name" value="{fields["name"]}"' in page
    with book.reading() as conn:
        assert len(logins.listed(conn)) == 1


def test_a_role_is_changed_and_a_login_closed_for_good(book: Book) -> None:
    client, other = signed_in(book), signed_in(book, "preparer")
    name = "/logins/preparer login"
    assert post(client, f"{name}/role", role="seller").status_code == 303
    assert other.get("/histories").status_code == 200
    assert by_name(book, "preparer login").role is Role.SELLER
    assert post(client, f"{name}/end").status_code == 303
    assert other.get("/histories").status_code == 302
    assert post(client, f"{name}/close").status_code == 303
    assert by_name(book, "preparer login").closed
    assert "Closed: it opens nothing any more." in client.get("/logins").get_data(as_text=True)
    refused = post(client, f"{name}/role", role="dealer")
    assert "was closed, and stays so" in refused.get_data(as_text=True)


def test_the_last_dealer_stays(book: Book) -> None:
    client = signed_in(book)
    for path, fields in (("close", {}), ("role", {"role": "seller"})):
        answer = post(client, f"/logins/dealer login/{path}", **fields)
        assert answer.status_code == 422
        assert "is the last dealer" in answer.get_data(as_text=True)
    assert not by_name(book, "dealer login").closed


def test_only_who_manages_sees_logins_and_trail(book: Book) -> None:
    for role in ("preparer", "bookkeeper", "seller"):
        client = signed_in(book, role)
        assert client.get("/logins").status_code == 403
        assert client.get("/trail").status_code == 403
        assert post(client, "/logins", name="x", role="dealer", person="MR").status_code == 403
        assert post(client, "/logins/dealer login/close").status_code == 403
        assert client.get("/password").status_code == 200


def test_the_trail_has_where_each_thing_on_a_page_was_done(book: Book) -> None:
    client = signed_in(book)
    client.environ_base["REMOTE_ADDR"] = "192.0.2.7"
    given = post_json(client, "/logins", name="hanna", role="preparer", person="HK").get_json()
    token = given["address"].partition("token=")[2]
    post(client, "/logins/hanna/token")
    post(client, "/logins/hanna/role", role="seller")
    again = post_json(client, "/logins/hanna/token").get_json()["address"].partition("token=")[2]
    assert again != token
    post(app_of(book).test_client(), "/set-password", token=again, password=NEW, again=NEW)
    for way in ("end", "close"):
        post(client, f"/logins/hanna/{way}")
    post(client, "/sign-out")
    with book.reading() as conn:
        rows = trail.listed(conn, limit=100)
    told = {row.action: row.address for row in rows if row.address == "192.0.2.7"}
    assert set(told) == {"login made", "one-time token given", "role changed", "sessions ended",
                         "login closed", "signed out"}  # fmt: skip
    assert {row.address for row in rows if row.action == "password set"} >= {"127.0.0.1"}


def test_what_each_role_may_is_said_in_words(book: Book) -> None:
    page = signed_in(book).get("/logins").get_data(as_text=True)
    row = page[page.index("make and release the work history") :].split("</tr>")[0]
    assert re.findall(r"<td [^>]*>(\w+)</td>", row) == ["no", "yes", "no", "yes"]


def test_anybody_changes_their_own_password_and_is_signed_out_elsewhere(book: Book) -> None:
    client, elsewhere = signed_in(book, "preparer"), signed_in(book, "preparer")
    for fields, said in (
        ({"old": PASSWORD, "password": NEW, "again": "another"}, "not the same"),
        ({"old": PASSWORD, "password": "short", "again": "short"}, "at least 12"),
        ({"old": "wrong one", "password": NEW, "again": NEW}, "is wrong"),
    ):
        answer = post(client, "/password", **fields)
        assert said in answer.get_data(as_text=True)
        assert answer.status_code >= 400
    assert elsewhere.get("/password").status_code == 200
    assert post(client, "/password", old=PASSWORD, password=NEW, again=NEW).status_code == 303
    assert client.get("/password").status_code == 200
    assert elsewhere.get("/password").status_code == 302
    visitor = app_of(book).test_client()
    name = login_of(book, "preparer")
    assert post(visitor, "/sign-in", name=name, password=PASSWORD).status_code == 403
    assert post(visitor, "/sign-in", name=name, password=NEW).status_code == 302


def test_the_trail_goes_page_by_page_and_says_who_did_what(book: Book) -> None:
    client = signed_in(book)
    who = by_name(book, "dealer login").id
    with book.writing() as conn:
        for number in range(PAGE_ROWS + 5):
            trail.note(conn, at=book.now(), action="tried out", login_id=who, subject=f"S-{number}")
    first = client.get("/trail").get_data(as_text=True)
    assert first.count("tried out") == PAGE_ROWS
    assert "dealer login (dealer)" in first
    before = re.search(r'href="(/trail\?before=[0-9a-f]{32})"', first)
    assert before
    second = client.get(before[1]).get_data(as_text=True)
    assert second.count("tried out") == 5
    assert "signed in" in second
    assert "Nothing was done before that." in client.get("/trail?before=none").get_data(
        as_text=True
    )
