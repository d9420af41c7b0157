"""What a typed row leaves out or shortens: panel names, materials, what an extent counts.

A workbook's rows are read as they stand; only what somebody types at the bench is completed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.amounts.units import UNITS, unit_named
from recondition.book.reading import ids_by_ref, refs_by_id, stored
from recondition.book.surfaces import body_style
from recondition.condition.bodies import body_of, completed
from recondition.condition.defects import MATERIAL_OF
from recondition.condition.findings import ExtentKind, Stage
from recondition.errors import Refused
from recondition.intake.cells import Cell
from recondition.intake.identity import UnknownRef, nearest, refs_in

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.condition.bodies import Body
    from recondition.intake.spec import Sheet

_EXTENT_OF = {
    "count": ExtentKind.COUNT,
    "length": ExtentKind.LENGTH,
    "area": ExtentKind.AREA,
    "share": ExtentKind.PART_OF_PANEL,
}


def help_out(conn: Connection, sheet: Sheet, cells: dict[str, Cell]) -> None:
    """Complete a typed row: its panel, material and extent, the vehicle of a picture.

    Raises PanelNotClear, UnknownRef.
    """
    if "panel" in cells and not cells["panel"].blank and "area" not in cells:
        body = _body(conn, str(cells["vehicle"].value) if "vehicle" in cells else "")
        cells["panel"] = Cell(completed(str(cells["panel"].value), body))
    _foreign(sheet, cells)
    if sheet.kind == "redaction" and "vehicle" not in cells and "document" in cells:
        _vehicle(conn, cells)
    if sheet.kind == "finding" and "new_since_arrival" in cells and "stage" not in cells:
        new = str(cells["new_since_arrival"].value).strip().casefold().startswith("y")
        cells["stage"] = Cell(Stage.DURING_WORK.value if new else Stage.ARRIVAL.value)
    if sheet.kind == "finding" and "material" not in cells and "panel" in cells:
        material = _material(conn, cells)
        if material:
            cells["material"] = Cell(material)
    if sheet.kind == "finding" and "extent" in cells and "extent_kind" not in cells:
        kind = _counts(str(cells["extent"].value))
        if kind is not None:
            cells["extent_kind"] = Cell(kind.value)


def _foreign(sheet: Sheet, cells: dict[str, Cell]) -> None:
    """Part an amount typed with its rate, ``58000 EUR @ 1.0835``, into its columns."""
    if not any(column.field == "foreign.rate" for column in sheet.columns):
        return
    for field in ("price", "total", "amount"):
        typed = cells.get(field)
        if typed is not None and isinstance(typed.value, str) and "@" in typed.value:
            amount, _, rate = typed.value.partition("@")
            cells["foreign.amount"], cells["foreign.rate"] = (
                Cell(amount.strip()),
                Cell(rate.strip()),
            )
            del cells[field]


def _vehicle(conn: Connection, cells: dict[str, Cell]) -> None:
    """Take the vehicle of the picture that a row names. Raises UnknownRef."""
    ref = str(cells["document"].value)
    of = ids_by_ref(conn, "document", [ref]).get(ref)
    if of is None:
        near = nearest(ref, refs_in(conn, "document"))
        raise UnknownRef(kind="document", ref=ref, near=near)
    vehicle = stored(conn, "document", ids=[of])[0].entry.vehicle
    if vehicle is not None:
        cells["vehicle"] = Cell(refs_by_id(conn, ["vehicle"])[vehicle])


def _body(conn: Connection, vehicle_ref: str) -> Body:
    """Give the body of the vehicle a row names; any body where it is not known yet."""
    found = ids_by_ref(conn, "vehicle", [vehicle_ref]).get(vehicle_ref)
    return body_style(conn, found) if found else body_of(None)


def _material(conn: Connection, cells: dict[str, Cell]) -> str:
    """Say what a finding's place is made of where the panel's finish is on record."""
    ref = str(cells["vehicle"].value) if "vehicle" in cells else ""
    found = ids_by_ref(conn, "vehicle", [ref]).get(ref)
    panels = stored(conn, "panel", vehicle=found) if found else []
    for item in panels:
        if item.entry.panel == cells["panel"].value:
            return MATERIAL_OF.get(item.entry.finish, "")
    return ""


def _counts(extent: str) -> ExtentKind | None:
    """Say what an extent counts by its unit, None where that is not clear."""
    unit = extent.lstrip("0123456789., ").strip()
    try:
        return _EXTENT_OF.get(UNITS[unit_named(unit).code].dimension)
    except Refused:
        return None
