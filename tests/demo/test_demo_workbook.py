"""The demo workbook imports cleanly and shows everything the reports are to say."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from openpyxl import load_workbook

from recondition.book import questions, reading
from recondition.book.engine import Book
from recondition.condition.findings import NEEDS_REASON, Ended, Stage
from recondition.condition.vehicle import Holding
from recondition.intake.blank import write_blank
from recondition.intake.load import load
from recondition.ledger.lines import Origin, Part, PartState, Purpose, Standing
from recondition.resources import resource
from recondition.worth.advice import Advice, Verdict
from recondition.worth.decision import decide
from recondition.worth.estimates import CandidateState
from tests.demo.cells import LINE_SHEETS, Totals, rows_of, totals_by_vehicle

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.ledger.drafts import Stored

WORKBOOK = resource("demo_data") / "shop-year.xlsx"
OWN, CONSIGNED = "0007", "0012"
TEXTS_SHOWN_TO_BUYERS = ("words", "reason", "evidence", "spot", "removed_part_kept", "part_name")


@pytest.fixture(scope="module")
def book(demo_book: Book) -> Book:
    """Give the book that the demo made of the workbook."""
    return demo_book


@pytest.fixture(scope="module")
def cells() -> dict[str, list[dict[str, Any]]]:
    return rows_of(WORKBOOK)


def stored(book: Book, *kinds: str) -> list[Stored[Any]]:
    with book.reading() as conn:
        return reading.stored(conn, *kinds)


def lines(book: Book) -> list[Stored[Any]]:
    with book.reading() as conn:
        return reading.lines(conn)


def advice(book: Book, ref: str) -> Advice:
    with book.reading() as conn:
        return decide(questions.question_of(conn, questions.vehicle_of(conn, ref)))


def test_it_is_the_blank_workbook_filled_in(tmp_path: Path) -> None:
    write_blank(tmp_path / "blank.xlsx")
    blank, filled = load_workbook(tmp_path / "blank.xlsx"), load_workbook(WORKBOOK)
    assert filled.sheetnames == blank.sheetnames
    for name in blank.sheetnames:
        assert [c.value for c in filled[name][1]] == [c.value for c in blank[name][1]], name


def test_a_second_import_finds_every_row_there(
    book: Book, cells: dict[str, list[dict[str, Any]]]
) -> None:
    report = load(book, WORKBOOK, author_ref="IC")
    assert report.changed == 0
    assert report.rows == sum(map(len, cells.values()))
    assert report.words()[-1] == "Everything is in the book already; nothing was changed."


def test_every_file_is_named_and_the_demo_stays_small(cells: dict[str, list[Any]]) -> None:
    folder = WORKBOOK.parent
    named = {row["file"] for row in cells["documents"]}
    there = {f"files/{path.name}" for path in (folder / "files").iterdir()}
    assert named == there
    assert sum(path.stat().st_size for path in folder.rglob("*") if path.is_file()) < 300_000


def test_one_vehicle_is_own_and_imported_and_one_is_consigned(book: Book) -> None:
    by_ref = {vehicle.ref: vehicle.entry for vehicle in stored(book, "vehicle")}
    assert set(by_ref) == {OWN, CONSIGNED}
    own, other = by_ref[OWN], by_ref[CONSIGNED]
    assert own.holding is Holding.OWN
    assert own.imported
    assert other.holding is Holding.CONSIGNED
    assert other.owner is not None


def test_numbers_keep_every_sign_as_typed(book: Book) -> None:
    own = next(vehicle.entry for vehicle in stored(book, "vehicle") if vehicle.ref == OWN)
    assert own.chassis_stamped == "VR 74 *018842* K"
    assert own.chassis_documents == "VR74018842K"
    assert (own.odometer_shown, own.odometer_wheels) == ("08341", 5)


def test_there_are_findings_enough_from_several_areas_and_stages(book: Book) -> None:
    findings = [finding.entry for finding in stored(book, "finding")]
    assert len(findings) >= 15
    assert len({finding.area for finding in findings}) >= 6
    assert {Stage.ARRIVAL, Stage.DURING_WORK} <= {finding.stage for finding in findings}
    assert len({finding.vehicle for finding in findings}) == 2


def test_findings_end_in_all_four_ways_and_some_are_still_open(book: Book) -> None:
    outcomes = [outcome.entry for outcome in stored(book, "outcome")]
    assert {outcome.ended for outcome in outcomes} == set(Ended)
    assert all(outcome.reason for outcome in outcomes if outcome.ended in NEEDS_REASON)
    assert len({outcome.finding for outcome in outcomes}) < len(stored(book, "finding"))


def test_a_finding_with_something_left_is_partly_resolved(
    cells: dict[str, list[dict[str, Any]]],
) -> None:
    (door,) = [row for row in cells["outcomes"] if row["finding"] == "F-004"]
    assert (door["how it ended"], door["severity after"]) == ("partly resolved", 1)
    for row in cells["outcomes"]:
        assert row["how it ended"] != "resolved" or not row["severity after"], row["ref"]
        assert row["how it ended"] != "not inspected" or row["severity after"] is None, row["ref"]


def test_a_stripe_was_torn_while_being_fitted_and_replaced(book: Book) -> None:
    parts = [line.entry for line in lines(book) if isinstance(line.entry, Part)]
    (torn,) = [part for part in parts if part.part_state is PartState.SPOILED]
    assert torn.purpose is Purpose.SPOILAGE
    assert "side-stripe decal set" in torn.part_name
    (new,) = [
        part for part in parts if part.panel == torn.panel and part.part_state is PartState.FITTED
    ]
    assert new.part_name == torn.part_name
    assert new.work_date > torn.work_date
    assert new.origin is Origin.REPRODUCTION


def test_parts_say_where_they_come_from_and_where_the_old_ones_are(book: Book) -> None:
    parts = [line.entry for line in lines(book) if isinstance(line.entry, Part)]
    assert len({part.origin for part in parts}) >= 5
    assert Origin.ORIGINAL_RETAINED in {part.origin for part in parts}
    assert any(part.removed_part_kept for part in parts)


def test_verdicts_do_leave_and_ask_all_occur(book: Book) -> None:
    both = [advice(book, OWN), advice(book, CONSIGNED)]
    assert {item.verdict for each in both for item in each.items} == set(Verdict)
    assert all(Verdict.DO in {item.verdict for item in each.items} for each in both)


def test_some_work_is_clearly_worth_it_some_not_and_some_close(book: Book) -> None:
    both = [advice(book, OWN), advice(book, CONSIGNED)]
    flips = [
        item.figures.marginal_net.minor
        for each in both
        for item in each.items
        if item.figures and item.figures.marginal_net is not None
    ]
    assert max(flips) > 500_00
    assert min(flips) < -500_00
    assert sum(abs(flip) < 50_00 for flip in flips) >= 2


def test_candidates_show_every_state_and_every_kind_of_rule(book: Book) -> None:
    candidates = [candidate.entry for candidate in stored(book, "candidate")]
    assert {candidate.state for candidate in candidates} == set(CandidateState)
    for field in ("requires", "excludes", "after_all", "cure_hours", "delivery_hours",
                  "uplift_percent", "irreversible", "consent_given", "left_reason"):  # fmt: skip
        assert any(getattr(candidate, field) for candidate in candidates), field
    assert all(candidate.estimated_by and candidate.estimate_ground for candidate in candidates)
    deltas = [term.entry.delta_uplift.minor for term in stored(book, "interaction")]
    assert min(deltas) < 0 < max(deltas)


def test_every_line_serves_a_finding_or_says_why_not(book: Book) -> None:
    entries = [line.entry for line in lines(book)]
    assert 35 <= len(entries) <= 80
    assert all(bool(entry.links) != bool(entry.unlinked) for entry in entries)
    assert {entry.purpose for entry in entries} == set(Purpose)
    assert {entry.standing for entry in entries} == set(Standing)


def test_money_by_vehicle_is_what_the_cells_say(
    book: Book, cells: dict[str, list[dict[str, Any]]]
) -> None:
    refs = {vehicle.id: vehicle.ref for vehicle in stored(book, "vehicle")}
    found: dict[str, Totals] = {ref: Totals() for ref in ("", *refs.values())}
    for line in lines(book):
        assert line.priced is not None
        totals = found[refs.get(line.entry.vehicle, "")]
        totals.cost += Decimal(line.priced.cost.minor) / 100
        totals.billed += Decimal(line.priced.billed.minor if line.priced.billed else 0) / 100
    assert found == totals_by_vehicle(cells)
    assert sum(len(cells[sheet]) for sheet in LINE_SHEETS) == len(lines(book))


def test_shares_of_every_line_add_up_to_it(book: Book) -> None:
    for line in lines(book):
        priced = line.priced
        assert priced is not None
        if line.entry.links:
            assert sum(share.cost.minor for share in priced.shares) == priced.cost.minor


def test_no_private_word_stands_where_a_buyer_may_read(book: Book) -> None:
    kinds = ("finding", "outcome", "panel", "labour", "part", "consumable", "sublet", "charge")
    entries = [record.entry for record in stored(book, *kinds)]
    public = "\n".join(
        str(getattr(entry, field))
        for entry in entries
        for field in TEXTS_SHOWN_TO_BUYERS
        if getattr(entry, field, None)
    )
    private = [record.entry for record in stored(book, "person", "supplier", "product")]
    for entry in private:
        assert entry.name not in public
    notes = [entry.private_note for entry in entries if getattr(entry, "private_note", None)]
    assert len(notes) >= 5
    assert not any(note in public for note in notes)
