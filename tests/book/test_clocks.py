"""Clocks in a real book: one a person, asked about when forgotten, ending in a labour line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from recondition.amounts import Quantity
from recondition.book import clocks, reading
from recondition.book.posting import Poster
from recondition.book.reversing import WhyNeeded
from recondition.book.timesheet import OverlappingHours
from recondition.fields import Words
from recondition.ledger.clocks import ClockNotSo, MoreThanADay, Tick
from recondition.ledger.lines import (
    Cause,
    HoursTaken,
    Payer,
    Purpose,
    Reversal,
    Rework,
)
from recondition.ledger.rules import ClockRunsAlready, LinkNeeded
from tests.book.make import (
    ACTING,
    DAY,
    Shop,
    add,
    counted,
    draft,
    labour,
    links,
    one,
    post,
    refused,
    shop,
)

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from recondition.ledger.drafts import Draft


def at(hour: int, minute: int = 0) -> str:
    return f"2031-03-04T{hour:02}:{minute:02}:00-05:00"


def start(book: Book, made: Shop, ref: str = "CK-1", hour: int = 8, **more: Any) -> None:
    fields = {"links": links(made.own_findings[0]), "unlinked": None, "operation": "polish"} | more
    entry = labour(made.own, made.person, "1", **fields)
    with book.writing() as conn:
        clocks.start(Poster(book, conn, ACTING), ref, entry, at(hour), told=True)


def turn(book: Book, made: Shop, tick: Tick, when: str, *, told: bool = True) -> None:
    with book.writing() as conn:
        clocks.mark(conn, Poster(book, conn, ACTING), made.person, tick, when, told=told)


def stop(book: Book, made: Shop, when: str, *, told: bool = True, ref: str = "L-1") -> None:
    with book.writing() as conn:
        poster = Poster(book, conn, ACTING)
        clocks.stop(conn, poster, made.person, when, told=told, line_ref=ref)


def test_a_clock_ends_in_a_line_with_its_hours(book: Book) -> None:
    made = shop(book)
    start(book, made, panel="bonnet")
    turn(book, made, Tick.PAUSE, at(9, 30))
    turn(book, made, Tick.RESUME, at(9, 45))
    stop(book, made, at(10, 35))
    entry = one(book, "labour", "L-1").entry
    assert (entry.quantity, entry.elapsed) == (Quantity.of(140, "min"), Quantity.of(155, "min"))
    assert (entry.panel, entry.operation, entry.work_date) == ("bonnet", "polish", DAY)
    assert entry.links == links(made.own_findings[0])
    assert (entry.started_at, entry.ended_at) == (at(8), at(10, 35))
    assert entry.taken is HoursTaken.AFTERWARDS  # the moments were told, not read off
    assert entry.clock == one(book, "clock", "CK-1").id
    assert one(book, "clock", "CK-1").version == 4
    with book.reading() as conn:
        assert clocks.open_clocks(conn) == []


def test_hours_read_off_the_clock_are_marked_as_such(book: Book) -> None:
    made = shop(book)
    entry = labour(made.own, made.person, "1", links=links(made.own_findings[0]))
    with book.writing() as conn:
        clocks.start(Poster(book, conn, ACTING), "CK-1", entry, at(8), told=False)
    stop(book, made, at(9), told=False)
    assert one(book, "labour", "L-1").entry.taken is HoursTaken.BY_THE_CLOCK


def test_one_open_clock_a_person(book: Book) -> None:
    made = shop(book)
    start(book, made)
    turn(book, made, Tick.PAUSE, at(9))
    with pytest.raises(ClockRunsAlready, match="HK has clock CK-1 open"):
        start(book, made, "CK-2")
    with pytest.raises(ClockNotSo):
        turn(book, made, Tick.PAUSE, at(10))
    stop(book, made, at(9))
    start(book, made, "CK-2", 9)


def test_a_clock_needs_what_a_line_needs(book: Book) -> None:
    made = shop(book)
    with pytest.raises(LinkNeeded):
        start(book, made, links=())


def test_a_forgotten_clock_is_asked_about_and_stays_open(book: Book) -> None:
    made = shop(book)
    start(book, made)
    with pytest.raises(clocks.ForgottenClock, match="12 h 5 min"):
        stop(book, made, at(20, 5), told=False)
    with pytest.raises(clocks.ForgottenClock, match="12 h 5 min"):
        turn(book, made, Tick.PAUSE, at(20, 5), told=False)
    with book.reading() as conn:
        assert clocks.open_clock(conn, made.person) is not None
    stop(book, made, at(17))
    assert one(book, "labour", "L-1").entry.quantity == Quantity.of(540, "min")


def test_nothing_on_a_clock_is_no_line(book: Book) -> None:
    made = shop(book)
    with pytest.raises(clocks.NoOpenClock):
        stop(book, made, at(9))
    start(book, made)
    with pytest.raises(clocks.NothingClocked):
        stop(book, made, at(8))
    with book.writing() as conn:
        poster = Poster(book, conn, ACTING)
        with pytest.raises(WhyNeeded):
            clocks.drop(conn, poster, made.person, at(9), " ")
        clocks.drop(conn, poster, made.person, at(9), "wrong car")
    dropped = one(book, "clock", "CK-1").entry
    assert (dropped.stopped, dropped.dropped) == (True, "wrong car")
    with book.reading() as conn:
        assert reading.all_refs(conn, "labour") == []


def test_work_done_again_by_the_clock_goes_where_the_loss_rule_says(book: Book) -> None:
    made = shop(book)
    first = add(book, "labour", "L-0", labour(made.own, made.person, "1"))
    start(book, made, rework=Rework(of=first, cause=Cause.METHOD, payer=Payer.SHOP))
    stop(book, made, at(9))
    assert one(book, "labour", "L-1").entry.purpose is Purpose.SPOILAGE


def test_stretches_of_one_person_do_not_overlap(book: Book) -> None:
    made = shop(book)
    first = labour(made.own, made.person, "2", started_at=at(8), ended_at=at(10))
    line = add(book, "labour", "L-1", first)
    again = labour(made.consigned, made.person, "1", started_at=at(9, 30), ended_at=at(11))
    assert "L-1" in refused(book, OverlappingHours, "labour", again, ref="L-2").what
    after = labour(made.consigned, made.person, "1", started_at=at(10), ended_at=at(11))
    add(book, "labour", "L-3", after)
    back = Reversal(vehicle=made.own, reverses=line, work_date=DAY, why=Words("wrong car"))
    add(book, "reversal", "V-1", back)
    early = labour(made.own, made.person, "1", started_at=at(8), ended_at=at(9, 30))
    add(book, "labour", "L-4", early)


def test_a_day_is_counted_over_lines_of_the_same_batch(book: Book) -> None:
    made = shop(book)
    drafts = [draft("labour", f"L-{n}", labour(made.own, made.person, "10")) for n in (1, 2, 3)]
    with book.writing() as conn:
        results = Poster(book, conn, ACTING).post_many(drafts)
    assert [each.status.value for each in results] == ["new", "new", "refused"]
    assert isinstance(results[2].refused, MoreThanADay)
    line = one(book, "labour", "L-1").id
    back = Reversal(vehicle=made.own, reverses=line, work_date=DAY.replace(day=5), why=Words("x"))
    add(book, "reversal", "V-1", back)
    add(book, "labour", "L-4", labour(made.own, made.person, "14"))
    refused(book, MoreThanADay, "labour", labour(made.own, made.person, "0.1"), ref="L-5")


def test_a_line_that_sums_several_days_has_no_one_day(book: Book) -> None:
    made = shop(book)
    week = {"started_at": "2031-02-26T08:00:00-05:00", "ended_at": at(18)}
    add(book, "labour", "L-1", labour(made.own, made.person, "41.5", **week))
    add(
        book, "labour", "L-2", labour(made.own, made.person, "8", started_at=at(8), ended_at=at(17))
    )
    refused(book, MoreThanADay, "labour", labour(made.own, made.person, "41.5"), ref="L-3")


def test_a_stretch_of_no_length_hides_no_other(book: Book) -> None:
    made = shop(book)

    def worked(ref: str, began: str, ended: str, hours: str) -> Draft:
        entry = labour(made.own, made.person, hours, started_at=began, ended_at=ended)
        return draft("labour", ref, entry)

    whole = worked("L-1", at(8), at(17), "6")
    none = worked("L-2", at(8), at(8), "0.001")
    inside = worked("L-3", at(9), at(10), "1")
    before = counted(book)
    with pytest.raises(OverlappingHours):
        post(book, whole, none, inside)
    assert counted(book) == before
