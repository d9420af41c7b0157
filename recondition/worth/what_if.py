"""What an estimate moved by hand would change: where the advice turns, and the plan anew.

An estimate moves as a whole: its low, likely and high figures by the same amount, cash and hours
not below zero. The turn is read off the flip points, all else as it is; the plan is worked out
anew by the same code as any plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money
from recondition.worth.advice import Advice, Flip, ItemAdvice, Verdict
from recondition.worth.contradictions import UnknownItem
from recondition.worth.estimates import Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.weighing import Case, Weighing, weigh

if TYPE_CHECKING:
    from recondition.worth.question import Question

_FAR = 1 << 45  # a turn further away than this many of the smallest units is none
_PLACES = 2
_STEPS = 200
_BEYOND = Fraction(1, 2)


class Figure(StrEnum):
    """Which estimate of a piece of work is moved; the values are fields of ``Candidate``."""

    UPLIFT = "uplift"
    PERCENT = "uplift_percent"
    CASH = "cash"
    HOURS = "hours"

    @property
    def adds(self) -> bool:
        """Whether more of it speaks for the work."""
        return self in (Figure.UPLIFT, Figure.PERCENT)


@dataclass(frozen=True, slots=True)
class Change:
    """One estimate moved: its likely figure, in major units, percent or hours."""

    item: str
    figure: Figure
    likely: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """An estimate that can be moved. Figures are whole numbers of its smallest unit.

    ``places`` are the decimals of that unit, ``unit`` is a currency, ``%`` or ``h``. ``turn`` is
    the likely figure at which the advice turns, exact to one of the smallest unit: the work
    belongs in the plan from it on, or below it for cash and hours; None where no figure turns
    it.
    ``between`` are the figures around the turn at which the plans with and without the work are
    within the indifference of each other, and the one that touches less is advised (on a
    tiered settlement at the least share that the seller keeps). None without an indifference.
    ``least``, ``most`` and ``step`` bound a slider, on whose steps ``likely`` lies. ``proven``
    and ``within`` are those of the flip.
    """

    item: str
    ref: str
    figure: Figure
    unit: str
    places: int
    low: int
    likely: int
    high: int
    least: int
    most: int
    step: int
    turn: int | None
    between: tuple[int, int] | None
    inside: bool
    proven: bool
    within: Money

    def number(self, whole: int) -> Decimal:
        """Give a whole number of the smallest unit in the estimate's own unit."""
        return Decimal(whole).scaleb(-self.places)


@dataclass(frozen=True, slots=True)
class Turned:
    """A piece of work whose verdict another question changes."""

    item: str
    ref: str
    was: Verdict
    now: Verdict


def moved(candidate: Candidate, figure: Figure, likely: Decimal) -> Candidate:
    """Give candidate work with one estimate moved so that its likely figure is ``likely``.

    Raises UnknownItem where it has no such estimate.
    """
    three: ThreeAmounts | ThreeNumbers | None = getattr(candidate, figure.value)
    if three is None:
        what = f"the work has no estimate of its {figure.value.replace('_', ' ')}"
        raise UnknownItem(what, todo="Move an estimate that it has.")
    if isinstance(three, ThreeAmounts):
        code = three.likely.currency
        by = Money.of(str(likely), code) - three.likely
        amounts = (point + by for point in (three.low, three.likely, three.high))
        floor = None if figure.adds else Money.zero(code)
        made: object = ThreeAmounts(*(_at_least(point, floor) for point in amounts))
    else:
        shift = likely - three.likely
        numbers = (point + shift for point in (three.low, three.likely, three.high))
        made = ThreeNumbers(*(n if figure.adds else max(n, Decimal(0)) for n in numbers))
    changed: Any = {figure.value: made}
    return replace(candidate, **changed)


def _at_least(money: Money, floor: Money | None) -> Money:
    """Give an amount, or the floor where it lies below it."""
    return money if floor is None or money.minor >= floor.minor else floor


def asked_with(question: Question, changes: Iterable[Change]) -> Question:
    """Give the question with some estimates moved; nothing else of it differs.

    Raises UnknownItem.
    """
    candidates = dict(question.candidates)
    for change in changes:
        if change.item not in candidates:
            what = f"{change.item} is not candidate work of this vehicle"
            raise UnknownItem(what, todo="Name work of this vehicle.")
        candidates[change.item] = moved(candidates[change.item], change.figure, change.likely)
    return replace(question, candidates=candidates)


def turned(before: Advice, after: Advice) -> tuple[Turned, ...]:
    """Give the work whose verdict differs between two answers on the same work."""
    was = {each.item: each.verdict for each in before.items}
    return tuple(
        Turned(each.item, each.ref, was[each.item], each.verdict)
        for each in after.items
        if each.item in was and was[each.item] is not each.verdict
    )


def levers(question: Question, advice: Advice) -> tuple[Lever, ...]:
    """Give what can be moved: of each piece of work with a flip point, uplift, cash and hours."""
    weighing = weigh(question)
    return tuple(
        _lever(_Estimate(weighing, item, figure))
        for item in advice.items
        if item.figures is not None and item.figures.flip is not None
        for figure in Figure
        if getattr(weighing.question.candidates[item.item], figure.value) is not None
    )


