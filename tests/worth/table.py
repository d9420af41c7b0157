"""Every set of the items that may be chosen, worked out exactly on whole numbers.

Bit i of a set's number stands for item i. Costs and nets are whole numbers on one common
scale and uplifts on another, so that 15 items (32,768 sets) take a fraction of a second and
nothing is rounded.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, lcm
from operator import add, or_
from typing import TYPE_CHECKING

from recondition.errors import Refused
from recondition.worth.weighing import ZERO, Case, Wall, Weighing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

MOST_ITEMS = 15


class TooManyToWeigh(Refused):
    """There is more open candidate work than every set of it can be looked at."""


@dataclass(frozen=True)
class Table:
    """All sets: ``nets[s]`` is the expected net of set s times ``scale``.

    ``lawful`` are the sets that hold what they need and nothing that excludes another;
    ``allowed`` are those of them that pass no limit. The empty set is in both.
    """

    items: tuple[str, ...]
    nets: Sequence[int]
    scale: int
    lawful: Sequence[int]
    allowed: Sequence[int]
    touch: Callable[[int], tuple[object, ...]]

    def named(self, chosen: int) -> frozenset[str]:
        """Give the ids in a set."""
        return frozenset(item for bit, item in enumerate(self.items) if chosen >> bit & 1)

    def best(self, sets: Iterable[int], give_up: Fraction = Fraction(0)) -> int:
        """Give the set that touches least among those within ``give_up`` of the best net.

        Touching less is: fewer irreversible items, fewer panels, less cash (the figure that
        the cash limit uses), fewer items, then the refs in order. An earlier end comes
        between panels and cash as soon as a schedule gives ends to compare.
        """
        among = list(sets)
        least = max(self.nets[chosen] for chosen in among) - give_up * self.scale
        enough = ceil(least)
        return min((chosen for chosen in among if self.nets[chosen] >= enough), key=self.touch)

    def best_net(self, item: str, *, holding: bool) -> Fraction | None:
        """Give the best allowed net with the item forced in or out; None if there is no set."""
        bit = 1 << self.items.index(item)
        nets = [self.nets[chosen] for chosen in self.allowed if bool(chosen & bit) is holding]
        return Fraction(max(nets), self.scale) if nets else None

    def mask(self, items: Iterable[str]) -> int:
        """Give the set's number; the reverse of ``named``."""
        return sum(1 << self.items.index(item) for item in items)


def tabulate(weighing: Weighing, items: tuple[str, ...]) -> Table:
    """Work out every set of ``items``. Raises TooManyToWeigh above 15."""
    if len(items) > MOST_ITEMS:
        what = f"{len(items)} pieces of candidate work are open, and at most {MOST_ITEMS} of them"
        what += " can be weighed against each other."
        todo = f"Mark {len(items) - MOST_ITEMS} or more of them as left, the least likely first."
        raise TooManyToWeigh(what, where="candidate work", todo=todo)
    lawful = _lawful(weighing, items)
    allowed = lawful
    for wall, most in weighing.walls.items():
        taken, scale = _scaled([weighing.weights[item].takes[wall] for item in items])
        used, limit = _subset_sums(taken), floor(most * scale)
        allowed = [chosen for chosen in allowed if used[chosen] <= limit]
    question = weighing.question
    for panel, room in question.film_room.items():
        takes = [question.film_takes.get(item, {}).get(panel, ZERO) for item in items]
        if sum(takes) > room:
            taken, scale = _scaled(takes)
            used, limit = _subset_sums(taken), floor(room * scale)
            allowed = [chosen for chosen in allowed if used[chosen] <= limit]
    nets, scale = _nets(weighing, items)
    return Table(items, nets, scale, lawful, allowed, _touch(weighing, items))


