"""A clock that was moved back: what is refused, and how the book goes on."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from recondition.book.check import check
from recondition.book.moments import (
    CLOCK_SET_RIGHT,
    TOLERANCE,
    ClockBehind,
    NotThatMoment,
    is_behind,
    set_right_from,
    went_back,
)
from recondition.book.setting_errors import BadSetting
from recondition.ledger.people import Setting
from tests.book.make import add, charge, counted, one, refused, shop

if TYPE_CHECKING:
    from recondition.book.engine import Book

NOW = datetime(2031, 3, 4, 12, tzinfo=UTC)
AHEAD = NOW + timedelta(days=400)


def at(book: Book, moment: datetime) -> Book:
    return replace(book, now=lambda: moment)


def test_a_small_step_back_is_no_moved_clock() -> None:
    before = NOW.isoformat()
    assert not went_back(before, (NOW - TOLERANCE).isoformat())
    assert went_back(before, (NOW - TOLERANCE - timedelta(microseconds=1)).isoformat())
    assert not went_back(before, "2031-03-04T14:00:00+02:00")
    assert went_back(before, "2031-03-04T13:00:00+02:00")


def test_what_is_known_to_have_run_ahead_does_not_count() -> None:
    last, now = AHEAD.isoformat(), NOW.isoformat()
    assert is_behind(last, now)
    assert is_behind(last, now, NOW.isoformat())
    assert not is_behind(last, now, last)
    assert not is_behind(now, last)
    assert not is_behind(last, now, last, now)
    assert is_behind(last, (NOW - timedelta(days=1)).isoformat(), last, now)


@pytest.mark.parametrize("text", ["yesterday", "2031-03-04", "2031-03-04T12:00:00", "12:00"])
def test_the_setting_is_a_moment_with_its_zone(text: str) -> None:
    with pytest.raises(BadSetting, match=CLOCK_SET_RIGHT):
        set_right_from(text)


def test_the_setting_may_be_empty() -> None:
    assert [set_right_from(text) for text in ("", "none", " ")] == ["", "", ""]
    assert set_right_from("2031-03-04T12:00:00Z") == NOW.isoformat()


def test_a_posting_before_the_last_of_its_chain_is_refused(two: tuple[Book, Book]) -> None:
    book = at(two[0], NOW)
    made = shop(book)
    add(at(book, AHEAD), "charge", "X-1", charge(made.own))
    behind = refused(book, ClockBehind, "charge", charge(made.own), ref="X-2")
    assert "vehicle 0007" in behind.what
    assert AHEAD.isoformat() in behind.todo
    add(book, "charge", "X-3", charge(made.consigned))  # no entry of its chain is ahead
    add(at(book, AHEAD - TOLERANCE), "charge", "X-4", charge(made.own))


def test_the_setting_lets_the_book_go_on(two: tuple[Book, Book]) -> None:
    book = at(two[0], NOW)
    made = shop(book)
    add(at(book, AHEAD), "charge", "X-1", charge(made.own))
    add(at(book, AHEAD), "setting", "date order", Setting(value="iso"))
    said = refused(book, ClockBehind, "setting", Setting(value="40"), ref="indifference")
    *_, moment = said.todo.split()
    add(book, "setting", CLOCK_SET_RIGHT, Setting(value=moment))
    add(book, "setting", "indifference", Setting(value="40"))
    add(book, "charge", "X-2", charge(made.own))
    assert one(book, "charge", "X-2").recorded_at == NOW.isoformat(timespec="microseconds")
    earlier = NOW - timedelta(days=1)
    refused(at(book, earlier), ClockBehind, "charge", charge(made.own), ref="X-3")
    before = counted(book)
    refused(book, BadSetting, "setting", Setting(value="soon"), ref=CLOCK_SET_RIGHT)
    assert counted(book) == before
    assert check(book).damages == []


def test_the_moment_is_neither_after_the_newest_entry_nor_before_one_that_is_ahead(
    two: tuple[Book, Book],
) -> None:
    book = at(two[0], NOW)
    made = shop(book)
    late = Setting(value=(NOW + 2 * TOLERANCE).isoformat())
    said = refused(book, NotThatMoment, "setting", late, ref=CLOCK_SET_RIGHT)
    assert said.todo.endswith(NOW.isoformat())
    add(at(book, AHEAD), "charge", "X-1", charge(made.own))
    (future,) = check(book).damages
    assert f"'{CLOCK_SET_RIGHT}' {AHEAD.isoformat()}." in future.todo
    short = Setting(value=(AHEAD - timedelta(seconds=1)).isoformat())
    refused(book, NotThatMoment, "setting", short, ref=CLOCK_SET_RIGHT)
    add(book, "setting", CLOCK_SET_RIGHT, Setting(value="none"))
    add(book, "setting", CLOCK_SET_RIGHT, Setting(value=AHEAD.isoformat()))
    assert check(book).damages == []


@pytest.mark.parametrize("later", [timedelta(0), TOLERANCE / 2])
def test_whoever_says_so_before_the_clock_is_set_right_says_it_again(
    two: tuple[Book, Book], later: timedelta
) -> None:
    """The setting itself was made ahead; the moment that is to be typed is never there already."""
    book = at(two[0], NOW)
    made = shop(book)
    ahead = at(book, AHEAD)
    add(ahead, "charge", "X-1", charge(made.own))
    add(ahead, "setting", CLOCK_SET_RIGHT, Setting(value=(AHEAD + later).isoformat()))
    for kind, entry in (("charge", charge(made.own)), ("setting", Setting(value="40"))):
        *_, moment = refused(book, ClockBehind, kind, entry, ref="indifference").todo.split()
    add(book, "setting", CLOCK_SET_RIGHT, Setting(value=moment))
    add(book, "setting", "indifference", Setting(value="40"))
    add(book, "charge", "X-2", charge(made.own))
    assert check(book).damages == []
