"""The worked scenarios (own invented figures, answers worked out beforehand), to the cent."""

from __future__ import annotations

from dataclasses import replace

import pytest

from recondition.amounts import Money
from recondition.amounts.rounding import round_to
from recondition.condition.vehicle import Holding
from recondition.worth.advice import Verdict, sentence
from recondition.worth.decision import decide, worth_of
from tests.worth.scenarios import amount, question, scenario


@pytest.mark.parametrize("name", ["S01", "S03", "S06"])
def test_every_published_figure_of_a_scenario(name: str) -> None:
    case = scenario(name)
    expected, advice = case["expected"], decide(question(case))
    plan, runner_up = advice.plan, advice.runner_up
    assert runner_up is not None
    found = {
        "expected_net": plan.net,
        "expected_uplift": plan.uplift,
        "expected_cost": plan.cost,
        "break_even_uplift": plan.break_even_uplift,
        "net_low": plan.net_low,
        "net_likely": plan.net_likely,
        "net_high": plan.net_high,
        "runner_up_net": runner_up.net,
        "net_if_everything_done_ignoring_limits": advice.everything.net,
    }
    assert found == {field: amount(case, expected[field]) for field in found}
    assert list(plan.items) == expected["choose"]
    assert list(runner_up.items) == expected["runner_up"]
    assert advice.k is not None
    assert round_to(advice.k, 6) == expected["k"]
    assert round_to(plan.hours_mean, 3) == expected["hours_mean"]
    singles = {item.ref: item.figures.single_net for item in advice.items if item.figures}
    published = expected["single_item_nets"].items()
    assert singles == {item: amount(case, net) for item, net in published}
    assert advice.given_up == Money.zero("USD")


def test_s01_leaves_everything_and_says_why() -> None:
    advice = decide(question(scenario("S01")))
    assert sentence(advice) == ("Do nothing: no open work is expected to pay; leave A, B, C and D.")
    assert {item.verdict for item in advice.items} == {Verdict.LEAVE}
    reasons = {item.ref: item.reason for item in advice.items}
    # B: kept 0.92 x (0.95 x -666.67 - 0.05 x 1500) = -651.67; cost 2.5 x 40 + 163.33 + 7.50.
    assert reasons["B"] == "adds less than it costs: expected -651.67 USD against 270.83 USD"


def test_s03_answers_in_one_sentence_and_one_reason_each() -> None:
    advice = decide(question(scenario("S03")))
    assert sentence(advice) == (
        "Do A, B and C: expected to add 9,839.63 USD after 4,488.83 USD of cost; leave D."
    )
    verdicts = {item.ref: item.verdict for item in advice.items}
    assert verdicts == {"A": "do", "B": "do", "C": "do", "D": "leave"}
    # 9839.63 - 9093.86 by the published figures is 745.77; the unrounded difference as well.
    assert advice.items[3].reason == "excludes A, which is worth 745.77 USD more in the plan"
    assert advice.items[3].figures is not None
    assert str(advice.items[3].figures.marginal_net) == "-745.77"
    assert advice.everything.items == ("B", "C", "D")
    assert advice.rate_name == "labour cost rate"
    assert advice.basis == "all-in"
    assert [(use.name, use.used) for use in advice.limits][1] == (
        "hours limit",
        advice.plan.hours_mean,
    )


def test_s05_without_its_deadline_chooses_everything() -> None:
    # The set if time were free; the deadline itself is the schedule's.
    case = scenario("S05")
    expected, advice = case["expected"], decide(question(case))
    assert list(advice.chosen) == expected["best_if_time_were_free"]
    assert advice.plan.net == amount(case, expected["its_net"])
    singles = {item.ref: item.figures.single_net for item in advice.items if item.figures}
    published = expected["single_item_nets"].items()
    assert singles == {item: amount(case, net) for item, net in published}


def test_s06_at_charge_out_and_wrongly_at_the_cost_rate() -> None:
    case = scenario("S06")
    right, expected = question(case), case["expected"]
    advice = decide(right)
    assert advice.plan.cost == amount(case, expected["owner_bill"])
    assert advice.rate_name == "charge-out rate"
    wrong = decide(replace(right, holding=Holding.OWN))
    assert list(wrong.chosen) == expected["choice_if_wrongly_costed_at_shop_cost_rate"]
    owner_net = worth_of(right, wrong.chosen).net
    assert owner_net == amount(case, expected["owner_net_of_that_choice"])
    left = {item.ref: item.reason for item in advice.items if item.verdict is Verdict.LEAVE}
    assert left["B"] == "adds less than it costs: expected 555.00 USD against 721.67 USD"
