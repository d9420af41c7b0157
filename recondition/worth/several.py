"""Several vehicles in one shop: what is done to each, together, and what more room is worth.

The choice for all is one problem: one set of hands, bays and cash, each vehicle with its own
cut-off and terms. Where that is not settled in time, a set put together piece by piece is
bettered by taking work out and filling it anew (or, where vehicles sell when ready, by solving a
few of them with the others held); the bound comes from the choice for all at once.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction
from time import monotonic
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import CurrencyMismatch, rounded
from recondition.errors import Refused
from recondition.worth.asking import Asking
from recondition.worth.calendar import Calendar
from recondition.worth.contradictions import BelowZero
from recondition.worth.figures import plan_of, rounded_up
from recondition.worth.jobs import Timeline
from recondition.worth.master import OutOfTime, Wish
from recondition.worth.problem import Problem, problem_of
from recondition.worth.ready import Lying, laid_out
from recondition.worth.risk import Draws
from recondition.worth.search import Best, Search
from recondition.worth.weighing import ZERO, Items, Wall

if TYPE_CHECKING:
    from recondition.worth.advice import Plan
    from recondition.worth.question import Question

Closing = Callable[[Fraction, Fraction], None]
_NEIGHBOURS = (2, 3, 4)
_A_TRY_SECONDS = 3.0
_WORSE = 0.01
_PROOF_SECONDS = 15.0  # for the whole at once, before it is taken piece by piece


class OneAtATime(Refused):
    """Vehicles cannot be planned together by the rule in force."""


@dataclass(frozen=True, slots=True, kw_only=True)
class More:
    """What one more of something is worth to the whole; ``at_most`` where it is only bounded."""

    what: str
    worth: Money
    at_most: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What is done to one vehicle: its plan, its time, and what asks before it is done.

    ``asks`` gives by item why; the higher bar of irreversible work is not looked at here.
    """

    ref: str
    plan: Plan
    lying: tuple[Lying, ...]
    end: datetime | None
    wall: datetime | None
    hours: Fraction
    per_hour: Money
    asks: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """The plan for all. No plan is worth more than ``gap`` above it; ``cash`` is what it takes."""

    shares: tuple[Share, ...]
    net: Money
    gap: Money
    cash: Money
    purse: Money | None
    more: tuple[More, ...]
    calendar: Calendar

    def on(self, day: date) -> Iterator[tuple[str, Lying]]:
        """Give who is worked on that day, with the work; nobody where the shop is closed."""
        for share in self.shares if self.calendar.works_on(day) else ():
            for each in share.lying:
                if each.start.date() <= day <= each.end.date():
                    yield share.ref, each


def together(
    questions: dict[str, Question],
    *,
    purse: Money | None = None,
    seconds: float = 60.0,
    closing: Closing | None = None,
) -> Together:
    """Plan several vehicles at once; keys are their stock numbers.

    Raises BelowZero, OneAtATime, CurrencyMismatch, and what a single question raises.
    """
    hold_purse(purse)
    asked = list(questions.values())
    currencies = sorted({question.currency for question in asked})
    if len(currencies) > 1:
        what = f"The vehicles are in {' and '.join(currencies)}."
        raise CurrencyMismatch(what, todo="Plan those of one currency together.")
    problem = problem_of(asked, purse.fraction if purse is not None else None)
    if problem.serial:
        what = "The rule 'serial blocks' lays out one vehicle at a time."
        todo = "Plan them one by one, or set 'laying out' to 'shop calendar'."
        raise OneAtATime(what, todo=todo)
    search = Search(problem, seconds=seconds, closing=closing)
    best = _best(search, seconds)
    line = search.line(best.items) or Timeline(())
    currency = currencies[0]
    refs = {item: question.ref(item) for question in asked for item in question.candidates}
    lying = laid_out(problem, best.items, line, refs)
    cash = sum(
        (car.weighing.takes(Wall.CASH, best.items & frozenset(car.open)) for car in problem.cars),
        ZERO,
    )
    return Together(
        shares=tuple(_shares(problem, list(questions), best, lying)),
        net=rounded(best.net, currency),
        gap=rounded_up(best.gap, currency),
        cash=rounded(cash, currency),
        purse=purse,
        more=tuple(_more(search, best, currency)) if best.gap == 0 else (),
        calendar=problem.shop.calendar,
    )


def hold_purse(purse: Money | None) -> None:
    """Hold that a purse is not below zero. Raises BelowZero."""
    if purse is not None and purse.minor < 0:
        what = f"A purse of {purse.grouped} is below zero."
        raise BelowZero(what, where="cash", todo="Enter zero or more, or leave it empty.")


