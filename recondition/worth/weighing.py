"""Each item's exact cost and uplift, and what any set of items is worth; nothing rounded.

Amounts are Fractions of the currency's major unit. Expected cost = mean hours x rate +
mean cash + (1 - p) x failure cash + extra days x holding per day; expected uplift =
p x mean + (1 - p) x what a failure leaves (nothing where it is not stated). The low, likely
and high cases know no failure. An interaction counts when all its items are there, in the
expected case times the product of their chances; work that is done is there for certain.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from math import prod
from typing import TYPE_CHECKING

from recondition.condition.vehicle import Holding
from recondition.worth.contradictions import check, exclusions_of, needs_of
from recondition.worth.estimates import (
    Candidate,
    CandidateState,
    MeanRule,
    ThreeAmounts,
    ThreeNumbers,
)
from recondition.worth.settlement import Curve, seller_curve
from recondition.worth.shop import Reading
from recondition.worth.terms import SellsWhen

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from recondition.amounts import Money
    from recondition.worth.question import Question

ZERO = Fraction(0)
Items = frozenset[str]


class Case(StrEnum):
    """Which reading of the three-point estimates a figure uses."""

    LOW = "low"
    LIKELY = "likely"
    HIGH = "high"
    EXPECTED = "expected"


class Wall(StrEnum):
    """What a plan may run into; measured on the mean (or what the book says), failure included."""

    CASH = "cash limit"
    HOURS = "hours limit"
    OWNER = "owner's limit"


@dataclass(frozen=True, slots=True)
class Weight:
    """One item's figures: cost and uplift by case, what it takes of each wall, mean hours."""

    cost: Mapping[Case, Fraction]
    uplift: Mapping[Case, Fraction]
    takes: Mapping[Wall, Fraction]
    chance: Fraction
    hours: Fraction


@dataclass(frozen=True, slots=True)
class Term:
    """An interaction over items not yet done; ``delta`` is on the basis of the sale terms."""

    items: Items
    delta: Fraction
    chance: Fraction


@dataclass(frozen=True)
class Weighing:
    """A question made exact. ``needs`` and ``against`` speak of work that is not done."""

    question: Question
    items: tuple[str, ...]
    done: tuple[str, ...]
    rate: Money
    as_is: Fraction
    weights: Mapping[str, Weight]
    terms: tuple[Term, ...]
    needs: Mapping[str, Items]
    against: Mapping[str, Items]
    walls: Mapping[Wall, Fraction]

    @cached_property
    def curve(self) -> Curve:
        """What the seller keeps, before fixed fees, as a function of the price."""
        return seller_curve(self.question.terms)

    def uplift(self, chosen: Iterable[str], case: Case = Case.EXPECTED) -> Fraction:
        """Give what a set adds to the price on the basis of the terms, interactions included."""
        there = frozenset(chosen)
        terms = [term for term in self.terms if term.items <= there]
        together = sum(
            (term.delta * (term.chance if case is Case.EXPECTED else 1) for term in terms), ZERO
        )
        return sum((self.weights[item].uplift[case] for item in there), together)

    def cost(self, chosen: Iterable[str], case: Case = Case.EXPECTED) -> Fraction:
        """Give what a set costs."""
        return sum((self.weights[item].cost[case] for item in chosen), ZERO)

    def takes(self, wall: Wall, chosen: Iterable[str]) -> Fraction:
        """Give how much a set takes of a wall: money, or hours."""
        return sum((self.weights[item].takes[wall] for item in chosen), ZERO)

    def hours(self, chosen: Iterable[str]) -> Fraction:
        """Give the mean hours of a set."""
        return sum((self.weights[item].hours for item in chosen), ZERO)

    def kept(self, uplift: Fraction, already: Fraction = ZERO) -> Fraction:
        """Give what the seller keeps of an uplift on top of one that is there already."""
        before = self.as_is + already
        return self.curve.at(before + uplift) - self.curve.at(before)

    def break_even(self, cost: Fraction, already: Fraction = ZERO) -> Fraction:
        """Give the smallest uplift, on top of ``already``, of which the seller keeps ``cost``."""
        before = self.as_is + already
        return self.curve.where(self.curve.at(before) + cost) - before

    def net(self, chosen: Iterable[str]) -> Fraction:
        """Give the expected net of a set."""
        there = frozenset(chosen)
        return self.kept(self.uplift(there)) - self.cost(there)

    def film_passed(self, chosen: Iterable[str]) -> str:
        """Give the first panel off which a set would take more film than its headroom."""
        there = frozenset(chosen)
        question = self.question
        for panel, room in question.film_room.items():
            takes = (question.film_takes.get(item, {}).get(panel, ZERO) for item in there)
            if sum(takes, ZERO) > room:
                return panel
        return ""

    def weight_of(self, item: str, candidate: Candidate) -> Weight:
        """Weigh an item as if its estimates were those of ``candidate``, which has an uplift."""
        return _weight(self.question, candidate, self.rate, item)

    def walls_passed(self, chosen: Iterable[str]) -> list[Wall]:
        """Give the walls that a set runs into."""
        there = frozenset(chosen)
        return [wall for wall, most in self.walls.items() if self.takes(wall, there) > most]


