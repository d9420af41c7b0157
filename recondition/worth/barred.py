"""Which candidate work no plan may hold, and why, in one plain sentence each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.worth.estimates import CandidateState

if TYPE_CHECKING:
    from recondition.worth.weighing import Weighing


def barred(weighing: Weighing) -> dict[str, str]:
    """Give the reason for each item that cannot be chosen; whatever needs one is barred too."""
    own = {item: _own_reason(weighing, item) for item in weighing.items}
    reasons = {}
    for item in weighing.items:
        first = next((other for other in weighing.items if _bars(weighing, own, item, other)), None)
        if own[item]:
            reasons[item] = own[item]
        elif first is not None:
            joint = "and" if first in weighing.question.stopped else "which is"
            reasons[item] = f"needs {weighing.question.ref(first)}, {joint} {own[first]}"
    return reasons


def _bars(weighing: Weighing, own: dict[str, str], item: str, other: str) -> bool:
    return bool(own[other]) and other in weighing.needs[item]


def _own_reason(weighing: Weighing, item: str) -> str:
    question = weighing.question
    candidate = question.candidates[item]
    if candidate.state is CandidateState.LEFT:
        return f"left: {candidate.left_reason}" if candidate.left_reason else "left"
    reason = question.untouchable(candidate) or question.stopped.get(item, "")
    if reason:
        return reason
    clashes = [done for done in weighing.done if done in weighing.against[item]]
    return f"excluded by {question.ref(clashes[0])}, which is done" if clashes else ""
