"""What must be asked about before it is done; asking never changes what is best."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from recondition.amounts.money import rounded
from recondition.worth.advice import with_currency
from recondition.worth.weighing import Case, Items, Wall, Weighing


@dataclass(frozen=True)
class Asking:
    """The questions a plan raises.

    ``margin`` gives for an item of the plan the best net with it less the best without it;
    ``worst`` the 5 percent outcome of a set.
    """

    weighing: Weighing
    plan: Items
    margin: Mapping[str, Fraction]
    worst: Callable[[Items], Fraction]

    def reasons(self) -> dict[str, str]:
        """Give for each item to ask about why, in the order of the refs."""
        own = self._own(self.plan)
        for item, why in self._loss().items():
            own.setdefault(item, why)
        asked = self._with_followers(own, self.plan)
        for item, why in self._authority(self.plan - asked.keys()).items():
            own.setdefault(item, why)
        return self._with_followers(own, self.plan)

    def of_itself(self) -> Items:
        """Give all open items that ask whatever the plan is, and what needs one of them."""
        there = frozenset(self.weighing.weights)
        return frozenset(self._with_followers(self._own(there), there))

    def _own(self, items: Items) -> dict[str, str]:
        question, reasons = self.weighing.question, {}
        for item in self.weighing.items:
            if item not in items:
                continue
            candidate = question.candidates[item]
            why = ""
            if candidate.irreversible and not candidate.consent_given:
                why = "cannot be undone and no consent is recorded"
            elif item not in question.approved:  # its owner was not asked, or has not said yes
                if candidate.irreversible and item in self.margin:
                    why = self._below_bar(item)
                why = why or question.unapproved.get(item, "") or self._above(item)
            if why:
                reasons[item] = why
        return reasons

    def _below_bar(self, item: str) -> str:
        """Hold irreversible work against its higher bar: net at least so many times its cost."""
        bar = self.weighing.question.irreversible_bar
        cost = self.weighing.weights[item].cost[Case.EXPECTED]
        needed = bar * cost
        if not bar or self.margin[item] >= needed:
            return ""
        return (
            f"cannot be undone, and is worth {self._money(self.margin[item])} in the plan, below "
            f"the bar of {self._money(needed)}"
        )

    def _above(self, item: str) -> str:
        limit = self.weighing.question.terms.ask_above
        cost = self.weighing.weights[item].cost[Case.EXPECTED]
        if limit is None or cost <= limit.fraction:
            return ""
        return (
            f"costs {self._money(cost)}, above the {self._money(limit.fraction)} to be asked about"
        )

    def _loss(self) -> dict[str, str]:
        """Ask about what brings the worst reasonable outcome back within the loss limit."""
        limit = self.weighing.question.terms.loss_limit
        if limit is None or not self.plan:
            return {}
        worst = self.worst(self.plan)
        if worst >= -limit.fraction:
            return {}
        text = (
            f"the worst reasonable outcome of the plan, {self._money(worst)}, passes the loss "
            f"limit of {self._money(limit.fraction)}"
        )
        candidates = self.weighing.question.candidates
        alone = [i for i in self.plan if self.worst(self._without(i)) >= -limit.fraction]
        lasting = [i for i in self.plan if candidates[i].irreversible]
        if not alone and lasting:
            rest = self.plan
            for item in lasting:
                rest &= self._without(item)
            alone = lasting if self.worst(rest) >= -limit.fraction else []
        return dict.fromkeys(alone or self.plan, text)

    def _authority(self, going_ahead: Items) -> dict[str, str]:
        """Ask about what keeps an owner's bill within what the owner has let be spent.

        Only work that would go ahead without asking counts towards it.
        """
        question = self.weighing.question
        if question.authority is None or question.already_billed is None:
            return {}
        takes = self.weighing.weights
        billed = question.already_billed.fraction
        total = billed + self.weighing.takes(Wall.OWNER, going_ahead)
        over = total - question.authority.fraction
        if over <= 0 or not going_ahead:
            return {}
        text = (
            f"with {self._money(billed)} billed and on order it would pass what the owner has "
            f"allowed by {self._money(over)}"
        )
        alone = [i for i in going_ahead if takes[i].takes[Wall.OWNER] >= over]
        return dict.fromkeys(alone or going_ahead, text)

    def _without(self, item: str) -> Items:
        """Give the plan without an item and what needs it."""
        return frozenset(i for i in self.plan if item not in self.weighing.needs[i])

    def _with_followers(self, own: Mapping[str, str], items: Items) -> dict[str, str]:
        """Let what needs an asking item ask too."""
        question, found = self.weighing.question, {}
        for item in self.weighing.items:
            if item not in items:
                continue
            first = [i for i in self.weighing.items if i in own and i in self.weighing.needs[item]]
            if item in own:
                found[item] = own[item]
            elif first:
                found[item] = f"needs {question.ref(first[0])}, to be asked about first"
        return found

    def _money(self, amount: Fraction) -> str:
        return with_currency(rounded(amount, self.weighing.question.currency))
