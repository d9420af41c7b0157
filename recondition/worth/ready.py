"""Whether a plan can be ready: its timetable, the days of slack, the chain that sets the end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.rounding import round_to
from recondition.worth.calendar import DAY
from recondition.worth.jobs import Job, Placed, Site, Timeline
from recondition.worth.orders import in_order
from recondition.worth.problem import Problem
from recondition.worth.weighing import Items


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """Where one piece of work lies: work from ``start`` to ``end``, its cure until ``ready``.

    Moments are the shop's wall clock. ``ordered`` is when its delivery begins, None without
    one. ``chain`` tells whether a delay of it delays the end.
    """

    item: str
    ref: str
    who: str
    start: datetime
    end: datetime
    ready: datetime
    ordered: datetime | None
    chain: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One way to go on, with its net; ``items`` as ids, ``end`` None without any work."""

    name: str
    items: tuple[str, ...]
    net: Money
    end: datetime | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """The plan in time. ``wall`` is the last moment, None where there is none.

    ``clock_hours`` run from the beginning to the end; ``slack_hours`` from the end to the wall.
    ``relax`` says what limit would let more of the work be done, where time forbids it.
    """

    begin: datetime
    end: datetime | None
    wall: datetime | None
    clock_hours: Fraction
    slack_hours: Fraction | None
    lying: tuple[Lying, ...]
    rule: str
    reading: str
    alternatives: tuple[Alternative, ...]
    relax: str

    @property
    def chain(self) -> tuple[str, ...]:
        """Give the refs of the critical chain, first to last."""
        return tuple(each.ref for each in self.lying if each.chain)

    @property
    def slack_days(self) -> Fraction | None:
        """Give the slack in days of the clock."""
        return None if self.slack_hours is None else self.slack_hours / DAY


def clock_words(hours: Fraction) -> str:
    """Write hours of the clock, in days with one decimal from two days on."""
    if hours >= 2 * DAY:
        return f"{round_to(hours / DAY, 1)} days"
    number = round_to(hours, 1)
    return f"{number} hour" if number == 1 else f"{number} hours"


def laid_out(
    problem: Problem, chosen: Items, timeline: Timeline, refs: Mapping[str, str]
) -> tuple[Lying, ...]:
    """Give where the work of a plan lies."""
    if problem.serial:
        timeline = _in_a_row(problem, chosen, refs)
        chain = frozenset(chosen)
    else:
        chain = frozenset(critical(problem.site, problem.jobs(chosen), timeline))
    names = [hand.name for hand in problem.shop.working]
    found = []
    for each in timeline.placed:
        delivery = problem.pieces[each.name].delivery
        ordered = problem.moment(problem.begin) if delivery else None
        found.append(
            Lying(
                item=each.name,
                ref=refs[each.name],
                who=names[each.hand] if problem.pieces[each.name].work else "",
                start=problem.moment(each.start),
                end=problem.moment(each.end),
                ready=problem.moment(each.ready),
                ordered=ordered,
                chain=each.name in chain,
            )
        )
    return tuple(found)


def _in_a_row(problem: Problem, chosen: Items, refs: Mapping[str, str]) -> Timeline:
    """Lay serial blocks: longest delivery first, as far as what comes first allows."""
    left, at, placed = set(chosen), problem.begin, []
    jobs = {job.name: job for job in problem.jobs(chosen)}
    while left:
        can = [item for item in left if not jobs[item].after & left]
        item = min(can, key=lambda i: (-problem.pieces[i].delivery, refs[i], i))
        piece = problem.pieces[item]
        end = at + problem.block(item)
        placed.append(Placed(item, at + piece.delivery, end - piece.wait, end, 0))
        left.remove(item)
        at = end
    return Timeline(tuple(placed))


def critical(site: Site, jobs: Sequence[Job], timeline: Timeline) -> set[str]:
    """Give the jobs whose delay would delay the end, the order of the timetable kept."""
    floats = slack_of(site, jobs, timeline, timeline.finish)
    return {name for name, slack in floats.items() if slack <= 0}


def slack_of(site: Site, jobs: Sequence[Job], timeline: Timeline, wall: int) -> dict[str, int]:
    """Give how many ticks later each job could start and all still be over by ``wall``.

    The order on each hand and in each bay stays as it is (the float of the critical path
    method, with links for hands and bays). Late starts are moved to working moments.
    """
    by_name = {job.name: job for job in jobs}
    links = _links(timeline, by_name, site)
    latest: dict[str, int] = {}
    slack: dict[str, int] = {}
    turn = {name: number for number, name in enumerate(in_order(jobs))}
    order = sorted(timeline.placed, key=lambda one: (one.start, one.end, turn[one.name]))
    for each in reversed(order):
        job = by_name[each.name]
        end = wall - job.tail
        for other in jobs:
            if each.name in other.after:
                end = min(end, latest[other.name] - job.tail)
        for later, held in links.get(each.name, ()):
            end = min(end, latest[later] - held)
        hours = site.hands[each.hand]
        latest[each.name] = hours.latest_start(end, job.work) if job.work else end
        slack[each.name] = hours.worked(latest[each.name]) - hours.worked(each.start)
    return slack


def _links(
    timeline: Timeline, by_name: Mapping[str, Job], site: Site
) -> dict[str, list[tuple[str, int]]]:
    """Give what follows each job on its hand, and in its bay with what its cure holds of it."""
    links: dict[str, list[tuple[str, int]]] = {}
    last_of_hand: dict[int, Placed] = {}
    bays: list[tuple[int, Placed]] = []
    for each in sorted(timeline.placed, key=lambda one: (one.start, one.end)):
        job = by_name[each.name]
        if job.work:
            before = last_of_hand.get(each.hand)
            if before is not None:
                links.setdefault(before.name, []).append((each.name, 0))
            last_of_hand[each.hand] = each
        held = each.ready if job.keeps else each.end
        if job.uses and held > each.start:
            free = [bay for bay in bays if bay[0] <= each.start]
            if free and len(bays) >= min(site.room.values(), default=0):
                bay = max(free, key=lambda one: one[0])
                bays.remove(bay)
                tail = by_name[bay[1].name].tail if by_name[bay[1].name].keeps else 0
                links.setdefault(bay[1].name, []).append((each.name, tail))
            bays.append((held, each))
    return links
