"""The chronological part of the sheet: what was done, with what, and what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.history import wording as w
from recondition.history.layout import Block, Entry, Fact, Text, Timeline

if TYPE_CHECKING:
    from recondition.history.sheet import FindingRow, Sheet
    from recondition.history.work import MaterialRow, PartRow, WorkRow


def timeline(sheet: Sheet) -> tuple[Block, ...]:
    """Give the work in order of date, each entry with the outcomes of its findings."""
    if not sheet.work:
        return (Text((w.NO_WORK,)),)
    entries = tuple(_entry(sheet, row) for row in sheet.work)
    return (Text((w.WORK_INTRO,)), Timeline(entries))


def _entry(sheet: Sheet, row: WorkRow) -> Entry:
    """Arrange one entry; the words of a spoiled part are all that is said of it."""
    facts = (
        Fact("Method", row.operations),
        Fact("By", ("another shop",) if row.outside else ()),
        Fact("Material", tuple(_material(material) for material in row.materials)),
        Fact("Part", tuple(_part(part) for part in row.parts)),
        Fact("Spoiled", tuple(f"{words or 'a part'}; not on the vehicle" for words in row.spoiled)),
        Fact("Result", tuple(_result(sheet.finding(number)) for number in row.findings)),
    )
    return Entry(
        iso_date=row.work_date.isoformat(),
        date=w.day(row.work_date),
        date_note=f"recorded on {w.day(row.recorded_on)}" if row.recorded_on else "",
        heading=_sentence(", ".join(row.panels)) or "Whole vehicle",
        steps=row.steps,
        facts=tuple(fact for fact in facts if fact.lines),
    )


def _material(row: MaterialRow) -> str:
    """Name a material with what was written about its use."""
    return f"{row.material_type}: {row.words}" if row.words else row.material_type


def _part(part: PartRow) -> str:
    """Name a part that was fitted, its origin, and what was written about fitting it."""
    named = f"{w.part_name(part.part_name, part.quantity)}, {part.origin.value}"
    return f"{named}: {part.words}" if part.words else named


def _result(row: FindingRow) -> str:
    """Say what became of one finding and when, severity before and after in words."""
    name = f"Finding {row.number}, {row.defect}"
    if row.last is None:
        return f"{name}: result not yet recorded (before: {w.severity_found(row.severity)})"
    before = w.severity_found(row.severity)
    after = w.severity_at_end(row.severity_now, unseen=row.unseen_at_end)
    change = f"before: {before}; after: {after}"
    return f"{name}: {row.last.ended.value}, {w.day(row.last.ended_on)} ({change})"


def _sentence(text: str) -> str:
    """Begin with a capital letter and leave the rest as it is."""
    return text[:1].upper() + text[1:]
