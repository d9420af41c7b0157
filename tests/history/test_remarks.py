"""What a careful buyer takes for praise, and "original" without what shows it."""

from __future__ import annotations

from typing import Any

import pytest

from recondition.history.recorded import data_records
from recondition.history.remarks import PRAISE, remarks_on
from tests.history.invented import sheet


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