def weigh(question: Question) -> Weighing:
    """Make a question exact. Raises what ``contradictions`` and ``settlement`` name."""
    check(question)
    needs, against = needs_of(question), exclusions_of(question)
    terms = question.terms
    rate = terms.labour_cost_rate
    if question.holding is Holding.CONSIGNED and terms.charge_out_rate is not None:
        rate = terms.charge_out_rate
    as_is = mean(terms.as_is, question.mean_rule)
    states = {item: question.candidates[item].state for item in question.in_order()}
    items = tuple(item for item, state in states.items() if state is not CandidateState.DONE)
    done = tuple(item for item in states if item not in items)
    weights = {
        item: _weight(question, question.candidates[item], rate, item)
        for item in items
        if _is_estimated(question.candidates[item])
    }
    return Weighing(
        question=question,
        items=items,
        done=done,
        rate=rate,
        as_is=as_is,
        weights=weights,
        terms=_terms(question, frozenset(done)),
        needs={item: needs[item].difference(done) for item in items},
        against={item: against[item] for item in items},
        walls=_walls(question),
    )


@dataclass(frozen=True, slots=True)
class Points:
    """A three-point estimate as Fractions, money in major units."""

    three: tuple[Fraction, Fraction, Fraction]

    @classmethod
    def of(cls, three: ThreeAmounts | ThreeNumbers) -> Points:
        """Read an estimate."""
        return cls(_points(three))

    def less(self, used: Fraction) -> Points:
        """Take off what was used already; no point falls below zero by it."""
        if not used:
            return self
        low, likely, high = (max(point - used, ZERO) for point in self.three)
        return Points((low, likely, high))

    def mean(self, rule: MeanRule) -> Fraction:
        """Give the mean."""
        low, likely, high = self.three
        return (low + (4 if rule is MeanRule.SMOOTH else 1) * likely + high) / (
            6 if rule is MeanRule.SMOOTH else 3
        )

    def at(self, reading: Reading, rule: MeanRule) -> Fraction:
        """Give the point that a limit is held against."""
        if reading is Reading.MEAN:
            return self.mean(rule)
        return self.three[1 if reading is Reading.LIKELY else 2]


def mean(three: ThreeAmounts | ThreeNumbers, rule: MeanRule) -> Fraction:
    """Give the mean of a three-point estimate in its own unit, money in major units."""
    return Points.of(three).mean(rule)


def _points(three: ThreeAmounts | ThreeNumbers) -> tuple[Fraction, Fraction, Fraction]:
    if isinstance(three, ThreeAmounts):
        return three.low.fraction, three.likely.fraction, three.high.fraction
    return Fraction(three.low), Fraction(three.likely), Fraction(three.high)


