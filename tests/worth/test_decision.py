"""The decision on small questions made to show one rule each, and on published optima."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from recondition.condition.vehicle import Holding
from recondition.worth.advice import Verdict, sentence
from recondition.worth.contradictions import UnknownItem
from recondition.worth.decision import decide, worth_of
from recondition.worth.estimates import CandidateState
from recondition.worth.terms import SellsWhen, Slice
from recondition.worth.weighing import weigh
from tests.check_values import check_values
from tests.worth.build import ask, sure_number, usd, work
from tests.worth.table import tabulate


@pytest.mark.parametrize("row", check_values("knapsack_p01_p04"), ids=lambda row: row["instance"])
@pytest.mark.parametrize("wall", ["cash", "hours"])
def test_published_knapsack_optima(row: dict[str, str], wall: str) -> None:
    # J. Burkardt, Florida State University, datasets knapsack_01; each optimum is unique.
    # As cash the weight is also paid, so the uplift is profit and weight together.
    pairs = list(zip(row["weights"].split(), row["profits"].split(), strict=True))
    if wall == "cash":
        works = [work(weight, int(weight) + int(profit)) for weight, profit in pairs]
        limit = {"cash_limit": usd(row["capacity"])}
    else:
        works = [work(0, profit, hours=sure_number(weight)) for weight, profit in pairs]
        limit = {"hours_limit": Decimal(row["capacity"])}
    names = [f"K{place}" for place in range(len(works))]
    advice = decide(ask(dict(zip(names, works, strict=True)), **limit))
    assert advice.plan.net == usd(row["optimal_profit"])
    picked = "".join("1" if name in advice.chosen else "0" for name in names)
    assert picked == row["optimal_selection"]
    used = advice.limits[0].used
    assert used == (usd(row["optimal_weight"]) if wall == "cash" else int(row["optimal_weight"]))


def reasons(question: object) -> dict[str, str]:
    return {item.ref: item.reason for item in decide(question).items}


def test_each_reason_for_leaving_says_what_stopped_it() -> None:
    question = ask(
        {
            "A": work(100, 500, excludes=("B",)),
            "B": work(100, 300),
            "C": work(900, 950),
            "D": work(50, 20),
            "E": work(10, 500, no_touch=True),
            "F": work(10, 500, panels=("bonnet",)),
            "G": work(10, 500, requires=("E",)),
            "H": work(10, None, state=CandidateState.LEFT, left_reason="owner likes it"),
            "I": work(10, 200, requires=("D",)),
        },
        cash_limit=usd(1000),
        no_touch_panels=frozenset({"bonnet"}),
    )
    assert reasons(question) == {
        "A": "adds more than it costs: expected 500.00 USD against 100.00 USD",
        "B": "excludes A, which is worth 200.00 USD more in the plan",
        "C": "would pass the cash limit: 1,060.00 USD against 1,000.00 USD",
        "D": "needed by I; by itself expected 20.00 USD against 50.00 USD",
        "E": "not to be touched",
        "F": "not to be touched: bonnet",
        "G": "needs E, which is not to be touched",
        "H": "left: owner likes it",
        "I": "adds more than it costs: expected 200.00 USD against 10.00 USD",
    }


def test_reasons_for_needs_hours_and_an_owner() -> None:
    needs = ask({"A": work(100, 0), "B": work(10, 50, requires=("A",))})
    assert reasons(needs)["B"] == (
        "with A, which it needs, adds less than it costs: expected 50.00 USD against 110.00 USD"
    )
    long = ask({"A": work(0, 50, hours=sure_number("12.5"))}, hours_limit=Decimal(12))
    assert reasons(long)["A"] == "would pass the hours limit: 12.50 hours against 12.00"
    owner = ask(
        {"A": work(20, 900, hours=sure_number(2))},
        holding=Holding.CONSIGNED,
        charge_out_rate=usd(100),
        owner_limit=usd(200),
    )
    assert reasons(owner)["A"] == "would pass the owner's limit: 220.00 USD against 200.00 USD"
    assert decide(replace(owner, holding=Holding.OWN)).chosen == ("A",)


def test_done_work_is_sunk_meets_needs_counts_in_interactions_and_bars_what_it_excludes() -> None:
    question = ask(
        {
            "A": work(
                5000, 0, state=CandidateState.DONE, p_success=Decimal("0.5"), excludes=("C",)
            ),
            "B": work(100, 0, requires=("A",)),
            "C": work(1, 900),
        },
        together={"A B": 400},
    )
    advice = decide(question)
    assert advice.chosen == ("B",)
    assert advice.plan.net == usd(300)
    assert advice.done == ("A",)
    assert reasons(question)["C"] == "excluded by A, which is done"
    assert [item.ref for item in advice.items] == ["B", "C"]


def test_what_done_work_once_needed_is_not_asked_for_again() -> None:
    candidates = {
        "A": work(0, 0, state=CandidateState.DONE, requires=("C",)),
        "B": work(10, 100, requires=("A",)),
        "C": work(500, 0, state=CandidateState.LEFT),
    }
    assert decide(ask(candidates)).chosen == ("B",)


@pytest.mark.parametrize(
    ("first", "second", "winner"),
    [
        ({"irreversible": True, "consent_given": True}, {"panels": ("roof",)}, "B"),
        ({"panels": ("roof", "bonnet", "roof")}, {"panels": ("roof",)}, "B"),
        ({"panels": ("roof", "roof")}, {"panels": ("roof", "bonnet")}, "A"),
        ({}, {}, "A"),
    ],
)
def test_of_two_equals_the_one_that_touches_less_wins(
    first: dict[str, object], second: dict[str, object], winner: str
) -> None:
    one, other = work(10, 100, excludes=("B",), **first), work(10, 100, **second)
    assert decide(ask({"A": one, "B": other})).chosen == (winner,)


def test_of_two_equals_less_cash_and_then_fewer_items_win() -> None:
    cheap = ask({"A": work(50, 150, excludes=("B",)), "B": work(40, 140)})
    assert decide(cheap).chosen == ("B",)
    many = {"A": work(10, 60, excludes=("C",)), "B": work(10, 60, excludes=("C",))}
    assert decide(ask({**many, "C": work(20, 120)})).chosen == ("C",)


def test_irreversible_work_counts_before_panels_and_panels_before_cash() -> None:
    lasting = work(10, 110, irreversible=True, consent_given=True, excludes=("B",))
    spread = work(10, 110, panels=("roof", "bonnet"))
    assert decide(ask({"A": lasting, "B": spread})).chosen == ("B",)
    dear = work(90, 190, panels=("roof",))
    assert decide(ask({"A": replace(spread, excludes=("B",)), "B": dear})).chosen == ("B",)


def test_a_plan_within_the_indifference_that_touches_less_wins_and_shows_what_it_gives_up() -> None:
    candidates = {"A": work(100, 400), "B": work(100, 130), "C": work(0, 0)}
    question = ask(candidates, indifference=30)
    advice = decide(question)
    assert advice.chosen == ("A",)
    assert advice.given_up == usd(30)
    assert advice.runner_up is not None
    assert advice.runner_up.net == usd(330)
    assert reasons(question)["B"] == (
        "would add 30.00 USD, within the indifference, and the plan touches less"
    )
    assert reasons(question)["C"] == "would change the net by nothing, and the plan touches less"
    assert decide(ask(candidates, indifference="29.99")).chosen == ("A", "B")
    assert decide(ask({"A": work(0, 1)}, indifference="0.50")).chosen == ("A",)


def test_asking_stands_beside_the_optimum_with_the_best_plan_that_needs_none() -> None:
    question = ask(
        {
            "A": work(10, 100, irreversible=True),
            "B": work(10, 100, requires=("A",)),
            "C": work(10, 40),
            "D": work(10, 50, irreversible=True, consent_given=True),
        }
    )
    advice = decide(question)
    verdicts = {item.ref: item.verdict for item in advice.items}
    assert verdicts == {"A": Verdict.ASK, "B": Verdict.ASK, "C": Verdict.DO, "D": Verdict.DO}
    assert advice.without_asking.items == ("C", "D")
    assert advice.without_asking.net == usd(70)
    assert reasons(question)["A"].startswith("cannot be undone and no consent is recorded: ")
    assert reasons(question)["B"].startswith("needs A, to be asked about first: ")
    assert sentence(advice) == (
        "Do C and D and ask before A and B: expected to add 250.00 USD after 40.00 USD of cost."
    )


def test_percent_uplift_is_percent_of_the_mean_as_is_price() -> None:
    percent = work(100, None, uplift_percent=sure_number("2.5"), p_success=Decimal("0.8"))
    failing = replace(percent, fail_uplift_percent=Decimal(-1))
    assert decide(ask({"A": percent})).plan.uplift == usd(200)
    assert decide(ask({"A": failing})).plan.uplift == usd(180)


def test_tiers_make_k_vary_and_every_figure_follow_the_slices() -> None:
    commission = (Slice(Decimal("0.1"), usd(10200)), Slice(Decimal("0.2")))
    question = ask({"A": work(200, 500)}, commission=commission)
    advice = decide(question)
    assert advice.k is None
    assert advice.plan.net == usd(180 + 240 - 200)
    # 180 are kept of the first 200, the missing 20 at 0.80 of each unit.
    assert advice.plan.break_even_uplift == usd(225)
    assert advice.items[0].figures is not None
    assert advice.items[0].figures.break_even_uplift == usd(225)


def test_extra_days_pay_holding_and_the_notes_say_what_was_counted() -> None:
    slow = {"A": work(10, 100, extra_days=Decimal(3))}
    dear = decide(ask(slow, holding_per_day=usd(20)))
    assert dear.plan.net == usd(30)
    assert "extra days cost nothing" not in " ".join(dear.notes)
    free = decide(ask(slow, sells=SellsWhen.WHEN_READY))
    assert free.plan.net == usd(90)
    assert "extra days cost nothing" in " ".join(free.notes)
    ready = decide(ask(slow, sells=SellsWhen.WHEN_READY, holding_per_day=usd(20)))
    # Over on the fourth day: the first, and three days after it.
    assert (ready.plan.net, ready.plan.holding) == (usd(90 - 4 * 20), usd(4 * 20))
    assert "each day up to the finish pays holding" in " ".join(ready.notes)


def test_figures_of_an_item_are_on_top_of_the_rest_of_the_plan_or_on_its_own() -> None:
    question = ask({"A": work(100, 200), "B": work(60, 50), "C": work(10, 5)}, together={"A B": 30})
    figures = {item.ref: item.figures for item in decide(question).items}
    assert figures["B"] is not None
    assert (figures["B"].gain.mean, figures["B"].single_net) == (usd(20), usd(-10))
    assert figures["B"].break_even_uplift == usd(60)
    assert figures["B"].marginal_net == usd(20)
    assert figures["C"] is not None
    assert (figures["C"].gain.mean, figures["C"].marginal_net) == (usd(-5), usd(-5))


def test_nothing_to_weigh_is_an_answer_too() -> None:
    advice = decide(ask({}))
    assert sentence(advice) == "Do nothing: no work is open."
    assert advice.runner_up is None
    assert advice.plan == advice.everything == advice.without_asking


def test_refs_order_by_their_numbers() -> None:
    works = {f"x{place}": work(1, 5) for place in (10, 9, 1)}
    question = replace(ask(works), refs={"x10": "C10", "x9": "C9", "x1": "C1"})
    assert sentence(decide(question)).startswith("Do C1, C9 and C10: ")


def test_worth_of_refuses_what_is_not_open() -> None:
    question = ask({"A": work(1, 2, state=CandidateState.DONE)})
    with pytest.raises(UnknownItem, match="A is not open candidate work"):
        worth_of(question, ["A"])


def test_left_work_does_not_count_and_40_open_pieces_are_weighed() -> None:
    works = {f"W{place:02d}": work(1, 2) for place in range(42)}
    left = {name: replace(works[name], state=CandidateState.LEFT) for name in ("W00", "W01")}
    assert len(decide(ask({**works, **left})).chosen) == 40


def test_15_items_with_interactions_tiers_and_limits_are_chosen_as_every_set_says() -> None:
    works = {
        f"W{place:02}": work(
            37 * place % 11 * 30 + 20,
            53 * place % 13 * 60,
            hours=sure_number(place % 4 + 1),
            p_success=Decimal("0.93"),
            panels=("roof", f"panel {place % 5}"),
        )
        for place in range(15)
    }
    together = {f"W{place:02} W{place + 1:02}": 40 * (-1) ** place for place in range(14)}
    question = ask(
        works,
        together=together,
        indifference=5000,
        cash_limit=usd(1500),
        hours_limit=Decimal(30),
        labour_cost_rate=usd(42),
        commission=(Slice(Decimal("0.1"), usd(10500)), Slice(Decimal("0.06"))),
    )
    weighing = weigh(question)
    table = tabulate(weighing, weighing.items)
    advice = decide(question)
    assert set(advice.chosen) == table.named(table.best(table.allowed, Fraction(5000)))
    assert advice.proven
