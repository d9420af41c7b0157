"""One vehicle or several made ready for the search: what may be chosen, and its jobs in time.

Ticks are a whole part of an hour, chosen so that every duration is a whole number of them;
tick 0 is the midnight before work can begin.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from functools import cached_property
from math import floor, lcm
from typing import TYPE_CHECKING

from recondition.worth.advice import TOO_LATE
from recondition.worth.barred import barred
from recondition.worth.calendar import DAY
from recondition.worth.estimates import Candidate, CandidateState
from recondition.worth.jobs import Hours, Job, Site, Timeline
from recondition.worth.orders import bound_of
from recondition.worth.shop import LayingOut, Shop
from recondition.worth.terms import SellsWhen
from recondition.worth.weighing import ZERO, Items, Points, Weighing, weigh

if TYPE_CHECKING:
    from recondition.worth.question import Question

SOME_MONDAY = datetime(2001, 1, 1)  # noqa: DTZ001 - the shop's own wall clock
BAY = "bay"
LONGEST_DAYS = 2 * 366


@dataclass(frozen=True)
class Piece:
    """What one item takes of time, in ticks; ``wait`` is cure and days the vehicle is away."""

    work: int
    delivery: int
    wait: int
    keeps: bool
    last: bool
    hands: tuple[int, ...]

    @property
    def in_a_row(self) -> int:
        """Give delivery and wait; what serial blocks add to the stretched hours."""
        return self.delivery + self.wait


@dataclass(frozen=True)
class Car:
    """One vehicle of a problem.

    ``bars`` says why an item may not be chosen. ``wall`` is the tick by which all of it must be
    over, None where there is none. ``per_day`` is the holding that each day of finish pays
    (zero where the sale day is fixed).
    """

    weighing: Weighing
    bars: Mapping[str, str]
    wall: int | None
    per_day: Fraction

    @property
    def open(self) -> tuple[str, ...]:
        """Give the items that may be chosen."""
        return tuple(item for item in self.weighing.items if item not in self.bars)


@dataclass(frozen=True)
class Problem:
    """Vehicles that share one shop and one purse (None: no common limit of cash).

    ``overtime`` gives for a hand, by its place, the ticks it stays longer on its first day.
    """

    cars: tuple[Car, ...]
    shop: Shop
    first: date
    begin: int
    tick: int
    pieces: Mapping[str, Piece]
    purse: Fraction | None = None
    overtime: Mapping[int, int] = field(default_factory=dict)

    @cached_property
    def car_of(self) -> dict[str, int]:
        """Give for each item the place of its vehicle."""
        return {item: n for n, car in enumerate(self.cars) for item in car.weighing.items}

    @property
    def serial(self) -> bool:
        """Tell whether work is laid out as serial blocks."""
        return self.shop.laying_out is LayingOut.SERIAL_BLOCKS

    @cached_property
    def site(self) -> Site:
        """Give hands and bays, for as long as all the work one after another would take."""
        hours = sum(piece.work for piece in self.pieces.values())
        slowest = min(self._a_day(hand.hours_a_day) for hand in self.shop.working)
        needed = 2 + hours // max(slowest, 1)
        waits = sum(piece.in_a_row for piece in self.pieces.values()) // (DAY * self.tick)
        days = self._days_for(needed) + waits + 7
        walls = [car.wall for car in self.cars]
        if all(wall is not None for wall in walls):
            # Beyond the walls there is room enough to see by how much something is late.
            days = min(days, 2 * (max((w or 0) for w in walls) // (DAY * self.tick) + 1))
        hands = tuple(
            self._hours(hand.hours_a_day, days, self.overtime.get(place, 0))
            for place, hand in enumerate(self.shop.working)
        )
        return Site(hands, {BAY: self.shop.bays})

    def _a_day(self, hours: Fraction | None) -> int:
        shift = self.shop.calendar.shift
        return floor(min(hours or shift, shift) * self.tick)

    def _days_for(self, needed: int) -> int:
        """Count the days until so many working days have gone by."""
        days = needed
        while self.shop.calendar.workdays(self.first, days) < needed and days < LONGEST_DAYS:
            days += max(needed - self.shop.calendar.workdays(self.first, days), 1)
        return days

    def _hours(self, hours: Fraction | None, days: int, longer: int) -> Hours:
        begin = Fraction(self.begin, self.tick)
        windows = self.shop.calendar.windows(self.first, days, begin, hours)
        ticks = [(floor(a * self.tick), floor(b * self.tick)) for a, b in windows]
        if ticks and longer:
            start, end = ticks[0]
            until = ticks[1][0] if len(ticks) > 1 else end + longer
            ticks[0] = (start, min(end + longer, until))
        return Hours(tuple(ticks))

    def jobs(self, chosen: Iterable[str], days: Mapping[int, int] | None = None) -> list[Job]:
        """Give the jobs of a set. ``days`` are days of finish that vehicles must keep to."""
        there = frozenset(chosen)
        jobs = []
        for n, car in enumerate(self.cars):
            mine = [item for item in car.open if item in there]
            due = self.due(n, (days or {}).get(n))
            for item in mine:
                piece = self.pieces[item]
                after = (car.weighing.needs[item] & there) - {item}
                if piece.last:
                    after |= {other for other in mine if not self.pieces[other].last}
                jobs.append(
                    Job(
                        name=item,
                        work=piece.work,
                        release=self.begin + piece.delivery,
                        tail=piece.wait,
                        keeps=piece.keeps,
                        after=frozenset(after),
                        hands=piece.hands,
                        uses=((BAY, 1),),
                        due=due,
                    )
                )
        return jobs

    def due(self, car: int, day: int | None) -> int | None:
        """Give when a vehicle must be over: its wall, or the end of a day of finish."""
        wall = self.cars[car].wall
        if day is None:
            return wall
        end = day * DAY * self.tick
        return end if wall is None else min(wall, end)

    def day_of(self, tick: int) -> int:
        """Give the day of finish: 1 for the first day, 0 for no work at all."""
        return -(-tick // (DAY * self.tick))

    def serial_finish(self, chosen: Iterable[str]) -> int:
        """Give when serial blocks are over; 0 where nothing is chosen."""
        blocks = [self.block(item) for item in chosen]
        return self.begin + sum(blocks) if blocks else 0

    def block(self, item: str) -> int:
        """Give the clock time of one item under serial blocks."""
        piece = self.pieces[item]
        stretched = Fraction(DAY) / self.shop.calendar.shift * piece.work
        return floor(stretched) + piece.in_a_row

    def moment(self, tick: int) -> datetime:
        """Give a tick as a moment of the shop's wall clock."""
        seconds = Fraction(tick * 3600, self.tick)
        return datetime.combine(self.first, time()) + timedelta(seconds=float(seconds))

    def hours(self, ticks: int) -> Fraction:
        """Give ticks in hours."""
        return Fraction(ticks, self.tick)

    def net(self, chosen: Iterable[str], finish: Mapping[int, int]) -> Fraction:
        """Give the exact net of a set; ``finish`` is the day of finish of each vehicle."""
        there = frozenset(chosen)
        total = ZERO
        for n, car in enumerate(self.cars):
            mine = there.intersection(car.open)
            total += car.weighing.net(mine)
            if mine and car.per_day:
                total -= car.per_day * finish[n]
        return total

    def days(self, chosen: Items, timeline: Timeline | None) -> dict[int, int]:
        """Give each vehicle's day of finish in a timetable."""
        if timeline is None or self.serial:
            return {0: self.day_of(self.serial_finish(chosen))}
        latest: dict[int, int] = {}
        for each in timeline.placed:
            car = self.car_of[each.name]
            latest[car] = max(latest.get(car, 0), each.ready)
        return {car: self.day_of(tick) for car, tick in latest.items()}


