"""Largest-remainder sharing against printed apportionments, and as properties."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts.rounding import round_half_away
from recondition.amounts.sharing import (
    NegativeWeight,
    NothingToShareOver,
    SharedTwice,
    round_to_sum,
    share_out,
)
from tests.check_values import check_values
from tests.strategies import weights

if TYPE_CHECKING:
    from recondition.amounts.exact import Exact


def example(name: str) -> tuple[dict[str, int], dict[str, int], int]:
    """Return the weights, the printed result and the house size of one example."""
    rows = [
        row for row in check_values("apportionment_hamilton") if row["example"].startswith(name)
    ]
    populations = {row["party"]: int(row["weight"]) for row in rows}
    seats = {row["party"]: int(row["largest_remainder_result"]) for row in rows}
    return populations, seats, int(rows[0]["house_size"])


@pytest.mark.parametrize("name", ["aircraft", "emergency lights"])
def test_published_apportionment(name: str) -> None:
    """OpenStax Contemporary Mathematics 11.3; its quotas are printed, the end is by the rule."""
    populations, seats, house = example(name)
    assert share_out(house, list(populations.items())) == seats


def test_published_apportionment_with_a_minimum() -> None:
    """The Hawaii schools of the same chapter: every county gets one, printed in the book.

    Kalawao's quota of 0.04 is lifted to that minimum; the other 615 go by largest remainder.
    """
    populations, seats, house = example("Hawaii")
    assert share_out(house, list(populations.items()))["Kalawao"] == 0
    del populations["Kalawao"]
    assert {"Kalawao": 1, **share_out(house - 1, list(populations.items()))} == seats


def test_ties_go_by_key() -> None:
    """One cent over between equals: the first key gets it, wherever it stands."""
    assert share_out(100, [("f3", 1), ("f1", 1), ("f2", 1)]) == {"f1": 34, "f2": 33, "f3": 33}
    assert share_out(-100, [("f3", 1), ("f1", 1), ("f2", 1)]) == {"f1": -34, "f2": -33, "f3": -33}


def test_the_order_given_is_kept() -> None:
    """So that shares are listed as the line lists its findings."""
    assert list(share_out(3, [("b", 1), ("a", 2)])) == ["b", "a"]


def test_weights_of_any_exact_kind() -> None:
    """A half as Decimal, Fraction and whole number, and a zero that gets nothing."""
    mixed: list[tuple[str, Exact]] = [("a", Decimal("0.5")), ("b", Fraction(1, 2)), ("c", 0)]
    assert share_out(7, mixed) == {"a": 4, "b": 3, "c": 0}


@given(st.integers(-(10**12), 10**12), weights())
def test_shares_add_up_and_stay_near_their_quota(
    whole: int,
    drawn: list[tuple[str, Exact]],
) -> None:
    """The sum is the line; no share is a unit or more off; nothing for a zero weight."""
    shares = share_out(whole, drawn)
    assert sum(shares.values()) == whole
    all_weights = sum(Fraction(weight) for _, weight in drawn)
    for key, weight in drawn:
        assert abs(shares[key] - whole * Fraction(weight) / all_weights) < 1
        assert weight or not shares[key]


@given(st.integers(-(10**12), 10**12), weights())
def test_a_reversal_undoes_every_share(whole: int, drawn: list[tuple[str, Exact]]) -> None:
    """Negation is symmetric."""
    assert share_out(-whole, drawn) == {
        key: -share for key, share in share_out(whole, drawn).items()
    }


@given(st.integers(-(10**6), 10**6), weights(), st.randoms())
def test_order_changes_no_share(whole: int, drawn: list[tuple[str, Exact]], chance: object) -> None:
    """Nor does the scale of the weights."""
    mixed = list(drawn)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    scaled = [(key, Fraction(weight) * 7 / 3) for key, weight in mixed]
    assert share_out(whole, mixed) == share_out(whole, drawn) == share_out(whole, scaled)


@pytest.mark.parametrize(
    ("drawn", "refusal"),
    [
        ([], NothingToShareOver),
        ([("a", 0), ("b", Decimal("0.00"))], NothingToShareOver),
        ([("a", 1), ("b", -1)], NegativeWeight),
        ([("a", 1), ("a", 1)], SharedTwice),
        ([("a", 0.5)], TypeError),
    ],
)
def test_refusals(drawn: list[tuple[str, Exact]], refusal: type[Exception]) -> None:
    """Each mistake has its own class."""
    with pytest.raises(refusal):
        share_out(10, drawn)


@pytest.mark.parametrize("whole", [1.0, True, Decimal(1)])
def test_only_whole_units_are_shared(whole: object) -> None:
    """The unit is the cent; there is no half of it."""
    with pytest.raises(TypeError, match="whole units"):
        share_out(whole, [("a", 1)])  # type: ignore[arg-type]


@given(st.lists(st.fractions(-10_000, 10_000, max_denominator=997), max_size=30))
def test_rounded_parts_add_up_to_their_rounded_sum_each_off_by_less_than_one(
    values: list[Fraction],
) -> None:
    whole = round_to_sum(values)
    assert sum(whole) == round_half_away(sum(values, Fraction(0)))
    assert all(abs(made - value) < 1 for made, value in zip(whole, values, strict=True))


def test_of_equal_remainders_the_first_go_up() -> None:
    third = Fraction(1, 3)
    assert round_to_sum([third, third, third]) == [1, 0, 0]
    assert round_to_sum([Fraction(46033, 2), Fraction(46033, 2)]) == [23017, 23016]
