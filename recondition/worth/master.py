"""The choice as a constraint model: which items, what they are worth, what they may not pass.

Every figure is a whole number on a common scale, so the solver's optimum is exact. Where a
scale would pass what the solver can hold, coefficients are rounded; by how much a net can then
be wrong is added to the stated bound.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from math import ceil, floor, lcm
from typing import Any

from ortools.sat.python import cp_model

from recondition.worth.energy import Energy, Sum
from recondition.worth.net_model import ROOM, Part, scaled
from recondition.worth.orders import bound_of
from recondition.worth.problem import Car, Problem
from recondition.worth.weighing import ZERO, Case, Items, Wall

_FLOAT_SLACK = 128  # what a float may miss of a whole number of that size


class Aim(StrEnum):
    """What a search is after."""

    NET = "net"
    TOUCH = "touch"  # fewest irreversible items, then fewest panels
    END = "end"  # earliest end, of serial blocks
    CASH = "cash"
    COUNT = "count"
    MOST = "most"  # most items, then the dearest


@dataclass(frozen=True, slots=True)
class Cut:
    """Not all of ``items`` unless a vehicle finishes later than on the day given for it."""

    items: Items
    days: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What one search asks for beyond the problem itself.

    ``inside`` and ``outside`` are forced, ``others`` are sets not to be found again, ``floor``
    the least net, ``keep`` aims with values that must not be passed. ``free`` leaves the limits
    and time out.
    """

    aim: Aim = Aim.NET
    inside: Items = frozenset()
    outside: Items = frozenset()
    others: tuple[Items, ...] = ()
    floor: Fraction | None = None
    keep: tuple[tuple[Aim, int], ...] = ()
    free: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """A set found, its days of finish in the model, and the best value not ruled out."""

    items: Items
    days: Mapping[int, int]
    value: int
    bound: Fraction
    proven: bool


class OutOfTime(Exception):  # noqa: N818 - it is no error: the search goes on without it
    """A search ended before anything was found; no set is worth more than ``bound``."""

    def __init__(self, bound: Fraction) -> None:
        """Keep the bound."""
        super().__init__(bound)
        self.bound = bound


