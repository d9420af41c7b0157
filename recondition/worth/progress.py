"""Cost against uplift: what work was to cost, what it has cost, what is to come, what it brings.

The estimate is the decision's own expected cost and uplift (see ``weighing``), failure and
waiting included, of work that is done as well. Actual is what posted lines that name the
candidate work add up to: cost for own stock, the billed amount for a consigned vehicle, whose
estimate is at charge-out rates too. Each figure is worked out exactly and rounded once, so a
column of estimates may differ from its total by a cent; a column of actuals never does.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import rounded, total
from recondition.condition.findings import Finding
from recondition.condition.vehicle import Holding
from recondition.ledger.lines import LineKind
from recondition.ledger.rollup import Axis, Key, Piece
from recondition.worth.estimates import Basis, Candidate, CandidateState, ThreeAmounts
from recondition.worth.question import Question
from recondition.worth.weighing import Case, Wall, Weighing, weigh

_ORDER = (CandidateState.DONE, CandidateState.STARTED, CandidateState.OPEN, CandidateState.LEFT)
_TO_COME = (CandidateState.STARTED, CandidateState.OPEN)


class Bought(StrEnum):
    """What an estimate speaks of: it knows hours and cash, not kinds of line."""

    HOURS = "hours at the rate"
    CASH = "parts, materials, sublet and charges"
    WAITING = "days by which the sale waits"


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """An estimate beside what was posted, under one key.

    ``outside`` is the part of ``actual`` on lines that name no candidate work.
    """

    key: Key
    estimate: Money
    actual: Money
    outside: Money
    remaining: Money
    lines: tuple[str, ...]


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


@dataclass(frozen=True)
class _Books:
    """A weighed question beside the pieces that were posted."""

    question: Question
    weighing: Weighing
    pieces: tuple[Piece, ...]

    def is_inside(self, piece: Piece) -> bool:
        return piece.entered.candidate in self.question.candidates

    def amount(self, piece: Piece) -> Money:
        """Give what counts as actual: billed to the owner, or cost to the shop."""
        if self.question.holding is Holding.CONSIGNED:
            return piece.billed or Money.zero(self.question.currency)
        return piece.cost

    def spent(self, among: Iterable[Piece]) -> Money:
        return total(map(self.amount, among), self.question.currency)

    def of(self, item: str) -> list[Piece]:
        return [piece for piece in self.pieces if piece.entered.candidate == item]

    def estimate(self, item: str) -> Fraction:
        return self.weighing.weights[item].cost[Case.EXPECTED]

    def to_come(self, item: str) -> Fraction:
        """Give what is still to be spent: the estimate less the actual, never below zero."""
        if self.question.candidates[item].state not in _TO_COME:
            return Fraction(0)
        return max(self.estimate(item) - self.spent(self.of(item)).fraction, Fraction(0))

    def money(self, exact: Fraction) -> Money:
        return rounded(exact, self.question.currency)

    def against(
        self, key: Key, estimate: Fraction, to_come: Fraction, among: Iterable[Piece]
    ) -> Against:
        kept = list(among)
        return Against(
            key=key,
            estimate=self.money(estimate),
            actual=self.spent(kept),
            outside=self.spent(piece for piece in kept if not self.is_inside(piece)),
            remaining=self.money(to_come),
            lines=_line_ids(kept),
        )


def cost_and_uplift(
    question: Question, pieces: Iterable[Piece], findings: Mapping[str, Finding]
) -> Progress:
    """Set estimates against posted pieces of one vehicle. ``findings`` is by id.

    Raises what ``weigh`` raises, and CurrencyMismatch for pieces in another currency.
    """
    books = _Books(question, weigh(_as_estimated(question)), tuple(pieces))
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
        outside=_line_ids(outside),
        outside_total=books.spent(outside),
        findings=_by(books, Axis.FINDING, per_finding),
        areas=_by(books, Axis.AREA, _by_area(per_finding, findings)),
        kinds=_kinds(books),
    )


def _as_estimated(question: Question) -> Question:
    """Give the question as if nothing were done yet, so that done work is weighed as well.

    Work that is done or left may have no uplift estimate: its cost is weighed beside none.
    """
    return replace(
        question,
        candidates={item: _reopened(c, question) for item, c in question.candidates.items()},
    )


def _reopened(candidate: Candidate, question: Question) -> Candidate:
    if candidate.uplift or candidate.uplift_percent:
        state = candidate.state
        return replace(candidate, state=_undone(state))
    zero = Money.zero(question.currency)
    nothing = ThreeAmounts(zero, zero, zero)
    return replace(candidate, state=_undone(candidate.state), uplift=nothing)


def _undone(state: CandidateState) -> CandidateState:
    return CandidateState.STARTED if state is CandidateState.DONE else state


def _sum(books: _Books, items: Iterable[str]) -> tuple[Fraction, Fraction]:
    """Give the exact estimate and what is to come of several pieces of work."""
    pairs = [(books.estimate(item), books.to_come(item)) for item in items]
    return sum((e for e, _ in pairs), Fraction(0)), sum((r for _, r in pairs), Fraction(0))


def _steps(books: _Books) -> tuple[Step, ...]:
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


def _step(books: _Books, item: str, cost: Fraction, uplift: Fraction) -> Step:
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
        lines=_line_ids(among),
    )


Estimates = dict[Key, tuple[Fraction, Fraction]]


def _shared_estimates(books: _Books) -> Estimates:
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


def _by(books: _Books, axis: Axis, estimates: Estimates) -> tuple[Against, ...]:
    """Set estimates against pieces by one axis; what has no key comes last."""
    posted: dict[Key, list[Piece]] = {}
    for piece in books.pieces:
        posted.setdefault(piece.key(axis), []).append(piece)
    keys = sorted({*estimates, *posted}, key=lambda key: (key is None, key or ""))
    nothing = (Fraction(0), Fraction(0))
    return tuple(
        books.against(key, *estimates.get(key, nothing), posted.get(key, ())) for key in keys
    )


def _kinds(books: _Books) -> tuple[Against, ...]:
    """Set mean hours at the rate against labour, and mean cash against every other kind.

    What is to come of one kind is not known beyond its own estimate less its own actual,
    so ``remaining`` here does not add up to that of the whole.
    """
    hours = _taken(books, Wall.HOURS) * books.weighing.rate.fraction
    cash = _taken(books, Wall.CASH)
    whole, _ = _sum(books, books.question.candidates)
    labour = [piece for piece in books.pieces if piece.kind == LineKind.LABOUR]
    other = [piece for piece in books.pieces if piece.kind != LineKind.LABOUR]
    return (
        books.against(Bought.HOURS, hours, _left(books, hours, labour), labour),
        books.against(Bought.CASH, cash, _left(books, cash, other), other),
        books.against(Bought.WAITING, whole - hours - cash, whole - hours - cash, ()),
    )


def _taken(books: _Books, wall: Wall) -> Fraction:
    return sum((weight.takes[wall] for weight in books.weighing.weights.values()), Fraction(0))


def _left(books: _Books, estimate: Fraction, among: Iterable[Piece]) -> Fraction:
    inside = books.spent(piece for piece in among if books.is_inside(piece))
    return max(estimate - inside.fraction, Fraction(0))


def _line_ids(among: Iterable[Piece]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(piece.line for piece in among))
