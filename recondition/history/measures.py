"""What was measured, before and after: film, gloss and drop readings, and surface tests.

First and last readings stand side by side for each place of a panel; "after" is only said of
the same place (ISO 2360 asks for minimum, mean and count; the choice of first against last is
common practice, no source). The spread of one reading is the gauge's own uncertainty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from recondition.condition.film import Placed, Principle, figures, um
from recondition.condition.findings import When
from recondition.condition.gloss import ANGLES
from recondition.condition.identification import NOT_DONE, IdentificationTest
from recondition.condition.water import drops
from recondition.history.late import recorded_late
from recondition.history.public import project

if TYPE_CHECKING:
    from recondition.history.allowed import Allowed
    from recondition.history.source import Source
    from recondition.ledger.drafts import Stored

_TENTH = Decimal("0.1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """When a set of readings was taken, in which step, and what was written about it."""

    read_on: date
    step: str | None
    when: When | None
    words: str | None
    recorded_on: date | None
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSet(Taken):
    """Readings of the total film at one place, in micrometres, and how the gauge was checked.

    ``zero_um`` and the others are what it showed on bare metal and on a foil of known
    thickness, before and after the readings; None where that was not done.
    """

    lowest_um: Decimal
    mean_um: Decimal
    uncertainty_um: Decimal | None
    principle: Principle | None
    instrument: str | None
    zero_um: Decimal | None
    foil_um: Decimal | None
    foil_read_um: Decimal | None
    zero_after_um: Decimal | None
    foil_after_um: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GlossSet(Taken):
    """Readings of gloss at one place: their mean in gloss units at ``angle`` degrees."""

    mean_gu: Decimal
    angle: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DropSet(Taken):
    """Drops at one place: the mean of their contact angles in degrees, and its spread."""

    mean_deg: Decimal
    spread_deg: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureRow:
    """First and last readings of one kind at one place; ``last`` is None if read once."""

    number: int
    panel: str
    place: str | None
    first: FilmSet | GlossSet | DropSet
    last: FilmSet | GlossSet | DropSet | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestRow:
    """One identification test with its answer."""

    panel: str
    place: str | None
    test: IdentificationTest
    answer: str
    tested_on: date
    words: str | None
    recorded_on: date | None

    __test__ = False  # not a test of ours, whatever its name looks like


def measures_of(source: Source, allowed: Allowed) -> tuple[MeasureRow, ...]:
    """Set first and last readings side by side, film first, panel by panel as first read."""
    makers: dict[str, Callable[..., FilmSet | GlossSet | DropSet]] = {
        "film reading": _film,
        "gloss reading": _gloss,
        "drop reading": _drop,
    }
    groups: dict[tuple[Any, ...], list[Stored[Any]]] = {}
    for kind in makers:
        for each in source.readings:
            if each.kind == kind:
                entry = each.entry
                unit = getattr(entry, "unit", "") if kind == "gloss reading" else ""
                place = " ".join((entry.place or "").casefold().split())
                groups.setdefault((kind, entry.panel, place, unit), []).append(each)
    rows = []
    for number, ((kind, panel, _, _), found) in enumerate(groups.items(), start=1):
        first, *later = sorted(found, key=_moment)
        make = makers[kind]
        rows.append(
            MeasureRow(
                number=number,
                panel=panel,
                place=project(kind, first.entry)["place"],
                first=make(source, allowed, first),
                last=make(source, allowed, later[-1]) if later else None,
            )
        )
    return tuple(rows)


def _moment(each: Stored[Any]) -> tuple[date, int, int]:
    """Order readings in time: by day, before or after a step, then as recorded."""
    placed = Placed(each.entry, Decimal(0), each.sequence)
    return (*placed.moment, each.sequence)


def _taken(each: Stored[Any], public: dict[str, Any], count: int) -> dict[str, Any]:
    """Give what every set of readings says of itself."""
    same = ("read_on", "step", "when", "words")
    late = recorded_late(each, each.entry.read_on)
    return {name: public[name] for name in same} | {"recorded_on": late, "count": count}


def _film(source: Source, allowed: Allowed, each: Stored[Any]) -> FilmSet:
    """Give the figures of one set of film readings."""
    public = project("film reading", each.entry)
    found = figures(each.entry.in_um)
    gauge = source.instruments.get(each.entry.instrument)
    own = project("instrument", gauge.entry) if gauge else None
    checks = ("zero", "foil", "foil_read", "zero_after", "foil_after")
    checked: dict[str, Any] = {
        f"{name}_um": None if public[name] is None else um(public[name]) for name in checks
    }
    return FilmSet(
        lowest_um=_tenth(found.lowest_um),
        mean_um=_tenth(found.mean_um),
        uncertainty_um=um(own["uncertainty"]) if own else None,
        principle=own["principle"] if own else None,
        instrument=allowed.instrument(each.entry.instrument),
        **checked,
        **_taken(each, public, found.count),
    )


def _gloss(_source: Source, _allowed: Allowed, each: Stored[Any]) -> GlossSet:
    """Give the mean of one set of gloss readings at its angle."""
    public = project("gloss reading", each.entry)
    return GlossSet(
        mean_gu=_tenth(each.entry.mean),
        angle=ANGLES[public["unit"]],
        **_taken(each, public, len(public["readings"])),
    )


def _drop(_source: Source, _allowed: Allowed, each: Stored[Any]) -> DropSet:
    """Give the mean angle of one set of drops."""
    public = project("drop reading", each.entry)
    found = drops(public["heights"], public["widths"])
    return DropSet(
        mean_deg=_tenth(found.mean_deg),
        spread_deg=_tenth(found.margin_deg),
        **_taken(each, public, found.count),
    )


def tests_of(readings: Iterable[Stored[Any]]) -> tuple[TestRow, ...]:
    """Give the surface tests that were made, by day; one that was not done is none."""
    found = [
        TestRow(
            recorded_on=recorded_late(each, each.entry.tested_on),
            **project("surface test", each.entry),
        )
        for each in readings
        if each.kind == "surface test" and each.entry.answer != NOT_DONE
    ]
    return tuple(sorted(found, key=lambda row: row.tested_on))


def _tenth(value: Decimal) -> Decimal:
    """Round to a tenth, half away from zero."""
    return value.quantize(_TENTH, ROUND_HALF_UP)