@dataclass
class Master:
    """Builds and solves the choice of one problem; ``cuts`` are what timetables taught."""

    problem: Problem
    last_day: int
    cuts: list[Cut] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Work out what every model of this problem shares."""
        problem = self.problem
        self.items = [item for car in problem.cars for item in car.open]
        energy = Energy(problem)
        self.sums: list[Sum] = [] if problem.serial else list(energy.sums())
        self.by_day = [] if problem.serial else energy.by_day(self.last_day)
        self.cash = self._whole(cash=True)
        self.bulk = self._bulk()

    def _bulk(self) -> dict[str, int]:
        """Weigh items so that more of them always count above dearer ones."""
        cost = self._whole(cash=False)
        whole = sum(map(abs, cost.values())) + 1
        return {item: whole + amount for item, amount in cost.items()}

    def _whole(self, *, cash: bool) -> dict[str, int]:
        """Give every item's cash, or cost, as whole numbers on one scale."""
        exact = {
            item: car.weighing.weights[item].takes[Wall.CASH]
            if cash
            else car.weighing.weights[item].cost[Case.EXPECTED]
            for car in self.problem.cars
            for item in car.open
        }
        scale = lcm(*(amount.denominator for amount in exact.values()))
        most = sum((abs(amount) for amount in exact.values()), Fraction(1)) * (len(exact) + 1)
        scale = min(scale, max(floor(ROOM / most), 1))
        return {item: scaled(amount, scale) for item, amount in exact.items()}

    def solve(self, wish: Wish, *, seconds: float, hint: Items | None = None) -> Choice | None:
        """Give the best set; None where it is proven that there is none.

        Raises OutOfTime where nothing was found in time.
        """
        build = _Build(self, wish)
        build.everything()
        if hint is not None:
            for item, literal in build.x.items():
                build.model.add_hint(literal, item in hint)
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = max(seconds, 0.01)
        # One worker that keeps the whole relaxation settles such choices a hundred times faster
        # than several that keep part of it (tests/bench/test_deciding.py prints by how much).
        solver.parameters.num_workers = 1
        solver.parameters.linearization_level = 2
        solver.parameters.random_seed = 0
        if len(self.items) < 12:  # noqa: PLR2004 - a small model is solved before it is prepared
            solver.parameters.cp_model_presolve = False
        status = solver.solve(build.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise OutOfTime(build.ceiling)
        chosen = frozenset(i for i, literal in build.x.items() if solver.boolean_value(literal))
        days = {car: solver.value(day) for car, day in build.day.items()}
        value, proven = int(solver.value(build.goal)), status == cp_model.OPTIMAL
        # The solver tells its bound as a float, so it is only used where nothing is proven.
        best = value if proven else ceil(solver.best_objective_bound) + _FLOAT_SLACK
        bound = Fraction(best, build.scale) + build.error
        return Choice(chosen, days, value, bound, proven)


class _Build:
    """One model."""

    def __init__(self, master: Master, wish: Wish) -> None:
        self.master, self.wish, self.problem = master, wish, master.problem
        self.model = cp_model.CpModel()
        self.x = {item: self.model.new_bool_var("") for item in master.items}
        self.day: dict[int, Any] = {}
        self.scale = 1
        self.error = ZERO
        self.goal: Any = 0
        self.ceiling = ZERO

    def everything(self) -> None:
        """Add rules, limits, time and the aim."""
        wish, model = self.wish, self.model
        for item in wish.inside:
            model.add(self.x[item] == 1)
        for item in wish.outside & self.x.keys():
            model.add(self.x[item] == 0)
        self._rules()
        for other in wish.others:
            model.add_bool_or(
                [~literal if item in other else literal for item, literal in self.x.items()]
            )
        if not wish.free:
            self._limits()
            self._time()
        for aim, value in wish.keep:
            model.add(self._aim(aim) <= value)
        if wish.aim is Aim.NET or wish.floor is not None:
            net = self._net()
            if wish.floor is not None:
                model.add(net >= ceil((wish.floor - self.error) * self.scale))
            if wish.aim is Aim.NET:
                self.goal = net
                model.maximize(net)
        if wish.aim is not Aim.NET:
            self.scale, self.error = 1, ZERO
            self.goal = self._aim(wish.aim)
            model.minimize(self.goal)

    def _rules(self) -> None:
        for car in self.problem.cars:
            seen: set[str] = set()
            for item in car.open:
                # In the order of the refs, so that equal questions make equal models.
                for other in car.open:
                    if other in car.weighing.needs[item] and other != item:
                        self.model.add_implication(self.x[item], self.x[other])
                    if other in car.weighing.against[item] and other in seen:
                        self.model.add_at_most_one([self.x[item], self.x[other]])
                seen.add(item)

    def _limits(self) -> None:
        for car in self.problem.cars:
            weighing = car.weighing
            for wall, most in weighing.walls.items():
                self._at_most({i: weighing.weights[i].takes[wall] for i in car.open}, most)
            question = weighing.question
            for panel, room in question.film_room.items():
                takes = {i: question.film_takes.get(i, {}).get(panel, ZERO) for i in car.open}
                self._at_most(takes, room)
        if self.problem.purse is not None:
            cash = {
                item: car.weighing.weights[item].takes[Wall.CASH]
                for car in self.problem.cars
                for item in car.open
            }
            self._at_most(cash, self.problem.purse)

    def _at_most(self, takes: Mapping[str, Fraction], most: Fraction) -> None:
        if sum((amount for amount in takes.values() if amount > 0), ZERO) <= most:
            return
        scale = lcm(most.denominator, *(amount.denominator for amount in takes.values()))
        size = sum(abs(amount) for amount in takes.values()) + abs(most)
        scale = min(scale, max(floor(ROOM / size), 1))
        # Rounding goes against the set, so a limit is never passed by it.
        self.model.add(
            sum(ceil(amount * scale) * self.x[item] for item, amount in takes.items())
            <= floor(most * scale)
        )

    def _time(self) -> None:
        problem, master = self.problem, self.master
        for number, car in enumerate(problem.cars):
            if car.per_day:
                self.day[number] = self.model.new_int_var(0, master.last_day, "")
                self._finish_day(number, car)
        if problem.serial:
            for car in problem.cars:
                if car.wall is not None:
                    blocks = sum(problem.block(i) * self.x[i] for i in car.open)
                    self.model.add(blocks <= max(car.wall - problem.begin, 0))
            return
        for each in master.sums:
            literals = [self.x[each.given]] if each.given else []
            total = sum(amount * self.x[item] for item, amount in each.work)
            bound = self.model.add(total <= max(each.most, 0))
            if literals:
                bound.only_enforce_if(literals)
        for cut in master.cuts:
            clause = [~self.x[item] for item in self.x if item in cut.items]
            clause += [self._later(car, day) for car, day in cut.days]
            self.model.add_bool_or(clause)

    def _later(self, car: int, day: int) -> Any:  # noqa: ANN401
        """Give a literal that says: this vehicle finishes after that day."""
        literal = self.model.new_bool_var("")
        self.model.add(self.day[car] > day).only_enforce_if(literal)
        return literal

    def _finish_day(self, number: int, car: Car) -> None:
        problem, model, day = self.problem, self.model, self.day[number]
        ticks = 24 * problem.tick
        if problem.serial:
            # The first block begins at ``begin``; without any work there is no day to pay.
            any_work = model.new_bool_var("")
            model.add_max_equality(any_work, [*self.x.values(), 0])
            blocks = sum(problem.block(item) * self.x[item] for item in car.open)
            model.add(day * ticks >= blocks + problem.begin * any_work)
            return
        for item in car.open:
            jobs = problem.jobs(car.weighing.needs[item])
            alone = problem.day_of(bound_of(problem.site, jobs)[item])
            model.add(day >= alone).only_enforce_if(self.x[item])
        work = sum(problem.pieces[item].work * self.x[item] for item in car.open)
        room = model.new_int_var(0, self.master.by_day[-1], "")
        model.add_element(day, self.master.by_day, room)
        model.add(work <= room)

    def _aim(self, aim: Aim) -> Any:  # noqa: ANN401
        """Give what an aim makes as small as it can be."""
        if aim is Aim.TOUCH:
            return self._touch()
        if aim is Aim.END:
            return sum(self.problem.block(item) * literal for item, literal in self.x.items())
        if aim is Aim.CASH:
            return sum(v * self.x[item] for item, v in self.master.cash.items())
        if aim is Aim.COUNT:
            return sum(self.x.values())
        if aim is Aim.MOST:
            return sum(-v * self.x[item] for item, v in self.master.bulk.items())
        message = f"no such aim: {aim}"
        raise AssertionError(message)

    def _touch(self) -> Any:  # noqa: ANN401
        panels: dict[tuple[int, str], Any] = {}
        lasting = []
        for number, car in enumerate(self.problem.cars):
            for item in car.open:
                candidate = car.weighing.question.candidates[item]
                if candidate.irreversible:
                    lasting.append(self.x[item])
                for panel in candidate.panels:
                    touched = panels.setdefault((number, panel), self.model.new_bool_var(""))
                    self.model.add_implication(self.x[item], touched)
        return sum(lasting) * (len(panels) + 1) + sum(panels.values())

    def _net(self) -> Any:  # noqa: ANN401
        """Give the net of the chosen set, times ``scale``."""
        parts = [Part(self.model, self.x, car) for car in self.problem.cars]
        self.ceiling = sum((part.ceiling() for part in parts), ZERO)
        holding = [self.problem.cars[number].per_day for number in self.day]
        numbers = [number for part in parts for number in part.numbers()] + holding
        self.scale = lcm(*(number.denominator for number in numbers))
        size = sum((part.size() for part in parts), ZERO)
        size += sum(each * self.master.last_day for each in holding)
        if size * self.scale > ROOM:
            self._round(parts, size)
            count = sum(part.count() for part in parts) + len(holding) * self.master.last_day
            coarse = min([self.scale, *(part.fine for part in parts if not part.flat)])
            self.error = Fraction(count, 2 * coarse)
        net = sum(part.net(self.scale) for part in parts)
        for number, day in self.day.items():
            net -= scaled(self.problem.cars[number].per_day, self.scale) * day
        return net

    def _round(self, parts: Sequence[Part], size: Fraction) -> None:
        """Take the finest scale that the solver can hold; slopes of tiers stay exact on it."""
        most = max(floor(ROOM / size), 1)
        tiered = [part for part in parts if not part.flat]
        slopes = [slope for part in tiered for slope in part.weighing.curve.slopes]
        common = lcm(*(slope.denominator for slope in slopes))
        fine = max(most // common, 1)
        for part in tiered:
            part.fine = fine
        self.scale = fine * common
