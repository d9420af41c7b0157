"""Timetables: published networks, every order of small ones, and the windows of a shop."""

from __future__ import annotations

import random
from collections import defaultdict
from datetime import date
from fractions import Fraction
from itertools import permutations, product

import pytest

from recondition.worth.calendar import Calendar
from recondition.worth.jobs import Hours, Job, Site, Timeline, in_time, place
from recondition.worth.ready import slack_of
from recondition.worth.timetable import Found, timetable
from tests.check_values import check_values

EVER = Hours(((0, 1000),))


def networks() -> dict[str, list[dict[str, str]]]:
    found = defaultdict(list)
    for row in check_values("cpm_examples"):
        found[row["example"]].append(row)
    return dict(found)


@pytest.mark.parametrize("name", networks())
def test_published_network_tables(name: str) -> None:
    """B. W. Taylor, Introduction to Management Science, chapter 8 (activities on arrows)."""
    rows = networks()[name]
    ends = {row["activity_i_j"]: row["activity_i_j"].split("-") for row in rows}
    jobs = [
        Job(
            name=row["activity_i_j"],
            work=int(row["duration"]),
            hands=(number,),
            after=frozenset(
                other for other, (_, to) in ends.items() if to == ends[row["activity_i_j"]][0]
            ),
        )
        for number, row in enumerate(rows)
    ]
    site = Site((EVER,) * len(jobs), {})
    found = timetable(site, jobs, earliest=True, seconds=10)
    assert found.found is Found.PROVEN
    assert found.timeline is not None
    assert f"({found.timeline.finish})" in name
    placed = {each.name: each for each in found.timeline.placed}
    slack = slack_of(site, jobs, found.timeline, found.timeline.finish)
    for row in rows:
        each = placed[row["activity_i_j"]]
        assert (each.start, each.end) == (int(row["ES"]), int(row["EF"]))
        assert slack[each.name] == int(row["slack"]) == int(row["LS"]) - int(row["ES"])


def drawn(chance: random.Random) -> tuple[Site, list[Job]]:
    """Draw a small site and its jobs."""

    def hours(a_day: int, first: int) -> Hours:
        days = (d for d in range(30) if d % 7 < 5)
        return Hours(tuple((24 * d + (first if d == 0 else 0), 24 * d + a_day) for d in days))

    count = chance.choice([1, 1, 2, 2, 3])
    hands = tuple(
        hours(chance.choice([8, 8, 8, 4]), chance.choice([0, 0, 3])) for _ in range(count)
    )
    jobs = [
        Job(
            name=f"j{number}",
            work=chance.choice([0, 1, 2, 3, 5, 8, 9, 14]),
            release=chance.choice([0, 0, 0, 5, 30, 100]),
            tail=chance.choice([0, 0, 0, 6, 24, 40]),
            keeps=chance.random() < 0.2,
            after=frozenset(f"j{k}" for k in range(number) if chance.random() < 0.25),
            hands=tuple(sorted(chance.sample(range(count), chance.randint(1, count)))),
            uses=(("bay", 1),),
            due=chance.choice([None, None, 60, 100, 200]),
        )
        for number in range(chance.randint(1, 5))
    ]
    return Site(hands, {"bay": chance.choice([1, 1, 2])}), jobs


def every_order(site: Site, jobs: list[Job]) -> int | None:
    """Give the earliest finish in time over every order and choice of hands."""
    ends = []
    for order in permutations(jobs):
        names = [job.name for job in order]
        if any(set(job.after) - set(names[:place_]) for place_, job in enumerate(order)):
            continue
        for hands in product(*(job.hands for job in order)):
            line = place(site, order, dict(zip(names, hands, strict=True)))
            if line is not None and in_time(line, jobs):
                ends.append(line.finish)
    return min(ends, default=None)


@pytest.mark.parametrize("seed", range(2))
def test_the_earliest_finish_is_that_of_every_order(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - drawn problems, no secret
    for _ in range(50):
        site, jobs = drawn(chance)
        best = every_order(site, jobs)
        found = timetable(site, jobs, earliest=True, seconds=20)
        any_one = timetable(site, jobs, earliest=False, seconds=20)
        if best is None:
            assert (found.found, any_one.found) == (Found.NONE, Found.NONE)
        else:
            assert found.found is Found.PROVEN
            assert found.timeline is not None
            assert any_one.timeline is not None
            assert found.timeline.finish == best == found.bound
            assert in_time(found.timeline, jobs)
            assert in_time(any_one.timeline, jobs)
            lies_well(site, jobs, any_one.timeline)


def lies_well(site: Site, jobs: list[Job], line: Timeline) -> None:
    """Hold a timetable against the rules, one by one."""
    placed, by_name = {each.name: each for each in line.placed}, {job.name: job for job in jobs}
    for each in line.placed:
        job = by_name[each.name]
        assert each.hand in job.hands
        assert each.start >= job.release
        assert each.ready == each.end + job.tail
        assert all(placed[first].ready <= each.start for first in job.after)
        hours = site.hands[each.hand]
        assert hours.worked(each.end) - hours.worked(each.start) == job.work
    for moment in {each.start for each in line.placed}:
        held = [
            each
            for each in line.placed
            if each.start <= moment
            < (each.ready if by_name[each.name].keeps else each.end)
        ]  # fmt: skip
        assert len(held) <= site.room["bay"]
        busy = [e.hand for e in line.placed if e.start <= moment < e.end and by_name[e.name].work]
        assert len(busy) == len(set(busy))


def test_a_shop_works_its_week_but_not_its_closed_days() -> None:
    shop = Calendar(opens=Fraction(8), shift=Fraction(8), closed=frozenset({date(2026, 3, 3)}))
    monday = date(2026, 3, 2)
    assert list(shop.windows(monday, 8, Fraction(10))) == [
        (10, 16), (56, 64), (80, 88), (104, 112), (176, 184),
    ]  # fmt: skip
    assert list(shop.windows(monday, 1, Fraction(0), Fraction(5, 2))) == [(8, Fraction(21, 2))]
    assert shop.workdays(monday, 8) == 5


def test_work_is_split_over_a_night_and_a_cure_is_not() -> None:
    site = Site((Hours(((8, 16), (32, 40))),), {"bay": 1})
    long = Job(name="a", work=10, tail=5, uses=(("bay", 1),))
    found = place(site, [long])
    assert found is not None
    assert [(each.start, each.end, each.ready) for each in found.placed] == [(8, 34, 39)]
