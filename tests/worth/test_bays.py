"""Which bay each piece of work takes: never two at once in one, and never more than there are."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from recondition.errors import Refused
from recondition.reports.bays import bays, grid
from recondition.worth.bays import Stay, stays
from recondition.worth.several import together
from recondition.worth.shop import LayingOut
from tests.worth.test_joint import questions

if TYPE_CHECKING:
    from recondition.worth.estimates import Candidate
    from recondition.worth.question import Question
    from recondition.worth.several import Together


def planned(seed: int) -> tuple[Together, dict[str, Question], int]:
    """Plan two drawn vehicles in the shop of the first."""
    first, second = questions(seed, 2)
    shop = replace(first.shop, laying_out=LayingOut.CALENDAR)
    asked = {
        ref: replace(
            each,
            shop=shop,
            candidates={f"{ref}{name}": _named(ref, c) for name, c in each.candidates.items()},
            refs={f"{ref}{name}": f"{ref}{name}" for name in each.candidates},
            interactions=(),
        )
        for ref, each in (("1", first), ("2", second))
    }  # fmt: skip
    return together(asked, seconds=4.0), asked, shop.bays


def _named(ref: str, work: Candidate) -> Candidate:
    """Name what a piece of work needs as that vehicle's own."""
    requires = tuple(f"{ref}{name}" for name in work.requires)
    excludes = tuple(f"{ref}{name}" for name in work.excludes)
    return replace(work, requires=requires, excludes=excludes)


def test_no_bay_holds_two_at_once_and_no_more_bays_are_taken_than_there_are() -> None:
    laid = 0
    for seed in range(8):
        try:
            found, asked, count = planned(seed)
        except Refused:
            continue
        made = stays(found, asked)
        assert {stay.bay for stay in made} <= set(range(1, count + 1))
        for one, other in combinations(made, 2):
            apart = one.end <= other.lying.start or other.end <= one.lying.start
            assert one.bay != other.bay or apart
        laid += len(made)
        _whole(found, asked, made)
    assert laid > 8


def _whole(found: Together, asked: dict[str, Question], made: tuple[Stay, ...]) -> None:
    """Hold that the table of days holds every stay, in the bay it has."""
    table = bays(found, asked)
    days, by_bay = grid(table)
    assert days == sorted(days)
    in_table = {(row[1], row[2], str(row[3]).removesuffix(" cures")) for row in table.rows}
    assert in_table == {(stay.bay, stay.vehicle, stay.lying.ref) for stay in made}
    assert sum(len(rows) for in_bay in by_bay.values() for rows in in_bay.values()) == len(
        table.rows
    )
