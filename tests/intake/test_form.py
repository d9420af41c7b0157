"""One row typed as a command goes the way of a workbook's row."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.amounts import Quantity
from recondition.book.posting import Status
from recondition.book.reading import UnknownAuthor, one
from recondition.intake import cells
from recondition.intake.form import one_row
from recondition.intake.identity import UnknownRef
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from recondition.intake.sheets import NoSuchSheet
from recondition.ledger.lines import Purpose, Standing
from tests.intake.sheetmaker import base, write_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

CONSUMABLE = {
    "vehicle": "0007",
    "work_date": "2024-05-03",
    "product": "M-001",
    "quantity": "35 ml",
    "price": "24.00",
    "price_per": "500 ml",
    "words": "fine polish",
    "links": "F-001",
}


@pytest.fixture
def filled(book: Book, tmp_path: Path) -> Book:
    load(book, write_workbook(tmp_path / "job.xlsx", base()), author_ref="HK")
    return book


def test_the_next_free_ref_and_the_defaults(filled: Book) -> None:
    product = {"name": "No 3", "material_type": "fine polish", "unit": "ml"}
    assert one_row(filled, "products", product, author_ref="HK").draft.ref == "M-001"
    result = one_row(filled, "consumables", CONSUMABLE, author_ref="HK")
    assert (result.status, result.draft.ref) == (Status.NEW, "U-001")
    with filled.reading() as conn:
        line = one(conn, "consumable", "U-001")
    assert line.priced.cost.minor == 168
    assert line.entry.price_per == Quantity.of(500, "ml")
    assert (line.entry.purpose, line.entry.standing) == (
        Purpose.RECONDITIONING,
        Standing.MEASURED,
    )


def test_the_row_of_a_workbook_and_of_a_command_are_the_same(filled: Book) -> None:
    values = {
        "vehicle": "0007",
        "work_date": "2024-05-03",
        "person": "HK",
        "quantity": "2.5",
        "words": "bonnet polished by hand",
        "links": "F-001 60; F-002 40",
    }
    result = one_row(filled, "labour", values, author_ref="HK", ref="L-001")
    assert result.status is Status.SAME
    differing = {**values, "quantity": "3"}
    refused = one_row(filled, "labour", differing, author_ref="HK", ref="L-001")
    assert refused.status is Status.REFUSED


@pytest.mark.parametrize(
    ("unlinked", "state", "purpose"),
    [
        ("transport", "fitted", Purpose.LANDED),
        ("storage", "fitted", Purpose.HOLDING),
        ("overhead", "fitted", Purpose.OVERHEAD),
        ("whole vehicle", "spoiled", Purpose.SPOILAGE),
    ],
)
def test_what_the_cost_is_for(filled: Book, unlinked: str, state: str, purpose: Purpose) -> None:
    values = {
        "vehicle": "0007",
        "work_date": "2024-05-03",
        "part_name": "side stripe",
        "price": "80",
        "origin": "reproduction",
        "part_state": state,
        "unlinked": unlinked,
        "words": "side stripe",
    }
    result = one_row(filled, "parts", values, author_ref="HK")
    assert result.draft.entry.purpose is purpose
    assert result.draft.entry.standing is Standing.INVOICED
    assert result.draft.entry.quantity == Quantity.of(1, "piece")


def test_the_first_person_enters_themself(book: Book) -> None:
    values = {"name": "Hanna Kest", "role": "preparer"}
    result = one_row(book, "people", values, author_ref="HK", ref="HK")
    assert result.status is Status.NEW
    with book.reading() as conn:
        person = one(conn, "person", "HK")
    assert person.author == person.id


def test_a_document_may_lie_anywhere(filled: Book, tmp_path: Path) -> None:
    path = tmp_path / "elsewhere" / "note.txt"
    path.parent.mkdir()
    path.write_text("readings", encoding="utf-8")
    values = {"vehicle": "0007", "kind": "other", "title": "readings", "file": str(path)}
    assert one_row(filled, "documents", values, author_ref="HK").status is Status.NEW


def test_what_is_refused_names_the_column(filled: Book) -> None:
    with pytest.raises(cells.UnitNotReadable) as one_fault:
        one_row(filled, "labour", {**CONSUMABLE_AS_LABOUR, "quantity": "2 ml"}, author_ref="HK")
    assert one_fault.value.where == "hours"
    with pytest.raises(ImportRefused, match="labour has 2 problems"):
        one_row(
            filled,
            "labour",
            {**CONSUMABLE_AS_LABOUR, "quantity": "2 ml", "work_date": "soon"},
            author_ref="HK",
        )
    with pytest.raises(UnknownRef, match="Did you mean 'HK'") as unknown:
        one_row(filled, "labour", {**CONSUMABLE_AS_LABOUR, "person": "HKK"}, author_ref="HK")
    assert unknown.value.where == "person"


def test_an_invoice_of_an_owner_that_is_not_there_is_refused_like_every_ref(filled: Book) -> None:
    values = {"way": "received", "paid_on": "2024-05-03", "amount": "200", "owner_invoice": "IV-9"}
    with pytest.raises(UnknownRef, match="There is no owner invoice 'IV-9' in the book") as unknown:
        one_row(filled, "payments", values, author_ref="HK")
    assert unknown.value.where == "owner invoice"
    assert "recondition owner invoice" in unknown.value.todo


CONSUMABLE_AS_LABOUR = {
    "vehicle": "0007",
    "work_date": "2024-05-03",
    "person": "HK",
    "quantity": "1",
    "words": "polished",
    "links": "F-001",
}


def test_wrong_calls(filled: Book) -> None:
    with pytest.raises(NoSuchSheet):
        one_row(filled, "cars", {}, author_ref="HK")
    with pytest.raises(KeyError):
        one_row(filled, "labour", {"colour": "green"}, author_ref="HK")
    with pytest.raises(UnknownAuthor):
        one_row(filled, "labour", CONSUMABLE_AS_LABOUR, author_ref="ZZ")


def test_a_typed_finding_is_completed(filled: Book) -> None:
    """Panel, material, extent and finder follow from what is on record and from what is typed."""
    one_row(filled, "panels", {"vehicle": "0007", "panel": "bonn", "finish": "single-stage"},
            author_ref="HK")  # fmt: skip
    typed = {"vehicle": "0007", "panel": "Bonn", "defect": "dull", "extent": "40 mm",
             "found_on": "2031-03-04"}  # fmt: skip
    entry = one_row(filled, "findings", typed, author_ref="HK").draft.entry
    assert (entry.panel, entry.material) == ("bonnet", "single-stage paint")
    assert entry.extent_kind == "length"
    new = one_row(filled, "findings", {**typed, "new_since_arrival": "yes"}, author_ref="HK")
    assert (entry.stage, new.draft.entry.stage) == ("arrival", "during work")
    own = one_row(filled, "findings", {**typed, "panel": "tonneau rail", "area": "exterior",
                                     "material": "ash"}, author_ref="HK").draft.entry  # fmt: skip
    assert (own.panel, own.material) == ("tonneau rail", "ash")
