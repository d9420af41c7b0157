"""The exact timetable: every job in time if that can be, the earliest finish if asked for.

Time is laid out on the working time of the site, where nights vanish: work that is split over
a night is one piece there. Where a cure or a finish runs by the clock, a job's place is turned
back into a moment through the window it lies in. Hands who can do the same work at the same
hours are one capacity, so that nobody is told apart who is alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from ortools.sat.python import cp_model

from recondition.worth.jobs import Hours, Job, Site, Timeline, in_time, place
from recondition.worth.orders import best_order, bound_of, respecting, shortest

_FEW = 10  # jobs that one way of searching settles at once
_WAYS = 8  # ways of searching side by side, on however many cores there are


class Found(StrEnum):
    """What is known after a search."""

    PROVEN = "proven"  # a timetable, and none ends earlier
    SOME = "some"  # a timetable that may not be the earliest
    NONE = "none"  # it is proven that there is no timetable
    UNKNOWN = "unknown"  # time ran out before anything was known


@dataclass(frozen=True, slots=True)
class Answer:
    """A timetable, if any, and the earliest finish that is not ruled out."""

    found: Found
    timeline: Timeline | None
    bound: int


def timetable(
    site: Site,
    jobs: Sequence[Job],
    *,
    earliest: bool,
    seconds: float,
    like: Timeline | None = None,
) -> Answer:
    """Find a timetable in which every job is over when it is due; the earliest if asked for.

    Simple orders are tried first, that of ``like`` among them, so that most questions never
    reach the solver.
    """
    horizon = site.open_hours.before[-1]
    if not jobs:
        return Answer(Found.PROVEN, Timeline(()), 0)
    tried = best_order(site, jobs, like)
    good = tried is not None and in_time(tried, jobs)
    bound = shortest(site, jobs)
    if tried is not None and good:
        if tried.finish <= bound:
            return Answer(Found.PROVEN, tried, bound)
        if not earliest:
            return Answer(Found.SOME, tried, bound)
    elif any(job.due is not None and bound_of(site, jobs)[job.name] > job.due for job in jobs):
        return Answer(Found.NONE, None, bound)
    model = _Model(site, jobs, horizon)
    if earliest:
        model.aim_at_finish(bound)
    if tried is not None and good:
        model.hint(tried)
    return model.solve(seconds, bound, tried if good else None)


class _Model:
    """The constraint model of one site and its jobs."""

    def __init__(self, site: Site, jobs: Sequence[Job], horizon: int) -> None:
        self.site, self.jobs, self.horizon = site, jobs, horizon
        self.open = site.open_hours
        self.model = cp_model.CpModel()
        self.start: dict[str, Any] = {}
        self.end: dict[str, Any] = {}
        self.size: dict[str, Any] = {}
        self.chosen: dict[str, dict[int, Any]] = {}
        self._clocks: dict[tuple[str, str], Any] = {}
        self.classes = _classes(site, jobs)
        self.by_class: list[list[Any]] = [[] for _ in self.classes]
        self.finish: Any = None
        for job in jobs:
            self._add(job)
        for (members, _), intervals in zip(self.classes, self.by_class, strict=True):
            if len(intervals) > len(members):
                self.model.add_cumulative(intervals, [1] * len(intervals), len(members))
        self._relations()
        self._room()

    def _add(self, job: Job) -> None:
        model, top = self.model, self.horizon
        earliest = self.open.worked(job.release)
        start = self.start[job.name] = model.new_int_var(earliest, top, "")
        end = self.end[job.name] = model.new_int_var(earliest, top, "")
        if job.due is not None:
            model.add(end <= self.open.worked(max(job.due - job.tail, 0)))
        groups = [n for n, (members, _) in enumerate(self.classes) if members[0] in job.hands]
        chosen = {n: model.new_bool_var("") for n in groups}
        if job.work == 0:
            model.add(end == start)
            chosen = {}
        elif all(self.classes[n][1].windows == self.open.windows for n in groups):
            size: Any = job.work
        else:
            size = model.new_int_var(job.work, top, "")
        if job.work:
            model.add_exactly_one(chosen.values())
            self.size[job.name] = size
            model.add(end == start + size)
        for n, literal in chosen.items():
            hours = self.classes[n][1]
            if hours.windows != self.open.windows:
                self._on_own_hours(job, hours, literal)
            elif not isinstance(size, int):
                model.add(size == job.work).only_enforce_if(literal)
            self.by_class[n].append(model.new_optional_interval_var(start, size, end, literal, ""))
        self.chosen[job.name] = chosen

    def _on_own_hours(self, job: Job, hours: Hours, literal: Any) -> None:  # noqa: ANN401
        """Tie a job's place on the open time to the shorter hours of one hand."""
        model = self.model
        begin = model.new_int_var(0, hours.before[-1] - job.work, "")
        for at, whole, first in (
            (begin, self.start[job.name], True),
            (begin + job.work, self.end[job.name], False),
        ):
            place = self._window(hours, at, first=first)
            shift = [
                self.open.worked(start) - before
                for (start, _), before in zip(hours.windows, hours.before, strict=False)
            ]
            moved = model.new_int_var(min(shift), max(shift), "")
            model.add_element(place, shift, moved)
            model.add(whole == at + moved).only_enforce_if(literal)

    def _window(self, hours: Hours, at: Any, *, first: bool) -> Any:  # noqa: ANN401
        """Give the number of the window that a moment of working time lies in."""
        model, count = self.model, len(hours.windows)
        place = model.new_int_var(0, count - 1, "")
        low = model.new_int_var(0, hours.before[-1], "")
        high = model.new_int_var(0, hours.before[-1], "")
        model.add_element(place, hours.before[:-1], low)
        model.add_element(place, hours.before[1:], high)
        if first:
            model.add(at >= low)
            model.add(at < high)
        else:
            model.add(at > low)
            model.add(at <= high)
        return place

    def _clock(self, name: str, which: str) -> Any:  # noqa: ANN401
        """Give the moment by the clock of a job's start or end."""
        key = (name, which)
        if key in self._clocks:
            return self._clocks[key]
        job = next(each for each in self.jobs if each.name == name)
        hours, model = self.open, self.model
        at = self.start[name] if which == "start" else self.end[name]
        shift = [
            start - before for (start, _), before in zip(hours.windows, hours.before, strict=False)
        ]
        if job.work:
            place = self._window(hours, at, first=which == "start")
        else:
            key = (name, "both")
            if key in self._clocks:
                return self._clocks[key]
            place = self._either_window(at)
        moved = model.new_int_var(min(shift), max(shift), "")
        model.add_element(place, shift, moved)
        self._clocks[key] = at + moved
        return self._clocks[key]

    def _either_window(self, at: Any) -> Any:  # noqa: ANN401
        """Give a window for work without hours, which may stand at either edge of one."""
        hours, model = self.open, self.model
        place = model.new_int_var(0, len(hours.windows) - 1, "")
        low = model.new_int_var(0, self.horizon, "")
        high = model.new_int_var(0, self.horizon, "")
        model.add_element(place, hours.before[:-1], low)
        model.add_element(place, hours.before[1:], high)
        model.add(at >= low)
        model.add(at <= high)
        return place

    def _relations(self) -> None:
        by_name = {job.name: job for job in self.jobs}
        for job in self.jobs:
            if job.work == 0 and job.release:
                self.model.add(self._clock(job.name, "start") >= job.release)
            if job.work == 0 and job.due is not None:
                self.model.add(self._clock(job.name, "end") + job.tail <= job.due)
            for first in [name for name in by_name if name in job.after]:
                before = by_name[first]
                self.model.add(self.start[job.name] >= self.end[first])
                if before.tail or not before.work or not job.work:
                    over = self._clock(first, "end") + before.tail
                    self.model.add(self._clock(job.name, "start") >= over)

    def _room(self) -> None:
        """Hold what jobs use within what there is, kept cures included."""
        model = self.model
        for name, room in self.site.room.items():
            intervals, amounts = [], []
            for job in self.jobs:
                amount = dict(job.uses).get(name, 0)
                keeps = job.keeps and job.tail
                if not amount or not (job.work or keeps):
                    continue
                start, end = self.start[job.name], self.end[job.name]
                if keeps:
                    free = model.new_int_var(0, self.horizon, "")
                    place = self._either_window(free)
                    shift = [
                        s - b for s, b in zip(self.open.starts, self.open.before, strict=False)
                    ]
                    moved = model.new_int_var(min(shift), max(shift), "")
                    model.add_element(place, shift, moved)
                    model.add(free + moved >= self._clock(job.name, "end") + job.tail)
                    size = model.new_int_var(0, self.horizon, "")
                    intervals.append(model.new_interval_var(start, size, free, ""))
                else:
                    intervals.append(model.new_interval_var(start, self.size[job.name], end, ""))
                amounts.append(amount)
            if sum(amounts) > room:
                model.add_cumulative(intervals, amounts, room)

    def aim_at_finish(self, bound: int) -> None:
        """Ask for the earliest finish."""
        last = self.open.ends[-1] + max(job.tail for job in self.jobs)
        self.finish = self.model.new_int_var(bound, last, "")
        followed = {first for job in self.jobs for first in job.after}
        for job in self.jobs:
            if job.name not in followed or job.tail:
                self.model.add(self.finish >= self._clock(job.name, "end") + job.tail)
        self.model.minimize(self.finish)

    def hint(self, timeline: Timeline) -> None:
        """Start from a timetable that is known."""
        for each in timeline.placed:
            self.model.add_hint(self.start[each.name], self.open.worked(each.start))

    def solve(self, seconds: float, bound: int, known: Timeline | None) -> Answer:
        """Search; the order that is found is laid again, which can only end it earlier."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = max(seconds, 0.01)
        if len(self.jobs) <= _FEW:
            solver.parameters.num_workers = 1
            solver.parameters.linearization_level = 2
        else:
            solver.parameters.num_workers = _WAYS
        solver.parameters.random_seed = 0
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return Answer(Found.NONE, None, bound)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            found = Found.SOME if known is not None else Found.UNKNOWN
            return Answer(found, known, bound)
        timeline = self._read(solver)
        if self.finish is None:
            return Answer(Found.SOME, timeline, bound)
        bound = max(bound, int(-(-solver.best_objective_bound // 1)))
        proven = status == cp_model.OPTIMAL
        return Answer(Found.PROVEN if proven else Found.SOME, timeline, bound)

    def _read(self, solver: cp_model.CpSolver) -> Timeline:
        """Lay the jobs once more in the order found, on hands of the classes found."""
        at = {job.name: (solver.value(self.start[job.name]), job.work) for job in self.jobs}
        order = sorted(self.jobs, key=lambda job: at[job.name])
        by_name = {job.name: job for job in self.jobs}
        order = [by_name[name] for name in respecting(order)]
        classes = {
            name: n
            for name, chosen in self.chosen.items()
            for n, literal in chosen.items()
            if solver.boolean_value(literal)
        }
        narrowed = [_narrowed(job, self.classes, classes.get(job.name)) for job in order]
        timeline = place(self.site, narrowed)
        if timeline is None:
            message = "a timetable that was found cannot be laid"
            raise AssertionError(message)
        return timeline


def _classes(site: Site, jobs: Sequence[Job]) -> list[tuple[tuple[int, ...], Hours]]:
    """Put hands together that work the same hours and can do the same of these jobs."""
    alike: dict[object, list[int]] = {}
    for hand, hours in enumerate(site.hands):
        can = frozenset(job.name for job in jobs if hand in job.hands)
        if can:
            alike.setdefault((hours.windows, can), []).append(hand)
    return [(tuple(members), site.hands[members[0]]) for members in alike.values()]


def _narrowed(
    job: Job, classes: Sequence[tuple[tuple[int, ...], Hours]], chosen: int | None
) -> Job:
    """Give a job with the hands of the class that was chosen for it."""
    if chosen is None:
        return job
    return Job(
        name=job.name, work=job.work, release=job.release, tail=job.tail, keeps=job.keeps,
        after=job.after, hands=classes[chosen][0], uses=job.uses, due=job.due,
    )  # fmt: skip
