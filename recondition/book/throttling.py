"""How often a password may be guessed: by name and by address, whether or not there is such a name.

After FREE guesses within WINDOW each further one has to wait, 1 second and then twice as long each
time, up to the window itself. So no window ever holds more than GUESSES_MOST guesses for one name,
or from one address. A guess is noted before it is looked at, so that many at once count too.
"""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime, timedelta

from sqlalchemy import Column, Connection, delete, insert, select, text

from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.passwords import folded
from recondition.book.sorting import by_bytes
from recondition.book.tables_logins import login_try
from recondition.book.trail import moment
from recondition.errors import Refused

FREE = 5
WINDOW = timedelta(minutes=15)
GUESSES_MOST = 14
"""FREE, and as many waits of 1, 2, 4... seconds as there is room for in a window: 9."""
_ADDRESS_MAX = 100
_ALONE = text("LOCK TABLE login_try IN SHARE ROW EXCLUSIVE MODE")


class TooManyTries(Refused):
    """Too many sign-ins failed under one name or from one address; ``seconds`` are to be waited."""

    exit_status = 2

    def __init__(self, seconds: int) -> None:
        """Say how long to wait."""
        self.seconds = seconds
        super().__init__(
            "too many sign-ins failed under this name or from this place",
            todo=f"Try again in {seconds} {'second' if seconds == 1 else 'seconds'}. Who forgot "
            "the password asks a dealer for a new one-time token.",
        )


def name_hash(name: str) -> str:
    """Give what is kept of a name that somebody tried: by mistake it may be a password."""
    return hashlib.sha256(folded(name).encode("utf-8", "surrogatepass")).hexdigest()


def wait_after(failures: int) -> timedelta:
    """Give how long to wait after so many failures within a window."""
    if failures < FREE:
        return timedelta(0)
    return min(timedelta(seconds=2 ** (failures - FREE)), WINDOW)


@again
def hold(book: Book, name: str, address: str) -> None:
    """Note that a password is about to be tried. Raises TooManyTries, and nothing is noted then.

    An ``address`` of '' is none, and is not counted.
    """
    address = address[:_ADDRESS_MAX]
    with book.writing() as conn:
        if conn.dialect.name == "postgresql":
            conn.execute(_ALONE)
        now, who = book.now(), name_hash(name)
        conn.execute(delete(login_try).where(by_bytes(login_try.c.at) <= moment(now - WINDOW)))
        left = _left(conn, login_try.c.name_hash, who, now)
        if address:
            left = max(left, _left(conn, login_try.c.address, address, now))
        if left > timedelta(0):
            raise TooManyTries(-(-left // timedelta(seconds=1)))
        row = {"id": uuid.uuid4().hex, "name_hash": who, "address": address}
        conn.execute(insert(login_try).values(**row, at=moment(now)))


def forgive(conn: Connection, name: str) -> None:
    """Forget what was tried under a name, inside a transaction that is open."""
    conn.execute(delete(login_try).where(login_try.c.name_hash == name_hash(name)))


def _left(conn: Connection, column: Column[str], value: str, now: datetime) -> timedelta:
    """Give how long is still to be waited for one name or address."""
    query = select(login_try.c.at).where(column == value)
    tries = sorted(datetime.fromisoformat(at) for at in conn.execute(query).scalars())
    if not tries:
        return timedelta(0)
    return tries[-1] + wait_after(len(tries)) - now
