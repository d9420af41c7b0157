"""What the sheet says of each situation; figures and dates are those of the invented car."""

from __future__ import annotations

import dataclasses
import json
from datetime import date

import pytest

from recondition.condition.findings import Ended, Outcome, Stage
from recondition.condition.panels import Finish
from recondition.condition.vehicle import TrueDistance
from recondition.fields import Id, Words
from recondition.history.layout import Facts, Table, Text
from recondition.history.sheet import FindingRow, Sheet
from recondition.ledger.lines import Origin, PartState
from tests.history.invented import FINDINGS, NOTHING, VEHICLE, outcomes, sheet, source
from tests.history.invented_work import lines
from tests.history.reading import json_of, page_of
from tests.history.storing import CAR, stored


def _row(made: Sheet, panel: str, defect: str) -> FindingRow:
    (row,) = [row for row in made.findings if (row.panel, row.defect) == (panel, defect)]
    return row


def _section(made: Sheet, anchor: str) -> tuple[object, ...]:
    (section,) = [section for section in page_of(made).sections if section.anchor == anchor]
    return section.blocks


def test_findings_are_numbered_by_stage_then_area() -> None:
    made = sheet()
    assert [row.number for row in made.findings] == list(range(1, 10))
    assert [row.panel for row in made.findings][-3:] == ["fuel tank", "floor", "bonnet"]
    assert made.findings[-1].stage is Stage.DURING_WORK
    assert made.finding(9) is made.findings[-1]


def test_a_finding_says_where_its_panel_is_recorded_as_something_else() -> None:
    panels = tuple(
        dataclasses.replace(each, entry=dataclasses.replace(each.entry, finish=Finish.BASE_CLEAR))
        for each in source().panels
    )
    said = "on single-stage paint; the panel is recorded as base/clear"
    assert said not in str(page_of(sheet()))
    assert said in str(page_of(sheet(panels=panels)))


def test_a_material_whose_words_are_its_type_is_said_once() -> None:
    used = tuple(
        dataclasses.replace(each, entry=dataclasses.replace(each.entry, words=Words("Fine polish")))
        if each.kind == "consumable"
        else each
        for each in lines()
    )
    page = str(page_of(sheet(lines=used)))
    assert "fine polish" in page
    assert "Fine polish" not in page


def test_reversed_lines_and_reversals_do_not_show() -> None:
    words = [step for row in sheet().work for step in row.steps]
    assert "Typed nine hours for one." not in words
    assert "Hours mistyped." not in str(sheet())


def test_freight_and_the_cost_of_selling_do_not_show_but_other_work_does() -> None:
    words = [step for row in sheet().work for step in row.steps]
    assert "Washed and decontaminated." in words
    assert "Freight from the coast." not in str(sheet())
    assert "Photographs for the sale." not in words


def test_work_is_in_order_of_date_and_put_together_with_its_material() -> None:
    work = sheet().work
    assert [row.work_date for row in work] == sorted(row.work_date for row in work)
    (polish,) = [row for row in work if row.materials]
    assert polish.steps == ("Cut with a foam pad, then refined.",)
    assert polish.materials[0].material_type == "fine polish"
    assert polish.panels == ("bonnet",)


def test_a_spoiled_part_is_told_in_its_words_and_is_not_on_the_vehicle() -> None:
    made = sheet()
    (torn,) = [row for row in made.work if row.spoiled]
    assert torn.spoiled == ("First decal set tore at the door gap while being fitted",)
    assert torn.parts == ()
    (fitted,) = made.parts
    assert (fitted.origin, fitted.part_state) == (Origin.REPRODUCTION, PartState.FITTED)
    assert fitted.removed_part_kept == "flat in the document folder, with the car"


def test_the_latest_outcome_counts_and_an_earlier_one_stays() -> None:
    row = _row(sheet(), "left side stripe", "decal lifting")
    assert [ending.ended for ending in row.endings] == [Ended.PARTLY_RESOLVED, Ended.RESOLVED]
    assert not row.remains


def test_an_outcome_that_says_the_same_again_is_shown_once() -> None:
    again = Outcome(
        vehicle=CAR,
        finding=Id("f-seat"),
        ended=Ended.RESOLVED,
        ended_on=date(2025, 6, 1),
        severity_after=0,
    )
    made = sheet(outcomes=(*outcomes(), stored("outcome", "o-9", again, sequence=90)))
    (ending,) = _row(made, "left front seat", "split seam").endings
    assert ending.ended_on == date(2025, 6, 1)


def test_late_entries_show_the_day_they_were_recorded() -> None:
    made = sheet()
    assert _row(made, "floor", "underseal flaking").recorded_on == date(2025, 4, 28)
    assert [row.recorded_on for row in made.work if row.recorded_on] == [date(2025, 5, 5)]


