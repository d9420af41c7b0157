"""What the book keeps for the public sheet, on both engines."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import editions, reading
from recondition.book.admission_history import (
    EditionRaced,
    RedactionNotOnPicture,
    WithdrawnAlready,
)
from recondition.book.check import check
from recondition.book.context import NotThere
from recondition.book.people import erase_person
from recondition.book.posting import Status
from recondition.book.reversing import WhyNeeded, reverse_line
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Id, Words
from recondition.history.records import (
    ConsentUnclear,
    NotABox,
    NotAHit,
    Shows,
)
from recondition.ledger.days import BeforeItsCause, ImplausibleDay
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.rules import StaysWithItsVehicle
from tests.book.make import (
    DAY,
    FilledBook,
    add,
    draft,
    labour,
    one,
    post,
    refused,
    shop,
)
from tests.book.make_history import consent, edition, let_pass, redaction
from tests.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

LATER = DAY + timedelta(days=30)
KINDS = ("consent", "redaction", "let pass", "edition", "edition withdrawn")


def kept(book: Book, folder: Path, vehicle: Id | None, kind: DocumentKind, name: str) -> Id:
    """Keep a picture, or a text where the name ends so."""
    path = folder / name
    path.write_bytes(b"a page" if name.endswith(".txt") else picture())
    document = Document(vehicle=vehicle, kind=kind, title=Words("page"))
    return add(book, "document", name, document, file=path)


def released(book: Book, vehicle: Id, *numbers: int) -> list[Id]:
    """Release editions one after another."""
    before: Id | None = None
    found: list[Id] = []
    for number in numbers:
        made = editions.post_edition(book, "HK", edition(vehicle, number, supersedes=before))
        before = Id(made.id)
        found.append(before)
    return found


def test_every_new_kind_reads_back_as_it_was_posted(filled: FilledBook) -> None:
    ids = filled.ids
    vehicle = ids["0007"]
    assert one(filled.book, "consent", "HC-1").entry == consent(
        Shows.PERSON, vehicle=vehicle, person=ids["HK"]
    )
    assert one(filled.book, "redaction", "RD-1").entry == redaction(vehicle, ids["D-1"])
    assert one(filled.book, "let pass", "LP-001").entry == let_pass(vehicle)
    first = one(filled.book, "edition", "ED-001")
    assert first.entry == edition(vehicle, let_pass=(ids["LP-001"],))
    assert first.subject == f"vehicle:{vehicle}"
    assert one(filled.book, "consent", "HC-2").subject == "shop"
    gone = one(filled.book, "edition withdrawn", "EW-001").entry
    assert (gone.edition, gone.reason) == (ids["ED-001"], "a wrong panel")


def test_what_a_buyer_may_read_of_a_vehicle_comes_back(book: Book) -> None:
    car = Vehicle(
        designation="Tavorel Lisse", holding=Holding.OWN, body_number="B 0044", trim="red 12",
        odometer_words=Words("four test papers"),
    )  # fmt: skip
    made = shop(book)
    add(book, "vehicle", "0009", car)
    assert one(book, "vehicle", "0009").entry == car
    add(book, "labour", "L-9", labour(made.own, made.person, "1"))
    ref = reverse_line(book, "L-9", "typed twice", author_ref="HK", day=None, period=None,
                       words="entered twice by mistake")  # fmt: skip
    back = one(book, "reversal", ref).entry
    assert (back.why, back.words) == ("typed twice", "entered twice by mistake")
    assert not check(book).damages


def test_editions_come_by_number_and_supersede_the_last(book: Book) -> None:
    made = shop(book)
    ids = released(book, made.own, 1, 2, 3)
    assert released(book, made.consigned, 1) != ids[:1]
    with book.reading() as conn:
        found = editions.editions_of(conn, made.own)
    assert [(each.entry.number, each.entry.supersedes) for each in found] == [
        (1, None), (2, ids[0]), (3, ids[1]),
    ]  # fmt: skip
    assert [each.ref for each in found] == ["ED-001", "ED-002", "ED-003"]


@pytest.mark.parametrize(("number", "of"), [(1, None), (3, 0), (3, None), (4, 1), (2, 0), (0, 1)])
def test_an_edition_that_does_not_follow_the_last_is_refused(
    book: Book, number: int, of: int | None
) -> None:
    made = shop(book)
    ids = released(book, made.own, 1, 2)
    late = edition(made.own, number, supersedes=None if of is None else ids[of])
    with pytest.raises(EditionRaced, match="edition 2 is the last one"):
        editions.post_edition(book, "HK", late)
    with book.reading() as conn:
        assert [each.id for each in editions.editions_of(conn, made.own)] == ids


def test_the_second_of_two_first_editions_is_refused(book: Book) -> None:
    made = shop(book)
    editions.post_edition(book, "HK", edition(made.own))
    refusal = refused(book, EditionRaced, "edition", edition(made.own, content="c" * 64))
    assert "make it again" in refusal.todo
    refused(book, EditionRaced, "edition", edition(made.consigned, 2))


def test_an_edition_lets_pass_only_what_was_decided_of_its_own_vehicle(book: Book) -> None:
    made = shop(book)
    ref = editions.let_pass(book, "HK", "0008", "4f0c9a1b", reason="a film reading", on=DAY)
    passed = Id(one(book, "let pass", ref).id)
    entry = edition(made.own, let_pass=(passed,))
    refused(book, StaysWithItsVehicle, "edition", entry)
    done = editions.post_edition(book, "HK", replace(entry, vehicle=made.consigned))
    assert done.entry.let_pass == (passed,)


def test_a_withdrawn_edition_says_when_and_why_and_the_others_stand(book: Book) -> None:
    made = shop(book)
    ids = released(book, made.own, 1, 2)
    editions.withdraw(book, "HK", "0007", 1, reason="a wrong panel", on=LATER)
    with book.reading() as conn:
        found = editions.withdrawals_of(conn, made.own)
        assert editions.withdrawals_of(conn, made.consigned) == {}
    assert list(found) == ids[:1]
    entry = found[ids[0]].entry
    assert (entry.withdrawn_on, entry.reason) == (LATER, "a wrong panel")
    with pytest.raises(WithdrawnAlready, match=LATER.isoformat()):
        editions.withdraw(book, "HK", "0007", 1, reason="again", on=LATER)
    refused(book, WithdrawnAlready, "edition withdrawn", entry)


def test_what_cannot_be_withdrawn(book: Book) -> None:
    made = shop(book)
    released(book, made.own, 1)
    with pytest.raises(NotThere, match="2 of vehicle 0007"):
        editions.withdraw(book, "HK", "0007", 2, reason="wrong", on=LATER)
    with pytest.raises(NotThere, match="1 of vehicle 0008"):
        editions.withdraw(book, "HK", "0008", 1, reason="wrong", on=LATER)
    with pytest.raises(BeforeItsCause):
        editions.withdraw(book, "HK", "0007", 1, reason="wrong", on=DAY - timedelta(days=1))
    with pytest.raises(WhyNeeded):
        editions.withdraw(book, "HK", "0007", 1, reason=" ", on=LATER)
    with book.reading() as conn:
        assert editions.withdrawals_of(conn, made.own) == {}


def test_consents_hold_from_their_day_until_they_are_withdrawn(book: Book) -> None:
    made = shop(book)
    everywhere = consent(given_on=DAY, withdrawn_on=LATER)
    own = consent(Shows.PRODUCTS, LATER, vehicle=made.own)
    other = consent(Shows.PERSON, vehicle=made.consigned, person=made.person)
    post(book, draft("consent", "K-1", everywhere), draft("consent", "K-2", own),
         draft("consent", "K-3", other))  # fmt: skip

    def held(vehicle: Id, on: date) -> list[str]:
        with book.reading() as conn:
            return [each.ref for each in editions.consents_in_force(conn, vehicle, on)]

    assert held(made.own, DAY - timedelta(days=1)) == []
    assert held(made.own, DAY) == ["K-1"]
    assert held(made.own, LATER - timedelta(days=1)) == ["K-1"]
    assert held(made.own, LATER) == ["K-2"]
    assert held(made.consigned, DAY) == ["K-1", "K-3"]
    assert held(made.consigned, LATER) == ["K-3"]
    (again,) = post(book, draft("consent", "K-3", replace(other, withdrawn_on=DAY)))
    assert again.status is Status.VERSION
    assert held(made.consigned, DAY) == ["K-1"]
    anywhere = consent(Shows.PERSON, person=made.person)
    post(book, draft("consent", "K-4", anywhere))
    assert held(made.own, DAY) == ["K-1", "K-4"]
    assert held(made.consigned, DAY) == ["K-1"], "withdrawn for this vehicle, it stays so"


@pytest.mark.parametrize(
    ("shows", "names"),
    [
        (Shows.PERSON, ()),
        (Shows.PERSON, ("supplier",)),
        (Shows.PERSON, ("person", "supplier")),
        (Shows.FIRM, ()),
        (Shows.FIRM, ("person",)),
        (Shows.FIRM, ("person", "supplier")),
        (Shows.HOURS, ("person",)),
        (Shows.PRODUCTS, ("supplier",)),
    ],
)
def test_a_consent_names_whom_it_is_about(shows: Shows, names: tuple[str, ...]) -> None:
    named: dict[str, Any] = dict.fromkeys(names, Id("0" * 32))
    with pytest.raises(ConsentUnclear):
        consent(shows, **named).check()


def test_a_consent_is_not_withdrawn_before_it_was_given(book: Book) -> None:
    shop(book)
    early = consent(withdrawn_on=DAY - timedelta(days=1))
    refused(book, ConsentUnclear, "consent", early)
    consent(withdrawn_on=DAY).check()
    refused(book, ImplausibleDay, "consent", consent(withdrawn_on=date(3031, 1, 1)))


@pytest.mark.parametrize(
    "box",
    [
        {"width": "0"},
        {"height": "0"},
        {"from_left": "-0.1"},
        {"from_top": "-1"},
        {"from_left": "75.01"},
        {"from_top": "87.751"},
    ],
    ids=str,
)
def test_a_hidden_place_lies_within_its_picture(box: dict[str, str]) -> None:
    redaction(Id("v"), Id("d"), from_left="75", from_top="87.75").check()
    with pytest.raises(NotABox):
        redaction(Id("v"), Id("d"), **box).check()


def test_places_are_hidden_on_pictures_of_the_same_vehicle_only(book: Book, tmp_path: Path) -> None:
    made = shop(book)
    photograph = kept(book, tmp_path, made.own, DocumentKind.PHOTOGRAPH, "a.png")
    scan = kept(book, tmp_path, made.own, DocumentKind.INVOICE, "b.png")
    page = kept(book, tmp_path, made.own, DocumentKind.INVOICE, "c.txt")
    shops = kept(book, tmp_path, None, DocumentKind.PHOTOGRAPH, "d.png")
    for wrong in (redaction(made.own, page), redaction(made.own, shops),
                  redaction(made.consigned, photograph)):  # fmt: skip
        refusal = refused(book, RedactionNotOnPicture, "redaction", wrong)
        assert "Scan the page as a picture" in refusal.todo
    one_place, other = redaction(made.own, photograph), redaction(made.own, scan)
    second = redaction(made.own, photograph, from_left="50")
    gone = redaction(made.own, photograph, from_left="1", off=True)
    for place, entry in enumerate((one_place, other, second, gone)):
        add(book, "redaction", f"RD-{place}", entry)
    with book.reading() as conn:
        found = editions.redactions_of(conn, made.own)
        assert editions.redactions_of(conn, made.consigned) == {}
    assert found == {photograph: (one_place, second), scan: (other,)}
    assert found[photograph][1].from_left == Decimal(50)
    add(book, "redaction", "RD-1", replace(other, off=True))
    with book.reading() as conn:
        assert list(editions.redactions_of(conn, made.own)) == [photograph]


def test_what_was_let_pass_comes_by_the_code_of_the_hit(book: Book) -> None:
    made = shop(book)
    hits = (("4f0c9a1b", "first"), ("00000001", "other"), ("4f0c9a1b", "new"))
    said = [editions.let_pass(book, "HK", "0007", hit, reason=why, on=DAY) for hit, why in hits]
    assert said == ["LP-001", "LP-002", "LP-003"]
    with book.reading() as conn:
        found = editions.passes_of(conn, made.own)
    assert {hit: item.entry.reason for hit, item in found.items()} == {
        "4f0c9a1b": "new", "00000001": "other",
    }  # fmt: skip
    with pytest.raises(WhyNeeded):
        editions.let_pass(book, "HK", "0007", "4f0c9a1b", reason="", on=DAY)
    with pytest.raises(NotAHit):
        editions.let_pass(book, "HK", "0007", "4f0c9a1", reason="typed short", on=DAY)


def test_every_version_is_read_with_its_own_words(book: Book) -> None:
    made = shop(book)
    first = one(book, "finding", "F-1").entry
    post(book, draft("finding", "F-1", replace(first, words=Words("seen"))))
    post(book, draft("finding", "F-1", replace(first, severity=2, words=Words("seen again"))))
    add(book, "labour", "L-1", labour(made.own, made.person, "1"))
    reverse_line(book, "L-1", "wrong", author_ref="HK", day=None, period=None)
    with book.reading() as conn:
        found = reading.versions(conn, "finding", "labour", "reversal", vehicle=made.own)
        newest = reading.stored(conn, "finding", "labour", "reversal", vehicle=made.own)
    words = [(each.version, each.entry.words) for each in found[made.own_findings[0]]]
    assert words == [(1, None), (2, "seen"), (3, "seen again")]
    assert [item[-1] for item in found.values()] == newest
    assert made.consigned_finding not in found


def test_the_check_covers_every_new_table(filled: FilledBook) -> None:
    assert not check(filled.book).damages
    with filled.book.reading() as conn:
        found = reading.stored(conn, *KINDS)
    assert {each.kind for each in found} == set(KINDS)


def test_a_person_that_a_consent_names_can_be_erased(filled: FilledBook) -> None:
    assert erase_person(filled.book, "OW", author=filled.ids["HK"], ground="asked for") > 0
    vehicle, person = filled.ids["0007"], filled.ids["HK"]
    post(filled.book, draft("person", "ZZ", one(filled.book, "person", "HK").entry))
    with filled.book.reading() as conn:
        other = reading.id_of(conn, "person", "ZZ")
    assert erase_person(filled.book, "HK", author=other, ground="asked for") > 0
    with filled.book.reading() as conn:
        held = editions.consents_in_force(conn, vehicle, DAY)
        (who,) = [each for each in reading.stored(conn, "person") if each.id == person]
    assert {each.ref: each.entry.person for each in held} == {"HC-1": person, "HC-2": None}
    assert who.entry.name == ""
    assert not check(filled.book).damages
