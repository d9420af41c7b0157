"""Signing in and out, and setting a password with a one-time token."""

from __future__ import annotations

import hmac
from typing import TYPE_CHECKING

from flask import Blueprint, current_app, g, redirect, render_template, request, url_for

from recondition.book import logins, passwords, reading, sessions
from recondition.book.roles import Role
from recondition.book.trail import By
from recondition.errors import Refused
from recondition.web.entry import refused_page
from recondition.web.forms import sent
from recondition.web.inside import inside
from recondition.web.visit import OPTIONS, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("signing_in", __name__)


class BegunAlready(Refused):
    """The page for the first login is opened where there are logins, or with another token."""

    exit_status = 2

    def __init__(self) -> None:
        """Say how logins are made from then on."""
        super().__init__(
            "this address does not begin anything: the book has logins, or the address is old",
            todo="Sign in, or start 'recondition serve' again and open the address it prints.",
        )


@pages.get("/sign-in")
def sign_in() -> ResponseReturnValue:
    """Show the page to sign in."""
    if visit().session is not None:
        return redirect(inside(request.args.get("then", ""), url_for("home.first")))
    then = request.args.get("then", "")
    return render_template("web/sign_in.html.j2", then=then, name="", refused=None)


@pages.post("/sign-in")
def signed_in() -> ResponseReturnValue:
    """Sign in, and go where the visitor wanted to go."""
    name, then = sent("name", ""), sent("then", "")
    try:
        token = sessions.sign_in(the_book(), name, sent("password", ""), address=visit().address)
    except Refused as refused:
        page = render_template("web/sign_in.html.j2", then=then, name=name, refused=refused)
        return refused_page(refused, page)
    return keep(redirect(inside(then, url_for("home.first"))), token)


def keep(answer: ResponseReturnValue, token: str) -> ResponseReturnValue:
    """Put a session's token into the browser's keeping."""
    from recondition.web.app import cookie_name  # noqa: PLC0415 - the application imports this

    made = current_app.make_response(answer)
    made.set_cookie(
        cookie_name(), token, httponly=True, secure=request.is_secure, samesite="Lax", path="/",
        max_age=int(sessions.LONGEST.total_seconds()),
    )  # fmt: skip
    return made


@pages.post("/sign-out")
def sign_out() -> ResponseReturnValue:
    """Sign out; the session ends in the book too."""
    from recondition.web.app import cookie_name  # noqa: PLC0415 - the application imports this

    token = g.get("bearer") or request.cookies.get(cookie_name(), "")
    if token:
        sessions.sign_out(the_book(), token, address=visit().address)
    made = current_app.make_response(redirect(url_for("signing_in.sign_in")))
    made.delete_cookie(cookie_name(), path="/", secure=request.is_secure, httponly=True)
    made.headers["Clear-Site-Data"] = '"cache"'
    return made


@pages.get("/set-password")
def choose() -> ResponseReturnValue:
    """Show the page that takes a one-time token and a password."""
    token = request.args.get("token", "")
    return render_template("web/set_password.html.j2", token=token, refused=None)


@pages.post("/set-password")
def chosen() -> ResponseReturnValue:
    """Set a password, and sign in with it."""
    token, password = sent("token", "").strip(), sent("password", "")
    try:
        if password != sent("again", ""):
            raise TwoPasswords
        login = logins.set_password(the_book(), token, password, address=visit().address)
        session = sessions.sign_in(the_book(), login.name, password, address=visit().address)
    except Refused as refused:
        page = render_template("web/set_password.html.j2", token=token, refused=refused)
        return refused_page(refused, page)
    return keep(redirect(url_for("home.first")), session)


class TwoPasswords(Refused):
    """A password and its repetition are not the same."""

    def __init__(self) -> None:
        """Ask for it again."""
        super().__init__("the two passwords are not the same", todo="Type the same one twice.")


def _hold_first(token: str) -> None:
    """Hold that a token begins the book's logins. Raises BegunAlready."""
    wanted = current_app.extensions[OPTIONS].first_token or ""
    with the_book().reading() as conn:
        there = logins.any_there(conn)
    if there or not wanted or not hmac.compare_digest(token.encode(), wanted.encode()):
        raise BegunAlready


@pages.get("/begin/<token>")
def begin(token: str) -> ResponseReturnValue:
    """Show the page for the first login of a book, who is a dealer."""
    _hold_first(token)
    return render_template("web/begin.html.j2", token=token, given={}, refused=None)


@pages.post("/begin/<token>")
def begun(token: str) -> ResponseReturnValue:
    """Make the first login, its person too where the book has nobody of that name yet."""
    _hold_first(token)
    given = {field: sent(field, "").strip() for field in ("name", "person", "full_name")}
    try:
        session = _first(given, sent("password", ""), sent("again", ""))
    except Refused as refused:
        page = render_template("web/begin.html.j2", token=token, given=given, refused=refused)
        return refused_page(refused, page)
    return keep(redirect(url_for("home.first")), session)


def _first(given: dict[str, str], password: str, again: str) -> str:
    """Make person, login and session of whoever begins; give the session's token."""
    if password != again:
        raise TwoPasswords
    book = the_book()
    passwords.hold_good(given["name"], password)
    with book.reading() as conn:
        known = given["person"] in reading.all_refs(conn, "person")
    if not known:
        from recondition.intake.form import one_row  # noqa: PLC0415 - once in a book's life

        name = sent("full_name", label="Your name")
        row = {"ref": given["person"], "name": name, "role": "dealer"}
        made = one_row(book, "people", row, author_ref=given["person"], ref=given["person"])
        if made.refused is not None:
            raise made.refused
    by = By(None, visit().address)
    token = logins.add(book, given["name"], Role.DEALER, given["person"], by=by)
    logins.set_password(book, token, password, address=visit().address)
    return sessions.sign_in(book, given["name"], password, address=visit().address)
