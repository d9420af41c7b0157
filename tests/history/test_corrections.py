"""Which corrections stay visible: late ones, and those after an edition went out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from recondition.fields import Id, Words
from recondition.history.layout import Table
from recondition.ledger.lines import Labour
from tests.history.invented import EARLIER, FINDINGS, sheet
from tests.history.invented_seen import earlier_editions
from tests.history.invented_work import lines
from tests.history.reading import page_of
from tests.history.storing import stored

if TYPE_CHECKING:
    from recondition.history.corrections import CorrectionRow
    from recondition.ledger.drafts import Stored

FIRST = "2025-04-03T17:30:00+02:00"


def _versions(*told: tuple[str, dict[str, Any]]) -> dict[str, tuple[Stored[Any], ...]]:
    """Give versions of the finding on the wing: when each was recorded, and what it changed."""
    entry = FINDINGS["f-wing"]
    made = []
    for number, (moment, changes) in enumerate(told, start=1):
        entry = replace(entry, **changes)
        one = stored("finding", "f-wing", entry, at=moment)
        made.append(replace(one, version=number))
    return {"f-wing": tuple(made)}


def corrections(*told: tuple[str, dict[str, Any]], **more: Any) -> tuple[CorrectionRow, ...]:
    """Give the corrections of a vehicle whose lines need none."""
    return sheet(versions=_versions(*told), lines=(), **more).corrections


@pytest.mark.parametrize(
    ("moment", "count"),
    [
        ("2025-04-03T17:31:00+02:00", 0),
        ("2025-04-10T17:30:00+02:00", 0),
        ("2025-04-10T17:30:01+02:00", 1),
        ("2025-04-10T15:29:59+00:00", 0),
    ],
)
def test_a_slip_may_be_put_right_within_seven_days(moment: str, count: int) -> None:
    found = corrections((FIRST, {"severity": 2}), (moment, {"severity": 3}))
    assert len(found) == count


def test_a_correction_tells_what_was_and_what_is_said_now() -> None:
    (row,) = corrections(
        (FIRST, {"severity": 2, "lamp": None}),
        ("2025-04-25T10:00:00+02:00", {"severity": 3, "lamp": "daylight"}),
    )
    assert (row.kind, row.panel, row.finding) == ("finding", "right front wing", 2)
    assert row.corrected_on == date(2025, 4, 25)
    changed = {change.field: (change.before, change.after) for change in row.changes}
    assert changed == {"severity": (2, 3), "lamp": (None, "daylight")}


def test_an_edition_in_between_makes_every_correction_visible() -> None:
    told = ((FIRST, {"severity": 2}), ("2025-04-04T10:00:00+02:00", {"severity": 3}))
    assert corrections(*told) == ()
    (edition, *_) = earlier_editions()
    between = replace(edition, recorded_at="2025-04-03T20:00:00+02:00")
    assert len(corrections(*told, editions=(between,))) == 1
    after = replace(edition, recorded_at="2025-04-04T10:00:00+02:00")
    assert corrections(*told, editions=(after,)) == ()


def test_what_is_private_is_no_correction() -> None:
    note = {"private_note": Words("Told by telephone."), "found_by": Id("p-1")}
    assert corrections((FIRST, {}), ("2025-05-25T10:00:00+02:00", note)) == ()


def test_equal_public_words_are_no_correction() -> None:
    assert corrections((FIRST, {}), ("2025-05-25T10:00:00+02:00", {})) == ()


def test_each_version_is_held_against_the_one_before_it() -> None:
    found = corrections(
        (FIRST, {"severity": 1}),
        ("2025-04-04T09:00:00+02:00", {"severity": 2}),
        ("2025-05-04T09:00:00+02:00", {"severity": 3}),
        ("2025-06-04T09:00:00+02:00", {"severity": 4}),
    )
    told = [(row.changes[0].before, row.changes[0].after) for row in found]
    assert told == [(2, 3), (3, 4)]


def _taken_back(*, day: str, anew: dict[str, Any] | None = None) -> tuple[CorrectionRow, ...]:
    """Take the work on the roof back on a day, and enter it anew where asked."""
    roof, back = [line for line in lines() if line.id in ("l-12", "l-13")]
    back = replace(back, recorded_at=f"{day}T12:00:00+02:00")
    again = ()
    if anew is not None:
        entry: Labour = replace(roof.entry, replaces=Id("l-12"), **anew)
        again = (replace(roof, id="l-20", entry=entry, reversed_by=None),)
    return sheet(lines=(roof, back, *again), versions={}).corrections


def test_work_taken_back_late_stays_with_the_reason_a_buyer_may_read() -> None:
    (row,) = _taken_back(day="2025-05-20")
    assert (row.kind, row.work_date, row.words) == (
        "labour", date(2025, 4, 8), "Roof machine polished.",
    )  # fmt: skip
    assert row.reason == "The roof was not touched; the entry belongs elsewhere."
    assert not row.replaced
    assert "Booked on the wrong car." not in str(row)


def test_work_taken_back_within_seven_days_leaves_nothing() -> None:
    assert _taken_back(day="2025-04-15") == ()
    assert len(_taken_back(day="2025-04-16")) == 1


def test_work_entered_anew_in_the_same_words_is_no_correction() -> None:
    assert _taken_back(day="2025-05-20", anew={}) == ()
    (row,) = _taken_back(day="2025-05-20", anew={"words": Words("Roof waxed by hand.")})
    assert row.replaced


def test_the_page_sets_out_corrections_and_editions() -> None:
    page = page_of(sheet(number=3, **EARLIER))
    (section,) = [section for section in page.sections if section.anchor == "corrections"]
    put_right, editions = [block for block in section.blocks if isinstance(block, Table)]
    said = [[cell.lines[0] for cell in row] for row in put_right.rows]
    assert said[0] == [
        "25 April 2025", "finding 2", "visible close in daylight", "visible from two metres",
    ]  # fmt: skip
    assert said[1][2] == "Roof machine polished."
    numbers = [row[0].lines[0] for row in editions.rows]
    standing = [row[-1].lines[0] for row in editions.rows]
    assert numbers == ["2", "1"]
    assert standing == ["superseded", "withdrawn on 30 May 2025"]
    assert editions.rows[1][-1].notes == ("It named a wrong panel for the stone chips.",)


def test_the_sheet_says_what_it_takes_the_place_of() -> None:
    assert page_of(sheet(number=3, **EARLIER)).edition.endswith("edition 2 of 1 June 2025")
    assert "trial copy" in page_of(sheet(number=None)).edition


def test_a_slip_that_no_edition_carried_is_not_told_beside_what_one_did() -> None:
    (edition, *_) = earlier_editions()
    issued = replace(edition, recorded_at="2025-04-03T20:00:00+02:00")
    found = corrections(
        (FIRST, {"severity": 1}),
        ("2025-05-04T09:00:00+02:00", {"severity": 4, "words": Words("cost 777.77")}),
        ("2025-05-04T09:05:00+02:00", {"severity": 2, "words": Words("deeper than first seen")}),
        editions=(issued,),
    )
    told = [(row.changes[-1].before, row.changes[-1].after) for row in found]
    assert told == [(1, 2)]
    assert "777.77" not in str(found)
