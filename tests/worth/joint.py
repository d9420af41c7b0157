"""Choice and timetable together, as plainly as the rules read: every set, every order of jobs.

Small vehicles are drawn with everything that bears on time; the answer is found by laying out
every order of every allowed set on every choice of hands.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from itertools import permutations, product

from recondition.worth.calendar import Calendar
from recondition.worth.estimates import Basis, Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.jobs import in_time, place
from recondition.worth.problem import Problem, problem_of
from recondition.worth.question import Question
from recondition.worth.shop import Hand, LayingOut, Shop
from recondition.worth.terms import SellsWhen, Slice
from tests.worth import brute_force as plain
from tests.worth.build import ask, sure_amount, usd

NAMES = "ABCDE"
MARCH = datetime(2026, 3, 2)  # noqa: DTZ001 - the shop's own wall clock


@dataclass(frozen=True)
class Joint:
    """What plain enumeration finds: net and finish of every set that can be ready."""

    ready: dict[tuple[str, ...], tuple[Fraction, int]]
    best: tuple[str, ...]

    def margin(self, item: str) -> Fraction | None:
        """Give the best net with an item less the best without it."""
        held = [net for items, (net, _) in self.ready.items() if item in items]
        left = [net for items, (net, _) in self.ready.items() if item not in items]
        return max(held) - max(left) if held else None


def enumerate_all(question: Question) -> Joint:
    """Lay out every allowed set in every way."""
    problem = problem_of([question])
    problem = replace(problem, cars=tuple(replace(car, bars={}) for car in problem.cars))
    ready: dict[tuple[str, ...], tuple[Fraction, int]] = {}
    for items in plain.allowed_sets(question):
        if all(problem.pieces[item].hands for item in items):
            finish = earliest(problem, frozenset(items))
            wall = problem.cars[0].wall
            if finish is not None and (not items or wall is None or finish <= wall):
                ready[items] = (net(question, problem, items, finish), finish)
    floor = max(value for value, _ in ready.values()) - plain.money(question.indifference)
    near = [items for items, (value, _) in ready.items() if value >= floor]
    return Joint(ready, min(near, key=lambda items: touch(question, items, ready[items][1])))


def earliest(problem: Problem, items: frozenset[str]) -> int | None:
    """Give the earliest finish over every order and every choice of hands; None if none fits."""
    if problem.serial:
        return problem.serial_finish(items)
    jobs = problem.jobs(items)
    ends = [0] if not jobs else []
    for order in permutations(jobs):
        before: set[str] = set()
        lawful = True
        for job in order:
            lawful = lawful and job.after <= before
            before.add(job.name)
        for hands in product(*(job.hands for job in order)) if lawful else ():
            names = {job.name: hand for job, hand in zip(order, hands, strict=True)}
            line = place(problem.site, order, names)
            if line is not None and in_time(line, jobs):
                ends.append(line.finish)
    return min(ends, default=None)


def net(question: Question, problem: Problem, items: tuple[str, ...], finish: int) -> Fraction:
    """Give the net of a set: where the vehicle sells when ready, the finish pays holding."""
    value, terms = plain.net(items, question), question.terms
    if terms.sells is SellsWhen.WHEN_READY and terms.holding_per_day and items:
        day = plain.money(terms.holding_per_day)
        value += sum(Fraction(question.candidates[i].extra_days) * day for i in items)
        value -= day * problem.day_of(finish)
    return value


def touch(question: Question, items: tuple[str, ...], finish: int) -> tuple[object, ...]:
    """Give how much a set touches, the earlier end between panels and cash."""
    lasting, panels, _, spent, count, refs = plain.touch(items, question)
    return lasting, panels, finish, spent, count, refs


def drawn(chance: random.Random) -> Question:
    """Draw a small vehicle."""
    names = NAMES[: chance.randint(1, len(NAMES))]
    hands = tuple(
        Hand(
            name=f"P{number}",
            skills=frozenset(chance.sample(["leather", "paint"], chance.randint(0, 2))),
            hours_a_day=chance.choice([None, None, Fraction(4)]),
        )
        for number in range(chance.choice([0, 0, 1, 2]))
    )
    week = chance.choice([5, 5, 7])
    shop = Shop(
        calendar=Calendar(weekdays=frozenset(range(week))),
        hands=hands,
        bays=chance.choice([1, 1, 2]),
        laying_out=chance.choice([LayingOut.CALENDAR] * 4 + [LayingOut.SERIAL_BLOCKS]),
    )
    works = {name: _work(chance, names[:place], hands) for place, name in enumerate(names)}
    last = chance.choice([None, None, *names])
    if last and not any(last in work.requires for work in works.values()):
        works[last] = replace(works[last], after_all=True)
    question = ask(
        works,
        together=_together(chance, names),
        as_is=sure_amount(chance.choice([1000, 1150])),
        basis=chance.choice(list(Basis)),
        labour_cost_rate=usd(chance.choice([0, 4, 7])),
        commission=_slices(chance),
        premium=_slices(chance),
        sells=chance.choice(list(SellsWhen)),
        holding_per_day=chance.choice([None, usd(6), usd(13)]),
        cash_limit=chance.choice([None, None, usd(60)]),
        hours_limit=chance.choice([None, None, Decimal(9)]),
        cut_off=chance.choice([None, date(2026, 3, 3), date(2026, 3, 5), date(2026, 3, 10)]),
        indifference=chance.choice([0, 0, 15, 40]),
    )
    begin = MARCH.replace(hour=chance.choice([0, 0, 10]))
    return replace(question, shop=shop, begin=begin, refs={name: name for name in works})


def _work(chance: random.Random, before: str, hands: tuple[Hand, ...]) -> Candidate:
    hours = sorted(chance.choice([1, 2, 3, 5, 8]) for _ in range(3))
    uplift = sorted(chance.choice([-40, 30, 60, 90, 150, 250]) for _ in range(3))
    cash = sorted(chance.choice([0, 10, 20, 33]) for _ in range(3))
    requires = tuple(name for name in before if chance.random() < 0.2)
    excludes = tuple(name for name in before if chance.random() < 0.1)
    return Candidate(
        vehicle="v",
        name="work",
        hours=ThreeNumbers(*map(Decimal, hours)),
        cash=ThreeAmounts(*map(usd, cash)),
        uplift=ThreeAmounts(*map(usd, uplift)),
        p_success=chance.choice([Decimal(1), Decimal("0.85"), Decimal("0.5")]),
        fail_cash=chance.choice([None, usd(15)]),
        requires=requires,
        excludes=tuple(name for name in excludes if name not in requires),
        cure_hours=Decimal(chance.choice([0, 0, 6, 24])),
        cure_keeps_bay=chance.random() < 0.3,
        delivery_hours=Decimal(chance.choice([0, 0, 0, 30, 100])),
        panels=tuple(chance.sample(["a", "b", "c"], chance.randint(0, 2))),
        irreversible=chance.random() < 0.3,
        extra_days=Decimal(chance.choice([0, 0, 2])),
        skills=chance.choice([(), (), ("leather",)]) if hands else (),
    )


def _together(chance: random.Random, names: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for _ in range(chance.randint(0, 2) if len(names) > 1 else 0):
        count = min(len(names), chance.choice([2, 2, 3]))
        found[" ".join(sorted(chance.sample(names, count)))] = chance.choice([-60, 40, 90])
    return found


def _slices(chance: random.Random) -> tuple[Slice, ...]:
    rates = [Decimal("0.1"), Decimal("0.05"), Decimal("0.125"), Decimal(0)]
    if chance.random() < 0.5:
        return chance.choice([(), (Slice(chance.choice(rates)),)])
    ends = sorted(chance.sample(range(9, 14), 2))
    lower = tuple(Slice(chance.choice(rates), usd(100 * end)) for end in ends)
    return (*lower, Slice(chance.choice(rates)))
