"""Each vehicle's costs stand where common practice puts them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given

from recondition.accounts.summary import Place, place_of, purposes_in, summarise
from recondition.amounts import Money
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import pieces
from tests.lines import CONSIGNED, FINDINGS, OWN, charge, labour, line_sets, posted

if TYPE_CHECKING:
    from recondition.ledger.rollup import Line

BOTH = {OWN: False, CONSIGNED: True}

# The worked journal of one own car in the project's trade notes (invented figures): landed
# 72 001.20, reconditioning 96.42 + 1 608.13 + 214.00 + 780.00 = 2 698.55, spoiled work
# 107.00, selling 6 845.00; inventory before the sale 74 699.75.
WORKED = (
    charge("72001.20", purpose=Purpose.LANDED),
    charge("96.42"),
    labour("41.5"),
    charge("214.00"),
    charge("780.00"),
    charge("107.00", purpose=Purpose.SPOILAGE),
    charge("6845.00", purpose=Purpose.SELLING),
)


def test_the_worked_journal_of_an_own_car() -> None:
    lines = [posted(place, entry) for place, entry in enumerate(WORKED, start=1)]
    (own,) = summarise(pieces(lines, FINDINGS), {OWN: False}, "USD")
    assert own.purposes[Purpose.RECONDITIONING] == Money.of("2698.55", "USD")
    assert own.places[Place.INVENTORY] == Money.of("74699.75", "USD")
    assert own.places[Place.EXPENSED] == Money.of("6952.00", "USD")
    assert own.places[Place.OWNER_WORK] == Money(0, "USD")


def test_an_owners_car_is_never_inventory() -> None:
    # 18.0 h x 95.00 = 1 710.00 billed, x 38.75 = 697.50 at cost: the same notes, consigned car.
    lines = [posted(1, labour("18.0", vehicle=CONSIGNED))]
    (car,) = summarise(pieces(lines, FINDINGS), {CONSIGNED: True}, "USD")
    assert car.places[Place.INVENTORY] == Money(0, "USD")
    assert car.places[Place.OWNER_WORK] == Money.of("697.50", "USD")
    assert car.billed == Money.of("1710.00", "USD")


def test_what_belongs_to_no_vehicle_is_expensed_and_comes_last() -> None:
    lines = [posted(1, charge("12.00", vehicle=None, purpose=Purpose.OVERHEAD))]
    summaries = summarise(pieces(lines, FINDINGS), BOTH, "USD")
    assert [summary.vehicle for summary in summaries] == [OWN, CONSIGNED, None]
    assert summaries[-1].places[Place.EXPENSED] == Money.of("12.00", "USD")
    assert summaries[0].cost == Money(0, "USD")


def test_every_purpose_has_one_place() -> None:
    for consigned in (False, True, None):
        placed = [p for place in Place for p in purposes_in(place, consigned=consigned)]
        assert sorted(placed) == sorted(Purpose)
    assert place_of(Purpose.LANDED, consigned=None) is Place.EXPENSED


@given(line_sets())
def test_places_and_purposes_add_up_to_the_cost(lines: tuple[Line, ...]) -> None:
    for summary in summarise(pieces(lines, FINDINGS), BOTH, "USD"):
        assert sum(money.minor for money in summary.places.values()) == summary.cost.minor
        assert sum(money.minor for money in summary.purposes.values()) == summary.cost.minor
