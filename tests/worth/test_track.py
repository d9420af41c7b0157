"""Decisions against what happened, tests worth making first, and reasons to stop."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.condition.vehicle import Holding
from recondition.worth.estimates import CandidateState, ThreeAmounts
from recondition.worth.problem import problem_of
from recondition.worth.question import Question, Used
from recondition.worth.stops import breaches
from recondition.worth.track import Met, biases, correction_of, scaled_amounts
from recondition.worth.trials import Trial, worth_of_test
from recondition.worth.weighing import weigh
from tests.worth.build import ask, sure_amount, sure_number, usd, work
from tests.worth.joint import MARCH


def met(expected: int, actual: int | None, *by: str, what: str = "price") -> Met:
    low, high = usd(expected * 9 // 10), usd(expected * 11 // 10)
    return Met(
        decision="DC-1", vehicle="v", what=what, by=by, low=low, expected=usd(expected), high=high,
        actual=None if actual is None else usd(actual),
    )  # fmt: skip


def test_bias_is_told_by_whom_with_counts_and_pulled_towards_none() -> None:
    found = biases(
        [met(1000, 1200, "IC"), met(1000, 1200, "IC"), met(1000, 950, "TA"), met(9, None)]
    )
    told = {(bias.who, bias.what): bias for bias in found}
    assert (told["IC", "price"].count, told["IC", "price"].inside) == (2, 0)
    assert (told["TA", "price"].count, told["TA", "price"].inside) == (1, 1)
    assert told["", "price"].count == 3
    assert float(told["IC", "price"].factor) == pytest.approx(1.2)
    # Two of seven, five of which are imagined to have been right: 1.2 ** (2 / 7).
    assert float(told["IC", "price"].correction) == pytest.approx(1.2 ** (2 / 7), abs=1e-4)
    assert correction_of(found, "price", "IC") == told["IC", "price"].correction
    assert correction_of(found, "price", "nobody") == told["", "price"].correction
    assert correction_of(found, "cost", "IC") == 1


@given(st.lists(st.tuples(st.integers(100, 9999), st.integers(100, 9999)), min_size=1, max_size=9))
def test_a_correction_lies_between_none_and_the_bias(pairs: list[tuple[int, int]]) -> None:
    (bias, *_) = biases([met(expected, actual) for expected, actual in pairs])
    near = sorted((Fraction(1), bias.factor))
    assert near[0] <= bias.correction <= near[1]
    assert 0 <= bias.inside <= bias.count == len(pairs)


def test_a_scaled_estimate_is_rounded_once() -> None:
    three = ThreeAmounts(usd("10.01"), usd("20.02"), usd("30.03"))
    assert scaled_amounts(three, Fraction(1, 3)).high == usd("10.01")


def trial(**more: object) -> Trial:
    given = {
        "vehicle": "v", "name": "panel", "p_good": Decimal("0.5"), "good_uplift": sure_amount(300),
        "bad_uplift": sure_amount(-200), "good_hours": sure_number(0), "good_cash": sure_amount(0),
    } | more  # fmt: skip
    return Trial(**given)


def test_a_test_that_is_a_coin_is_worth_nothing_but_its_cost() -> None:
    worth = worth_of_test(weigh(ask({})), trial(reliability=Decimal("0.5"), test_cash=usd(7)))
    assert (worth.untested, worth.tested, worth.value) == (usd(50), usd(43), usd(-7))
    assert not worth.pays
    assert worth.advice.startswith("do it without the test")


def test_a_test_that_is_always_wrong_is_read_the_other_way_round() -> None:
    worth = worth_of_test(weigh(ask({})), trial(reliability=Decimal(0)))
    assert worth.value == usd(100)
    assert worth.advice == "test first, then do it only if the test says bad"


def test_work_that_never_pays_is_left_untested() -> None:
    never = trial(good_uplift=sure_amount(-5), test_cash=usd(1))
    worth = worth_of_test(weigh(ask({})), never)
    assert worth.advice == "leave it: neither testing nor doing it pays"


def begun(**more: object) -> Question:
    """Give a vehicle with one piece of work under way."""
    started = work(10, 100, hours=sure_number(5), state=CandidateState.STARTED)
    asked = ask({"A": replace(started, **more)}, labour_cost_rate=usd(10), cut_off=date(2026, 3, 3))
    return replace(asked, begin=MARCH)


def reasons(asked: Question) -> list[str]:
    return [each.why for each in breaches(problem_of([asked]))]


def test_past_spend_never_enters_the_stop_rule() -> None:
    assert reasons(begun()) == []
    dear = begun(uplift=sure_amount(55))
    assert reasons(dear) == ["what is left of it costs 60.00 USD and is expected to gain 55.00 USD"]
    nearly = replace(dear, used={"A": Used(Fraction(4), Fraction(500))})
    assert reasons(nearly) == []


def test_hours_beyond_the_high_estimate_ask_for_a_new_one() -> None:
    over = replace(begun(), used={"A": Used(Fraction(6), Fraction(0))})
    assert reasons(over) == [
        "it has taken 6.00 hours, more than the high estimate of 5.00: estimate what is left anew"
    ]


def test_work_that_will_be_late_is_said_to_be() -> None:
    (why,) = reasons(begun(hours=sure_number(30), uplift=sure_amount(900)))
    assert why.startswith("cannot be ready by 2026-03-04 00:00")


def test_an_owners_limit_that_will_be_passed_is_said() -> None:
    asked = replace(begun(), holding=Holding.CONSIGNED)
    asked = replace(asked, terms=replace(asked.terms, charge_out_rate=usd(10)))
    limit = {"already_billed": Money.of(80, "USD"), "authority": Money.of(100, "USD")}
    (why,) = reasons(replace(asked, **limit))
    assert why == (
        "with 60.00 USD still to come the owner's limit of 100.00 USD is passed by 40.00 USD: "
        "ask first"
    )