@dataclass(frozen=True, slots=True)
class _Estimate:
    """One estimate of a piece of work that has a flip."""

    weighing: Weighing
    advised: ItemAdvice
    figure: Figure

    @property
    def candidate(self) -> Candidate:
        """The work."""
        return self.weighing.question.candidates[self.advised.item]

    @property
    def three(self) -> ThreeAmounts | ThreeNumbers:
        """The estimate itself."""
        three: ThreeAmounts | ThreeNumbers = getattr(self.candidate, self.figure.value)
        return three

    @property
    def flip(self) -> Flip:
        """Where the work turns."""
        assert self.advised.figures is not None  # noqa: S101 - as ``levers`` saw
        assert self.advised.figures.flip is not None  # noqa: S101 - as above
        return self.advised.figures.flip

    def turn(self) -> int | None:
        """Give the likely figure at which it comes to the flip; None where none does."""
        target = self.flip.uplift if self.figure.adds else self.flip.cost
        return None if target is None else self._reached(target.fraction)

    def between(self) -> tuple[int, int] | None:
        """Give the figures around the turn at which plans are within the indifference.

        None where there is no indifference or no turn.
        """
        span, turn = self.weighing.question.indifference.fraction, self.turn()
        if not span or turn is None:
            return None
        target = self.flip.uplift if self.figure.adds else self.flip.cost
        assert target is not None  # noqa: S101 - there is a turn
        if self.figure.adds:
            span /= min(self.weighing.curve.slopes)
        low, high = target.fraction - span, target.fraction + span
        first, last = self._reached(low), self._reached(high)
        return 0 if first is None else first, turn if last is None else last

    def _reached(self, target: Fraction) -> int | None:
        """Give the smallest likely figure whose expected cost or uplift reaches a target."""
        places, (_, likely, _) = _whole(self.three)

        def reaches(whole: int) -> bool:
            other = moved(self.candidate, self.figure, Decimal(whole).scaleb(-places))
            weight = self.weighing.weight_of(self.advised.item, other)
            case = weight.uplift if self.figure.adds else weight.cost
            return case[Case.EXPECTED] >= target

        return _first(reaches, likely, None if self.figure.adds else 0)


def _lever(of: _Estimate) -> Lever:
    """Make the lever of one estimate."""
    places, (low, likely, high) = _whole(of.three)
    turn, between = of.turn(), of.between()
    turns = between or (() if turn is None else (turn,))
    least, most, step = _range(of.figure, low, likely, high, turns)
    unit = {Figure.PERCENT: "%", Figure.HOURS: "h"}.get(of.figure, of.weighing.question.currency)
    return Lever(
        item=of.advised.item, ref=of.advised.ref, figure=of.figure, unit=unit, places=places,
        low=low, likely=likely, high=high, least=least, most=most, step=step, turn=turn,
        between=between, inside=of.advised.verdict is not Verdict.LEAVE, proven=of.flip.proven,
        within=of.flip.within,
    )  # fmt: skip


def _whole(three: ThreeAmounts | ThreeNumbers) -> tuple[int, tuple[int, int, int]]:
    """Give the decimals of an estimate's smallest unit, and its points in whole ones."""
    if isinstance(three, ThreeAmounts):
        places = -int(three.likely.number.as_tuple().exponent)
        return places, (three.low.minor, three.likely.minor, three.high.minor)
    points = (three.low, three.likely, three.high)
    places = max(_PLACES, *(-int(point.as_tuple().exponent) for point in points))
    low, likely, high = (int(point.scaleb(places)) for point in points)
    return places, (low, likely, high)


def _first(reaches: Callable[[int], bool], start: int, floor: int | None) -> int | None:
    """Give the smallest figure that reaches something, searched on both sides of ``start``."""
    width = 1
    while not reaches(start + width):
        width *= 2
        if width > _FAR:
            return None
    over, width = start + width, 1
    under = start - 1 if floor is None else max(start - 1, floor)
    while reaches(under):
        if (floor is not None and under <= floor) or width > _FAR:
            return None
        width *= 2
        under = start - width if floor is None else max(start - width, floor)
    while over - under > 1:
        middle = (over + under) // 2
        over, under = (middle, under) if reaches(middle) else (over, middle)
    return over


def _range(
    figure: Figure, low: int, likely: int, high: int, turns: tuple[int, ...]
) -> tuple[int, int, int]:
    """Bound a slider: from low to high and somewhat beyond, and past the turns that are near."""
    span = max(high - low, abs(likely) // 5, 10)
    least, most = Fraction(low) - span * _BEYOND, Fraction(high) + span * _BEYOND
    for turn in turns:
        if low - 4 * span <= turn <= high + 4 * span:
            least = min(least, Fraction(turn - span // 5))
            most = max(most, Fraction(turn + span // 5))
    if not figure.adds:
        least = max(least, Fraction(0))
    step = _round_step(int(most - least) // _STEPS)
    below = (likely - least) // step if not figure.adds else -((least - likely) // step)
    above = -((likely - most) // step)
    return likely - int(below) * step, likely + int(above) * step, step


def _round_step(wanted: int) -> int:
    """Give the largest of 1, 2, 5, 10, 20 and so on that is not above what is wanted."""
    power = int("1" + "0" * (len(str(max(wanted, 1))) - 1))
    return max(power * head for head in (1, 2, 5) if power * head <= max(wanted, 1))
