"""What was found: on arrival and later, how it ended, what was left, remains or was not seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.condition.defects import MATERIAL_OF
from recondition.condition.findings import Stage
from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history.layout import Block, Cell, Scale, Table, Text
from recondition.history.remarks import says_original
from recondition.history.saying import Saying

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.history.sheet import Ending, FindingRow, Sheet


def found(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Set out the findings made on arrival, and those made later in a table of their own."""
    if not sheet.findings:
        return (Text((w.NO_FINDINGS,)),)
    arrival = [row for row in sheet.findings if row.stage is Stage.ARRIVAL]
    later = [row for row in sheet.findings if row.stage is not Stage.ARRIVAL]
    tables = (
        _findings(w.FOUND_TABLE[0], arrival, sheet, say) if arrival else None,
        _findings(w.FOUND_LATER, later, sheet, say) if later else None,
    )
    return (Text((w.CONDITION_INTRO,)), *(table for table in tables if table))


def _findings(caption: str, rows: Iterable[FindingRow], sheet: Sheet, say: Saying) -> Table:
    """Set out findings as they were made."""
    cells = tuple(
        (
            Cell((str(row.number),)),
            place(row),
            _defect(row, sheet),
            Cell((ph.severity_found(row.severity),)),
            Cell((say.extent(row.extent, row.extent_kind) or w.NOT_RECORDED,)),
            _found(row, say),
        )
        for row in rows
    )
    return Table(caption, w.FOUND_TABLE[1], (5, 20, 32, 17, 12, 14), cells)


def place(row: FindingRow) -> Cell:
    """Name the panel, its area and the spot on it."""
    area = () if row.area == row.panel else (ph.term(row.area),)
    return Cell((row.panel,), (*area, *((row.spot,) if row.spot else ())))


def _defect(row: FindingRow, sheet: Sheet) -> Cell:
    """Name what is wrong, on what, in the words of who saw it."""
    material = _on(row, sheet) if row.material else ""
    belief = w.ORIGINAL_BELIEVED if says_original(row.defect, row.words) else None
    return Cell((row.defect,), tuple(text for text in (row.words, material, belief) if text))


def _on(row: FindingRow, sheet: Sheet) -> str:
    """Say what a place is made of, and where its panel is recorded as something else."""
    said = ph.on_material(row.material or "")
    finish = next((each.finish for each in sheet.panels if each.panel == row.panel), None)
    panel = MATERIAL_OF.get(finish) if finish else None
    if finish is None or panel in (None, row.material) or row.material not in MATERIAL_OF.values():
        return said
    return ph.on_another(said, finish)


def _found(row: FindingRow, say: Saying) -> Cell:
    """Say when it was found, at what stage where that is not arrival, and by what light."""
    stage = () if row.stage is Stage.ARRIVAL else (w.STAGE_WORDS[row.stage],)
    lamp = (ph.lamp(row.lamp),) if row.lamp else ()
    return Cell((say.day(row.found_on),), (*stage, *lamp, *say.late(row.recorded_on)))


