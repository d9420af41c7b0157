"""What it is worth to try first: a test panel or an expert's word before committing.

The two-branch calculation of decision analysis (value of imperfect information; Raiffa and
Schlaifer, Applied Statistical Decision Theory, 1961): without a test the work is done if it
pays on average; with one it is done only where the test says that it will turn out well.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.fields import Id, Words
from recondition.worth.estimates import ThreeAmounts, ThreeNumbers
from recondition.worth.weighing import ZERO, Weighing, mean

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A test that can be made before a piece of work, and how the work turns out either way.

    ``p_good`` is the chance that it turns out well, ``reliability`` the chance that the test
    says rightly which it is (both 0 to 1). Hours and cash of the bad branch stand for the good
    one's where they are empty. ``decides`` is the candidate work in question, if it is entered.
    """

    vehicle: Id
    name: Words
    p_good: Decimal
    good_uplift: ThreeAmounts
    bad_uplift: ThreeAmounts
    good_hours: ThreeNumbers
    good_cash: ThreeAmounts
    bad_hours: ThreeNumbers | None = None
    bad_cash: ThreeAmounts | None = None
    test_hours: Decimal = Decimal(0)
    test_cash: Money | None = None
    reliability: Decimal = Decimal(1)
    decides: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialWorth:
    """What a test is worth. ``untested`` and ``tested`` are the best nets without and with it.

    ``value`` is by how much testing first beats the better of doing the work untested and
    leaving it; below zero the test does not pay for itself.
    """

    net_if_good: Money
    net_if_bad: Money
    untested: Money
    test_cost: Money
    tested: Money
    value: Money
    pays: bool
    advice: str


def worth_of_test(weighing: Weighing, trial: Trial) -> TrialWorth:
    """Work out what a test is worth on the terms of its vehicle."""
    rate, rule = weighing.rate.fraction, weighing.question.mean_rule
    good = weighing.kept(mean(trial.good_uplift, rule)) - (
        mean(trial.good_hours, rule) * rate + mean(trial.good_cash, rule)
    )
    bad = weighing.kept(mean(trial.bad_uplift, rule)) - (
        mean(trial.bad_hours or trial.good_hours, rule) * rate
        + mean(trial.bad_cash or trial.good_cash, rule)
    )
    chance = Fraction(trial.p_good)
    untested = chance * good + (1 - chance) * bad
    cash = trial.test_cash.fraction if trial.test_cash else ZERO
    cost = Fraction(trial.test_hours) * rate + cash
    branches = list(_branches(trial, good, bad))
    tested = sum((max(net, ZERO) for net in branches), ZERO) - cost
    value = tested - max(untested, ZERO)
    currency = weighing.question.currency
    return TrialWorth(
        net_if_good=rounded(good, currency),
        net_if_bad=rounded(bad, currency),
        untested=rounded(untested, currency),
        test_cost=rounded(cost, currency),
        tested=rounded(tested, currency),
        value=rounded(value, currency),
        pays=value > 0 and tested > 0,
        advice=_advice(branches, value, tested, untested),
    )


def _branches(trial: Trial, good: Fraction, bad: Fraction) -> Iterator[Fraction]:
    """Give, for each thing the test can say, the net of then doing the work, times its chance."""
    chance, right = Fraction(trial.p_good), Fraction(trial.reliability)
    for says_good in (True, False):
        is_good = right if says_good else 1 - right
        is_bad = 1 - right if says_good else right
        yield chance * is_good * good + (1 - chance) * is_bad * bad


def _advice(branches: list[Fraction], value: Fraction, tested: Fraction, untested: Fraction) -> str:
    """Say in words what to do."""
    if value > 0 and tested > 0:
        when = [word for word, net in zip(("good", "bad"), branches, strict=True) if net > 0]
        return f"test first, then do it only if the test says {' or '.join(when)}"
    if untested > 0:
        return "do it without the test: the test costs more than it saves"
    return "leave it: neither testing nor doing it pays"
