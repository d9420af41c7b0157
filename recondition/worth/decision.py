"""What is worth doing: the exact optimum of choice and timetable together, and the reasons.

The rules are those of the design: interactions, requirements, exclusions, limits and time; a
plan within the indifference wins if it touches less; asking never changes the optimum.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from recondition.amounts.money import rounded
from recondition.condition.vehicle import Holding
from recondition.worth.advice import Advice, ItemAdvice, Plan, Verdict, listed
from recondition.worth.alternatives import readiness_of
from recondition.worth.asking import Asking
from recondition.worth.contradictions import UnknownItem
from recondition.worth.figures import figures_of, limits_of, plan_of, rounded_up
from recondition.worth.flips import Turn, flip_of, turn_of
from recondition.worth.jobs import Timeline
from recondition.worth.master import Aim, OutOfTime, Wish
from recondition.worth.problem import Car, Problem, problem_of
from recondition.worth.reasons import Reasons
from recondition.worth.risk import Draws
from recondition.worth.search import Best, Search, finish_of
from recondition.worth.settlement import pass_through
from recondition.worth.terms import SellsWhen
from recondition.worth.ties import least_touching
from recondition.worth.weighing import ZERO, Items, Weighing, weigh

if TYPE_CHECKING:
    from recondition.worth.question import Question

SECONDS = 10.0


def decide(
    question: Question,
    *,
    seconds: float = SECONDS,
    seed: int = 0,
    tell: Callable[[Plan], None] | None = None,
) -> Advice:
    """Give the best plan and the reasons for it.

    ``seconds`` bounds the search: what is not proven by then is given with its gap. ``tell`` is
    handed the plan as soon as it is known, before the flips are worked out. Raises by name
    whatever contradicts itself in the question.
    """
    problem = problem_of([question])
    made = Decider(problem, Search(problem, seconds=seconds), seed)
    if tell is not None:
        tell(made.plan)
    return made.advice()


def chosen_of(question: Question, *, seconds: float = SECONDS) -> Items:
    """Give the ids of the plan alone, without its reasons and flips."""
    problem = problem_of([question])
    return Decider(problem, Search(problem, seconds=seconds), 0).chosen


def worth_of(question: Question, items: Iterable[str]) -> Plan:
    """Give the figures of a set of the user's own choosing, limits and rules ignored.

    Raises UnknownItem for what is done, has no uplift estimate or is not there at all.
    """
    weighing = weigh(question)
    chosen = frozenset(items)
    unknown = sorted(chosen - weighing.weights.keys())
    if unknown:
        what = f"{question.ref(unknown[0])} is not open candidate work with an uplift estimate."
        raise UnknownItem(what, where="the set asked for", todo="Name open work only.")
    return plan_of(weighing, chosen)


@dataclass(frozen=True)
class Decider:
    """The decision on the one vehicle of a problem."""

    problem: Problem
    search: Search
    seed: int

    @property
    def car(self) -> Car:
        """The vehicle."""
        return self.problem.cars[0]

    @property
    def weighing(self) -> Weighing:
        """Its question, made exact."""
        return self.car.weighing

    @property
    def question(self) -> Question:
        """Its question."""
        return self.weighing.question

    @cached_property
    def best(self) -> Best:
        """The set with the highest net."""
        return _there(self.search.best(Wish()))

    @cached_property
    def second(self) -> Best | None:
        """The best other set."""
        try:
            return self.search.best(Wish(others=(self.best.items,)))
        except OutOfTime:
            return None

    @cached_property
    def chosen(self) -> Items:
        """The set that is advised: the best, or one within the indifference that touches less."""
        return self._least(Wish(), self.best, self.second)

    def _least(self, wish: Wish, best: Best, second: Best | None) -> Items:
        floor = best.net - self.question.indifference.fraction
        if second is None or second.bound < floor or not best.items:
            return best.items
        try:
            return least_touching(self.search, wish, best, floor)
        except OutOfTime:
            return best.items

    @cached_property
    def line(self) -> Timeline:
        """The plan in time, ending as early as it can."""
        return self._line(self.chosen)

    def _line(self, items: Items) -> Timeline:
        if self.problem.serial:
            return Timeline(())
        return finish_of(self.search, items)

    def holding(self, items: Items) -> Fraction:
        """Give what the day of finish of a set pays."""
        if not items or not self.car.per_day:
            return ZERO
        line = self.line if items == self.chosen else self._line(items)
        return self.car.per_day * self.problem.days(items, line)[0]

    def plan_of(self, items: Items) -> Plan:
        """Give the figures of a set."""
        return plan_of(self.weighing, items, self.holding(items))

    @cached_property
    def plan(self) -> Plan:
        """The figures of the plan."""
        return self.plan_of(self.chosen)

    @cached_property
    def draws(self) -> Draws:
        """The draws of this vehicle."""
        return Draws(self.weighing, seed=self.seed)

    @cached_property
    def turns(self) -> dict[str, Turn]:
        """The best with and without each open item."""
        return {item: turn_of(self.search, item, self.best) for item in self.car.open}

    def asking(self, items: Items) -> Asking:
        """Give the questions that a set raises."""
        margins = {i: turn.margin for i, turn in self.turns.items() if turn.margin is not None}
        return Asking(self.weighing, items, margins, self.worst)

    def worst(self, items: Items) -> Fraction:
        """Give the 5 percent outcome of a set."""
        return self.draws.risk(items, self.holding(items)).worst.fraction

    def without_asking(self, asks: dict[str, str]) -> Items:
        """Give the best set of items none of which asks, neither here nor in that set itself."""
        if not asks:
            return self.chosen
        barred = frozenset(asks) | self.asking(self.chosen).of_itself()
        while True:
            wish = Wish(outside=barred & frozenset(self.car.open))
            best = _there(self.search.best(wish))
            try:
                second = self.search.best(Wish(outside=wish.outside, others=(best.items,)))
            except OutOfTime:
                second = None
            items = self._least(wish, best, second)
            more = frozenset(self.asking(items).reasons())
            if not more:
                return items
            barred |= more

    def everything(self) -> Items:
        """Give the largest lawful set: the most items, of those the dearest, then in order."""
        try:
            choice = self.search.master.solve(
                Wish(aim=Aim.MOST, free=True), seconds=max(self.search.left, 1.0)
            )
        except OutOfTime:
            choice = None
        return choice.items if choice is not None else frozenset()

    def advice(self) -> Advice:
        """Give all of it."""
        question, weighing, chosen = self.question, self.weighing, self.chosen
        asks = self.asking(chosen).reasons()
        net = self.problem.net(chosen, self.problem.days(chosen, self.line) if chosen else {})
        other = self.second if chosen == self.best.items else self.best
        consigned = question.holding is Holding.CONSIGNED
        return Advice(
            plan=self.plan,
            items=tuple(self._items(asks)),
            done=weighing.done,
            runner_up=None if other is None else self.plan_of(other.items),
            without_asking=self.plan_of(self.without_asking(asks)),
            everything=plan_of(weighing, self.everything()),
            given_up=rounded(self.best.net - net, question.currency),
            k=pass_through(question.terms),
            basis=question.terms.basis.value,
            rate=weighing.rate,
            rate_name="charge-out rate" if consigned else "labour cost rate",
            limits=limits_of(weighing, chosen),
            notes=tuple(self._notes()),
            gap=rounded_up(self.best.gap, question.currency),
            risk=self.draws.risk(chosen, self.holding(chosen)),
            ready=readiness_of(self),
        )

    def _items(self, asks: dict[str, str]) -> Iterable[ItemAdvice]:
        weighing, chosen = self.weighing, self.chosen
        reasons = Reasons(weighing, chosen, self._in_time)
        for item in weighing.items:
            if item in self.car.bars:
                verdict, reason = Verdict.LEAVE, self.car.bars[item]
            elif item not in chosen:
                verdict, reason = Verdict.LEAVE, reasons.for_leaving(item)
            elif item in asks:
                verdict, reason = Verdict.ASK, reasons.for_asking(item, asks[item])
            else:
                verdict, reason = Verdict.DO, reasons.for_doing(item)
            turn = self.turns.get(item)
            flip = None
            if turn is not None:
                flip = flip_of(self.search, item, turn)
            yield ItemAdvice(
                item=item,
                ref=self.question.ref(item),
                verdict=verdict,
                reason=reason,
                figures=figures_of(
                    weighing, item, chosen, turn.margin if turn is not None else None, flip
                ),
            )

    def _in_time(self, items: Items) -> bool:
        """Tell whether a set can be ready by the wall, as far as that is known."""
        wall = self.car.wall
        if self.problem.serial:
            return wall is None or self.problem.serial_finish(items) <= wall
        return self.search.may_be_ready(items)

    def _notes(self) -> Iterable[str]:
        """Say which cases and assumptions the figures rest on."""
        question, shop = self.question, self.question.shop
        late = [self.question.ref(item) for item, turn in self.turns.items() if not turn.known]
        if late:
            yield f"Time ran out before the flip points of {listed(late)}."
        yield f"Means are taken by the {question.mean_rule} rule."
        if self.weighing.walls:
            yield (
                f"Limits are held against the {shop.limit_reading} case, the expected cost of "
                "failure included."
            )
        waits = any(question.candidates[item].extra_days for item in self.weighing.items)
        if waits and question.terms.holding_per_day is None:
            yield "No holding per day is stated, so extra days cost nothing here."
        if self.car.per_day:
            yield "The vehicle sells when it is ready: each day up to the finish pays holding."
        elif question.terms.sells is SellsWhen.WHEN_READY:
            yield "The vehicle sells when it is ready, and no holding per day is stated."


def _there(best: Best | None) -> Best:
    """Give a best set: nothing to do is always allowed, so there is one."""
    assert best is not None  # noqa: S101 - as the line above says
    return best
