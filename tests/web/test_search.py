"""Finding things by a word."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.book import finding_names, reading
from recondition.book.kinds import KINDS
from recondition.book.roles import RIGHTS, Role
from recondition.intake.form import one_row
from recondition.web.permits import may_see_document, words_seen
from recondition.web.search import found, order_of_kinds
from tests.places import copied_book, opened
from tests.web.visitors import signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book

DEALER = RIGHTS[Role.DEALER]


@pytest.fixture(scope="module")
def book(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    to = tmp_path_factory.mktemp("found") / "demo.book"
    made = opened(copied_book(demo[0] / "made" / "demo.book", to), keep=True)
    car = {
        "ref": "A%_1",
        "designation": "1968 Corvane Aria",
        "holding": "own stock",
        "chassis_stamped": "CV-118 204",
        "chassis_documents": "CV-118 240",
        "engine_number": "E 77-19",
        "body_number": "B/41",
        "private_note": "cheap at the gate",
    }
    with made.reading() as conn:
        person = reading.all_refs(conn, "person")[0]
    assert one_row(made, "vehicles", car, author_ref=person, ref="A%_1").refused is None
    yield made
    made.close()  # fmt: skip


def _hits(book: Book, typed: str, role: Role = Role.DEALER) -> list[tuple[str, str, str]]:
    with book.reading() as conn:
        groups = found(conn, typed, RIGHTS[role])
    return [(hit.kind, hit.ref, hit.where) for group in groups for hit in group.hits]


@pytest.mark.parametrize(
    ("typed", "where"),
    [
        ("cv118204", "chassis number as stamped"),
        ("118-240", "chassis number on documents"),
        ("e7719", "engine number"),
        ("b/41", "body number"),
        ("CORVANE", "vehicle"),
        ("A%_1", "ref"),
        ("%", "ref"),
        ("cheap at", "private note"),
    ],
)
def test_a_car_is_found_by_each_of_its_numbers(book: Book, typed: str, where: str) -> None:
    assert ("vehicle", "A%_1", where) in _hits(book, typed)


def test_signs_of_a_pattern_mean_themselves(book: Book) -> None:
    assert {ref for kind, ref, _ in _hits(book, "%_") if kind == "vehicle"} == {"A%_1"}
    assert _hits(book, "\\") == []


def test_panels_documents_products_people_and_words_are_found(book: Book) -> None:
    with book.reading() as conn:
        finding = reading.one(conn, "finding", "F-001")
        document = reading.one(conn, "document", "D-001")
        product = reading.stored(conn, "product")[0]
        person = reading.stored(conn, "person")[0]
    assert ("finding", "F-001", "panel") in _hits(book, finding.entry.panel.upper())
    assert ("document", "D-001", "title") in _hits(book, document.entry.title[:12])
    assert ("product", product.ref, "product") in _hits(book, product.entry.name)
    assert ("person", person.ref, "ref") in _hits(book, person.ref)
    assert ("finding", "F-001", "ref") in _hits(book, "f-001")


def test_a_role_finds_what_it_may_see_alone(book: Book) -> None:
    assert _hits(book, "cheap at", Role.SELLER) == []
    assert {kind for kind, _, _ in _hits(book, "0", Role.SELLER)} <= set(
        order_of_kinds(RIGHTS[Role.SELLER])
    )
    bench = {kind for kind, _, _ in _hits(book, "-0", Role.PREPARER)}
    assert not bench & {"terms", "sale", "payment", "rate", "supplier invoice", "decision"}
    papers = [ref for kind, ref, _ in _hits(book, "invoice", Role.PREPARER) if kind == "document"]
    with book.reading() as conn:
        kinds = {d.ref: d.entry.kind.value for d in reading.stored(conn, "document")}
    assert all(kinds[ref] != "invoice" for ref in papers)


def test_groups_are_bounded_and_counted(book: Book) -> None:
    with book.reading() as conn:
        groups = finding_names.search(conn, "-0", words_seen(DEALER), tuple(KINDS))
    assert len(groups) > 5
    for group in groups:
        assert len(group.hits) == min(group.count, finding_names.SHOWN_MAX)
    assert any(group.count > len(group.hits) for group in groups)


@given(typed=st.text(max_size=40))
def test_anything_can_be_typed(book: Book, typed: str) -> None:
    for kind, ref, _ in _hits(book, typed):
        assert kind in KINDS
        assert ref
    assert len(finding_names.tidied(typed * 9)) <= finding_names.TYPED_MAX


def test_the_page_links_what_was_found(book: Book) -> None:
    dealer = signed_in(book)
    page = dealer.get("/search?q=bonnet").get_data(as_text=True)
    assert re.search(r'href="/records/finding/F-\d+"', page)
    assert "Finding" in page
    assert "Nothing holds" in dealer.get("/search?q=zzzzzz").get_data(as_text=True)
    assert "Type a stock number" in dealer.get("/search").get_data(as_text=True)
    assert dealer.get("/search?q=%01a%FF").status_code == 200
    assert dealer.get("/search?q=%00a").status_code == 400


def test_a_stock_number_opens_the_vehicle_or_what_the_login_may_see_of_it(book: Book) -> None:
    leads = {"dealer": "/vehicles/0007", "preparer": "/vehicles/0007", "seller": "/histories/0007"}
    for role, to in leads.items():
        client = signed_in(book, role)
        exact = client.get("/search?q=0007")
        assert (exact.status_code, exact.headers["Location"]) == (302, to)
        assert client.get(to).status_code == 200
        listed = client.get("/search?q=0007&all=1")
        assert listed.status_code == 200
        assert f'href="{to}"' in listed.get_data(as_text=True)
        crumb = client.get("/records/vehicle/0007").get_data(as_text=True)
        assert f'<a href="{to}">vehicle 0007</a>' in crumb


def test_all_of_a_vehicle_lists_the_documents_that_may_be_seen(book: Book) -> None:
    with book.reading() as conn:
        car = reading.id_of(conn, "vehicle", "0007")
        kept = reading.stored(conn, "document", vehicle=car)
    for role in (Role.DEALER, Role.PREPARER, Role.SELLER):
        client = signed_in(book, role.value)
        page = client.get("/search?q=0007&all=1").get_data(as_text=True)
        seen = {each.ref for each in kept if may_see_document(each.entry, RIGHTS[role])}
        assert set(re.findall(r'href="/records/document/([^"]+)"', page)) == seen
        if role is not Role.SELLER:
            vehicle = client.get("/vehicles/0007").get_data(as_text=True)
            assert f'href="/search?q=0007&amp;all=1">{len(seen)} documents and' in vehicle
            assert 'href="/records/vehicle/0007">Put it right</a>' in vehicle
