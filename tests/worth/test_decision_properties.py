"""The fast decision against a plain one, on drawn questions with everything in them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from recondition.amounts.money import rounded
from recondition.worth.advice import Verdict, sentence
from recondition.worth.decision import decide, worth_of
from tests.strategies_worth import questions
from tests.worth import brute_force as plain

if TYPE_CHECKING:
    from recondition.worth.question import Question

BOUNDED = settings(max_examples=20, deadline=None)


@BOUNDED
@given(questions())
def test_the_plan_is_the_one_that_plain_enumeration_finds(question: Question) -> None:
    advice = decide(question)
    sets = list(plain.allowed_sets(question))
    chosen = plain.best(sets, question)
    assert set(advice.chosen) == set(chosen)
    assert advice.plan.net == rounded(plain.net(chosen, question), "USD")
    assert advice.plan.uplift == rounded(plain.uplift(chosen, question), "USD")
    top = max(plain.net(items, question) for items in sets)
    assert advice.given_up == rounded(top - plain.net(chosen, question), "USD")
    others = [items for items in sets if set(items) != set(chosen)]
    if others:
        second = max(plain.net(items, question) for items in others)
        assert advice.runner_up is not None
        assert advice.runner_up.net == rounded(second, "USD")
    else:
        assert advice.runner_up is None


@BOUNDED
@given(questions())
def test_a_flip_costs_what_plain_enumeration_says(question: Question) -> None:
    sets = list(plain.allowed_sets(question))
    for item in decide(question).items:
        held = [plain.net(items, question) for items in sets if item.item in items]
        left = [plain.net(items, question) for items in sets if item.item not in items]
        if item.figures is None or not held:
            assert item.figures is None or item.figures.marginal_net is None
        else:
            assert item.figures.marginal_net == rounded(max(held) - max(left), "USD")


@BOUNDED
@given(questions())
def test_asking_never_moves_the_plan_and_the_best_without_stands_beside_it(
    question: Question,
) -> None:
    advice = decide(question)
    asked = {item.item for item in advice.items if item.verdict is Verdict.ASK}
    assert asked == {item for item in advice.chosen if plain.asks(item, question)}
    free = [
        items
        for items in plain.allowed_sets(question)
        if not any(plain.asks(item, question) for item in items)
    ]
    expected = plain.best(free, question) if asked else advice.chosen
    assert set(advice.without_asking.items) == set(expected)
    consent = {item: replace(one, consent_given=True) for item, one in question.candidates.items()}
    assert decide(replace(question, candidates=consent)).chosen == advice.chosen


@BOUNDED
@given(questions(), st.randoms(use_true_random=False))
def test_the_order_of_the_input_changes_nothing(question: Question, chance: object) -> None:
    items, terms = list(question.candidates.items()), list(question.interactions)
    chance.shuffle(items)
    chance.shuffle(terms)
    shuffled = replace(question, candidates=dict(items), interactions=tuple(terms))
    advice = decide(question)
    assert decide(shuffled) == advice
    assert sentence(advice).endswith(".")


@BOUNDED
@given(questions())
def test_break_even_is_where_an_item_just_pays(question: Question) -> None:
    advice = decide(question)
    before = plain.middle(question.terms.as_is, question)
    for item in advice.items:
        if item.figures is None:
            continue
        rest = tuple(set(advice.chosen) - {item.item}) if item.item in advice.chosen else ()
        there = before + plain.uplift(rest, question)
        step = item.figures.break_even_uplift.fraction
        gain = plain.kept(there + step, question.terms) - plain.kept(there, question.terms)
        missing = gain - plain.cost(question.candidates[item.item], question)
        # The printed figure is rounded to the cent, and no slope is above one.
        assert abs(missing) <= Fraction(1, 200)


@BOUNDED
@given(questions())
def test_the_chosen_set_is_worth_the_same_when_asked_for_by_name(question: Question) -> None:
    advice = decide(question)
    assert worth_of(question, advice.chosen) == advice.plan
    assert worth_of(question, ()).net.minor == 0
