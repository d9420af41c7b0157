"""Draws against what can be worked out, and what the loss limit and approvals ask about."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from recondition.amounts import Money
from recondition.condition.vehicle import Holding
from recondition.worth.advice import sentence
from recondition.worth.decision import decide
from recondition.worth.estimates import MeanRule, ThreeAmounts, ThreeNumbers
from recondition.worth.risk import Draws
from recondition.worth.weighing import Case, Points, weigh
from tests.check_values import check_values
from tests.worth.build import ask, sure_number, usd, work
from tests.worth.joint import MARCH
from tests.worth.scenarios import question, scenario


def three(low: int, likely: int, high: int) -> ThreeAmounts:
    return ThreeAmounts(usd(low), usd(likely), usd(high))


def test_published_means_of_the_smooth_rule() -> None:
    """PM Knowledge Center, table 1: (a + 4m + b) / 6, summed along a path."""
    rows = [row for row in check_values("pert_examples") if row["a"]]
    for row in rows:
        points = Points(tuple(Fraction(row[key]) for key in ("a", "m", "b")))
        assert points.mean(MeanRule.SMOOTH) == Fraction(row["mean"])
    path = sum(Fraction(row["mean"]) for row in rows if row["activity"] in "ABEF")
    assert path == 15


@pytest.mark.parametrize("rule", list(MeanRule))
def test_draws_have_the_mean_and_spread_of_their_estimate(rule: MeanRule) -> None:
    one = work(0, 0, hours=ThreeNumbers(Decimal(2), Decimal(5), Decimal(11)))
    asked = ask({"A": replace(one, uplift=three(-500, 200, 1400))}, labour_cost_rate=usd(40))
    asked = replace(asked, mean_rule=rule)
    weighing = weigh(asked)
    draws = Draws(weighing, draws=200_000)
    weight = weighing.weights["A"]
    assert draws.uplift["A"].mean() == pytest.approx(float(weight.uplift[Case.EXPECTED]), abs=5)
    assert draws.cost["A"].mean() == pytest.approx(float(weight.cost[Case.EXPECTED]), abs=1)
    assert -500 <= draws.uplift["A"].min() <= draws.uplift["A"].max() <= 1400
    if rule is MeanRule.TRIANGLE:
        # Variance of a triangle (2, 5, 11): 3.5 (check values, section 12), at 40 an hour.
        assert draws.cost["A"].var() == pytest.approx(3.5 * 40**2, rel=0.02)


def test_uplifts_move_together_and_costs_do_not() -> None:
    item = work(0, 0, hours=ThreeNumbers(Decimal(1), Decimal(2), Decimal(6)))
    item = replace(item, uplift=three(0, 300, 900))
    weighing = weigh(ask({"A": item, "B": item}, labour_cost_rate=usd(10)))
    draws = Draws(weighing, draws=20_000)
    assert np.corrcoef(draws.uplift["A"], draws.uplift["B"])[0, 1] == pytest.approx(1)
    assert abs(np.corrcoef(draws.cost["A"], draws.cost["B"])[0, 1]) < 0.03


def test_the_draws_of_a_worked_case_average_to_its_expected_net() -> None:
    case = scenario("S03")
    weighing = weigh(question(case))
    chosen = frozenset(case["expected"]["choose"])
    nets = Draws(weighing, draws=100_000, seed=5).nets(chosen)
    error = nets.std() / len(nets) ** 0.5
    assert abs(nets.mean() - float(case["expected"]["expected_net"])) < 4 * error


def test_the_same_seed_makes_the_same_draws() -> None:
    asked = question(scenario("S03"))
    assert decide(asked, seed=3).risk == decide(asked, seed=3).risk
    assert decide(asked, seed=3).risk != decide(asked, seed=4).risk
    assert decide(asked, seed=3).risk.seed == 3


def test_certain_work_cannot_end_worse() -> None:
    risk = decide(ask({"A": work(10, 100)})).risk
    assert (risk.chance_worse, risk.worst, risk.best) == (0, usd(90), usd(90))


def risky(uplift: int, loss: int) -> object:
    """Give work that pays on average and loses heavily two times in five."""
    return work(10, uplift, p_success=Decimal("0.6"), fail_uplift=usd(-loss))


def test_a_loss_limit_asks_about_what_brings_the_plan_back_within_it() -> None:
    works = {"A": risky(1000, 500), "B": work(10, 50)}
    free = decide(ask(works))
    held = decide(ask(works, loss_limit=usd(100)))
    assert held.plan == free.plan
    verdicts = {item.ref: item.verdict.value for item in held.items}
    assert verdicts == {"A": "ask", "B": "do"}
    reason = held.items[0].reason
    assert reason.startswith("the worst reasonable outcome of the plan, -470.00 USD, passes the")
    assert held.without_asking.items == ("B",)
    assert {item.verdict.value for item in free.items} == {"do"}


def test_where_no_item_alone_brings_it_back_all_ask() -> None:
    works = {name: risky(1000, 500) for name in "AB"}
    held = decide(ask(works, loss_limit=usd(1)))
    assert {item.verdict.value for item in held.items} == {"ask"}
    assert held.without_asking.items == ()


def test_work_above_what_may_be_spent_unasked_asks_and_so_does_what_needs_it() -> None:
    works = {"A": work(500, 900), "B": work(10, 50, requires=("A",)), "C": work(10, 50)}
    advice = decide(ask(works, ask_above=usd(400)))
    reasons = {item.ref: item.reason for item in advice.items}
    assert {item.ref: item.verdict.value for item in advice.items} == {
        "A": "ask", "B": "ask", "C": "do",
    }  # fmt: skip
    assert reasons["A"].startswith("costs 500.00 USD, above the 400.00 USD to be asked about")
    assert reasons["B"].startswith("needs A, to be asked about first")
    assert advice.without_asking.items == ("C",)


def test_irreversible_work_with_consent_must_still_pass_the_higher_bar() -> None:
    works = {"A": work(100, 250, irreversible=True, consent_given=True), "B": work(10, 50)}
    high = replace(ask(works), irreversible_bar=Fraction(2))
    low = replace(ask(works), irreversible_bar=Fraction(3, 2))
    assert [item.verdict.value for item in decide(high).items] == ["ask", "do"]
    assert "below the bar of 200.00 USD" in decide(high).items[0].reason
    assert [item.verdict.value for item in decide(low).items] == ["do", "do"]


def test_the_approval_case_needs_more_authority_by_the_published_amount() -> None:
    case = scenario("S06")
    approval, expected = case["approval_case"], case["expected"]["approval"]
    asked = question(case)
    left = {approval["remaining_item"]: asked.candidates[approval["remaining_item"]]}
    asked = replace(
        asked,
        candidates=left,
        interactions=(),
        already_billed=Money.of(approval["billed_to_date"], "USD"),
        authority=Money.of(approval["limit"], "USD"),
    )
    (item,) = decide(asked).items
    assert item.verdict.value == "ask"
    assert f"by {expected['extra_authority_needed']} USD" in item.reason
    assert decide(asked).plan.cost == Money.of(expected["remaining_estimate"], "USD")


def test_a_cut_off_that_has_passed_leaves_nothing_and_says_so() -> None:
    asked = replace(ask({"A": work(10, 100, hours=sure_number(1))}, cut_off=date(2020, 1, 1)),
                    begin=MARCH)  # fmt: skip
    advice = decide(asked)
    assert advice.chosen == ()
    assert advice.items[0].reason.startswith("cannot be ready by 2020-01-02 00:00")
    assert sentence(advice).startswith("Do nothing: no open work both pays and can be ready")
    assert "relax the cut-off by" in advice.ready.relax


def test_what_the_owner_did_not_approve_asks() -> None:
    works = {"A": work(10, 100), "B": work(10, 100)}
    asked = ask(works, holding=Holding.CONSIGNED, charge_out_rate=usd(50))
    asked = replace(asked, unapproved={"B": "the owner declined it"})
    verdicts = {item.ref: (item.verdict.value, item.reason) for item in decide(asked).items}
    assert verdicts["A"][0] == "do"
    assert verdicts["B"][0] == "ask"
    assert verdicts["B"][1].startswith("the owner declined it")


def test_what_the_owner_approved_is_not_asked_about_again() -> None:
    works = {"A": work(500, 900, irreversible=True, consent_given=True), "B": work(500, 900)}
    asked = ask(works, holding=Holding.CONSIGNED, charge_out_rate=usd(50), ask_above=usd(400))
    asked = replace(asked, irreversible_bar=Fraction(3))
    assert {item.verdict.value for item in decide(asked).items} == {"ask"}
    approved = replace(asked, approved=frozenset(asked.candidates))
    assert {item.verdict.value for item in decide(approved).items} == {"do"}
    without = {item: replace(c, consent_given=False) for item, c in asked.candidates.items()}
    verdicts = [item.verdict.value for item in decide(replace(approved, candidates=without)).items]
    assert verdicts == ["ask", "do"]  # what cannot be undone needs its own word


def test_hours_that_posted_lines_took_are_no_longer_weighed() -> None:
    from recondition.worth.question import Used  # noqa: PLC0415

    works = {"A": work(20, 100, hours=sure_number(5))}
    asked = ask(works, labour_cost_rate=usd(10))
    assert decide(asked).plan.cost == usd(70)
    begun = replace(asked, used={"A": Used(Fraction(3), Fraction(15))})
    assert decide(begun).plan.cost == usd(25)
    done = replace(asked, used={"A": Used(Fraction(9), Fraction(90))})
    assert decide(done).plan.cost == usd(0)
