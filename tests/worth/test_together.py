"""Several vehicles in one shop against every set of all of them, and what more room is worth."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import product

import pytest

from recondition.amounts.money import CurrencyMismatch, rounded
from recondition.worth.problem import problem_of
from recondition.worth.question import Question
from recondition.worth.several import together
from recondition.worth.shop import Hand, Shop
from recondition.worth.timetable import timetable
from tests.worth import brute_force as plain
from tests.worth.build import ask, sure_number, usd, work
from tests.worth.joint import MARCH

SHOP = Shop(hands=(Hand(name="IC"), Hand(name="TA", skills=frozenset({"leather"}))), bays=1)


def vehicle(prefix: str, cut_off: int, uplifts: tuple[int, ...], hours: int) -> Question:
    works = {
        f"{prefix}{place}": work(10, uplift, hours=sure_number(hours + place),
                                 cure_hours=Decimal(12 * (place % 2)))
        for place, uplift in enumerate(uplifts)
    }  # fmt: skip
    asked = ask(works, labour_cost_rate=usd(5), cut_off=date(2026, 3, cut_off))
    return replace(asked, shop=SHOP, begin=MARCH, refs={name: name for name in works})


def cases() -> list[list[Question]]:
    return [
        [vehicle("a", 3, (300, 120, 90), 5), vehicle("b", 4, (250, 140, 80), 6)],
        [vehicle("a", 2, (300, 120, 90), 3), vehicle("b", 2, (250, 140, 80), 4)],
        [vehicle("a", 6, (90, 80), 9), vehicle("b", 3, (200, 60), 5), vehicle("c", 4, (95,), 7)],
    ]


@pytest.mark.parametrize("number", range(3))
@pytest.mark.parametrize("purse", [None, 35])
def test_the_whole_is_the_best_of_every_set_of_all(number: int, purse: int | None) -> None:
    asked = cases()[number]
    problem = problem_of(asked)
    best = 0
    for sets in product(*(list(plain.allowed_sets(question)) for question in asked)):
        chosen = frozenset(item for items in sets for item in items)
        spent = 10 * len(chosen)
        net = sum(plain.net(s, q) for s, q in zip(sets, asked, strict=True))
        late = chosen - {item for car in problem.cars for item in car.open}
        if net <= best or late or (purse is not None and spent > purse):
            continue
        jobs = problem.jobs(chosen)
        if timetable(problem.site, jobs, earliest=False, seconds=20).timeline is not None:
            best = net
    named = {f"000{place}": question for place, question in enumerate(asked)}
    found = together(named, purse=None if purse is None else usd(purse), seconds=30)
    assert found.net == rounded(best, "USD")
    assert found.gap == usd(0)
    assert sum(share.plan.net.minor for share in found.shares) == found.net.minor
    for share in found.shares:
        assert share.end is None or share.wall is None or share.end <= share.wall


def test_one_more_of_what_binds_is_worth_something_and_of_the_rest_nothing() -> None:
    asked = [vehicle("a", 2, (300, 120, 90), 3)]
    found = together({"0001": asked[0]}, purse=usd(10), seconds=30)
    worth = {more.what: more.worth for more in found.more}
    assert worth["one more USD of cash"] == usd(0)  # the next piece takes ten
    looser = together({"0001": asked[0]}, purse=usd(19), seconds=30)
    more = {each.what: each for each in looser.more}["one more USD of cash"]
    assert more.worth == more.at_most
    # 120 kept, less 10 of cash and 4 hours at 5.
    assert more.worth == usd(90)


def test_the_gap_closes_from_both_sides() -> None:
    asked = cases()[0]
    told: list[tuple[object, object]] = []
    together(
        {"1": asked[0], "2": asked[1]},
        seconds=20,
        closing=lambda net, bound: told.append((net, bound)),
    )
    assert told
    assert all(net <= bound for net, bound in told)


def test_two_currencies_share_no_sum() -> None:
    one, other = cases()[0]
    other = replace(other, terms=replace(other.terms, as_is=_euros()))
    with pytest.raises(CurrencyMismatch):
        together({"1": one, "2": other})


def _euros() -> object:
    from recondition.amounts import Money  # noqa: PLC0415
    from recondition.worth.estimates import ThreeAmounts  # noqa: PLC0415

    return ThreeAmounts(*(Money.of(n, "EUR") for n in (900, 1000, 1100)))
