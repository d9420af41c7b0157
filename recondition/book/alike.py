"""Posted lines that could be the same thing as a new one: of one kind, vehicle and day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from recondition.book.tables import entity, line

if TYPE_CHECKING:
    from collections.abc import Collection


# Vehicle's id, day, price in minor units, number and unit of the quantity; empty for none.
Likeness = tuple[str, str, str, str, str]


def lines_on_days(conn: Connection, kind: str, days: Collection[str]) -> dict[Likeness, list[str]]:
    """Give the ids of a kind's lines on some days (``2024-05-31``), by what makes them alike.

    Lines that were taken back are left out.
    """
    taken_back = select(line.c.reverses).where(line.c.reverses.is_not(None))
    query = (
        select(
            entity.c.id,
            line.c.vehicle,
            line.c.work_date,
            line.c.price_minor,
            line.c.quantity_number,
            line.c.quantity_unit,
        )
        .join(line, line.c.record_id == entity.c.current)
        .where(
            entity.c.kind == kind,
            line.c.work_date.in_(days),
            line.c.record_id.not_in(taken_back),
        )
        .order_by(entity.c.id)
    )
    found: dict[Likeness, list[str]] = {}
    for line_id, vehicle, day, *figures in conn.execute(query):
        price, number, unit = ("" if figure is None else str(figure) for figure in figures)
        found.setdefault((vehicle or "", day, price, number, unit), []).append(line_id)
    return found
