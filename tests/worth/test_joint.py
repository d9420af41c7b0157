"""Choice and timetable solved together against every set laid out in every order.

``tests/bench/test_thousands.py`` does the same with thousands of them.
"""

from __future__ import annotations

import random

import pytest

from recondition.amounts.money import rounded
from recondition.errors import Refused
from recondition.worth.decision import decide
from recondition.worth.question import Question
from recondition.worth.weighing import weigh
from tests.worth.joint import drawn, enumerate_all


def questions(seed: int, count: int) -> list[Question]:
    """Draw questions without a contradiction."""
    chance = random.Random(seed)  # noqa: S311 - drawn problems, no secret
    found: list[Question] = []
    while len(found) < count:
        question = drawn(chance)
        try:
            weigh(question)
        except Refused:
            continue
        found.append(question)
    return found


def agrees(question: Question) -> None:
    """Hold every figure of one decision against enumeration."""
    joint, advice = enumerate_all(question), decide(question)
    assert set(advice.chosen) == set(joint.best)
    assert advice.proven
    value, finish = joint.ready[joint.best]
    assert advice.plan.net == rounded(value, "USD")
    if joint.best and not advice.ready.rule.startswith("serial"):
        assert advice.ready.clock_hours is not None
        assert max(each.ready for each in advice.ready.lying) == advice.ready.end
    others = [net for items, (net, _) in joint.ready.items() if items != joint.best]
    if others:
        assert advice.runner_up is not None
        assert advice.runner_up.net == rounded(max(others), "USD")
    for item in advice.items:
        if item.figures is not None:
            margin = joint.margin(item.item)
            assert item.figures.marginal_net == (None if margin is None else rounded(margin, "USD"))
    assert finish >= 0


@pytest.mark.parametrize("seed", range(3))
def test_the_solver_equals_every_set_in_every_order(seed: int) -> None:
    for question in questions(seed, 24):
        agrees(question)
