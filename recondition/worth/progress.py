"""Cost against uplift: what work was to cost, what it has cost, what is to come, what it brings.

The estimate is the decision's own expected cost and uplift (see ``weighing``), failure and
waiting included, of work that is done as well. Actual is what posted lines that name the
candidate work add up to: cost for own stock, the billed amount for a consigned vehicle, whose
estimate is at charge-out rates too. Each figure of a piece of work is worked out exactly and
rounded once, so their column may differ from its total by a cent; what is shared over findings,
areas and kinds of cost adds up to the total to the cent, as actuals always do.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.condition.vehicle import Holding
from recondition.ledger.lines import LineKind
from recondition.ledger.rollup import Axis, Key, Piece
from recondition.worth.estimates import Basis, CandidateState
from recondition.worth.spent import Against, Books, as_estimated, line_ids
from recondition.worth.weighing import Case, Wall, weigh

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from recondition.amounts import Money
    from recondition.condition.findings import Finding
    from recondition.worth.question import Question

_ORDER = (CandidateState.DONE, CandidateState.STARTED, CandidateState.OPEN, CandidateState.LEFT)


class Bought(StrEnum):
    """What an estimate speaks of: it knows hours and cash, not kinds of line."""

    HOURS = "hours at the rate"
    CASH = "parts, materials, sublet and charges"
    WAITING = "days by which the sale waits"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One piece of candidate work. ``uplift`` is None where nobody estimated it.

    ``cost_so_far`` and ``uplift_so_far`` add up this step and those before it: actual and
    remaining cost, and expected uplift with the interactions of work that is all there.
    Work that was left brings no uplift and costs what was posted.
    """

    item: str
    ref: str
    name: str
    state: CandidateState
    estimate: Money
    actual: Money
    remaining: Money
    uplift: Money | None
    cost_so_far: Money
    uplift_so_far: Money
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """The report of one vehicle. ``outside`` holds the ids of lines outside any estimate.

    ``whole`` adds up all steps (key None) and ``kinds`` the three things an estimate knows;
    ``basis`` is the price that every uplift speaks of.
    """

    consigned: bool
    basis: Basis
    currency: str
    steps: tuple[Step, ...]
    whole: Against
    uplift: Money
    outside: tuple[str, ...]
    outside_total: Money
    findings: tuple[Against, ...]
    areas: tuple[Against, ...]
    kinds: tuple[Against, ...]


def cost_and_uplift(
    question: Question, pieces: Iterable[Piece], findings: Mapping[str, Finding]
) -> Progress:
    """Set estimates against posted pieces of one vehicle. ``findings`` is by id.

    Raises what ``weigh`` raises, and CurrencyMismatch for pieces in another currency.
    """
    books = Books(question, weigh(as_estimated(question)), tuple(pieces))
    outside = [piece for piece in books.pieces if not books.is_inside(piece)]
    inside = [piece for piece in books.pieces if books.is_inside(piece)]
    items = tuple(question.candidates)
    counted = [i for i in items if question.candidates[i].state is not CandidateState.LEFT]
    per_finding = _shared_estimates(books)
    return Progress(
        consigned=question.holding is Holding.CONSIGNED,
        basis=question.terms.basis,
        currency=question.currency,
        steps=_steps(books),
        whole=books.against(None, *_sum(books, items), inside),
        uplift=books.money(books.weighing.uplift(counted)),
        outside=line_ids(outside),
        outside_total=books.spent(outside),
        findings=_by(books, Axis.FINDING, per_finding),
        areas=_by(books, Axis.AREA, _by_area(per_finding, findings)),
        kinds=_kinds(books),
    )


def _sum(books: Books, items: Iterable[str]) -> tuple[Fraction, Fraction]:
    """Give the exact estimate and what is to come of several pieces of work."""
    pairs = [(books.estimate(item), books.to_come(item)) for item in items]
    return sum((e for e, _ in pairs), Fraction(0)), sum((r for _, r in pairs), Fraction(0))


def _steps(books: Books) -> tuple[Step, ...]:
    """Give the work in the order done, started, open, left; within each by its ref."""
    question = books.question
    states = {item: question.candidates[item].state for item in question.in_order()}
    order = sorted(states, key=lambda item: _ORDER.index(states[item]))
    steps: list[Step] = []
    cost, there = Fraction(0), []
    for item in order:
        spent = books.spent(books.of(item))
        cost += spent.fraction + books.to_come(item)
        if states[item] is not CandidateState.LEFT:
            there.append(item)
        steps.append(_step(books, item, cost, books.weighing.uplift(there)))
    return tuple(steps)


