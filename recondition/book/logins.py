"""Logins: who may come to the pages, in which role, and as which person of the book.

A login opens nothing before its password is set, with a token that is shown once and works once.
On a server, whoever adds, changes or closes logins has their table alone, so that of two dealers
who close one another at the same moment one is left.
"""

from __future__ import annotations

import hashlib
import secrets
import uuid
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    delete,
    func,
    insert,
    select,
    text,
    update,
)

from recondition.book import passwords
from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.reading import id_of, stored
from recondition.book.roles import Role
from recondition.book.tables import entity
from recondition.book.tables_logins import login, login_session, login_token
from recondition.book.trail import Action, By, moment, note
from recondition.errors import Refused

TOKEN_HOURS = 48
NAME_MAX = 60
_ALONE = text("LOCK TABLE login IN SHARE ROW EXCLUSIVE MODE")


class BadLoginName(Refused):
    """A name that no login can have."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what a name is."""
        super().__init__(
            f"a login has a name of 1 to {NAME_MAX} signs that can be seen",
            todo="Take the name by which the person signs in, such as initials.",
        )


class LoginTaken(Refused):
    """A name that another login has, in whatever capitals."""

    exit_status = 2

    def __init__(self, name: str) -> None:
        """Name it."""
        super().__init__(
            f"there is a login {name!r} already",
            todo="Take another name. Who forgot a password gets a new one-time token: "
            "recondition login anew NAME. The name of a closed login is not given again.",
        )


class NoSuchLogin(Refused):
    """A login that is not in the book."""

    def __init__(self, name: str) -> None:
        """Name it."""
        super().__init__(
            f"there is no login {name!r} in the book",
            todo="See 'recondition login list', or add it first.",
        )


class LoginClosed(Refused):
    """A login that was closed and was to be changed."""

    def __init__(self, name: str) -> None:
        """Name it."""
        super().__init__(
            f"the login {name!r} was closed, and stays so",
            todo="Add another one for the person: recondition login add NAME ROLE --person REF.",
        )


class LastDealer(Refused):
    """The last login of a dealer was to be closed or to get another role."""

    def __init__(self, name: str) -> None:
        """Name it."""
        super().__init__(
            f"{name!r} is the last dealer, and somebody must be able to give and take logins",
            todo="Add another dealer first.",
        )


class TokenSpent(Refused):
    """A one-time token that is unknown, was used, or has run out."""

    exit_status = 2

    def __init__(self) -> None:
        """Say how long one works."""
        super().__init__(
            "this one-time token opens nothing: it was used, replaced, or is older than "
            f"{TOKEN_HOURS} hours",
            todo="Ask a dealer for a new one, or run 'recondition login anew NAME'.",
        )


@dataclass(frozen=True, slots=True)
class Login:
    """Somebody who may sign in; ``person`` is the ref of whose entries theirs are."""

    id: str
    name: str
    role: Role
    person: str
    person_id: str
    closed: bool
    has_password: bool


