"""Links that show the public sheet of one vehicle, and nothing else, to whoever has them."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, insert, select, update

from recondition.book.again import again
from recondition.book.context import NotThere
from recondition.book.editions import editions_of, withdrawals_of
from recondition.book.engine import Book
from recondition.book.logins import doer, hash_of, new_token
from recondition.book.reading import id_of
from recondition.book.sorting import by_bytes
from recondition.book.tables import entity
from recondition.book.tables_logins import login, share_link
from recondition.book.trail import Action, By, moment, note
from recondition.errors import Refused

DAYS_MOST = 3660


class NotSoManyDays(Refused):
    """A link that was to hold for less than a day, or longer than anybody remembers it."""

    exit_status = 2

    def __init__(self, days: int) -> None:
        """Name the days."""
        super().__init__(
            f"a link cannot hold for {days} days",
            todo=f"Give 1 to {DAYS_MOST} days, or none for a link that holds until withdrawn.",
        )


class EditionGone(Refused):
    """A link to an edition that was withdrawn."""

    def __init__(self, vehicle: str, number: int) -> None:
        """Name the vehicle and the edition."""
        super().__init__(
            f"edition {number} of vehicle {vehicle} was withdrawn",
            todo="Make the link to another edition, or to the newest.",
        )


@dataclass(frozen=True, slots=True)
class Link:
    """One link: of which vehicle and edition (None: the newest), who made it, how long it holds.

    ``made_by`` is the name of a login, '' at the command line.
    """

    id: str
    vehicle: str
    number: int | None
    made_by: str
    made_at: datetime
    ends_at: datetime | None
    withdrawn_at: datetime | None

    def holds(self, now: datetime) -> bool:
        """Tell whether it opens anything at a moment."""
        return self.withdrawn_at is None and (self.ends_at is None or now < self.ends_at)


@again
def make(
    book: Book, vehicle_ref: str, *, number: int | None, by: By | None, days: int | None
) -> str:
    """Make a link; give its token, which is kept nowhere.

    Without a number it shows the newest edition, whichever that is when it is opened. ``by`` is
    who makes it. Raises NotThere, EditionGone, NotSoManyDays, NoSuchLogin.
    """
    if days is not None and not 1 <= days <= DAYS_MOST:
        raise NotSoManyDays(days)
    token, now = new_token(), book.now()
    with book.writing() as conn:
        (who, address), vehicle = doer(conn, by), id_of(conn, "vehicle", vehicle_ref)
        if number is not None:
            _hold_edition(conn, vehicle, vehicle_ref, number)
        row = {"id": uuid.uuid4().hex, "token_hash": hash_of(token), "vehicle": vehicle}
        ends_at = None if days is None else moment(now + timedelta(days=days))
        conn.execute(
            insert(share_link).values(
                **row, number=number, made_by=who, made_at=moment(now), ends_at=ends_at
            )
        )
        note(
            conn, at=now, action=Action.LINK, login_id=who, subject=vehicle_ref,
            detail=_which(number), address=address,
        )  # fmt: skip
    return token


def found(book: Book, token: str) -> tuple[str, int | None] | None:
    """Give the vehicle and the edition that a link shows; None where it opens nothing.

    The edition may have been withdrawn since the link was made.
    """
    query = (
        select(entity.c.ref, share_link.c.number, share_link.c.ends_at)
        .join(entity, entity.c.id == share_link.c.vehicle)
        .where(share_link.c.token_hash == hash_of(token), share_link.c.withdrawn_at.is_(None))
    )
    with book.reading() as conn:
        row = conn.execute(query).first()
    if row is None or (row.ends_at is not None and row.ends_at <= moment(book.now())):
        return None
    return row.ref, row.number


@again
def withdraw(book: Book, link_id: str, by: By | None) -> None:
    """Let a link open nothing any more; one that was withdrawn before stays as it is.

    Raises NotThere, NoSuchLogin.
    """
    with book.writing() as conn:
        (who, address), now = doer(conn, by), book.now()
        query = (
            select(entity.c.ref, share_link.c.number, share_link.c.withdrawn_at)
            .join(entity, entity.c.id == share_link.c.vehicle)
            .where(share_link.c.id == link_id)
        )
        row = conn.execute(query).first()
        if row is None:
            raise NotThere(what="link", name=link_id)
        if row.withdrawn_at is None:
            mine = update(share_link).where(share_link.c.id == link_id)
            conn.execute(mine.values(withdrawn_at=moment(now)))
            note(
                conn, at=now, action=Action.LINK_WITHDRAWN, login_id=who, subject=row.ref,
                detail=_which(row.number), address=address,
            )  # fmt: skip


def listed(conn: Connection, vehicle_ref: str | None = None) -> list[Link]:
    """List the links of one vehicle, or of all, the newest first. Raises NotThere."""
    query = (
        select(share_link, entity.c.ref, login.c.name)
        .join(entity, entity.c.id == share_link.c.vehicle)
        .outerjoin(login, login.c.id == share_link.c.made_by)
        .order_by(by_bytes(share_link.c.made_at).desc(), by_bytes(share_link.c.id))
    )
    if vehicle_ref is not None:
        query = query.where(share_link.c.vehicle == id_of(conn, "vehicle", vehicle_ref))
    return [
        Link(
            row.id, row.ref, row.number, row.name or "", datetime.fromisoformat(row.made_at),
            _read(row.ends_at), _read(row.withdrawn_at),
        )
        for row in conn.execute(query)
    ]  # fmt: skip


def _hold_edition(conn: Connection, vehicle: str, ref: str, number: int) -> None:
    """Hold that an edition is there and stands. Raises NotThere, EditionGone."""
    made = {each.entry.number: each.id for each in editions_of(conn, vehicle)}
    if number not in made:
        raise NotThere(what="edition", name=f"{number} of vehicle {ref}")
    if made[number] in withdrawals_of(conn, vehicle):
        raise EditionGone(ref, number)


def _which(number: int | None) -> str:
    """Say which edition a link shows."""
    return "newest edition" if number is None else f"edition {number}"


def _read(at: str | None) -> datetime | None:
    """Read a moment that need not be there."""
    return None if at is None else datetime.fromisoformat(at)
