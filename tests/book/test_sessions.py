"""Signing in and out, how often a password may be guessed, and how long a session lasts."""

from __future__ import annotations

from datetime import timedelta
from threading import Thread
from time import monotonic
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select, update

from recondition.book import engine, logins, passwords, sessions, throttling, trail
from recondition.book.roles import Role
from recondition.book.sessions import TooManyTries, WrongNameOrPassword
from recondition.book.tables_logins import login, login_session, login_try, trail_address
from tests.book.make import shop
from tests.book.make_logins import GOOD, OTHER, Clock, forget_hasher, quickly, signed_up
from tests.places import copied_book, opened, passing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from sqlalchemy import Table

    from recondition.book.engine import Book

HERE, THERE = "192.0.2.7", "2001:db8::7"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    yield from quickly(monkeypatch)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pages(book: Book, clock: Clock) -> Book:
    """Give a book in which HK is a dealer and OW a seller."""
    shop(book)
    made = clock.on(book)
    signed_up(made, "HK", Role.DEALER, "HK")
    signed_up(made, "OW", Role.SELLER, "OW", OTHER)
    return made


def counted(book: Book, table: Table) -> int:
    with book.reading() as conn:
        return conn.execute(select(func.count()).select_from(table)).scalar_one()


def last(book: Book) -> trail.Noted:
    with book.reading() as conn:
        return trail.listed(conn, limit=1)[0]


def failed(book: Book, name: str, address: str) -> int:
    """Try a wrong password; give the seconds to wait where it was not even looked at."""
    try:
        sessions.sign_in(book, name, "wrong in any case", address=address)
    except TooManyTries as refused:
        return refused.seconds
    except WrongNameOrPassword:
        return 0
    message = "it signed in"
    raise AssertionError(message)


def test_a_session_says_who_is_visiting(pages: Book, clock: Clock) -> None:
    token = sessions.sign_in(pages, " hk ", GOOD, address=HERE)
    found = sessions.visiting(pages, token)
    assert found is not None
    assert (found.login.name, found.login.role, found.login.person) == ("HK", Role.DEALER, "HK")
    assert found.made_at == clock.at
    assert token not in (found.csrf, found.token_hash)
    assert len(found.csrf) == 43
    again = sessions.visiting(pages, token)
    other = sessions.visiting(pages, sessions.sign_in(pages, "HK", GOOD, address=HERE))
    assert again is not None
    assert other is not None
    assert again.csrf == found.csrf != other.csrf
    for none in ("", "x", token[:-1], token + "x", "\ud800", found.token_hash):
        assert sessions.visiting(pages, none) is None
    assert (last(pages).login, last(pages).action, last(pages).address) == ("HK", "signed in", HERE)


