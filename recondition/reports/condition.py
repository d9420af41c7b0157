"""The condition bench in three reports: how the car came, how it is now, what changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from recondition.book import Connection, reading
from recondition.book.surfaces import job_sheet
from recondition.condition.findings import Ended, Finding, Outcome, Stage, severity_words
from recondition.condition.vehicle import Vehicle
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.drafts import Stored
from recondition.ledger.jobsheet import JobSheet
from recondition.reports import lists_bench
from recondition.reports.cautions import breach_tables
from recondition.reports.drawing import Figure
from recondition.reports.film import by_panel, changes_table, panel_films, remarks_table, sets_table
from recondition.reports.html import Photographs, Shot
from recondition.reports.panel_map import Seen, film_map, findings_map
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.reports.thumbnails import thumbnail

_DATE = CellKind.DATE
_SHOTS_MAX = 24


@dataclass(frozen=True, slots=True)
class Told:
    """What one report says of one vehicle."""

    words: str
    tables: tuple[Table, ...]
    pictures: Mapping[int, Callable[[], Figure | None]] = field(default_factory=dict)
    photographs: tuple[Photographs, ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """One finding: how it was found, how it stands now, and what moved it."""

    found: Stored[Finding]
    ended: Stored[Outcome] | None
    lines: tuple[str, ...]

    @property
    def now(self) -> int | None:
        """Its severity now; None where it could not be inspected."""
        if self.ended is None:
            return self.found.entry.severity
        entry = self.ended.entry
        if entry.severity_after is not None:
            return entry.severity_after
        if entry.ended is Ended.RESOLVED:
            return 0
        return None if entry.ended is Ended.NOT_INSPECTED else self.found.entry.severity

    @property
    def taken_back(self) -> bool:
        """Whether it ended by work, and that work was taken back since."""
        if self.ended is None or self.ended.entry.decided or self.lines:
            return False
        return self.ended.entry.ended in (Ended.RESOLVED, Ended.PARTLY_RESOLVED)


def _states(conn: Connection, vehicle_id: str) -> list[State]:
    """Read every finding with its ending and the standing lines that serve it."""
    endings: dict[str, Stored[Outcome]] = {
        item.entry.finding: item for item in reading.stored(conn, "outcome", vehicle=vehicle_id)
    }
    serving: dict[str, list[str]] = {}
    for line in reading.lines(conn, vehicle_id):
        if line.reversed_by is None:
            for link in getattr(line.entry, "links", ()):
                serving.setdefault(link.finding, []).append(line.ref)
    return [
        State(item, endings.get(item.id), tuple(serving.get(item.id, ())))
        for item in reading.stored(conn, "finding", vehicle=vehicle_id)
    ]


def _seen(pairs: list[tuple[str, int | None]]) -> dict[str, Seen]:
    """Sum severities up by panel."""
    by_panel: dict[str, list[int | None]] = {}
    for panel, severity in pairs:
        by_panel.setdefault(panel, []).append(severity)
    found = {}
    for panel, each in by_panel.items():
        known = [severity for severity in each if severity is not None]
        unseen = len(each) - len(known)
        found[panel] = Seen(len(each), max(known, default=None), unseen)
    return found


def _counted(states: list[State], severities: list[int | None]) -> str:
    """Say how many findings there are, how many weigh, and how many were not inspected."""
    grave = sum(severity is not None and severity >= 3 for severity in severities)  # noqa: PLR2004
    unseen = sum(severity is None for severity in severities)
    number = f"{len(states)} findings" if len(states) != 1 else "1 finding"
    return f"{number}, {grave} of severity 3 or 4; " + (
        f"{unseen} could not be inspected." if unseen else "everything named was inspected."
    )


def arrival(conn: Connection, vehicle: Stored[Vehicle]) -> Told:
    """Say how the car came: identity, findings, film, tests, custody, photographs."""
    sheet = job_sheet(conn, vehicle.id)
    states = [s for s in _states(conn, vehicle.id) if s.found.entry.stage is Stage.ARRIVAL]
    severities = [s.found.entry.severity for s in states]
    came = _of_arrival(_photographs(conn, vehicle.id), states)
    seen = _seen([(s.found.entry.panel, s.found.entry.severity) for s in states])
    pictures = {
        1: partial(
            findings_map, sheet.body, seen, name=f"arrival-{vehicle.ref}",
            title="Findings on arrival, by severity",
        )
    }  # fmt: skip
    tables = (
        _identity(vehicle.entry),
        _findings(states),
        sets_table(sheet, conn, first_only=True),
        *lists_bench.tests(conn, vehicle.ref),
        lists_bench.water(conn, vehicle.ref)[0],
        lists_bench.custody(conn, vehicle.ref)[0],
        _photograph_list(conn, came),
    )
    shots = _shots(came, reading.kept_files(conn, vehicle.id))
    return Told(_counted(states, severities), tables, pictures if states else {}, shots)


def now(conn: Connection, vehicle: Stored[Vehicle]) -> Told:
    """Say what is still there, the film and its headroom, and what was broken or overridden."""
    sheet = job_sheet(conn, vehicle.id)
    states = _states(conn, vehicle.id)
    left = [state for state in states if state.now != 0 or state.taken_back]
    films = panel_films(sheet, reading.settings_of(conn).film_stands_out)
    seen = _seen([(s.found.entry.panel, s.now) for s in left])
    pictures: dict[int, Callable[[], Figure | None]] = {}
    if left:
        pictures[0] = partial(
            findings_map, sheet.body, seen, name=f"now-{vehicle.ref}",
            title="Findings now, by severity",
        )  # fmt: skip
    if films:
        pictures[1] = partial(
            film_map, sheet.body, films, name=f"film-{vehicle.ref}",
            title="Lowest total film and headroom, panel by panel",
        )  # fmt: skip
    tables = (
        _standing(left),
        by_panel(sheet, films),
        remarks_table(films),
        _panels(sheet),
        *lists_bench.gloss(conn, vehicle.ref),
        *breach_tables(conn, vehicle.ref),
    )
    return Told(_counted(left, [state.now for state in left]), tables, pictures)


def changes(conn: Connection, vehicle: Stored[Vehicle]) -> Told:
    """Say what work and decisions moved, film before and after, pictures before and after."""
    sheet = job_sheet(conn, vehicle.id)
    states = _states(conn, vehicle.id)
    moved = [state for state in states if state.ended is not None]
    new = [state for state in states if state.found.entry.new_since_arrival]
    words = (
        f"{len(moved)} of {len(states)} findings moved by recorded work or a recorded decision; "
        f"{len(new)} {'is' if len(new) == 1 else 'are'} new since arrival."
    )
    tables = (_moved(moved), changes_table(sheet), _findings(new, "New since arrival"))
    return Told(words, tables, photographs=_pairs(conn, vehicle.id))


def _identity(car: Vehicle) -> Table:
    """Give what was stamped and shown when the car came."""
    shown: list[tuple[Cell, ...]] = [
        ("Chassis number as stamped", car.chassis_stamped or ""),
        ("Chassis number on documents", car.chassis_documents or ""),
        ("Engine number", car.engine_number or ""),
        ("Body style", car.body_style or ""),
        ("Colour", car.colour or ""),
        ("Odometer shown", f"{car.odometer_shown or ''} {car.odometer_unit.value}".strip()),
        ("True distance", car.true_distance.value),
        ("Arrived", car.arrived_on.isoformat() if car.arrived_on else ""),
    ]
    rows = tuple(row for row in shown if row[1])
    note = "Stamped and documented numbers differ." if car.chassis_differs else ""
    return Table("Identity", (Column("what", "What"), Column("is", "Is")), rows, note)


def _where(entry: Finding) -> str:
    """Name panel and spot."""
    return f"{entry.panel}, {entry.spot}" if entry.spot else entry.panel


def _light(entry: Finding) -> str:
    """Say in what light and from how far it was seen, and on which side of which step."""
    far = f"{entry.distance} away" if entry.distance else ""
    return ", ".join(part for part in (entry.lamp, far, lists_bench.step_words(entry)) if part)


def _findings(states: list[State], title: str = "Findings") -> Table:
    """List findings as they were found."""
    rows = tuple(
        (s.found.ref, _where(s.found.entry), s.found.entry.defect, s.found.entry.material or "",
         severity_words(s.found.entry.severity),
         " ".join(str(p) for p in (s.found.entry.extent, s.found.entry.extent_kind) if p),
         _light(s.found.entry), s.found.entry.found_on)
        for s in states
    )  # fmt: skip
    columns = (
        Column("ref", "Finding"),
        Column("where", "Where"),
        Column("defect", "Defect"),
        Column("material", "Material"),
        Column("severity", "Severity"),
        Column("extent", "Extent"),
        Column("light", "Light, distance, step"),
        Column("found_on", "Found", _DATE),
    )
    return Table(title, columns, rows)


def _standing(states: list[State]) -> Table:
    """List what is still there, and why."""
    rows: list[tuple[Cell, ...]] = []
    for state in states:
        entry = state.found.entry
        ended = state.ended.entry if state.ended else None
        why = (ended.reason or ended.words or "") if ended else entry.words or ""
        if state.taken_back:
            why = "its work was taken back since"
        rows.append((state.found.ref, _where(entry), entry.defect, severity_words(entry.severity),
                     severity_words(state.now), ended.ended.value if ended else "open",
                     why))  # fmt: skip
    columns = (
        Column("ref", "Finding"),
        Column("where", "Where"),
        Column("defect", "Defect"),
        Column("was", "As found"),
        Column("now", "Now"),
        Column("ended", "Stands"),
        Column("why", "Why"),
    )
    return Table("Still there", columns, tuple(rows))


def _moved(states: list[State]) -> Table:
    """List what moved, by which lines or by whose decision."""
    rows: list[tuple[Cell, ...]] = []
    for state in states:
        if state.ended is None:
            continue
        entry, ended = state.found.entry, state.ended.entry
        by = "its work was taken back since" if state.taken_back else ", ".join(state.lines)
        if ended.reason:
            by = "; ".join(part for part in (by, f"decision: {ended.reason}") if part)
        rows.append((state.found.ref, _where(entry), entry.defect, severity_words(entry.severity),
                     severity_words(state.now), ended.ended.value, ended.ended_on, by))  # fmt: skip
    columns = (
        Column("ref", "Finding"),
        Column("where", "Where"),
        Column("defect", "Defect"),
        Column("was", "Before"),
        Column("now", "After"),
        Column("ended", "Ended"),
        Column("on", "On", _DATE),
        Column("by", "Moved by"),
    )
    return Table("What moved", columns, tuple(rows))


def _panels(sheet: JobSheet) -> Table:
    """List panels with what is believed of them and on which evidence."""
    rows = tuple(
        (p.panel, p.substrate.value, p.finish.value, p.originality.value, p.evidence or "",
         "not to be touched" if p.no_touch else "")
        for p in sheet.panels.values()
    )  # fmt: skip
    columns = (
        Column("panel", "Panel"),
        Column("made_of", "Made of"),
        Column("finish", "Finish"),
        Column("belief", "Believed"),
        Column("evidence", "Evidence"),
        Column("touch", "Touch"),
    )
    return Table("Panels", columns, rows)


def _photographs(conn: Connection, vehicle_id: str) -> list[Stored[Document]]:
    """List a vehicle's photographs."""
    found = reading.stored(conn, "document", vehicle=vehicle_id)
    return [item for item in found if item.entry.kind is DocumentKind.PHOTOGRAPH]


