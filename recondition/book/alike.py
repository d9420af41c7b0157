"""Posted lines that could be the same thing as a new one: of one kind, vehicle and day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Connection, or_, select

from recondition.book.standing import standing
from recondition.book.tables import line

if TYPE_CHECKING:
    from collections.abc import Collection


# Vehicle's id, day, price in minor units, number and unit of the quantity; empty for none.
Likeness = tuple[str, str, str, str, str]


def has_lines(conn: Connection) -> bool:
    """Tell whether a book has any line."""
    return conn.execute(select(line.c.record_id).limit(1)).first() is not None


def lines_on_days(
    conn: Connection, kind: str, days: Collection[str], vehicles: Collection[str]
) -> dict[Likeness, list[str]]:
    """Give the ids of a kind's lines on some days (``2024-05-31``), by what makes them alike.

    ``vehicles`` are the ids of those looked at, empty for none. Lines that were taken back are
    left out.
    """
    where = line.c.vehicle.in_([vehicle for vehicle in vehicles if vehicle])
    query = (
        select(
            line.c.record_id,
            line.c.vehicle,
            line.c.work_date,
            line.c.price_minor,
            line.c.quantity_number,
            line.c.quantity_unit,
        )
        .where(or_(where, line.c.vehicle.is_(None)) if "" in vehicles else where)
        .where(line.c.kind == kind, line.c.work_date.in_(days), standing())
        .order_by(line.c.record_id)
    )
    found: dict[Likeness, list[str]] = {}
    for line_id, vehicle, day, *figures in conn.execute(query):
        price, number, unit = ("" if figure is None else str(figure) for figure in figures)
        found.setdefault((vehicle or "", day, price, number, unit), []).append(line_id)
    return found