def _is_estimated(candidate: Candidate) -> bool:
    return candidate.uplift is not None or candidate.uplift_percent is not None


def _weight(question: Question, candidate: Candidate, rate: Money, item: str) -> Weight:
    """Weigh what is still to do of one item; what posted lines took of it is spent."""
    rule = question.mean_rule
    chance = Fraction(candidate.p_success)
    waiting = _waiting(question, candidate)
    used = question.used.get(item)
    hours = Points.of(candidate.hours).less(used.hours if used else ZERO)
    cash = Points.of(candidate.cash).less(used.cash if used else ZERO)
    failing = (1 - chance) * _or_nothing(candidate.fail_cash)
    per_hour = rate.fraction
    plain = [
        worked * per_hour + spent + waiting
        for worked, spent in zip(hours.three, cash.three, strict=True)
    ]
    expected = hours.mean(rule) * per_hour + cash.mean(rule) + failing + waiting
    reading = question.shop.limit_reading
    worked, spent = hours.at(reading, rule), cash.at(reading, rule) + failing
    takes = {
        Wall.CASH: spent,
        Wall.HOURS: worked,
        Wall.OWNER: worked * per_hour + spent + waiting,
    }
    cost = dict(zip(Case, (*plain, expected), strict=True))
    as_is = mean(question.terms.as_is, rule)
    uplift = _uplifts(candidate, rule, as_is)
    return Weight(cost, uplift, takes, chance, hours.mean(rule))


def _waiting(question: Question, candidate: Candidate) -> Fraction:
    """Give what extra days cost; a vehicle that sells when ready pays by its day of finish."""
    if question.terms.sells is SellsWhen.WHEN_READY:
        return ZERO
    return Fraction(candidate.extra_days) * _or_nothing(question.terms.holding_per_day)


def _uplifts(candidate: Candidate, rule: MeanRule, as_is: Fraction) -> dict[Case, Fraction]:
    """Give the uplift by case; percent becomes money as percent of the mean as-is price."""
    three = candidate.uplift or candidate.uplift_percent
    assert three is not None  # noqa: S101 - only estimated candidates come here
    unit = Fraction(1) if candidate.uplift else as_is / 100
    failed = _or_nothing(candidate.fail_uplift)
    if candidate.fail_uplift_percent is not None:
        failed = Fraction(candidate.fail_uplift_percent) * as_is / 100
    chance = Fraction(candidate.p_success)
    expected = chance * mean(three, rule) * unit + (1 - chance) * failed
    plain = [point * unit for point in _points(three)]
    return dict(zip(Case, (*plain, expected), strict=True))


def _terms(question: Question, done: Items) -> tuple[Term, ...]:
    """Reduce interactions to what is not done; one wholly of done work is in the price today."""
    terms = []
    for interaction in question.interactions:
        left = frozenset(interaction.items) - done
        if left:
            chances = (Fraction(question.candidates[item].p_success) for item in left)
            terms.append(
                Term(left, interaction.delta_uplift.fraction, prod(chances, start=Fraction(1)))
            )
    return tuple(terms)


def _walls(question: Question) -> dict[Wall, Fraction]:
    """Give the limits that bind; an owner's limit binds only where there is an owner to bill."""
    terms = question.terms
    walls = {}
    if terms.cash_limit is not None:
        walls[Wall.CASH] = terms.cash_limit.fraction
    if terms.hours_limit is not None:
        walls[Wall.HOURS] = Fraction(terms.hours_limit)
    if terms.owner_limit is not None and question.holding is Holding.CONSIGNED:
        walls[Wall.OWNER] = terms.owner_limit.fraction
    return walls


def _or_nothing(money: Money | None) -> Fraction:
    return money.fraction if money is not None else ZERO
