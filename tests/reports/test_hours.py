"""Four kinds of time are added up each by itself."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.fields import Id
from recondition.ledger.lines import Cause, HoursTaken, Payer, Rework
from recondition.reports.hours import hours_table
from tests.lines import CONSIGNED, charge, labour, posted, taken_back


def h(number: str) -> Quantity:
    return Quantity.of(number, "h")


def figures(*entries: Any, billed: bool = True) -> dict[str, tuple[Decimal, int]]:
    table = hours_table([posted(n, each) for n, each in enumerate(entries, 1)], billed=billed)
    assert table is not None
    return {row[0]: (row[2], row[3]) for row in table.rows}  # type: ignore[misc]


def test_each_kind_counts_only_where_it_is_stated() -> None:
    found = figures(
        labour("7.5", vehicle=CONSIGNED, bay=h("9"), elapsed=h("8.25"), billed_time=h("6.5")),
        labour("2", vehicle=CONSIGNED),
        labour("1", vehicle=CONSIGNED, billed=Money.of("0", "USD")),
        labour("1", vehicle=CONSIGNED,
               rework=Rework(of=Id("l"), cause=Cause.METHOD, payer=Payer.SHOP)),
        charge("5", vehicle=CONSIGNED),
    )  # fmt: skip
    assert found == {
        "hands-on": (Decimal("11.50"), 4), "bay": (Decimal("9.00"), 1),
        "by the clock": (Decimal("8.25"), 1), "billed": (Decimal("8.50"), 2),
    }  # fmt: skip
    assert "billed" not in figures(labour("1"), billed=False)


def test_hours_taken_back_are_no_hours_and_the_clocked_ones_are_counted() -> None:
    line = posted(1, labour("2"))
    gone = [replace(line, reversed_by="line2"), taken_back(2, line)]
    assert hours_table(gone, billed=False) is None
    kept = hours_table([*gone, posted(3, labour("1", taken=HoursTaken.BY_THE_CLOCK))], billed=False)
    assert kept is not None
    assert kept.note.startswith("1 of 1 lines were kept by the clock")
