"""What was posted beside what was estimated, for one vehicle; exact until it is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.amounts.money import rounded, total
from recondition.amounts.sharing import round_to_sum
from recondition.condition.vehicle import Holding
from recondition.worth.estimates import Candidate, CandidateState, ThreeAmounts
from recondition.worth.weighing import Case, Weighing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.ledger.rollup import Key, Piece
    from recondition.worth.question import Question

_TO_COME = (CandidateState.STARTED, CandidateState.OPEN)


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


@dataclass(frozen=True)
class Books:
    """A weighed question beside the pieces that were posted."""

    question: Question
    weighing: Weighing
    pieces: tuple[Piece, ...]

    def is_inside(self, piece: Piece) -> bool:
        """Tell whether a piece names candidate work of this question."""
        return piece.entered.candidate in self.question.candidates

    def amount(self, piece: Piece) -> Money:
        """Give what counts as actual: billed to the owner, or cost to the shop."""
        if self.question.holding is Holding.CONSIGNED:
            return piece.billed or Money.zero(self.question.currency)
        return piece.cost

    def spent(self, among: Iterable[Piece]) -> Money:
        """Add up what counts as actual."""
        return total(map(self.amount, among), self.question.currency)

    def of(self, item: str) -> list[Piece]:
        """Give the pieces that name one piece of candidate work."""
        return [piece for piece in self.pieces if piece.entered.candidate == item]

    def estimate(self, item: str) -> Fraction:
        """Give the expected cost of one piece of candidate work."""
        return self.weighing.weights[item].cost[Case.EXPECTED]

    def to_come(self, item: str) -> Fraction:
        """Give what is still to be spent: the estimate less the actual, never below zero."""
        return self.left_of(item, self.estimate(item), self.spent(self.of(item)))

    def left_of(self, item: str, estimate: Fraction, spent: Money) -> Fraction:
        """Give what is left of an estimate, or of a part of it; nothing of done or left work."""
        if self.question.candidates[item].state not in _TO_COME:
            return Fraction(0)
        return max(estimate - spent.fraction, Fraction(0))

    def money(self, exact: Fraction) -> Money:
        """Round an exact figure, once."""
        return rounded(exact, self.question.currency)

    def to_the_coin(self, amounts: Iterable[Fraction]) -> list[Fraction]:
        """Round exact amounts to the smallest coin, so that they add up to their own sum."""
        coins = 10 ** minor_digits(self.question.currency)
        return [Fraction(minor, coins) for minor in round_to_sum([a * coins for a in amounts])]

    def against(
        self, key: Key, estimate: Fraction, to_come: Fraction, among: Iterable[Piece]
    ) -> Against:
        """Set an exact estimate and what is to come of it beside posted pieces."""
        kept = list(among)
        return Against(
            key=key,
            estimate=self.money(estimate),
            actual=self.spent(kept),
            outside=self.spent(piece for piece in kept if not self.is_inside(piece)),
            remaining=self.money(to_come),
            lines=line_ids(kept),
        )


def as_estimated(question: Question) -> Question:
    """Give the question as if nothing were done yet, so that done work is weighed as well.

    Work that is done or left may have no uplift estimate: its cost is weighed beside none.
    """
    return replace(
        question,
        candidates={item: _reopened(c, question) for item, c in question.candidates.items()},
        used={},
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


def line_ids(among: Iterable[Piece]) -> tuple[str, ...]:
    """Name the lines behind pieces, each once."""
    return tuple(dict.fromkeys(piece.line for piece in among))
