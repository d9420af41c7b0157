"""The trail: who did what on the pages, when, and from where.

The trail itself takes inserts only. Words and addresses stand beside it, since they may be about
somebody who has to be forgotten; an address is kept for ADDRESS_DAYS at most.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from itertools import count

from sqlalchemy import Connection, delete, insert, select

from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.sorting import by_bytes
from recondition.book.tables_logins import login, trail, trail_address, trail_words

ADDRESS_DAYS = 90
WORDS_MAX = 300

# Begins the ids, so that what one process notes at the same moment stays in its order.
_COUNT = count()


class Action(StrEnum):
    """What the book itself notes; pages add words of their own. Values are kept in the book."""

    ADDED = "login made"
    TOKEN = "one-time token given"  # noqa: S105 - no password
    PASSWORD = "password set"  # noqa: S105 - no password
    ROLE = "role changed"
    CLOSED = "login closed"
    FORGOTTEN = "login erased"
    SIGNED_IN = "signed in"
    REFUSED = "sign-in refused"
    SIGNED_OUT = "signed out"
    ENDED = "sessions ended"
    LINK = "link made"
    LINK_WITHDRAWN = "link withdrawn"


@dataclass(frozen=True, slots=True)
class By:
    """Who does something on the pages: the name of a login, and the address it comes from.

    ``name`` is None where nobody is signed in yet.
    """

    name: str | None
    address: str = ""


@dataclass(frozen=True, slots=True)
class Noted:
    """One row of the trail.

    ``at`` is a moment in UTC; ``login`` and ``role`` say who did it and what that login is today,
    '' at the command line; ``about`` is the login that it was done to, '' where there is none.
    """

    id: str
    at: datetime
    login: str
    role: str
    about: str
    action: str
    subject: str
    detail: str
    address: str


def moment(at: datetime) -> str:
    """Write a moment in UTC, each as long as the other."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def note(  # noqa: PLR0913 - each is a part of the row
    conn: Connection, *, at: datetime, action: str, login_id: str | None = None,
    about_id: str | None = None, subject: str = "", detail: str = "", address: str = "",
) -> None:  # fmt: skip
    """Note something inside the transaction that does it.

    ``login_id`` is who did it, none at the command line, ``about_id`` the login that it was done
    to. ``subject`` is a stock number, a ref or a sheet; neither it nor ``detail`` names a login,
    since that is what ``about_id`` is for. Long texts are cut to WORDS_MAX signs.
    """
    row, when = f"{next(_COUNT):08x}{secrets.token_hex(12)}", moment(at)
    conn.execute(
        insert(trail).values(id=row, at=when, login=login_id, about=about_id, action=action)
    )
    if subject or detail:
        words = {"subject": _short(subject), "detail": _short(detail)}
        conn.execute(insert(trail_words).values(trail=row, **words))
    if address:
        conn.execute(insert(trail_address).values(trail=row, at=when, address=_short(address)))


@again
def noted(  # noqa: PLR0913 - as above
    book: Book, *, action: str, login_id: str | None = None, about_id: str | None = None,
    subject: str = "", detail: str = "", address: str = "",
) -> None:  # fmt: skip
    """Note something now, in a transaction of its own. Raises BookInUse."""
    with book.writing() as conn:
        note(
            conn, at=book.now(), action=action, login_id=login_id, about_id=about_id,
            subject=subject, detail=detail, address=address,
        )  # fmt: skip


def listed(conn: Connection, *, limit: int, before: str | None = None) -> list[Noted]:
    """List at most ``limit`` rows, the newest first; those before the row ``before``.

    ``before`` is the id of a row; where there is no such row, the list is empty.
    """
    who, whom = login.alias("who"), login.alias("whom")
    query = (
        select(
            trail.c.id, trail.c.at, trail.c.action, who.c.name.label("login"), who.c.role,
            whom.c.name.label("about"), trail_words.c.subject, trail_words.c.detail,
            trail_address.c.address,
        )
        .outerjoin(who, who.c.id == trail.c.login)
        .outerjoin(whom, whom.c.id == trail.c.about)
        .outerjoin(trail_words, trail_words.c.trail == trail.c.id)
        .outerjoin(trail_address, trail_address.c.trail == trail.c.id)
        .order_by(by_bytes(trail.c.at).desc(), by_bytes(trail.c.id).desc())
        .limit(limit)
    )  # fmt: skip
    if before is not None:
        at = select(by_bytes(trail.c.at)).where(trail.c.id == before).scalar_subquery()
        same = (by_bytes(trail.c.at) == at) & (by_bytes(trail.c.id) < before)
        query = query.where((by_bytes(trail.c.at) < at) | same)
    return [
        Noted(
            row.id, datetime.fromisoformat(row.at), row.login or "", row.role or "",
            row.about or "", row.action, row.subject or "", row.detail or "", row.address or "",
        )
        for row in conn.execute(query)
    ]  # fmt: skip


def drop_addresses(conn: Connection, now: datetime) -> None:
    """Delete addresses that are older than ADDRESS_DAYS."""
    old = by_bytes(trail_address.c.at) < moment(now - timedelta(days=ADDRESS_DAYS))
    conn.execute(delete(trail_address).where(old))


def _short(text: str) -> str:
    """Write a text so that a database takes it and a line holds it."""
    return "".join(sign if sign.isprintable() else "?" for sign in text[:WORDS_MAX])
