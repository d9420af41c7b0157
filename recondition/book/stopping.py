"""Reasons to stop and look again, as the book stands now."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from recondition.book import reading
from recondition.book.questions import question_of
from recondition.condition.vehicle import Vehicle
from recondition.errors import Refused
from recondition.ledger.drafts import Stored
from recondition.worth.problem import problem_of
from recondition.worth.stops import breaches
from recondition.worth.weighing import Items


def reasons_to_stop(
    conn: Connection, vehicle: Stored[Vehicle], at: datetime
) -> list[tuple[str, str]]:
    """Give ref of the work (empty: all of it) and why, for one vehicle.

    Nothing is said of a vehicle whose work cannot be weighed: the plan says why.
    """
    try:
        question = question_of(conn, vehicle, at)
        problem = problem_of([question])
    except Refused:
        return []
    decisions = reading.stored(conn, "decision", vehicle=vehicle.id)
    planned: Items = frozenset(decisions[-1].entry.chosen) if decisions else frozenset()
    found = breaches(problem, planned & frozenset(problem.cars[0].weighing.items))
    return [(question.ref(each.item) if each.item else "", each.why) for each in found]


def stops_beside(conn: Connection, vehicle_ids: set[str] | None, at: datetime) -> list[str]:
    """Give the reasons of some vehicles as lines of text; None: of all with sale terms."""
    if vehicle_ids is None:
        vehicle_ids = {terms.entry.vehicle for terms in reading.stored(conn, "terms")}
    vehicles = [v for v in reading.stored(conn, "vehicle") if v.id in vehicle_ids]
    return [
        f"stop and look again: {' '.join(filter(None, (vehicle.ref, ref)))}: {why}."
        for vehicle in vehicles
        for ref, why in reasons_to_stop(conn, vehicle, at)
    ]
