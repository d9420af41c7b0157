"""The ways to go on where the plan is bound by time: part of it, the next sale, or as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from recondition.amounts.money import rounded
from recondition.amounts.rounding import round_to
from recondition.worth.advice import listed
from recondition.worth.master import Wish
from recondition.worth.problem import Problem, last_moment, problem_of
from recondition.worth.ready import Alternative, Readiness, clock_words, laid_out
from recondition.worth.search import Best, Search, finish_of
from recondition.worth.terms import SellsWhen
from recondition.worth.weighing import ZERO, Items, Wall

if TYPE_CHECKING:
    from recondition.worth.decision import Decider

_NO_WALL: dict[str, None] = {"cut_off": None, "cut_off_time": None, "sale_day": None}
_NO_LIMITS: dict[str, None] = {"cash_limit": None, "hours_limit": None, "owner_limit": None}


def readiness_of(made: Decider) -> Readiness:
    """Give the plan in time, and what else could be done."""
    problem, question = made.problem, made.question
    refs = {item: question.ref(item) for item in made.car.open}
    lying = laid_out(problem, made.chosen, made.line, refs)
    wall = made.car.wall
    end = _end(problem, made.chosen, made)
    slack = None if wall is None else problem.hours(wall - (end or problem.begin))
    return Readiness(
        begin=problem.moment(problem.begin),
        end=None if end is None else problem.moment(end),
        wall=None if wall is None else last_moment(question) or problem.moment(wall),
        clock_hours=ZERO if end is None else problem.hours(end - problem.begin),
        slack_hours=slack,
        lying=lying,
        rule=problem.shop.laying_out.value,
        reading=problem.shop.time_reading.value,
        alternatives=tuple(_alternatives(made, end)),
        relax=_relax(made),
    )


def _end(problem: Problem, items: Items, made: Decider) -> int | None:
    if not items:
        return None
    if problem.serial:
        return problem.serial_finish(items)
    line = made.line if items == made.chosen else finish_of(made.search, items)
    return line.finish


def _alternatives(made: Decider, end: int | None) -> Iterator[Alternative]:
    """Give the plan, all that pays if time were free, the next sale, and the vehicle as it is."""
    if made.car.wall is None and made.question.terms.next_sale_days is None:
        return
    problem, question, plan = made.problem, made.question, made.plan
    moment = None if end is None else problem.moment(end)
    yield Alternative(
        name="what fits before the cut-off", items=plan.items, net=plan.net, end=moment,
        why="the plan",
    )  # fmt: skip
    free, best = _again(made, **_NO_WALL)
    if best.net > made.best.net:
        finish = _finish(free, best.items)
        late = problem.hours(finish - (made.car.wall or 0))
        yield Alternative(
            name="all that would pay",
            items=_in_refs(made, best.items),
            net=rounded(best.net, question.currency),
            end=problem.moment(finish),
            why=f"cannot be ready: {clock_words(late)} too late",
        )
    waiting = _next_sale(made)
    if waiting is not None:
        yield waiting
    yield Alternative(
        name="sold as it is", items=(), net=rounded(ZERO, question.currency), end=None,
        why="nothing is done and nothing is spent",
    )  # fmt: skip


def _again(made: Decider, **changed: Any) -> tuple[Search, Best]:  # noqa: ANN401 - terms differ
    """Search the same vehicle on other terms."""
    terms = replace(made.question.terms, **changed)
    search = Search(problem_of([replace(made.question, terms=terms)]), seconds=made.search.left)
    return search, search.best(Wish()) or made.best


def _finish(search: Search, items: Items) -> int:
    if search.problem.serial:
        return search.problem.serial_finish(items)
    return finish_of(search, items).finish


def _next_sale(made: Decider) -> Alternative | None:
    """Give the best plan for the next sale, less holding until then and its fee."""
    question = made.question
    terms, days = question.terms, question.terms.next_sale_days
    if days is None or terms.sells is SellsWhen.WHEN_READY:
        return None
    later = timedelta(days=int(days))
    search, best = _again(
        made,
        cut_off=terms.cut_off + later if terms.cut_off else None,
        sale_day=terms.sale_day + later if terms.sale_day else None,
    )
    per_day = terms.holding_per_day.fraction if terms.holding_per_day else ZERO
    fee = terms.next_sale_fee.fraction if terms.next_sale_fee else ZERO
    net = best.net - per_day * Fraction(days) - fee
    finish = _finish(search, best.items) if best.items else None
    currency = question.currency
    return Alternative(
        name=f"the next sale, {int(days)} days later",
        items=_in_refs(made, best.items),
        net=rounded(net, currency),
        end=None if finish is None else search.problem.moment(finish),
        why=(
            f"{rounded(best.net, currency).grouped} less "
            f"{rounded(per_day * Fraction(days), currency).grouped} of holding and "
            f"{rounded(fee, currency).grouped} of fees"
        ),
    )


def _in_refs(made: Decider, items: Items) -> tuple[str, ...]:
    return tuple(item for item in made.weighing.items if item in items)


def _relax(made: Decider) -> str:
    """Say which one limit, and by how much, keeps the best lawful work from being done."""
    weighing, problem = made.weighing, made.problem
    if made.car.wall is None and not weighing.walls:
        return ""
    search, best = _again(made, **_NO_WALL, **_NO_LIMITS)
    if best.items == made.chosen or best.net <= made.best.net:
        return ""
    worth = rounded(best.net - made.best.net, weighing.question.currency).grouped
    over = []
    for wall in weighing.walls_passed(best.items):
        more = weighing.takes(wall, best.items) - weighing.walls[wall]
        if wall is Wall.HOURS:
            over.append(f"the {wall} by {round_to(more, 2)} hours")
        else:
            over.append(f"the {wall} by {rounded(more, weighing.question.currency).grouped}")
    end = _finish(search, best.items)
    if made.car.wall is not None and end > made.car.wall:
        late = problem.hours(end - made.car.wall)
        over.append(f"the cut-off by {clock_words(late)}")
    panel = weighing.film_passed(best.items)
    if panel:
        over.append(f"the film to be left on the {panel}")
    if not over:
        return ""
    names = listed([weighing.question.ref(item) for item in _in_refs(made, best.items)])
    return f"To do {names}, worth {worth} more, relax {listed(over)}."
