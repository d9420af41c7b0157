"""Corrections stay visible: what the sheet said, or would have said, and says no longer.

A slip that is put right within seven days and before any edition went out is none (the
project's own choice, common practice, no source). A later one shows both texts and the day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from recondition.history.late import LATE_AFTER
from recondition.history.public import PUBLIC, project

if TYPE_CHECKING:
    from recondition.history.source import Source
    from recondition.ledger.drafts import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One field that reads otherwise now; None stands for nothing said."""

    field: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionRow:
    """One correction of a record of a kind, or a line of work that was taken back.

    ``finding`` is a number of this sheet where the record is a finding or its outcome. For work
    that was taken back ``work_date`` and ``words`` are its own and ``reason`` is what a buyer
    may read of why.
    """

    kind: str
    corrected_on: date
    panel: str | None
    finding: int | None = None
    changes: tuple[Change, ...] = ()
    work_date: date | None = None
    words: str | None = None
    reason: str | None = None
    replaced: bool = False


def corrections_of(
    source: Source,
    numbers: dict[str, int],
    is_work: Any,  # noqa: ANN401 - a test of lines
) -> tuple[CorrectionRow, ...]:
    """Find the corrections, by the day they were made.

    ``numbers`` gives a finding's number by its id, ``is_work`` tells whether a line shows.
    """
    found = [*_changed(source, numbers), *_taken_back(source, is_work)]
    return tuple(sorted(found, key=lambda row: row.corrected_on))


def _told(source: Source, before: str, after: str) -> bool:
    """Tell whether a correction must show: late, or an edition went out in between."""
    first, second = datetime.fromisoformat(before), datetime.fromisoformat(after)
    issued = (datetime.fromisoformat(each.recorded_at) for each in source.editions)
    return second - first > LATE_AFTER or any(first <= moment < second for moment in issued)


def _changed(source: Source, numbers: dict[str, int]) -> Iterator[CorrectionRow]:
    """Compare what was told with what was said next, public fields only."""
    for versions in source.versions.values():
        if versions[-1].kind not in PUBLIC:
            continue
        for before, after in pairwise(_that_were_told(source, versions)):
            changes = tuple(_differences(before, after))
            if changes:
                entry = after.entry
                finding = after.id if after.kind == "finding" else getattr(entry, "finding", None)
                yield CorrectionRow(
                    kind=after.kind,
                    corrected_on=after.recorded_on,
                    panel=project(after.kind, entry).get("panel"),
                    finding=numbers.get(finding or ""),
                    changes=changes,
                )


def _that_were_told(source: Source, versions: tuple[Stored[Any], ...]) -> list[Stored[Any]]:
    """Leave out versions that no edition carried and that stood for a short time only."""
    kept = [
        each
        for each, later in pairwise(versions)
        if _told(source, each.recorded_at, later.recorded_at)
    ]
    return [*kept, versions[-1]]


def _differences(before: Stored[Any], after: Stored[Any]) -> Iterator[Change]:
    """Give the public fields that differ."""
    old, new = project(before.kind, before.entry), project(after.kind, after.entry)
    for name, value in new.items():
        if old[name] != value:
            yield Change(field=name, before=old[name], after=value)


def _taken_back(source: Source, is_work: Any) -> Iterator[CorrectionRow]:  # noqa: ANN401
    """Give lines of work that were taken back; the cost of a line is no part of it."""
    reversals = {line.reverses: line for line in source.lines if line.reverses}
    anew = {
        replaces: line
        for line in source.lines
        if line.reversed_by is None and (replaces := getattr(line.entry, "replaces", None))
    }
    for line in source.lines:
        taken, instead = reversals.get(line.id), anew.get(line.id)
        if taken is None or line.kind not in PUBLIC or not is_work(line):
            continue
        public = project(line.kind, line.entry)
        if instead is not None and project(instead.kind, instead.entry) == public:
            continue
        if _told(source, line.recorded_at, taken.recorded_at):
            yield CorrectionRow(
                kind=line.kind,
                corrected_on=taken.recorded_on,
                panel=public["panel"],
                work_date=public["work_date"],
                words=public["words"],
                reason=project("reversal", taken.entry)["words"],
                replaced=instead is not None,
            )