def before_after(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Set every finding's severity before beside the one after, with how it ended."""
    if not sheet.findings:
        return (Text((w.NO_FINDINGS,)),)
    rows = tuple(
        (
            Cell((str(row.number),)),
            Cell((f"{row.panel}: {row.defect}",)),
            _change(row),
            _end(row, say),
        )
        for row in sheet.findings
    )
    table = Table(*w.ENDED_TABLE, (5, 28, 31, 36), rows)
    return (Text((w.BEFORE_AFTER_INTRO,)), table)


def _change(row: FindingRow) -> Cell:
    """Give severity before and as it stands, in words and as marks on a scale."""
    before = ph.before(ph.severity_found(row.severity))
    now = row.severity_now
    if row.severity is None and now is None:
        return Cell((before,))
    if row.last is None:
        return Cell((before,), scale=Scale(row.severity, None))
    after = ph.after(ph.severity_at_end(now, unseen=row.unseen_at_end))
    return Cell((before, after), scale=Scale(row.severity, None if row.unseen_at_end else now))


def _end(row: FindingRow, say: Saying) -> Cell:
    """Say how a finding ended; earlier outcomes that said something else stand below."""
    if row.last is None:
        return Cell((_open(row),))
    earlier = (ph.earlier_outcome(_one_line(ending, say)) for ending in reversed(row.endings[:-1]))
    head = f"{ph.term(row.last.ended)}, {say.day(row.last.ended_on)}"
    belief = w.ORIGINAL_BELIEVED if says_original(row.last.words, row.last.reason) else None
    said = (text for text in (row.last.words, row.last.reason, belief) if text)
    return Cell((head,), (*said, *say.late(row.last.recorded_on), *earlier))


def _open(row: FindingRow) -> str:
    """Say what an open finding is: untouched, or worked on without a recorded result."""
    if row.not_inspected:
        return w.SUMMARY["unseen"]
    if row.worked_on:
        return w.WORKED_ON
    return w.NOTHING_TO_DO if row.severity == 0 else w.NOT_WORKED_ON


def _one_line(ending: Ending, say: Saying) -> str:
    """Tell an earlier outcome in one line, with the severity it gave."""
    after = (
        "" if ending.severity_after is None else ph.of_severity(ph.severity(ending.severity_after))
    )
    said = (after, ending.words, ending.reason, *say.late(ending.recorded_on))
    tail = "; ".join(text for text in said if text)
    head = f"{say.day(ending.ended_on)}: {ph.term(ending.ended)}"
    return f"{head} ({tail})" if tail else head


def left_alone(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Give what was left as it is, with the reason."""
    rows = tuple(
        (
            Cell((str(row.number),)),
            place(row),
            Cell((row.defect,), (ph.severity_line(ph.severity(row.severity_now)),)),
            Cell((row.last.reason or w.NOT_RECORDED,), (row.last.words,) if row.last.words else ()),
            Cell((say.day(row.last.ended_on),), say.late(row.last.recorded_on)),
        )
        for row in sheet.findings
        if row.left_alone and row.last
    )
    if not rows:
        return (Text((w.NO_LEFT_ALONE,)),)
    table = Table(*w.LEFT_TABLE, (5, 20, 24, 36, 15), rows)
    return (Text((w.LEFT_ALONE_INTRO,)), table)


def remaining(sheet: Sheet) -> tuple[Block, ...]:
    """List the faults known to remain, as fully as the repairs."""
    rows = tuple(
        (
            Cell((str(row.number),)),
            place(row),
            _defect(row, sheet),
            Cell((ph.severity(row.severity_now),), (w.AS_FOUND,) if row.unseen_at_end else ()),
            _standing(row),
        )
        for row in sheet.findings
        if row.remains
    )
    if not rows:
        return (Text((w.NO_REMAINING,)),)
    table = Table(*w.REMAINING_TABLE, (5, 22, 35, 20, 18), rows)
    return (Text((w.REMAINING_INTRO,)), table)


def _standing(row: FindingRow) -> Cell:
    """Say how a remaining fault stands; of one nobody looked at again, that and why."""
    if row.last is None:
        return Cell((_open(row),))
    if row.unseen_at_end:
        return Cell((w.UNSEEN_AT_END,), (row.last.reason,) if row.last.reason else ())
    return Cell((ph.term(row.last.ended),))


def not_inspected(sheet: Sheet) -> tuple[Block, ...]:
    """List what nobody looked at, which is not the same as no fault found."""
    rows = tuple(
        (
            Cell((str(row.number),)),
            place(row),
            _defect(row, sheet),
            Cell(((row.last and row.last.reason) or w.NO_REASON,)),
        )
        for row in sheet.findings
        if row.not_inspected
    )
    if not rows:
        return (Text((w.NO_NOT_INSPECTED,)),)
    table = Table(*w.UNSEEN_TABLE, (5, 25, 35, 35), rows)
    return (Text((w.NOT_INSPECTED_INTRO,)), table)
