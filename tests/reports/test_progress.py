"""Estimate, actual, remaining and uplift; the expected figures are worked out by hand here."""

from __future__ import annotations

from dataclasses import replace

from recondition.amounts import Money
from recondition.condition.vehicle import Holding
from recondition.ledger.rollup import pieces
from recondition.worth.progress import cost_and_uplift
from tests.lines import CONSIGNED, FINDINGS, labour, posted
from tests.reports.work import progress, question


def dollars(text: str) -> Money:
    return Money.of(text, "USD")


def test_work_stands_in_the_order_done_started_open_left() -> None:
    assert [step.ref for step in progress().steps] == ["C2", "C3", "C1", "C4"]


def test_estimate_actual_and_remaining_of_each_state() -> None:
    # Expected cost of each: 3 h x 40.00 + 100.00 = 220.00. Done: nothing remains. Started:
    # 300.00 spent of 220.00, so nothing remains below zero. Open: all of it. Left: nothing.
    steps = {step.ref: step for step in progress().steps}
    assert {step.estimate for step in steps.values()} == {dollars("220.00")}
    assert {ref: step.actual for ref, step in steps.items()} == {
        "C1": dollars("0.00"),
        "C2": dollars("155.00"),
        "C3": dollars("300.00"),
        "C4": dollars("0.00"),
    }
    assert {ref: step.remaining for ref, step in steps.items()} == {
        "C1": dollars("220.00"),
        "C2": dollars("0.00"),
        "C3": dollars("0.00"),
        "C4": dollars("0.00"),
    }


def test_a_line_and_its_reversal_stand_behind_the_figure_both() -> None:
    steps = {step.ref: step for step in progress().steps}
    assert steps["C3"].lines == ("line2", "line3", "line4")


def test_the_staircases_add_up_and_count_what_work_brings_together() -> None:
    # Cost 155, + 300, + 220, + 0. Uplift: none estimated for the done work, 600, then 600
    # and the 50 of both together; left work brings nothing.
    steps = progress().steps
    assert [step.cost_so_far for step in steps] == [
        dollars(text) for text in ("155.00", "455.00", "675.00", "675.00")
    ]
    assert [step.uplift_so_far for step in steps] == [
        dollars(text) for text in ("0.00", "600.00", "1250.00", "1250.00")
    ]
    assert progress().uplift == dollars("1250.00")
    assert steps[0].uplift is None


def test_lines_that_name_no_work_stand_outside() -> None:
    whole = progress()
    assert whole.outside == ("line5",)
    assert whole.outside_total == dollars("12.34")
    assert whole.whole.actual == dollars("455.00")


def test_findings_and_areas_share_estimates_equally_and_add_up() -> None:
    # f1: half of C1 (110.00); f2: the other half and all of C3; f3: C2; C4 serves none.
    whole = progress()
    estimates = {row.key: row.estimate for row in whole.findings}
    assert estimates == {
        "f1": dollars("110.00"),
        "f2": dollars("330.00"),
        "f3": dollars("220.00"),
        None: dollars("220.00"),
    }
    actuals = {row.key: row.actual for row in whole.findings}
    assert actuals["f1"] == dollars("162.34")
    assert {row.key: row.outside for row in whole.findings}["f1"] == dollars("12.34")
    for rows in (whole.findings, whole.areas, whole.kinds):
        assert sum(row.actual.minor for row in rows) == 46734
        assert sum(row.outside.minor for row in rows) == 1234
        assert sum(row.estimate.minor for row in rows) == 88000


def test_what_is_shared_adds_up_to_its_total_to_the_cent() -> None:
    # 3 h x 40.01 and 100.00 are 220.03; half of that is no whole number of cents.
    asked = question()
    terms = replace(asked.terms, labour_cost_rate=dollars("40.01"))
    told = cost_and_uplift(replace(asked, terms=terms), (), FINDINGS)
    halves = {row.key: row.estimate for row in told.findings}
    assert halves["f1"] + halves["f2"] == dollars("440.06")
    for rows in (told.findings, told.areas, told.kinds):
        assert sum(row.estimate.minor for row in rows) == told.whole.estimate.minor == 88012
    for rows in (told.findings, told.areas):
        assert sum(row.remaining.minor for row in rows) == told.whole.remaining.minor


def test_kinds_tell_hours_from_cash() -> None:
    # Hours 4 x 120.00, cash 4 x 100.00. To come: C1 all; C3 has spent its cash, no hours yet.
    hours, cash, waiting = progress().kinds
    assert (hours.estimate, hours.actual) == (dollars("480.00"), dollars("155.00"))
    assert (cash.estimate, cash.actual) == (dollars("400.00"), dollars("312.34"))
    assert (hours.remaining, cash.remaining) == (dollars("240.00"), dollars("100.00"))
    assert waiting.estimate == dollars("0.00")


def test_an_owners_car_is_told_in_what_the_owner_pays() -> None:
    # Estimate at the charge-out rate of 100.00: 3 x 100 + 100 = 400. Actual: 2 h at 95.00.
    asked = question(holding=Holding.CONSIGNED, interactions=())
    lines = [posted(1, labour("2", vehicle=CONSIGNED, candidate="c1"))]
    told = cost_and_uplift(asked, pieces(lines, FINDINGS), FINDINGS)
    (first,) = [step for step in told.steps if step.item == "c1"]
    assert (first.estimate, first.actual, first.remaining) == (
        dollars("400.00"),
        dollars("190.00"),
        dollars("210.00"),
    )
