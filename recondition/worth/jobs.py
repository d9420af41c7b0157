"""Jobs on a calendar, and how they lie in a given order: each as early as it can.

All times are whole ticks of the clock from one midnight; ``Hours`` holds the windows in which
somebody works. Work may be split over a night, never around another job: from its start to its
end it keeps its hand and what it uses, nights included. A cure (``tail``) runs by the clock
and occupies nothing, unless it keeps what the job uses.

Placing every order of jobs on every choice of hands holds an optimal timetable among them
(serial schedule generation: Kolisch, European Journal of Operational Research 90 (1996)
320-333); that is what the exact solver is held against.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

NEVER = 1 << 50


@dataclass(frozen=True)
class Hours:
    """Working windows ``(start, end)`` in ticks, rising and apart from each other."""

    windows: tuple[tuple[int, int], ...]

    @cached_property
    def starts(self) -> list[int]:
        """Give the starts."""
        return [start for start, _ in self.windows]

    @cached_property
    def ends(self) -> list[int]:
        """Give the ends."""
        return [end for _, end in self.windows]

    @cached_property
    def before(self) -> list[int]:
        """Give the working time before each window, and the whole of it at the end."""
        return [0, *accumulate(end - start for start, end in self.windows)]

    def first_at(self, tick: int) -> int:
        """Give the first working moment from ``tick`` on; NEVER after the last window."""
        place = bisect_right(self.ends, tick)
        return max(tick, self.starts[place]) if place < len(self.ends) else NEVER

    def open_at(self, tick: int) -> int:
        """Give the first moment from ``tick`` on at which somebody is there, closing included."""
        place = bisect_left(self.ends, tick)
        return max(tick, self.starts[place]) if place < len(self.ends) else NEVER

    def finish(self, start: int, work: int) -> int:
        """Give when ``work`` ticks begun at a working moment are done; NEVER if they are not."""
        if work == 0 or start >= NEVER:
            return start
        return self.clock_end(self.worked(start) + work)

    def worked(self, tick: int) -> int:
        """Give the working time before a moment."""
        place = bisect_right(self.starts, tick) - 1
        if place < 0:
            return 0
        return self.before[place] + min(tick, self.ends[place]) - self.starts[place]

    def clock_end(self, worked: int) -> int:
        """Give the moment at which so much working time is over; NEVER if it never is."""
        place = bisect_left(self.before, worked) - 1
        if worked > self.before[-1]:
            return NEVER
        return self.starts[max(place, 0)] + worked - self.before[max(place, 0)]

    def latest_start(self, end: int, work: int) -> int:
        """Give the latest working moment from which ``work`` is done by ``end``; -1 if none."""
        left = self.worked(end) - work
        if left < 0:
            return -1
        place = bisect_right(self.before, left) - 1
        if place >= len(self.windows):
            return end
        return self.starts[place] + left - self.before[place]


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One piece of work. Times are ticks.

    ``release`` is the earliest moment (a delivery), ``tail`` the cure by the clock, ``keeps``
    whether the cure keeps what the job uses. ``after`` are jobs that must be over with their
    cures. ``hands`` are the places in ``Site.hands`` of those who can do it, ``uses`` what else
    it takes of ``Site.room``. ``due`` is when it must be over with its cure.
    """

    name: str
    work: int
    release: int = 0
    tail: int = 0
    keeps: bool = False
    after: frozenset[str] = frozenset()
    hands: tuple[int, ...] = (0,)
    uses: tuple[tuple[str, int], ...] = ()
    due: int | None = None


@dataclass(frozen=True)
class Site:
    """Who works when, and how much there is of what jobs use (bays)."""

    hands: tuple[Hours, ...]
    room: Mapping[str, int]

    @cached_property
    def open_hours(self) -> Hours:
        """Give the time in which anybody works."""
        merged: list[tuple[int, int]] = []
        for start, end in sorted({window for hours in self.hands for window in hours.windows}):
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
            else:
                merged.append((start, end))
        return Hours(tuple(merged))


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a job lies: work from ``start`` to ``end``, its cure until ``ready``."""

    name: str
    start: int
    end: int
    ready: int
    hand: int


@dataclass(frozen=True, slots=True)
class Timeline:
    """Placed jobs in the order of their start."""

    placed: tuple[Placed, ...]

    @property
    def finish(self) -> int:
        """Give when the last job is over with its cure; 0 where there is none."""
        return max((each.ready for each in self.placed), default=0)


class _Ground:
    """What is taken so far while jobs are laid one after another."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.busy: list[list[tuple[int, int]]] = [[] for _ in site.hands]
        self.taken: dict[str, list[tuple[int, int, int]]] = {name: [] for name in site.room}
        self.ready: dict[str, int] = {}

    def earliest(self, job: Job, hand: int) -> tuple[int, int]:
        """Give start and end of a job on one hand, as early as it fits."""
        hours = self.site.hands[hand]
        ready = max((self.ready[name] for name in job.after), default=0)
        at = max(job.release, ready)
        while True:
            start = hours.first_at(at) if job.work else hours.open_at(at)
            end = hours.finish(start, job.work)
            if end >= NEVER:
                return NEVER, NEVER
            clash = self._clash(job, hand, start, end)
            if clash is None:
                return start, end
            at = clash

    def _clash(self, job: Job, hand: int, start: int, end: int) -> int | None:
        """Give the end of something in the way, None where nothing is."""
        for begun, over in self.busy[hand]:
            if begun < end and start < over:
                return over
        # Work without hours needs no hand, and holds what it uses only through its cure.
        held = end + job.tail if job.keeps else end
        if held == start:
            return None
        for name, amount in job.uses:
            among = [each for each in self.taken[name] if each[0] < held and start < each[1]]
            moments = {start, *(begun for begun, _, _ in among if begun > start)}
            for moment in moments:
                there = [each for each in among if each[0] <= moment < each[1]]
                if sum(each[2] for each in there) + amount > self.site.room[name]:
                    return min(each[1] for each in there)
        return None

    def put(self, job: Job, hand: int, start: int, end: int) -> Placed:
        """Lay a job down."""
        ready = min(end + job.tail, NEVER)
        self.ready[job.name] = ready
        if job.work:
            self.busy[hand].append((start, end))
        held = ready if job.keeps else end
        if held > start:
            for name, amount in job.uses:
                self.taken[name].append((start, held, amount))
        return Placed(job.name, start, end, ready, hand)


def place(
    site: Site, jobs: Sequence[Job], hands: Mapping[str, int] | None = None
) -> Timeline | None:
    """Lay jobs in the order given, each as early as it fits; None where one never does.

    What a job comes after must stand before it. Without ``hands`` each job takes the hand that
    ends it first.
    """
    ground = _Ground(site)
    placed = []
    for job in jobs:
        among = (hands[job.name],) if hands else job.hands
        options = [(*ground.earliest(job, hand), hand) for hand in among]
        start, end, hand = min(options, key=lambda each: (each[1], each[0], each[2]))
        if end >= NEVER:
            return None
        placed.append(ground.put(job, hand, start, end))
    return Timeline(tuple(sorted(placed, key=lambda each: (each.start, each.end))))


def in_time(timeline: Timeline, jobs: Iterable[Job]) -> bool:
    """Tell whether every job is over with its cure when it is due."""
    due = {job.name: job.due for job in jobs}
    return all((limit := due[each.name]) is None or each.ready <= limit for each in timeline.placed)
