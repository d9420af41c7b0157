"""What an erasure may not take, what it takes with it, and what `check` says of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from sqlalchemy import select, text

from recondition.accounts.batches import ExportBatch
from recondition.book import again as agains
from recondition.book import engine as engines
from recondition.book import people, reading
from recondition.book.check import check
from recondition.book.engine import open_book
from recondition.book.mentions import mentions, names_of
from recondition.book.people import Erased, GroundNames, NoSuchText, erase_person, erase_text
from recondition.book.tables import free_text
from recondition.book.wiping import owns_files, sweep
from recondition.fields import Words
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.people import Person
from tests.book.make import DAY, add, charge, draft, one, post, shop
from tests.book.tampering import behind, said_of

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.fields import Id
    from tests.book.make import Shop

GROUND = "request of 4 March"


@pytest.fixture
def lettered(small: Book, tmp_path: Path) -> tuple[Book, Shop, Path]:
    """Give a book with one document, who is in it, and where its file lies."""
    made = shop(small)
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Zebulon Quist", encoding="utf-8")
    kept = Document(vehicle=made.own, kind=DocumentKind.OTHER, title=Words("letter"))
    add(small, "document", "D-1", kept, file=letter)
    with small.reading() as conn:
        (path,) = reading.kept_files(conn, made.own).values()
    return small, made, path


def erased_file(book: Book, made: Shop) -> Erased:
    return erase_text(book, ("document", "D-1", "file"), author=made.person, ground=GROUND)


def test_the_name_of_a_setting_is_never_erased(small: Book) -> None:
    made = shop(small)
    with pytest.raises(NoSuchText):
        erase_text(small, ("setting", "currency", "ref"), author=made.person, ground=GROUND)
    assert one(small, "setting", "currency").entry.value == "USD"


def test_a_kind_that_is_mistyped_is_answered_with_all_kinds(small: Book) -> None:
    made = shop(small)
    with pytest.raises(NoSuchText) as refused:
        erase_text(small, ("findings", "F-1", "words"), author=made.person, ground=GROUND)
    assert "finding, " in refused.value.todo


def test_a_ground_does_not_hold_what_is_erased(small: Book) -> None:
    made = shop(small)
    add(small, "charge", "L-1", charge(made.own, words=Words("for Zebulon Quist")))
    with pytest.raises(GroundNames):
        erase_text(small, ("charge", "L-1", "words"), author=made.person, ground="Quist asked")
    assert check(small).counts["erased texts"] == 0


def test_a_ref_that_holds_the_name_goes_with_the_texts_and_is_told(small: Book) -> None:
    made = shop(small)
    who = add(small, "person", "ZQ", Person(name=Words("Zebulon Quist"), role="owner"))
    add(small, "charge", "Zebulon Quist", charge(made.own))
    add(small, "charge", "L-2", charge(made.own), key="Zebulon Quist")
    with small.reading() as conn:
        names = names_of(conn, who, "ZQ")
        told = [(m.ref, m.field, m.fixed) for m in mentions(conn, names, who)]
    assert told == [("Zebulon Quist", "ref", False), ("L-2", "key", True)]
    erase_person(small, "ZQ", author=made.person, ground=GROUND, texts=True)
    with small.reading() as conn:
        refs = sorted(reading.all_refs(conn, "charge"))
    assert (refs[0], refs[1][:7]) == ("L-2", "erased-")
    assert check(small).damages == []


def test_the_key_under_which_somebody_was_entered_is_told(small: Book) -> None:
    shop(small)
    entry = Person(name=Words("Zebulon Quist"), role="owner")
    (made,) = post(small, draft("person", "ZQ", entry, key="quay-Zebulon Quist"))
    with small.reading() as conn:
        found = mentions(conn, names_of(conn, made.record, "ZQ"), made.record)
    assert [(m.ref, m.field, m.fixed) for m in found] == [("ZQ", "key", True)]


def kept_text(book: Book, record_id: Id, field: str) -> dict[str, object]:
    query = select(free_text).where(free_text.c.record_id == record_id, free_text.c.field == field)
    with book.reading() as conn:
        return dict(conn.execute(query).mappings().one())


@pytest.mark.parametrize("field", ["words", "ref"])
def test_an_erased_text_that_is_there_again_is_damage(small: Book, field: str) -> None:
    made = shop(small)
    line = add(small, "charge", "Quist-1", charge(made.own, words=Words("for Zebulon Quist")))
    row = kept_text(small, line, field)
    erase_text(small, ("charge", "Quist-1", field), author=made.person, ground=GROUND)
    assert said_of(small) == []
    with behind(small) as conn:
        conn.execute(free_text.insert().values(row))
    (said, *_) = said_of(small)
    assert said == f"it was erased and is there again (text {field!r} of record {line})"


def test_an_erased_ref_that_is_called_something_again_is_damage(small: Book) -> None:
    made = shop(small)
    add(small, "charge", "Quist-1", charge(made.own))
    erase_text(small, ("charge", "Quist-1", "ref"), author=made.person, ground=GROUND)
    with behind(small) as conn:
        conn.execute(text("UPDATE entity SET ref = 'Quist-2' WHERE ref LIKE 'erased-%'"))
    assert said_of(small) == [
        "its ref was erased and it is called something again (entity Quist-2)"
    ]


def test_exports_of_a_vehicle_whose_name_was_erased_are_no_damage(small: Book) -> None:
    made = shop(small)
    add(small, "charge", "L-1", charge(made.own))
    upto = f'{{"vehicle:{made.own}":"4"}}'
    for ref, lines in (("EX-1", "1"), ("EX-2", "7")):
        batch = ExportBatch(what="lines", exported_on=DAY, sha256="s", lines=lines, upto=upto,
                            vehicle="0007")  # fmt: skip
        add(small, "export batch", ref, batch)
    assert [words[:20] for words in said_of(small)] == ["export EX-2 says 7 l"]
    erase_text(small, ("vehicle", "0007", "ref"), author=made.person, ground=GROUND)
    assert said_of(small) == []


def test_an_erased_file_goes_once_nobody_else_writes(
    lettered: tuple[Book, Shop, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Others keep the book when the file is to go: it stays, is named, and goes later."""
    book, made, path = lettered
    if not owns_files(book):
        assert erased_file(book, made) == Erased(1, (path,))  # others may need it
        return
    monkeypatch.setattr(agains, "SECONDS", 0)
    monkeypatch.setattr(engines, "BUSY_SECONDS", 0.05)
    let_go = people._let_go  # noqa: SLF001 - the second transaction of the erasure

    def kept_busy(mine: Book, hashes: list[str]) -> None:
        other = open_book(book.location)
        with other.writing():
            let_go(mine, hashes)

    monkeypatch.setattr(people, "_let_go", kept_busy)
    assert erased_file(book, made) == Erased(1, (path,))
    assert path.exists()
    assert sweep(book) == 1
    assert not path.exists()
    assert check(book).notes == []


