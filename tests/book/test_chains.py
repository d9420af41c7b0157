"""The chains of a book as they grow, and erasing a person without breaking them."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import String, Text, delete, exc, select

from recondition.book import reading
from recondition.book.check import check
from recondition.book.context import NotThere
from recondition.book.engine import open_book
from recondition.book.people import GroundNeeded, erase_person
from recondition.book.posting import Poster, Status
from recondition.book.tables import METADATA, erasure, free_text, record
from recondition.fields import Words
from recondition.ledger import chain
from recondition.ledger.people import Person
from tests.book.make import FilledBook, add, charge, draft, finding, labour, post, shop
from tests.places import created

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book


def rows(book: Book, table: Any, *where: Any) -> list[Any]:
    with book.reading() as conn:
        return list(conn.execute(select(table).where(*where)))


def numbers_in(value: Any) -> list[Any]:
    """List every number in a plain value; true and false are none."""
    if isinstance(value, dict):
        return [found for item in value.values() for found in numbers_in(item)]
    if isinstance(value, list):
        return [found for item in value for found in numbers_in(item)]
    return [value] if isinstance(value, int | float) and not isinstance(value, bool) else []


def test_no_stored_text_holds_a_number(filled: FilledBook) -> None:
    """RFC 8785 writes numbers through binary floats, so all of ours are strings."""
    texts = [row.canonical for row in rows(filled.book, record)]
    assert len(texts) > 20
    assert [numbers_in(chain.read(text)) for text in texts] == [[]] * len(texts)


def test_each_record_follows_the_one_before(filled: FilledBook) -> None:
    by_subject: dict[str, list[Any]] = {}
    for row in sorted(rows(filled.book, record), key=lambda row: row.sequence):
        by_subject.setdefault(row.subject, []).append(row)
    for members in by_subject.values():
        assert [row.sequence for row in members] == list(range(1, len(members) + 1))
        assert members[0].previous == chain.START
        assert all(after.previous == before.hash for before, after in pairwise(members))
        assert all(row.hash == chain.digest(row.canonical) for row in members)
        assert all(chain.read(row.canonical)["previous"] == row.previous for row in members)
    with filled.book.reading() as conn:
        heads = {head.subject: head for head in reading.heads(conn)}
    assert {subject: (head.count, head.hash) for subject, head in heads.items()} == {
        subject: (len(members), members[-1].hash) for subject, members in by_subject.items()
    }


def test_heads_are_right_after_posting_to_several_vehicles_by_turns(book: Book) -> None:
    made = shop(book)
    turns = [made.own, made.consigned, None, made.consigned, made.own, made.own]
    with book.writing() as conn:
        poster = Poster(book, conn, made.person)
        many = [draft("charge", f"L-{n}", charge(vehicle)) for n, vehicle in enumerate(turns)]
        assert {result.status for result in poster.post_many(many)} == {Status.NEW}
        hours = [labour(vehicle, made.person, "1") for vehicle in (made.own, made.consigned)]
        poster.post_many([draft("labour", f"W-{n}", entry) for n, entry in enumerate(hours)])
    with book.reading() as conn:
        counts = {head.subject: head.count for head in reading.heads(conn)}
    # Each vehicle's own record, its findings, its lines; the shop's five records and one line.
    assert counts == {
        f"vehicle:{made.own}": 1 + 2 + 4,
        f"vehicle:{made.consigned}": 1 + 1 + 3,
        "shop": 4 + 1,
    }
    assert check(book).damages == []


def test_salts_are_never_used_twice(filled: FilledBook) -> None:
    salts = [bytes(row.salt) for row in rows(filled.book, free_text)]
    assert len(set(salts)) == len(salts)
    assert {len(salt) for salt in salts} == {32}


def test_equal_texts_have_different_commitments(book: Book) -> None:
    made = shop(book)
    add(book, "charge", "L-1", charge(made.own))
    add(book, "charge", "L-2", charge(made.own))
    payloads = [chain.read(row.canonical) for row in rows(book, record, record.c.kind == "charge")]
    first, second = (payload["texts"]["words"] for payload in payloads)
    assert first != second


def test_a_payload_names_everything_that_a_record_fixes(tmp_path: Path) -> None:
    moment = datetime(2031, 3, 4, 12, 0, 0, 5, tzinfo=UTC)
    book = created(tmp_path / "b.sqlite", now=lambda: moment)
    made = shop(book)
    other = draft("finding", "F-9", finding(made.own), key="once")
    post(book, other, author=made.person)
    (row,) = rows(book, record, record.c.id == other.id)
    payload = chain.read(row.canonical)
    texts = payload.pop("texts")
    assert payload == {
        "format": "1",
        "subject": f"vehicle:{made.own}",
        "sequence": "4",
        "previous": row.previous,
        "record": other.id,
        "entity": other.id,
        "version": "1",
        "kind": "finding",
        "author": made.person,
        "recorded_at": "2031-03-04T12:00:00.000005+00:00",
        "key": "once",
        "entry": {
            "vehicle": made.own,
            "area": "exterior",
            "panel": "roof",
            "defect": "scratch",
            "found_on": "2031-03-04",
            "stage": "arrival",
        },
        "priced": {},
        "documents": [],
    }
    (ref,) = rows(book, free_text, free_text.c.record_id == other.id)
    assert texts == {"ref": chain.commitment(ref.salt, b"F-9")}
    book.close()


def test_a_line_fixes_the_hashes_of_its_documents(filled: FilledBook) -> None:
    by_id = {row.id: chain.read(row.canonical) for row in rows(filled.book, record)}
    line, document = by_id[filled.ids["L-4"]], by_id[filled.ids["D-1"]]
    assert line["documents"] == [document["texts"]["file"]]


def all_texts(book: Book) -> str:
    """Join what stands in every text column of every table."""
    found: list[str] = []
    for table in METADATA.sorted_tables:
        columns = [c for c in table.columns if isinstance(c.type, Text | String)]
        with book.reading() as conn:
            for row in conn.execute(select(*columns)):
                found += [value for value in row if value]
    return "\n".join(found)


def test_an_erased_person_is_gone_and_the_chain_holds(book: Book) -> None:
    made = shop(book)
    person = Person(name=Words("Zebulon Quist"), role="helper", contact=Words("quay 7"))
    who = add(book, "person", "ZQ-initials", person)
    renamed = Person(name=Words("Zebulon Quist-Abel"), role="helper")
    post(book, draft("person", "ZQ-initials", renamed))
    for word in ("Zebulon", "quay 7", "ZQ-initials"):
        assert word in all_texts(book)
    gone = erase_person(book, "ZQ-initials", author=made.person, ground=" request of 4 March ")
    assert gone == 5
    for word in ("Zebulon", "quay 7", "ZQ-initials"):
        assert word not in all_texts(book)
    examined = check(book)
    assert (examined.damages, examined.counts["erased texts"]) == ([], 5)
    with book.reading() as conn:
        (left,) = [p for p in reading.stored(conn, "person") if p.id == who]
    assert (left.entry, left.ref) == (Person(name=Words(""), role="helper"), f"erased-{who[:8]}")
    notes = {(row.field, row.ground) for row in rows(book, erasure)}
    assert notes == {(field, "request of 4 March") for field in ("name", "contact", "ref")}
    authors = {row.author for row in rows(book, record, record.c.kind == "erasure")}
    assert authors == {made.person}


def test_the_name_is_gone_from_the_file_itself(small: Book) -> None:
    made = shop(small)
    add(small, "person", "ZQ-initials", Person(name=Words("Zebulon Quist"), role="helper"))
    path = small.path
    assert path is not None
    assert b"Zebulon" in path.read_bytes()
    erase_person(small, "ZQ-initials", author=made.person, ground="asked")
    for file in path.parent.glob(f"{path.name}*"):
        if file.is_file():
            assert b"Zebulon" not in file.read_bytes()
            assert b"ZQ-initials" not in file.read_bytes()


def test_an_erased_text_does_not_make_the_same_row_differ(book: Book) -> None:
    """A workbook still holding the name under the new ref changes nothing."""
    made = shop(book)
    person = Person(name=Words("Zebulon Quist"), role="helper")
    who = add(book, "person", "ZQ", person)
    erase_person(book, "ZQ", author=made.person, ground="asked")
    (result,) = post(book, draft("person", f"erased-{who[:8]}", person))
    assert result.status is Status.SAME
    assert "Zebulon" not in all_texts(book)


def test_an_erasure_needs_a_ground_and_somebody_to_erase(book: Book) -> None:
    made = shop(book)
    with pytest.raises(GroundNeeded):
        erase_person(book, "HK", author=made.person, ground="  ")
    with pytest.raises(NotThere):
        erase_person(book, "ZZ", author=made.person, ground="asked")
    assert check(book).counts["erased texts"] == 0


def test_a_text_is_not_deleted_without_an_erasure(filled: FilledBook) -> None:
    mine = free_text.c.record_id == filled.ids["HK"]
    with (
        pytest.raises(exc.DBAPIError, match="only by an erasure on record"),
        filled.book.writing() as conn,
    ):
        conn.execute(delete(free_text).where(mine))
    assert check(filled.book).damages == []


def test_the_book_key_stays_the_same(book: Book) -> None:
    with book.reading() as conn:
        empty = reading.book_key(conn)
    shop(book)
    with book.reading() as conn:
        first = bytes(reading.book_key(conn))
    add(book, "person", "MB", Person(name=Words("Mo Brandt"), role="helper"))
    with open_book(book.location).reading() as conn:
        assert bytes(reading.book_key(conn)) == first != empty