def _moment(entry: Document) -> str:
    """Write when a picture was taken, the camera's clock put right."""
    return entry.moment.isoformat(sep=" ", timespec="minutes") if entry.moment else "not known"


def _of_arrival(pictures: list[Stored[Document]], states: list[State]) -> list[Stored[Document]]:
    """Keep the photographs that show how the car came: of its findings then, or of none."""
    there = {state.found.id for state in states}
    return [
        each
        for each in pictures
        if each.entry.before is None and (each.entry.finding is None or each.entry.finding in there)
    ]


def _photograph_list(conn: Connection, pictures: list[Stored[Document]]) -> Table:
    """List photographs with panel, finding, moment and who may see them."""
    refs = reading.names_of(conn, {p.entry.finding for p in pictures if p.entry.finding})
    rows = tuple(
        (p.ref, p.entry.title, p.entry.panel or "", refs.get(p.entry.finding or "", ""),
         _moment(p.entry), str(p.entry.camera_ahead or ""), p.entry.visibility.value)
        for p in pictures
    )  # fmt: skip
    columns = (
        Column("ref", "Picture"),
        Column("title", "Shows"),
        Column("panel", "Panel"),
        Column("finding", "Finding"),
        Column("taken", "Taken"),
        Column("ahead", "Camera ahead"),
        Column("seen_by", "Kept as"),
    )
    return Table("Photographs", columns, rows)