def _nets(weighing: Weighing, items: tuple[str, ...]) -> tuple[list[int], int]:
    """Give the net of every set on a common scale, and that scale."""
    uplifts, fine = _uplifts(weighing, items)
    curve, as_is = weighing.curve, weighing.as_is
    base = curve.at(as_is)
    pieces = list(zip(curve.starts, curve.values, curve.slopes, strict=True))
    fixed = [value + slope * (as_is - start) - base for start, value, slope in pieces]
    per_step = [slope / fine for slope in curve.slopes]
    costs = [weighing.weights[item].cost[Case.EXPECTED] for item in items]
    scale = lcm(*(number.denominator for number in (*fixed, *per_step, *costs)))
    spent = _subset_sums([int(cost * scale) for cost in costs])
    flat = [int(number * scale) for number in fixed]
    steps = [int(number * scale) for number in per_step]
    # The first piece also holds below its start, so only the later starts divide.
    ends = [ceil((start - as_is) * fine) for start in curve.starts[1:]]
    where = [bisect_right(ends, uplift) for uplift in uplifts]
    rows = zip(where, uplifts, spent, strict=True)
    return [flat[piece] + steps[piece] * uplift - cost for piece, uplift, cost in rows], scale


def _uplifts(weighing: Weighing, items: tuple[str, ...]) -> tuple[list[int], int]:
    """Give the uplift of every set, on a common scale: single items and interactions alike."""
    bit = {item: 1 << place for place, item in enumerate(items)}
    parts = [(bit[item], weighing.weights[item].uplift[Case.EXPECTED]) for item in items]
    parts += [
        (sum(bit[item] for item in term.items), term.delta * term.chance)
        for term in weighing.terms
        if term.items <= bit.keys()
    ]
    scaled, scale = _scaled([value for _, value in parts])
    sums = [0] * (1 << len(items))
    for (mask, _), value in zip(parts, scaled, strict=True):
        sums[mask] += value
    # Each pass hands the sums of all sets without one item on to those with it.
    for step in bit.values():
        for low in range(0, len(sums), 2 * step):
            middle, high = low + step, low + 2 * step
            sums[middle:high] = map(add, sums[low:middle], sums[middle:high])
    return sums, scale


def _lawful(weighing: Weighing, items: tuple[str, ...]) -> list[int]:
    bit = {item: 1 << place for place, item in enumerate(items)}
    needs = [sum(bit[other] for other in weighing.needs[item]) for item in items]
    against = [
        sum(bit[other] for other in weighing.against[item] if other in bit) for item in items
    ]
    needed, excluded = _subset_unions(needs), _subset_unions(against)
    rows = enumerate(zip(needed, excluded, strict=True))
    return [chosen for chosen, (need, bar) in rows if need == chosen and not bar & chosen]


def _touch(weighing: Weighing, items: tuple[str, ...]) -> Callable[[int], tuple[object, ...]]:
    """Make the order in which sets touch less, least first."""
    candidates = [weighing.question.candidates[item] for item in items]
    names = sorted({panel for candidate in candidates for panel in candidate.panels})
    panels = _subset_unions(
        [sum(1 << names.index(panel) for panel in set(one.panels)) for one in candidates]
    )
    cash, _ = _scaled([weighing.weights[item].takes[Wall.CASH] for item in items])
    spent = _subset_sums(cash)
    fixed = sum(1 << place for place, one in enumerate(candidates) if one.irreversible)

    def touch(chosen: int) -> tuple[object, ...]:
        places = tuple(place for place in range(len(items)) if chosen >> place & 1)
        lasting = (chosen & fixed).bit_count()
        return lasting, panels[chosen].bit_count(), spent[chosen], len(places), places

    return touch


def _scaled(values: Sequence[Fraction]) -> tuple[list[int], int]:
    scale = lcm(*(value.denominator for value in values))
    return [int(value * scale) for value in values], scale


def _subset_sums(values: Sequence[int]) -> list[int]:
    return _over_subsets(values, add)


def _subset_unions(masks: Sequence[int]) -> list[int]:
    return _over_subsets(masks, or_)


def _over_subsets(values: Sequence[int], join: Callable[[int, int], int]) -> list[int]:
    """Join the values of each set's items; the list doubles with every item."""
    joined = [0]
    for value in values:
        joined += [join(before, value) for before in joined]
    return joined