def problem_of(questions: Iterable[Question], purse: Fraction | None = None) -> Problem:
    """Make questions that share a shop into one problem. Raises what ``weigh`` raises."""
    asked = tuple(questions)
    shop = asked[0].shop
    weighings = [weigh(question) for question in asked]
    begins = [_begin(question) for question in asked]
    start = min(begins)
    first, tick = start.date(), _tick(asked, start)
    begin = _ticks(start, first, tick)
    pieces: dict[str, Piece] = {}
    for question, weighing, own in zip(asked, weighings, begins, strict=True):
        later = _ticks(own, first, tick) - begin
        for item in weighing.items:
            pieces[item] = _piece(question, item, tick, later)
    cars = tuple(
        _car(question, weighing, first, tick)
        for question, weighing in zip(asked, weighings, strict=True)
    )
    problem = Problem(cars, shop, first, begin, tick, pieces, purse)
    return replace(problem, cars=tuple(_without_late(problem, n) for n in range(len(cars))))


def _begin(question: Question) -> datetime:
    """Give the moment from which work on a vehicle can be laid out."""
    if question.begin is None:
        return SOME_MONDAY + timedelta(hours=float(question.shop.calendar.opens))
    opens = question.terms.work_from
    if opens is not None and opens > question.begin.date():
        return datetime.combine(opens, time()) + timedelta(
            hours=float(question.shop.calendar.opens)
        )
    return question.begin


