"""Logins: made, given a password once, changed and closed; the last dealer stays."""

from __future__ import annotations

from threading import Barrier, Thread
from typing import TYPE_CHECKING

import pytest

from recondition.book import logins, sessions, trail
from recondition.book.check import check
from recondition.book.context import NotThere
from recondition.book.logins import (
    BadLoginName,
    LastDealer,
    LoginClosed,
    LoginTaken,
    NoSuchLogin,
    TokenSpent,
)
from recondition.book.passwords import PasswordTooShort
from recondition.book.people import erase_person
from recondition.book.roles import Role
from tests.book.make import shop
from tests.book.make_logins import GOOD, OTHER, Clock, quickly, signed_up

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.engine import Book
    from recondition.book.logins import Login


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    yield from quickly(monkeypatch)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pages(book: Book, clock: Clock) -> Book:
    """Give a book with a small shop, and a clock of the test's own."""
    shop(book)
    return clock.on(book)


def known(book: Book) -> list[Login]:
    with book.reading() as conn:
        return logins.listed(conn)


def done(book: Book) -> list[tuple[str, str, str, str]]:
    """Give what the trail says was done by whom to whom, oldest first."""
    with book.reading() as conn:
        found = trail.listed(conn, limit=100)
    return [(each.login, each.action, each.about, each.detail) for each in reversed(found)]


def test_a_login_is_made_gets_its_password_and_is_listed(pages: Book, clock: Clock) -> None:
    with pages.reading() as conn:
        assert not logins.any_there(conn)
        assert logins.people(conn) == ["HK", "OW"]
    token = logins.add(pages, " Hanna  Kolb ", Role.DEALER, "HK", by=None)
    (made,) = known(pages)
    assert (made.name, made.role, made.person) == ("Hanna Kolb", Role.DEALER, "HK")
    assert (made.closed, made.has_password) == (False, False)
    clock.go(hours=47, minutes=59)
    login = logins.set_password(pages, token, GOOD)
    assert (login.id, login.has_password) == (made.id, True)
    clock.go(minutes=1)
    logins.add(pages, "OW", Role.SELLER, "OW", by=trail.By("hanna kolb"))
    assert [each.name for each in known(pages)] == ["Hanna Kolb", "OW"]
    with pages.reading() as conn:
        assert logins.any_there(conn)
    assert done(pages) == [
        ("", "login made", "Hanna Kolb", "dealer"),
        ("Hanna Kolb", "password set", "Hanna Kolb", ""),
        ("Hanna Kolb", "login made", "OW", "seller"),
    ]
    assert check(pages).damages == []


def test_a_name_is_one_in_whatever_capitals_and_can_be_seen(pages: Book) -> None:
    logins.add(pages, "Strauß", Role.PREPARER, "HK", by=None)
    for same in ("strauss", "STRAUSS", "\uff53trauß"):
        with pytest.raises(LoginTaken):
            logins.add(pages, same, Role.PREPARER, "HK", by=None)
    for bad in ("", " ", "x" * 61, "a\x00b", "a\u202eb", "\ud800"):
        with pytest.raises(BadLoginName):
            logins.add(pages, bad, Role.PREPARER, "HK", by=None)
    with pytest.raises(NotThere, match="person 'ZZ'"):
        logins.add(pages, "ZZ", Role.PREPARER, "ZZ", by=None)
    with pytest.raises(NoSuchLogin, match="nobody"):
        logins.add(pages, "ZZ", Role.PREPARER, "HK", by=trail.By("nobody"))
    assert len(known(pages)) == 1


def test_a_token_works_once_for_two_days_and_only_the_newest(pages: Book, clock: Clock) -> None:
    first = logins.add(pages, "HK", Role.DEALER, "HK", by=None)
    second = logins.anew(pages, "hk", by=None)
    with pytest.raises(PasswordTooShort):
        logins.set_password(pages, second, "short")
    for spent in (first, "", "no token", "\ud800"):
        with pytest.raises(TokenSpent):
            logins.set_password(pages, spent, GOOD)
    logins.set_password(pages, second, GOOD)
    with pytest.raises(TokenSpent):
        logins.set_password(pages, second, OTHER)
    late = logins.anew(pages, "HK", by=trail.By("HK"))
    clock.go(hours=48)
    with pytest.raises(TokenSpent):
        logins.set_password(pages, late, OTHER)
    assert sessions.sign_in(pages, "HK", GOOD, address="")


