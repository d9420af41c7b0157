"""Short ways to write a candidate and a question, so that a test shows only what it is about."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from recondition.amounts import Money
from recondition.condition.vehicle import Holding
from recondition.worth.estimates import (
    Basis,
    Candidate,
    Interaction,
    MeanRule,
    ThreeAmounts,
    ThreeNumbers,
)
from recondition.worth.question import Question
from recondition.worth.terms import SaleTerms


def usd(number: int | str) -> Money:
    """Give dollars."""
    return Money.of(number, "USD")


def sure_amount(number: int | str) -> ThreeAmounts:
    """Give an amount without a spread."""
    return ThreeAmounts(usd(number), usd(number), usd(number))


def sure_number(number: int | str) -> ThreeNumbers:
    """Give a number without a spread."""
    return ThreeNumbers(Decimal(number), Decimal(number), Decimal(number))


def work(cash: int | str = 0, uplift: int | str | None = 0, **more: Any) -> Candidate:
    """Give certain work of so much cash and uplift, and no hours unless they are named."""
    return Candidate(
        vehicle="v",
        name="work",
        cash=sure_amount(cash),
        hours=more.pop("hours", sure_number(0)),
        uplift=None if uplift is None else sure_amount(uplift),
        **more,
    )


def ask(
    candidates: dict[str, Candidate],
    *,
    together: dict[str, int] | None = None,
    holding: Holding = Holding.OWN,
    indifference: int | str = 0,
    no_touch_panels: frozenset[str] = frozenset(),
    **terms: Any,
) -> Question:
    """Give a question with no commission; ``together`` is keyed like "A B"."""
    return Question(
        candidates=candidates,
        refs={},
        interactions=tuple(
            Interaction(vehicle="v", items=tuple(names.split()), delta_uplift=usd(delta))
            for names, delta in (together or {}).items()
        ),
        terms=SaleTerms(
            vehicle="v",
            basis=terms.pop("basis", Basis.HAMMER),
            as_is=terms.pop("as_is", sure_amount(10000)),
            labour_cost_rate=terms.pop("labour_cost_rate", usd(0)),
            **terms,
        ),
        holding=holding,
        mean_rule=MeanRule.TRIANGLE,
        indifference=usd(indifference),
        no_touch_panels=no_touch_panels,
    )
