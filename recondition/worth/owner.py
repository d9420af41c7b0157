"""What an owner has let be spent, and how near the work is to it.

The running figure is billed + committed + still to come, against the limit (common practice,
no source). Billed is what posted lines bill, reversals off it. Committed is what is on order
and not billed yet. Still to come is what approved work is expected to take, failure included,
less what was billed and committed for it. Only approved work counts as still to come.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import rounded, total
from recondition.errors import Refused
from recondition.ledger.approvals import Answer, Approval
from recondition.ledger.lines import Labour, Reversal
from recondition.worth.estimates import CandidateState

if TYPE_CHECKING:
    from recondition.ledger.drafts import Stored
    from recondition.ledger.lines import Entered
    from recondition.ledger.orders import Order

_TO_COME = (CandidateState.OPEN, CandidateState.STARTED)


class LimitPassed(Refused):
    """A line, or an order, that would take an owner's job past the limit."""

    def __init__(self, running: Running, by: Money) -> None:
        """Show the limit, the running figure and by how much it would be passed."""
        super().__init__(
            f"the owner's limit of {running.limit} would be passed by {by}: billed "
            f"{running.billed}, committed {running.committed}, still to come {running.to_come}",
            todo="Ask the owner first ('recondition owner ask') and enter the answer with its "
            "new limit; or bill 0 for what the shop bears ('--billed-to-owner 0').",
        )


