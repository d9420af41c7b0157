"""How long an opened container keeps, by days counted on a calendar."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.amounts.units import UnitMismatch
from recondition.materials.shelf_life import days_left, good_until, in_words

OPENED = date(2031, 2, 20)


@pytest.mark.parametrize(
    ("life", "last_good"),
    [
        ("30", date(2031, 3, 22)),  # eight days to the end of February, twenty-two of March
        ("1", date(2031, 2, 21)),
        ("10.9", date(2031, 3, 2)),  # part of a day is not counted
    ],
)
def test_the_last_good_day_is_whole_days_after_opening(life: str, last_good: date) -> None:
    assert good_until(OPENED, Quantity.of(life, "day")) == last_good


def test_hours_are_clock_hours() -> None:
    assert good_until(OPENED, Quantity.of("72", "h")) == date(2031, 2, 23)
    assert good_until(OPENED, Quantity.of("6", "h")) == OPENED


def test_a_life_that_is_no_time_is_refused() -> None:
    with pytest.raises(UnitMismatch):
        good_until(OPENED, Quantity.of("30", "ml"))


@pytest.mark.parametrize(
    ("today", "words"),
    [
        (date(2031, 3, 19), "good for 3 days"),
        (date(2031, 3, 21), "good for 1 day"),
        (date(2031, 3, 22), "today is the last day"),
        (date(2031, 3, 23), "1 day past"),
        (date(2031, 4, 3), "12 days past"),
    ],
)
def test_what_is_left_is_said_in_words(today: date, words: str) -> None:
    assert in_words(days_left(date(2031, 3, 22), today)) == words


@given(days=st.integers(1, 2000), later=st.integers(0, 2000))
def test_a_container_is_past_exactly_when_more_days_went_by_than_it_keeps(
    days: int, later: int
) -> None:
    until = good_until(OPENED, Quantity.of(days, "day"))
    left = days_left(until, OPENED + timedelta(days=later))
    assert (left < 0) == (later > days)
    assert in_words(left).endswith("past") == (later > days)
