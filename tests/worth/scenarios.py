"""Turns the worked scenarios in tests/data/cases/scenarios.json into questions.

The scenarios are the project's own invented figures with their answers worked out; numbers
are read as text, never as float.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
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
from recondition.worth.terms import SaleTerms, Slice

FILE = Path(__file__).parent.parent / "data" / "cases" / "scenarios.json"


def scenario(name: str) -> dict[str, Any]:
    """Give one scenario, its numbers as Decimal or int."""
    whole = json.loads(FILE.read_text(encoding="utf-8"), parse_float=Decimal)
    return next(case for case in whole["scenarios"] if case["id"] == name)


def amount(case: dict[str, Any], number: Decimal | int) -> Money:
    """Give an amount in the scenario's currency; published figures may end in one decimal."""
    return Money.of(Decimal(number), case["currency"])


def question(case: dict[str, Any]) -> Question:
    """Build the question of one scenario."""
    return Question(
        candidates={work["id"]: _candidate(case, work) for work in case["items"]},
        refs={},
        interactions=tuple(
            Interaction(
                vehicle="v",
                items=tuple(term["items"]),
                delta_uplift=amount(case, term["delta_uplift"]),
            )
            for term in case["interactions"]
        ),
        terms=_terms(case),
        holding=_holding(case),
        mean_rule=MeanRule.TRIANGLE,
        indifference=Money.zero(case["currency"]),
    )


def _holding(case: dict[str, Any]) -> Holding:
    own = case["labour_rate_used"] == case["labour_cost_rate"]
    return Holding.OWN if own else Holding.CONSIGNED


def _basis(case: dict[str, Any]) -> Basis:
    return {"hammer": Basis.HAMMER, "all_in": Basis.ALL_IN}[case["uplift_basis"]]


def _candidate(case: dict[str, Any], work: dict[str, Any]) -> Candidate:
    return Candidate(
        vehicle="v",
        name=work["name"],
        hours=ThreeNumbers(*map(Decimal, work["hours"])),
        cash=ThreeAmounts(*(amount(case, one) for one in work["cash"])),
        uplift=ThreeAmounts(*(amount(case, one) for one in work["uplift"])),
        uplift_basis=_basis(case),
        p_success=Decimal(work["p_success"]),
        fail_cash=amount(case, work["fail_cash"]),
        fail_uplift=amount(case, work["fail_uplift"]),
        extra_days=Decimal(work.get("extra_days", 0)),
        requires=tuple(work.get("requires", ())),
        excludes=tuple(work.get("excludes", ())),
        irreversible=work.get("irreversible", False),
    )


def _terms(case: dict[str, Any]) -> SaleTerms:
    limits = case["constraints"]
    return SaleTerms(
        vehicle="v",
        basis=_basis(case),
        as_is=ThreeAmounts(*(amount(case, one) for one in case["as_is_hammer"])),
        commission=(Slice(case["seller_commission"]),),
        premium=(Slice(case["buyer_premium"]),),
        labour_cost_rate=amount(case, case["labour_cost_rate"]),
        charge_out_rate=amount(case, case["charge_out_rate"]),
        holding_per_day=amount(case, case["holding_per_day"]),
        cash_limit=amount(case, limits["cash"]) if "cash" in limits else None,
        hours_limit=Decimal(limits["hours"]) if "hours" in limits else None,
        owner_limit=amount(case, limits["owner_spend"]) if "owner_spend" in limits else None,
    )
