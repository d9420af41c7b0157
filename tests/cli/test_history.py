"""Consents, hidden places, what is let pass and editions, as typed."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from recondition.book import editions, reading
from recondition.fields import Id
from recondition.history.records import Edition
from tests.pictures import picture
from tests.places import opened
from tests.running import done, run

pytestmark = pytest.mark.usefixtures("shop")


def rows(line: str) -> list[dict[str, Any]]:
    """Give the rows of a list's one table."""
    found: list[dict[str, Any]]
    (found,) = json.loads(done(f"{line} --json")).values()
    return found


def released(*numbers: int) -> None:
    """Release editions of 0007, each after the one before."""
    book, before = opened("shop.book"), None
    with book.reading() as conn:
        vehicle = Id(reading.id_of(conn, "vehicle", "0007"))
    for number in numbers:
        entry = Edition(
            vehicle=vehicle, number=number, made_on=date(2031, 3, 4), head="a" * 64,
            code="0123-4567-89AB-CDEF", fingerprint="0123-4567", content="b" * 64, locale="en",
            supersedes=before,
        )  # fmt: skip
        before = Id(editions.post_edition(book, "MR", entry).id)


def test_consents_are_given_listed_and_withdrawn() -> None:
    said = done('recondition history consent hours "the owner, by message" --vehicle 0007')
    assert said == "consent K-001: new\n"
    done('recondition history consent person "asked at the bench" --person MR --given 2031-02-03')
    first, second = rows("recondition history consents")
    assert (first["vehicle"], first["names"]) == ("0007", "")
    assert first["given"] == date.today().isoformat()  # noqa: DTZ011 - the command's own today
    assert (second["vehicle"], second["names"], second["given"]) == (
        "every vehicle", "MR", "2031-02-03",
    )  # fmt: skip
    again = ('recondition history consent person "asked at the bench" --person MR '
             "--given 2031-02-03 --withdrawn 2031-04-01 --ref K-002")  # fmt: skip
    assert done(again) == "consent K-002: new version\n"
    assert [row["withdrawn"] for row in rows("recondition history consents")] == [
        None, "2031-04-01",
    ]  # fmt: skip
    assert [row["ref"] for row in rows("recondition history consents 0008")] == ["K-002"]


def test_a_place_is_hidden_on_the_vehicle_of_its_picture() -> None:
    Path("a.png").write_bytes(picture())
    done('recondition document add 0007 a.png photograph "roof" --ref D-900')
    said = done('recondition history hide D-900 12.5 0 25% 10 "plate of another car"')
    assert said == "redaction RD-001: new\n"
    with opened("shop.book").reading() as conn:
        vehicle = reading.id_of(conn, "vehicle", "0007")
        ((place,),) = editions.redactions_of(conn, vehicle).values()
    assert (str(place.from_left), str(place.width)) == ("12.5", "25")
    ran = run('recondition history hide D-901 12.5 0 25 10 "plate"')
    assert ran.status == 1
    assert "'D-901' is not on the sheet documents" in ran.err


def test_editions_are_listed_with_what_became_of_them() -> None:
    assert rows("recondition history editions") == []
    released(1, 2)
    said = done('recondition history withdraw 0007 1 "a wrong panel was named" --on 2031-05-01')
    assert said == "edition 1 of vehicle 0007: withdrawn on 2031-05-01\n"
    first, second = rows("recondition history editions 0007")
    assert [first[name] for name in ("number", "superseded", "withdrawn", "why")] == [
        1, 2, "2031-05-01", "a wrong panel was named",
    ]  # fmt: skip
    assert [second[name] for name in ("number", "superseded", "withdrawn", "why")] == [
        2, None, None, "",
    ]  # fmt: skip
    assert (second["code"], second["made"]) == ("0123-4567-89AB-CDEF", "2031-03-04")
    assert rows("recondition history editions 0008") == []
    assert "0123-4567-89AB-CDEF" in done("recondition history editions")


def test_one_hit_is_let_pass_with_its_reason() -> None:
    said = done('recondition history let-pass 0007 4f0c9a1b "a film reading, no price"')
    assert said == "let pass LP-001: new\n"
    ran = run('recondition history let-pass 0007 4f0c9a1b ""')
    assert ran.status == 2
    assert "the reason is missing" in ran.err


def test_a_reversal_may_say_why_in_words_for_buyers() -> None:
    why = '--no-finding-because "whole vehicle"'
    done(f'recondition post charge 0007 10 "second wash" {why} --ref W-1')
    done('recondition post reversal W-1 "typed twice" --words "entered twice"')
    with opened("shop.book").reading() as conn:
        back = reading.one(conn, "reversal", "W-1-reversed")
    assert (back.entry.why, back.entry.words) == ("typed twice", "entered twice")
