"""How long a plan takes, beside plain enumeration and a plain single model of it all."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from time import perf_counter

import pytest
from ortools.sat.python import cp_model

from recondition.worth.contradictions import NeedsAndExcludes, needs_of
from recondition.worth.decision import decide
from recondition.worth.estimates import Basis, Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.jobs import Hours
from recondition.worth.master import Master, Wish, _Build
from recondition.worth.problem import Problem, problem_of
from recondition.worth.question import Question
from recondition.worth.search import Search
from recondition.worth.several import together
from recondition.worth.shop import Hand, Shop
from recondition.worth.terms import Slice
from recondition.worth.weighing import weigh
from tests.worth.build import ask, usd
from tests.worth.table import tabulate

pytestmark = pytest.mark.bench
MONDAY = datetime(2026, 3, 2, 8)  # noqa: DTZ001 - the shop's own wall clock
SHOP = Shop(
    hands=(
        Hand(name="P1", skills=frozenset({"paint", "leather"})),
        Hand(name="P2", skills=frozenset({"paint"})),
    ),
    bays=2,
)


def drawn(seed: int, count: int, *, prefix: str = "", days: int = 18, cash: int = 9000) -> Question:
    """Draw one vehicle with so many pieces of candidate work."""
    chance = random.Random(seed)  # noqa: S311 - drawn problems, no secret
    names = [f"{prefix}{place:02d}" for place in range(count)]
    works = {name: _work(chance, names[:place]) for place, name in enumerate(names)}
    works[names[-1]] = replace(works[names[-1]], requires=(), excludes=(), after_all=True)
    together_: dict[str, int] = {}
    for _ in range(count // 4):
        items = " ".join(sorted(chance.sample(names, chance.choice([2, 2, 3]))))
        together_[items] = chance.choice([-300, -150, 200, 400, 900])
    asked = ask(
        works,
        together=together_,
        as_is=ThreeAmounts(usd(88000), usd(104000), usd(126000)),
        labour_cost_rate=usd(42),
        basis=Basis.ALL_IN,
        commission=(Slice(Decimal("0.08"), usd(100000)), Slice(Decimal("0.06"))),
        premium=(Slice(Decimal("0.12"), usd(100000)), Slice(Decimal("0.10"))),
        holding_per_day=usd(25),
        cash_limit=usd(cash),
        cut_off=date(2026, 3, 2) + timedelta(days=days),
    )
    asked = replace(asked, shop=SHOP, begin=MONDAY, refs={name: name for name in works})
    while True:
        try:
            needs_of(asked)
        except NeedsAndExcludes:
            some = chance.choice([n for n, work in asked.candidates.items() if work.excludes])
            freed = replace(asked.candidates[some], excludes=())
            asked = replace(asked, candidates={**asked.candidates, some: freed})
        else:
            return asked


def _work(chance: random.Random, before: list[str]) -> Candidate:
    low = chance.choice([0.5, 1, 1.5, 2, 3, 4, 6, 8, 12, 16])
    spread = (low, low * chance.uniform(1.1, 1.5), low * chance.uniform(1.5, 2.2))
    cash = chance.randint(10, 600)
    mid = chance.lognormvariate(6.2, 1.0)
    uplift = sorted([round(mid * chance.uniform(-0.3, 0.7)), round(mid), round(mid * 1.7)])
    requires = tuple(chance.sample(before, 1)) if before and chance.random() < 0.35 else ()
    excludes = tuple(chance.sample(before, 1)) if before and chance.random() < 0.12 else ()
    return Candidate(
        vehicle="v",
        name="work",
        hours=ThreeNumbers(*(Decimal(str(round(hours * 4) / 4)) for hours in spread)),
        cash=ThreeAmounts(usd(cash), usd(round(cash * 1.2)), usd(round(cash * 1.6))),
        uplift=ThreeAmounts(*map(usd, uplift)),
        p_success=Decimal(str(chance.choice([1, 0.97, 0.95, 0.9, 0.85, 0.8]))),
        fail_cash=usd(chance.randint(0, 200)),
        fail_uplift=usd(-chance.randint(0, 400)),
        requires=requires,
        excludes=tuple(name for name in excludes if name not in requires),
        cure_hours=Decimal(chance.choice([0, 0, 0, 12, 24, 48])),
        cure_keeps_bay=chance.random() < 0.1,
        delivery_hours=Decimal(chance.choice([0, 0, 0, 0, 48, 120, 216])),
        panels=tuple(chance.sample([f"p{n}" for n in range(20)], chance.randint(0, 2))),
        irreversible=chance.random() < 0.15,
        skills=chance.choice([(), (), (), ("paint",), ("leather",)]),
    )


@pytest.mark.parametrize("days", [18, 10, 5])
def test_sixty_pieces_of_work_two_people_two_bays(days: int) -> None:
    for seed in range(1, 4):
        asked = drawn(seed, 60, days=days, cash=9000 if days == 18 else 90000)
        began = perf_counter()
        told: list[float] = []
        advice = decide(
            asked, seconds=60, tell=lambda _: told.append(perf_counter() - began)  # noqa: B023
        )  # fmt: skip
        whole = perf_counter() - began
        plain = _single_model(problem_of([asked]), seconds=20)
        print(  # noqa: T201
            f"\n60 pieces, {days} days, seed {seed}: plan {'proven' if advice.proven else 'open'} "
            f"in {told[0]:.2f} s, net {advice.plan.net.grouped}, all flips after {whole:.1f} s; "
            f"one plain model: {plain}"
        )
        assert advice.proven


def test_fifteen_pieces_beside_enumeration() -> None:
    asked = drawn(5, 15, days=60, cash=1500)
    weighing = weigh(asked)
    began = perf_counter()
    table = tabulate(weighing, weighing.items)
    best = max(table.nets[each] for each in table.allowed)
    plain = perf_counter() - began
    began = perf_counter()
    found = Search(problem_of([asked]), seconds=20).best(Wish())
    ours = perf_counter() - began
    assert found is not None
    assert found.net * table.scale == best
    print(  # noqa: T201
        f"\n15 pieces: {ours * 1000:.0f} ms, every set {plain * 1000:.0f} ms, ratio "
        f"{ours / plain:.2f}"
    )


def test_twelve_vehicles_with_25_pieces_each() -> None:
    for seed in (1, 2, 3):
        chance = random.Random(seed)  # noqa: S311 - as above
        cars = {
            f"{n:04d}": drawn(seed * 100 + n, 25, prefix=f"c{n:02d}-", days=chance.randint(8, 30),
                              cash=5000)
            for n in range(12)
        }  # fmt: skip
        began = perf_counter()
        found = together(cars, purse=usd(25000), seconds=60)
        whole = perf_counter() - began
        assert all(s.end is None or s.wall is None or s.end <= s.wall for s in found.shares)
        gap = 100 * found.gap.minor / found.net.minor
        print(  # noqa: T201
            f"\n12 vehicles, seed {seed}: net {found.net}, gap {gap:.2f} % after {whole:.0f} s"
        )


def _single_model(problem: Problem, seconds: float) -> str:
    """Choose and lay out in one model of optional intervals, as one would write it down first.

    The figures, rules and limits are those of the choice; no sums, cuts, hints or bounds. Cures
    that keep the bay are left out, so its net can only be higher.
    """
    master = Master(problem, last_day=60)
    master.sums = []
    build = _Build(master, Wish())
    build.everything()
    model, x, (car,) = build.model, build.x, problem.cars
    hours = problem.site.open_hours
    shifts = [start - done for (start, _), done in zip(hours.windows, hours.before, strict=False)]
    clock: dict[str, tuple[object, object]] = {}
    bays = []
    by_hand: dict[int, list[object]] = {hand: [] for hand in range(len(problem.site.hands))}
    for item in car.open:
        piece = problem.pieces[item]
        begin = model.new_int_var(0, hours.before[-1] - piece.work, "")
        end = begin + piece.work
        clock[item] = tuple(
            at + _moved(model, hours, shifts, at, first=at is begin) for at in (begin, end)
        )
        model.add(clock[item][0] >= problem.begin + piece.delivery).only_enforce_if(x[item])
        if car.wall is not None:
            model.add(clock[item][1] + piece.wait <= car.wall).only_enforce_if(x[item])
        bays.append(model.new_optional_interval_var(begin, piece.work, end, x[item], ""))
        modes = []
        for hand in piece.hands:
            modes.append(model.new_bool_var(""))
            by_hand[hand].append(
                model.new_optional_interval_var(begin, piece.work, end, modes[-1], "")
            )
        model.add(sum(modes) == x[item])
    model.add_cumulative(bays, [1] * len(bays), problem.shop.bays)
    for intervals in by_hand.values():
        model.add_no_overlap(intervals)
    for item in car.open:
        first = set(car.weighing.needs[item]) - {item}
        if problem.pieces[item].last:
            first |= set(car.open) - {item}
        for other in first:
            over = clock[other][1] + problem.pieces[other].wait
            model.add(clock[item][0] >= over).only_enforce_if([x[item], x[other]])
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    began = perf_counter()
    status = solver.solve(model)
    taken = perf_counter() - began
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return f"nothing found after {taken:.1f} s"
    found, bound = solver.objective_value, solver.best_objective_bound
    gap = 100 * (bound - found) / max(found, 1)
    return f"net {found / build.scale:,.2f}, gap {gap:.1f} % after {taken:.1f} s"


def _moved(
    model: cp_model.CpModel, hours: Hours, shifts: list[int], at: object, *, first: bool
) -> object:
    """Give by how much a moment of working time lies later on the clock."""
    window = model.new_int_var(0, len(shifts) - 1, "")
    low = model.new_int_var(0, hours.before[-1], "")
    high = model.new_int_var(0, hours.before[-1], "")
    moved = model.new_int_var(min(shifts), max(shifts), "")
    model.add_element(window, hours.before[:-1], low)
    model.add_element(window, hours.before[1:], high)
    model.add_element(window, shifts, moved)
    model.add(at >= low if first else at > low)
    model.add(at < high if first else at <= high)
    return moved


def test_one_worker_beside_several_on_the_same_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = problem_of([drawn(1, 60)])
    began = perf_counter()
    Search(problem, seconds=60).best(Wish())
    ours = perf_counter() - began
    solve = cp_model.CpSolver.solve

    def several(self: cp_model.CpSolver, model: cp_model.CpModel) -> object:
        self.parameters.num_workers = 2
        self.parameters.linearization_level = 1
        return solve(self, model)

    monkeypatch.setattr(cp_model.CpSolver, "solve", several)
    began = perf_counter()
    Search(problem, seconds=60).best(Wish())
    theirs = perf_counter() - began
    print(  # noqa: T201
        f"\none worker, whole relaxation {ours:.2f} s; two workers {theirs:.2f} s, ratio "
        f"{theirs / ours:.0f}"
    )
