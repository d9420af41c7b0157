"""What stands on the vehicle: surfaces panel by panel, and parts with where they come from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history.layout import Block, Cell, Table, Text
from recondition.history.saying import Saying
from recondition.ledger.lines import Origin

if TYPE_CHECKING:
    from recondition.history.sheet import Sheet
    from recondition.history.work import PartRow


def surfaces(sheet: Sheet) -> tuple[Block, ...]:
    """Set out each panel's surface with the evidence for what is believed about it."""
    if not sheet.panels:
        return (Text((w.NO_PANELS,)),)
    rows = tuple(
        (
            Cell((row.panel,), (w.NO_TOUCH,) if row.no_touch else ()),
            Cell((ph.term(row.substrate),)),
            Cell((ph.term(row.finish),)),
            Cell((ph.term(row.originality),)),
            Cell((row.evidence or w.NO_EVIDENCE,)),
        )
        for row in sheet.panels
    )
    return (Text((w.PANELS_INTRO,)), Table(*w.SURFACES_TABLE, (22, 13, 15, 18, 32), rows))


def parts(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Set out the parts that are on the vehicle, with origin and the removed part's place."""
    if not sheet.parts:
        return (Text((w.NO_PARTS,)),)
    rows = tuple(
        (
            Cell((say.part_name(row.part_name, row.quantity),), (row.panel,) if row.panel else ()),
            Cell((origin(row),), (w.ORIGIN_MEANING[row.origin], *shown_in(row.evidence, say))),
            Cell((_kept(row),)),
            Cell((say.day(row.work_date),), say.late(row.recorded_on)),
        )
        for row in sheet.parts
    )
    return (Table(*w.PARTS_TABLE, (28, 28, 28, 16), rows),)


def origin(part: PartRow) -> str:
    """Name what a part is; "original" alone only where evidence is handed out with the sheet."""
    if part.origin is not Origin.ORIGINAL_RETAINED:
        return ph.term(part.origin)
    return w.WITH_EVIDENCE if part.evidence else w.BELIEVED_RETAINED


def shown_in(numbers: tuple[int, ...], say: Saying) -> tuple[str, ...]:
    """Point at the files that show something; nothing where there are none."""
    return (ph.files(say.numbers(numbers)),) if numbers else ()


def _kept(part: PartRow) -> str:
    """Say where the removed part is; for the vehicle's own part none was taken off."""
    retained = part.origin is Origin.ORIGINAL_RETAINED
    return part.removed_part_kept or (w.NOTHING_TAKEN_OFF if retained else w.NOT_RECORDED)