def test_a_session_ends_when_idle_and_in_any_case(pages: Book, clock: Clock) -> None:
    token = sessions.sign_in(pages, "HK", GOOD, address=HERE)
    clock.go(hours=12)
    assert sessions.visiting(pages, token) is None
    token = sessions.sign_in(pages, "HK", GOOD, address=HERE)
    assert counted(pages, login_session) == 1
    for _ in range(14 * 24 // 8 - 1):
        clock.go(hours=8)
        assert sessions.visiting(pages, token)
    clock.go(hours=7, minutes=59)
    assert sessions.visiting(pages, token)
    clock.go(minutes=1)
    assert sessions.visiting(pages, token) is None


def test_a_visit_is_kept_every_five_minutes_at_most(pages: Book, clock: Clock) -> None:
    token = sessions.sign_in(pages, "HK", GOOD, address=HERE)

    def seen() -> str:
        with pages.reading() as conn:
            return str(conn.execute(select(login_session.c.seen_at)).scalar_one())

    begun = seen()
    clock.go(minutes=4, seconds=59)
    assert sessions.visiting(pages, token)
    assert seen() == begun
    clock.go(seconds=1)
    assert sessions.visiting(pages, token)
    assert seen() == trail.moment(clock.at) > begun


def test_a_visit_goes_on_while_somebody_else_writes(
    pages: Book, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "BUSY_SECONDS", 60)
    token = sessions.sign_in(pages, "HK", GOOD, address=HERE)
    clock.go(minutes=10)
    with pages.writing() as conn:
        conn.execute(update(login_session).values(seen_at=login_session.c.seen_at))
        begun = monotonic()
        assert sessions.visiting(pages, token)
        assert monotonic() - begun < 30


def test_signing_out_ends_one_session_and_all_can_be_ended(pages: Book) -> None:
    one, two, other = (
        sessions.sign_in(pages, name, word, address=HERE)
        for name, word in (("HK", GOOD), ("HK", GOOD), ("OW", OTHER))
    )
    sessions.sign_out(pages, one)
    assert (last(pages).login, last(pages).action) == ("HK", "signed out")
    sessions.sign_out(pages, one)
    assert sessions.visiting(pages, one) is None
    assert sessions.visiting(pages, two)
    sessions.end_all(pages, "hk", by=trail.By("OW"))
    assert (last(pages).login, last(pages).about) == ("OW", "HK")
    assert sessions.visiting(pages, two) is None
    assert sessions.visiting(pages, other)
    with pytest.raises(logins.NoSuchLogin):
        sessions.end_all(pages, "nobody")


def test_whatever_is_wrong_the_words_are_the_same(pages: Book) -> None:
    logins.add(pages, "new", Role.PREPARER, "HK", by=None)
    logins.close(pages, "OW", by=None)
    said = set()
    for name, word in (("HK", OTHER), ("nobody", GOOD), ("new", ""), ("OW", OTHER), ("", "")):
        with pytest.raises(WrongNameOrPassword) as refused:
            sessions.sign_in(pages, name, word, address="")
        said.add(str(refused.value))
    assert len(said) == 1


def test_a_name_of_no_login_is_not_kept(pages: Book) -> None:
    """Somebody may have typed the password into the wrong field."""
    failed(pages, "my secret password", HERE)
    assert (last(pages).action, last(pages).about) == ("sign-in refused", "")
    with pages.reading() as conn:
        kept = conn.execute(select(login_try.c.name_hash)).scalars().all()
    assert "my secret" not in "".join(kept)
    failed(pages, "HK", HERE)
    assert (last(pages).about, last(pages).address, last(pages).login) == ("HK", HERE, "")


def test_a_hash_of_other_parameters_is_renewed(
    pages: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    query = select(login.c.password_hash).where(login.c.name == "HK")

    def kept() -> str:
        with pages.reading() as conn:
            return str(conn.execute(query).scalar_one())

    before = kept()
    assert sessions.sign_in(pages, "HK", GOOD, address=HERE)
    assert kept() == before
    monkeypatch.setattr(passwords, "_PASSES", 2)
    forget_hasher()
    assert sessions.sign_in(pages, "HK", GOOD, address=HERE)
    assert "t=1" in before
    assert "t=2" in kept()
    assert sessions.sign_in(pages, "HK", GOOD, address=HERE)


def test_after_five_failures_each_further_one_waits_twice_as_long(
    pages: Book, clock: Clock
) -> None:
    assert [failed(pages, "HK", "") for _ in range(5)] == [0] * 5
    waits = []
    while (seconds := failed(pages, "hk", "")) <= 64:
        assert failed(pages, "HK", "") == seconds
        waits.append(seconds)
        clock.go(seconds=seconds)
        assert failed(pages, "HK", "") == 0
    assert waits == [1, 2, 4, 8, 16, 32, 64]
    with pytest.raises(TooManyTries, match="128 seconds") as refused:
        sessions.sign_in(pages, "HK", GOOD, address="")
    clock.go(seconds=refused.value.seconds)
    assert sessions.sign_in(pages, "HK", GOOD, address="")
    assert counted(pages, login_try) == 0
    assert failed(pages, "HK", "") == 0


def test_a_place_waits_whatever_the_name_and_no_place_is_none(pages: Book, clock: Clock) -> None:
    for name in ("a", "b", "c", "d", "e"):
        assert failed(pages, name, HERE) == 0
    assert failed(pages, "f", HERE) == 1
    assert failed(pages, "f", THERE) == 0
    assert failed(pages, "f", "") == 0
    with pytest.raises(TooManyTries):
        sessions.sign_in(pages, "HK", GOOD, address=HERE)
    assert sessions.sign_in(pages, "HK", GOOD, address=THERE)
    clock.go(minutes=15)
    assert sessions.sign_in(pages, "HK", GOOD, address=HERE)
    assert counted(pages, login_try) == 0


def test_many_at_once_count_too(pages: Book) -> None:
    waits: list[int] = []
    crowd = [Thread(target=lambda: waits.append(failed(pages, "HK", ""))) for _ in range(12)]
    for each in crowd:
        each.start()
    for each in crowd:
        each.join()
    assert (waits.count(0), waits.count(1)) == (5, 7)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["HK", "ow", "nobody"]),
            st.sampled_from([HERE, THERE]),
            st.one_of(st.integers(0, 40), st.integers(0, 1200)),
        ),
        max_size=60,
    )
)
@settings(max_examples=15)
def test_no_window_ever_holds_more_guesses_than_stated(
    empty_file: Path, guesses: list[tuple[str, str, int]]
) -> None:
    """Each guess comes some seconds after the last, or as soon as it may."""
    with passing() as folder:
        clock = Clock()
        book = clock.on(opened(copied_book(empty_file, folder / "book.sqlite")))
        through = []
        for name, address, pause in guesses:
            clock.go(seconds=pause)
            try:
                throttling.hold(book, name, address)
            except TooManyTries as refused:
                clock.go(seconds=refused.seconds)
                throttling.hold(book, name, address)  # as soon as it was said to be allowed
            through += [(name, clock.at), (address, clock.at)]
        book.close()
    for key, at in through:
        window = [t for k, t in through if k == key and at - throttling.WINDOW < t <= at]
        assert len(window) <= throttling.GUESSES_MOST


def test_the_stated_number_is_what_somebody_reaches_who_never_rests(pages: Book) -> None:
    clock, count = Clock(), 0
    book, begun = clock.on(pages), clock.at
    while clock.at - begun < throttling.WINDOW:
        try:
            throttling.hold(book, "HK", HERE)
            count += 1
        except TooManyTries as refused:
            clock.go(seconds=refused.seconds)
    assert count == throttling.GUESSES_MOST


def test_the_wait_grows_to_the_window_and_no_further() -> None:
    waits = [throttling.wait_after(count).total_seconds() for count in range(20)]
    assert waits[:8] == [0, 0, 0, 0, 0, 1, 2, 4]
    assert waits[14:] == [512, 900, 900, 900, 900, 900]


def test_old_addresses_go_when_a_session_begins(pages: Book, clock: Clock) -> None:
    sessions.sign_in(pages, "HK", GOOD, address=HERE)
    clock.go(days=trail.ADDRESS_DAYS)
    sessions.sign_in(pages, "HK", GOOD, address=THERE)
    assert counted(pages, trail_address) == 2
    clock.go(seconds=1)
    sessions.sign_in(pages, "HK", GOOD, address="")
    with pages.reading() as conn:
        found = trail.listed(conn, limit=3)
    assert [each.address for each in found] == ["", THERE, ""]
    assert clock.at - found[-1].at > timedelta(days=trail.ADDRESS_DAYS)
