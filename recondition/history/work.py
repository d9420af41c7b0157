"""The work that stands on a vehicle, in order of date, and the parts that are on it.

A line shows when it stands (neither reversed nor a reversal) and is about the vehicle
itself: its purpose is reconditioning or spoilage, or it names a panel or a finding whatever
account its cost goes to. Freight, duty, storage and fees are charges and never show. What was
done on one day to one place for the same findings is one entry with its materials beside it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from recondition.history.late import recorded_late
from recondition.history.public import PUBLIC, project
from recondition.ledger.lines import Consumable, LineKind, Origin, Part, PartState, Purpose, Use

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from recondition.amounts import Quantity
    from recondition.ledger.drafts import Stored

ON_THE_VEHICLE = frozenset({Purpose.RECONDITIONING, Purpose.SPOILAGE})


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part, what it is, and where the one it took the place of is kept."""

    work_date: date
    words: str
    panel: str | None
    operation: str | None
    part_name: str
    quantity: Quantity
    origin: Origin
    part_state: PartState
    removed_part_kept: str | None
    recorded_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """A consumable by its generic type, with what was written about its use."""

    material_type: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRow:
    """What was done on one day to one place.

    ``steps`` are the words of labour and bought-in work. ``spoiled`` are the words of parts
    that were spoiled: all that is shown of them. ``findings`` are numbers of this sheet.
    ``outside`` says that another shop did it. ``recorded_on`` is the latest day of recording
    where an entry was late.
    """

    work_date: date
    recorded_on: date | None
    panels: tuple[str, ...]
    operations: tuple[str, ...]
    steps: tuple[str, ...]
    materials: tuple[MaterialRow, ...]
    parts: tuple[PartRow, ...]
    spoiled: tuple[str, ...]
    outside: bool
    findings: tuple[int, ...]


def standing_work(lines: Iterable[Stored[Any]]) -> list[Stored[Any]]:
    """Give the lines that show, by work date and then as they were posted."""
    shown = [line for line in lines if _stands(line) and _is_work(line)]
    return sorted(shown, key=lambda line: (line.entry.work_date, line.sequence))


def _stands(line: Stored[Any]) -> bool:
    """Tell whether a line is neither taken back nor takes one back."""
    return line.kind in PUBLIC and line.reverses is None and line.reversed_by is None


def _is_work(line: Stored[Any]) -> bool:
    """Tell whether a line is about the vehicle itself rather than about moving or selling it.

    What was thrown away never came onto it.
    """
    entry = line.entry
    if isinstance(entry, Consumable) and entry.use is Use.WASTED:
        return False
    return bool(entry.links or entry.panel or entry.purpose in ON_THE_VEHICLE)


def parts_on(lines: Iterable[Stored[Any]]) -> tuple[PartRow, ...]:
    """Give the parts that are on the vehicle; a spoiled one is not."""
    return tuple(_part(line) for line in lines if _is_part(line, PartState.FITTED))


def _is_part(line: Stored[Any], state: PartState) -> bool:
    """Tell whether a line is a part that came to this end."""
    return isinstance(line.entry, Part) and line.entry.part_state is state


def _part(line: Stored[Any]) -> PartRow:
    """Make the row of one part line."""
    late = recorded_late(line, line.entry.work_date)
    return PartRow(recorded_on=late, **project("part", line.entry))


def work_rows(
    lines: Sequence[Stored[Any]],
    products: Mapping[str, Stored[Any]],
    numbers: Mapping[str, int],
    panel_of: Mapping[int, str],
) -> tuple[WorkRow, ...]:
    """Put lines together that belong to one entry, in order of date.

    ``numbers`` gives a finding's number on the sheet by its id, ``panel_of`` the panel by
    that number: a line that names no panel is about those of its findings.
    """
    groups: defaultdict[tuple[Any, ...], list[Stored[Any]]] = defaultdict(list)
    for line in lines:
        found = tuple(sorted(numbers[link.finding] for link in line.entry.links))
        own = project(line.kind, line.entry)
        panels = (own["panel"],) if own["panel"] else _each_once(panel_of[n] for n in found)
        outside = line.kind == LineKind.SUBLET
        groups[own["work_date"], panels, found, outside].append(line)
    return tuple(_row(key, group, products) for key, group in groups.items())


def _row(
    key: tuple[Any, ...], group: list[Stored[Any]], products: Mapping[str, Stored[Any]]
) -> WorkRow:
    """Make one entry of the lines that belong together."""
    work_date, panels, found, outside = key
    own = [(line.kind, project(line.kind, line.entry)) for line in group]
    late = [recorded_late(line, work_date) for line in group]
    hands = (LineKind.LABOUR, LineKind.SUBLET)
    return WorkRow(
        work_date=work_date,
        recorded_on=max((day for day in late if day), default=None),
        panels=panels,
        operations=_each_once(public["operation"] for _, public in own),
        steps=_each_once(public["words"] for kind, public in own if kind in hands),
        materials=tuple(
            _material(line, products) for line in group if line.kind == LineKind.CONSUMABLE
        ),
        parts=parts_on(group),
        spoiled=tuple(
            project(line.kind, line.entry)["words"]
            for line in group
            if _is_part(line, PartState.SPOILED)
        ),
        outside=outside,
        findings=found,
    )


def _material(line: Stored[Any], products: Mapping[str, Stored[Any]]) -> MaterialRow:
    """Name a consumable by the generic type of its product, never by the product."""
    public = project("product", products[line.entry.product].entry)
    return MaterialRow(words=project(line.kind, line.entry)["words"], **public)


def _each_once(texts: Iterable[str | None]) -> tuple[str, ...]:
    """Give the texts that are not empty, each once, in the order they came."""
    return tuple(dict.fromkeys(text for text in texts if text))