def _car(question: Question, weighing: Weighing, first: date, tick: int) -> Car:
    terms = question.terms
    wall = None
    if question.begin is not None:
        end = last_moment(question)
        wall = None if end is None else max(_ticks(end, first, tick), 0)
    ready = terms.sells is SellsWhen.WHEN_READY and terms.holding_per_day is not None
    per_day = terms.holding_per_day.fraction if ready and terms.holding_per_day else ZERO
    return Car(weighing, barred(weighing), wall, per_day)


def last_moment(question: Question) -> datetime | None:
    """Give the moment by which all must be over: the cut-off, else the day before the sale."""
    terms = question.terms
    if terms.cut_off is not None:
        if terms.cut_off_time is not None:
            return datetime.combine(terms.cut_off, time.fromisoformat(terms.cut_off_time))
        return datetime.combine(terms.cut_off + timedelta(days=1), time())
    if terms.sale_day is not None and terms.sells is SellsWhen.FIXED_DAY:
        return datetime.combine(terms.sale_day, time())
    return None


def _piece(question: Question, item: str, tick: int, later: int) -> Piece:
    candidate, shop = question.candidates[item], question.shop
    used = question.used.get(item)
    hours = Points.of(candidate.hours).less(used.hours if used else ZERO)
    started = candidate.state is CandidateState.STARTED or used is not None
    return Piece(
        work=floor(hours.at(shop.time_reading, question.mean_rule) * tick),
        delivery=later + (0 if started else floor(Fraction(candidate.delivery_hours) * tick)),
        wait=floor((Fraction(candidate.cure_hours) + _away(question, candidate)) * tick),
        keeps=candidate.cure_keeps_bay,
        last=candidate.after_all,
        hands=shop.can(candidate.skills),
    )


def _away(question: Question, candidate: Candidate) -> Fraction:
    """Give the hours of extra days, where the day of finish pays for them."""
    if question.terms.sells is SellsWhen.WHEN_READY:
        return Fraction(candidate.extra_days) * DAY
    return ZERO


def _tick(asked: tuple[Question, ...], start: datetime) -> int:
    """Give how many ticks make an hour, so that every time is a whole number of them."""
    shop = asked[0].shop
    parts = [
        shop.calendar.opens,
        shop.calendar.shift,
        Fraction(start.hour * 3600 + start.minute * 60 + start.second, 3600),
        *(hand.hours_a_day for hand in shop.hands if hand.hours_a_day is not None),
    ]
    for question in asked:
        for item, candidate in question.candidates.items():
            used = question.used.get(item)
            points = Points.of(candidate.hours).less(used.hours if used else ZERO)
            parts.append(points.at(shop.time_reading, question.mean_rule))
            parts.append(
                points.at(shop.time_reading, question.mean_rule) * DAY / shop.calendar.shift
            )
            parts += map(Fraction, (candidate.cure_hours, candidate.delivery_hours))
            parts.append(_away(question, candidate))
        end = last_moment(question)
        if end is not None:
            parts.append(Fraction(end.hour * 60 + end.minute, 60))
    return lcm(*(part.denominator for part in parts))


def _ticks(moment: datetime, first: date, tick: int) -> int:
    """Give a moment as a tick; below zero before the first midnight."""
    passed = moment - datetime.combine(first, time())
    return floor(Fraction(passed.days * 86400 + passed.seconds, 3600) * tick)


def _without_late(problem: Problem, number: int) -> Car:
    """Bar work that cannot be ready on its own: nobody can do it, or the wall is too near."""
    car = problem.cars[number]
    question = car.weighing.question
    bars = dict(car.bars)
    for item in car.open:
        why = _too_late(problem, number, item)
        if why:
            bars[item] = why
    for item in car.weighing.items:
        needed = car.weighing.needs[item]
        late = [other for other in car.weighing.items if other in needed and other in bars]
        if item not in bars and late:
            bars[item] = f"needs {question.ref(late[0])}, which {bars[late[0]]}"
    return replace(car, bars=bars)


def _too_late(problem: Problem, number: int, item: str) -> str:
    car = problem.cars[number]
    needed = car.weighing.needs[item]
    for other in needed:
        if not problem.pieces[other].hands:
            skills = car.weighing.question.candidates[other].skills
            return f"nobody in the shop has the skill it needs: {', '.join(skills)}"
    if car.wall is None or not needed <= frozenset(car.open):
        return ""
    if problem.serial:
        ready = problem.serial_finish(needed)
    else:
        ready = bound_of(problem.site, problem.jobs(needed))[item]
    if ready <= car.wall:
        return ""
    end = last_moment(car.weighing.question) or problem.moment(car.wall)
    return f"{TOO_LATE} {end:%Y-%m-%d %H:%M}, whatever else is left"


def candidate_of(car: Car, item: str) -> Candidate:
    """Give the candidate work of an item."""
    return car.weighing.question.candidates[item]
