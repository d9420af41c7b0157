"""What the pure rooms ask for, put together from a book: one function a question."""

from __future__ import annotations

from sqlalchemy import Connection

from recondition.book import reading
from recondition.book.context import NotThere
from recondition.book.surfaces import job_sheet
from recondition.condition.bodies import completed
from recondition.condition.film import Headroom
from recondition.condition.vehicle import Vehicle
from recondition.errors import Refused
from recondition.history.source import Source
from recondition.ledger.drafts import Stored
from recondition.ledger.planned import film_of, stops_of
from recondition.worth.question import Question


class NoTerms(Refused):
    """A vehicle has no sale terms, so nothing can be weighed."""

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"vehicle {ref} has no sale terms, so its work cannot be weighed",
            todo="Fill the sheet 'terms' for it, or use 'recondition terms set'.",
        )


def vehicle_of(conn: Connection, ref: str) -> Stored[Vehicle]:
    """Give a vehicle by its stock number. Raises NotThere."""
    return reading.one(conn, "vehicle", ref)


def question_of(conn: Connection, vehicle: Stored[Vehicle]) -> Question:
    """Give what bears on the decision for one vehicle. Raises NoTerms."""
    records = {
        kind: reading.stored(conn, kind, vehicle=vehicle.id)
        for kind in ("candidate", "interaction", "terms", "panel")
    }
    if not records["terms"]:
        raise NoTerms(vehicle.ref)
    settings = reading.settings_of(conn)
    sheet = job_sheet(conn, vehicle.id)
    candidates = {item.id: item.entry for item in records["candidate"]}
    stops = {item: next(iter(stops_of(sheet, item, each)), "") for item, each in candidates.items()}
    room, takes = film_of(sheet, candidates)
    return Question(
        candidates=candidates,
        refs={item.id: item.ref for item in records["candidate"]},
        interactions=tuple(item.entry for item in records["interaction"]),
        terms=records["terms"][-1].entry,
        holding=vehicle.entry.holding,
        mean_rule=settings.mean_rule,
        indifference=settings.indifference,
        no_touch_panels=frozenset(p.entry.panel for p in records["panel"] if p.entry.no_touch),
        stopped={item: why for item, why in stops.items() if why},
        film_room=room,
        film_takes=takes,
    )


def headroom_of(conn: Connection, vehicle_ref: str, panel: str) -> Headroom | str:
    """Give a panel's headroom now, or in words why nobody knows it. Raises NotThere."""
    sheet = job_sheet(conn, vehicle_of(conn, vehicle_ref).id)
    named = completed(panel, sheet.body)
    return sheet.room(named) or sheet.unknown_room(named)


def source_of(conn: Connection, vehicle: Stored[Vehicle]) -> Source:
    """Give the records that a work history is made from."""
    heads = {head.subject: head for head in reading.heads(conn)}
    return Source(
        vehicle=vehicle,
        shop_name=reading.settings_of(conn).shop_name,
        panels=tuple(reading.stored(conn, "panel", vehicle=vehicle.id)),
        findings=tuple(reading.stored(conn, "finding", vehicle=vehicle.id)),
        outcomes=tuple(reading.stored(conn, "outcome", vehicle=vehicle.id)),
        lines=tuple(reading.lines(conn, vehicle.id)),
        products={item.id: item for item in reading.stored(conn, "product")},
        head=heads.get(vehicle.subject),
    )


def vehicles(conn: Connection, refs: tuple[str, ...] = ()) -> list[Stored[Vehicle]]:
    """List the vehicles named, or all of them by stock number. Raises NotThere."""
    found = {item.ref: item for item in reading.stored(conn, "vehicle")}
    absent = [ref for ref in refs if ref not in found]
    if absent:
        raise NotThere(what="vehicle", name=absent[0])
    return [found[ref] for ref in (refs or sorted(found))]
