"""The decision once more, as plainly as the rules read, to hold the fast one against.

Plain Fractions, one set at a time, no shared code but the data classes: the settlement adds
its slices up one by one, and its inverse is found by solving each slice.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from recondition.condition.vehicle import Holding
from recondition.worth.estimates import Basis, CandidateState, MeanRule, ThreeAmounts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.amounts import Money
    from recondition.worth.estimates import Candidate, ThreeNumbers
    from recondition.worth.question import Question
    from recondition.worth.terms import SaleTerms, Slice


def in_slices(hammer: Fraction, slices: tuple[Slice, ...]) -> Fraction:
    """Add up the sliced rate; below zero the first rate goes on."""
    if not slices:
        return Fraction(0)
    if hammer <= 0:
        return hammer * Fraction(slices[0].rate)
    sum_so_far, floor = Fraction(0), Fraction(0)
    for piece in slices:
        top = hammer if piece.upto is None else min(hammer, piece.upto.fraction)
        sum_so_far += max(top - floor, Fraction(0)) * Fraction(piece.rate)
        floor = max(floor, top)
    return sum_so_far


def hammer_for(price: Fraction, terms: SaleTerms) -> Fraction:
    """Solve hammer + premium = price: the one solution among those of each slice's line."""
    if terms.basis is Basis.HAMMER:
        return price
    for piece in terms.premium:
        rate = Fraction(piece.rate)
        # On this slice's line the premium is rate x hammer + shift.
        end = piece.upto.fraction if piece.upto else None
        inside = end if end is not None else Fraction(10**9)
        shift = in_slices(inside, terms.premium) - rate * inside
        hammer = (price - shift) / (1 + rate)
        if hammer + in_slices(hammer, terms.premium) == price:
            return hammer
    assert not terms.premium
    return price


def kept(price: Fraction, terms: SaleTerms) -> Fraction:
    """Give what the seller keeps of a price, fixed fees aside."""
    hammer = hammer_for(price, terms)
    return hammer - in_slices(hammer, terms.commission)


def middle(three: ThreeAmounts | ThreeNumbers, question: Question) -> Fraction:
    """Give the mean of three points."""
    points = [three.low, three.likely, three.high]
    if isinstance(three, ThreeAmounts):
        points = [one.fraction for one in points]
    low, likely, high = map(Fraction, points)
    if question.mean_rule is MeanRule.SMOOTH:
        return low / 6 + likely * 4 / 6 + high / 6
    return low / 3 + likely / 3 + high / 3


def money(amount: Money | None) -> Fraction:
    """Give the number, zero where there is none."""
    return Fraction(0) if amount is None else amount.fraction


def cash(one: Candidate, question: Question) -> Fraction:
    """Give mean cash with the expected cost of failure."""
    return middle(one.cash, question) + (1 - Fraction(one.p_success)) * money(one.fail_cash)


def cost(one: Candidate, question: Question) -> Fraction:
    """Give the expected cost of one candidate."""
    terms = question.terms
    own = question.holding is Holding.OWN
    rate = money(terms.labour_cost_rate if own else terms.charge_out_rate)
    days = Fraction(one.extra_days) * money(terms.holding_per_day)
    return middle(one.hours, question) * rate + cash(one, question) + days


def uplift(items: tuple[str, ...], question: Question) -> Fraction:
    """Give the expected uplift of a set beside what is done."""
    there, total = question.candidates, Fraction(0)
    for item in items:
        one = there[item]
        if one.uplift:
            mean = middle(one.uplift, question)
        else:
            mean = (
                middle(one.uplift_percent, question) * middle(question.terms.as_is, question) / 100
            )
        total += Fraction(one.p_success) * mean
        total += (1 - Fraction(one.p_success)) * money(one.fail_uplift)
    for term in question.interactions:
        undone = [item for item in term.items if there[item].state is not CandidateState.DONE]
        if undone and all(item in items for item in undone):
            chance = Fraction(1)
            for item in undone:
                chance *= Fraction(there[item].p_success)
            total += chance * money(term.delta_uplift)
    return total


def net(items: tuple[str, ...], question: Question) -> Fraction:
    """Give the expected net of a set."""
    before = middle(question.terms.as_is, question)
    gain = kept(before + uplift(items, question), question.terms) - kept(before, question.terms)
    return gain - sum(cost(question.candidates[item], question) for item in items)


def allowed_sets(question: Question) -> Iterator[tuple[str, ...]]:
    """Give every set of open work that the rules and limits permit."""
    there = question.candidates
    done = {item for item, one in there.items() if one.state is CandidateState.DONE}
    open_work = [
        item
        for item, one in there.items()
        if one.state in (CandidateState.OPEN, CandidateState.STARTED)
        and not one.no_touch
        and not question.no_touch_panels.intersection(one.panels)
    ]
    for size in range(len(open_work) + 1):
        for items in combinations(open_work, size):
            present = done.union(items)
            needs = all(set(there[item].requires) <= present for item in items)
            clash = any(
                other in there[item].excludes or item in there[other].excludes
                for item in items
                for other in present
            )
            if needs and not clash and not passes_a_limit(items, question):
                yield items


def passes_a_limit(items: tuple[str, ...], question: Question) -> bool:
    """Tell whether a set takes more than a limit, on the mean."""
    works, terms = [question.candidates[item] for item in items], question.terms
    hours = sum(middle(one.hours, question) for one in works)
    spent = sum(cash(one, question) for one in works)
    billed = sum(cost(one, question) for one in works)
    consigned = question.holding is Holding.CONSIGNED
    return (
        (terms.hours_limit is not None and hours > Fraction(terms.hours_limit))
        or (terms.cash_limit is not None and spent > money(terms.cash_limit))
        or (consigned and terms.owner_limit is not None and billed > money(terms.owner_limit))
    )


def touch(items: tuple[str, ...], question: Question) -> tuple[object, ...]:
    """Give how much a set touches, least first."""
    works = [question.candidates[item] for item in items]
    panels = {panel for one in works for panel in one.panels}
    lasting = sum(one.irreversible for one in works)
    spent = sum(cash(one, question) for one in works)
    # One pair of hands and no cures: the end comes in the order of the high hours.
    end = (len(items) > 0, sum(Fraction(one.hours.high) for one in works))
    refs = sorted(question.refs[item] for item in items)
    return lasting, len(panels), end, spent, len(items), refs


def best(sets: list[tuple[str, ...]], question: Question) -> tuple[str, ...]:
    """Give the set that touches least within the indifference of the best."""
    top = max(net(items, question) for items in sets)
    enough = top - money(question.indifference)
    near = [items for items in sets if net(items, question) >= enough]
    return min(near, key=lambda items: touch(items, question))


def asks(item: str, question: Question) -> bool:
    """Tell whether an item needs asking, by itself or by what it needs and is not done."""
    one = question.candidates[item]
    if one.state is CandidateState.DONE:
        return False
    own = one.irreversible and not one.consent_given
    return own or any(asks(needed, question) for needed in one.requires)
