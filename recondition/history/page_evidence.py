"""Pictures, the list of evidence, corrections and earlier editions."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from recondition.amounts import Quantity
from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history.evidence import EvidenceRow, Grouped, grouped
from recondition.history.layout import Block, Cell, Pictures, Shot, Table, Text
from recondition.history.saying import Saying

if TYPE_CHECKING:
    from recondition.history.corrections import CorrectionRow
    from recondition.history.sheet import EditionRow, Sheet


_SEVERITIES = ("severity", "severity_after")


def _groups(sheet: Sheet) -> Grouped:
    """Group the pictures; those of the day of arrival count as taken before the work."""
    begun = [sheet.work[0].work_date] if sheet.work else []
    arrived = sheet.identity.arrived_on
    begun += [arrived + timedelta(days=1)] if arrived else []
    return grouped(sheet.evidence, max(begun, default=None))


def arrival(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Show the pictures of the day of arrival, and others before the first day of work."""
    rows = _groups(sheet).arrival
    return (Pictures(w.ARRIVAL_PICTURES, _singly(rows, say)),) if rows else ()


def pairs(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Show pictures of one place before and after side by side, then all others."""
    found = _groups(sheet)
    if not found.pairs and not found.others:
        return (Text((w.NO_PICTURES,)),)
    blocks: list[Block] = [Text((w.PICTURES_INTRO if found.pairs else w.NO_PICTURES,))]
    if found.pairs:
        both = tuple((_shot(one, say), _shot(two, say)) for one, two in found.pairs)
        blocks.append(Pictures(w.PAIRS, both))
    if found.others:
        blocks.append(Pictures(w.OTHER_PICTURES, _singly(found.others, say)))
    return tuple(blocks)


def _singly(rows: tuple[EvidenceRow, ...], say: Saying) -> tuple[tuple[Shot, ...], ...]:
    return tuple((_shot(row, say),) for row in rows)


def _shot(row: EvidenceRow, say: Saying) -> Shot:
    """Show a picture with its words; its alternative text says what and where."""
    return Shot(row.name, alt_of(row, say), f"{row.number}. {alt_of(row, say)}")


def alt_of(row: EvidenceRow, say: Saying) -> str:
    """Say in words what a file shows, of which panel, and when it was taken."""
    panel = row.panel if row.panel and row.panel.casefold() not in row.title.casefold() else None
    taken = say.day(row.taken_on) if row.taken_on else ph.DAY_NOT_KNOWN
    hidden = ph.painted_over(row.hidden) if row.hidden else None
    return ", ".join(text for text in (row.title, panel, taken, hidden) if text)


def evidence(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """List the files that are handed out, with their hashes."""
    kept = (ph.kept_back(sheet.kept_back),) if sheet.kept_back else ()
    if not sheet.evidence:
        return (Text((w.NO_EVIDENCE_FILES, *kept)),)
    rows = tuple(
        (
            Cell((str(row.number),)),
            Cell((row.title,), _about(row, say)),
            Cell((row.path.rpartition("/")[2],), (ph.size_bytes(say.number(row.size_bytes)),)),
            Cell(
                (f"{w.COPY_HASH} {row.sha256}",),
                (f"{w.ORIGINAL_HASH} {row.sealed}",) if row.sealed else (),
            ),
        )
        for row in sheet.evidence
    )
    return (Text((w.EVIDENCE_INTRO, *kept)), Table(*w.EVIDENCE_TABLE, (5, 33, 17, 45), rows))


def _about(row: EvidenceRow, say: Saying) -> tuple[str, ...]:
    """Say what kind of file it is, of what, from when."""
    finding = ph.finding(row.finding) if row.finding else None
    taken = say.day(row.taken_on) if row.taken_on else None
    pair = ph.after_of(row.before) if row.before else None
    return tuple(text for text in (ph.term(row.kind), row.panel, finding, taken, pair) if text)


def corrections(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Set out corrections, and the editions that went out before."""
    told = (w.CORRECTIONS_INTRO,) if sheet.corrections else (w.NO_CORRECTIONS,)
    first = () if sheet.editions or sheet.issue.number is None else (w.FIRST_EDITION,)
    blocks: list[Block] = [Text((*told, *first))]
    if sheet.corrections:
        rows = tuple(row for each in sheet.corrections for row in _corrected(each, say))
        blocks.append(Table(*w.CORRECTIONS_TABLE, (16, 26, 29, 29), rows))
    if sheet.editions:
        rows = tuple(_edition(each, sheet, say) for each in reversed(sheet.editions))
        blocks.append(Table(*w.EDITIONS_TABLE, (12, 20, 28, 40), rows))
    return tuple(blocks)


def _corrected(row: CorrectionRow, say: Saying) -> list[tuple[Cell, ...]]:
    """Set out one correction: a row for each field, or one for work that was taken back."""
    day = Cell((say.day(row.corrected_on),))
    if row.work_date is not None:
        place = f", {row.panel}" if row.panel else ""
        work = Cell((ph.work_of(say.day(row.work_date)) + place,))
        after = w.ENTERED_ANEW if row.replaced else w.TAKEN_BACK
        reason = (row.reason,) if row.reason else (w.NO_REASON_GIVEN,)
        return [(day, work, Cell((row.words or w.NOTHING_SAID,)), Cell((after,), reason))]
    number = f" {row.finding}" if row.finding else ""
    what = f"{w.RECORD_WORDS.get(row.kind, row.kind)}{number}"
    panel = (row.panel,) if row.panel else ()
    return [
        (
            day,
            Cell((what,), (*panel, w.FIELDS.get(change.field, change.field.replace("_", " ")))),
            Cell((_changed(change.field, change.before, say),)),
            Cell((_changed(change.field, change.after, say),)),
        )
        for change in row.changes
    ]


def _changed(field: str, value: Any, say: Saying) -> str:  # noqa: ANN401 - any public value
    """Write what a field said; a severity in its words."""
    return ph.severity(value) if field in _SEVERITIES else written(value, say)


def written(value: Any, say: Saying) -> str:  # noqa: ANN401, PLR0911 - one arm a kind of value
    """Write any public value in words."""
    match value:
        case None | "" | ():
            return w.NOTHING_SAID
        case bool():
            return ph.YES if value else ph.NO
        case StrEnum():
            return ph.term(value)
        case date():
            return say.day(value)
        case Quantity():
            return say.quantity(value)
        case int() | Decimal():
            return say.number(value)
        case tuple():
            return ", ".join(written(item, say) for item in value)
    return str(value)


def _edition(row: EditionRow, sheet: Sheet, say: Saying) -> tuple[Cell, ...]:
    """Set out an edition that went out before, and how it stands."""
    if row.withdrawn_on is not None:
        reason = row.reason or w.NO_REASON
        standing = Cell((ph.withdrawn_on(say.day(row.withdrawn_on)),), (reason,))
    elif sheet.issue.number is None:
        standing = Cell((ph.LAST_EDITION if row is sheet.editions[-1] else ph.SUPERSEDED,))
    else:
        standing = Cell((ph.SUPERSEDED,))
    made = Cell((say.day(row.made_on),))
    return (Cell((str(row.number),)), made, Cell((row.code,), (row.fingerprint,)), standing)
