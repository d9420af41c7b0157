"""Something good to fall back on while the proof goes on: sets put together piece by piece.

Work is taken out and put in again, the most net for its hours first, and kept where all of it
is still ready in time and within every limit. What this finds is never called best: it only
lies below the bound that the exact search gives.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from recondition.worth.jobs import Timeline, in_time
from recondition.worth.orders import best_order
from recondition.worth.weighing import ZERO, Items, Wall

if TYPE_CHECKING:
    from recondition.worth.problem import Problem

_WHOLE_VEHICLES = 0.5
_OTHERS = 0.15


class Filling:
    """Fills a problem with work that fits."""

    def __init__(self, problem: Problem) -> None:
        """Work out what each item adds for its hours."""
        self.problem = problem
        self.items = [item for car in problem.cars for item in car.open]
        self.worth = {
            item: car.weighing.net(car.weighing.needs[item])
            / max(sum(problem.pieces[each].work for each in car.weighing.needs[item]), 1)
            for car in problem.cars
            for item in car.open
        }
        self.line: Timeline | None = None

    def net(self, chosen: Items) -> Fraction:
        """Give the net of a set, holding by the day of finish aside."""
        return sum(
            (car.weighing.net(chosen & frozenset(car.open)) for car in self.problem.cars), ZERO
        )

    def thin(self, chosen: Items) -> Items:
        """Take out of a set what is worth least for its hours until the rest is ready in time."""
        left = set(chosen)
        while left and not self._fits(frozenset(left)):
            late = self._late(left) or left
            worst = min((i for i in self.items if i in late), key=lambda item: self.worth[item])
            left -= {item for item in left if worst in self._needs(item)}
        return frozenset(left)

    def fill(self, chosen: Items) -> Items:
        """Put in whatever still fits and adds to the net, best first."""
        order = [item for item in self.items if item not in chosen]
        return self._filled(chosen, sorted(order, key=lambda item: -self.worth[item]))

    def _filled(self, chosen: Items, order: list[str]) -> Items:
        net = self.net(chosen)
        for item in order:
            if item in chosen:
                continue
            tried = chosen | self._needs(item)
            better = self.net(tried)
            if better > net and self._allowed(tried) and self._fits(tried):
                chosen, net = tried, better
        return chosen

    def refilled(self, chosen: Items, favoured: Items, chance: Random) -> Items:
        """Take work out of a set at random and fill it anew in an order a little shaken.

        Out go one to three vehicles whole, or a few pieces and what needs them. ``favoured`` is
        what the choice without time would take: it is tried always, and often first.
        """
        if chance.random() < _WHOLE_VEHICLES:
            count = len(self.problem.cars)
            out = set(chance.sample(range(count), min(chance.choice((1, 2, 3)), count)))
            kept = frozenset(i for i in chosen if self.problem.car_of[i] not in out)
        else:
            some = min(chance.choice((2, 4, 7)), len(chosen))
            gone = set(chance.sample([i for i in self.items if i in chosen], some))
            out = {self.problem.car_of[item] for item in gone}
            kept = frozenset(item for item in chosen if not self._needs(item) & gone)
        order = [
            item
            for item in self.items
            if item not in kept
            and (self.problem.car_of[item] in out or item in favoured or chance.random() < _OTHERS)
        ]
        liking = {
            item: float(self.worth[item])
            * chance.uniform(0.5, 1)
            * (chance.choice((1, 1, 2)) if item in favoured else 1)
            for item in order
        }
        return self._filled(kept, sorted(order, key=lambda item: -liking[item]))

    def _needs(self, item: str) -> Items:
        return self.problem.cars[self.problem.car_of[item]].weighing.needs[item]

    def _allowed(self, chosen: Items) -> bool:
        purse = ZERO
        for car in self.problem.cars:
            weighing, mine = car.weighing, chosen & frozenset(car.open)
            purse += weighing.takes(Wall.CASH, mine)
            clash = any(weighing.against[item] & mine for item in mine)
            if clash or weighing.walls_passed(mine) or weighing.film_passed(mine):
                return False
        most = self.problem.purse
        return chosen <= frozenset(self.items) and (most is None or purse <= most)

    def _fits(self, chosen: Items) -> bool:
        jobs = self.problem.jobs(chosen)
        line = best_order(self.problem.site, jobs, self.line, most=2)
        if line is None or not in_time(line, jobs):
            return False
        self.line = line
        return True

    def _late(self, chosen: set[str]) -> list[str]:
        """Give what would not be ready when it is due."""
        jobs = self.problem.jobs(chosen)
        line = best_order(self.problem.site, jobs)
        due = {job.name: job.due for job in jobs}
        return [
            each.name
            for each in (line.placed if line else ())
            if (limit := due[each.name]) is not None and each.ready > limit
        ]
