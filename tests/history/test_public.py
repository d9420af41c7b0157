"""The allow-list: every name on it exists, and nothing private is on it."""

from __future__ import annotations

import dataclasses

import pytest

from recondition.book.kinds import KINDS
from recondition.condition.vehicle import Vehicle
from recondition.history.public import BY_CONSENT, PUBLIC, by_consent, project
from recondition.history.records import Shows
from recondition.history.sheet import FindingRow, Identity, PanelRow
from recondition.history.work import PartRow
from tests.history.invented import FINDINGS, PRODUCT, VEHICLE

# What must never be shown, whatever record it is in. Written out by hand on purpose.
PRIVATE = {
    "billed",
    "candidate",
    "charge_out_rate",
    "contact",
    "cost_rate",
    "decided_by",
    "documents",
    "found_by",
    "holding",
    "invoice_number",
    "links",
    "name",
    "owner",
    "period",
    "person",
    "price",
    "price_per",
    "private_note",
    "product",
    "purpose",
    "replaces",
    "standing",
    "supplier",
    "tax_point",
    "unlinked",
    "why",
}


def _names(cls: type) -> set[str]:
    return {field.name for field in dataclasses.fields(cls)}


def test_what_needs_a_consent_is_a_field_and_not_public_without_one() -> None:
    assert set(BY_CONSENT) == set(Shows)
    for fields in BY_CONSENT.values():
        for kind, names in fields.items():
            assert set(names) <= _names(KINDS[kind].entry)
            assert not set(names) & set(PUBLIC.get(kind, ()))


def test_a_consent_gives_its_own_fields_and_no_others() -> None:
    assert by_consent(Shows.PRODUCTS, "product", PRODUCT) == {"name": "Lumeska No. 3"}
    with pytest.raises(KeyError):
        by_consent(Shows.HOURS, "product", PRODUCT)


@pytest.mark.parametrize("kind", PUBLIC)
def test_every_public_field_exists_and_none_is_private(kind: str) -> None:
    public = PUBLIC[kind]
    assert set(public) <= _names(KINDS[kind].entry)
    assert not set(public) & PRIVATE
    assert len(set(public)) == len(public)


def test_every_private_name_is_a_real_field_somewhere() -> None:
    known = set().union(*(_names(kind.entry) for kind in KINDS.values()))
    assert known >= PRIVATE


def test_hours_and_whole_private_kinds_are_not_public() -> None:
    assert "quantity" not in PUBLIC["labour"]
    assert "quantity" not in PUBLIC["consumable"]
    never = {"charge", "candidate", "terms", "person", "rate", "supplier", "sale", "custody item"}
    assert never <= set(KINDS)
    assert not never & set(PUBLIC)


def test_project_takes_the_listed_fields_and_no_others() -> None:
    assert project("product", PRODUCT) == {"material_type": "fine polish"}
    assert set(project("vehicle", VEHICLE)) == set(PUBLIC["vehicle"])
    assert "private_note" not in project("finding", FINDINGS["f-bonnet"])


def test_a_kind_without_public_fields_cannot_be_projected() -> None:
    with pytest.raises(KeyError, match="supplier"):
        project("supplier", VEHICLE)


@pytest.mark.parametrize(
    ("kind", "row"),
    [("vehicle", Identity), ("panel", PanelRow), ("finding", FindingRow), ("part", PartRow)],
)
def test_rows_of_the_sheet_have_a_place_for_each_public_field(kind: str, row: type) -> None:
    assert set(PUBLIC[kind]) <= _names(row)


def test_a_new_field_is_private_until_it_is_listed() -> None:
    assert _names(Vehicle) - set(PUBLIC["vehicle"]) == {
        "film_floor",
        "holding",
        "imported",
        "owner",
        "private_note",
    }
