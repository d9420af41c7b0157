"""What is worth doing: the exact optimum over every set of up to 15 open items.

The rules are those of the design: interactions, requirements, exclusions and limits; a plan
within the indifference wins if it touches less; asking never changes the optimum.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts.money import rounded
from recondition.condition.vehicle import Holding
from recondition.worth.advice import Advice, ItemAdvice, Plan, Verdict
from recondition.worth.barred import barred
from recondition.worth.contradictions import UnknownItem
from recondition.worth.figures import figures_of, limits_of, plan_of
from recondition.worth.reasons import Reasons
from recondition.worth.settlement import pass_through
from recondition.worth.table import Table, tabulate
from recondition.worth.terms import SellsWhen
from recondition.worth.weighing import Case, Items, Weighing, weigh

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.worth.question import Question


def decide(question: Question) -> Advice:
    """Give the best plan and the reasons for it.

    Raises TooManyToWeigh, and by name whatever contradicts itself in the question.
    """
    weighing = weigh(question)
    bars = barred(weighing)
    table = tabulate(weighing, tuple(item for item in weighing.items if item not in bars))
    give_up = question.indifference.fraction
    mask = table.best(table.allowed, give_up)
    chosen = table.named(mask)
    asks = _asking(weighing, table.items)
    best = max(table.nets[each] for each in table.allowed)
    others = [each for each in table.allowed if each != mask]
    consigned = question.holding is Holding.CONSIGNED
    return Advice(
        plan=plan_of(weighing, chosen),
        items=tuple(_items(weighing, table, bars, chosen, asks)),
        done=weighing.done,
        runner_up=plan_of(weighing, table.named(table.best(others))) if others else None,
        without_asking=plan_of(weighing, _without_asking(table, chosen, asks, give_up)),
        everything=plan_of(weighing, _everything(weighing, table)),
        given_up=rounded(Fraction(best - table.nets[mask], table.scale), question.currency),
        k=pass_through(question.terms),
        basis=question.terms.basis.value,
        rate=weighing.rate,
        rate_name="charge-out rate" if consigned else "labour cost rate",
        limits=limits_of(weighing, chosen),
        notes=tuple(_notes(weighing)),
    )


def worth_of(question: Question, items: Iterable[str]) -> Plan:
    """Give the figures of a set of the user's own choosing, limits and rules ignored.

    Raises UnknownItem for what is done, has no uplift estimate or is not there at all.
    """
    weighing = weigh(question)
    chosen = frozenset(items)
    unknown = sorted(chosen - weighing.weights.keys())
    if unknown:
        what = f"{question.ref(unknown[0])} is not open candidate work with an uplift estimate."
        raise UnknownItem(what, where="the set asked for", todo="Name open work only.")
    return plan_of(weighing, chosen)


def _asking(weighing: Weighing, items: tuple[str, ...]) -> Items:
    """Give the items to ask about: irreversible without consent, or needing one that is."""
    candidates = weighing.question.candidates
    own = {
        item
        for item in items
        if candidates[item].irreversible and not candidates[item].consent_given
    }
    return frozenset(item for item in items if weighing.needs[item] & own)


def _without_asking(table: Table, chosen: Items, asks: Items, give_up: Fraction) -> Items:
    """Give the best set of items that need no asking; the plan itself where none of it asks."""
    if not chosen & asks:
        return chosen
    barrier = table.mask(asks)
    free = [each for each in table.allowed if not each & barrier]
    return table.named(table.best(free, give_up))


def _everything(weighing: Weighing, table: Table) -> Items:
    """Give the largest lawful set: the most items, of those the dearest, then refs in order."""
    most = max(each.bit_count() for each in table.lawful)
    largest = [table.named(each) for each in table.lawful if each.bit_count() == most]
    order = weighing.items.index
    return min(
        largest,
        key=lambda each: (-weighing.cost(each, Case.EXPECTED), sorted(map(order, each))),
    )


def _items(
    weighing: Weighing, table: Table, bars: dict[str, str], chosen: Items, asks: Items
) -> Iterable[ItemAdvice]:
    reasons = Reasons(weighing, chosen)
    for item in weighing.items:
        if item in bars:
            verdict, reason = Verdict.LEAVE, bars[item]
        elif item not in chosen:
            verdict, reason = Verdict.LEAVE, reasons.for_leaving(item)
        elif item in asks:
            verdict, reason = Verdict.ASK, reasons.for_asking(item, asks)
        else:
            verdict, reason = Verdict.DO, reasons.for_doing(item)
        yield ItemAdvice(
            item=item,
            ref=weighing.question.ref(item),
            verdict=verdict,
            reason=reason,
            figures=figures_of(weighing, table, item, chosen),
        )


def _notes(weighing: Weighing) -> Iterable[str]:
    """Say which cases and assumptions the figures rest on."""
    question = weighing.question
    yield f"Means are taken by the {question.mean_rule} rule."
    if weighing.walls:
        yield "Limits are held against the mean, the expected cost of failure included."
    waits = any(question.candidates[item].extra_days for item in weighing.items)
    if waits and question.terms.holding_per_day is None:
        yield "No holding per day is stated, so extra days cost nothing here."
    if question.terms.sells is SellsWhen.WHEN_READY:
        yield "Holding is counted for extra days only, not for the days the work itself takes."