def test_a_new_password_ends_the_sessions_of_the_old_one(pages: Book) -> None:
    signed_up(pages, "HK", Role.DEALER, "HK")
    signed_up(pages, "OW", Role.SELLER, "OW", OTHER)
    mine = sessions.sign_in(pages, "HK", GOOD, address="")
    theirs = sessions.sign_in(pages, "OW", OTHER, address="")
    token = logins.anew(pages, "HK", by=None)
    assert sessions.visiting(pages, mine)
    logins.set_password(pages, token, OTHER)
    assert sessions.visiting(pages, mine) is None
    assert sessions.visiting(pages, theirs)
    with pytest.raises(sessions.WrongNameOrPassword):
        sessions.sign_in(pages, "HK", GOOD, address="")
    assert sessions.sign_in(pages, "HK", OTHER, address="")


def test_a_role_counts_at_once_and_a_closed_login_opens_nothing(pages: Book) -> None:
    signed_up(pages, "HK", Role.DEALER, "HK")
    signed_up(pages, "OW", Role.SELLER, "OW", OTHER)
    theirs = sessions.sign_in(pages, "OW", OTHER, address="")
    logins.change_role(pages, "ow", Role.BOOKKEEPER, by=trail.By("HK"))
    logins.change_role(pages, "ow", Role.BOOKKEEPER, by=trail.By("HK"))
    found = sessions.visiting(pages, theirs)
    assert found is not None
    assert found.login.role is Role.BOOKKEEPER
    token = logins.anew(pages, "OW", by=trail.By("HK"))
    logins.close(pages, "OW", by=trail.By("HK"))
    assert sessions.visiting(pages, theirs) is None
    with pytest.raises(TokenSpent):
        logins.set_password(pages, token, GOOD)
    with pytest.raises(sessions.WrongNameOrPassword):
        sessions.sign_in(pages, "OW", OTHER, address="")
    for change in (logins.anew, logins.close):
        with pytest.raises(LoginClosed, match="'OW' was closed"):
            change(pages, "OW", by=trail.By("HK"))
    with pytest.raises(LoginTaken):
        logins.add(pages, "OW", Role.SELLER, "OW", by=trail.By("HK"))
    assert [each.closed for each in known(pages)] == [False, True]
    said = done(pages)
    assert ("HK", "role changed", "OW", "seller to bookkeeper") in said
    assert [each[1] for each in said].count("role changed") == 1


def test_the_last_dealer_stays_one(pages: Book) -> None:
    logins.add(pages, "HK", Role.DEALER, "HK", by=None)
    logins.change_role(pages, "HK", Role.DEALER, by=None)
    for change in (
        lambda: logins.close(pages, "HK", by=None),
        lambda: logins.change_role(pages, "HK", Role.SELLER, by=None),
    ):
        with pytest.raises(LastDealer):
            change()
    logins.add(pages, "OW", Role.DEALER, "OW", by=None)
    logins.close(pages, "HK", by=None)
    with pytest.raises(LastDealer):
        logins.change_role(pages, "OW", Role.PREPARER, by=trail.By("OW"))
    assert [(each.name, each.closed) for each in known(pages)] == [("OW", False), ("HK", True)]


def test_two_dealers_who_close_one_another_leave_one(pages: Book) -> None:
    for name in ("HK", "OW"):
        logins.add(pages, name, Role.DEALER, name, by=None)
    ready, refused = Barrier(2), list[Exception]()

    def close(name: str, by: str) -> None:
        ready.wait()
        try:
            logins.close(pages, name, by=trail.By(by))
        except LastDealer as error:
            refused.append(error)

    both = [Thread(target=close, args=pair) for pair in (("HK", "OW"), ("OW", "HK"))]
    for each in both:
        each.start()
    for each in both:
        each.join()
    assert sum(not each.closed for each in known(pages)) == 1
    assert len(refused) == 1


def test_a_login_of_somebody_erased_is_closed_and_the_last_dealer_too(pages: Book) -> None:
    signed_up(pages, "HK", Role.DEALER, "HK")
    with pages.reading() as conn:
        (made,) = logins.listed(conn)
    erase_person(pages, "HK", author=made.person_id, ground="request of 4 March")
    (left,) = known(pages)
    assert left.closed
    assert not left.has_password
    assert left.name.startswith("erased-")
    assert logins.add(pages, "HK", Role.DEALER, "OW", by=None)
