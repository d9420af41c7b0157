"""Names in any capitals, places in any writing, and amounts that stand in private notes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from recondition.fields import Words
from recondition.history.net import Secret, Shown, Sort, search, secrets_of
from recondition.history.records import Consent, Shows
from recondition.ledger.people import Person
from tests.history.invented import FINDINGS
from tests.history.storing import stored


def sorts(text: str, secrets: tuple[Secret, ...]) -> set[Sort]:
    """Give the sorts of private things found in a text."""
    return {hit.secret.what for hit in search({"page.html": [text]}, secrets)}


def person(name: str) -> tuple[Secret, ...]:
    """Give what is private of a person."""
    kept = stored("person", "p-9", Person(name=Words(name), role="owner"))
    return secrets_of([kept], shown=Shown())


@pytest.mark.parametrize("text", ["QUACKFOOT", "by H.QUACKFOOT in May", "Quackfoot's yard"])
def test_a_surname_is_found_in_other_capitals(text: str) -> None:
    assert sorts(text, person("Hieronymus Quackfoot")) == {Sort.NAME}


def test_a_name_entered_in_small_letters_gives_its_surname_too() -> None:
    assert sorts("kept at Zandvoort", person("rupert zandvoort")) == {Sort.NAME}
    assert sorts("a zandvoorter", person("rupert zandvoort")) == set()


def test_who_gave_a_consent_is_a_name_and_how_is_none() -> None:
    given = Consent(
        shows=Shows.HOURS,
        given_on=date(2031, 4, 1),
        given_by=Words("Barnaby Thistlewick by letter"),
    )
    made = secrets_of([stored("consent", "k-1", given)], shown=Shown())
    assert sorts("seen by Barnaby Thistlewick", made) == {Sort.NAME}
    assert sorts("asked for by letter", made) == set()


@pytest.mark.parametrize(
    "text",
    ["51.5071", "51 deg 30 min 26 sec", "51d30m26s", "51:30:26", "51 30 26 N", "N51 30.433"],
)
def test_a_place_is_found_in_any_writing(text: str) -> None:
    place = (Decimal("51.50722"), Decimal("-0.12750"))
    made = secrets_of([], shown=Shown(), places=[place])
    assert sorts(f"taken at {text}, in the yard", made) == {Sort.COORDINATES}


@pytest.mark.parametrize(
    ("note", "text", "found"),
    [
        ("reserve 41500, told in May", "bought for 41500 from him", True),
        ("reserve 41500, told in May", "worth 41,500", True),
        ("paid 4,711.25 for it", "cost 4711.25", True),
        ("rebuilt in 1983 by a friend", "repainted in 1983", False),
    ],
)
def test_an_amount_in_a_private_note_is_sought(note: str, text: str, *, found: bool) -> None:
    kept = replace(FINDINGS["f-wing"], private_note=Words(note))
    made = secrets_of([stored("finding", "f-wing", kept)], shown=Shown())
    assert (Sort.AMOUNT in sorts(text, made)) is found
