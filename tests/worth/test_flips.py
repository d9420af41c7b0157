"""Flip points: at each of them the advice turns, found by deciding again on either side."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from ortools.sat.python import cp_model

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.worth.decision import Decider, decide
from recondition.worth.estimates import ThreeAmounts
from recondition.worth.figures import rounded_up
from recondition.worth.problem import problem_of
from recondition.worth.question import Question
from recondition.worth.search import Search
from recondition.worth.weighing import Case, weigh
from tests.worth.build import ask, work
from tests.worth.joint import MARCH, enumerate_all
from tests.worth.scenarios import question, scenario
from tests.worth.test_joint import questions


def with_uplift(asked: Question, item: str, uplift: Fraction) -> Question:
    """Move the expected uplift of a certain item to a figure, rounded up to the cent."""
    amount = rounded(uplift, asked.currency)
    moved = replace(
        asked.candidates[item], uplift=ThreeAmounts(amount, amount, amount), uplift_percent=None
    )
    return replace(asked, candidates={**asked.candidates, item: moved})


@pytest.mark.parametrize("seed", [20, 21])
def test_on_either_side_of_an_uplift_flip_the_best_set_holds_the_item_or_not(seed: int) -> None:
    cent = Fraction(2, 100)
    tried = 0
    for asked in questions(seed, 18):
        sure = {
            item: replace(one, p_success=type(one.p_success)(1))
            for item, one in asked.candidates.items()
        }
        asked = replace(asked, candidates=sure, indifference=Money.of(0, "USD"))  # noqa: PLW2901
        for item in decide(asked).items:
            flip = item.figures.flip if item.figures is not None else None
            if flip is None or flip.uplift is None or not flip.proven:
                continue
            above = enumerate_all(with_uplift(asked, item.item, flip.uplift.fraction + cent))
            below = enumerate_all(with_uplift(asked, item.item, flip.uplift.fraction - cent))
            held, left = above.margin(item.item), below.margin(item.item)
            assert held is not None
            assert left is not None
            assert held >= 0 >= left
            tried += 1
    assert tried > 20


def test_a_cost_flip_is_the_cost_plus_what_the_item_is_worth() -> None:
    asked = question(scenario("S03"))
    weighing = weigh(asked)
    for item in decide(asked).items:
        assert item.figures is not None
        assert item.figures.flip is not None
        assert item.figures.marginal_net is not None
        cost = weighing.weights[item.item].cost[Case.EXPECTED]
        flip = item.figures.flip.cost
        assert flip is not None
        # Each is rounded once, so the two may be a cent apart.
        assert abs(flip.fraction - cost - item.figures.marginal_net.fraction) <= Fraction(1, 100)


def test_coating_becomes_worth_it_near_the_published_hammer_uplift() -> None:
    """Case S05 with time free: the coating must add about 430 (cost 396.60 at 0.92)."""
    (coating,) = [item for item in decide(question(scenario("S05"))).items if item.ref == "B"]
    assert coating.figures is not None
    assert coating.figures.flip is not None
    assert str(coating.figures.flip.uplift) == "431.09"


def test_a_search_without_time_says_how_far_it_may_be_off() -> None:
    asked = question(scenario("S03"))
    problem = problem_of([asked])
    search = Search(problem, seconds=30)
    made = Decider(problem, search, 0)
    assert made.best.gap == 0
    bound = replace(made.best, bound=made.best.net + 5)
    assert bound.gap == 5


def test_a_gap_smaller_than_a_cent_is_never_shown_as_none() -> None:
    assert rounded_up(Fraction(1, 1000), "USD") == Money.of("0.01", "USD")
    assert rounded_up(Fraction(0), "USD") == Money.of(0, "USD")
    assert rounded_up(Fraction(3, 2), "USD") == Money.of("1.50", "USD")


def test_what_was_left_for_touching_less_is_not_said_to_be_late() -> None:
    works = {"A": work(10, 100), "B": work(10, 14, panels=("roof",))}
    asked = ask(works, cut_off=date(2026, 3, 20), indifference=10)
    advice = decide(replace(asked, begin=MARCH))
    assert advice.chosen == ("A",)
    assert [way.name for way in advice.ready.alternatives] == [
        "what fits before the cut-off", "sold as it is",
    ]  # fmt: skip


def test_a_search_that_finds_nothing_in_time_calls_nothing_proven(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cp_model.CpSolver, "solve", lambda *_: cp_model.UNKNOWN)
    advice = decide(ask({"A": work(10, 100)}))
    assert advice.chosen == ()
    assert not advice.proven
    assert advice.gap == Money.of(100, "USD")
    assert "Time ran out before the flip points of A." in advice.notes
