"""Signing in and out of the pages, and who is visiting.

The browser keeps a token of 32 random bytes, the book its SHA-256. A session ends after 12 hours
without a visit, and after 14 days in any case. What a form has to send along is worked out from
the token and kept nowhere.
"""

from __future__ import annotations

import hashlib
import hmac
from base64 import urlsafe_b64encode
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, select, update

from recondition.book import passwords, throttling
from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.errors import BookInUse
from recondition.book.logins import Login, columns, doer, hash_of, login_of, named, new_token
from recondition.book.sorting import by_bytes
from recondition.book.tables import entity
from recondition.book.tables_logins import login, login_session
from recondition.book.throttling import TooManyTries
from recondition.book.trail import Action, By, drop_addresses, moment, note
from recondition.errors import Refused

__all__ = ["Session", "TooManyTries", "WrongNameOrPassword", "csrf_of", "end_all", "sign_in",
           "sign_out", "visiting"]  # fmt: skip

IDLE = timedelta(hours=12)
LONGEST = timedelta(days=14)
SEEN_EVERY = timedelta(minutes=5)
_SEEN_WAIT_SECONDS = 0.05


class WrongNameOrPassword(Refused):
    """A sign-in with a name that is not there, a wrong password, or a login that is closed."""

    exit_status = 2

    def __init__(self) -> None:
        """Say the same of each."""
        super().__init__(
            "the name or the password is wrong",
            todo="Try again. Who forgot the password asks a dealer for a new one-time token.",
        )


@dataclass(frozen=True, slots=True)
class Session:
    """A visit of somebody who signed in; ``csrf`` is what each form of the session sends along."""

    login: Login
    csrf: str
    made_at: datetime
    token_hash: str


def sign_in(book: Book, name: str, password: str, *, address: str) -> str:
    """Begin a session; give its token, which is kept nowhere.

    ``address`` is where the visitor comes from, '' where that is not known. Raises TooManyTries,
    WrongNameOrPassword (the same words after the same work, whatever is wrong),
    PasswordsNotInstalled.
    """
    throttling.hold(book, name, address)
    with book.reading() as conn:
        query = select(login.c.id, login.c.password_hash).where(
            login.c.name_folded == passwords.folded(name), login.c.closed_at.is_(None)
        )
        found = conn.execute(query).first()
    kept = found.password_hash if found else None
    if not passwords.fits(kept, password) or kept is None:
        _refused(book, name, address)
        raise WrongNameOrPassword
    renewed = passwords.hashed(password) if passwords.is_old(kept) else kept
    return _begun(book, name, (kept, renewed), address)


@again
def _refused(book: Book, name: str, address: str) -> None:
    """Note a sign-in that failed; a name of no login is not kept, since it may be a password."""
    with book.writing() as conn:
        query = select(login.c.id).where(login.c.name_folded == passwords.folded(name))
        about = conn.execute(query).scalar()
        note(conn, at=book.now(), action=Action.REFUSED, about_id=about, address=address)


@again
def _begun(book: Book, name: str, hashes: tuple[str, str], address: str) -> str:
    """Keep a new session, unless the login was closed or its password changed meanwhile."""
    kept, renewed = hashes
    token, now = new_token(), book.now()
    with book.writing() as conn:
        mine = (login.c.password_hash == kept, login.c.closed_at.is_(None))
        who = named(conn, name).id
        changed = update(login).where(login.c.id == who, *mine).values(password_hash=renewed)
        if not conn.execute(changed).rowcount:
            raise WrongNameOrPassword
        throttling.forgive(conn, name)
        _sweep(conn, now)
        row = {"made_at": moment(now), "seen_at": moment(now), "ends_at": moment(now + LONGEST)}
        conn.execute(insert(login_session).values(token_hash=hash_of(token), login=who, **row))
        note(conn, at=now, action=Action.SIGNED_IN, login_id=who, address=address)
    return token


def _sweep(conn: Connection, now: datetime) -> None:
    """Delete sessions that have ended, and addresses that are old."""
    ended = by_bytes(login_session.c.ends_at) <= moment(now)
    idle = by_bytes(login_session.c.seen_at) <= moment(now - IDLE)
    conn.execute(delete(login_session).where(ended | idle))
    drop_addresses(conn, now)


def visiting(book: Book, token: str) -> Session | None:
    """Give the session of a token; None where there is none, or none any longer.

    That it was seen is kept every SEEN_EVERY at most, and not at all while others write.
    """
    now, own = book.now(), hash_of(token)
    query = (
        select(*columns(), login_session.c.made_at, login_session.c.seen_at)
        .select_from(login_session)
        .join(login, login.c.id == login_session.c.login)
        .join(entity, entity.c.id == login.c.person)
        .where(
            login_session.c.token_hash == own,
            by_bytes(login_session.c.ends_at) > moment(now),
            by_bytes(login_session.c.seen_at) > moment(now - IDLE),
            login.c.closed_at.is_(None),
        )
    )
    with book.reading() as conn:
        row = conn.execute(query).first()
    if row is None:
        return None
    if now - datetime.fromisoformat(row.seen_at) >= SEEN_EVERY:
        with suppress(BookInUse):
            _seen(book, own, now)
    return Session(login_of(row), csrf_of(token), datetime.fromisoformat(row.made_at), own)


def _seen(book: Book, own: str, now: datetime) -> None:
    """Keep when a session was seen."""
    with book.writing(wait_seconds=_SEEN_WAIT_SECONDS) as conn:
        mine = login_session.c.token_hash == own
        conn.execute(update(login_session).where(mine).values(seen_at=moment(now)))


def csrf_of(token: str) -> str:
    """Give what the forms of a session send along: HMAC-SHA-256 (RFC 2104) under its token."""
    key = token.encode("utf-8", "surrogatepass")
    return urlsafe_b64encode(hmac.digest(key, b"form", hashlib.sha256)).decode().rstrip("=")


@again
def sign_out(book: Book, token: str, *, address: str = "") -> None:
    """End one session, where there is one; ``address`` is where that is asked from."""
    with book.writing() as conn:
        mine = login_session.c.token_hash == hash_of(token)
        who = conn.execute(select(login_session.c.login).where(mine)).scalar()
        if who is not None:
            conn.execute(delete(login_session).where(mine))
            note(conn, at=book.now(), action=Action.SIGNED_OUT, login_id=who, address=address)


@again
def end_all(book: Book, name: str, *, by: By | None = None) -> None:
    """End every session of a login; ``by`` as in ``logins.add``. Raises NoSuchLogin."""
    with book.writing() as conn:
        found, (who, address) = named(conn, name), doer(conn, by)
        conn.execute(delete(login_session).where(login_session.c.login == found.id))
        note(
            conn, at=book.now(), action=Action.ENDED, login_id=who, about_id=found.id,
            address=address,
        )  # fmt: skip
