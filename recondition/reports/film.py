"""Film tables: each panel's figures and headroom, every set of readings, before and after."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from recondition.amounts import Quantity
from recondition.book import Connection, reading
from recondition.book.questions import vehicle_of
from recondition.book.surfaces import job_sheet
from recondition.condition.film import (
    Figures,
    FilmReading,
    Headroom,
    Placed,
    figures,
    in_mil,
    latest,
    removed,
    shown,
    um,
)
from recondition.condition.panels import Substrate
from recondition.condition.pattern import remarks
from recondition.condition.sampling import Judged, judge, sample, spot_limits
from recondition.errors import Refused
from recondition.ledger.jobsheet import JobSheet
from recondition.reports.lists_bench import step_words
from recondition.reports.table import Cell, CellKind, Column, Table

NUMBER, INTEGER = CellKind.NUMBER, CellKind.INTEGER
TOTAL_FILM = (
    "Total film: primer, colour and clear together. A gauge on metal cannot tell how much of it "
    "is clear."
)
_TENTH = Decimal("0.1")
_RANGE = re.compile(r"\s*([\d.]+)\s*/\s*([\d.]+)\s*(um|mil)\s*")


class NotARange(Refused):
    """A range of film that is not two figures with a unit."""

    exit_status = 2

    def __init__(self, typed: str) -> None:
        """Show it and how one is written."""
        super().__init__(f"{typed!r} is no range", todo="Write 100/200um or 8/12mil.")


def tenth(value: Decimal | None) -> Decimal | None:
    """Round to a tenth for a table, half away from zero."""
    return value.quantize(_TENTH, ROUND_HALF_UP) if value is not None else None


@dataclass(frozen=True, slots=True)
class PanelFilm:
    """What is known of one panel's film: the last readings at every place, and headroom."""

    panel: str
    found: Figures
    room: Headroom | None
    sets: tuple[Placed, ...]
    remark: str = ""


def panel_films(sheet: JobSheet, times: Decimal) -> list[PanelFilm]:
    """Give the film of every panel that was read, in the order of the body's panels."""
    order = {name: place for place, name in enumerate(sheet.body.panels())}
    names = sorted(sheet.sets, key=lambda name: (order.get(name, len(order)), name))
    now = {name: tuple(latest(sheet.sets[name]).values()) for name in names}
    found = {
        name: figures(value for each in sets for value in each.reading.in_um)
        for name, sets in now.items()
    }
    said = remarks(found, times)
    return [
        PanelFilm(name, found[name], sheet.room(name), now[name], said.get(name, ""))
        for name in names
    ]


def tables(conn: Connection, vehicle: str, wanted: str | None = None) -> list[Table]:
    """Give the film tables of a vehicle. Raises NotThere, NotARange."""
    sheet = job_sheet(conn, vehicle_of(conn, vehicle).id)
    films = panel_films(sheet, reading.settings_of(conn).film_stands_out)
    made = [
        by_panel(sheet, films),
        remarks_table(films),
        sets_table(sheet, conn),
        changes_table(sheet),
    ]
    if wanted is not None:
        made.append(_judged(films, wanted))
    return made


def by_panel(sheet: JobSheet, films: Iterable[PanelFilm]) -> Table:
    """Give one row a panel: lowest, mean, spread, count, headroom, remark."""
    rows: list[tuple[Cell, ...]] = []
    for film in films:
        own = sheet.panels.get(film.panel)
        made_of = own.substrate.value if own else Substrate.UNKNOWN.value
        found = film.found
        room = tenth(film.room.um) if film.room else None
        why = "stands out" if film.remark else ""
        if film.room is None:
            why = "no floor is set"
        rows.append((film.panel, made_of, tenth(found.lowest_um), in_mil(found.lowest_um),
                     tenth(found.mean_um), tenth(found.deviation_um), found.count, room,
                     why))  # fmt: skip
    columns = (
        Column("panel", "Panel"),
        Column("made_of", "Made of"),
        Column("lowest", "Lowest, um", NUMBER),
        Column("mil", "Lowest, mil", NUMBER),
        Column("mean", "Mean, um", NUMBER),
        Column("deviation", "Sd, um", NUMBER),
        Column("count", "Readings", INTEGER),
        Column("room", "Headroom, um", NUMBER),
        Column("remark", "Remark"),
    )
    return Table("Film by panel", columns, tuple(rows), TOTAL_FILM)


def remarks_table(films: Iterable[PanelFilm]) -> Table:
    """Give each remark on the pattern of the film, with its evidence."""
    rows = tuple((film.panel, film.remark) for film in films if film.remark)
    columns = (Column("panel", "Panel"), Column("remark", "Remark"))
    return Table("Remarks on the film", columns, rows)


def _check_words(entry: FilmReading) -> str:
    """Say how the gauge was checked around a set of readings."""
    before = entry.zero is not None and entry.foil_read is not None
    after = entry.zero_after is not None and entry.foil_after is not None
    if before and after:
        return "zero and foil, before and after"
    if before or after:
        return "zero and foil, " + ("before" if before else "after")
    some = (entry.zero, entry.foil_read, entry.zero_after, entry.foil_after)
    return "in part" if any(each is not None for each in some) else "not checked"