@pytest.mark.parametrize(("day", "late"), [("2025-04-10", None), ("2025-04-11", date(2025, 4, 11))])
def test_late_is_more_than_seven_days(day: str, late: date | None) -> None:
    found = stored("finding", "f-bonnet", FINDINGS["f-bonnet"], at=f"{day}T23:59:00+00:00")
    (row,) = sheet(findings=(found,), outcomes=(), lines=()).findings
    assert row.recorded_on == late


def test_known_remaining_faults_are_open_partly_resolved_or_left() -> None:
    made = sheet()
    remaining = {(row.panel, row.defect) for row in made.findings if row.remains}
    assert remaining == {
        ("right front wing", "stone chips"),
        ("roof", "fading"),
        ("floor", "underseal flaking"),
        ("bonnet", "sanding marks"),
    }


def test_not_inspected_is_not_the_same_as_no_fault_found() -> None:
    made = sheet()
    assert [row.panel for row in made.findings if row.not_inspected] == ["fuel tank"]
    dash = _row(made, "dash", "cracks")
    assert (dash.severity, dash.remains, dash.not_inspected) == (0, False, False)


@pytest.mark.parametrize(
    ("ended", "found", "after", "remains"),
    [
        (Ended.RESOLVED, 3, 0, False),
        (Ended.RESOLVED, 3, 1, True),
        (Ended.RESOLVED, 3, None, False),
        (Ended.PARTLY_RESOLVED, 3, None, True),
        (Ended.LEFT_ALONE, 2, None, True),
        (Ended.LEFT_ALONE, 0, None, False),
        (Ended.LEFT_ALONE, None, None, True),
        (Ended.NOT_INSPECTED, 3, None, True),
        (Ended.NOT_INSPECTED, None, None, False),
    ],
)
def test_what_remains(ended: Ended, found: int | None, after: int | None, *, remains: bool) -> None:
    assert _ended(ended, found, after).findings[0].remains is remains


def _ended(ended: Ended, found: int | None, after: int | None) -> Sheet:
    """Give a sheet with one finding and one outcome, as an old book may hold them."""
    finding = dataclasses.replace(FINDINGS["f-seat"], severity=found)
    outcome = Outcome(
        vehicle=CAR,
        finding=Id("f-seat"),
        ended=ended,
        ended_on=date(2025, 5, 2),
        severity_after=after,
        reason=Words("as told"),
    )
    return sheet(
        findings=(stored("finding", "f-seat", finding),),
        outcomes=(stored("outcome", "o-1", outcome),),
        lines=(),
    )


LEVELS = (None, 0, 1, 2, 3, 4)


@pytest.mark.parametrize("ended", list(Ended))
def test_nothing_both_remains_and_is_not_inspected(ended: Ended) -> None:
    for found in LEVELS:
        for after in LEVELS:
            row = _ended(ended, found, after).findings[0]
            assert not (row.remains and row.not_inspected), (found, after)
            if ended is Ended.NOT_INSPECTED:
                assert row.remains or row.not_inspected, (found, after)


def _cells(made: Sheet, anchor: str) -> list[list[tuple[tuple[str, ...], tuple[str, ...]]]]:
    """Give main lines and notes of every cell of a section's tables, row by row."""
    tables = [block for block in _section(made, anchor) if isinstance(block, Table)]
    return [[(c.lines, c.notes) for c in row] for table in tables for row in table.rows]


def test_a_fault_found_and_not_inspected_at_the_end_remains_and_says_so() -> None:
    made = _ended(Ended.NOT_INSPECTED, 3, None)
    (row,) = _cells(made, "remaining")
    assert row[-2:] == [
        (("visible from two metres",), ("as found",)),
        (("its state at the end was not inspected",), ("as told",)),
    ]
    assert _cells(made, "not-inspected") == []
    ((_, _, change, _),) = _cells(made, "findings")
    assert change[0] == ("Before: visible from two metres", "After: not inspected")
    said = json.loads(json_of(made))
    assert said["knownVehicleDamages"].endswith(
        "(severity: visible from two metres, as found; its state at the end was not inspected)"
    )
    assert said["subjectOf"]["not_inspected"] == []


def test_a_place_never_seen_is_not_inspected_and_no_known_fault() -> None:
    made = _ended(Ended.NOT_INSPECTED, None, None)
    assert _cells(made, "remaining") == []
    assert len(_cells(made, "not-inspected")) == 1


