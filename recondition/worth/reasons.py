"""Why each item is in the plan, is asked about or is left: one plain sentence, true of it.

An item that is left is tried on the plan: with what it needs added and what that excludes
taken out. The sentence says what stopped that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from recondition.amounts.money import rounded
from recondition.amounts.rounding import round_to
from recondition.worth.advice import listed, with_currency
from recondition.worth.weighing import Items, Wall, Weighing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from fractions import Fraction


@dataclass(frozen=True)
class Reasons:
    """Makes the sentences for one plan."""

    weighing: Weighing
    plan: Items
    in_time: Callable[[Items], bool]

    def for_doing(self, item: str) -> str:
        """Say why an item of the plan is in it."""
        rest = self.plan - {item}
        adds, costs = self._step(rest, self.plan)
        if adds > costs:
            return f"adds more than it costs: {self._against(adds, costs)}"
        users = [other for other in rest if item in self.weighing.needs[other]]
        if users:
            return f"needed by {self._names(users)}; by itself {self._against(adds, costs)}"
        return f"keeps the rest of the plan within its limits: {self._against(adds, costs)}"

    def for_asking(self, item: str, why: str) -> str:
        """Say why an item of the plan must be asked about first."""
        adds, costs = self._step(self.plan - {item}, self.plan)
        return f"{why}: {self._against(adds, costs)}"

    def for_leaving(self, item: str) -> str:
        """Say why an item that could be chosen is not."""
        weighing = self.weighing
        needs = weighing.needs[item]
        clashing = frozenset(other for other in self.plan if weighing.against[other] & needs)
        dropped = {other for other in self.plan if weighing.needs[other] & clashing}
        kept = self.plan - dropped
        tried = kept | needs
        adds, costs = self._step(kept, tried)
        company = self._names(tried - kept - {item})
        lead = f"with {company}, which it needs, " if company else ""
        if adds < costs:
            return f"{lead}adds less than it costs: {self._against(adds, costs)}"
        return lead + self._stopped(tried, clashing)

    def _stopped(self, tried: Items, clashing: Items) -> str:
        """Say what stopped a set that adds no less than it costs."""
        weighing = self.weighing
        more = weighing.net(self.plan) - weighing.net(tried)
        instead = f"excludes {self._names(clashing)}, " if clashing else ""
        if clashing and more > 0:
            verb = "are" if len(clashing) > 1 else "is"
            return f"{instead}which {verb} worth {self._money(more)} more in the plan"
        passed = weighing.walls_passed(tried)
        if passed:
            return f"would pass the {self._wall(passed[0], tried)}"
        if not self.in_time(tried):
            return "could not be ready in time with the rest of the plan"
        panel = weighing.film_passed(tried)
        if panel:
            return (
                f"would with the rest of the plan take more film off the {panel} than it can give"
            )
        if more == 0:
            return f"{instead}would change the net by nothing, and the plan touches less"
        small = self._money(-more)
        return f"{instead}would add {small}, within the indifference, and the plan touches less"

    def _step(self, before: Items, after: Items) -> tuple[Fraction, Fraction]:
        """Give what the seller keeps more, and what it costs more, from one set to the next."""
        weighing = self.weighing
        there = weighing.uplift(before)
        adds = weighing.kept(weighing.uplift(after) - there, there)
        return adds, weighing.cost(after) - weighing.cost(before)

    def _wall(self, wall: Wall, tried: Items) -> str:
        most, used = self.weighing.walls[wall], self.weighing.takes(wall, tried)
        if wall is Wall.HOURS:
            return f"{wall}: {round_to(used, 2)} hours against {round_to(most, 2)}"
        return f"{wall}: {self._money(used)} against {self._money(most)}"

    def _against(self, adds: Fraction, costs: Fraction) -> str:
        return f"expected {self._money(adds)} against {self._money(costs)}"

    def _money(self, amount: Fraction) -> str:
        return with_currency(rounded(amount, self.weighing.question.currency))

    def _names(self, items: Iterable[str]) -> str:
        order = self.weighing.items.index
        return listed([self.weighing.question.ref(item) for item in sorted(items, key=order)])
