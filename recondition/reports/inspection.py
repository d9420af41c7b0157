"""The inspection sheet: to print and fill by hand, its rows numbered to be typed back."""

from __future__ import annotations

from datetime import datetime

from recondition.book import Connection
from recondition.book.questions import vehicle_of
from recondition.book.surfaces import body_style
from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.panels import PAINTED, area_of
from recondition.reports.html import Page, Section
from recondition.reports.table import Cell, CellKind, Column, Table

_BLANKS = 2
_HEAD = ("Day and time", "Inspected by", "Lamp, room", "Before or after which step",
         "Gauge; zero, foil before", "Zero, foil afterwards")  # fmt: skip


def inspection_page(conn: Connection, stock: str, made_at: datetime) -> Page:
    """Lay out the sheet of one vehicle's body. Raises NotThere."""
    vehicle = vehicle_of(conn, stock)
    panels = body_style(conn, vehicle.id).panels()
    number = {panel: at for at, panel in enumerate(panels, start=1)}
    severity = "; ".join(f"{level} {words}" for level, words in enumerate(SEVERITY_WORDS))
    areas = dict.fromkeys(area for panel in panels if (area := area_of(panel)) is not None)
    painted = [panel for panel in panels if panel in PAINTED]
    sections = [
        Section("Inspection", (f"Severity: {severity}.",), (_head(),)),
        *(
            Section(
                area.value.capitalize(),
                (),
                (_rows([(number[p], p) for p in panels if area_of(p) is area]),),
            )
            for area in areas
        ),
        Section(
            "Total film",
            ("Five readings a panel, more on large ones; name the place. In micrometres.",),
            (_film([(number[p], p) for p in painted]),),
        ),
    ]
    return Page(
        title="Inspection sheet",
        subject=f"{vehicle.ref} {vehicle.entry.designation}",
        lead="Fill by hand in the dark room, one lamp at a time; type it back with "
        f"'recondition inspect enter {vehicle.ref}'.",
        sections=tuple(sections),
        foot=f"Made {made_at:%Y-%m-%d}. A dash means that the place was not inspected: say why.",
        ruled=True,
    )


def _head() -> Table:
    """Give the lines at the top."""
    rows = tuple((name, "") for name in _HEAD)
    return Table("This inspection", (Column("what", "What"), Column("is", "Is")), rows)


def _rows(panels: list[tuple[int, str]]) -> Table:
    """Give a line for each panel of an area, and some more."""
    rows: list[tuple[Cell, ...]] = [(at, panel, "", "", "", "", "") for at, panel in panels]
    rows += [(None, "", "", "", "", "", "")] * _BLANKS
    columns = (
        Column("row", "Row", CellKind.INTEGER),
        Column("panel", "Panel"),
        Column("defect", "Defect, in your words"),
        Column("severity", "0-4"),
        Column("extent", "How much"),
        Column("where", "Where on it"),
        Column("lamp", "Lamp, if another"),
    )
    return Table("Findings", columns, tuple(rows))


def _film(panels: list[tuple[int, str]]) -> Table:
    """Give a line for the readings of each painted panel."""
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (at, panel, "", "", "", "", "", "") for at, panel in panels
    )
    columns = (
        Column("row", "Row", CellKind.INTEGER),
        Column("panel", "Panel"),
        Column("place", "Place"),
        *(Column(f"r{n}", str(n)) for n in range(1, 6)),
    )
    return Table("Readings", columns, rows)
