"""What can be done to a vehicle now, what waits, and why: candidate work as the bench sees it.

Hours and reasons, and no money. What posting would refuse stops the work; everything else is
told, since the bench may know more than the record. The doable order is one that respects what
work requires and what the order of work says of the names; where that goes in a circle, the
order of entry decides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from recondition.condition.cautions import Task, cautions, says_any
from recondition.condition.order import (
    EVERYTHING,
    Event,
    EventLog,
    RuleKind,
    Scope,
    WorkRule,
    broken,
)
from recondition.condition.panels import same_panel
from recondition.ledger.jobsheet import JobSheet
from recondition.ledger.orders import Order, Ordered
from recondition.ledger.planned import left_to_take, planned_events, planned_tasks, stops_of
from recondition.worth.estimates import Candidate, CandidateState, ThreeNumbers

_STANDING = (CandidateState.OPEN, CandidateState.STARTED)
_NAMED_MAX = 3


@dataclass(frozen=True, slots=True)
class Worked:
    """What posted lines took of a piece of work: its hours, and the moment the last one ended."""

    hours: Fraction
    ended: datetime


@dataclass(frozen=True, slots=True)
class Why:
    """A reason to wait, in words. ``stops`` where the book would refuse the work."""

    words: str
    stops: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """What bears on the work of one vehicle at the moment ``now`` (with its zone).

    ``candidates`` and ``refs`` are by id. ``chosen`` are the ids of a decision, None where there
    is none. ``orders`` gives by candidate the ref of each order and the order itself, ``owner``
    by candidate why the owner's word is missing, ``shelf`` by product what is wrong with what
    stands on the shelf; ``no_touch`` are panels.
    """

    sheet: JobSheet
    candidates: Mapping[str, Candidate]
    refs: Mapping[str, str]
    now: datetime
    chosen: frozenset[str] | None
    worked: Mapping[str, Worked]
    orders: Mapping[str, tuple[tuple[str, Order], ...]]
    owner: Mapping[str, str]
    shelf: Mapping[str, str]
    no_touch: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Todo:
    """One piece of work of the day's list.

    ``hours`` are expected for all of it, ``worked_h`` were posted; ``findings`` are ids.
    ``waits`` is empty where it can be done now; ``cautions`` apply to whoever does it.
    """

    item: str
    ref: str
    name: str
    state: CandidateState
    findings: tuple[str, ...]
    panels: tuple[str, ...]
    hours: ThreeNumbers
    worked_h: Fraction
    waits: tuple[Why, ...]
    cautions: tuple[str, ...]
    override: str

    @property
    def stopped(self) -> bool:
        """Whether the book would refuse the work as things stand."""
        return any(why.stops for why in self.waits)


def todays(day: Day) -> tuple[Todo, ...]:
    """List the work that is to be done, in a doable order, with what each piece waits for."""
    listed = [item for item in day.candidates if _is_listed(day, item)]
    log = EventLog(day.sheet.rules, [*day.sheet.events, *_marked(day)])
    return tuple(_todo(day, item, listed, log) for item in doable(day, listed))


def not_chosen(day: Day) -> tuple[str, ...]:
    """Give the refs of open work that is not in the decision."""
    others = (i for i, each in day.candidates.items() if each.state in _STANDING)
    return tuple(day.refs[item] for item in others if not _is_listed(day, item))


def _is_listed(day: Day, item: str) -> bool:
    """Tell whether work stands and was chosen; what was started goes on whatever was chosen."""
    state = day.candidates[item].state
    chosen = day.chosen is None or item in day.chosen
    return state is CandidateState.STARTED or (state is CandidateState.OPEN and chosen)


def doable(day: Day, listed: list[str]) -> list[str]:
    """Put work into an order that respects requirements and rules; what was started leads."""
    before = _forerunners(day, listed)
    ranked = sorted(listed, key=lambda i: day.candidates[i].state is not CandidateState.STARTED)
    order: list[str] = []
    while ranked:
        free = (item for item in ranked if before[item].isdisjoint(ranked))
        item = next(free, ranked[0])
        ranked.remove(item)
        order.append(item)
    return order


def _forerunners(day: Day, listed: list[str]) -> dict[str, set[str]]:
    """Give what comes before each piece of work: by requirement, as the last, by the rules."""
    before: dict[str, set[str]] = {
        item: {each for each in day.candidates[item].requires if each in listed} for item in listed
    }
    firm = [item for item in listed if not day.candidates[item].after_all]
    for item in listed:
        if day.candidates[item].after_all:
            before[item] |= set(firm)
    tasks = {item: list(planned_tasks(day.sheet, day.candidates[item])) for item in firm}
    for rule in day.sheet.rules.values():
        if not rule.only_after and rule.kind is not RuleKind.NEXT_DAY:
            for first, then in _pairs(rule, tasks):
                if first not in _behind(before, then):
                    before[then].add(first)
    return before


def _behind(before: Mapping[str, set[str]], first: str) -> set[str]:
    """Give all work that has to wait for one piece, so that no rule turns an order round."""
    found, waiting = set[str](), [first]
    while waiting:
        last = waiting.pop()
        more = {item for item, earlier in before.items() if last in earlier} - found
        found |= more
        waiting += more
    return found


def _pairs(rule: WorkRule, tasks: Mapping[str, list[Task]]) -> Iterator[tuple[str, str]]:
    """Give the pairs of work that a rule puts in an order: first, then."""
    about = [(item, task) for item, each in tasks.items() for task in each if _is_about(rule, task)]
    others = [
        (item, task)
        for item, each in tasks.items()
        for task in each
        if says_any(task.text, rule.other)
    ]
    for item, task in about:
        for other, there in others:
            near = rule.scope is Scope.VEHICLE or same_panel(task.panel, there.panel)
            if other != item and near:
                yield (other, item) if rule.kind is RuleKind.NEEDS else (item, other)


def _is_about(rule: WorkRule, task: Task) -> bool:
    """Tell whether a rule is about a task."""
    text = task.whole_text if rule.stops else task.text
    return says_any(text, rule.task) and not says_any(task.whole_text, rule.unless)


def _todo(day: Day, item: str, listed: list[str], log: EventLog) -> Todo:
    """Describe one piece of work and what it waits for."""
    each = day.candidates[item]
    worked = day.worked.get(item)
    found = [c for task in planned_tasks(day.sheet, each) for c in cautions(task) if not c.stops]
    return Todo(
        item=item,
        ref=day.refs[item],
        name=each.name,
        state=each.state,
        findings=each.findings,
        panels=each.panels,
        hours=each.hours,
        worked_h=worked.hours if worked else Fraction(0),
        waits=tuple(dict.fromkeys(_waits(day, item, listed, log))),
        cautions=tuple(dict.fromkeys(caution.said() for caution in found)),
        override=each.override or "",
    )


def _waits(day: Day, item: str, listed: list[str], log: EventLog) -> Iterator[Why]:
    """Say why a piece of work has to wait, what stops it first."""
    each = day.candidates[item]
    for why in stops_of(day.sheet, item, each):
        yield Why(why, stops=True)
    barred = [panel for panel in each.panels if panel in day.no_touch]
    if barred or each.no_touch:
        yield Why(f"not to be touched: {', '.join(barred)}" if barred else "not to be touched")
    yield from map(Why, _requirements(day, each))
    if each.after_all:
        left = [day.refs[i] for i in listed if not day.candidates[i].after_all]
        if left:
            yield Why(f"comes after all other work: {_some(left)} to do yet")
    yield from map(Why, _cures(day, each))
    yield from map(Why, _orders(day, item))
    if item in day.owner:
        yield Why(day.owner[item])
    if each.irreversible and not each.consent_given:
        yield Why("cannot be undone, and no consent is on record")
    if not each.override:
        for panel in left_to_take(day.sheet, item, each):
            if day.sheet.room(panel) is None:
                yield Why(day.sheet.unknown_room(panel))
    yield from map(Why, _against_order(day, each, log))
    yield from (Why(day.shelf[product]) for product in each.products if product in day.shelf)


def _some(refs: list[str]) -> str:
    """Name a few, and count the rest."""
    rest = len(refs) - _NAMED_MAX
    named = ", ".join(refs[:_NAMED_MAX])
    return f"{named} and {rest} more" if rest > 0 else named


def _requirements(day: Day, each: Candidate) -> Iterator[str]:
    """Say what has to be done first, and what was done that excludes it."""
    for needed in each.requires:
        state = day.candidates[needed].state
        if state is CandidateState.LEFT:
            yield f"needs {_named(day, needed)}, which was left"
        elif state is not CandidateState.DONE:
            yield f"needs {_named(day, needed)} first"
    for other in each.excludes:
        if day.candidates[other].state is CandidateState.DONE:
            yield f"excluded by {_named(day, other)}, which is done"


def _named(day: Day, item: str) -> str:
    return f"{day.refs[item]} ({day.candidates[item].name})"


def _cures(day: Day, each: Candidate) -> Iterator[str]:
    """Say which cure still runs on what it requires or on one of its panels."""
    for other, done in day.candidates.items():
        worked = day.worked.get(other)
        if done.state is not CandidateState.DONE or not done.cure_hours or worked is None:
            continue
        ready = worked.ended + timedelta(minutes=int(done.cure_hours * 60))
        if ready <= day.now:
            continue
        shared = [p for p in each.panels for q in done.panels if same_panel(p, q)]
        if other in each.requires or shared:
            where = f" on {shared[0]}" if shared else ""
            yield f"the cure of {_named(day, other)}{where} runs until {_moment(ready, day.now)}"


def _moment(at: datetime, now: datetime) -> str:
    """Write a moment of the shop: its time, with the day where that is another one."""
    local = at.astimezone(now.tzinfo)
    same = local.date() == now.date()
    return f"{local:%H:%M}" if same else f"{local:%Y-%m-%d %H:%M}"


def _orders(day: Day, item: str) -> Iterator[str]:
    """Say which part or sublet work of it is not here."""
    for ref, order in day.orders.get(item, ()):
        if order.received_on is not None or order.returned_on is not None:
            continue
        sublet = order.what is Ordered.SUBLET
        if order.ordered_on is None:
            step = "sent out" if sublet else "ordered"
            yield f"{order.name} ({ref}) is not {step} yet"
            continue
        gone = "is out since" if sublet else "is not here: ordered"
        due = "no day promised"
        if order.promised_on is not None:
            late = ", which is past" if order.promised_on < day.now.date() else ""
            due = f"promised for {order.promised_on.isoformat()}{late}"
        yield f"{order.name} ({ref}) {gone} {order.ordered_on.isoformat()}, {due}"


def _marked(day: Day) -> Iterator[Event]:
    """Let work that is marked as done count as done, on the day of its last line."""
    for item, each in day.candidates.items():
        if each.state is CandidateState.DONE:
            worked = day.worked.get(item)
            on = (worked.ended if worked else day.now).astimezone(day.now.tzinfo).date()
            yield from planned_events({item}, day.candidates, day.refs, on)


def _against_order(day: Day, each: Candidate, log: EventLog) -> Iterator[str]:
    """Say which rules of the order of work stand against it now."""
    # Work that is marked as done and has no line was done some day: not today, for all we know.
    undated = {day.refs[item] for item in day.candidates if item not in day.worked}
    where: dict[str, list[str]] = {}
    for task in planned_tasks(day.sheet, each):
        for found in broken(log, task, day.now.date(), EVERYTHING):
            marked = found.by is not None and found.by.ref in undated
            if not (found.rule.kind is RuleKind.NEXT_DAY and marked):
                where.setdefault(found.said(), []).append(task.panel or "")
    for said, named in where.items():
        panels = list(dict.fromkeys(filter(None, named)))
        some = panels and set(panels) < set(each.panels)
        yield f"{said} That is on: {', '.join(panels)}." if some else said


def hours_words(todo: Todo) -> str:
    """Write the hours that are expected, and those that were posted."""
    low, likely, high = (_plain(n) for n in (todo.hours.low, todo.hours.likely, todo.hours.high))
    expected = f"{likely} h" if low == high else f"{likely} h ({low} to {high})"
    worked = _plain(Decimal(round(todo.worked_h * 100)) / 100)
    return f"{expected}, {worked} h done" if todo.worked_h else expected


def _plain(number: Decimal) -> str:
    """Write a number without trailing zeros."""
    return f"{number.normalize():f}"
