"""Visitors of the pages without a browser: signed in by role, each form with its mark."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from recondition.book import logins, reading
from recondition.book.roles import Role
from recondition.web.app import make_app
from recondition.web.options import Options

if TYPE_CHECKING:
    from flask import Flask
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book

PASSWORD = "four dry microfibre cloths"  # noqa: S105 - of invented people
_BY_CHANCE = re.compile(r"[\w-]{20,}|(?:[0-9A-Fa-f]{2,8}[: ]){5,}")
_MADE: list[tuple[Book, Flask]] = []


def app_of(book: Book) -> Flask:
    """Give the application over a book, the same one for the whole test."""
    if not _MADE or _MADE[0][0] is not book:
        _MADE[:] = [(book, make_app(book, Options(first_token="begin-here")))]  # noqa: S106
    return _MADE[0][1]


def login_of(book: Book, role: str, person: str | None = None) -> str:
    """Make a login of a role where there is none yet; give its name."""
    name = f"{role} login"
    with book.reading() as conn:
        there = {each.name for each in logins.listed(conn)}
        first = min(reading.all_refs(conn, "person"))
    if name not in there:
        token = logins.add(book, name, Role(role), person or first, by=None)
        logins.set_password(book, token, PASSWORD)
    return name


def signed_in(book: Book, role: str = "dealer", person: str | None = None) -> FlaskClient:
    """Give a visitor who is signed in as a login of a role, whose entries are ``person``'s."""
    client = app_of(book).test_client()
    name = login_of(book, role, person)
    answer = post(client, "/sign-in", name=name, password=PASSWORD)
    assert answer.status_code == 302, answer.get_data(as_text=True)
    return client


def but_chance(text: str) -> str:
    """Leave out marks, ids and fingerprints: any short secret stands in one of them some day."""
    return _BY_CHANCE.sub("…", text)


def mark_of(client: FlaskClient) -> str:
    """Read the mark of a form that this visitor may send."""
    page = client.get("/set-password").get_data(as_text=True)
    return page.split('name="csrf" value="')[1].split('"')[0]


def post(client: FlaskClient, path: str, **fields: Any) -> TestResponse:
    """Send a form as a browser does; ``fields`` may hold opened files."""
    return client.post(path, data={"csrf": mark_of(client), **fields})


def post_json(client: FlaskClient, path: str, **fields: Any) -> TestResponse:
    """Send a form as a script does, which asks for JSON."""
    headers = {"Accept": "application/json"}
    return client.post(path, data={"csrf": mark_of(client), **fields}, headers=headers)