def _best(search: Search, seconds: float) -> Best:
    """Search for all at once, and where that is not settled, a few vehicles at a time."""
    until = search.deadline
    search.deadline = monotonic() + min(seconds / 3, _PROOF_SECONDS)
    try:
        best = search.best(Wish())
    finally:
        search.deadline = until
    assert best is not None  # noqa: S101 - to do nothing is always allowed
    if best.gap == 0:
        return best
    bettered = _neighbours if any(car.per_day for car in search.problem.cars) else _refilled
    for found in bettered(search, best):
        best = replace(found, bound=min(best.bound, found.bound))
        search.tell(best, best.bound)
    return best


def _refilled(search: Search, best: Best) -> Iterator[Best]:
    """Take work out and fill anew, again and again until time is over."""
    chance = random.Random(0)  # noqa: S311 - the same search each time, no secret
    filling, bound = search.filling, best.bound
    filled = filling.fill(frozenset())
    if filling.net(filled) > best.net:
        best = Best(filled, filling.net(filled), bound, {})
        yield best
    try:
        choice = search.master.solve(Wish(), seconds=_A_TRY_SECONDS, hint=best.items)
        favoured = choice.items if choice is not None else best.items
    except OutOfTime:
        favoured = best.items
    began, at, here = monotonic(), best.items, best.net
    while monotonic() < search.deadline and best.net < bound:
        items = filling.refilled(at, favoured, chance)
        net = filling.net(items)
        # A little worse is taken at first, and ever less, so as not to stay where it is.
        left = (search.deadline - monotonic()) / max(search.deadline - began, 1e-9)
        if net > here - best.net * Fraction(_WORSE * max(left, 0.0)):
            at, here = items, net
        if net > best.net:
            best = Best(items, net, bound, {})
            yield best


def _neighbours(search: Search, best: Best) -> Iterator[Best]:
    """Solve a few vehicles anew with the others held, again and again until time is over."""
    chance = random.Random(0)  # noqa: S311 - the same search each time, no secret
    count, until, bound = len(search.problem.cars), search.deadline, best.bound
    search.line(best.items)
    while monotonic() < until and count > 1:
        free = set(chance.sample(range(count), min(chance.choice(_NEIGHBOURS), count)))
        held = frozenset(i for i in search.master.items if search.problem.car_of[i] not in free)
        search.deadline = min(monotonic() + _A_TRY_SECONDS, until)
        wish = Wish(inside=best.items & held, outside=held - best.items)
        try:
            found = search.best(wish, hint=best.items)
        except OutOfTime:
            found = None
        search.deadline = until
        if found is not None and found.net > best.net:
            best = replace(found, bound=bound)
            yield best


def _shares(
    problem: Problem, refs: list[str], best: Best, lying: Iterable[Lying]
) -> Iterator[Share]:
    placed = list(lying)
    for n, (ref, car) in enumerate(zip(refs, problem.cars, strict=True)):
        mine = best.items & frozenset(car.open)
        holding = car.per_day * best.days.get(n, 0) if mine else ZERO
        own = tuple(each for each in placed if each.item in mine)
        hours = sum((problem.hours(problem.pieces[item].work) for item in mine), ZERO)
        plan = plan_of(car.weighing, mine, holding)
        draws = Draws(car.weighing)

        def worst(items: Items, draws: Draws = draws) -> Fraction:
            return draws.risk(items).worst.fraction

        yield Share(
            ref=ref,
            plan=plan,
            lying=own,
            end=max((each.ready for each in own), default=None),
            wall=None if car.wall is None else problem.moment(car.wall),
            hours=hours,
            asks=Asking(car.weighing, mine, {}, worst).reasons(),
            per_hour=rounded(plan.net.fraction / hours if hours else ZERO, plan.net.currency),
        )


def _more(search: Search, best: Best, currency: str) -> Iterator[More]:
    """Solve again with one unit of cash more, and one hour more of hands and of a bay."""
    problem = search.problem
    names = [hand.name for hand in problem.shop.working]
    every = dict.fromkeys(range(len(names)), problem.tick)
    trials = [
        (
            "one more hour in every bay, all hands staying on the first day",
            replace(problem, overtime=every),
        )
    ]
    trials += [
        (
            f"one more hour of {name or 'one pair of hands'} on the first day",
            replace(problem, overtime={hand: problem.tick}),
        )
        for hand, name in enumerate(names)
        if name or hand == 0
    ]
    if problem.purse is not None:
        more = replace(problem, purse=problem.purse + 1)
        trials.append((f"one more {currency} of cash", more))
    for what, other in trials:
        again = Search(other, seconds=max(search.left, _A_TRY_SECONDS))
        try:
            found = again.best(Wish(), hint=best.items)
        except OutOfTime:
            continue
        assert found is not None  # noqa: S101 - to do nothing is always allowed
        worth = max(found.net - best.net, ZERO)
        most = max(found.bound - best.net, ZERO)
        yield More(what=what, worth=rounded(worth, currency), at_most=rounded_up(most, currency))
