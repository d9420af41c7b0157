"""What a question must not contain, each mistake by name, before anything is weighed."""

from __future__ import annotations

from datetime import time
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import CurrencyMismatch
from recondition.condition.vehicle import Holding
from recondition.errors import Refused
from recondition.ledger.codec import plain_number
from recondition.worth.estimates import Candidate, CandidateState, ThreeAmounts, ThreeNumbers

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from recondition.worth.estimates import Interaction
    from recondition.worth.question import Question
    from recondition.worth.terms import SaleTerms
    from recondition.worth.trials import Trial


_RING_SHOWN_MAX = 12


class UnknownItem(Refused):
    """A requirement, exclusion or interaction names candidate work that is not there."""


class NeedsItself(Refused):
    """Following ``requires`` leads back to where it started."""


class NeedsAndExcludes(Refused):
    """A piece of work needs something that it, or something else it needs, excludes."""


class OutOfOrder(Refused):
    """A three-point estimate has its low above its likely, or its likely above its high."""


class ChanceOutOfRange(Refused):
    """A chance of success is not from 0 to 1."""


class BelowZero(Refused):
    """Hours, extra days, a limit or the indifference are below zero."""


class TwoUplifts(Refused):
    """An uplift is given both in percent and in money."""


class NoUplift(Refused):
    """Candidate work that is to be weighed has no uplift estimate; there is no default one."""


class MixedBasis(Refused):
    """An uplift speaks of the hammer and the sale terms of all-in, or the reverse."""


class NotATerm(Refused):
    """An interaction does not name two different pieces of work."""


class RequiresTheLast(Refused):
    """A piece of work needs another that comes after all other work."""


class NotATime(Refused):
    """A cut-off time is no time of day."""


class CureTooLong(Refused):
    """The cure of a piece of work takes longer than there is until the cut-off."""


class NoChargeOutRate(Refused):
    """A consigned vehicle has no charge-out rate, the only rate its owner's decision can use."""


def check(question: Question) -> None:
    """Raise the first contradiction found, in the order of the refs; DONE work is not judged."""
    _check_terms(question)
    for item in question.in_order():
        candidate = question.candidates[item]
        where = f"candidate work {question.ref(item)}"
        _check_known(question, (*candidate.requires, *candidate.excludes), where)
        _check_last(question, candidate, where)
        if candidate.state is not CandidateState.DONE:
            check_piece(candidate, where, untouchable=bool(question.untouchable(candidate)))
            _check_basis(question, candidate, where)
            _check_currency(question, _amounts_of(candidate), where)
    for term in question.interactions:
        where = "interaction of " + ", ".join(question.ref(item) for item in term.items)
        _check_known(question, term.items, where)
        _check_currency(question, iter([term.delta_uplift]), where)
        check_term(term, where)


def check_piece(candidate: Candidate, where: str, *, untouchable: bool = False) -> None:
    """Raise the first contradiction that one piece of work has in itself.

    ``untouchable`` tells of a panel that must be left as it is: such work needs no uplift.
    """
    _check_estimate(candidate, where)
    _check_uplift(candidate, where, untouchable=untouchable or candidate.no_touch)


def check_time(terms: SaleTerms, where: str) -> None:
    """Raise NotATime unless the cut-off time, if any, is a time of day."""
    if terms.cut_off_time is None:
        return
    try:
        found = time.fromisoformat(terms.cut_off_time)
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None:
        what = f"{terms.cut_off_time!r} is no time of day."
        raise NotATime(what, where=where, todo="Write it as 12:00 or 17:30.")


def check_cure(candidate: Candidate, terms: SaleTerms, where: str) -> None:
    """Raise CureTooLong where a cure alone outlasts the days of the terms.

    Looked at only where both the first day of work and the cut-off are stated; where the next
    sale is stated too, the time until then counts.
    """
    if terms.work_from is None or terms.cut_off is None:
        return
    days = Decimal((terms.cut_off - terms.work_from).days + 1) + (terms.next_sale_days or 0)
    if candidate.cure_hours > days * 24 and candidate.state is CandidateState.OPEN:
        what = f"The cure takes {plain_number(candidate.cure_hours)} hours, and from "
        what += f"{terms.work_from} to the cut-off on {terms.cut_off} there are "
        what += f"{plain_number(days * 24)}."
        todo = "Correct the hours or the days, or mark the work as left with the reason."
        raise CureTooLong(what, where=where, todo=todo)


def check_terms(terms: SaleTerms, where: str) -> None:
    """Raise what is wrong with sale terms in themselves."""
    _check_rising(terms.as_is, "as-is price", where)
    check_time(terms, where)


