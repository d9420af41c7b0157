"""What a careful buyer takes for praise, and "original" without what shows it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from recondition.condition.vehicle import TrueDistance
from recondition.fields import Words
from recondition.history.recorded import data_records
from recondition.history.remarks import PRAISE, ahead, remarks_on
from recondition.history.wording import NOT_BASED, ORIGINAL_BELIEVED
from tests.history.invented import VEHICLE, findings, sheet
from tests.history.reading import html_of, page_text
from tests.history.storing import CAR, stored


def said(text: str, field: str = "words", **more: Any) -> list[str]:
    """Give the remarks on one record with a typed text."""
    return remarks_on([{"name": "finding/1", "data": {field: text, **more}}])


@pytest.mark.parametrize("word", PRAISE)
def test_praise_is_remarked_upon_with_its_place(word: str) -> None:
    (remark,) = said(f"The roof is {word.upper()} now.")
    assert remark == f"finding/1 says {word.upper()!r}: praise is no record of work"


@pytest.mark.parametrize(
    "text",
    [
        "Peppermint green, code 12.",
        "Bestowed by the last owner.",
        "Measured 112 µm, five readings.",
    ],
)
def test_part_of_another_word_is_no_praise(text: str) -> None:
    assert said(text) == []


@pytest.mark.parametrize(
    "text", ["Original paint.", "The originality is plain.", "originally grey", "ORIGINAL glass"]
)
def test_original_needs_its_evidence_beside_it(text: str) -> None:
    (remark,) = said(text)
    assert "'believed original'" in remark
    assert said(text, evidence=["4"]) == []
    assert len(said(text, evidence=[])) == 1


@pytest.mark.parametrize(
    "text",
    [
        "believed original",
        "not original",
        "consistent with the original",
        "original retained",
        "an origin nobody knows",
    ],
)
def test_careful_words_pass(text: str) -> None:
    assert said(text) == []


@pytest.mark.parametrize("field", ["words", "reason", "spot", "title", "odometer_words"])
def test_every_typed_text_is_looked_at(field: str) -> None:
    assert len(said("flawless", field)) == 1
    assert len(remarks_on([{"name": "work/1", "data": {"rows": [{field: "flawless"}]}}])) == 1
    assert len(said_steps := remarks_on([{"name": "w", "data": {"steps": ["a", "mint"]}}])) == 1
    assert "'mint'" in said_steps[0]


def test_words_of_the_program_are_not_looked_at() -> None:
    assert said("flawless", "designation") == []
    assert said("believed original", "originality") == []


def test_the_invented_vehicle_gets_no_remark() -> None:
    assert remarks_on([{"name": r["name"], "data": r["data"]} for r in data_records(sheet())]) == []


def test_entries_of_days_after_that_of_the_sheet_are_counted() -> None:
    records = [
        {"name": "finding/1", "data": {"found_on": "2031-04-01", "endings": []}},
        {"name": "work/1", "data": {"work_date": "2031-04-09", "recorded_on": "2031-05-01"}},
    ]
    (told,) = ahead(records, "2031-04-08")
    assert told == "1 day lies after that of the sheet, the last on 2031-04-09"
    assert ahead(records, "2031-04-09") == []


@pytest.mark.parametrize("text", ["original paint", "Originally fitted, all original"])
def test_original_in_a_finding_is_called_a_belief_on_the_sheet(text: str) -> None:
    first, *others = findings()
    said_so = replace(first, entry=replace(first.entry, words=Words(text)))
    shown = page_text(html_of(sheet(findings=(said_so, *others))))
    assert ORIGINAL_BELIEVED in shown
    assert ORIGINAL_BELIEVED not in page_text(html_of(sheet()))


def test_a_distance_that_is_claimed_says_what_it_rests_on_or_that_nobody_said() -> None:
    known = replace(VEHICLE, true_distance=TrueDistance.KNOWN, odometer_words=None)
    assert NOT_BASED in page_text(html_of(sheet(vehicle=stored("vehicle", CAR, known))))
    based = replace(known, odometer_words=Words("Service book without a gap."))
    assert NOT_BASED not in page_text(html_of(sheet(vehicle=stored("vehicle", CAR, based))))
