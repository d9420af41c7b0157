"""What was measured: first readings beside the last, and tests of the surface."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history.layout import Block, Cell, Table, Text
from recondition.history.measures import DropSet, FilmSet, GlossSet, MeasureRow
from recondition.history.saying import Saying

if TYPE_CHECKING:
    from recondition.history.sheet import Sheet

_WIDTHS = (20, 31, 31, 18)


def measured(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Set out readings by what was measured, then the tests; nothing is left out."""
    if not sheet.measures and not sheet.tests:
        return (Text((w.NO_MEASURED,)),)
    gauges = _gauges(sheet, say)
    ways: tuple[tuple[type[Any], tuple[str, tuple[str, ...]], Callable[..., Cell]], ...] = (
        (FilmSet, w.FILM_TABLE, lambda taken: _film(taken, say, gauges)),
        (GlossSet, w.GLOSS_TABLE, lambda taken: _gloss(taken, say)),
        (DropSet, w.DROPS_TABLE, lambda taken: _drops(taken, say)),
    )
    tables = []
    for kind, heads, shown in ways:
        rows = [row for row in sheet.measures if isinstance(row.first, kind)]
        if rows:
            made = tuple(_row(row, shown, sheet, say) for row in rows)
            tables.append(Table(*heads, _WIDTHS, made))
    checked = tuple(
        (Cell((name,)), Cell((kind,)), Cell((off,)), Cell((check,)))
        for (kind, off, check), name in gauges.items()
    )
    if checked:
        tables.append(Table(*w.GAUGES_TABLE, (12, 24, 20, 44), checked))
    return (Text((w.MEASURED_INTRO,)), *tables, *_tests(sheet, say))


def _gauges(sheet: Sheet, say: Saying) -> dict[tuple[str, str, str], str]:
    """Give each gauge and check of it a letter of its own: most readings share a few."""
    sets = [each for row in sheet.measures for each in (row.first, row.last)]
    found = dict.fromkeys(_gauge(each, say) for each in sets if isinstance(each, FilmSet))
    return {gauge: ph.gauge_name(number) for number, gauge in enumerate(found)}


def _gauge(taken: FilmSet, say: Saying) -> tuple[str, str, str]:
    """Say how a gauge works, how far one reading may be off, and how it was checked."""
    named = f" ({taken.instrument})" if taken.instrument else ""
    kind = f"{ph.term(taken.principle)}{named}" if taken.principle else w.NOT_RECORDED
    off = w.NOT_RECORDED if taken.uncertainty_um is None else f"± {say.film(taken.uncertainty_um)}"
    return kind, off, _checks(taken, say)


def _checks(taken: FilmSet, say: Saying) -> str:
    """Say what the gauge showed on bare metal and on foil, before and after the readings."""
    bare = ((taken.zero_um, w.BEFORE), (taken.zero_after_um, w.AFTER))
    foil = ((taken.foil_read_um, w.BEFORE), (taken.foil_after_um, w.AFTER))
    said = [ph.on_bare_metal(say.film(um), when) for um, when in bare if um is not None]
    if taken.foil_um is not None:
        own = say.film(taken.foil_um)
        said += [ph.on_foil(own, say.film(um), when) for um, when in foil if um is not None]
    return "; ".join(said) or w.GAUGE_UNCHECKED


def _row(
    row: MeasureRow, shown: Callable[..., Cell], sheet: Sheet, say: Saying
) -> tuple[Cell, ...]:
    """Set first and last readings of one place side by side."""
    last = shown(row.last) if row.last else Cell((w.NO_READ_AGAIN,))
    worked = max((each.work_date for each in sheet.work if row.panel in each.panels), default=None)
    if worked is not None and worked > (row.last or row.first).read_on:
        last = Cell(last.lines, (*last.notes, ph.read_before_work(say.day(worked))))
    place = Cell((row.panel,), (row.place,) if row.place else ())
    return (place, shown(row.first), last, _change(row, say))


def _change(row: MeasureRow, say: Saying) -> Cell:
    """Give the change of the mean, only where one named place was read twice."""
    first, last = row.first, row.last
    if last is None:
        return Cell((w.NOTHING_TAKEN_OFF,))
    if row.place is not None:
        match first, last:
            case FilmSet(), FilmSet():
                change = last.mean_um - first.mean_um
                off = max(first.uncertainty_um or 0, last.uncertainty_um or 0)
                return _signed(change, say.film, within=abs(change) <= off)
            case GlossSet(), GlossSet():
                return _signed(last.mean_gu - first.mean_gu, lambda gu: f"{say.number(gu, 1)} GU")
            case DropSet(), DropSet():
                return _signed(last.mean_deg - first.mean_deg, lambda deg: f"{say.number(deg, 1)}°")
    return Cell((w.NOT_THE_SAME_PLACE,))


def _signed(change: Decimal, shown: Callable[[Decimal], str], *, within: bool = False) -> Cell:
    """Say by how much it is more or less, in words rather than by a sign."""
    if not change:
        return Cell((w.NO_CHANGE,))
    told = f"{shown(abs(change))} {w.MORE if change > 0 else w.LESS}"
    return Cell((told,), (w.WITHIN,) if within else ())


def _when(taken: FilmSet | GlossSet | DropSet, say: Saying) -> tuple[str, ...]:
    """Say when it was read, in which step, and what was written about it."""
    step = " ".join(filter(None, (ph.term(taken.when) if taken.when else "", taken.step)))
    told = (say.day(taken.read_on), step, taken.words, *say.late(taken.recorded_on))
    return tuple(text for text in told if text)


def _film(taken: FilmSet, say: Saying, gauges: Mapping[tuple[str, str, str], str]) -> Cell:
    """Give lowest and mean of film readings, their number, and the letter of their gauge."""
    mean = ph.mean(say.film(taken.mean_um), ph.readings(taken.count))
    gauge = ph.read_with(gauges[_gauge(taken, say)])
    return Cell((ph.lowest(say.film(taken.lowest_um)), mean), (*_when(taken, say), gauge))


def _gloss(taken: GlossSet, say: Saying) -> Cell:
    """Give the mean gloss with its angle."""
    mean = f"{say.number(taken.mean_gu, 1)} GU / {taken.angle}°"
    return Cell((ph.mean(mean, ph.readings(taken.count)),), (*_when(taken, say), w.NO_UNCERTAINTY))


def _drops(taken: DropSet, say: Saying) -> Cell:
    """Give the mean angle of drops with its spread."""
    mean = f"{say.number(taken.mean_deg, 1)}° ± {say.number(taken.spread_deg, 1)}°"
    return Cell((ph.mean(mean, ph.drops(taken.count)),), _when(taken, say))


def _tests(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Set out the tests of the surface with their answers."""
    rows = tuple(
        (
            Cell((row.panel,), (row.place,) if row.place else ()),
            Cell((ph.term(row.test),)),
            Cell((row.answer,), (row.words,) if row.words else ()),
            Cell((say.day(row.tested_on),), say.late(row.recorded_on)),
        )
        for row in sheet.tests
    )
    return (Table(*w.TESTS_TABLE, (25, 25, 32, 18), rows),) if rows else ()
