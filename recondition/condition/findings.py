"""Findings and how each of them ended.

Severity is the project's own scale of 0 to 4 in words, mapped to no published grading.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.amounts import Quantity
from recondition.condition.panels import Area
from recondition.errors import Refused
from recondition.fields import Id, Words

SEVERITY_WORDS = (
    "none",
    "only under the lamp",
    "visible close in daylight",
    "visible from two metres",
    "damage, function or safety affected",
)


def severity_words(severity: int | None) -> str:
    """Write a severity with its words; none is of a place that was not inspected."""
    return "not inspected" if severity is None else f"{severity} {SEVERITY_WORDS[severity]}"


class Stage(StrEnum):
    """When in the job a finding was made."""

    ARRIVAL = "arrival"
    DURING_WORK = "during work"
    FINAL_CHECK = "final check"


class When(StrEnum):
    """On which side of a step of the work something was seen or measured."""

    BEFORE = "before"
    AFTER = "after"


class ExtentKind(StrEnum):
    """What the extent of a finding counts."""

    COUNT = "count"
    LENGTH = "length"
    AREA = "area"
    PART_OF_PANEL = "part of panel"
    WHOLE_PANEL = "whole panel"
    EDGE_ONLY = "edge only"


class Ended(StrEnum):
    """How a finding ended; nothing is overwritten, the finding itself stays as found."""

    RESOLVED = "resolved"
    PARTLY_RESOLVED = "partly resolved"
    LEFT_ALONE = "left alone on purpose"
    NOT_INSPECTED = "not inspected"


NEEDS_REASON = frozenset({Ended.LEFT_ALONE, Ended.NOT_INSPECTED})


class ReasonNeeded(Refused):
    """A finding was left alone or not inspected, and nothing says why."""

    def __init__(self, ended: Ended) -> None:
        """Name how the finding was to end."""
        super().__init__(
            f"a finding that ends as {ended.value!r} needs its reason",
            todo="Say why; the reason is what a buyer believes.",
        )


class ResolvedLeavesNothing(Refused):
    """A finding ended as resolved and with a severity above 0: both cannot be so."""

    def __init__(self, after: int) -> None:
        """Name the severity that was left."""
        super().__init__(
            f"a finding cannot be resolved with severity {after} ({SEVERITY_WORDS[after]}) left",
            todo="Resolved with something left is partly resolved: enter that, or severity 0.",
        )


class NewOnArrival(Refused):
    """A finding that was made on arrival and is new since: both cannot be so."""

    def __init__(self) -> None:
        """Say what does not go together."""
        super().__init__(
            "a finding of the arrival cannot be new since the arrival",
            todo="Give the stage 'during work' or 'final check', or say that it is not new.",
        )


class NothingMovedIt(Refused):
    """A finding is to end by work, and no posted line serves it and no decision is recorded."""

    def __init__(self, ended: Ended) -> None:
        """Name how the finding was to end."""
        super().__init__(
            f"the finding is to end as {ended.value!r}, and no posted line serves it",
            todo="Post the work on this finding first; or, where it went without any, give the "
            "reason and who decided.",
        )


class NotSeenHasNoSeverity(Refused):
    """A finding ended as not inspected and with a severity, which only a look can give."""

    def __init__(self) -> None:
        """Say what does not go together."""
        super().__init__(
            "a finding that ends as 'not inspected' has no severity after",
            todo="Leave the severity out, or say how the finding ended once somebody looked.",
        )


class SeverityNotOnScale(Refused):
    """A severity after is no whole number from 0 to 4."""

    def __init__(self, after: object) -> None:
        """Name what was given and the scale."""
        words = ", ".join(f"{level} {text}" for level, text in enumerate(SEVERITY_WORDS))
        super().__init__(f"{after} is no severity", todo=f"Give one of: {words}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something seen or measured on a vehicle, with the practitioner's words.

    ``words`` may be shown to a buyer; ``private_note`` never is. ``severity`` is 0 to 4, or
    None for a place that could not be inspected. ``distance`` is that of the eye. ``step`` and
    ``when`` say before or after which step it was seen; ``new_since_arrival`` is None where
    nobody can tell.
    """

    vehicle: Id
    area: Area
    panel: str
    defect: str
    found_on: date
    material: str | None = None
    severity: int | None = None
    spot: Words | None = None
    words: Words | None = None
    extent: Quantity | None = None
    extent_kind: ExtentKind | None = None
    lamp: str | None = None
    stage: Stage = Stage.ARRIVAL
    found_by: Id | None = None
    private_note: Words | None = None
    distance: Quantity | None = None
    step: str | None = None
    when: When | None = None
    new_since_arrival: bool | None = None

    def check(self) -> None:
        """Refuse a finding that contradicts itself. Raises NewOnArrival."""
        if self.new_since_arrival and self.stage is Stage.ARRIVAL:
            raise NewOnArrival


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one finding ended, when, and why where nothing was done.

    ``words`` and ``reason`` may be shown to a buyer. A later outcome of the same finding
    supersedes an earlier one; both stay readable.
    """

    vehicle: Id
    finding: Id
    ended: Ended
    ended_on: date
    severity_after: int | None = None
    words: Words | None = None
    reason: Words | None = None
    decided_by: Id | None = None
    private_note: Words | None = None

    @property
    def decided(self) -> bool:
        """Whether it rests on a decision: a reason and who decided."""
        return bool(self.reason) and self.decided_by is not None

    def check(self) -> None:
        """Refuse an outcome that contradicts itself or lacks the reason that it needs.

        Raises SeverityNotOnScale, ResolvedLeavesNothing, NotSeenHasNoSeverity, ReasonNeeded.
        """
        after = self.severity_after
        if after is not None and after not in range(len(SEVERITY_WORDS)):
            raise SeverityNotOnScale(after)
        if self.ended is Ended.RESOLVED and after:
            raise ResolvedLeavesNothing(after)
        if self.ended is Ended.NOT_INSPECTED and after is not None:
            raise NotSeenHasNoSeverity
        if self.ended in NEEDS_REASON and not self.reason:
            raise ReasonNeeded(self.ended)
