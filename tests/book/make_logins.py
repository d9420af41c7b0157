"""One row in every table of the pages, and logins that are quick to make."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import insert

from recondition.book import logins, passwords
from recondition.book.roles import Role
from recondition.book.tables import METADATA

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pytest

    from recondition.book.engine import Book

AT = "2131-03-04T10:20:30.000000+00:00"
GOOD = "four panels of old paint"
OTHER = "five quiet owls on a fence"


@dataclass
class Clock:
    """A clock that stands where a test puts it."""

    at: datetime = datetime(2031, 3, 4, 10, 20, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        """Give the moment."""
        return self.at

    def go(self, **more: float) -> None:
        """Go on by so many seconds, minutes, hours or days."""
        self.at += timedelta(**more)

    def on(self, book: Book) -> Book:
        """Give the book with this clock."""
        return replace(book, now=self)


def quickly(patched: pytest.MonkeyPatch) -> Iterator[None]:
    """Make hashes of passwords with little work, for the length of a test."""
    patched.setattr(passwords, "_MEMORY_KIB", 64)
    patched.setattr(passwords, "_PASSES", 1)
    forget_hasher()
    yield
    patched.undo()
    forget_hasher()


def forget_hasher() -> None:
    """Let the next hash be made with the parameters that then stand."""
    passwords._hasher.cache_clear()  # noqa: SLF001 - what is kept for the length of a process
    passwords._nobody.cache_clear()  # noqa: SLF001 - as above


def signed_up(book: Book, name: str, role: Role, person: str, password: str = GOOD) -> logins.Login:
    """Make a login whose password is set."""
    return logins.set_password(book, logins.add(book, name, role, person, by=None), password)


def on_pages(book: Book, person: str, vehicle: str, *, mark: str = "made", number: int = 1) -> None:
    """Put one row into every table of the pages, with ``mark`` in each text that can hold it."""
    login, line = "a1" * 16, "b2" * 16
    who = {"id": login, "name": f"{mark} name", "name_folded": f"{mark} folded", "role": "dealer"}
    rows = {
        "login": who
        | {"person": person, "password_hash": f"{mark} hash", "made_at": AT, "closed_at": AT},
        "login_token": {"token_hash": "c3" * 32, "login": login, "made_at": AT, "ends_at": AT,
                        "used_at": AT},
        "login_session": {"token_hash": "d4" * 32, "login": login, "made_at": AT, "seen_at": AT,
                          "ends_at": AT},
        "login_try": {"id": "e5" * 16, "name_hash": "f6" * 32, "address": f"{mark} place",
                      "at": AT},
        "share_link": {"id": "a7" * 16, "token_hash": "b8" * 32, "vehicle": vehicle,
                       "number": number, "made_by": login, "made_at": AT, "ends_at": AT,
                       "withdrawn_at": AT},
        "trail": {"id": line, "at": AT, "login": login, "about": login, "action": f"{mark} done"},
        "trail_words": {"trail": line, "subject": f"{mark} ref", "detail": f"{mark} words"},
        "trail_address": {"trail": line, "at": AT, "address": f"{mark} address"},
    }  # fmt: skip
    with book.writing() as conn:
        for table, row in rows.items():
            conn.execute(insert(METADATA.tables[table]).values(**row))
