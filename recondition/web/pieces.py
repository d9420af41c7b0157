"""The pieces of work of a plan as its page shows them, with what the owner was asked and said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from recondition.amounts.money import rounded
from recondition.book import Connection, reading
from recondition.condition.vehicle import Holding
from recondition.intake.sheets import sheet_named
from recondition.web.answers import shop_clock
from recondition.web.forms import Field, fields_of
from recondition.web.sliders import Slider, sliders_of
from recondition.worth.advice import listed, with_currency
from recondition.worth.weighing import weigh

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from recondition.amounts import Money
    from recondition.ledger.approvals import Approval, ChangeRequest
    from recondition.web.answers import Known
    from recondition.web.decision import Moved
    from recondition.web.vehicles import Seen
    from recondition.worth.advice import ItemAdvice
    from recondition.worth.estimates import Candidate
    from recondition.worth.weighing import Weighing
    from recondition.worth.what_if import Lever

ANSWER = ("answer", "answered_on", "amount", "how", "by", "limit", "request", "words")
QUESTION = ("asked_on", "amount", "limit", "words")
AGREED = "agreed"  # the tick beside an answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One piece of candidate work as the decision shows it, with what can be moved of it.

    ``leaves`` is what it leaves the seller beside the rest of the plan, where that is not what it
    adds by itself. ``asked`` are lines on what the owner was asked and answered, ``consent``
    whether it may be done although it cannot be undone: None where it can.
    """

    ref: str
    name: str
    verdict: str
    reason: str
    state: str
    sliders: tuple[Slider, ...] = ()
    advised: ItemAdvice | None = None
    leaves: Money | None = None
    asked: tuple[str, ...] = ()
    consent: bool | None = None


def works_of(conn: Connection, car: Seen, known: Known, made: Moved | None) -> list[Work]:
    """Give each piece of work with its verdict and sliders, done work last.

    ``made`` is the plan with estimates moved, where some were.
    """
    question, weighing = known.question, weigh(known.question)
    movable: dict[str, list[Lever]] = {}
    for lever in made.levers if made else known.levers:
        movable.setdefault(lever.item, []).append(lever)
    typed = made.typed if made else {}
    asked = _asked(conn, car)
    found = [
        Work(
            ref=item.ref, name=str(question.candidates[item.item].name),
            verdict=item.verdict.value, reason=item.reason,
            state=question.candidates[item.item].state.value,
            sliders=tuple(sliders_of(movable.get(item.item, ()), typed)), advised=item,
            leaves=_leaves(weighing, known, item), asked=asked.get(item.item, ()),
            consent=_consent(question.candidates[item.item]),
        )
        for item in known.advice.items
    ]  # fmt: skip
    done_before = [
        Work(
            ref=question.ref(item), name=str(question.candidates[item].name), verdict="done",
            reason="what was spent on it is spent", state="done", asked=asked.get(item, ()),
        )
        for item in known.advice.done
    ]  # fmt: skip
    return [*found, *done_before]


def _consent(candidate: Candidate) -> bool | None:
    """Tell whether consent to what cannot be undone is on record; None where it can be."""
    return candidate.consent_given if candidate.irreversible else None


def _leaves(weighing: Weighing, known: Known, item: ItemAdvice) -> Money | None:
    """Give what work leaves the seller of what it adds beside the rest of the plan."""
    if item.figures is None:
        return None
    rest = frozenset(known.advice.chosen) - {item.item}
    already = weighing.uplift(rest)
    adds = weighing.uplift(rest | {item.item}) - already
    left = rounded(weighing.kept(adds, already), known.question.currency)
    return None if left == item.figures.uplift.mean else left


def _asked(conn: Connection, car: Seen) -> dict[str, tuple[str, ...]]:
    """Say by piece of work what its owner was asked and answered, in the order of the days."""

    def amount(entry: ChangeRequest | Approval) -> str:
        refs = sorted(names[item] for item in entry.candidates)
        said = with_currency(entry.amount)
        said += f" for {listed(refs)} together" if len(refs) > 1 else ""
        return said if entry.limit is None else f"{said}, up to {with_currency(entry.limit)} in all"

    if car.vehicle.entry.holding is not Holding.CONSIGNED:
        return {}
    requests = reading.stored(conn, "change request", vehicle=car.vehicle.id)
    approvals = reading.stored(conn, "approval", vehicle=car.vehicle.id)
    named = {each.author for each in requests} | {each.entry.by for each in approvals}
    named.update(*(each.entry.candidates for each in (*requests, *approvals)))
    names = reading.names_of(conn, named)
    said: list[tuple[date, str, Any]] = [
        (e.entry.asked_on, f"{names.get(e.author, '')} asked the owner", e) for e in requests
    ]
    for each in approvals:
        by, entry = names.get(each.entry.by, ""), each.entry
        how = f"{entry.answer.value} by {by}, {entry.how.value}"
        said.append((entry.answered_on, how, each))
    found: dict[str, tuple[str, ...]] = {}
    for day, words, each in sorted(said, key=lambda one: one[0]):
        line = f"{day.isoformat()}: {words}, {amount(each.entry)} ({each.ref})"
        for item in each.entry.candidates:
            found[item] = (*found.get(item, ()), line)
    return found


def _unanswered(conn: Connection, car: Seen) -> dict[str, str]:
    """Give the newest change request without an answer that names each piece of work."""
    approvals = reading.stored(conn, "approval", vehicle=car.vehicle.id)
    answered = {each.entry.request for each in approvals}
    requests = reading.stored(conn, "change request", vehicle=car.vehicle.id)
    return {
        item: each.ref
        for each in requests
        if each.id not in answered
        for item in each.entry.candidates
    }


def forms_of(
    conn: Connection, car: Seen, known: Known, given: Mapping[str, str]
) -> dict[str, dict[str, list[Field]]]:
    """Give the forms to ask an owner and to enter the answer, by the ref of the work.

    ``given`` are the fields of a form that was refused.
    """
    if car.vehicle.entry.holding is not Holding.CONSIGNED:
        return {}
    owner = reading.names_of(conn, filter(None, [car.vehicle.entry.owner]))
    by = next(iter(owner.values()), "")
    today, open_ = shop_clock().date().isoformat(), _unanswered(conn, car)
    made: dict[str, dict[str, list[Field]]] = {}
    for item in known.advice.items:
        cost = str(item.figures.cost.mean) if item.figures else ""
        mine = dict(given) if given.get("candidates") == item.ref else {}
        request = open_.get(item.item, "")
        approve = {"answered_on": today, "amount": cost, "by": by, "request": request} | mine
        ask = {"asked_on": today, "amount": cost, "words": item.reason} | mine
        made[item.ref] = {
            "approve": list(_some(conn, "approvals", ANSWER, approve)),
            "ask": list(_some(conn, "change requests", QUESTION, ask)),
        }
    return made


def _some(
    conn: Connection, sheet: str, names: tuple[str, ...], given: Mapping[str, str]
) -> Iterator[Field]:
    """Give some fields of a sheet in the order named."""
    found = {f.name: f for f in fields_of(conn, sheet_named(sheet), given)}
    return (found[name] for name in names)
