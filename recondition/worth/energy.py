"""How much work can at most lie in a stretch of time: sums that every timetable must keep to.

They let the choice of work know of time without laying anything out: work that cannot begin
before one moment and must be over by another has to fit between the two, in no more places at
once than there are bays and hands for it (energetic reasoning; Baptiste, Le Pape and Nuijten,
Constraint-Based Scheduling, Kluwer 2001, chapter 3).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise

from recondition.worth.calendar import DAY
from recondition.worth.jobs import Site
from recondition.worth.orders import bound_of
from recondition.worth.problem import BAY, Problem

_MOST_MOMENTS = 14


@dataclass(frozen=True, slots=True)
class Sum:
    """The work of chosen items among ``work`` (ticks) is no more than ``most``.

    It holds where ``given`` is chosen; always where that is None.
    """

    work: tuple[tuple[str, int], ...]
    most: int
    given: str | None = None


@dataclass(frozen=True)
class Capacity:
    """Work that some hands can do by any moment, at most in as many places as there are bays."""

    site: Site
    hands: tuple[int, ...]

    @cached_property
    def _steps(self) -> tuple[list[int], list[int], list[int]]:
        """Give moments, rates from them on, and the capacity before them."""
        changes: dict[int, int] = {}
        for hand in self.hands:
            for start, end in self.site.hands[hand].windows:
                changes[start] = changes.get(start, 0) + 1
                changes[end] = changes.get(end, 0) - 1
        moments = sorted(changes)
        bays = self.site.room[BAY]
        rates = [min(there, bays) for there in accumulate(changes[m] for m in moments)]
        spans = (b - a for a, b in pairwise(moments))
        done = [0, *accumulate(r * s for r, s in zip(rates, spans, strict=False))]
        return moments, rates, done

    def before(self, tick: int) -> int:
        """Give the capacity before a moment."""
        moments, rates, done = self._steps
        low, high = 0, len(moments)
        while low < high:
            middle = (low + high) // 2
            if moments[middle] <= tick:
                low = middle + 1
            else:
                high = middle
        if not low:
            return 0
        return done[low - 1] + rates[low - 1] * (tick - moments[low - 1])

    def between(self, start: int, end: int) -> int:
        """Give the capacity from one moment to another."""
        return max(self.before(end) - self.before(start), 0)


@dataclass(frozen=True)
class Energy:
    """The sums of one problem."""

    problem: Problem

    @cached_property
    def heads(self) -> Mapping[str, int]:
        """Give for each open item the earliest moment at which its work can begin."""
        problem = self.problem
        found = {}
        for car in problem.cars:
            for item in car.open:
                jobs = problem.jobs(car.weighing.needs[item])
                ready = bound_of(problem.site, jobs)
                after = max((ready[each] for each in car.weighing.needs[item] - {item}), default=0)
                found[item] = max(after, problem.begin + problem.pieces[item].delivery)
        return found

    @cached_property
    def groups(self) -> tuple[frozenset[int], ...]:
        """Give the sets of hands worth a sum: each piece's own, and all of them."""
        pieces = self.problem.pieces
        own = {frozenset(pieces[item].hands) for item in self.heads if pieces[item].work}
        every = frozenset(range(len(self.problem.shop.working)))
        return tuple(sorted({*own, every}, key=sorted))

    @cached_property
    def capacities(self) -> Mapping[frozenset[int], Capacity]:
        """Give the capacity of each group."""
        return {group: Capacity(self.problem.site, tuple(sorted(group))) for group in self.groups}

    def sums(self) -> Iterator[Sum]:
        """Give the sums that bind, of all work before the walls and before work that comes last."""
        walls = {item: self.problem.cars[self.problem.car_of[item]].wall for item in self.heads}
        ends = {
            item: wall - self.problem.pieces[item].wait
            for item, wall in walls.items()
            if wall is not None
        }
        yield from self._within(ends, None)
        for number, car in enumerate(self.problem.cars):
            for last in car.open:
                if self.problem.pieces[last].last and car.wall is not None:
                    yield from self._within(self._before(number, last), last)

    def _before(self, number: int, last: str) -> dict[str, int]:
        """Give by when each item must be done so that work which comes last still fits."""
        problem, car = self.problem, self.problem.cars[number]
        piece = problem.pieces[last]
        end = (car.wall or 0) - piece.wait
        start = max(
            (problem.site.hands[hand].latest_start(end, piece.work) for hand in piece.hands),
            default=-1,
        )
        others = [item for item in car.open if not problem.pieces[item].last]
        return {item: start - problem.pieces[item].wait for item in others}

    def _within(self, ends: Mapping[str, int], given: str | None) -> Iterator[Sum]:
        pieces = self.problem.pieces
        timed = [item for item in ends if pieces[item].work]
        for group in self.groups:
            mine = [item for item in timed if group.issuperset(pieces[item].hands)]
            for start in _some({self.heads[item] for item in mine}):
                for end in _some({ends[item] for item in mine}):
                    inside = [i for i in mine if self.heads[i] >= start and ends[i] <= end]
                    most = self.capacities[group].between(start, end)
                    work = tuple((item, pieces[item].work) for item in inside)
                    if sum(amount for _, amount in work) > most:
                        yield Sum(work, most, given)

    def by_day(self, last_day: int) -> list[int]:
        """Give the work that all hands can do by the end of each day, from day 0 on."""
        every = self.capacities[frozenset(range(len(self.problem.shop.working)))]
        day = DAY * self.problem.tick
        return [every.before(number * day) for number in range(last_day + 1)]


def _some(moments: Iterable[int]) -> list[int]:
    """Give moments in order, thinned out evenly where there are many; the ends always stay."""
    ordered = sorted(moments)
    if len(ordered) <= _MOST_MOMENTS:
        return ordered
    step = (len(ordered) - 1) / (_MOST_MOMENTS - 1)
    return sorted({ordered[round(number * step)] for number in range(_MOST_MOMENTS)})
