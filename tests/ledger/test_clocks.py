"""Clocks count what went by, and hours that cannot be are refused."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.fields import Id, Words
from recondition.ledger import clocks
from recondition.ledger.clocks import Clock, Mark, Tick
from recondition.ledger.lines import Labour
from tests.lines import labour

MORNING = "2031-03-04T08:00:00-05:00"


def at(hour: int, minute: int = 0, second: int = 0) -> str:
    return f"2031-03-04T{hour:02}:{minute:02}:{second:02}-05:00"


def clock(*turns: tuple[Tick, str], began: str = MORNING) -> Clock:
    made = Clock(
        vehicle=Id("v"), person=Id("p"), words=Words("polish"),
        marks=(Mark(tick=Tick.START, at=began),),
    )  # fmt: skip
    for tick, moment in turns:
        made = clocks.turn(made, Mark(tick=tick, at=moment), called="CK-1")
    return made


def minutes(number: int) -> Quantity:
    return Quantity.of(number, "min")


def test_a_pause_is_not_hands_on_but_is_on_the_clock() -> None:
    day = clock((Tick.PAUSE, at(9, 30)), (Tick.RESUME, at(9, 45)), (Tick.STOP, at(10, 35)))
    assert clocks.hands_on(day) == minutes(140)
    assert clocks.elapsed(day) == minutes(155)
    assert (day.stopped, clocks.started_at(day)) == (True, MORNING)
    assert clocks.hours_and_minutes(clocks.hands_on(day)) == "2 h 20 min"


def test_a_clock_that_runs_on_ends_where_it_is_asked() -> None:
    running = clock()
    assert clocks.intervals(running) == ()
    ((began, ended),) = clocks.intervals(running, at(9))
    assert ended - began == timedelta(hours=1)


def test_moments_are_instants_whatever_their_zone() -> None:
    night = clock((Tick.STOP, "2031-03-05T05:30:00+00:00"), began="2031-03-04T23:30:00-05:00")
    assert clocks.hands_on(night) == minutes(60)


def test_seconds_are_rounded_once_at_the_end() -> None:
    short = clock(
        (Tick.PAUSE, at(8, 0, 20)), (Tick.RESUME, at(8, 1)), (Tick.STOP, at(8, 1, 20)),
    )  # fmt: skip
    assert clocks.hands_on(short) == minutes(1)  # 40 s, and not twice 20 s rounded to nothing


@pytest.mark.parametrize(
    ("turns", "refusal"),
    [
        ([(Tick.RESUME, at(9))], clocks.ClockNotSo),
        ([(Tick.PAUSE, at(9)), (Tick.PAUSE, at(10))], clocks.ClockNotSo),
        ([(Tick.STOP, at(9)), (Tick.STOP, at(10))], clocks.ClockNotSo),
        ([(Tick.START, at(9))], clocks.ClockNotSo),
        ([(Tick.STOP, at(7, 59))], clocks.EndsBeforeItStarts),
        ([(Tick.PAUSE, at(10)), (Tick.STOP, at(9))], clocks.EndsBeforeItStarts),
        ([(Tick.STOP, "2031-03-04T09:00:00")], clocks.MomentWithoutZone),
        ([(Tick.STOP, "nine")], clocks.MomentWithoutZone),
    ],
)
def test_a_turn_that_contradicts_is_refused(
    turns: list[tuple[Tick, str]], refusal: type[Exception]
) -> None:
    with pytest.raises(refusal):
        clock(*turns)


def test_a_forgotten_clock_is_asked_about() -> None:
    """Twelve hours at a stretch, or another day (common practice, no source)."""
    running = clock()
    assert clocks.forgotten(running, at(20)) is None
    left = clocks.forgotten(running, at(20, 1))
    assert left is not None
    assert left.ran == minutes(721)
    assert "12 h 1 min since 2031-03-04 08:00" in left.words
    late = clock(began="2031-03-04T23:30:00-05:00")
    assert clocks.forgotten(late, "2031-03-05T00:10:00-05:00") is not None
    assert clocks.forgotten(clock((Tick.PAUSE, at(9))), "2031-03-09T08:00:00-05:00") is None


@given(st.lists(st.integers(0, 7200), min_size=2, max_size=9))
def test_hands_on_never_passes_what_went_by(gaps: list[int]) -> None:
    began = datetime(2031, 3, 4, 8, tzinfo=timezone(timedelta(hours=-5)))
    made, moment, ticks = clock(began=began.isoformat()), began, (Tick.PAUSE, Tick.RESUME)
    for place, gap in enumerate(gaps):
        moment += timedelta(seconds=gap)
        last = place == len(gaps) - 1
        tick = Tick.STOP if last else ticks[place % 2]
        made = clocks.turn(made, Mark(tick=tick, at=moment.isoformat()), called="CK-1")
    ran = sum((end - start for start, end in clocks.intervals(made)), timedelta())
    assert timedelta() <= ran <= moment - began
    assert clocks.hands_on(made) <= clocks.elapsed(made)


def worked(hours: str, **more: Any) -> Labour:
    return labour(hours, **more)


def test_hours_that_fit_their_stretch_pass() -> None:
    clocks.check_times(worked("2.5", started_at=at(8), ended_at=at(10, 30)))
    # Two decimals of an hour: 0.17 h is written for ten minutes.
    clocks.check_times(worked("0.17", started_at=at(8), ended_at=at(8, 10)))
    clocks.check_times(worked("2", elapsed=minutes(150), bay=Quantity.of(30, "h")))


@pytest.mark.parametrize(
    ("more", "refusal"),
    [
        ({"started_at": at(8)}, clocks.HalfAStretch),
        ({"ended_at": at(8)}, clocks.HalfAStretch),
        ({"started_at": at(10), "ended_at": at(8)}, clocks.EndsBeforeItStarts),
        ({"started_at": at(8), "ended_at": at(9)}, clocks.LongerThanItsStretch),
        ({"elapsed": minutes(60)}, clocks.LongerThanItsStretch),
        ({"bay": Quantity.of(-1, "h")}, clocks.NotATime),
        ({"billed_time": Quantity.of(5000, "h")}, clocks.NotATime),
    ],
)
def test_hours_that_contradict_are_refused(more: dict[str, Any], refusal: type[Exception]) -> None:
    with pytest.raises(refusal):
        clocks.check_times(worked("2", **more))


def test_a_day_has_twenty_four_hours() -> None:
    day = date(2031, 3, 4)
    clocks.check_day("HK", day, Fraction(20), Fraction(4))
    with pytest.raises(clocks.MoreThanADay, match="26 hours"):
        clocks.check_day("HK", day, Fraction(0), Fraction(26))
    with pytest.raises(clocks.MoreThanADay, match=r"24\.5 hours on 2031-03-04, 20 of them"):
        clocks.check_day("HK", day, Fraction(20), Fraction(9, 2))