def _step(books: Books, item: str, cost: Fraction, uplift: Fraction) -> Step:
    candidate = books.question.candidates[item]
    estimated = candidate.uplift or candidate.uplift_percent
    gain = books.weighing.weights[item].uplift[Case.EXPECTED]
    among = books.of(item)
    return Step(
        item=item,
        ref=books.question.ref(item),
        name=candidate.name,
        state=candidate.state,
        estimate=books.money(books.estimate(item)),
        actual=books.spent(among),
        remaining=books.money(books.to_come(item)),
        uplift=books.money(gain) if estimated else None,
        cost_so_far=books.money(cost),
        uplift_so_far=books.money(uplift),
        lines=line_ids(among),
    )


Estimates = dict[Key, tuple[Fraction, Fraction]]


def _shared_estimates(books: Books) -> Estimates:
    """Share each estimate and what is to come of it equally over the findings it serves.

    Equal shares are an assumption: an estimate does not say what each finding takes of it.
    """
    shared: Estimates = {}
    for item, candidate in books.question.candidates.items():
        served: tuple[Key, ...] = candidate.findings or (None,)
        for finding in served:
            part = (books.estimate(item) / len(served), books.to_come(item) / len(served))
            _add(shared, finding, part)
    return shared


def _by_area(shared: Estimates, findings: Mapping[str, Finding]) -> Estimates:
    areas: Estimates = {}
    for finding, part in shared.items():
        found = findings.get(finding) if finding else None
        _add(areas, found.area if found else None, part)
    return areas


def _add(estimates: Estimates, key: Key, part: tuple[Fraction, Fraction]) -> None:
    estimate, to_come = estimates.get(key, (Fraction(0), Fraction(0)))
    estimates[key] = (estimate + part[0], to_come + part[1])


def _by(books: Books, axis: Axis, estimates: Estimates) -> tuple[Against, ...]:
    """Set estimates against pieces by one axis; what has no key comes last."""
    posted: dict[Key, list[Piece]] = {}
    for piece in books.pieces:
        posted.setdefault(piece.key(axis), []).append(piece)
    keys = sorted({*estimates, *posted}, key=lambda key: (key is None, key or ""))
    nothing, shared = (Fraction(0), Fraction(0)), _to_the_coin(books, estimates)
    return tuple(books.against(key, *shared.get(key, nothing), posted.get(key, ())) for key in keys)


def _to_the_coin(books: Books, estimates: Estimates) -> Estimates:
    """Round both columns so that each adds up to its own total."""
    columns = zip(*estimates.values(), strict=True)
    rounded = [books.to_the_coin(column) for column in columns]
    return dict(zip(estimates, zip(*rounded, strict=True), strict=True))


def _kinds(books: Books) -> tuple[Against, ...]:
    """Set mean hours at the rate against labour, and mean cash against every other kind.

    Each goes its own way, so ``remaining`` here need not add up to that of the whole.
    """
    rate = books.weighing.rate.fraction
    weights = books.weighing.weights
    hours = {item: weight.takes[Wall.HOURS] * rate for item, weight in weights.items()}
    cash = {item: weight.takes[Wall.CASH] for item, weight in weights.items()}
    waiting = {item: books.estimate(item) - hours[item] - cash[item] for item in weights}
    labour = [piece for piece in books.pieces if piece.kind == LineKind.LABOUR]
    other = [piece for piece in books.pieces if piece.kind != LineKind.LABOUR]
    kinds = {
        Bought.HOURS: (hours, labour),
        Bought.CASH: (cash, other),
        Bought.WAITING: (waiting, []),
    }
    wholes = books.to_the_coin(sum(each.values(), Fraction(0)) for each, _ in kinds.values())
    return tuple(
        _kind(books, key, whole, *parts)
        for (key, parts), whole in zip(kinds.items(), wholes, strict=True)
    )


def _kind(
    books: Books, key: Bought, whole: Fraction, estimates: Mapping[str, Fraction],
    among: list[Piece],
) -> Against:  # fmt: skip
    spent = {
        item: books.spent(p for p in among if p.entered.candidate == item) for item in estimates
    }
    to_come = (books.left_of(item, estimate, spent[item]) for item, estimate in estimates.items())
    return books.against(key, whole, sum(to_come, Fraction(0)), among)
