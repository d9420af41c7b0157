"""The PROV-JSON document, read back by a library that is not ours."""

from __future__ import annotations

import dataclasses
import json
from collections import Counter
from datetime import date, datetime
from typing import Any

from prov.constants import PROV_TYPE
from prov.model import (
    ProvActivity,
    ProvAgent,
    ProvAssociation,
    ProvAttribution,
    ProvDelegation,
    ProvDerivation,
    ProvDocument,
    ProvEntity,
    ProvGeneration,
    ProvUsage,
)

from recondition.history.prov import NAMESPACE, provenance
from recondition.history.sheet import EditionRow, Sheet
from tests.history.invented import PRODUCT, sheet, source
from tests.history.storing import CAR

WORK_DAYS = ("2025-04-05", "2025-04-16", "2025-04-22", "2025-05-02", "2025-05-06", "2025-05-09")


def _text(made: Sheet) -> str:
    """Write the document as it would be handed out."""
    return json.dumps(provenance(made), ensure_ascii=False)


def _read(made: Sheet) -> ProvDocument:
    """Read the document back; a warning of the library fails the test."""
    return ProvDocument.deserialize(content=_text(made), format="json")


def _names(document: ProvDocument, kind: type[Any]) -> list[str]:
    """Name the elements of a kind, without our prefix."""
    return sorted(str(each.identifier).removeprefix("rec:") for each in document.get_records(kind))


def _pairs(document: ProvDocument, kind: type[Any]) -> set[tuple[str, ...]]:
    """Give what each relation of a kind binds, in the order of its definition, none left out."""
    return {
        tuple(str(value).removeprefix("rec:") for value in each.args if value is not None)
        for each in document.get_records(kind)
    }


def test_the_agents_entities_and_activities_are_those_of_the_sheet() -> None:
    document = _read(sheet())
    assert _names(document, ProvAgent) == ["other-shop", "shop"]
    assert _names(document, ProvActivity) == [f"work-{n}" for n in range(1, 7)]
    assert _names(document, ProvEntity) == [
        *(f"finding-{n}" for n in range(1, 10)),
        "part-1",
        "sheet",
        *(f"vehicle-{n}" for n in range(7)),
    ]
    assert {str(each.uri) for each in document.namespaces} == {NAMESPACE}


def test_each_piece_of_work_makes_a_revision_of_the_vehicle() -> None:
    document = _read(sheet())
    steps = range(1, 7)
    generated = _pairs(document, ProvGeneration)
    assert generated == {(f"vehicle-{n}", f"work-{n}") for n in steps}
    revisions = {
        (str(each.args[0]), str(each.args[1]), str(each.args[2]))
        for each in document.get_records(ProvDerivation)
        if "prov:Revision" in map(str, each.get_attribute(PROV_TYPE))
    }
    assert revisions == {
        (f"rec:vehicle-{n}", f"rec:vehicle-{n - 1}", f"rec:work-{n}") for n in steps
    }


def test_work_uses_the_vehicle_the_findings_and_the_part() -> None:
    used = _pairs(_read(sheet()), ProvUsage)
    assert used == {
        *((f"work-{n}", f"vehicle-{n - 1}") for n in range(1, 7)),
        ("work-2", "finding-1"),
        ("work-3", "finding-2"),
        ("work-4", "finding-5"),
        ("work-5", "finding-3"),
        ("work-6", "finding-3"),
        ("work-6", "part-1"),
    }


def test_what_was_derived_and_who_answers_for_it() -> None:
    document = _read(sheet())
    derived = _pairs(document, ProvDerivation)
    assert ("vehicle-6", "part-1", "work-6") in derived
    assert ("sheet", "vehicle-6") in derived
    assert {pair for pair in derived if pair[0] == "sheet"} >= {
        ("sheet", f"finding-{n}") for n in range(1, 10)
    }
    arrived = {pair[0] for pair in derived if pair[1:] == ("vehicle-0",)}
    assert arrived == {f"finding-{n}" for n in range(1, 9)}  # the ninth was made during the work
    assert _pairs(document, ProvAttribution) == {
        ("sheet", "shop"),
        *((f"finding-{n}", "shop") for n in range(1, 10)),
    }
    hands = _pairs(document, ProvAssociation)
    assert hands == {
        ("work-4", "other-shop"),
        *((f"work-{n}", "shop") for n in (1, 2, 3, 5, 6)),
    }


