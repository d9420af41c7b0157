"""Hypothesis strategies for the decision: small questions with everything that bears on it.

Amounts are small and coarse on purpose, so that ties and limits met exactly come up often.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.condition.vehicle import Holding
from recondition.fields import Id
from recondition.worth.estimates import (
    Basis,
    Candidate,
    CandidateState,
    Interaction,
    MeanRule,
    ThreeAmounts,
    ThreeNumbers,
)
from recondition.worth.question import Question
from recondition.worth.terms import SaleTerms, Slice

if TYPE_CHECKING:
    from collections.abc import Callable

CURRENCY = "USD"
PANELS = ("bonnet", "roof", "boot lid")
CHANCES = [Decimal(text) for text in ("1", "0.85", "0.5", "0")]
RATES = [Decimal(text) for text in ("0.1", "0.05", "0.125", "0.2", "0")]


def money(*amounts: str) -> st.SearchStrategy[Money]:
    """One of the amounts named."""
    return st.sampled_from([Money.of(amount, CURRENCY) for amount in amounts])


def three_amounts(*amounts: str) -> st.SearchStrategy[ThreeAmounts]:
    """Three of the amounts named, in rising order."""
    drawn = st.lists(money(*amounts), min_size=3, max_size=3).map(
        lambda three: sorted(three, key=lambda one: one.minor)
    )
    return drawn.map(lambda three: ThreeAmounts(*three))


def three_numbers(*numbers: str) -> st.SearchStrategy[ThreeNumbers]:
    """Three of the numbers named, in rising order."""
    one = st.sampled_from([Decimal(number) for number in numbers])
    drawn = st.lists(one, min_size=3, max_size=3).map(sorted)
    return drawn.map(lambda three: ThreeNumbers(*three))


def slices() -> st.SearchStrategy[tuple[Slice, ...]]:
    """No rate, a flat one, or two to four slices ending between 100 and 2000."""
    ends = st.lists(st.integers(1, 20), max_size=3, unique=True).map(sorted)
    rates = st.lists(st.sampled_from(RATES), min_size=4, max_size=4)
    tiered = st.builds(
        lambda tops, shares: (
            *(
                Slice(share, Money.of(100 * top, CURRENCY))
                for top, share in zip(tops, shares, strict=False)
            ),
            Slice(shares[-1]),
        ),
        ends,
        rates,
    )
    return st.one_of(st.just(()), tiered)


@st.composite
def sale_terms(draw: Callable[..., object]) -> SaleTerms:
    """Terms with tiers, both bases, and each limit sometimes there."""

    def sometimes(*amounts: str) -> Money | None:
        return draw(st.none() | st.none() | money(*amounts))

    return SaleTerms(
        vehicle=Id("v"),
        basis=draw(st.sampled_from(Basis)),
        as_is=draw(three_amounts("0", "400", "700.50", "1000", "1900")),
        labour_cost_rate=draw(money("4", "7.25", "0")),
        charge_out_rate=draw(money("9", "15.75")),
        commission=draw(slices()),
        premium=draw(slices()),
        fees=sometimes("50"),
        holding_per_day=sometimes("6", "2.35"),
        cash_limit=sometimes("50", "20", "90"),
        hours_limit=draw(st.none() | st.sampled_from([Decimal(2), Decimal(5), Decimal("7.5")])),
        owner_limit=sometimes("80", "50", "130"),
    )


@st.composite
def candidates(draw: Callable[..., object]) -> Candidate:
    """One piece of work that requires and excludes nothing yet; most of it pays."""
    percent = draw(st.sampled_from([False, False, True]))
    in_money = three_amounts("150", "90", "250.25", "60", "30", "-40")
    return Candidate(
        vehicle=Id("v"),
        name="work",
        hours=draw(three_numbers("1", "2", "0.5", "3.5", "0")),
        cash=draw(three_amounts("10", "20", "33.25", "50", "0")),
        panels=tuple(draw(st.lists(st.sampled_from(PANELS), max_size=2))),
        uplift=None if percent else draw(in_money),
        uplift_percent=draw(three_numbers("15", "25.5", "8", "-2")) if percent else None,
        p_success=draw(st.sampled_from(CHANCES)),
        fail_cash=draw(st.none() | money("15", "40")),
        fail_uplift=draw(st.none() | money("-80", "10")),
        extra_days=draw(st.sampled_from([Decimal(0), Decimal(0), Decimal("1.5")])),
        irreversible=draw(st.booleans()),
        consent_given=draw(st.booleans()),
        no_touch=draw(st.sampled_from([False] * 9 + [True])),
        state=draw(st.sampled_from([CandidateState.OPEN] * 6 + [*CandidateState])),
    )


@st.composite
def questions(draw: Callable[..., object], most: int = 6) -> Question:
    """Draw a question without contradictions; what an item requires comes earlier in the list."""
    sizes = [*range(most, most // 2, -1), *range(most, -1, -1)]
    ids = [Id(f"i{place}") for place in range(draw(st.sampled_from(sizes)))]
    drawn: dict[str, Candidate] = {}
    for place, item in enumerate(ids):
        work = draw(candidates())
        earlier = st.sampled_from(ids[:place]) if place else st.nothing()
        links = st.lists(earlier, max_size=1).map(tuple) if place else st.just(())
        requires = draw(links) if draw(st.booleans()) else ()
        drawn[item] = replace(work, requires=requires)
        barred = _needs(drawn, item)
        excludes = tuple(other for other in draw(links) if other not in barred)
        drawn[item] = replace(drawn[item], excludes=excludes)
        if _clashes(drawn, item):
            drawn[item] = replace(drawn[item], excludes=(), requires=())
    pairs = st.lists(st.sampled_from(ids), min_size=2, max_size=3, unique=True)
    terms = draw(st.lists(pairs, max_size=3)) if len(ids) > 1 else []
    return Question(
        candidates=drawn,
        refs={item: item.upper() for item in ids},
        interactions=tuple(
            Interaction(
                vehicle=Id("v"), items=tuple(items), delta_uplift=draw(money("70", "-70", "25"))
            )
            for items in terms
        ),
        terms=draw(sale_terms()),
        holding=draw(st.sampled_from(Holding)),
        mean_rule=draw(st.sampled_from(MeanRule)),
        indifference=draw(money("0", "0", "12.50", "60")),
        no_touch_panels=draw(st.sampled_from([frozenset()] * 4 + [frozenset({"roof"})])),
    )


def _needs(drawn: dict[str, Candidate], item: str) -> set[str]:
    """Give what an item needs, itself included; requirements only point back, so it ends."""
    found = {item}
    for needed in drawn[item].requires:
        found |= _needs(drawn, needed)
    return found


def _clashes(drawn: dict[str, Candidate], item: str) -> bool:
    needs = _needs(drawn, item)
    return any(other in needs for one in needs for other in drawn[one].excludes)
