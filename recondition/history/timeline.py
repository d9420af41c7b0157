"""The chronological part of the sheet: what was done, with what, and what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history.layout import Block, Entry, Fact, Text, Timeline
from recondition.history.page_done import origin, shown_in
from recondition.history.remarks import says_original
from recondition.history.saying import Saying

if TYPE_CHECKING:
    from recondition.history.sheet import FindingRow, Sheet
    from recondition.history.work import MaterialRow, PartRow, WorkRow


def timeline(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Give the work in order of date, each entry with the outcomes of its findings."""
    if not sheet.work:
        return (Text((w.NO_WORK,)),)
    entries = tuple(_entry(sheet, at, row, say) for at, row in enumerate(sheet.work))
    return (Text((w.WORK_INTRO,)), Timeline(entries))


def _entry(sheet: Sheet, at: int, row: WorkRow, say: Saying) -> Entry:
    """Arrange one entry; the words of a spoiled part are all that is said of it."""
    names = w.WORK_FACTS
    spoiled = tuple(f"{words or w.A_PART}; {w.NOT_ON_VEHICLE}" for words in row.spoiled)
    hours = () if row.hours is None else (f"{say.number(row.hours)} {w.HANDS_ON}",)
    closing = [number for number in row.findings if _closes(sheet, at, number)]
    results = tuple(_result(sheet.finding(number), say) for number in closing)
    serves = [sheet.finding(number) for number in row.findings if number not in closing]
    facts = (
        Fact(names["method"], row.operations),
        Fact(names["by"], _by(row)),
        Fact(names["hours"], hours),
        Fact(names["material"], tuple(_material(material) for material in row.materials)),
        Fact(names["part"], tuple(_part(part, say) for part in row.parts)),
        Fact(names["spoiled"], spoiled),
        Fact(names["serves"], tuple(ph.finding_in(each.number, each.defect) for each in serves)),
        Fact(names["result"], results),
        Fact(names["evidence"], shown_in(row.evidence, say)),
        Fact(names["note"], (w.ORIGINAL_BELIEVED,) if _believes(row) else ()),
    )
    return Entry(
        iso_date=row.work_date.isoformat(),
        date=say.day(row.work_date),
        date_note=" ".join(say.late(row.recorded_on)),
        heading=_sentence(", ".join(row.panels)) or w.WHOLE_VEHICLE,
        steps=row.steps,
        facts=tuple(fact for fact in facts if fact.lines),
    )


def _believes(row: WorkRow) -> bool:
    """Tell whether "original" was written of work or parts without evidence beside it."""
    parts = [part for part in row.parts if not part.evidence]
    texts = [*row.steps, *(text for part in parts for text in (part.part_name, part.words))]
    return not row.evidence and says_original(*texts)


def _closes(sheet: Sheet, at: int, number: int) -> bool:
    """Tell whether no later work served a finding: what became of it is told there, once."""
    return all(number not in later.findings for later in sheet.work[at + 1 :])


def _by(row: WorkRow) -> tuple[str, ...]:
    """Name who did it where they agreed; another shop is always told from this one."""
    if row.outside:
        return tuple(ph.outside(firm) for firm in row.firms) or (w.ANOTHER_SHOP,)
    others = (w.AND_OTHERS if row.people else w.OWN_PEOPLE,) if row.unnamed else ()
    named = [*row.people, *others]
    return (ph.listed(named),) if named else ()


def _material(row: MaterialRow) -> str:
    """Name a material with what was written about its use."""
    named = ", ".join(filter(None, (row.name, row.batch and ph.batch(row.batch))))
    kind = f"{row.material_type} ({named})" if named else row.material_type
    more = row.words if row.words.casefold() != row.material_type.casefold() else ""
    return f"{kind}: {more}" if more else kind


def _part(part: PartRow, say: Saying) -> str:
    """Name a part that was fitted, its origin, and what was written about fitting it."""
    named = f"{say.part_name(part.part_name, part.quantity)}, {origin(part)}"
    return f"{named}: {part.words}" if part.words else named


def _result(row: FindingRow, say: Saying) -> str:
    """Say what became of one finding and when, severity before and after in words."""
    name = ph.finding_named(row.number, row.defect)
    if row.last is None:
        return f"{name}: {w.RESULT_OPEN} ({ph.open_before(ph.severity_found(row.severity))})"
    before = ph.severity_found(row.severity)
    after = ph.severity_at_end(row.severity_now, unseen=row.unseen_at_end)
    change = ph.change(before, after)
    return f"{name}: {ph.term(row.last.ended)}, {say.day(row.last.ended_on)} ({change})"


def _sentence(text: str) -> str:
    """Begin with a capital letter and leave the rest as it is."""
    return text[:1].upper() + text[1:]