def test_work_lies_within_its_day_and_says_in_words_what_it_was() -> None:
    document = _read(sheet())
    found = sorted(document.get_records(ProvActivity), key=lambda each: str(each.identifier))
    for each, day in zip(found, WORK_DAYS, strict=True):
        start, end = each.get_startTime(), each.get_endTime()
        assert (start, end) == (
            datetime.fromisoformat(f"{day}T00:00:00"),
            datetime.fromisoformat(f"{day}T23:59:59"),
        )
    assert found[1].label == "bonnet: machine polishing, two steps"
    assert found[3].label == "left front seat: Seam sewn again through the old holes."


def test_written_again_by_the_library_it_is_the_same_document() -> None:
    document = _read(sheet())
    again = ProvDocument.deserialize(content=document.serialize(format="json"), format="json")
    assert again == document
    assert len(again.get_records()) == len(document.get_records()) == 85
    assert _read(sheet(lines=())) != document


def _values(value: Any) -> list[Any]:
    """Give all that is neither an object nor a list."""
    if isinstance(value, dict):
        return [inner for each in value.values() for inner in _values(each)]
    if isinstance(value, list):
        return [inner for each in value for inner in _values(each)]
    return [value]


def test_every_value_is_text_and_none_is_empty() -> None:
    values = _values(provenance(sheet()))
    assert Counter(type(value) for value in values) == {str: len(values)}
    assert all(values)


def test_no_record_id_ref_amount_or_person_leaks() -> None:
    whole, text = source(), _text(sheet())
    stored = [whole.vehicle, *whole.panels, *whole.findings, *whole.outcomes, *whole.lines]
    ids = {name for each in stored for name in (each.id, each.record, each.ref)}
    assert len(ids) > 60
    assert [name for name in sorted(ids) if f'"{name}' in text or f" {name}" in text] == []
    private = (
        str(CAR) + '"', "p-1", "p-owner", "s-1", "s-2", "7741", "185", "140.00", "24.00", "410",
        "USD", "summer", "900", "Lumeska", PRODUCT.name, "9c1f9c1f", "Freight", "nine hours",
        "Photographs", "3.5", "T17:30", "T08:15",
    )  # fmt: skip
    assert [mark for mark in private if mark in text] == []


def test_of_a_vehicle_without_any_work_there_is_the_vehicle_as_it_arrived() -> None:
    document = _read(sheet(lines=(), findings=(), outcomes=(), shop_name=""))
    assert _names(document, ProvEntity) == ["sheet", "vehicle-0"]
    assert _names(document, ProvActivity) == []
    (shop,) = document.get_records(ProvAgent)
    assert shop.label == "a shop that gives no name"
    assert _pairs(document, ProvDerivation) == {("sheet", "vehicle-0")}


def test_whom_the_sheet_names_is_an_agent_of_that_name() -> None:
    made = sheet()
    named = tuple(
        dataclasses.replace(
            row,
            people=() if row.outside else ("Ode Marrin",),
            firms=("Brell Trimming",) if row.outside else ("Parts of Ostrow",),
        )
        for row in made.work
    )
    document = _read(dataclasses.replace(made, work=named))
    labels = {str(each.identifier): each.label for each in document.get_records(ProvAgent)}
    assert labels == {
        "rec:shop": "Tessel & Rowe Preparation",
        "rec:firm-1": "Brell Trimming",
        "rec:person-1": "Ode Marrin",
    }
    assert _pairs(document, ProvDelegation) == {("person-1", "shop")}
    hands = _pairs(document, ProvAssociation)
    assert {pair for pair in hands if pair[0] in {"work-1", "work-4"}} == {
        ("work-1", "shop"),
        ("work-1", "person-1"),
        ("work-4", "firm-1"),
    }


def test_a_new_edition_is_a_revision_of_the_one_before() -> None:
    first, second = (
        EditionRow(
            number=number,
            made_on=date(2025, 5, number),
            code=f"AAAA-BBBB-CCCC-000{number}",
            fingerprint="",
            withdrawn_on=None,
            reason=None,
        )
        for number in (1, 2)
    )
    document = _read(dataclasses.replace(sheet(), editions=(first, second)))
    derived = _pairs(document, ProvDerivation)
    assert {("edition-2", "edition-1"), ("sheet", "edition-2")} <= derived
    assert ("sheet", "edition-1") not in derived
