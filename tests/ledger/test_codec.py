"""Entries become plain text values and come back the same, for every kind of record."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.book.kinds import KINDS, LINE_KINDS, Kind, subject_of
from recondition.book.projection import table_row
from recondition.fields import Id, Words
from recondition.ledger import chain
from recondition.ledger.codec import (
    decode_fields,
    encode,
    encode_fields,
    flatten,
    hints,
    id_fields,
    plain_number,
    word_fields,
    words_of,
)
from recondition.ledger.lines import Charge, Labour, LineKind, Link, Purpose, Standing
from recondition.ledger.people import Person
from recondition.ledger.pricing import Priced
from recondition.materials.receiving import MixedBatch
from tests.strategies import decimals
from tests.strategies_ledger import entries, entries_of

ALL = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
DAY = date(2031, 3, 4)


def through_text(entry: Any) -> Any:
    """Take an entry through its canonical text and back."""
    text = rfc8785.dumps(encode_fields(entry)).decode()
    return decode_fields(type(entry), json.loads(text), words_of(entry))


@ALL
@settings(max_examples=18, deadline=None)
@given(data=st.data())
def test_an_entry_comes_back_as_it_was(kind: Kind, data: st.DataObject) -> None:
    entry = data.draw(entries_of(kind))
    assert through_text(entry) == entry


@settings(max_examples=30, deadline=None)
@given(entries(Priced))
def test_the_money_of_a_line_comes_back_as_it_was(priced: Priced) -> None:
    assert through_text(priced) == priced


@ALL
@settings(max_examples=10, deadline=None)
@given(data=st.data())
def test_free_text_never_stands_in_the_plain_form(kind: Kind, data: st.DataObject) -> None:
    entry = data.draw(entries_of(kind))
    assert not set(encode_fields(entry)) & set(word_fields(kind.entry))
    assert set(words_of(entry)) <= set(word_fields(kind.entry))


@ALL
def test_every_field_has_its_column_or_its_list(kind: Kind) -> None:
    """A field that no column holds would be in the chain and in no table."""
    table, _row = table_row({"kind": kind.name, "entry": {}, "priced": {}, "record": "r"})
    columns = set(table.columns.keys())
    lists = {name for name, hint in hints(kind.entry).items() if "tuple" in str(hint)}
    for field in fields(kind.entry):
        starts = [name for name in columns if name.startswith(field.name)]
        assert starts or field.name in (*word_fields(kind.entry), *lists), field.name


def test_an_erased_text_reads_back_as_empty() -> None:
    person = Person(name=Words("Hanna Kolb"), role="preparer", contact=Words("quay 7"))
    assert decode_fields(Person, encode_fields(person), {}) == Person(
        name=Words(""), role="preparer"
    )


def test_a_text_of_a_later_version_is_left_alone() -> None:
    """A field that this version does not know stays in the chain and is not read."""
    plain = encode_fields(Person(name=Words("H"), role="owner")) | {"shoe_size": "43"}
    assert decode_fields(Person, plain, {"name": "H"}) == Person(name=Words("H"), role="owner")


@pytest.mark.parametrize(
    ("value", "plain"),
    [
        (Decimal("1E+3"), "1000"),
        (Decimal("2.50"), "2.5"),
        (Decimal("-0.0"), "0"),
        (Decimal("0.000001"), "0.000001"),
        (10**20, "100000000000000000000"),
        (True, True),
        (DAY, "2031-03-04"),
        (Purpose.SPOILAGE, "spoilage"),
        (Money.of("12.5", "USD"), {"minor": "1250", "currency": "USD"}),
        (Quantity.of("2.50", "h"), {"number": "2.5", "unit": "h"}),
        ((Link(Id("f"), Decimal(2)),), [{"finding": "f", "weight": "2"}]),
    ],
)
def test_plain_forms(value: object, plain: object) -> None:
    assert encode(value) == plain


@pytest.mark.parametrize("value", [1.5, b"bytes", None, object()])
def test_what_has_no_exact_plain_form_is_refused(value: object) -> None:
    with pytest.raises(TypeError, match="no plain form"):
        encode(value)


@given(decimals())
def test_a_number_is_written_exactly_and_without_exponent(number: Decimal) -> None:
    text = plain_number(number)
    assert Decimal(text) == number
    assert "e" not in text.lower()
    assert text != "-0"


def test_flat_names_are_column_names() -> None:
    nested = {"cash": {"low": {"minor": "1", "currency": "USD"}}, "no_touch": True, "links": ["a"]}
    flat = flatten(nested)
    assert flat == {"cash_low_minor": "1", "cash_low_currency": "USD", "no_touch": True}


def test_ids_are_told_from_texts() -> None:
    named = {"vehicle", "candidate", "documents", "replaces", "person", "order", "clock"}
    assert set(id_fields(Labour)) == named
    assert word_fields(Labour) == ("words", "private_note", "override")


def test_each_record_has_its_chain() -> None:
    charge = Charge(
        vehicle=Id("v1"), work_date=DAY, words=Words("w"), purpose=Purpose.LANDED,
        standing=Standing.INVOICED, price=Money.of("1", "USD"),
    )  # fmt: skip
    assert subject_of("charge", "c1", charge) == "vehicle:v1"
    assert subject_of("vehicle", "v1", None) == "vehicle:v1"
    assert subject_of("product", "p1", None) == "product:p1"
    mix = MixedBatch(
        product=Id("p1"), mixed_on=DAY, concentrate=Quantity.of("70", "ml"),
        water=Quantity.of("700", "ml"),
    )  # fmt: skip
    assert subject_of("mixed batch", "x1", mix) == "product:p1"
    assert subject_of("person", "h1", Person(name=Words("H"), role="owner")) == chain.SHOP


def test_line_kinds_are_the_kinds_of_line() -> None:
    assert set(LINE_KINDS) == set(LineKind)
    stock = {"receipt", "late freight", "supplier return", "stock reversal", "mixed batch"}
    once = {*LINE_KINDS, *stock, "movement", "owner invoice", "erasure", "custody move"}
    once |= {"decision", "sale", "supplier invoice", "payment", "value test", "entry reversal"}
    once |= {"period event", "export batch", "shared charge"}
    once |= {"let pass", "edition", "edition withdrawn"}
    assert {kind.name for kind in KINDS.values() if kind.once} == once