def sets_table(sheet: JobSheet, conn: Connection, *, first_only: bool = False) -> Table:
    """List sets of readings with place, step, and how the gauge was checked.

    ``first_only`` keeps the first set at each place: how the car came.
    """
    names = reading.refs_by_id(conn, ("instrument",))
    rows = tuple(
        (each.ref, panel, each.reading.place or "", step_words(each.reading),
         each.reading.read_on, " ".join(shown(value) for value in each.reading.in_um),
         names.get(each.reading.instrument, ""), _check_words(each.reading))
        for panel, sets in sheet.sets.items()
        for each in (_firsts(sets) if first_only else sets)
    )  # fmt: skip
    columns = (
        Column("ref", "Set"),
        Column("panel", "Panel"),
        Column("place", "Place"),
        Column("step", "Step"),
        Column("read_on", "Read", CellKind.DATE),
        Column("values", "Readings, um"),
        Column("instrument", "Gauge"),
        Column("check", "Gauge check"),
    )
    return Table("Readings", columns, rows)


def _firsts(sets: Iterable[Placed]) -> list[Placed]:
    """Give the first set of readings at each place."""
    found: dict[str | None, Placed] = {}
    for each in sorted(sets, key=lambda placed: (*placed.moment, placed.order)):
        found.setdefault(each.place, each)
    return list(found.values())


def changes_table(sheet: JobSheet) -> Table:
    """Compare first and last readings, only at places that were read twice."""
    rows: list[tuple[Cell, ...]] = []
    for panel, sets in sheet.sets.items():
        for place in {each.place: None for each in sets}:
            here = [each for each in sets if each.place == place]
            if place is None or len(here) == 1:
                continue
            here.sort(key=lambda each: (*each.moment, each.order))
            first, last = (figures(each.reading.in_um) for each in (here[0], here[-1]))
            named, began = here[0].reading.place, here[0].reading.read_on
            rows.append((panel, named, began, tenth(first.mean_um),
                         here[-1].reading.read_on, tenth(last.mean_um),
                         tenth(removed(here)), tenth(last.lowest_um)))  # fmt: skip
    columns = (
        Column("panel", "Panel"),
        Column("place", "Place"),
        Column("before_on", "First", CellKind.DATE),
        Column("before", "Mean then, um", NUMBER),
        Column("after_on", "Last", CellKind.DATE),
        Column("after", "Mean now, um", NUMBER),
        Column("removed", "Removed, um", NUMBER),
        Column("lowest", "Lowest now, um", NUMBER),
    )
    note = "Before and after are compared only at the same place."
    return Table("Film before and after", columns, tuple(rows), note)


def _range(wanted: str) -> tuple[Decimal, Decimal]:
    """Read a range as micrometres. Raises NotARange."""
    match = _RANGE.fullmatch(wanted)
    if match is None:
        raise NotARange(wanted)
    low, high = (um(Quantity.of(match[each], match[3])) for each in (1, 2))
    if low > high:
        raise NotARange(wanted)
    return low, high


def _judged(films: Iterable[PanelFilm], wanted: str) -> Table:
    """Hold every panel against a range: its places are the spots."""
    low, high = _range(wanted)
    rows: list[tuple[Cell, ...]] = []
    for film in films:
        spots = [figures(each.reading.in_um).mean_um for each in film.sets]
        found: Judged = judge(spots, low, high)
        outside = ", ".join(shown(spot) for spot in found.outside)
        said = "in the range" if found.fits else "not in the range"
        rows.append((film.panel, len(spots), tenth(found.mean_um), said, outside))
    spot_low, spot_high = spot_limits(low, high)
    columns = (
        Column("panel", "Panel"),
        Column("spots", "Spots", INTEGER),
        Column("mean", "Mean of spots, um", NUMBER),
        Column("fits", "Held against it"),
        Column("outside", "Spots outside, um"),
    )
    note = (
        f"Range {shown(low)} to {shown(high)} um; a spot may lie from {shown(spot_low)} to "
        f"{shown(spot_high)} um (80 % and 120 %, SSPC-PA 2). Written for steelwork: an option, "
        "not the rule for a car."
    )
    return Table("Held against a range", columns, tuple(rows), note)


def sampling_table(surface: str, wanted: str | None) -> Table:
    """Say how much to measure of a surface. Raises NoArea, NotARange and unit refusals."""
    number = re.match(r"[\d.,]*", surface.strip())
    typed = number[0] if number else ""
    unit = surface.strip()[len(typed) :].strip()
    found = sample(Quantity.of(typed or surface, unit or "m2"))
    rows: list[tuple[Cell, ...]] = [
        ("areas of 10 m2 (100 ft2)", Decimal(found.areas)),
        ("spots, five an area", Decimal(found.spots)),
        ("readings, three a spot", Decimal(found.readings)),
    ]
    if wanted is not None:
        low, high = spot_limits(*_range(wanted))
        rows += [
            ("a spot at least, um", tenth(low)),
            ("a spot at least, mil", in_mil(low)),
            ("a spot at most, um", tenth(high)),
            ("a spot at most, mil", in_mil(high)),
        ]
    columns = (Column("what", "What"), Column("number", "Number", NUMBER))
    note = "After SSPC-PA 2, written for steelwork: for a car an option, not the rule."
    return Table(f"Sampling of {surface.strip()}", columns, tuple(rows), note)
