"""What is kept about a person is shown whole, restricted or erased, and the chain holds."""

from __future__ import annotations

import dataclasses
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args, get_origin

import pytest
from sqlalchemy import MetaData, select, text

from recondition.book import reading
from recondition.book.about import about, ways
from recondition.book.check import check
from recondition.book.errors import LastPerson
from recondition.book.kinds import KINDS
from recondition.book.mentions import Names, mentions, names_of
from recondition.book.people import (
    Erased,
    GroundNames,
    GroundNeeded,
    KeptUntil,
    NoSuchText,
    NotAKeepingDay,
    erase_person,
    erase_text,
    restrict_person,
)
from recondition.book.wiping import owns_files, wipe
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Id, Words
from recondition.ledger.codec import hints, word_fields
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.drafts import Draft
from recondition.ledger.people import Person, Supplier
from recondition.reports import lists
from tests.book.make import add, charge, post, shop

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.engine import Book
    from tests.book.make import FilledBook

GROUND = "request of 4 March"
UNTIL = date(2041, 12, 31)


def places(cls: type, path: str = "entry") -> Iterator[tuple[str, ...]]:
    """Give the path of every field of a class, and of what is in it, that names a record."""
    for name, hint in hints(cls).items():
        inner = get_args(hint)[0] if get_origin(hint) is tuple else hint
        if inner is Id:
            yield (*path.split("."), name)
        elif dataclasses.is_dataclass(inner):
            yield from places(inner, f"{path}.{name}")  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", KINDS)
def test_wherever_a_kind_can_name_somebody_it_is_seen(kind: str) -> None:
    """One value at each place of the kind that can hold an id, alone and in a list."""
    for place in places(KINDS[kind].entry):
        for value in ("a" * 32, ["b" * 32, "a" * 32]):
            payload: Any = value
            for name in reversed(place):
                payload = {name: payload}
            assert ways({"priced": {}} | payload, "a" * 32) == [".".join(place)]


def rows_naming(book: Book, who: str) -> set[str]:
    """Give the records beside which an id stands in any column of any table, but as author."""
    found: set[str] = set()
    tables = MetaData()
    with book.reading() as conn:
        tables.reflect(conn)
        for table in tables.sorted_tables:
            if "record_id" in table.columns and table.name not in ("erasure", "free_text"):
                for row in conn.execute(select(table)).mappings():
                    if any(v == who for name, v in row.items() if name != "record_id"):
                        found.add(row["record_id"])
    return found


@pytest.mark.parametrize(
    ("kind", "ref"), [("person", "HK"), ("person", "OW"), ("supplier", "SU-1")]
)
def test_what_is_handed_out_names_every_record_that_names_somebody(
    filled: FilledBook, kind: str, ref: str
) -> None:
    with filled.book.reading() as conn:
        who = reading.id_of(conn, kind, ref)
        found = about(conn, kind, ref)
        rows = conn.execute(text("SELECT id, kind, version, recorded_at FROM record")).all()
    named = rows_naming(filled.book, who)
    naming = {(row.kind, str(row.version), row.recorded_at) for row in rows if row.id in named}
    shown = {(each["kind"], each["version"], each["recorded_at"]) for each in found["named in"]}
    assert shown == naming
    assert len(shown) == len(found["named in"])
    assert shown


def test_every_text_of_somebody_is_handed_out_in_each_version(book: Book) -> None:
    made = shop(book)
    first = Person(name=Words("Zebulon Quist"), contact=Words("quay 7"), role="helper")
    who = add(book, "person", "ZQ", first)
    post(book, draft_of("person", "ZQ", replace(first, name=Words("Zebulon Abel"))))
    labour = charge(made.own, words=Words("as Zebulon Quist asked"))
    post(book, draft_of("charge", "L-1", labour), author=who)
    with book.reading() as conn:
        found = about(conn, "person", "ZQ")
    texts = [each["texts"] for each in found["is"]]
    assert all(set(each) == {*word_fields(Person), "ref"} for each in texts)
    assert [each["name"] for each in texts] == ["Zebulon Quist", "Zebulon Abel"]
    assert {e["record"] for e in found["entered"]} == {"charge L-1"}
    (mention,) = found["mentioned in"]
    assert (mention["ref"], mention["field"], mention["text"]) == (
        "L-1", "words", "as Zebulon Quist asked",
    )  # fmt: skip
    assert (mention["holds the whole name"], mention["can be erased"]) == (True, True)


def draft_of(kind: str, ref: str, entry: Any) -> Draft:
    return Draft(id=f"{abs(hash((kind, ref, repr(entry)))):032x}", kind=kind, ref=ref, entry=entry)


