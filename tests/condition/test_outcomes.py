"""Which outcomes go together with which severity; the rules are the project's own."""

from __future__ import annotations

from datetime import date

import pytest

from recondition.condition.findings import (
    Ended,
    NotSeenHasNoSeverity,
    Outcome,
    ReasonNeeded,
    ResolvedLeavesNothing,
    SeverityNotOnScale,
)
from recondition.errors import Refused
from recondition.fields import Id, Words


def _outcome(ended: Ended, after: int | None, reason: str = "as told") -> Outcome:
    return Outcome(
        vehicle=Id("v"),
        finding=Id("f"),
        ended=ended,
        ended_on=date(2031, 4, 3),
        severity_after=after,
        reason=Words(reason) if reason else None,
    )


@pytest.mark.parametrize(
    ("ended", "after"),
    [
        (Ended.RESOLVED, 0),
        (Ended.RESOLVED, None),
        (Ended.PARTLY_RESOLVED, 1),
        (Ended.PARTLY_RESOLVED, None),
        (Ended.LEFT_ALONE, 4),
        (Ended.NOT_INSPECTED, None),
    ],
)
def test_what_goes_together_is_accepted(ended: Ended, after: int | None) -> None:
    outcome = _outcome(ended, after)
    outcome.check()
    assert outcome.severity_after == after


@pytest.mark.parametrize(
    ("ended", "after", "refusal"),
    [
        *((Ended.RESOLVED, after, ResolvedLeavesNothing) for after in (1, 2, 3, 4)),
        *((Ended.NOT_INSPECTED, after, NotSeenHasNoSeverity) for after in range(5)),
        *((Ended.PARTLY_RESOLVED, after, SeverityNotOnScale) for after in (-1, 5)),
    ],
)
def test_what_contradicts_itself_is_refused(
    ended: Ended, after: int, refusal: type[Refused]
) -> None:
    with pytest.raises(refusal):
        _outcome(ended, after).check()


def test_the_reason_is_asked_for_after_the_rest() -> None:
    with pytest.raises(NotSeenHasNoSeverity):
        _outcome(Ended.NOT_INSPECTED, 1, reason="").check()
    with pytest.raises(ReasonNeeded):
        _outcome(Ended.NOT_INSPECTED, None, reason="").check()
