"""Each contradiction in a question is refused by name, with where it is and what to do."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from recondition.amounts import Money
from recondition.amounts.money import CurrencyMismatch
from recondition.condition.vehicle import Holding
from recondition.worth import contradictions as named
from recondition.worth.decision import decide
from recondition.worth.estimates import Basis, CandidateState, ThreeAmounts, ThreeNumbers
from recondition.worth.weighing import weigh
from tests.worth.build import ask, sure_number, usd, work

if TYPE_CHECKING:
    from recondition.errors import Refused

FALLING = ThreeNumbers(Decimal(3), Decimal(2), Decimal(4))
EURO = Money.of(1, "EUR")

BROKEN = [
    (ask({"A": work(requires=("Z",))}), named.UnknownItem, "Z is not candidate work"),
    (ask({"A": work(excludes=("Z",))}), named.UnknownItem, "Z is not candidate work"),
    (ask({"A": work()}, together={"A Z": 5}), named.UnknownItem, "Z is not candidate work"),
    (ask({"A": work()}, together={"A A": 5}), named.NotATerm, "two or more different"),
    (
        ask({"A": work(requires=("B",)), "B": work(requires=("A",))}),
        named.NeedsItself,
        "A needs B needs A",
    ),
    (ask({"A": work(requires=("A",))}), named.NeedsItself, "A needs A"),
    (
        ask({"A": work(requires=("B",), excludes=("B",)), "B": work()}),
        named.NeedsAndExcludes,
        "A needs B, and the two exclude each other",
    ),
    (
        ask({"A": work(requires=("B", "C")), "B": work(excludes=("C",)), "C": work()}),
        named.NeedsAndExcludes,
        "which exclude each other",
    ),
    (ask({"A": work(hours=FALLING)}), named.OutOfOrder, "in the hours: 3, 2, 4"),
    (
        ask({"A": work(uplift=None, uplift_percent=FALLING)}),
        named.OutOfOrder,
        "in the uplift",
    ),
    (
        ask({}, as_is=ThreeAmounts(usd(5), usd(7), usd(6))),
        named.OutOfOrder,
        "in the as-is price: 5.00, 7.00, 6.00",
    ),
    (ask({"A": work(p_success=Decimal("1.01"))}), named.ChanceOutOfRange, "1.01"),
    (ask({"A": work(p_success=Decimal("-0.1"))}), named.ChanceOutOfRange, "-0.1"),
    (ask({"A": work(extra_days=Decimal(-1))}), named.BelowZero, "extra days"),
    (ask({}, cash_limit=usd(-1)), named.BelowZero, "cash limit"),
    (ask({}, hours_limit=Decimal(-1)), named.BelowZero, "hours limit"),
    (ask({}, indifference=-1), named.BelowZero, "indifference"),
    (ask({"A": work(uplift_percent=sure_number(1))}), named.TwoUplifts, "in percent and in money"),
    (
        ask({"A": work(fail_uplift=usd(-1), fail_uplift_percent=Decimal(-1))}),
        named.TwoUplifts,
        "left by a failure",
    ),
    (ask({"A": work(uplift=None)}), named.NoUplift, "no estimate"),
    (
        ask({"A": work(uplift_basis=Basis.ALL_IN)}),
        named.MixedBasis,
        "on the all-in price and the sale terms are on the hammer price",
    ),
    (ask({}, holding=Holding.CONSIGNED), named.NoChargeOutRate, "charge-out rate"),
    (ask({"A": work(fail_cash=EURO)}), CurrencyMismatch, "1.00 EUR stands beside"),
    (ask({}, fees=EURO), CurrencyMismatch, "1.00 EUR stands beside"),
]


@pytest.mark.parametrize(("question", "mistake", "words"), BROKEN)
def test_a_contradiction_is_refused_by_name(
    question: object, mistake: type[Refused], words: str
) -> None:
    with pytest.raises(mistake) as refused:
        decide(question)
    assert words in refused.value.what
    assert refused.value.where
    assert refused.value.todo
    assert refused.value.exit_status == 1


def test_done_work_is_not_judged_and_untouchable_work_needs_no_uplift() -> None:
    done = replace(work(hours=FALLING, uplift=None), state=CandidateState.DONE)
    barred = work(uplift=None, panels=("roof",))
    question = ask({"A": done, "B": barred}, no_touch_panels=frozenset({"roof"}))
    advice = decide(question)
    assert advice.done == ("A",)
    assert [item.figures for item in advice.items] == [None]


def test_an_uplift_that_names_no_basis_stands_on_that_of_the_terms() -> None:
    question = ask({"A": work(1, 5)}, basis=Basis.ALL_IN)
    named_one = ask({"A": work(1, 5, uplift_basis=Basis.ALL_IN)}, basis=Basis.ALL_IN)
    assert decide(question) == decide(named_one)


def test_a_long_way_of_requirements_ends_in_words() -> None:
    steps = {
        f"C{step}": work(requires=(f"C{step + 1}",) if step < 1500 else ()) for step in range(1501)
    }
    assert len(weigh(ask(steps)).needs["C0"]) == 1501
