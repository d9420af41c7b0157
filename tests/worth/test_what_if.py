"""What is read off a flip point is what the search finds on either side of it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.worth.advice import Verdict
from recondition.worth.contradictions import UnknownItem
from recondition.worth.decision import decide
from recondition.worth.what_if import Change, Figure, Lever, asked_with, levers, moved, turned
from tests.worth.build import ask, sure_number, usd, work
from tests.worth.test_joint import questions

if TYPE_CHECKING:
    from recondition.worth.question import Question

_FLIPS_MAX = 4
_UNITS = 4  # a flip is rounded to the cent, and with a chance of a half a cent is two


def plain(seed: int) -> Question:
    """Draw a small vehicle whose best set is the plan, and whose cost moves nothing but money."""
    (asked,) = questions(seed, 1)
    terms = replace(asked.terms, cash_limit=None, hours_limit=None, cut_off=None)
    return replace(asked, indifference=Money.zero("USD"), terms=terms)


def holds(asked: Question, lever: Lever, whole: int) -> bool:
    """Solve again with an estimate moved, and tell whether its work is in the plan."""
    change = Change(lever.item, lever.figure, lever.number(whole))
    return lever.item in decide(asked_with(asked, [change])).chosen


def agree(asked: Question) -> int:
    """Hold both sides of a question's first flips against the search; count the flips.

    With an indifference the sides begin where it ends.
    """
    tried = 0
    for lever in levers(asked, decide(asked)):
        by_time = lever.figure is Figure.HOURS and asked.terms.holding_per_day is not None
        if lever.turn is None or not lever.proven or by_time or tried == _FLIPS_MAX:
            continue
        first, last = lever.between or (lever.turn, lever.turn)
        assert first <= lever.turn <= last
        assert holds(asked, lever, last + _UNITS) is lever.figure.adds
        if lever.figure.adds or first > _UNITS:
            assert holds(asked, lever, first - _UNITS) is not lever.figure.adds
        tried += 1
    return tried


def spared(seed: int) -> Question:
    """Draw such a vehicle in a book that gives up to 40 to touch less."""
    return replace(plain(seed), indifference=usd(40))


@settings(max_examples=4, derandomize=True, deadline=None)
@given(st.integers(0, 10**6))
def test_the_flip_and_the_search_agree_on_both_sides(seed: int) -> None:
    agree(plain(seed))
    agree(spared(seed))


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(st.integers(0, 10**6))
def test_the_flip_and_the_search_agree_on_both_sides_at_length(seed: int) -> None:
    agree(plain(seed))
    agree(spared(seed))


def test_some_flips_were_tried() -> None:
    assert sum(agree(plain(seed)) for seed in range(4)) > 10


def test_nothing_moved_is_the_same_question() -> None:
    asked = plain(1)
    same = [Change(i, Figure.CASH, c.cash.likely.number) for i, c in asked.candidates.items()]
    assert asked_with(asked, same) == asked
    assert turned(decide(asked), decide(asked_with(asked, same))) == ()


def test_a_plan_moved_past_the_flip_says_which_verdict_turned() -> None:
    asked = ask({"A": work(100, 150), "B": work(100, 50)})
    found = {(each.item, each.figure): each for each in levers(asked, decide(asked))}
    lever = found["B", Figure.UPLIFT]
    assert (lever.turn, lever.inside, lever.unit, lever.places) == (10000, False, "USD", 2)
    after = decide(asked_with(asked, [Change("B", Figure.UPLIFT, Decimal("100.01"))]))
    (turn,) = turned(decide(asked), after)
    assert (turn.ref, turn.was, turn.now) == ("B", Verdict.LEAVE, Verdict.DO)
    assert found["A", Figure.CASH].turn == 15000


def test_an_estimate_moves_as_a_whole_and_cash_not_below_nothing() -> None:
    one = replace(work(30, 80), hours=sure_number(2))
    assert moved(one, Figure.UPLIFT, Decimal(-5)).uplift == work(0, -5).uplift
    wide = replace(one, cash=replace(one.cash, low=usd(10), high=usd(90)))
    shifted = moved(wide, Figure.CASH, Decimal(5)).cash
    assert (shifted.low, shifted.likely, shifted.high) == (usd(0), usd(5), usd(65))
    assert moved(one, Figure.HOURS, Decimal("3.5")).hours == sure_number("3.5")


def test_what_has_no_such_estimate_cannot_be_moved() -> None:
    with pytest.raises(UnknownItem, match="no estimate of its uplift percent"):
        moved(work(1, 2), Figure.PERCENT, Decimal(3))
    with pytest.raises(UnknownItem, match="C-9 is not candidate work"):
        asked_with(ask({"A": work(1, 2)}), [Change("C-9", Figure.CASH, Decimal(1))])


@pytest.mark.long
@settings(max_examples=15, derandomize=True, deadline=None)
@given(st.integers(0, 10**6))
def test_a_slider_holds_its_estimate_and_stands_on_its_own_step(seed: int) -> None:
    asked = plain(seed)
    for lever in levers(asked, decide(asked, seconds=2.0)):
        assert lever.least <= lever.likely <= lever.most
        assert lever.step >= 1
        assert (lever.likely - lever.least) % lever.step == 0
        assert lever.figure.adds or lever.least >= 0
        assert lever.most >= lever.high


def test_a_percent_estimate_moves_in_percent() -> None:
    one = replace(work(100, None), uplift_percent=sure_number("1.5"))
    asked = ask({"A": one})
    found = {each.figure: each for each in levers(asked, decide(asked))}
    lever = found[Figure.PERCENT]
    assert (lever.unit, lever.likely, lever.turn) == ("%", 150, 100)
    assert Figure.UPLIFT not in found
