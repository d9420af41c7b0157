"""The work-history sheet: the public record of one vehicle, free of any medium.

``build`` is the only way from records to a sheet, and every value on the sheet comes out of
``public.project``; the records themselves serve to select, join and order, never to print.
Findings get numbers of the sheet's own, so that no record id or row name is shown.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from recondition.condition.findings import Ended, ExtentKind, Finding, Outcome, Stage
from recondition.condition.panels import Area, Finish, Originality, Substrate
from recondition.condition.vehicle import OdometerUnit, TrueDistance
from recondition.history.allowed import Allowed
from recondition.history.corrections import CorrectionRow, corrections_of
from recondition.history.evidence import EvidenceRow, evidence_of, proofs_of
from recondition.history.late import recorded_late
from recondition.history.measures import MeasureRow, TestRow, measures_of, tests_of
from recondition.history.public import project
from recondition.history.work import (
    Numbers,
    PartRow,
    WorkRow,
    is_work,
    parts_on,
    standing_work,
    work_rows,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from recondition.amounts import Quantity
    from recondition.history.records import Edition
    from recondition.history.source import Issued, Source
    from recondition.ledger.drafts import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """What the vehicle is, exactly as stamped, as on the documents and as the dial shows."""

    designation: str
    model_year: int | None
    body_style: str | None
    colour: str | None
    chassis_stamped: str | None
    chassis_documents: str | None
    engine_number: str | None
    body_number: str | None
    trim: str | None
    odometer_shown: str | None
    odometer_unit: OdometerUnit
    odometer_wheels: int | None
    true_distance: TrueDistance
    odometer_words: str | None
    arrived_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelRow:
    """One panel's surface, with the evidence for what is believed about it."""

    panel: str
    substrate: Substrate
    finish: Finish
    originality: Originality
    evidence: str | None
    no_touch: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """One outcome of a finding. ``recorded_on`` is set where it was entered late."""

    ended: Ended
    ended_on: date
    severity_after: int | None
    words: str | None
    reason: str | None
    recorded_on: date | None

    @property
    def said(self) -> tuple[object, ...]:
        """What the outcome says, dates aside: two that say the same are shown once."""
        return (self.ended, self.severity_after, self.words, self.reason)


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """One finding with all that became of it. The last of ``endings`` is the one in force."""

    number: int
    area: Area
    panel: str
    spot: str | None
    defect: str
    material: str | None
    words: str | None
    severity: int | None
    extent: Quantity | None
    extent_kind: ExtentKind | None
    lamp: str | None
    stage: Stage
    found_on: date
    recorded_on: date | None
    endings: tuple[Ending, ...]
    worked_on: bool

    @property
    def last(self) -> Ending | None:
        """The outcome in force; None while the finding is open."""
        return self.endings[-1] if self.endings else None

    @property
    def severity_now(self) -> int | None:
        """Severity as it stands, 0 to 4; None where nobody has stated or inspected it.

        A finding left alone is as it was found, unless its outcome says otherwise; nothing is
        assumed of a finding that was worked on. Where nobody looked at the end, the worse of
        what was found and what an old book states stands: doubt counts as a fault.
        """
        if self.last is None:
            return self.severity
        after = self.last.severity_after
        if self.unseen_at_end:
            return max((at for at in (self.severity, after) if at is not None), default=None)
        return self.severity if after is None and self.left_alone else after

    @property
    def left_alone(self) -> bool:
        """Whether it was left as it is on purpose."""
        return self.last is not None and self.last.ended is Ended.LEFT_ALONE

    @property
    def unseen_at_end(self) -> bool:
        """Whether its outcome says that nobody looked."""
        return self.last is not None and self.last.ended is Ended.NOT_INSPECTED

    @property
    def not_inspected(self) -> bool:
        """Whether nobody could look and no fault is known; never true of one that remains."""
        unseen = self.severity is None if self.last is None else self.unseen_at_end
        return unseen and not self.remains

    @property
    def remains(self) -> bool:
        """Whether a fault is known to remain; doubt counts as remaining.

        A fault that was found and is not inspected at the end is still a known one.
        """
        now = self.severity_now
        if self.last is None or self.last.ended in (Ended.RESOLVED, Ended.NOT_INSPECTED):
            return now is not None and now > 0
        return self.last.ended is Ended.PARTLY_RESOLVED or now is None or now > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """How many records the vehicle's chain holds and the hash of the last one (SHA-256)."""

    count: int
    hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionRow:
    """An edition that went out before; ``withdrawn_on`` and ``reason`` where it was withdrawn."""

    number: int
    made_on: date
    code: str
    fingerprint: str
    withdrawn_on: date | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class Issue:
    """Under what this sheet goes out.

    ``number`` is None for a trial copy, which no book remembers. ``made_on`` is the day it
    bears, ``locale`` how it writes dates and numbers (a CLDR name such as ``en_GB``).
    """

    number: int | None
    made_on: date
    locale: str = "en_GB"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A whole work history. ``shop_name`` made it; ``kept_back`` files are not handed out."""

    shop_name: str
    issue: Issue
    identity: Identity
    panels: tuple[PanelRow, ...]
    findings: tuple[FindingRow, ...]
    work: tuple[WorkRow, ...]
    parts: tuple[PartRow, ...]
    measures: tuple[MeasureRow, ...]
    tests: tuple[TestRow, ...]
    evidence: tuple[EvidenceRow, ...]
    kept_back: int
    corrections: tuple[CorrectionRow, ...]
    editions: tuple[EditionRow, ...]
    anchor: Anchor | None

    @property
    def made_on(self) -> date:
        """The day the sheet bears."""
        return self.issue.made_on

    def finding(self, number: int) -> FindingRow:
        """Give the finding with a number of this sheet."""
        return self.findings[number - 1]


def build(source: Source, issue: Issue, issued: Mapping[str, Issued] | None = None) -> Sheet:
    """Make the public sheet of one vehicle.

    ``issued`` gives what is handed out of the listed documents, by document id.
    """
    allowed = Allowed(source)
    lines = standing_work(source.lines)
    ordered = _in_reading_order(source)
    numbers = {stored.id: number for number, stored in enumerate(ordered, start=1)}
    worked_on = {link.finding for line in lines for link in line.entry.links}
    endings = _endings(source.outcomes)
    findings = tuple(
        _finding(number, stored, endings[stored.id], worked_on=stored.id in worked_on)
        for number, stored in enumerate(ordered, start=1)
    )
    panel_of = {row.number: row.panel for row in findings}
    evidence = evidence_of(source, issued or {}, numbers)
    proofs = proofs_of(source, evidence)
    return Sheet(
        shop_name=source.shop_name,
        issue=issue,
        identity=Identity(**project("vehicle", source.vehicle.entry)),
        panels=tuple(PanelRow(**project("panel", stored.entry)) for stored in source.panels),
        findings=findings,
        work=work_rows(lines, allowed, Numbers(numbers, panel_of, proofs), source.products),
        parts=parts_on(lines, proofs),
        measures=measures_of(source, allowed),
        tests=tests_of(source.readings),
        evidence=evidence,
        kept_back=len(source.documents) - len(evidence),
        corrections=corrections_of(source, numbers, is_work),
        editions=tuple(_edition(source, each) for each in source.editions),
        anchor=Anchor(count=source.head.count, hash=source.head.hash) if source.head else None,
    )


def _edition(source: Source, each: Stored[Edition]) -> EditionRow:
    """Make the row of an edition that went out before."""
    gone = source.withdrawn.get(each.id)
    nothing = {"withdrawn_on": None, "reason": None}
    said = project("edition withdrawn", gone.entry) if gone else nothing
    return EditionRow(**project("edition", each.entry), **said)


def _in_reading_order(source: Source) -> list[Stored[Finding]]:
    """Order findings by stage, then from the outside in, then as they were first written down."""
    stages, areas = list(Stage), list(Area)

    def place(found: Stored[Finding]) -> tuple[int, int, int]:
        first = source.versions.get(found.id, (found,))[0]
        entry = found.entry
        return stages.index(entry.stage), areas.index(entry.area), first.sequence

    return sorted(source.findings, key=place)


def _finding(
    number: int, stored: Stored[Finding], endings: list[Ending], *, worked_on: bool
) -> FindingRow:
    """Make one row; earlier outcomes stay on it where they say something else."""
    kept = [ending for ending in endings[:-1] if ending.said != endings[-1].said]
    return FindingRow(
        number=number,
        recorded_on=recorded_late(stored, stored.entry.found_on),
        endings=(*kept, *endings[-1:]),
        worked_on=worked_on,
        **project("finding", stored.entry),
    )


def _endings(outcomes: Sequence[Stored[Outcome]]) -> defaultdict[Any, list[Ending]]:
    """Give each finding's outcomes by finding id, in the order in which they happened."""
    by_finding: defaultdict[Any, list[Ending]] = defaultdict(list)
    for stored in sorted(outcomes, key=lambda o: (o.entry.ended_on, o.sequence)):
        by_finding[stored.entry.finding].append(_ending(stored))
    return by_finding


def _ending(stored: Stored[Outcome]) -> Ending:
    """Make one ending.

    A book from before ``Outcome.check`` refused it may hold one that is resolved with
    something left; that is partly resolved, and the sheet says so.
    """
    ending = Ending(
        recorded_on=recorded_late(stored, stored.entry.ended_on),
        **project("outcome", stored.entry),
    )
    if ending.ended is Ended.RESOLVED and ending.severity_after:
        return replace(ending, ended=Ended.PARTLY_RESOLVED)
    return ending