def test_a_file_that_was_given_again_meanwhile_stays(
    lettered: tuple[Book, Shop, Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    book, made, path = lettered
    let_go = people._let_go  # noqa: SLF001 - as above

    def given_again(mine: Book, hashes: list[str]) -> None:
        kept = Document(vehicle=made.own, kind=DocumentKind.OTHER, title=Words("again"))
        add(book, "document", "D-2", kept, file=tmp_path / "letter.txt")
        let_go(mine, hashes)

    monkeypatch.setattr(people, "_let_go", given_again)
    erased_file(book, made)
    assert path.exists()
    assert check(book).damages == []


def test_nothing_is_swept_where_no_file_was_erased(lettered: tuple[Book, Shop, Path]) -> None:
    book, _, path = lettered
    beside = path.parent / ("0" * 64)
    beside.write_bytes(b"put there by hand")
    assert sweep(book) == 0
    assert beside.exists()


def test_a_file_that_several_books_share_stays_and_is_named(
    lettered: tuple[Book, Shop, Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    book, made, path = lettered
    shared = book.files.rename(tmp_path / "shared")
    monkeypatch.setenv("RECONDITION_FILES", str(shared))
    mine = open_book(book.location)
    there = shared / path.parent.name / path.name
    assert erased_file(mine, made) == Erased(1, (there,))
    assert there.exists()
    assert sweep(mine) == 0
    assert there.exists()
