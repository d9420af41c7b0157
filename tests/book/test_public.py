"""What a book hands over for one vehicle's work history, on both engines."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.book import editions
from recondition.book.public import as_released, material_of, source_of
from recondition.book.questions import vehicle_of
from recondition.fields import Id, Words
from recondition.ledger.documents import Document, DocumentKind, Visibility
from tests.book.make import DAY, add, finding, shop
from tests.book.make_history import consent, edition, redaction
from tests.pictures import photograph

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from recondition.book.public import Material
    from recondition.history.source import Source
    from tests.book.make import FilledBook


def material(book: Book, ref: str = "0007", on: date = DAY) -> Material:
    with book.reading() as conn:
        return material_of(conn, vehicle_of(conn, ref), on)


def source(book: Book, ref: str = "0007", on: date = DAY) -> Source:
    with book.reading() as conn:
        return source_of(conn, vehicle_of(conn, ref), on)


def kept(
    book: Book, folder: Path, vehicle: Id, ref: str, *, seen: Visibility = Visibility.LISTING
) -> Id:
    """Keep a photograph of a vehicle."""
    path = folder / f"{ref}.jpg"
    path.write_bytes(photograph("2031:03:04 09:00:00", shade=len(ref) * 20, place=True))
    document = Document(
        vehicle=vehicle, kind=DocumentKind.PHOTOGRAPH, title=Words(f"view {ref}"), visibility=seen
    )
    return add(book, "document", ref, document, file=path)


def test_a_source_holds_one_vehicle_and_the_shop(filled: FilledBook) -> None:
    found = source(filled.book)
    assert found.vehicle.ref == "0007"
    own = (*found.panels, *found.findings, *found.outcomes, *found.lines, *found.readings,
           *found.documents, *found.editions)  # fmt: skip
    assert own
    assert {each.subject for each in own} == {f"vehicle:{filled.ids['0007']}"}
    assert [each.entry.number for each in found.editions] == [1, 2]
    assert list(found.withdrawn) == [filled.ids["ED-001"]]
    assert found.head is not None
    assert found.head.subject == f"vehicle:{filled.ids['0007']}"
    assert filled.ids["HK"] in found.people
    other = source(filled.book, "0008")
    assert (other.editions, other.withdrawn) == ((), {})


def test_a_source_tells_of_corrections_and_only_of_them(book: Book) -> None:
    made = shop(book)
    first = finding(made.own)
    ident = add(book, "finding", "F-71", first)
    add(book, "finding", "F-72", first)
    assert source(book).versions == {}
    corrected = replace(first, severity=1)
    add(book, "finding", "F-71", corrected)
    ((each, versions),) = source(book).versions.items()
    assert (each, [version.entry for version in versions]) == (ident, [first, corrected])


def test_consents_count_on_the_day_alone(book: Book) -> None:
    made = shop(book)
    add(book, "consent", "K-1", consent(vehicle=made.own, withdrawn_on=DAY + timedelta(days=9)))

    def held(on: date, ref: str = "0007") -> list[str]:
        return [each.ref for each in source(book, ref, on).consents]

    assert held(DAY) == ["K-1"]
    assert held(DAY - timedelta(days=1)) == held(DAY + timedelta(days=9)) == []
    assert held(DAY, "0008") == []


def test_listed_files_alone_are_handed_over_with_what_is_hidden(book: Book, tmp_path: Path) -> None:
    made = shop(book)
    listed = kept(book, tmp_path, made.own, "D-1")
    both = kept(book, tmp_path, made.own, "D-22", seen=Visibility.BOTH)
    kept(book, tmp_path, made.own, "D-333", seen=Visibility.EVIDENCE)
    kept(book, tmp_path, made.consigned, "D-4444")
    box = redaction(made.own, listed)
    add(book, "redaction", "RD-1", box)
    add(book, "redaction", "RD-2", redaction(made.own, both, off=True))
    found = material(book)
    assert [(each.document.id, each.hidden) for each in found.files] == [
        (listed, (box,)), (both, ()),
    ]  # fmt: skip
    contents = [Path(each.path).read_bytes() for each in found.files]
    assert contents == [(tmp_path / f"{ref}.jpg").read_bytes() for ref in ("D-1", "D-22")]
    assert {each.media_type for each in found.files} == {"image/jpeg"}
    assert len(found.originals) == 3, "places are sought in what is not listed as well"
    assert set(found.source.sealed) == {each.id for each in found.source.documents}
    assert all(len(sealed) == 64 for sealed in found.source.sealed.values())


def test_what_is_searched_for_is_of_every_version_and_of_the_shop(book: Book) -> None:
    made = shop(book)
    note = Words("first thought, said to nobody")
    add(book, "finding", "F-71", finding(made.own, private_note=note))
    add(book, "finding", "F-71", finding(made.own))
    add(book, "finding", "F-79", finding(made.consigned, private_note=note))
    found = material(book)
    notes = [getattr(each.entry, "private_note", None) for each in found.secrets]
    assert notes.count(note) == 1
    subjects = {each.subject for each in found.secrets}
    assert subjects == {f"vehicle:{made.own}", "shop"}
    assert {"vehicle", "finding", "person"} <= {each.kind for each in found.secrets}
    assert len(found.book_key) >= 16
    assert material(book, "0008").book_key == found.book_key


def test_a_source_goes_back_to_what_an_edition_was_made_from(book: Book) -> None:
    made = shop(book)
    add(book, "finding", "F-71", finding(made.own))
    before = source(book)
    first = editions.post_edition(book, "HK", edition(made.own), before.head)
    with book.reading() as conn:
        back = as_released(conn, source(book), first)
    assert back == before
    second = editions.post_edition(book, "HK", edition(made.own, 2, supersedes=Id(first.id)))
    with book.reading() as conn:
        again: Any = as_released(conn, source(book), second)
    assert [each.entry.number for each in again.editions] == [1]
    add(book, "finding", "F-72", finding(made.own))
    with book.reading() as conn:
        later = as_released(conn, source(book), second)
    assert later != again
    assert later.head == again.head
