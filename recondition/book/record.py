"""Freezing decisions, and setting them against what happened."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, select

import recondition
from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.book import reading
from recondition.book.tables_books import entry_reversal
from recondition.condition.vehicle import Holding
from recondition.fields import Id
from recondition.ledger.codec import encode_fields
from recondition.ledger.drafts import Stored
from recondition.worth.estimates import Basis, Candidate, ThreeAmounts
from recondition.worth.settlement import all_in, hammer_of
from recondition.worth.track import (
    Decision,
    Met,
    biases,
    correction_of,
    scaled_amounts,
    scaled_numbers,
)
from recondition.worth.weighing import mean

if TYPE_CHECKING:
    from recondition.worth.advice import Advice
    from recondition.worth.question import Question
    from recondition.worth.terms import SaleTerms

PRICE, COST = "price", "cost of the plan"


def frozen(vehicle: str, question: Question, advice: Advice, decided_on: date) -> Decision:
    """Make the record of a decision: its inputs, its result, and what worked it out.

    Free texts stay outside, so that a person's words can be erased without breaking it.
    """
    plan = advice.plan
    as_is = question.terms.as_is
    chosen = [question.candidates[item] for item in plan.items]
    by = dict.fromkeys(each.estimated_by for each in chosen if each.estimated_by)
    figures = {item.item: item.figures for item in advice.items}
    costs = [f.cost for item in plan.items if (f := figures[item]) is not None]
    zero = Money.zero(question.currency)
    return Decision(
        vehicle=Id(vehicle),
        decided_on=decided_on,
        chosen=tuple(Id(item) for item in plan.items),
        price=_around(
            as_is.low + plan.uplift_low,
            rounded(mean(as_is, question.mean_rule), question.currency) + plan.uplift,
            as_is.high + plan.uplift_high,
        ),
        basis=question.terms.basis,
        cost=_around(_sum(costs, "low", zero), plan.cost, _sum(costs, "high", zero)),
        net=_around(plan.net_low, plan.net, plan.net_high),
        proven=advice.proven,
        inputs=inputs_of(question),
        versions=f"recondition {recondition.__version__}; ortools {version('ortools')}; "
        f"means by the {question.mean_rule} rule",
        seed=advice.risk.seed,
        estimated_by=tuple(by),
    )


def _sum(costs: list[Any], end: str, zero: Money) -> Money:
    return sum((getattr(cost, end) for cost in costs), zero)


def _around(low: Money, expected: Money, high: Money) -> ThreeAmounts:
    """Give a range that holds its expected figure: failure lies outside low and high."""
    ends = sorted((low, expected, high), key=lambda money: money.minor)
    return ThreeAmounts(ends[0], expected, ends[-1])


def inputs_of(question: Question) -> str:
    """Write everything a decision rests on as one canonical text, free texts aside."""
    shop = question.shop
    inputs: dict[str, Any] = {
        "candidates": {item: encode_fields(each) for item, each in question.candidates.items()},
        "interactions": [encode_fields(each) for each in question.interactions],
        "terms": encode_fields(question.terms),
        "holding": question.holding.value,
        "mean rule": question.mean_rule.value,
        "indifference": str(question.indifference),
        "begin": question.begin.isoformat() if question.begin else "",
        "no touch": sorted(question.no_touch_panels),
        "used": {i: [str(u.hours), str(u.cash)] for i, u in question.used.items()},
        "film": {panel: str(room) for panel, room in question.film_room.items()},
        "shop": {
            "opens": str(shop.calendar.opens),
            "shift": str(shop.calendar.shift),
            "weekdays": sorted(map(str, shop.calendar.weekdays)),
            "closed": sorted(day.isoformat() for day in shop.calendar.closed),
            "bays": str(shop.bays),
            "laying out": shop.laying_out.value,
            "time case": shop.time_reading.value,
            "limit case": shop.limit_reading.value,
            # Hands without their names: initials can be erased, and this text cannot.
            "hands": [[*sorted(hand.skills), str(hand.hours_a_day)] for hand in shop.hands],
        },
    }
    return json.dumps(inputs, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def met_of(conn: Connection) -> list[Met]:
    """Set the last decision before each sale against what happened; open ones come last."""
    undone = set(conn.execute(select(entry_reversal.c.reverses)).scalars())
    sales = {
        sale.entry.vehicle: sale
        for sale in reading.stored(conn, "sale")
        if sale.entry.price is not None and sale.id not in undone
    }
    decisions: dict[str, Stored[Decision]] = {}
    for each in reading.stored(conn, "decision"):
        sale = sales.get(each.entry.vehicle)
        if sale is None or each.entry.decided_on <= sale.entry.sold_on:
            decisions[each.entry.vehicle] = each
    found = [met for each in decisions.values() for met in _met(conn, each, sales)]
    return sorted(found, key=lambda met: met.actual is None)


def _met(
    conn: Connection, decision: Stored[Decision], sales: dict[str, Stored[Any]]
) -> Iterator[Met]:
    entry = decision.entry
    sale = sales.get(entry.vehicle)
    people = reading.refs_by_id(conn, ["person"])
    by = tuple(people.get(person, person) for person in entry.estimated_by)
    price = None if sale is None else _price_on(conn, sale.entry, entry.basis)
    spent = None if sale is None else _spent(conn, decision)
    for what, three, actual in ((PRICE, entry.price, price), (COST, entry.cost, spent)):
        yield Met(
            decision=decision.ref,
            vehicle=entry.vehicle,
            what=what,
            by=by,
            low=three.low,
            expected=three.likely,
            high=three.high,
            actual=actual,
        )


def _price_on(conn: Connection, sale: Any, basis: Basis) -> Money:  # noqa: ANN401 - any sale
    """Give the price fetched on the basis that the decision spoke of."""
    stated = reading.stored(conn, "terms", vehicle=sale.vehicle)
    if sale.basis is basis or not stated:
        price: Money = sale.price
        return price
    terms: SaleTerms = stated[-1].entry
    turn = all_in if basis is Basis.ALL_IN else hammer_of
    return rounded(turn(sale.price.fraction, terms), sale.price.currency)


def _spent(conn: Connection, decision: Stored[Decision]) -> Money:
    """Add up what lines of the chosen work came to since the decision, reversals taken off.

    What was posted before was no part of what the decision estimated.
    """
    made = decision.entry
    vehicle = next(v for v in reading.stored(conn, "vehicle") if v.id == made.vehicle)
    owned = vehicle.entry.holding is Holding.CONSIGNED
    lines = {line.id: line for line in reading.lines(conn, made.vehicle)}
    total = Money.zero(made.price.likely.currency)
    for line in lines.values():
        first = lines.get(line.reverses, line) if line.reverses else line
        chosen = getattr(first.entry, "candidate", None) in made.chosen
        if line.priced is not None and chosen and first.sequence > decision.sequence:
            money = line.priced.billed if owned else line.priced.cost
            total += money or Money.zero(total.currency)
    return total


def corrected(conn: Connection, question: Question) -> tuple[Question, list[str]]:
    """Give a question with hours, cash and price corrected by the record, and what was done."""
    found = biases(met_of(conn))
    people = reading.refs_by_id(conn, ["person"])
    price = correction_of(found, PRICE, None)
    said = [f"prices times {float(price):.2f}"] if price != 1 else []
    candidates: dict[str, Candidate] = {}
    for item, each in question.candidates.items():
        who = people.get(each.estimated_by or "", "")
        factor = correction_of(found, COST, who)
        candidates[item] = replace(
            each,
            hours=scaled_numbers(each.hours, factor),
            cash=scaled_amounts(each.cash, factor),
        )
        if factor != 1:
            said.append(f"cost estimates of {who or 'nobody named'} times {float(factor):.2f}")
    terms = replace(question.terms, as_is=scaled_amounts(question.terms.as_is, price))
    return replace(question, candidates=candidates, terms=terms), list(dict.fromkeys(said))
