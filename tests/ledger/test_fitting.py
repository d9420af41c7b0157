"""A part is fitted after it came, and a decal on a surface that its sheet allows.

Published ranges differ (10 to 35 C, 50 to 95 F: film makers' bulletins), so each order or
line carries its own.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words
from recondition.ledger import fitting
from recondition.ledger.lines import FitWindow, Origin, Part, PartState, Sublet
from recondition.ledger.orders import Order, Ordered
from tests.lines import common

DAY = date(2031, 3, 4)


def c(number: str) -> Quantity:
    return Quantity.of(number, "C")


def order(**more: Any) -> Order:
    fields = {"what": Ordered.PART, "received_on": date(2031, 2, 27)} | more
    return Order(
        vehicle=Id("own"), name=Words("stripe"), quantity=Quantity.of(1, "piece"), **fields
    )  # fmt: skip


def part(**more: Any) -> Part:
    fields = common(links=("f1",)) | {"work_date": DAY}
    return Part(
        quantity=Quantity.of(1, "piece"), price=Money.of("107", "USD"), part_name=Words("stripe"),
        origin=Origin.REPRODUCTION, **(fields | more),
    )  # fmt: skip


def test_a_part_that_came_before_may_be_fitted() -> None:
    fitting.check_from_order(part(), order(received_on=DAY), "OR-1")


@pytest.mark.parametrize(
    ("more", "refusal"),
    [
        ({"received_on": None}, fitting.FitBeforeReceipt),
        ({"received_on": date(2031, 3, 5)}, fitting.FitBeforeReceipt),
        ({"returned_on": DAY}, fitting.SentBack),
        ({"what": Ordered.SUBLET}, fitting.OrderOfAnotherKind),
    ],
)
def test_a_part_that_cannot_be_from_its_order_is_refused(
    more: dict[str, Any], refusal: type[Exception]
) -> None:
    with pytest.raises(refusal, match="OR-1"):
        fitting.check_from_order(part(), order(**more), "OR-1")


def test_sublet_work_may_be_invoiced_before_it_is_back() -> None:
    entry = Sublet(price=Money.of("780", "USD"), **common(links=("f1",)))
    fitting.check_from_order(entry, order(what=Ordered.SUBLET, received_on=None), "OR-1")


@pytest.mark.parametrize(
    ("surface", "fits"),
    [
        (c("10"), True), (c("35"), True), (c("9.9"), False), (c("35.1"), False),
        (Quantity.of(50, "F"), True), (Quantity.of(95, "F"), True),
        (Quantity.of("49.9", "F"), False), (Quantity.of(96, "F"), False),
    ],
)  # fmt: skip
def test_a_surface_within_the_window_is_fitted_on(surface: Quantity, *, fits: bool) -> None:
    entry = part(window=FitWindow(surface=surface))
    window = FitWindow(surface_low=c("10"), surface_high=c("35"))
    if fits:
        fitting.check_window(entry, window)
        return
    with pytest.raises(fitting.OutsideItsWindow, match="at least 10 C and at most 35 C"):
        fitting.check_window(entry, window)


def test_a_reason_lets_a_fit_stand_and_a_spoiled_part_needs_none() -> None:
    window = FitWindow(surface_low=c("10"), surface=c("8"))
    fitting.check_window(part(window=window, outside_because=Words("heater failed")), None)
    fitting.check_window(part(window=window, part_state=PartState.SPOILED), None)
    with pytest.raises(fitting.OutsideItsWindow):
        fitting.check_window(part(window=window), None)


def test_a_window_asks_for_the_temperature() -> None:
    with pytest.raises(fitting.SurfaceNotRead, match="at least 10 C"):
        fitting.check_window(part(), FitWindow(surface_low=c("10")))
    fitting.check_window(part(), None)
    fitting.check_window(part(), FitWindow(dry_for=Quantity.of(24, "h")))
    wrong = part(window=FitWindow(surface=Quantity.of(20, "ml")))
    with pytest.raises(fitting.NotATemperature):
        fitting.check_window(wrong, FitWindow(surface_low=c("10")))


def test_the_lines_own_window_goes_before_the_orders() -> None:
    own = part(window=FitWindow(surface_low=c("5"), surface=c("8")))
    fitting.check_window(own, FitWindow(surface_low=c("10")))


def test_the_steps_of_an_order_follow_one_another() -> None:
    days = [date(2031, 2, day) for day in (18, 19, 27)]
    names = ("quoted_on", "ordered_on", "received_on")
    fitting.check_order(order(**dict(zip(names, days, strict=True))))
    with pytest.raises(fitting.OrderOutOfOrder, match="received on 2031-02-18, before ordered"):
        fitting.check_order(order(ordered_on=days[1], received_on=days[0]))
