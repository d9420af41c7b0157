"""When to stop: what is left to do is looked at again each time a line is posted.

Past spend never enters. What counts is what is still to be spent against what is still to be
gained, the time left, and what the owner has let be spent (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from recondition.amounts.money import rounded
from recondition.amounts.rounding import round_to
from recondition.worth.advice import with_currency
from recondition.worth.calendar import DAY
from recondition.worth.estimates import CandidateState
from recondition.worth.orders import best_order, shortest
from recondition.worth.problem import Problem
from recondition.worth.weighing import ZERO, Items, Wall


@dataclass(frozen=True, slots=True)
class Breach:
    """One reason to stop and look again; ``item`` is empty where it is about all the work."""

    item: str
    why: str


def breaches(problem: Problem, under_way: Items | None = None) -> Iterator[Breach]:
    """Give every reason to stop on the one vehicle of a problem.

    Looked at is work that was started or has posted lines, and ``under_way`` (the frozen plan)
    where one is given.
    """
    car = problem.cars[0]
    weighing = car.weighing
    candidates = weighing.question.candidates
    used = weighing.question.used
    started = {
        i for i in weighing.items if candidates[i].state is CandidateState.STARTED or i in used
    }
    begun = frozenset(started & weighing.weights.keys())
    wanted = frozenset((under_way or frozenset()) | begun) & weighing.weights.keys()
    yield from _not_paying(problem, begun, wanted)
    yield from _beyond_estimate(problem, begun)
    yield from _not_in_time(problem, wanted)
    yield from _past_authority(problem, wanted)


def _not_paying(problem: Problem, begun: Items, wanted: Items) -> Iterator[Breach]:
    weighing = problem.cars[0].weighing
    for item in weighing.items:
        if item not in begun:
            continue
        # Whatever needs it falls away with it, and takes its gain and its cost along.
        falling = frozenset(i for i in wanted if item in weighing.needs[i])
        rest = wanted - falling
        gains = weighing.kept(
            weighing.uplift(wanted) - weighing.uplift(rest), weighing.uplift(rest)
        )
        costs = weighing.cost(falling)
        if gains < costs:
            yield Breach(
                item,
                f"what is left of it costs {_money(problem, costs)} and is expected to gain "
                f"{_money(problem, gains)}",
            )


def _beyond_estimate(problem: Problem, begun: Items) -> Iterator[Breach]:
    question = problem.cars[0].weighing.question
    for item in problem.cars[0].weighing.items:
        used = question.used.get(item)
        if item not in begun or used is None:
            continue
        most = Fraction(question.candidates[item].hours.high)
        if used.hours > most:
            yield Breach(
                item,
                f"it has taken {round_to(used.hours, 2)} hours, more than the high estimate of "
                f"{round_to(most, 2)}: estimate what is left anew",
            )


def _not_in_time(problem: Problem, wanted: Items) -> Iterator[Breach]:
    wall = problem.cars[0].wall
    late = [item for item in wanted if item in problem.cars[0].bars]
    if wall is None or not wanted:
        return
    for item in late:
        yield Breach(item, problem.cars[0].bars[item])
    rest = wanted - frozenset(late)
    jobs = problem.jobs(rest)
    if problem.serial:
        end = problem.serial_finish(rest)
    else:
        line = best_order(problem.site, jobs)
        end = line.finish if line is not None else shortest(problem.site, jobs)
    if end > wall:
        days = round_to(problem.hours(end - wall) / DAY, 1)
        yield Breach("", f"the rest of the work is over {days} days after the cut-off")


def _past_authority(problem: Problem, wanted: Items) -> Iterator[Breach]:
    weighing = problem.cars[0].weighing
    question = weighing.question
    if question.authority is None or question.already_billed is None or not wanted:
        return
    rest = weighing.takes(Wall.OWNER, wanted)
    total = question.already_billed.fraction + rest
    over = total - question.authority.fraction
    if over > ZERO:
        yield Breach(
            "",
            f"with {_money(problem, rest)} still to come the owner's limit of "
            f"{_money(problem, question.authority.fraction)} is passed by {_money(problem, over)}: "
            "ask first",
        )


def _money(problem: Problem, amount: Fraction) -> str:
    return with_currency(rounded(amount, problem.cars[0].weighing.question.currency))
