"""Nobody is signed in to a book that was copied, restored, or brought to another schema."""

from __future__ import annotations

import zipfile
from typing import TYPE_CHECKING

import pytest

from recondition.book import logins, sessions
from recondition.book.backup import backup, copy_beside, restore
from recondition.book.copying import copy_book
from recondition.book.engine import open_book, upgrade_book
from recondition.book.logins import TokenSpent
from recondition.book.roles import Role
from tests.book.make import shop
from tests.book.make_logins import GOOD, OTHER, quickly, signed_up

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    yield from quickly(monkeypatch)


def restored(book: Book, folder: Path) -> Book:
    backup(book, folder / "book.backup")
    return restore(folder / "book.backup", folder / "again.sqlite")


def restored_with_visits_in_it(book: Book, folder: Path) -> Book:
    """Restore a backup into which somebody put the book as it is, sessions and all."""
    with zipfile.ZipFile(folder / "planted.backup", "w") as archive:
        archive.write(str(book.path), "book.sqlite")
    return restore(folder / "planted.backup", folder / "again.sqlite")


def copied(book: Book, folder: Path) -> Book:
    copy_book(book.location, str(folder / "again.sqlite"))
    return open_book(str(folder / "again.sqlite"))


def copied_beside(book: Book, _: Path) -> Book:
    return open_book(str(copy_beside(book, "upgrade")))


def upgraded(book: Book, _: Path) -> Book:
    upgrade_book(book)
    return book


WAYS = [restored, restored_with_visits_in_it, copied, copied_beside, upgraded]


@pytest.mark.parametrize("way", WAYS)
def test_logins_stay_and_every_visit_ends(
    book: Book, tmp_path: Path, way: Callable[[Book, Path], Book]
) -> None:
    if book.path is None and way is restored_with_visits_in_it:
        return  # what lies in a backup is always a file
    shop(book)
    signed_up(book, "HK", Role.DEALER, "HK")
    once = logins.add(book, "OW", Role.SELLER, "OW", by=None)
    token = sessions.sign_in(book, "HK", GOOD, address="")
    assert sessions.visiting(book, token) is not None
    made = way(book, tmp_path)
    assert sessions.visiting(made, token) is None
    with pytest.raises(TokenSpent):
        logins.set_password(made, once, OTHER)
    again = sessions.sign_in(made, "HK", GOOD, address="")
    assert sessions.visiting(made, again) is not None
    if made is not book:
        assert sessions.visiting(book, token) is not None
        made.close()
