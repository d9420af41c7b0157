"""What the pages keep about a person: handing it out, and letting it go.

A login of somebody erased or restricted is closed and gets a name that says nothing; its sessions
go at once, and so do the addresses and the words in the trail that are theirs. The rows of the
trail stay: what was done, when, and that it was a login which is no more.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, delete, func, or_, select, update

from recondition.book.logins import logins_of
from recondition.book.mentions import Names
from recondition.book.tables import entity
from recondition.book.tables_logins import (
    login,
    login_session,
    login_token,
    share_link,
    trail,
    trail_address,
    trail_words,
)
from recondition.book.throttling import forgive
from recondition.book.trail import Action, moment, note

BATCH = 500
Plain = dict[str, Any]


def kept_of(conn: Connection, person_id: str) -> Plain:
    """Give everything that the pages keep about a person, as plain values."""
    ids = [each.id for each in logins_of(conn, person_id)]
    return {
        "logins": [_login(row) for row in conn.execute(select(login).where(login.c.id.in_(ids)))],
        "signed in": _rows(conn, login_session.c.login.in_(ids)),
        "links made": _links(conn, ids),
        "trail": [_noted(row, ids) for row in _trail(conn, ids)],
    }


def _login(row: Row[Any]) -> Plain:
    """Write a login without the hash of its password, which opens something."""
    return {
        "name": row.name,
        "role": row.role,
        "made_at": row.made_at,
        "closed_at": row.closed_at,
        "has a password": row.password_hash is not None,
    }


def _rows(conn: Connection, of: ColumnElement[bool]) -> list[Plain]:
    """Write sessions without the hashes of their tokens."""
    columns = (login_session.c.made_at, login_session.c.seen_at, login_session.c.ends_at)
    return [dict(row) for row in conn.execute(select(*columns).where(of)).mappings()]


def _links(conn: Connection, ids: Sequence[str]) -> list[Plain]:
    """Write the links that some logins made."""
    query = (
        select(entity.c.ref, share_link.c.made_at)
        .join(entity, entity.c.id == share_link.c.vehicle)
        .where(share_link.c.made_by.in_(ids))
        .order_by(share_link.c.made_at)
    )
    return [{"vehicle": row.ref, "made_at": row.made_at} for row in conn.execute(query)]


def _of(ids: Sequence[str]) -> ColumnElement[bool]:
    """Give the condition that a row of the trail is by or about one of some logins."""
    return or_(trail.c.login.in_(ids), trail.c.about.in_(ids))


def _trail(conn: Connection, ids: Sequence[str]) -> Iterator[Row[Any]]:
    """Read the rows of the trail that are by or about some logins, with all beside them."""
    query = (
        select(trail, trail_words.c.subject, trail_words.c.detail, trail_address.c.address)
        .outerjoin(trail_words, trail_words.c.trail == trail.c.id)
        .outerjoin(trail_address, trail_address.c.trail == trail.c.id)
        .where(_of(ids))
        .order_by(trail.c.at, trail.c.id)
    )
    yield from conn.execute(query)


def _noted(row: Row[Any], ids: Sequence[str]) -> Plain:
    """Write a row of the trail."""
    return {
        "at": row.at,
        "by this person": row.login in ids,
        "action": row.action,
        "subject": row.subject or "",
        "detail": row.detail or "",
        "address": row.address or "",
    }


def forget(conn: Connection, person_id: str, names: Names, ref: str, now: datetime) -> None:
    """Close a person's logins, and let go of what the pages keep about them.

    ``names`` is what the person is called, and ``ref`` the person's own. Words of the trail go
    where they may name them, whoever wrote them.
    """
    theirs = logins_of(conn, person_id)
    ids = [each.id for each in theirs]
    for each in theirs:
        forgive(conn, each.name)
        _close(conn, each.id, now)
    for table in (login_session, login_token):
        conn.execute(delete(table).where(table.c.login.in_(ids)))
    rows = select(trail.c.id).where(_of(ids))
    conn.execute(delete(trail_address).where(trail_address.c.trail.in_(rows)))
    _forget_words(conn, [names, Names((each.name for each in theirs), ref)])


def _close(conn: Connection, login_id: str, now: datetime) -> None:
    """Close one login, and give it a name that says nothing."""
    name = f"erased-{uuid.uuid4().hex[:12]}"
    given = {"password_hash": None, "name": name, "name_folded": name}
    closed = func.coalesce(login.c.closed_at, moment(now))
    conn.execute(update(login).where(login.c.id == login_id).values(**given, closed_at=closed))
    note(conn, at=now, action=Action.FORGOTTEN, about_id=login_id)


def _forget_words(conn: Connection, names: Sequence[Names]) -> None:
    """Delete the words beside the trail that may name somebody."""
    with conn.execute(select(trail_words).execution_options(yield_per=BATCH)) as rows:
        named = [
            row.trail
            for row in rows
            if any(each.found_in(f"{row.subject} {row.detail}") is not None for each in names)
        ]
    for start in range(0, len(named), BATCH):
        some = named[start : start + BATCH]
        conn.execute(delete(trail_words).where(trail_words.c.trail.in_(some)))