def test_an_old_book_cannot_lower_a_fault_that_nobody_looked_at_again() -> None:
    assert _ended(Ended.NOT_INSPECTED, 3, 0).findings[0].severity_now == 3
    assert _ended(Ended.NOT_INSPECTED, None, 2).findings[0].severity_now == 2


def test_resolved_with_something_left_in_an_old_book_reads_partly_resolved() -> None:
    made = _ended(Ended.RESOLVED, 3, 1)
    (remaining,) = _cells(made, "remaining")
    assert remaining[-1] == (("partly resolved",), ())
    ((*_, end),) = _cells(made, "findings")
    assert end[0] == ("partly resolved, 2 May 2025",)
    counts = {fact.name: fact.lines for fact in page_of(made).summary}
    assert (counts["resolved"], counts["partly resolved"]) == (("0",), ("1",))


@pytest.mark.parametrize(
    ("origin", "kept", "said"),
    [
        (Origin.ORIGINAL_RETAINED, None, "-"),
        (Origin.ORIGINAL_RETAINED, "box 3", "box 3"),
        (Origin.REPRODUCTION, None, "not recorded"),
    ],
)
def test_where_the_removed_part_is_kept(origin: Origin, kept: str | None, said: str) -> None:
    told = [line for line in lines() if getattr(line.entry, "part_state", None) is PartState.FITTED]
    entry = dataclasses.replace(told[0].entry, origin=origin, removed_part_kept=kept)
    (row,) = _cells(sheet(lines=(dataclasses.replace(told[0], entry=entry),)), "parts")
    assert row[2] == ((said,), ())


def test_open_findings_tell_untouched_from_worked_on() -> None:
    def standing(made: Sheet) -> list[str]:
        tables = [block for block in _section(made, "remaining") if isinstance(block, Table)]
        return [row[-1].lines[0] for table in tables for row in table.rows]

    assert standing(sheet()) == [
        "partly resolved",
        "left alone on purpose",
        "not worked on",
        "not worked on",
    ]
    assert "worked on, result not yet recorded" in standing(sheet(outcomes=()))


def _identity(**changes: object) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    car = dataclasses.replace(VEHICLE, **changes)
    (block,) = _section(sheet(vehicle=stored("vehicle", CAR, car)), "vehicle")
    assert isinstance(block, Facts)
    return {fact.name: (fact.lines, fact.notes) for fact in block.facts}


def test_chassis_numbers_that_differ_both_show() -> None:
    facts = _identity()
    differ = ("The two differ.",)
    assert facts["Chassis number as stamped"] == (("AC16 S 004 217",), differ)
    assert facts["Chassis number on the documents"] == (("AC16S04217",), differ)


def test_chassis_numbers_that_agree_show_once() -> None:
    facts = _identity(chassis_documents="AC16 S 004 217")
    same = ("The documents show the same.",)
    assert facts["Chassis number as stamped"] == (("AC16 S 004 217",), same)
    assert "Chassis number on the documents" not in facts


def test_a_stamping_nobody_read_is_not_replaced_by_the_documents() -> None:
    facts = _identity(chassis_stamped=None)
    assert facts["Chassis number as stamped"] == (("not recorded",), ())
    assert facts["Chassis number on the documents"] == (("AC16S04217",), ())


def test_the_odometer_keeps_its_zeros_and_tells_what_is_known() -> None:
    lines_shown, notes = _identity()["Odometer as shown"]
    assert lines_shown == ("04237 (miles)",)
    assert notes[0] == "5 digit wheels: the counter starts again at zero after 99999."
    assert notes[1] == "The distance covered is not known."
    _, notes = _identity(true_distance=TrueDistance.BELIEVED)["Odometer as shown"]
    assert notes[1].endswith("believed to agree with it, not known.")


def test_an_empty_record_says_so_in_every_section() -> None:
    bare = sheet(**NOTHING, head=None, shop_name="")
    page = page_of(bare)
    assert page.byline.startswith("Made by a shop that gives no name on 20 June 2025")
    said = {
        section.anchor: block.paragraphs[0]
        for section in page.sections
        for block in reversed(section.blocks)
        if isinstance(block, Text)
    }
    assert said["remaining"] == "None is known. That is not a statement that there is none."
    assert said["work"] == "No work has been recorded."
    assert said["measured"] == "Nothing has been recorded as measured."
    assert said["evidence"] == "No file is handed out with this sheet."
    assert (
        said["corrections"] == "No correction has been made late or after an edition had gone out."
    )
    assert said["made"].endswith("No hash of the records is printed on it.")


def test_the_order_in_which_records_come_does_not_matter() -> None:
    backwards = source(lines=lines()[::-1], outcomes=outcomes()[::-1])
    assert sheet(lines=backwards.lines, outcomes=backwards.outcomes) == sheet()