def test_ids_are_written_as_the_names_that_the_shop_has_for_them(whole: FilledBook) -> None:
    with whole.book.reading() as conn:
        found = about(conn, "person", "OW")
    (car,) = [each for each in found["named in"] if each["kind"] == "vehicle"]
    assert (car["record"], car["named as"]) == ("vehicle 0008", ["entry.owner"])


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("Mara Ridd paid", True),
        ("MARA\nridd", True),
        ("the ridd panel", False),
        ("Riddle", None),
        ("for MR", False),
        ("Mr Wend", None),
        ("at", None),
    ],
)
def test_names_are_found_as_whole_words(said: str, found: bool | None) -> None:  # noqa: FBT001 - the answer
    assert Names(["Mara Ridd", ""], "MR").found_in(said) is found


def mentioned(book: Book) -> FilledNames:
    """Make a book in which somebody is named in texts, in a fixed field and in part."""
    made = shop(book)
    zq = Person(name=Words("Zebulon Quist"), contact=Words("quay 7"), role="helper")
    who = add(book, "person", "ZQ", zq)
    add(book, "charge", "L-1", charge(made.own, words=Words("as zebulon quist asked")))
    add(book, "charge", "L-2", charge(made.own, words=Words("the Quist method")))
    car = Vehicle(designation="Ostra of Zebulon Quist", holding=Holding.OWN)
    add(book, "vehicle", "0009", car)
    return FilledNames(who, made.person)


@dataclasses.dataclass(frozen=True)
class FilledNames:
    """Who is named, and who erases."""

    who: Id
    author: Id


def test_an_erasure_takes_the_texts_that_hold_the_whole_name_where_asked(book: Book) -> None:
    made = mentioned(book)
    with book.reading() as conn:
        names = names_of(conn, made.who, "ZQ")
        found = mentions(conn, names, made.who)
    assert [(m.ref, m.field, m.sure, m.fixed) for m in found] == [
        ("L-1", "words", True, False),
        ("L-2", "words", False, False),
        ("0009", "designation", True, True),
    ]
    assert erase_person(book, "ZQ", author=made.author, ground=GROUND, texts=True) == 4
    with book.reading() as conn:
        left = mentions(conn, names, made.who)
        assert [m.ref for m in left] == ["L-2", "0009"]
        assert reading.one(conn, "charge", "L-1").entry.words == ""
    erased = erase_text(book, ("charge", "L-2", "words"), author=made.author, ground=GROUND)
    assert erased == Erased(1)
    examined = check(book)
    assert (examined.damages, examined.counts["erased texts"]) == ([], 5)


def test_a_supplier_is_erased_like_a_person(book: Book) -> None:
    made = shop(book)
    add(book, "supplier", "Quist", Supplier(name=Words("Zebulon Quist"), contact=Words("quay 7")))
    gone = erase_person(book, "Quist", author=made.person, ground=GROUND, kind="supplier")
    assert gone == 3
    assert check(book).damages == []
    with book.reading() as conn:
        (left,) = reading.stored(conn, "supplier")
    assert (left.entry.name, left.entry.contact) == ("", None)


def test_somebody_restricted_is_named_nowhere_and_kept_until_the_day(book: Book) -> None:
    made = mentioned(book)
    new = restrict_person(book, "ZQ", author=made.author, ground="tax law", until=UNTIL)
    assert new == f"restricted-{made.who[:8]}"
    with book.reading() as conn:
        (person,) = [p for p in reading.stored(conn, "person") if p.id == made.who]
        listed = repr(lists.people(conn, None))
        found = about(conn, "person", new)
    assert (person.ref, person.entry.name, person.entry.contact) == (new, "", None)
    assert new in listed
    assert "Zebulon" not in listed
    assert "ZQ" not in listed
    assert found["kept until"] == str(UNTIL)
    assert [each["texts"].get("name") for each in found["is"]] == ["Zebulon Quist", None]
    assert check(book).damages == []
    for again in (
        lambda: erase_person(book, new, author=made.author, ground=GROUND),
        lambda: restrict_person(book, new, author=made.author, ground=GROUND, until=UNTIL),
    ):
        with pytest.raises(KeptUntil, match="2041-12-31"):
            again()
    on_the_day = replace(book, now=lambda: datetime(2041, 12, 31, 23, tzinfo=UTC))
    with pytest.raises(KeptUntil):
        erase_person(on_the_day, new, author=made.author, ground=GROUND)
    later = replace(book, now=lambda: datetime(2042, 1, 1, 12, tzinfo=UTC))
    assert erase_person(later, new, author=made.author, ground=GROUND) == 3
    assert check(later).damages == []
    with book.reading() as conn:
        left = about(conn, "person", f"erased-{made.who[:8]}")
    assert [each["texts"] for each in left["is"]] == [{}, {}]


