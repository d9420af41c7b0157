"""Plain lists of what belongs to the public sheet: consents and editions."""

from __future__ import annotations

from recondition.book import Connection, reading
from recondition.book.editions import editions_of, withdrawals_of
from recondition.book.questions import vehicle_of, vehicles
from recondition.reports.table import Cell, CellKind, Column, Table

_DATE = CellKind.DATE


def consents(conn: Connection, stock: str | None) -> list[Table]:
    """List what may be shown, for whom and since when; of one vehicle with what holds for all."""
    names = reading.refs_by_id(conn, ("vehicle", "person", "supplier"))
    own = (None, vehicle_of(conn, stock).id) if stock else None
    rows = tuple(
        (c.ref, c.entry.shows.value, names.get(c.entry.vehicle or "", "every vehicle"),
         names.get(c.entry.person or c.entry.supplier or "", ""), c.entry.given_on,
         c.entry.withdrawn_on, c.entry.given_by)
        for c in sorted(reading.stored(conn, "consent"), key=lambda item: item.ref)
        if own is None or c.entry.vehicle in own
    )  # fmt: skip
    columns = (
        Column("ref", "Consent"),
        Column("shows", "Shows"),
        Column("vehicle", "Vehicle"),
        Column("names", "Names"),
        Column("given", "Given", _DATE),
        Column("withdrawn", "Withdrawn", _DATE),
        Column("given_by", "Given by"),
    )
    return [Table("Consents", columns, rows)]


def editions(conn: Connection, stock: str | None) -> list[Table]:
    """List editions of the public sheet, and what became of each."""
    columns = (
        Column("vehicle", "Vehicle"),
        Column("number", "Edition", CellKind.INTEGER),
        Column("made", "Made on", _DATE),
        Column("code", "Code"),
        Column("fingerprint", "Key"),
        Column("superseded", "Superseded by", CellKind.INTEGER),
        Column("withdrawn", "Withdrawn on", _DATE),
        Column("why", "Why"),
    )
    found = vehicles(conn, (stock,) if stock else ())
    rows = [row for car in found for row in _editions(conn, car.id, car.ref)]
    return [Table("Editions", columns, tuple(rows))]


def _editions(conn: Connection, vehicle: str, ref: str) -> list[tuple[Cell, ...]]:
    """Give one row an edition of a vehicle."""
    gone, made = withdrawals_of(conn, vehicle), editions_of(conn, vehicle)
    after = {str(item.entry.supersedes): item.entry.number for item in made}
    rows: list[tuple[Cell, ...]] = []
    for item in made:
        entry, back = item.entry, gone.get(item.id)
        on, why = (back.entry.withdrawn_on, back.entry.reason) if back else (None, "")
        rows.append(
            (ref, entry.number, entry.made_on, entry.code, entry.fingerprint,
             after.get(item.id), on, why)
        )  # fmt: skip
    return rows
