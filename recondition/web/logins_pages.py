"""Logins: who may sign in and in which role, one-time tokens, and one's own password."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, jsonify, redirect, render_template, url_for

from recondition.book import logins, sessions
from recondition.book.roles import RIGHTS, Right, Role
from recondition.errors import Refused
from recondition.web.entry import done, refused_page, scripted
from recondition.web.forms import sent
from recondition.web.signing_in import TwoPasswords, keep
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("logins", __name__)


class NoSuchRole(Refused):
    """A role that there is not."""

    exit_status = 2

    def __init__(self, typed: str) -> None:
        """Show it, and name those that there are."""
        super().__init__(
            f"there is no role {typed!r}", where="role",
            todo=f"Take one of: {', '.join(role.value for role in Role)}.",
        )  # fmt: skip


def _own() -> str:
    """Give the name of the login that acts."""
    return visit().signed_in.login.name


def _role(typed: str) -> Role:
    """Read a role. Raises NoSuchRole."""
    try:
        return Role(typed)
    except ValueError:
        raise NoSuchRole(typed) from None


@pages.get("/logins")
@needs(Right.MANAGE)
def every() -> ResponseReturnValue:
    """List the logins, and what each role may."""
    return _page()


def _page(refused: Refused | None = None) -> str:
    """Draw the list, with a form for one more."""
    with the_book().reading() as conn:
        found, people = logins.listed(conn), logins.people(conn)
    given = {field: sent(field, "") for field in ("name", "role", "person")}
    return render_template(
        "web/logins.html.j2", logins=found, people=people, refused=refused, given=given,
        roles=list(Role), rights=RIGHTS, all_rights=list(Right), own=_own(),
    )  # fmt: skip


def _again(refused: Refused) -> ResponseReturnValue:
    """Show the list with what was refused."""
    return refused_page(refused, _page(refused))


@pages.post("/logins")
@needs(Right.MANAGE)
def add() -> ResponseReturnValue:
    """Add a login, and show its one-time token this once."""
    name = sent("name", "").strip()
    try:
        role, person = _role(sent("role", "")), sent("person", label="Person")
        token = logins.add(the_book(), name, role, person, by=visit().by)
    except Refused as refused:
        return _again(refused)
    return _token_page(name, token)


def _token_page(name: str, token: str) -> ResponseReturnValue:
    """Show the address at which a login sets its password; it is kept nowhere."""
    address = url_for("signing_in.choose", token=token, _external=True)
    if scripted():
        return jsonify({"said": [], "to": url_for("logins.every"), "address": address})
    return render_template(
        "web/logins_token.html.j2", name=name, address=address, hours=logins.TOKEN_HOURS
    )


@pages.post("/logins/<path:name>/token")
@needs(Right.MANAGE)
def anew(name: str) -> ResponseReturnValue:
    """Give a login a new one-time token, and show it this once."""
    try:
        token = logins.anew(the_book(), name, by=visit().by)
    except Refused as refused:
        return _again(refused)
    return _token_page(name, token)


@pages.post("/logins/<path:name>/role")
@needs(Right.MANAGE)
def change_role(name: str) -> ResponseReturnValue:
    """Give a login another role."""
    try:
        role = _role(sent("role", ""))
        logins.change_role(the_book(), name, role, by=visit().by)
    except Refused as refused:
        return _again(refused)
    to = url_for("logins.every") if name != _own() or role is Role.DEALER else url_for("home.first")
    return done([f"{name} is a {role.value} from the next page on."], to)


@pages.post("/logins/<path:name>/end")
@needs(Right.MANAGE)
def end_sessions(name: str) -> ResponseReturnValue:
    """Sign a login out everywhere."""
    try:
        sessions.end_all(the_book(), name, by=visit().by)
    except Refused as refused:
        return _again(refused)
    return done([f"{name} is signed out everywhere."], url_for("logins.every"))


@pages.post("/logins/<path:name>/close")
@needs(Right.MANAGE)
def close(name: str) -> ResponseReturnValue:
    """Close a login for good."""
    try:
        logins.close(the_book(), name, by=visit().by)
    except Refused as refused:
        return _again(refused)
    return done([f"The login {name} is closed."], url_for("logins.every"))


@pages.get("/password")
@needs()
def password() -> ResponseReturnValue:
    """Show the form for one's own password."""
    return render_template("web/logins_password.html.j2", refused=None)


@pages.post("/password")
@needs()
def change_password() -> ResponseReturnValue:
    """Change one's own password; all other sessions of the login end."""
    book, new, name = the_book(), sent("password", ""), _own()
    try:
        if new != sent("again", ""):
            raise TwoPasswords
        logins.hold_password(name, new)
        # The old one is tried as at the door, and counts there where it is wrong.
        sessions.sign_in(book, name, sent("old", ""), address=visit().address)
        token = logins.anew(book, name, by=visit().by)
        logins.set_password(book, token, new, address=visit().address)
        session = sessions.sign_in(book, name, new, address=visit().address)
    except Refused as refused:
        page = render_template("web/logins_password.html.j2", refused=refused)
        return refused_page(refused, page)
    if scripted():
        return keep(jsonify({"said": ["The password is changed."], "to": "/"}), session)
    return keep(redirect(url_for("home.first"), 303), session)