def hash_of(token: str) -> str:
    """Give what is kept of a token: its SHA-256, since it is random and cannot be guessed."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def new_token() -> str:
    """Give 32 random bytes as a text for addresses and cookies."""
    return secrets.token_urlsafe(32)


def named(conn: Connection, name: str) -> Login:
    """Give a login by its name, in whatever capitals. Raises NoSuchLogin."""
    row = conn.execute(_logins().where(login.c.name_folded == passwords.folded(name))).first()
    if row is None:
        raise NoSuchLogin(name)
    return login_of(row)


def listed(conn: Connection) -> list[Login]:
    """List every login by its name, closed ones last."""
    found = [login_of(row) for row in conn.execute(_logins())]
    return sorted(found, key=lambda each: (each.closed, passwords.folded(each.name)))


def any_there(conn: Connection) -> bool:
    """Tell whether anybody could sign in, or could once a password is set."""
    return conn.execute(select(login.c.id).where(login.c.closed_at.is_(None))).first() is not None


def doer(conn: Connection, by: By | None) -> tuple[str | None, str]:
    """Give the id of the login that acts, None where there is none, and the address.

    Raises NoSuchLogin.
    """
    if by is None:
        return None, ""
    return named(conn, by.name).id if by.name else None, by.address


def people(conn: Connection) -> list[str]:
    """List the refs of the persons that a login can be for: those who still have a name."""
    return sorted(each.ref for each in stored(conn, "person") if each.entry.name)


def hold_password(name: str, password: str) -> None:
    """Hold that a login of this name can have this password, before it is there.

    Raises PasswordTooShort, PasswordIsName, PasswordCommon.
    """
    passwords.hold_good(name, password)


@again
def add(book: Book, name: str, role: Role, person_ref: str, *, by: By | None) -> str:
    """Add a login; give the token with which its password is set, which is kept nowhere.

    ``by`` is who adds it, None at the command line. Raises BadLoginName,
    LoginTaken, NotThere, NoSuchLogin.
    """
    shown = " ".join(name.split())
    if not (0 < len(shown) <= NAME_MAX and shown.isprintable()):
        raise BadLoginName
    with book.writing() as conn:
        _alone(conn)
        (who, address), person = doer(conn, by), id_of(conn, "person", person_ref)
        folded = passwords.folded(shown)
        if conn.execute(select(login.c.id).where(login.c.name_folded == folded)).first():
            raise LoginTaken(shown)
        new, now = uuid.uuid4().hex, book.now()
        row = {"id": new, "name": shown, "name_folded": folded, "role": role.value}
        conn.execute(insert(login).values(**row, person=person, made_at=moment(now)))
        note(
            conn, at=now, action=Action.ADDED, login_id=who, about_id=new, detail=role.value,
            address=address,
        )  # fmt: skip
        return _give_token(book, conn, new)


@again
def anew(book: Book, name: str, *, by: By | None) -> str:
    """Give a new token with which a login sets its password; those before no longer work.

    The password stays what it is until then. Raises NoSuchLogin, LoginClosed.
    """
    with book.writing() as conn:
        _alone(conn)
        (who, address), found = doer(conn, by), _open(conn, name)
        note(
            conn, at=book.now(), action=Action.TOKEN, login_id=who, about_id=found.id,
            address=address,
        )  # fmt: skip
        return _give_token(book, conn, found.id)


def set_password(book: Book, token: str, password: str, *, address: str = "") -> Login:
    """Set the password of the login that a one-time token was given for, and end its sessions.

    ``address`` is where it is set from, '' at the command line.
    Raises TokenSpent, PasswordTooShort, PasswordIsName, PasswordCommon, PasswordsNotInstalled;
    after a password that is not taken the token still works.
    """
    with book.reading() as conn:
        found = _token_of(book, conn, token)
    passwords.hold_good(found.name, password)
    return _set(book, token, passwords.hashed(password), address)


@again
def _set(book: Book, token: str, kept: str, address: str) -> Login:
    """Keep the hash of a password and use up the token."""
    with book.writing() as conn:
        _alone(conn)
        found, now = _token_of(book, conn, token), book.now()
        conn.execute(update(login).where(login.c.id == found.id).values(password_hash=kept))
        mine = login_token.c.login == found.id
        spent = update(login_token).where(mine, login_token.c.used_at.is_(None))
        conn.execute(spent.values(used_at=moment(now)))
        conn.execute(delete(login_session).where(login_session.c.login == found.id))
        note(
            conn, at=now, action=Action.PASSWORD, login_id=found.id, about_id=found.id,
            address=address,
        )  # fmt: skip
        return named(conn, found.name)


@again
def change_role(book: Book, name: str, role: Role, *, by: By | None) -> None:
    """Give a login another role; it counts from the next page on.

    Raises NoSuchLogin, LoginClosed, LastDealer.
    """
    with book.writing() as conn:
        _alone(conn)
        (who, address), found = doer(conn, by), _open(conn, name)
        if role is not found.role:
            _hold_dealer(conn, found)
            conn.execute(update(login).where(login.c.id == found.id).values(role=role.value))
            said = f"{found.role.value} to {role.value}"
            note(
                conn, at=book.now(), action=Action.ROLE, login_id=who, about_id=found.id,
                detail=said, address=address,
            )  # fmt: skip


@again
def close(book: Book, name: str, *, by: By | None) -> None:
    """Close a login for good and end its sessions. Raises NoSuchLogin, LoginClosed, LastDealer."""
    with book.writing() as conn:
        _alone(conn)
        (who, address), found = doer(conn, by), _open(conn, name)
        _hold_dealer(conn, found)
        now = book.now()
        conn.execute(update(login).where(login.c.id == found.id).values(closed_at=moment(now)))
        for table in (login_session, login_token):
            conn.execute(delete(table).where(table.c.login == found.id))
        note(
            conn, at=now, action=Action.CLOSED, login_id=who, about_id=found.id, address=address
        )  # fmt: skip


def logins_of(conn: Connection, person_id: str) -> list[Login]:
    """List the logins of one person."""
    return [login_of(row) for row in conn.execute(_logins().where(login.c.person == person_id))]


def _logins() -> Select[Any]:
    """Ask for logins with the refs of their persons."""
    return select(*columns()).join(entity, entity.c.id == login.c.person)


def columns() -> list[ColumnElement[Any]]:
    """List what a query of logins has to give for ``login_of``; it joins ``entity``."""
    return [
        login.c.id, login.c.name, login.c.role, entity.c.ref, login.c.person,
        login.c.closed_at.is_not(None).label("closed"),
        login.c.password_hash.is_not(None).label("has_password"),
    ]  # fmt: skip


def login_of(row: Any) -> Login:  # noqa: ANN401 - a row of those columns, and of more
    """Make a login of a row."""
    return Login(
        row.id, row.name, Role(row.role), row.ref, row.person, bool(row.closed),
        bool(row.has_password),
    )  # fmt: skip


def _alone(conn: Connection) -> None:
    """Let nobody else change logins until this transaction ends; SQLite has one writer anyway."""
    if conn.dialect.name == "postgresql":
        conn.execute(_ALONE)


def _open(conn: Connection, name: str) -> Login:
    """Give a login that is not closed. Raises NoSuchLogin, LoginClosed."""
    found = named(conn, name)
    if found.closed:
        raise LoginClosed(found.name)
    return found


def _hold_dealer(conn: Connection, found: Login) -> None:
    """Hold that a dealer is left without this one. Raises LastDealer."""
    dealers = select(func.count()).where(
        login.c.role == Role.DEALER.value, login.c.closed_at.is_(None)
    )
    if found.role is Role.DEALER and conn.execute(dealers).scalar_one() == 1:
        raise LastDealer(found.name)


def _give_token(book: Book, conn: Connection, login_id: str) -> str:
    """Make a token for a login, in the place of those before."""
    token, now = new_token(), book.now()
    conn.execute(delete(login_token).where(login_token.c.login == login_id))
    row = {"made_at": moment(now), "ends_at": moment(now + timedelta(hours=TOKEN_HOURS))}
    conn.execute(insert(login_token).values(token_hash=hash_of(token), login=login_id, **row))
    return token


def _token_of(book: Book, conn: Connection, token: str) -> Login:
    """Give the login that a token was given for and still works for. Raises TokenSpent."""
    query = select(login_token.c.ends_at, *columns()).where(
        login_token.c.token_hash == hash_of(token),
        login_token.c.used_at.is_(None),
        login.c.closed_at.is_(None),
    )
    joined = query.join(login, login.c.id == login_token.c.login)
    row = conn.execute(joined.join(entity, entity.c.id == login.c.person)).first()
    if row is None or row.ends_at <= moment(book.now()):
        raise TokenSpent
    return login_of(row)