class NotApproved(Refused):
    """An owner would be billed for work that was not approved."""

    def __init__(self, candidate: str, answer: str) -> None:
        """Name the work and what the owner said of it."""
        super().__init__(
            f"candidate work {candidate} {answer} by the owner, and the line bills it",
            todo="Ask first ('recondition owner ask') and enter the answer ('recondition owner "
            "approve'); or bill 0 for what the shop bears.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One piece of candidate work: what was said of it, estimate, billed, on order, to come.

    ``answer`` is None where the owner was not asked; ``estimate`` None where nothing was.
    """

    candidate: str
    answer: Answer | None
    estimate: Money | None
    billed: Money
    committed: Money
    to_come: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """The running figure of one owner's job. ``limit_from`` says where the limit stands."""

    limit: Money | None
    limit_from: str
    billed: Money
    committed: Money
    to_come: Money
    items: tuple[Item, ...]

    @property
    def total(self) -> Money:
        """Billed, committed and still to come."""
        return self.billed + self.committed + self.to_come

    @property
    def left(self) -> Money | None:
        """What is left of the limit; below zero where it is passed, None without one."""
        return None if self.limit is None else self.limit - self.total


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """What bears on one owner's job.

    ``lines`` are posted lines with what they bill, ``orders`` and ``approvals`` those of the
    vehicle in the order they were made. ``estimates`` give the expected amount for the owner
    of each piece of candidate work that may still be done, ``states`` every one's state.
    """

    lines: tuple[tuple[Entered, Money], ...]
    orders: tuple[Stored[Order], ...]
    approvals: tuple[Stored[Approval], ...]
    estimates: Mapping[str, Fraction]
    states: Mapping[str, CandidateState]
    terms_limit: Money | None
    currency: str


def billed_lines(
    lines: Iterable[Stored[Entered | Reversal]],
) -> tuple[tuple[Entered, Money], ...]:
    """Give each line's entry and what it bills; a reversal has the entry it takes back."""
    by_id = {line.id: line for line in lines}
    found: list[tuple[Entered, Money]] = []
    for line in by_id.values():
        original = by_id.get(line.reverses, line) if line.reverses else line
        billed = line.priced.billed if line.priced else None
        if billed is not None and not isinstance(original.entry, Reversal):
            found.append((original.entry, billed))
    return tuple(found)


def answers(approvals: Iterable[Stored[Approval]]) -> dict[str, Answer]:
    """Give the newest answer on each piece of work."""
    found: dict[str, Answer] = {}
    for each in sorted(approvals, key=lambda item: item.entry.answered_on):
        found.update(dict.fromkeys(each.entry.candidates, each.entry.answer))
    return found


def running(job: Job) -> Running:
    """Work out the running figure. Raises CurrencyMismatch."""
    said = answers(job.approvals)
    ordered = [order.entry.candidate for order in job.orders]
    worked = [work_of(job, line) for line, _ in job.lines]
    named = dict.fromkeys(each for each in (*said, *ordered, *worked) if each)
    items = tuple(_item(job, each, said.get(each)) for each in named)
    limit, limit_from = _limit(job)
    return Running(
        limit=limit,
        limit_from=limit_from,
        billed=total((billed for _, billed in job.lines), job.currency),
        committed=_committed(job, job.orders),
        to_come=total((item.to_come for item in items), job.currency),
        items=items,
    )


def work_of(job: Job, line: Entered) -> str | None:
    """Give the candidate work of a line: its own, else that of the order it comes from."""
    if line.candidate is not None or line.order is None:
        return line.candidate
    orders = (each.entry.candidate for each in job.orders if each.id == line.order)
    return next(orders, None)


def _limit(job: Job) -> tuple[Money | None, str]:
    """Give the limit in force and where it stands."""
    stated = [each for each in job.approvals if each.entry.limit is not None]
    for each in sorted(stated, key=lambda item: item.entry.answered_on)[-1:]:
        return each.entry.limit, f"approval {each.ref}"
    return job.terms_limit, "sale terms" if job.terms_limit is not None else "no limit is on record"


def _committed(job: Job, orders: Iterable[Stored[Order]]) -> Money:
    """Add up what is on order and not billed yet."""
    amounts = []
    for each in orders:
        order = each.entry
        if order.ordered_on is None or order.returned_on is not None or order.quoted is None:
            continue
        bought = (
            b for line, b in job.lines if line.order == each.id and not isinstance(line, Labour)
        )
        billed = total(bought, job.currency)
        open_part = order.quoted.minor - billed.minor
        amounts.append(Money(max(open_part, 0), job.currency))
    return total(amounts, job.currency)


def _item(job: Job, candidate: str, answer: Answer | None) -> Item:
    """Work out one piece of candidate work."""
    billed = total((b for line, b in job.lines if work_of(job, line) == candidate), job.currency)
    orders = [each for each in job.orders if each.entry.candidate == candidate]
    committed = _committed(job, orders)
    estimate = job.estimates.get(candidate)
    if estimate is None and answer is Answer.APPROVED:
        estimate = _approved_amount(job, candidate)
    to_come = Money.zero(job.currency)
    state = job.states.get(candidate, CandidateState.OPEN)
    if answer is Answer.APPROVED and estimate is not None and state in _TO_COME:
        left = estimate - billed.fraction - committed.fraction
        to_come = rounded(max(left, Fraction(0)), job.currency)
    return Item(
        candidate=candidate,
        answer=answer,
        estimate=None if estimate is None else rounded(estimate, job.currency),
        billed=billed,
        committed=committed,
        to_come=to_come,
    )


def _approved_amount(job: Job, candidate: str) -> Fraction | None:
    """Give a piece of work its part of what was approved, where no estimate can be weighed."""
    said = [each.entry for each in job.approvals if candidate in each.entry.candidates]
    approved = [each for each in said if each.answer is Answer.APPROVED]
    for each in sorted(approved, key=lambda item: item.answered_on)[-1:]:
        return each.amount.fraction / len(each.candidates)
    return None


def check_line_of(job: Job, entry: Entered, billed: Money, called: str) -> None:
    """Refuse a line that bills unapproved work or takes the job past its limit.

    ``called`` is the user's name of the line's candidate work. Raises NotApproved, LimitPassed.
    """
    said = answers(job.approvals)
    work = work_of(job, entry)
    if work is not None and billed.minor > 0 and said:
        answer = said.get(work)
        if answer is not Answer.APPROVED:
            words = "was declined" if answer is Answer.DECLINED else "was not approved"
            raise NotApproved(called, words)
    after = replace(job, lines=(*job.lines, (entry, billed)))
    check_running(running(job), running(after))


def check_running(before: Running, after: Running) -> None:
    """Refuse what takes a job past its limit, or further past it. Raises LimitPassed."""
    if after.limit is None:
        return
    for was, now in (
        (before.total, after.total),
        (before.billed + before.committed, after.billed + after.committed),
    ):
        if now.minor > after.limit.minor and now.minor > was.minor:
            raise LimitPassed(after, now - after.limit)
