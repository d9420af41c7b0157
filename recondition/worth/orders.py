"""Plain rules for laying jobs out, and bounds that no timetable can beat."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from recondition.worth.jobs import Job, Site, Timeline, place


def best_order(
    site: Site, jobs: Sequence[Job], like: Timeline | None = None, *, most: int | None = None
) -> Timeline | None:
    """Lay jobs by a few plain rules and keep the best: in time first, then the earliest.

    The order of ``like`` is tried first; ``most`` is how many orders are tried at most. With
    ``most`` the first that is in time will do.
    """
    best: tuple[int, int, Timeline] | None = None
    due = {job.name: job.due for job in jobs}
    shortest_end = shortest(site, jobs)
    for order in islice(_orders(site, jobs, like), most):
        found = place(site, order)
        if found is not None:
            late = sum(
                max(each.ready - limit, 0)
                for each in found.placed
                if (limit := due[each.name]) is not None
            )
            if best is None or (late, found.finish) < best[:2]:
                best = (late, found.finish, found)
                if not late and (most is not None or found.finish <= shortest_end):
                    break
    return best[2] if best else None


def bound_of(site: Site, jobs: Sequence[Job]) -> dict[str, int]:
    """Give for each job the earliest moment at which it can be ready, its own way alone."""
    by_name = {job.name: job for job in jobs}
    ready: dict[str, int] = {}
    for name in in_order(jobs):
        job = by_name[name]
        at = max([job.release, *(ready[each] for each in job.after)])
        ends = []
        for hand in job.hands:
            hours = site.hands[hand]
            start = hours.first_at(at) if job.work else hours.open_at(at)
            ends.append(hours.finish(start, job.work))
        ready[name] = min(ends) + job.tail
    return ready


def shortest(site: Site, jobs: Sequence[Job]) -> int:
    """Give a finish that no timetable can beat: by the longest way, and by the work in all."""
    longest = max(bound_of(site, jobs).values(), default=0)
    work = sum(job.work for job in jobs if job.hands)
    hands = len({hand for job in jobs for hand in job.hands})
    every = min([hands, *(room for name, room in site.room.items() if _all_use(jobs, name))])
    together = site.open_hours.clock_end(-(-work // max(every, 1))) if work else 0
    return max(longest, together)


def _all_use(jobs: Sequence[Job], name: str) -> bool:
    return all(any(used == name for used, _ in job.uses) for job in jobs if job.work)


def in_order(jobs: Sequence[Job]) -> list[str]:
    """Give names so that what a job comes after stands before it; the rest as they came."""
    by_name = {job.name: job for job in jobs}
    order: list[str] = []
    waiting = [job.name for job in reversed(jobs)]
    while waiting:
        name = waiting[-1]
        first = [each for each in by_name if each in by_name[name].after and each not in order]
        if name in order or not first:
            waiting.pop()
            if name not in order:
                order.append(name)
        else:
            waiting += first
    return order


def _orders(site: Site, jobs: Sequence[Job], like: Timeline | None) -> Iterator[list[Job]]:
    """Give orders worth trying: as it was, by due, by what comes after, by cure, by delivery."""
    by_name = {job.name: job for job in jobs}
    # Names may be random ids: ties go by the place in which jobs came.
    turn = {job.name: place for place, job in enumerate(jobs)}
    tails = _tails(jobs)
    ready = bound_of(site, jobs)
    far = max((job.due or 0 for job in jobs), default=0) + max(tails.values(), default=0) + 1
    keys = [
        lambda j: ((j.due if j.due is not None else far) - tails[j.name], turn[j.name]),
        lambda j: (-tails[j.name], j.release, turn[j.name]),
        lambda j: (ready[j.name] - j.tail, -tails[j.name], turn[j.name]),
        lambda j: (j.release, -j.work, turn[j.name]),
        lambda j: (j.due if j.due is not None else far, -j.work, turn[j.name]),
    ]
    if like is not None:
        was = {each.name: each.start for each in like.placed}
        keys.insert(0, lambda j: (was.get(j.name, ready[j.name] - j.tail - j.work), turn[j.name]))
    for key in keys:
        ranked = sorted(jobs, key=key)
        yield [by_name[name] for name in respecting(ranked)]


def respecting(ranked: Sequence[Job]) -> list[str]:
    """Take again and again the first job in rank all of whose forerunners were taken."""
    order: list[str] = []
    taken: set[str] = set()
    left = list(ranked)
    while left:
        job = next(each for each in left if each.after <= taken)
        left.remove(job)
        taken.add(job.name)
        order.append(job.name)
    return order


def _tails(jobs: Sequence[Job]) -> dict[str, int]:
    """Give for each job the work and cures from its start to the end of what follows it."""
    by_name = {job.name: job for job in jobs}
    tails = {job.name: job.work + job.tail for job in jobs}
    for name in reversed(in_order(jobs)):
        for first in by_name[name].after:
            own = by_name[first].work + by_name[first].tail
            tails[first] = max(tails[first], own + tails[name])
    return tails