def test_what_an_erasure_needs_and_what_it_refuses(book: Book) -> None:
    made = mentioned(book)
    for ground, refusal in (
        (" ", GroundNeeded),
        ("asked by Zebulon Quist", GroundNames),
        ("Quist asked", GroundNames),
        ("ZQ asked", GroundNames),
    ):
        with pytest.raises(refusal):
            erase_person(book, "ZQ", author=made.author, ground=ground)
    with pytest.raises(NotAKeepingDay):
        restrict_person(book, "ZQ", author=made.author, ground=GROUND, until=date(2001, 1, 1))
    for place in (("charge", "L-1", "price"), ("person", "ZQ", "name"), ("charge", "L-1", "file")):
        with pytest.raises(NoSuchText):
            erase_text(book, place, author=made.author, ground=GROUND)
    assert check(book).counts["erased texts"] == 0
    restrict_person(book, "OW", author=made.author, ground=GROUND, until=UNTIL)
    erase_person(book, "ZQ", author=made.author, ground=GROUND)
    with pytest.raises(LastPerson):
        restrict_person(book, "HK", author=made.author, ground=GROUND, until=UNTIL)


def test_a_file_goes_when_the_last_document_lets_go_of_it(small: Book, tmp_path: Path) -> None:
    made = shop(small)
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Zebulon Quist")
    for ref in ("D-1", "D-2"):
        kept = Document(vehicle=made.own, kind=DocumentKind.OTHER, title=Words(ref))
        add(small, "document", ref, kept, file=letter)
    left = lambda: [p for p in small.files.rglob("*") if p.is_file()]  # noqa: E731 - asked thrice
    assert len(left()) == 1
    for ref, count in (("D-1", 1), ("D-2", 0)):
        erased = erase_text(small, ("document", ref, "file"), author=made.person, ground=GROUND)
        assert erased.count == 1
        assert len(left()) == (count if owns_files(small) else 1)
    assert check(small).damages == []


def test_a_ref_that_names_somebody_is_erased_too(book: Book) -> None:
    made = shop(book)
    add(book, "charge", "Quist-1", charge(made.own))
    erased = erase_text(book, ("charge", "Quist-1", "ref"), author=made.person, ground=GROUND)
    assert erased == Erased(1)
    assert check(book).damages == []
    with book.reading() as conn:
        assert reading.all_refs(conn, "charge")[0].startswith("erased-")


def bytes_of(book: Book) -> bytes:
    """Give all bytes that the database keeps on disk for a book."""
    if book.path is not None:
        beside = book.path.parent.glob(f"{book.path.name}*")
        return b"".join(file.read_bytes() for file in beside if file.is_file())
    with book.engine.connect() as plain:
        conn = plain.execution_options(isolation_level="AUTOCOMMIT")
        conn.execute(text("CHECKPOINT"))
        folder = Path(conn.execute(text("SHOW data_directory")).scalar() or "")
        query = "SELECT pg_relation_filepath(oid) FROM pg_class WHERE relkind IN ('r', 'i', 't')"
        files = [folder / path for path in conn.execute(text(query)).scalars() if path]
    return b"".join(file.read_bytes() for file in files if file.exists())


def test_nothing_erased_is_left_in_the_files(book: Book) -> None:
    """Long and many texts, so that pages are split and moved before they are emptied."""
    made = shop(book)
    for number in range(24):
        name = Words(f"Zebulon Quist {number} " + "of the long quay " * (number % 7))
        add(book, "person", f"ZQ-initials-{number}", Person(name=name, role="helper"))
    assert b"Zebulon" in bytes_of(book)
    for number in range(24):
        erase_person(book, f"ZQ-initials-{number}", author=made.person, ground=GROUND)
    assert wipe(book)
    found = bytes_of(book)
    assert b"Hanna Kolb" in found
    for word in (b"Zebulon", b"long quay", b"ZQ-initials"):
        assert word not in found
    assert check(book).damages == []


def test_wiping_waits_for_nobody_and_says_so(small: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("recondition.book.wiping.BUSY_SECONDS", 0.05)
    with small.writing() as conn:
        conn.execute(text("SELECT count(*) FROM free_text"))
        assert not wipe(small)
    assert wipe(small)
