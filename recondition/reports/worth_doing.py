"""The dealer's answer: what is worth doing, as tables, a picture and one sentence."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.rounding import round_to
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.reports.worth_time import in_time, ready_sentence
from recondition.worth.advice import (
    Advice,
    Figures,
    ItemAdvice,
    LimitUse,
    Plan,
    listed,
    sentence,
    with_currency,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from recondition.reports.drawing import Figure
    from recondition.worth.question import Question

_MONEY = CellKind.MONEY


def summary(advice: Advice) -> str:
    """Give the advice in one sentence, and the plan that needs no asking where it differs."""
    words = sentence(advice)
    if advice.proven:
        words += " No allowed set of work is worth more: proven."
    else:
        words += f" A better set could still be worth up to {with_currency(advice.gap)} more."
    if advice.chosen:
        chance = Decimal(advice.risk.chance_worse.numerator * 100)
        percent = (chance / advice.risk.chance_worse.denominator).quantize(Decimal(1))
        words += (
            f" Chance of ending worse than leaving it alone: {percent} %; worst reasonable "
            f"outcome {with_currency(advice.risk.worst)}."
        )
    words = " ".join(filter(None, (words, ready_sentence(advice))))
    if advice.without_asking.items != advice.plan.items:
        words += f" Without asking anybody: {advice.without_asking.net.grouped} instead."
    return words


def build(advice: Advice, question: Question) -> list[Table]:
    """Give the tables: verdicts, gains, costs, plans side by side, limits."""
    return [
        _verdicts(advice, question),
        _gains(advice),
        _costs(advice),
        _plans(advice, question),
        _limits(advice),
    ]


def _name(question: Question, item: str) -> str:
    """Give what a piece of work is called."""
    return question.candidates[item].name


def _verdicts(advice: Advice, question: Question) -> Table:
    """One row an item: the verdict and its reason."""
    rows = [(i.ref, _name(question, i.item), i.verdict.value, i.reason) for i in advice.items]
    sunk = "no longer weighed: what was spent on it is spent"
    done = [(question.ref(item), _name(question, item), "done", sunk) for item in advice.done]
    return Table(
        title="What to do, leave and ask about",
        columns=(
            Column("ref", "Work"),
            Column("name", "What it is"),
            Column("verdict", "Verdict"),
            Column("reason", "Why"),
        ),
        rows=tuple(rows + done),
        note=" ".join(advice.notes),
    )


def _costs(advice: Advice) -> Table:
    """One row an item: what it costs, and what it must and may add to the price."""
    return Table(
        title="What each piece of work costs, and what it must add",
        columns=(
            Column("ref", "Work"),
            Column("cost_low", "Cost, low", _MONEY),
            Column("cost_mean", "Cost, expected", _MONEY),
            Column("cost_high", "Cost, high", _MONEY),
            Column("break_even", "Must add at least", _MONEY),
            Column("uplift", "Expected to add", _MONEY),
        ),
        rows=tuple(
            (i.ref, f.cost.low, f.cost.mean, f.cost.high, f.break_even_uplift, f.uplift.mean)
            for i, f in _weighed(advice)
        ),
        note=(
            f"Estimated figures, hours at {advice.rate_name} {advice.rate.grouped}. What it must "
            f"and may add is on the {advice.basis} price. Expected cost counts failure too."
        ),
    )


def _gains(advice: Advice) -> Table:
    """One row an item: what the seller gains by it, and what it is worth in the plan."""
    return Table(
        title="What the seller gains",
        columns=(
            Column("ref", "Work"),
            Column("gain_low", "Gain, low", _MONEY),
            Column("gain_mean", "Gain, expected", _MONEY),
            Column("gain_high", "Gain, high", _MONEY),
            Column("marginal", "Worth in the plan", _MONEY),
        ),
        rows=tuple(
            (i.ref, f.gain.low, f.gain.mean, f.gain.high, f.marginal_net)
            for i, f in _weighed(advice)
        ),
        note=(
            "Gain is what the seller keeps of the uplift, less the cost. Low is low uplift with "
            "high cost. Worth in the plan is the best net with the work less the best without it."
        ),
    )


def _weighed(advice: Advice) -> list[tuple[ItemAdvice, Figures]]:
    """Give the items that have figures."""
    return [(item, item.figures) for item in advice.items if item.figures is not None]


def _plans(advice: Advice, question: Question) -> Table:
    """Set the plan beside the runner-up, the plan without asking and everything at once."""
    named: list[tuple[str, Plan | None]] = [
        ("the plan", advice.plan),
        ("next best set", advice.runner_up),
        ("only what needs no asking", advice.without_asking),
        ("everything, limits ignored", advice.everything),
    ]
    rows = [_plan_row(name, plan, question) for name, plan in named if plan is not None]
    given_up = advice.given_up
    return Table(
        title="Plans side by side",
        columns=(
            Column("plan", "Plan"),
            Column("items", "Work in it"),
            Column("cost", "Expected cost", _MONEY),
            Column("uplift", "Expected uplift", _MONEY),
            Column("net", "Expected net", _MONEY),
            Column("net_low", "Net, low", _MONEY),
            Column("net_high", "Net, high", _MONEY),
        ),
        rows=tuple(rows),
        note=f"The plan gives up {given_up.grouped} to touch less." if given_up else "",
    )


def _plan_row(name: str, plan: Plan, question: Question) -> tuple[Cell, ...]:
    """Write one plan."""
    items = listed([question.ref(item) for item in plan.items]) if plan.items else "nothing"
    return (name, items, plan.cost, plan.uplift, plan.net, plan.net_low, plan.net_high)


def _limits(advice: Advice) -> Table:
    """Show what the plan takes of each limit."""
    return Table(
        title="Limits",
        columns=(Column("limit", "Limit"), Column("most", "At most"), Column("used", "Plan takes")),
        rows=tuple((u.name, _shown(u.most), _shown(u.used)) for u in advice.limits),
        note=_walls(advice.limits, advice.notes),
    )


def _walls(limits: tuple[LimitUse, ...], notes: tuple[str, ...]) -> str:
    """Say which case the limits were measured in."""
    if not limits:
        return "No limit is set in the terms of this vehicle."
    return next((note for note in notes if note.startswith("Limits are held")), "")


def _shown(amount: Money | Fraction) -> str:
    """Write money with its currency and hours with two decimals."""
    if isinstance(amount, Money):
        return f"{amount.grouped} {amount.currency}"
    return f"{round_to(amount, 2)} h"


def picture(advice: Advice, question: Question, name: str) -> Figure | None:
    """Draw gain low-mean-high around zero, best first; None where nothing is weighed."""
    from recondition.reports.figures import Bar, bars  # noqa: PLC0415 - draws, so it is slow

    weighed = sorted(_weighed(advice), key=lambda pair: pair[1].gain.mean.minor, reverse=True)
    if not weighed:
        return None
    drawn = [
        Bar(f"{item.ref} {_name(question, item.item)}", f.gain.low, f.gain.mean, f.gain.high,
            item.verdict.value)
        for item, f in weighed
    ]  # fmt: skip
    return bars(drawn, name=name, title="Gain for the seller: low, mean and high")


def as_json(advice: Advice, tables: Iterable[Table]) -> Mapping[str, object]:
    """Give the advice for machines: money as strings with currency, ids as the user's refs."""
    from recondition.reports.plain import to_json  # noqa: PLC0415 - only where asked for

    return {
        "advice": sentence(advice),
        "do": [i.ref for i in advice.items if i.verdict.value == "do"],
        "ask": [i.ref for i in advice.items if i.verdict.value == "ask"],
        "leave": [i.ref for i in advice.items if i.verdict.value == "leave"],
        "net": {"amount": str(advice.plan.net), "currency": advice.plan.net.currency},
        "gap": {"amount": str(advice.gap), "currency": advice.gap.currency},
        "proven": advice.proven,
        "ready": in_time(advice.ready),
        "notes": list(advice.notes),
        "tables": {table.title: to_json(table) for table in tables},
    }
