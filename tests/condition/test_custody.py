"""Custody and gloss: what may move, where a thing is, when 20 degrees are asked for."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from recondition.condition.custody import (
    STOP,
    CustodyItem,
    CustodyMove,
    DoNotHandle,
    ItemClass,
    MovedBefore,
    ReleasedAlready,
    check_move,
    whereabouts,
)
from recondition.condition.gloss import GlossReading, NotAGloss, asks_for_20
from recondition.fields import Id, Words


def item(of: ItemClass = ItemClass.KEY) -> CustodyItem:
    return CustodyItem(
        vehicle=Id("v"), item=Words("spare key"), item_class=of,
        found_at="2031-03-04T09:42-05:00", place=Words("driver"), kept_at=Words("hook 7"),
        found_by=Id("p"),
    )  # fmt: skip


def move(at: str, to: str = "yard", released: str | None = None) -> CustodyMove:
    return CustodyMove(
        vehicle=Id("v"), item=Id("i"), to=Words(to), moved_at=at, moved_by=Id("p"),
        reason=Words("test drive"), released_to=Words(released) if released else None,
    )  # fmt: skip


def test_where_is_it_now() -> None:
    assert whereabouts(item(), []) == "hook 7, since 2031-03-04 09:42-05:00"
    out = move("2031-03-05T08:00-05:00")
    assert whereabouts(item(), [out]) == "yard, since 2031-03-05 08:00-05:00"
    gone = move("2031-03-06T08:00-05:00", "front desk", "the buyer")
    assert whereabouts(item(), [out, gone]).startswith("released to the buyer, 2031-03-06 08:00")


def test_movements_follow_each_other_across_zones() -> None:
    check_move("CU-1", item(), [], move("2031-03-04T14:42+00:00"))
    with pytest.raises(MovedBefore):
        check_move("CU-1", item(), [], move("2031-03-04T14:41+00:00"))
    gone = move("2031-03-05T08:00-05:00", released="the buyer")
    with pytest.raises(ReleasedAlready):
        check_move("CU-1", item(), [gone], move("2031-03-06T08:00-05:00"))


@pytest.mark.parametrize("of", ItemClass)
def test_what_must_not_be_handled_only_leaves_to_an_authority(of: ItemClass) -> None:
    if of in STOP:
        with pytest.raises(DoNotHandle):
            check_move("CU-1", item(of), [], move("2031-03-05T08:00-05:00"))
    check_move("CU-1", item(of), [], move("2031-03-05T08:00-05:00", released="the police"))


def gloss(values: str, unit: str = "GU60") -> GlossReading:
    readings = tuple(Decimal(value) for value in values.split())
    return GlossReading(
        vehicle=Id("v"), panel="roof", readings=readings, unit=unit, read_on=date(2031, 3, 4)
    )


@pytest.mark.parametrize(
    ("values", "unit", "asked"),
    [("70 70 70", "GU60", False), ("70 70 70.1", "GU60", True), ("90", "GU20", False),
     ("85", "GU85", False)],
)  # fmt: skip
def test_20_degrees_are_asked_for_above_70(values: str, unit: str, *, asked: bool) -> None:
    """ISO 2813: 60 degrees works between 10 and 70 units; above 70 use 20 degrees."""
    assert asks_for_20(gloss(values, unit)) is asked


def test_gloss_without_its_angle_is_none() -> None:
    for wrong in (gloss("60", "um"), gloss("-1"), gloss("")):
        with pytest.raises(NotAGloss):
            wrong.check()
