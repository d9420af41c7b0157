"""The shop's own record: low, middle and high of jobs, with their number. Figures invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.fields import Id
from recondition.ledger.lines import (
    Cause,
    Consumable,
    Payer,
    Purpose,
    Rework,
    Standing,
    Use,
)
from recondition.ledger.rework import by_cause, by_payer, done_again
from recondition.ledger.rollup import Line
from recondition.worth.estimates import ThreeNumbers
from recondition.worth.operations import amounts, operations, range_of
from tests.lines import CONSIGNED, common, labour, posted, taken_back
from tests.worth.build import work

AGAIN = Rework(of=Id("line1"), cause=Cause.METHOD, payer=Payer.SHOP)


def hours(place: int, number: str, operation: str | None = "polish", **more: Any) -> Line:
    return posted(place, labour(number, operation=operation, **more))


def job(name: str) -> dict[str, Any]:
    return {"candidate": Id(name)}


@pytest.mark.parametrize(
    ("figures", "wanted"),
    [([3], (3, 3, 3)), ([1, 4], (1, Fraction(5, 2), 4)), ([9, 1, 2], (1, 2, 9))],
)
def test_a_range_has_a_middle_that_somebody_took(figures: list[int], wanted: Any) -> None:
    found = range_of(map(Fraction, figures))
    assert (found.low, found.middle, found.high) == wanted
    assert found.n == len(figures)


def test_hours_add_up_by_job_beside_the_estimate_of_that_job() -> None:
    estimate = work(hours=ThreeNumbers(Decimal(2), Decimal(3), Decimal(4)))
    lines = [
        hours(1, "1.5", **job("c1")), hours(2, "2", "Polish", **job("c1")),
        hours(3, "5", **job("c2")), hours(4, "1", "wash"), hours(5, "9", None),
    ]  # fmt: skip
    polish, wash = operations(lines, {"c1": estimate, "c2": estimate})
    assert (polish.name, wash.name) == ("polish", "wash")
    assert polish.actual == range_of([Fraction(7, 2), Fraction(5)])
    assert polish.estimated == range_of([Fraction(3), Fraction(3)])
    assert polish.inside == 1
    assert polish.lines == ("line1", "line2", "line3")
    assert wash.estimated is None


def test_an_estimate_of_several_operations_stands_beside_none_of_them() -> None:
    lines = [hours(1, "1", **job("c1")), hours(2, "2", "residue", **job("c1"))]
    assert [each.estimated for each in operations(lines, {"c1": work()})] == [None, None]


@pytest.mark.parametrize(
    "other",
    [
        {"operation": None},
        {"operation": "residue", "standing": Standing.ASSUMED},
        {"operation": "residue", "rework": AGAIN},
    ],
)
def test_any_other_labour_on_a_job_parts_it_from_its_estimate(other: dict[str, Any]) -> None:
    lines = [hours(1, "1", **job("c1")), posted(2, labour("2", **job("c1"), **other))]
    (polish,) = operations(lines, {"c1": work()})
    assert (polish.name, polish.estimated) == ("polish", None)


def test_what_does_not_show_how_long_work_takes_is_left_out() -> None:
    first = hours(1, "3")
    lines = [
        first, hours(2, "9", rework=AGAIN), hours(3, "9", purpose=Purpose.SPOILAGE),
        hours(4, "9", standing=Standing.ASSUMED), (wrong := hours(5, "9")), taken_back(6, wrong),
    ]  # fmt: skip
    lines[4] = _reversed(wrong)
    (polish,) = operations(lines, {})
    assert (polish.actual.n, polish.actual.high) == (1, 3)


def _reversed(line: Line) -> Line:
    return replace(line, reversed_by="line6")


def used(place: int, amount: str, **more: Any) -> Line:
    fields = common(links=("f1",)) | {"operation": "wash"} | more
    entry = Consumable(
        product=Id("soap"), quantity=Quantity.of(amount, "ml"), price=Money.of("1", "USD"),
        price_per=Quantity.of(1, "l"), **fields,
    )  # fmt: skip
    return posted(place, entry)  # type: ignore[arg-type]


def test_amounts_leave_out_what_was_assumed_or_wasted() -> None:
    lines = [
        used(1, "30"), used(2, "34", vehicle=CONSIGNED), used(3, "99", standing=Standing.ASSUMED),
        used(4, "99", use=Use.WASTED), used(5, "99", operation=None),
    ]  # fmt: skip

    def amount_of(line: Line) -> Fraction | None:
        entry = line.entry
        assert isinstance(entry, Consumable)
        assert entry.quantity is not None
        return entry.quantity.fraction

    (wash,) = amounts(lines, amount_of)
    assert (wash.product, wash.used) == ("soap", range_of([Fraction(30), Fraction(34)]))
    assert amounts(lines, lambda _: None) == ()


def test_rework_adds_up_by_cause_and_by_who_pays() -> None:
    lines = [
        hours(1, "2"), hours(2, "1.5", rework=AGAIN),
        hours(3, "0.5", vehicle=CONSIGNED, rework=Rework(
            of=Id("line1"), cause=Cause.SUPPLIER, payer=Payer.OWNER)),
        _reversed(hours(4, "9", rework=AGAIN)),
    ]  # fmt: skip
    found = done_again(lines, "USD")
    assert [again.line.id for again in found] == ["line2", "line3"]
    method, supplier = by_cause(found, "USD")
    assert (method.key, method.hours, method.cost) == (
        Cause.METHOD, Fraction(3, 2), Money.of("58.13", "USD"),
    )  # fmt: skip
    assert (supplier.lines, supplier.billed) == (1, Money.of("47.50", "USD"))
    assert [each.key for each in by_payer(found, "USD")] == [Payer.SHOP, Payer.OWNER]


@given(st.lists(st.fractions(0, 100), min_size=1, max_size=9))
def test_low_is_below_middle_is_below_high(figures: list[Fraction]) -> None:
    found = range_of(figures)
    assert found.low <= found.middle <= found.high
    assert {found.low, found.high} <= set(figures)


@given(st.lists(st.sampled_from(list(Cause)), max_size=8))
def test_the_sums_of_rework_add_up_to_its_lines(causes: list[Cause]) -> None:
    lines = [
        hours(n, "1.25", rework=Rework(of=Id("line0"), cause=cause, payer=Payer.SHOP))
        for n, cause in enumerate(causes, start=1)
    ]
    found = done_again(lines, "USD")
    sums = by_cause(found, "USD")
    assert sum(each.cost.minor for each in sums) == sum(again.cost.minor for again in found)
    assert sum(each.lines for each in sums) == len(causes)
