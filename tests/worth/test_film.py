"""Film in the decision: no plan takes more off a panel than it can give, however it is split."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from recondition.worth.decision import decide
from recondition.worth.question import Question
from tests.worth.build import ask, work


def with_film(question: Question, room: int, takes: dict[str, int]) -> Question:
    """Give each item so much to take off one bonnet."""
    return replace(
        question,
        film_room={"bonnet": Fraction(room)},
        film_takes={item: {"bonnet": Fraction(amount)} for item, amount in takes.items()},
    )


def test_two_passes_that_fit_alone_are_not_planned_together() -> None:
    question = ask({"A": work(100, 400), "B": work(100, 300)})
    assert set(decide(question).chosen) == {"A", "B"}
    advice = decide(with_film(question, 4, {"A": 3, "B": 3}))
    assert set(advice.chosen) == {"A"}
    (left,) = [item for item in advice.items if item.item == "B"]
    assert "take more film off the bonnet than it can give" in left.reason
    assert set(decide(with_film(question, 6, {"A": 3, "B": 3})).chosen) == {"A", "B"}


def test_what_is_stopped_is_left_with_its_reason() -> None:
    question = replace(ask({"A": work(10, 400), "B": work(10, 300, requires=("A",))}),
                       stopped={"A": "its headroom is 1.5 um"})  # fmt: skip
    advice = decide(question)
    assert advice.chosen == ()
    reasons = {item.item: item.reason for item in advice.items}
    assert reasons == {
        "A": "its headroom is 1.5 um",
        "B": "needs A, and its headroom is 1.5 um",
    }


AMOUNTS = st.integers(0, 9)


@given(
    st.lists(st.tuples(st.integers(0, 50), st.integers(0, 90), AMOUNTS), min_size=1, max_size=5),
    st.integers(0, 20),
)
def test_the_plan_is_the_best_that_the_film_allows(
    rows: list[tuple[int, int, int]], room: int
) -> None:
    items = {f"C{n}": work(cost, uplift) for n, (cost, uplift, _) in enumerate(rows)}
    takes = {f"C{n}": amount for n, (*_, amount) in enumerate(rows)}
    nets = {f"C{n}": uplift - cost for n, (cost, uplift, _) in enumerate(rows)}
    advice = decide(with_film(ask(items), room, takes))
    assert sum(takes[item] for item in advice.chosen) <= room
    sets = (chosen for size in range(len(items) + 1) for chosen in combinations(items, size))
    best = max(
        sum(nets[item] for item in chosen)
        for chosen in sets
        if sum(takes[item] for item in chosen) <= room
    )
    assert advice.plan.net.number == best