def check_trial(trial: Trial, where: str) -> None:
    """Raise what is wrong with a test in itself."""
    estimates: dict[str, ThreeAmounts | ThreeNumbers | None] = {
        "uplift if it turns out well": trial.good_uplift,
        "uplift if it turns out badly": trial.bad_uplift,
        "hours": trial.good_hours,
        "cash": trial.good_cash,
        "hours if it turns out badly": trial.bad_hours,
        "cash if it turns out badly": trial.bad_cash,
    }
    for name, three in estimates.items():
        if three is not None:
            _check_rising(three, name, where)
    for chance in (trial.p_good, trial.reliability):
        if not 0 <= chance <= 1:
            what = f"A chance of {chance} is not from 0 to 1."
            raise ChanceOutOfRange(what, where=where, todo="Write 90 percent as 0.9.")


def check_term(term: Interaction, where: str) -> None:
    """Raise NotATerm unless an interaction names two different pieces of work or more."""
    if len(set(term.items)) < 2:  # noqa: PLR2004 - a pair is the smallest interaction
        what = "An interaction needs two or more different pieces of work."
        raise NotATerm(what, where=where, todo="Name them all, or put it in the uplift.")


def asked_first(candidate: Candidate) -> tuple[str, ...]:
    """Give what must come before a piece of work; what is DONE needs nothing more."""
    return () if candidate.state is CandidateState.DONE else candidate.requires


def rings(requires: Mapping[str, Sequence[str]]) -> Iterator[tuple[str, ...]]:
    """Give every way of following ``requires`` back to its start, that start at both ends.

    One walk without recursion, however long the way; names that are no key lead nowhere.
    """
    settled: set[str] = set()
    for start in requires:
        path, place, ahead = [start], {start: 0}, [iter(requires[start])]
        while ahead and start not in settled:
            for needed in ahead[-1]:
                if needed in place:
                    yield (*path[place[needed] :], needed)
                elif needed in requires and needed not in settled:
                    place[needed] = len(path)
                    path.append(needed)
                    ahead.append(iter(requires[needed]))
                    break
            else:
                ahead.pop()
                left = path.pop()
                del place[left]
                settled.add(left)


def needs_itself(ring: Iterable[str]) -> NeedsItself:
    """Give the refusal of a ring, by the refs on its way; a long way is shortened."""
    names = list(ring)
    if len(names) > _RING_SHOWN_MAX:
        names[3:-2] = [f"... ({len(names) - 5} more)"]
    what = f"{' needs '.join(names)}: none of them can ever start."
    return NeedsItself(what, where="requires", todo="Take one of these requirements out.")


def needs_what_it_excludes(name: str, needed: str) -> NeedsAndExcludes:
    """Give the refusal of work that excludes what it needs, by their refs."""
    return _clash(name, f"{name} needs {needed}, and the two exclude each other.")


def needs_of(question: Question) -> dict[str, frozenset[str]]:
    """Give for each item all that it needs, directly or through others, itself included.

    What is DONE needs nothing more, so the search ends there. Raises NeedsItself and
    NeedsAndExcludes.
    """
    needs: dict[str, frozenset[str]] = {}
    items = question.in_order()
    for ring in rings({item: asked_first(question.candidates[item]) for item in items}):
        raise needs_itself(map(question.ref, ring))
    for item in question.in_order():
        _gather(question, item, needs)
    against = exclusions_of(question)
    for item in question.in_order():
        for needed in needs[item]:
            clash = needs[item] & against[needed]
            if clash:
                raise _among_needs(question, item, needed, min(clash))
    return needs


def exclusions_of(question: Question) -> Mapping[str, frozenset[str]]:
    """Give for each item those it cannot be done with, whichever of the two says so."""
    against: dict[str, set[str]] = {item: set() for item in question.candidates}
    for item, candidate in question.candidates.items():
        for other in candidate.excludes:
            against[item].add(other)
            against[other].add(item)
    return {item: frozenset(others) for item, others in against.items()}


def _gather(question: Question, item: str, needs: dict[str, frozenset[str]]) -> None:
    """Fill ``needs`` for ``item`` and all below it; there are no rings, and no recursion."""
    waiting = [item]
    while waiting:
        last = waiting[-1]
        asked = asked_first(question.candidates[last])
        unknown = [needed for needed in asked if needed not in needs]
        if unknown:
            waiting += unknown
        else:
            needs[last] = frozenset({last}).union(*(needs[needed] for needed in asked))
            waiting.pop()


def _among_needs(question: Question, item: str, one: str, other: str) -> NeedsAndExcludes:
    name, first, second = question.ref(item), question.ref(one), question.ref(other)
    if item in (one, other):
        return needs_what_it_excludes(name, second if one == item else first)
    return _clash(name, f"{name} needs {first} and {second}, which exclude each other.")


def _clash(name: str, what: str) -> NeedsAndExcludes:
    todo = "Take out either the requirement or the exclusion."
    return NeedsAndExcludes(what, where=f"candidate work {name}", todo=todo)


