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
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from recondition.history.late import recorded_late
from recondition.history.public import PUBLIC, by_consent, project
from recondition.history.records import Shows
from recondition.ledger.lines import Consumable, LineKind, Origin, Part, PartState, Purpose, Use

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from recondition.amounts import Quantity
    from recondition.history.allowed import Allowed
    from recondition.ledger.drafts import Stored

_HUNDREDTH = Decimal("0.01")
ON_THE_VEHICLE = frozenset({Purpose.RECONDITIONING, Purpose.SPOILAGE})


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part, what it is, and where the one it took the place of is kept.

    ``evidence`` are numbers of files on this sheet that show or prove it.
    """

    work_date: date
    words: str
    panel: str | None
    operation: str | None
    part_name: str
    quantity: Quantity
    origin: Origin
    part_state: PartState
    removed_part_kept: str | None
    evidence: tuple[int, ...]
    recorded_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """A consumable by its generic type, with what was written about its use.

    ``name`` and ``batch`` of the product only where product names may be shown.
    """

    material_type: str
    words: str
    name: str | None
    batch: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRow:
    """What was done on one day to one place.

    ``steps`` are the words of labour and bought-in work. ``spoiled`` are the words of parts
    that were spoiled: all that is shown of them. ``findings`` are numbers of this sheet.
    ``outside`` says that another shop did it. ``recorded_on`` is the latest day of recording
    where an entry was late. ``people``, ``firms`` and ``hours`` (hands-on) are there only by
    consent; ``unnamed`` says that others worked on it besides. ``evidence`` are numbers of files.
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
    people: tuple[str, ...]
    unnamed: bool
    firms: tuple[str, ...]
    hours: Decimal | None
    evidence: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Numbers:
    """Numbers of this sheet: ``findings`` and ``files`` by id, and a finding's ``panels``."""

    findings: Mapping[str, int]
    panels: Mapping[int, str]
    files: Mapping[str, int]


def standing_work(lines: Iterable[Stored[Any]]) -> list[Stored[Any]]:
    """Give the lines that show, by work date and then as they were posted."""
    shown = [line for line in lines if _stands(line) and is_work(line)]
    return sorted(shown, key=lambda line: (line.entry.work_date, line.sequence))


def _stands(line: Stored[Any]) -> bool:
    """Tell whether a line is neither taken back nor takes one back."""
    return line.kind in PUBLIC and line.reverses is None and line.reversed_by is None


def is_work(line: Stored[Any]) -> bool:
    """Tell whether a line is about the vehicle itself rather than about moving or selling it.

    What was thrown away never came onto it.
    """
    entry = line.entry
    if isinstance(entry, Consumable) and entry.use is Use.WASTED:
        return False
    return bool(entry.links or entry.panel or entry.purpose in ON_THE_VEHICLE)


def parts_on(lines: Iterable[Stored[Any]], files: Mapping[str, int]) -> tuple[PartRow, ...]:
    """Give the parts that are on the vehicle; a spoiled one is not."""
    return tuple(_part(line, files) for line in lines if _is_part(line, PartState.FITTED))


def _is_part(line: Stored[Any], state: PartState) -> bool:
    """Tell whether a line is a part that came to this end."""
    return isinstance(line.entry, Part) and line.entry.part_state is state


def _part(line: Stored[Any], files: Mapping[str, int]) -> PartRow:
    """Make the row of one part line."""
    late = recorded_late(line, line.entry.work_date)
    return PartRow(recorded_on=late, evidence=_shown(line, files), **project("part", line.entry))


def _shown(line: Stored[Any], files: Mapping[str, int]) -> tuple[int, ...]:
    """Give the numbers of the files of a line that are handed out."""
    return tuple(sorted(files[each] for each in line.entry.documents if each in files))


def work_rows(
    lines: Sequence[Stored[Any]],
    allowed: Allowed,
    numbers: Numbers,
    products: Mapping[str, Stored[Any]],
) -> tuple[WorkRow, ...]:
    """Put lines together that belong to one entry, in order of date.

    A line that names no panel is about those of its findings.
    """
    groups: defaultdict[tuple[Any, ...], list[Stored[Any]]] = defaultdict(list)
    for line in lines:
        found = tuple(sorted(numbers.findings[link.finding] for link in line.entry.links))
        own = project(line.kind, line.entry)
        panels = (own["panel"],) if own["panel"] else _each_once(numbers.panels[n] for n in found)
        outside = line.kind == LineKind.SUBLET
        groups[own["work_date"], panels, found, outside].append(line)
    return tuple(_row(key, group, allowed, numbers, products) for key, group in groups.items())


def _row(
    key: tuple[Any, ...],
    group: list[Stored[Any]],
    allowed: Allowed,
    numbers: Numbers,
    products: Mapping[str, Stored[Any]],
) -> WorkRow:
    """Make one entry of the lines that belong together."""
    work_date, panels, found, outside = key
    own = [(line.kind, project(line.kind, line.entry)) for line in group]
    late = [recorded_late(line, work_date) for line in group]
    labour = [line for line in group if line.kind == LineKind.LABOUR]
    hands = (LineKind.LABOUR, LineKind.SUBLET)
    named = [allowed.person(line.entry.person) for line in labour]
    spoiled = [line for line in group if _is_part(line, PartState.SPOILED)]
    return WorkRow(
        work_date=work_date,
        recorded_on=max((day for day in late if day), default=None),
        panels=panels,
        operations=_each_once(public["operation"] for _, public in own),
        steps=_each_once(public["words"] for kind, public in own if kind in hands),
        materials=tuple(
            _material(line, allowed, products) for line in group if line.kind == LineKind.CONSUMABLE
        ),
        parts=parts_on(group, numbers.files),
        spoiled=tuple(project(line.kind, line.entry)["words"] for line in spoiled),
        outside=outside,
        findings=found,
        people=_each_once(named),
        unnamed=None in named,
        firms=_each_once(allowed.firm(getattr(line.entry, "supplier", None)) for line in group),
        hours=_hours(labour) if allowed.hours and labour else None,
        evidence=tuple(sorted({n for line in group for n in _shown(line, numbers.files)})),
    )


def _hours(labour: list[Stored[Any]]) -> Decimal:
    """Add up the hands-on hours of labour lines, exact to a hundredth of an hour."""
    hours = [by_consent(Shows.HOURS, line.kind, line.entry)["quantity"].to("h") for line in labour]
    whole = sum(hours, Fraction(0))
    return (Decimal(whole.numerator) / Decimal(whole.denominator)).quantize(_HUNDREDTH)


def _material(
    line: Stored[Any], allowed: Allowed, products: Mapping[str, Stored[Any]]
) -> MaterialRow:
    """Name a consumable by the generic type of its product, by more only where agreed."""
    public = project("product", products[line.entry.product].entry)
    name, batch = allowed.product(line)
    words = project(line.kind, line.entry)["words"]
    return MaterialRow(words=words, name=name, batch=batch, **public)


def _each_once(texts: Iterable[str | None]) -> tuple[str, ...]:
    """Give the texts that are not empty, each once, in the order they came."""
    return tuple(dict.fromkeys(text for text in texts if text))
