"""Cautions before a task, and where posted work broke a rule or was overridden."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from recondition.amounts import Quantity
from recondition.book import Connection, reading
from recondition.book.questions import vehicle_of
from recondition.book.surfaces import job_sheet
from recondition.condition.bodies import completed
from recondition.condition.cautions import DEFER
from recondition.fields import Id, Words
from recondition.ledger.jobsheet import JobSheet
from recondition.ledger.lines import (
    Consumable,
    Labour,
    LineEntry,
    Part,
    Purpose,
    Reversal,
    Standing,
)
from recondition.reports.table import Cell, CellKind, Column, Table


def caution_table(  # noqa: PLR0913, PLR0917 - each is a separate choice of the caller
    conn: Connection,
    vehicle: str,
    panel: str,
    work: str,
    product: str | None,
    takes: str | None,
) -> Table:
    """Say what to remember or to stop at, as posting would judge it today. Raises NotThere."""
    car = vehicle_of(conn, vehicle)
    sheet = job_sheet(conn, car.id)
    where = completed(panel, sheet.body)
    order = len(sheet.events) + 1_000_000_000
    line: dict[str, Any] = {
        "vehicle": Id(car.id),
        "work_date": datetime.now().astimezone().date(),
        "words": Words(work),
        "purpose": Purpose.RECONDITIONING,
        "standing": Standing.ASSUMED,
        "panel": where,
    }
    removal = Quantity.of(takes.removesuffix("um").strip(), "um") if takes else None
    hour = Quantity.of("1", "h")
    labour = Labour(person=Id(""), quantity=hour, film_removal=removal, **line)
    verdicts = [sheet.judge(labour, order)]
    if product is not None:
        used = Consumable(product=Id(reading.id_of(conn, "product", product)), **line)
        verdicts.append(sheet.judge(used, order))
    rows: list[tuple[Cell, ...]] = []
    for verdict in verdicts:
        rows += [("stop", f"{each.what.rstrip('.')}.") for each in verdict.stops]
        rows += [("told", text) for text in verdict.told]
        rows += [("remember", text.removesuffix(DEFER).strip()) for text in verdict.reminders]
    room = sheet.room(where)
    if room is not None:
        rows.append(("film", f"{room.words()}."))
    unique = tuple(dict.fromkeys(rows))
    columns = (Column("what", "What"), Column("why", "Why"))
    return Table(f"{work}, {where}", columns, unique, DEFER)


def breaches(conn: Connection, vehicle_id: str) -> list[tuple[str, Any, str]]:
    """List what posted work broke or overrode: line, day, what was told."""
    whole = job_sheet(conn, vehicle_id)
    found: list[tuple[str, Any, str]] = []
    for line in sorted(reading.lines(conn, vehicle_id), key=lambda each: each.sequence):
        entry = line.entry
        if line.reversed_by or isinstance(entry, Reversal) or not isinstance(entry, LineEntry):
            continue
        found += [(line.ref, entry.work_date, text) for text in _told(whole, entry, line.sequence)]
    return found


def _told(sheet: JobSheet, entry: LineEntry, order: int) -> list[str]:
    """Say what a posted line broke, by what had happened before it, and its override."""
    told = []
    if isinstance(entry, Labour | Part):
        task = sheet.task_of(entry)
        told = [each.said() for each in sheet.breaks(entry, task, (entry.work_date, order))]
    if entry.override:
        told.append(f"overridden: {entry.override}")
    return told


def breach_tables(conn: Connection, vehicle: str) -> list[Table]:
    """Give the table of broken rules and overrides of one vehicle. Raises NotThere."""
    rows = tuple(breaches(conn, vehicle_of(conn, vehicle).id))
    columns = (
        Column("line", "Line"),
        Column("day", "Day", CellKind.DATE),
        Column("told", "What was told"),
    )
    return [Table("Order of work: broken or overridden", columns, rows)]
