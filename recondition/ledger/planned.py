"""Work that is only planned, held against film, surfaces and the order of work.

Candidate work belongs to the room ``worth``, which lies above; it comes in as what it has:
panels, film removal, products, name, requirements, override.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from recondition.condition.cautions import DEFER, Task, cautions, says_any
from recondition.condition.film import NoHeadroom, um
from recondition.condition.order import EVERYTHING, Event, EventLog, RuleKind, broken
from recondition.ledger.jobsheet import JobSheet, nature_of


def left_to_take(
    sheet: JobSheet,
    candidate_id: str,
    candidate: Any,  # noqa: ANN401 - worth is not known here
) -> dict[str, Decimal]:
    """Give the film that candidate work is still expected to take, by panel, in micrometres."""
    if candidate.film_removal is None:
        return {}
    expected = um(candidate.film_removal)
    panels = [each for name in candidate.panels for each in sheet.body.members(name)]
    left = {p: expected - sheet.by_candidate.get((candidate_id, p), Decimal(0)) for p in panels}
    return {panel: amount for panel, amount in left.items() if amount > 0}


def film_of(
    sheet: JobSheet, candidates: Mapping[str, Any]
) -> tuple[dict[str, Fraction], dict[str, dict[str, Fraction]]]:
    """Give the headroom of every panel that candidate work would thin, and what each takes.

    Work with an override is left out: somebody answers for it.
    """
    takes = {
        item: {p: Fraction(a) for p, a in left_to_take(sheet, item, candidate).items()}
        for item, candidate in candidates.items()
        if not candidate.override
    }
    rooms = {panel: sheet.room(panel) for panels in takes.values() for panel in panels}
    known = {panel: Fraction(room.um) for panel, room in rooms.items() if room is not None}
    return known, takes


def stops_of(
    sheet: JobSheet,
    candidate_id: str,
    candidate: Any,  # noqa: ANN401 - worth is not known here
) -> Iterable[str]:
    """Say what stops a piece of candidate work that is planned on this vehicle.

    ``candidate`` has panels, film removal, products and a name; one with an override is not
    stopped.
    """
    if candidate.override:
        return
    for panel, amount in left_to_take(sheet, candidate_id, candidate).items():
        room = sheet.room(panel)
        if room is not None and not room.allows(amount):
            yield NoHeadroom(amount, room).what
    for task in planned_tasks(sheet, candidate):
        for caution in cautions(task):
            if caution.stops:
                yield f"{caution.about}: {caution.why} {DEFER}"


def planned_tasks(sheet: JobSheet, candidate: Any) -> Iterable[Task]:  # noqa: ANN401 - as above
    """Describe candidate work as tasks: one a panel, and one more for each product on it."""
    for panel in candidate.panels or (None,):
        surfaces = sheet.surfaces(panel)
        yield Task(words=candidate.name, panel=panel, surfaces=surfaces)
        for product_id in candidate.products:
            product = sheet.products[product_id]
            yield Task(
                words=candidate.name,
                panel=panel,
                surfaces=surfaces,
                product=nature_of(sheet.names[product_id], product),
                allowed_because=product.allowed_because or "",
            )


def plan_notes(
    sheet: JobSheet, chosen: Mapping[str, Any], names: Mapping[str, str], today: date
) -> list[tuple[str, str]]:
    """List, for the work of a plan, the rules of order it would break and the cautions on it.

    Work that another piece of the plan ``requires`` counts as done before it; work that is in
    the plan and not required is named, so that the order can be stated.
    """
    said: list[tuple[str, str]] = []
    for item, candidate in chosen.items():
        before = _required(item, chosen)
        events = [*sheet.events, *planned_events(before, chosen, names, today)]
        log = EventLog(sheet.rules, events)
        # What comes after all other work can never be what has to come before it.
        other = {i for i in chosen if not getattr(chosen[i], "after_all", False)}
        others = planned_events(other - before - {item}, chosen, names, today)
        for task in planned_tasks(sheet, candidate):
            for found in broken(log, task, today, EVERYTHING):
                if found.rule.kind is RuleKind.NEXT_DAY:
                    continue
                there = [e for e in others if says_any(e.text, found.rule.other)]
                hint = ""
                if there and found.rule.kind is RuleKind.NEEDS:
                    hint = f" {there[0].ref} is in the plan: say that {names[item]} requires it."
                said.append((names[item], found.said() + hint))
            said += [(names[item], c.said()) for c in cautions(task) if not c.stops]
        if candidate.override:
            said.append((names[item], f"overridden: {candidate.override}"))
    return list(dict.fromkeys(said))


def _required(item: str, chosen: Mapping[str, Any]) -> set[str]:
    """Give the items of a plan that one requires, directly or through others."""
    waiting, found = [item], set[str]()
    while waiting:
        for needed in chosen[waiting.pop()].requires:
            if needed in chosen and needed not in found:
                found.add(needed)
                waiting.append(needed)
    return found


def planned_events(
    items: set[str], chosen: Mapping[str, Any], names: Mapping[str, str], today: date
) -> list[Event]:
    """Let planned work count as done on a day, one event a panel."""
    return [
        Event(f"{chosen[item].name} {panel or ''}".casefold(), panel, today, 2**40, names[item])
        for item in sorted(items)
        for panel in chosen[item].panels or (None,)
    ]