def _shot(each: Stored[Document], files: Mapping[str, Path], side: str = "") -> Shot | None:
    """Give a photograph as it is shown; None where its file is gone."""
    small = thumbnail(files[each.id]) if each.id in files else None
    lead = f"{side}: " if side else ""
    caption = f"{lead}{each.entry.title}, {_moment(each.entry)} ({each.ref})"
    return Shot(caption, small) if small is not None else None


def _shots(pictures: list[Stored[Document]], files: Mapping[str, Path]) -> tuple[Photographs, ...]:
    """Give small copies of photographs, the first of them where there are many."""
    found = [shot for each in pictures[:_SHOTS_MAX] if (shot := _shot(each, files)) is not None]
    more = len(pictures) - len(found)
    title = "Photographs" + (f" ({more} more are kept)" if more else "")
    return (Photographs(title, tuple(found)),) if found else ()


def _pairs(conn: Connection, vehicle_id: str) -> tuple[Photographs, ...]:
    """Give pictures before and after side by side, as small copies without metadata."""
    files = reading.kept_files(conn, vehicle_id)
    pictures: dict[str, Stored[Any]] = {p.id: p for p in _photographs(conn, vehicle_id)}
    made: list[Photographs] = []
    for after in pictures.values():
        before = pictures.get(after.entry.before or "")
        if before is None or len(made) == _SHOTS_MAX:
            continue
        shots = (_shot(before, files, "before"), _shot(after, files, "after"))
        if shots[0] is not None and shots[1] is not None:
            title = f"Before and after: {after.entry.panel or 'vehicle'}"
            made.append(Photographs(title, (shots[0], shots[1])))
    return tuple(made)
