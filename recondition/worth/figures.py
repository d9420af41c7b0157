"""The printed figures of a plan and of one item: each taken exact and rounded once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.worth.advice import Figures, Flip, LimitUse, Plan, Spread
from recondition.worth.weighing import ZERO, Case, Items, Wall, Weighing

if TYPE_CHECKING:
    from fractions import Fraction


def plan_of(weighing: Weighing, chosen: Items, holding: Fraction = ZERO) -> Plan:
    """Give the figures of one set; ``holding`` is what its day of finish pays."""
    uplift, cost = weighing.uplift(chosen), weighing.cost(chosen)
    return Plan(
        items=tuple(item for item in weighing.items if item in chosen),
        net=_money(weighing, weighing.kept(uplift) - cost - holding),
        uplift=_money(weighing, uplift),
        cost=_money(weighing, cost),
        net_low=_money(weighing, _net(weighing, chosen, Case.LOW, Case.HIGH) - holding),
        net_likely=_money(weighing, _net(weighing, chosen, Case.LIKELY, Case.LIKELY) - holding),
        net_high=_money(weighing, _net(weighing, chosen, Case.HIGH, Case.LOW) - holding),
        break_even_uplift=_money(weighing, weighing.break_even(cost + holding)),
        hours_mean=weighing.hours(chosen),
        holding=_money(weighing, holding),
        uplift_low=_money(weighing, weighing.uplift(chosen, Case.LOW)),
        uplift_high=_money(weighing, weighing.uplift(chosen, Case.HIGH)),
    )


def figures_of(
    weighing: Weighing, item: str, plan: Items, margin: Fraction | None, flip: Flip | None
) -> Figures | None:
    """Give the figures of one item beside a plan; None where it has no uplift estimate.

    ``margin`` is the best net with the item less the best without it.
    """
    if item not in weighing.weights:
        return None
    weight = weighing.weights[item]
    rest = plan - {item} if item in plan else frozenset()
    step = weighing.break_even(weight.cost[Case.EXPECTED], weighing.uplift(rest))
    return Figures(
        cost=_spread(
            weighing, weight.cost[Case.LOW], weight.cost[Case.EXPECTED], weight.cost[Case.HIGH]
        ),
        uplift=_spread(
            weighing,
            weight.uplift[Case.LOW],
            weight.uplift[Case.EXPECTED],
            weight.uplift[Case.HIGH],
        ),
        gain=_spread(
            weighing,
            _gain(weighing, item, rest, Case.LOW, Case.HIGH),
            _gain(weighing, item, rest, Case.EXPECTED, Case.EXPECTED),
            _gain(weighing, item, rest, Case.HIGH, Case.LOW),
        ),
        break_even_uplift=_money(weighing, step),
        single_net=_money(weighing, weighing.net({item})),
        marginal_net=None if margin is None else _money(weighing, margin),
        flip=flip,
    )


def limits_of(weighing: Weighing, chosen: Items) -> tuple[LimitUse, ...]:
    """Give each limit with what a set takes of it."""
    uses = []
    for wall, most in weighing.walls.items():
        used = weighing.takes(wall, chosen)
        if wall is Wall.HOURS:
            uses.append(LimitUse(wall.value, most, used))
        else:
            uses.append(LimitUse(wall.value, _money(weighing, most), _money(weighing, used)))
    return tuple(uses)


def _net(weighing: Weighing, chosen: Items, uplift: Case, cost: Case) -> Fraction:
    return weighing.kept(weighing.uplift(chosen, uplift)) - weighing.cost(chosen, cost)


def _gain(weighing: Weighing, item: str, rest: Items, uplift: Case, cost: Case) -> Fraction:
    """Give what the seller gains by an item on top of the rest, interactions included."""
    there = weighing.uplift(rest, uplift)
    more = weighing.uplift(rest | {item}, uplift) - there
    return weighing.kept(more, there) - weighing.cost({item}, cost)


def _spread(weighing: Weighing, low: Fraction, mean: Fraction, high: Fraction) -> Spread:
    return Spread(_money(weighing, low), _money(weighing, mean), _money(weighing, high))


def rounded_up(amount: Fraction, currency: str) -> Money:
    """Give a gap as money, any part of a minor unit as a whole one: open is never zero."""
    near = rounded(amount, currency)
    return near if near.fraction >= amount else near + Money(1, currency)


def _money(weighing: Weighing, amount: Fraction) -> Money:
    return rounded(amount, weighing.question.currency)
