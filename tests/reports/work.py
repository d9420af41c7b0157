"""An invented vehicle with candidate work in every state, for the reports."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money
from recondition.condition.vehicle import Holding
from recondition.fields import Id, Words
from recondition.ledger.rollup import pieces
from recondition.reports.cost_and_uplift import CostAndUplift
from recondition.worth.estimates import (
    Basis,
    Candidate,
    CandidateState,
    Interaction,
    MeanRule,
    ThreeAmounts,
    ThreeNumbers,
)
from recondition.worth.progress import Progress, cost_and_uplift
from recondition.worth.question import Question
from recondition.worth.terms import SaleTerms
from tests.lines import FINDINGS, OWN, charge, labour, posted, taken_back

if TYPE_CHECKING:
    from recondition.ledger.rollup import Line


def three(low: str, likely: str, high: str) -> ThreeAmounts:
    """Give three amounts in dollars."""
    return ThreeAmounts(*(Money.of(text, "USD") for text in (low, likely, high)))


def candidate(name: str, state: CandidateState, **more: Any) -> Candidate:
    """Give candidate work: mean 3 h and 100.00 cash, mean uplift 600.00, all certain."""
    fields: dict[str, Any] = {
        "vehicle": OWN,
        "name": Words(name),
        "hours": ThreeNumbers(Decimal(2), Decimal(3), Decimal(4)),
        "cash": three("50.00", "100.00", "150.00"),
        "uplift": three("300.00", "600.00", "900.00"),
        "uplift_basis": Basis.HAMMER,
        "state": state,
        **more,
    }
    return Candidate(**fields)


def question(**more: Any) -> Question:
    """Give four pieces of work at 40.00 an hour: each is expected to cost 220.00."""
    fields: dict[str, Any] = {
        "candidates": {
            "c1": candidate("open", CandidateState.OPEN, findings=(Id("f1"), Id("f2"))),
            "c2": candidate("done", CandidateState.DONE, findings=(Id("f3"),), uplift=None),
            "c3": candidate("started", CandidateState.STARTED, findings=(Id("f2"),)),
            "c4": candidate("left", CandidateState.LEFT),
        },
        "refs": {"c1": "C1", "c2": "C2", "c3": "C3", "c4": "C4"},
        "interactions": (
            Interaction(
                vehicle=OWN, items=(Id("c1"), Id("c3")), delta_uplift=Money.of("50.00", "USD")
            ),
        ),
        "terms": SaleTerms(
            vehicle=OWN,
            basis=Basis.HAMMER,
            as_is=three("9000.00", "10000.00", "11000.00"),
            labour_cost_rate=Money.of("40.00", "USD"),
            charge_out_rate=Money.of("100.00", "USD"),
        ),
        "holding": Holding.OWN,
        "mean_rule": MeanRule.TRIANGLE,
        "indifference": Money.zero("USD"),
        **more,
    }
    return Question(**fields)


def posted_lines() -> tuple[Line, ...]:
    """Give lines on done and started work, one outside any estimate, one taken back."""
    wrong = posted(3, charge("999.00", links=("f2",), candidate="c3"))
    return (
        posted(1, labour("4", links=("f3",), candidate="c2")),  # 155.00
        posted(2, charge("300.00", links=("f1", "f2"), candidate="c3")),
        wrong,
        taken_back(4, wrong),
        posted(5, charge("12.34", links=("f1",))),
    )


def progress(**more: Any) -> Progress:
    """Work out the progress of the vehicle."""
    return cost_and_uplift(question(**more), pieces(posted_lines(), FINDINGS), FINDINGS)


def data() -> CostAndUplift:
    """Give what the report reads; the findings are named by their keys there."""
    lines = {line.id: line for line in posted_lines()}
    return CostAndUplift(progress(), {}, lines, pieces(lines.values(), FINDINGS), {})
