"""Totals are sums of posted lines on every axis, reversals included."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given

from recondition.amounts import Money
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import Axis, ReversedLineMissing, add_up, pieces, roll_up
from tests.lines import CONSIGNED, FINDINGS, OWN, charge, labour, line_sets, posted, taken_back

if TYPE_CHECKING:
    from recondition.ledger.rollup import Line


@given(line_sets())
def test_every_axis_adds_up_to_the_lines(lines: tuple[Line, ...]) -> None:
    cut = pieces(lines, FINDINGS)
    cost = sum(line.priced.cost.minor for line in lines if line.priced)
    billed = sum(line.priced.billed.minor for line in lines if line.priced and line.priced.billed)
    for axis in Axis:
        totals = roll_up(cut, axis, "USD").values()
        assert sum(total.cost.minor for total in totals) == cost
        assert sum(total.billed.minor for total in totals) == billed


@given(line_sets())
def test_every_line_stands_behind_some_total_and_no_other(lines: tuple[Line, ...]) -> None:
    cut = pieces(lines, FINDINGS)
    for axis in Axis:
        named = [line for total in roll_up(cut, axis, "USD").values() for line in total.lines]
        assert set(named) == {line.id for line in lines}
        if axis not in (Axis.FINDING, Axis.AREA, Axis.PANEL):
            assert len(named) == len(lines)


@given(line_sets())
def test_a_line_taken_back_leaves_nothing_anywhere_but_in_its_period(
    lines: tuple[Line, ...],
) -> None:
    backed = {line.reverses for line in lines if line.reverses}
    pairs = [line for line in lines if line.id in backed or line.reverses]
    cut = pieces(pairs, FINDINGS)
    for axis in set(Axis) - {Axis.PERIOD}:
        assert not any(total.cost for total in roll_up(cut, axis, "USD").values())


def test_a_reversal_counts_under_the_keys_of_its_line_and_in_its_own_period() -> None:
    line = posted(1, labour("2", links=("f1",), candidate="c1", period="2031-03"))
    cut = pieces([line, taken_back(2, line, period="2031-04")], FINDINGS)
    assert roll_up(cut, Axis.KIND, "USD")["labour"].lines == ("line1", "line2")
    assert roll_up(cut, Axis.CANDIDATE, "USD")["c1"].cost == Money(0, "USD")
    periods = roll_up(cut, Axis.PERIOD, "USD")
    assert {key: total.cost.minor for key, total in periods.items()} == {
        "2031-03": 7750,
        "2031-04": -7750,
    }


def test_shares_follow_their_findings_to_area_and_panel() -> None:
    # 100.01 over two findings: 50.01 to the first by id, 50.00 to the other.
    cut = pieces([posted(1, charge("100.01", links=("f1", "f2")))], FINDINGS)
    areas = roll_up(cut, Axis.AREA, "USD")
    assert {key: total.cost.minor for key, total in areas.items()} == {
        "exterior": 5001,
        "wheels": 5000,
    }
    panels = roll_up(cut, Axis.PANEL, "USD")
    assert panels["left front wheel"].cost == Money(5000, "USD")


def test_an_unlinked_line_counts_under_its_own_panel_and_the_area_of_it() -> None:
    lines = [posted(1, charge("5.00", panel="roof")), posted(2, charge("7.00", panel="tail fin"))]
    cut = pieces(lines, FINDINGS)
    assert roll_up(cut, Axis.AREA, "USD")["exterior"].cost == Money(500, "USD")
    assert roll_up(cut, Axis.AREA, "USD")[None].cost == Money(700, "USD")
    assert roll_up(cut, Axis.PANEL, "USD")["tail fin"].cost == Money(700, "USD")


def test_billed_is_added_for_owners_only() -> None:
    lines = [posted(1, labour("1", vehicle=OWN)), posted(2, labour("1", vehicle=CONSIGNED))]
    whole = add_up(pieces(lines, FINDINGS), "USD")
    assert (whole.cost, whole.billed) == (Money(7750, "USD"), Money(9500, "USD"))


def test_a_reversal_without_its_line_is_damage() -> None:
    line = posted(1, charge("5.00", purpose=Purpose.LANDED))
    with pytest.raises(ReversedLineMissing) as caught:
        pieces([taken_back(2, line)], FINDINGS)
    assert caught.value.exit_status == 3
    assert "L0002" in caught.value.what