def _check_terms(question: Question) -> None:
    terms, where = question.terms, "sale terms"
    check_terms(terms, where)
    _check_currency(question, _amounts_in(terms, question.indifference), where)
    if question.holding is Holding.CONSIGNED and terms.charge_out_rate is None:
        what = (
            "The vehicle is consigned, and its owner decides at a charge-out rate: none is given."
        )
        raise NoChargeOutRate(what, where=where, todo="Enter the charge-out rate per hour.")
    named = {
        "cash limit": terms.cash_limit,
        "owner's limit": terms.owner_limit,
        "indifference": question.indifference,
    }
    low = [name for name, money in named.items() if money is not None and money.minor < 0]
    if terms.hours_limit is not None and terms.hours_limit < 0:
        low.append("hours limit")
    if low:
        what = f"The {low[0]} is below zero."
        raise BelowZero(what, where=where, todo="Enter zero or more, or leave it empty.")


def _check_known(question: Question, named: tuple[str, ...], where: str) -> None:
    for item in named:
        if item not in question.candidates:
            what = f"{question.ref(item)} is not candidate work of this vehicle."
            raise UnknownItem(what, where=where, todo="Correct the name, or add that work.")


def _check_last(question: Question, candidate: Candidate, where: str) -> None:
    """Raise RequiresTheLast where work that does not come last needs work that does."""
    for item in candidate.requires:
        if question.candidates[item].after_all and not candidate.after_all:
            raise requires_the_last(question.ref(item), where)


def requires_the_last(needed: str, where: str) -> RequiresTheLast:
    """Give the refusal of work that needs what comes after it."""
    what = f"It needs {needed}, which comes after all other work, this one included."
    todo = "Take out the requirement, or let this come after all other work too."
    return RequiresTheLast(what, where=where, todo=todo)


def _check_estimate(candidate: Candidate, where: str) -> None:
    _check_rising(candidate.hours, "hours", where)
    _check_rising(candidate.cash, "cash", where)
    times = (candidate.hours.low, candidate.extra_days, candidate.cure_hours)
    if min(*times, candidate.delivery_hours) < 0:
        what = "Hours, extra days, cure or delivery hours are below zero."
        raise BelowZero(what, where=where, todo="Enter zero or more.")
    if not 0 <= candidate.p_success <= 1:
        what = f"A chance of success of {candidate.p_success} is not from 0 to 1."
        raise ChanceOutOfRange(what, where=where, todo="Write 90 percent as 0.9.")


def _check_uplift(candidate: Candidate, where: str, *, untouchable: bool) -> None:
    both = candidate.uplift is not None and candidate.uplift_percent is not None
    both_failed = candidate.fail_uplift is not None and candidate.fail_uplift_percent is not None
    if both or both_failed:
        what = "The uplift" + ("" if both else " left by a failure")
        what += " is given in percent and in money."
        raise TwoUplifts(what, where=where, todo="Keep the one that was estimated.")
    uplift = candidate.uplift or candidate.uplift_percent
    if uplift is None:
        if candidate.state is not CandidateState.LEFT and not untouchable:
            what = "There is no estimate of what this adds to the price."
            todo = "Enter low, likely and high (0 if it adds nothing), or mark it as left."
            raise NoUplift(what, where=where, todo=todo)
        return
    _check_rising(uplift, "uplift", where)


def _check_basis(question: Question, candidate: Candidate, where: str) -> None:
    given = candidate.uplift or candidate.uplift_percent
    if given is not None and candidate.uplift_basis not in (None, question.terms.basis):
        what = f"The uplift is on the {candidate.uplift_basis} price"
        what += f" and the sale terms are on the {question.terms.basis} price."
        todo = "State both on the same price: the premium lies between them."
        raise MixedBasis(what, where=where, todo=todo)


def _check_rising(three: ThreeNumbers | ThreeAmounts, name: str, where: str) -> None:
    points = three.low, three.likely, three.high
    low, likely, high = map(_exact, points)
    if not low <= likely <= high:
        texts = ", ".join(str(point) for point in points)
        what = f"Low, likely and high do not rise in the {name}: {texts}."
        raise OutOfOrder(what, where=where, todo="Put the three figures in their order.")


def _exact(point: Money | Decimal) -> Fraction:
    return point.fraction if isinstance(point, Money) else Fraction(point)


def _check_currency(question: Question, amounts: Iterator[Money | None], where: str) -> None:
    for money in amounts:
        if money is not None and money.currency != question.currency:
            what = f"{money.text} stands beside an as-is price in {question.currency}."
            todo = "State every amount of one vehicle's plan in one currency."
            raise CurrencyMismatch(what, where=where, todo=todo)


def _amounts_of(candidate: Candidate) -> Iterator[Money | None]:
    for three in (candidate.cash, candidate.uplift):
        if three is not None:
            yield from (three.low, three.likely, three.high)
    yield from (candidate.fail_cash, candidate.fail_uplift)


def _amounts_in(terms: SaleTerms, indifference: Money) -> Iterator[Money | None]:
    yield from (terms.as_is.low, terms.as_is.high, terms.labour_cost_rate, terms.fees)
    yield from (terms.charge_out_rate, terms.holding_per_day, indifference)
    yield from (terms.cash_limit, terms.owner_limit)
    yield from (piece.upto for piece in (*terms.commission, *terms.premium))
