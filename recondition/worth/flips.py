"""Where the advice on an item turns: found by solving again with it forced in or out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from recondition.amounts.money import rounded
from recondition.worth.advice import Flip
from recondition.worth.figures import rounded_up
from recondition.worth.master import OutOfTime, Wish
from recondition.worth.problem import Problem
from recondition.worth.search import Best, Search
from recondition.worth.weighing import ZERO, Case, Items, Weighing


@dataclass(frozen=True, slots=True)
class Turn:
    """The best with an item and the best without it; either is None where no set is allowed.

    ``known`` is False where time ran out before one of them was found.
    """

    held: Best | None
    left: Best | None
    known: bool = True

    @property
    def margin(self) -> Fraction | None:
        """Give the best net with the item less the best without it."""
        if self.held is None or self.left is None:
            return None
        return self.held.net - self.left.net

    @property
    def gap(self) -> Fraction:
        """Give by how much the margin may be off."""
        return sum((each.gap for each in (self.held, self.left) if each is not None), ZERO)


def turn_of(search: Search, item: str, best: Best) -> Turn:
    """Solve again without an item of the best set, or with an item outside it."""
    alone: Items = frozenset({item})
    try:
        if item in best.items:
            return Turn(best, search.best(Wish(outside=alone), hint=best.items - alone))
        return Turn(search.best(Wish(inside=alone), hint=best.items | alone), best)
    except OutOfTime:
        return Turn(None, None, known=False)


def flip_of(search: Search, item: str, turn: Turn) -> Flip | None:
    """Give where the advice on an item turns; None where no allowed set holds it."""
    margin = turn.margin
    if margin is None:
        return None
    problem = search.problem
    weighing = problem.cars[problem.car_of[item]].weighing
    currency = weighing.question.currency
    cost = weighing.weights[item].cost[Case.EXPECTED] + margin
    uplift, gap = _uplift(search, item, turn)
    gap += turn.gap
    return Flip(
        cost=rounded(cost, currency) if cost > 0 else None,
        uplift=rounded(uplift, currency),
        proven=gap == 0,
        within=rounded_up(gap, currency),
    )


def _uplift(search: Search, item: str, turn: Turn) -> tuple[Fraction, Fraction]:
    """Give the smallest expected uplift at which an item pays its way, and what is not proven.

    For a given set the uplift that it needs is exact. Another set may need less: it is looked
    for at that uplift, until none is better than doing without the item. With a flat rate the
    best set with the item is the same at every uplift.
    """
    assert turn.held is not None  # noqa: S101 - there is a margin
    assert turn.left is not None  # noqa: S101 - as above
    problem = search.problem
    number = problem.car_of[item]
    weighing = problem.cars[number].weighing
    target = turn.left.net
    held = turn.held
    needed = _needed(problem, item, held, target)
    if len(set(weighing.curve.slopes)) == 1 and len(problem.cars) == 1:
        return needed, ZERO
    while True:
        moved = _with_uplift(problem, number, item, needed)
        asked = search.moved(moved, search.left)
        try:
            found = asked.best(Wish(inside=frozenset({item})), hint=held.items)
        except OutOfTime as out:
            return needed, max(out.bound - target, ZERO)
        if found is None or found.net <= target:
            return needed, (found.gap if found is not None else ZERO)
        less = _needed(moved, item, found, target)
        if less >= needed:
            return needed, found.gap
        needed = less


def _needed(problem: Problem, item: str, held: Best, target: Fraction) -> Fraction:
    """Give the expected uplift of an item at which a set that holds it nets ``target``."""
    number = problem.car_of[item]
    car = problem.cars[number]
    weighing: Weighing = car.weighing
    own = weighing.weights[item].uplift[Case.EXPECTED]
    mine = held.items & frozenset(car.open)
    rest = weighing.uplift(mine) - own
    missing = target - (held.net - weighing.net(mine))
    start = weighing.curve.at(weighing.as_is)
    price = weighing.curve.where(start + weighing.cost(mine) + missing)
    return price - weighing.as_is - rest


def _with_uplift(problem: Problem, number: int, item: str, uplift: Fraction) -> Problem:
    """Give the problem with another expected uplift of one item."""
    car = problem.cars[number]
    weight = car.weighing.weights[item]
    changed = replace(weight, uplift={**weight.uplift, Case.EXPECTED: uplift})
    weighing = replace(car.weighing, weights={**car.weighing.weights, item: changed})
    cars = list(problem.cars)
    cars[number] = replace(car, weighing=weighing)
    return replace(problem, cars=tuple(cars))
