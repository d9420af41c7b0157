"""The search for the best set of work: choose first, then see whether it can be ready.

The choice is solved with sums that every timetable must keep to. Its set is laid out in time;
where that fails, the smallest part of it that fails becomes a cut, and the choice is made
anew. Taking work out never makes a timetable fail, so a cut holds for every larger set, and
what was learnt in one search serves all others on the same problem.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from time import monotonic

from recondition.worth.filling import Filling
from recondition.worth.jobs import Timeline
from recondition.worth.master import Choice, Cut, Master, OutOfTime, Wish
from recondition.worth.problem import LONGEST_DAYS, Problem
from recondition.worth.timetable import Found, timetable
from recondition.worth.weighing import Items

Days = tuple[tuple[int, int], ...]
Closing = Callable[[Fraction, Fraction], None]

_SHRINK_SECONDS = 0.6
_END_SECONDS = 2.0  # for the earliest end of a set that can be ready anyway


@dataclass(frozen=True, slots=True)
class Best:
    """The best set found for a wish. ``net`` is exact; no set is worth more than ``bound``."""

    items: Items
    net: Fraction
    bound: Fraction
    days: Mapping[int, int]

    @property
    def gap(self) -> Fraction:
        """Give what a better set could still be worth more; zero where the set is proven."""
        return max(self.bound - self.net, Fraction(0))


class Search:
    """Searches one problem, and remembers which sets can be ready.

    ``deadline`` is a moment of ``monotonic`` time after which the best that is known is given
    with its gap. ``closing`` is told net and bound as they move.
    """

    def __init__(
        self, problem: Problem, *, seconds: float = 10.0, closing: Closing | None = None
    ) -> None:
        """Start the clock."""
        self.problem = problem
        self.deadline = monotonic() + seconds
        self.closing = closing
        self.master = Master(problem, _last_day(problem))
        self._lines: dict[tuple[Items, Days], Timeline] = {}
        self._ready: list[tuple[Items, Days]] = []
        self._last: Timeline | None = None
        self._known = Found.UNKNOWN

    @property
    def left(self) -> float:
        """Give the seconds left."""
        return max(self.deadline - monotonic(), 0.05)

    @cached_property
    def filling(self) -> Filling:
        """What puts sets together that fit."""
        return Filling(self.problem)

    def moved(self, problem: Problem, seconds: float) -> Search:
        """Give a search of a problem that differs in money only: time is known as it is here."""
        other = Search(problem, seconds=seconds)
        other.master.cuts = self.master.cuts
        other._lines, other._ready, other._last = self._lines, self._ready, self._last
        return other

    def best(self, wish: Wish, hint: Items | None = None) -> Best | None:
        """Give the best set by net; None where no set is allowed at all.

        Raises OutOfTime where time is over and no set is known that grants the wish.
        """
        trial = _Trial(self, wish)
        while not trial.is_over(hint):
            pass
        return trial.known

    def tell(self, known: Best | None, bound: Fraction) -> None:
        """Tell whoever listens how far net and bound are apart."""
        if self.closing is not None and known is not None:
            self.closing(known.net, bound)

    def laid(self, choice: Choice) -> Mapping[int, int] | None:
        """Give the days of finish of a choice that can be ready as it says; else None."""
        if self.problem.serial:
            return self.problem.days(choice.items, None)
        line = self.line(choice.items, tuple(sorted(choice.days.items())))
        if line is None:
            return None
        days = dict(choice.days)
        days.update(self.problem.days(choice.items, line))
        return days

    def line(self, items: Items, days: Days = ()) -> Timeline | None:
        """Give a timetable of a set within its walls and days; None if there is none in time."""
        key = (items, tuple(each for each in days if self._has(items, each[0])))
        if key in self._lines:
            return self._lines[key]
        jobs = self.problem.jobs(items, dict(key[1]))
        answer = timetable(
            self.problem.site,
            jobs,
            earliest=False,
            seconds=self.left,
            like=self._last,
        )
        self._known = answer.found
        if answer.timeline is not None:
            self._lines[key] = self._last = answer.timeline
            self._ready.append(key)
        return answer.timeline

    def may_be_ready(self, items: Items) -> bool:
        """Tell whether a set can be ready, or nobody has proven that it cannot."""
        return self.line(items) is not None or self._known is not Found.NONE

    def _has(self, items: Items, car: int) -> bool:
        return not items.isdisjoint(self.problem.cars[car].open)

    def learn(self, choice: Choice) -> bool:
        """Turn a set that cannot be ready into cuts; False where that is not proven."""
        if self._known is not Found.NONE:
            return False
        days = tuple(sorted(choice.days.items()))
        core = self._core(choice.items, days)
        kept = tuple(each for each in days if self._has(core, each[0]))
        self.master.cuts.append(Cut(core, kept))
        return True

    def _core(self, items: Items, days: Days) -> Items:
        """Take out of a set what does not keep it from being ready, while time allows."""
        problem, core = self.problem, items
        until = monotonic() + min(_SHRINK_SECONDS, self.left)
        there = [item for item in self.master.items if item in items]
        order = sorted(there, key=lambda item: problem.pieces[item].work)
        for item in order:
            if monotonic() > until:
                break
            less = core - {item}
            if any(less <= ready and days == at for ready, at in self._ready):
                continue
            jobs = problem.jobs(less, dict(days))
            answer = timetable(problem.site, jobs, earliest=False, seconds=0.2, like=self._last)
            if answer.found is Found.NONE:
                core = less
            elif answer.timeline is not None:
                self._ready.append((less, days))
        return core

    def repaired(
        self, choice: Choice, wish: Wish, known: Best | None, bound: Fraction
    ) -> Best | None:
        """Take work out of a set that cannot be ready until it can: something to fall back on."""
        if wish.inside or any(car.per_day for car in self.problem.cars):
            return known
        items = self.filling.thin(choice.items)
        if known is None and not wish.outside:
            items = self.filling.fill(items)
        net = self.filling.net(items)
        lost = items in wish.others or not items.isdisjoint(wish.outside)
        if lost or (wish.floor is not None and net < wish.floor):
            return known
        return Best(items, net, bound, {})


class _Trial:
    """The search for one wish: what is known so far, and what could not be settled."""

    def __init__(self, search: Search, wish: Wish) -> None:
        self.search, self.wish = search, wish
        self.known: Best | None = None
        self.skipped: list[Items] = []
        self.unsettled: Fraction | None = None
        self.lowest: Fraction | None = None

    def is_over(self, hint: Items | None) -> bool:
        """Choose once more; tell whether nothing better can be found, or time is over."""
        search = self.search
        asked = replace(self.wish, others=(*self.wish.others, *self.skipped))
        try:
            choice = search.master.solve(asked, seconds=search.left, hint=hint)
        except OutOfTime as out:
            return self._give_up(self._highest(out.bound))
        if choice is None:
            return self._close()
        bound = self._highest(choice.bound)
        if self.known is not None and bound <= self.known.net:
            return self._close()
        days = search.laid(choice)
        if days is not None:
            self._take(Best(choice.items, search.problem.net(choice.items, days), bound, days))
            return self._give_up(bound)
        if not search.learn(choice):
            self.skipped.append(choice.items)
            self.unsettled = bound
        self._take(search.repaired(choice, self.wish, self.known, bound))
        search.tell(self.known, bound)
        return monotonic() > search.deadline and self._give_up(bound)

    def _highest(self, bound: Fraction) -> Fraction:
        """Give the bound with what could not be settled; a bound once proven stays."""
        bound = bound if self.unsettled is None else max(bound, self.unsettled)
        self.lowest = bound if self.lowest is None else min(bound, self.lowest)
        return self.lowest

    def _take(self, found: Best | None) -> None:
        if found is not None and (self.known is None or found.net > self.known.net):
            self.known = found

    def _close(self) -> bool:
        """End with what is known: nothing better is left but what could not be settled."""
        if self.known is not None:
            bound = self._highest(self.known.net)
            self.known = replace(self.known, bound=max(self.known.net, bound))
        return True

    def _give_up(self, bound: Fraction) -> bool:
        """End with what is known and what is not ruled out; to do nothing is always allowed."""
        nothing: Items = frozenset()
        if self.known is None:
            if self.wish.inside or nothing in self.wish.others:
                raise OutOfTime(bound)
            self.known = Best(nothing, Fraction(0), bound, {})
        self.known = replace(self.known, bound=max(self.known.net, bound))
        self.search.tell(self.known, self.known.bound)
        return True


def _last_day(problem: Problem) -> int:
    """Give the last day on which anything could finish."""
    if problem.serial:
        blocks = sum(problem.block(item) for car in problem.cars for item in car.open)
        return problem.day_of(problem.begin + blocks) + 1
    ends = [hours.ends[-1] for hours in problem.site.hands if hours.windows]
    waits = sum(piece.wait for piece in problem.pieces.values())
    return min(problem.day_of(max(ends, default=0) + waits), LONGEST_DAYS) + 1


def finish_of(search: Search, items: Items) -> Timeline:
    """Give the timetable of a set that ends earliest."""
    problem = search.problem
    answer = timetable(
        problem.site,
        problem.jobs(items),
        earliest=True,
        seconds=min(search.left, _END_SECONDS),
        like=search.line(items),
    )
    return answer.timeline or Timeline(())
