"""What is private and stands in public words stops a release, each by its code."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import pytest
import typst
from PIL import Image

from recondition.book import reading
from recondition.book.editions import editions_of, let_pass
from recondition.book.engine import Book
from recondition.book.keys import no_passphrase
from recondition.condition.findings import Ended, Outcome
from recondition.fields import Id, Words
from recondition.history.net import LeakFound, Sort
from recondition.ledger.documents import Document, DocumentKind, Visibility
from recondition.reports import history_release
from recondition.reports.history_release import Made, Wanted, release
from recondition.reports.public_files import Ready, made_ready
from tests.book import make
from tests.places import copied_book, opened

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.long

WANTED = Wanted(vehicle="0007", made_on=make.DAY, author="HK")
NOTE = "The buyer before him had looked at it twice."
# What each public text holds, by the sort of private thing in it.
PLANTED = {
    Sort.AMOUNT: "4,711.25 USD",
    Sort.NAME: "Werth",
    Sort.NOTE: NOTE,
    Sort.COORDINATES: "51.5071",
}


@dataclass(frozen=True)
class Small:
    """A small book and the ids of its own vehicle and finding."""

    book: Book
    folder: Path
    own: Id
    finding: Id

    def keep(self, name: str, content: bytes, title: str, kind: DocumentKind, seen: bool) -> None:  # noqa: FBT001 - each is needed
        """Keep a file of the vehicle, seen by buyers or not."""
        file = self.folder / name
        file.write_bytes(content)
        visible = Visibility.LISTING if seen else Visibility.EVIDENCE
        entry = Document(vehicle=self.own, kind=kind, title=Words(title), visibility=visible)
        make.post(self.book, make.draft("document", name, entry, file=file))

    def words(self, words: str, ref: str = "F-9") -> Id:
        """Post a finding with public words."""
        return make.add(self.book, "finding", ref, make.finding(self.own, words=Words(words)))

    def passes(self, code: str) -> str:
        """Let one hit pass; give the note's id."""
        why = "seen and meant"
        ref = let_pass(self.book, "HK", "0007", code, reason=why, on=make.DAY)
        return make.one(self.book, "let pass", ref).id

    def stopped(self) -> LeakFound:
        """Hold that a release stops, notes nothing and writes nothing; give what it says."""
        before, files = make.counted(self.book), sorted(self.folder.rglob("*"))
        with pytest.raises(LeakFound) as raised:
            release(self.book, WANTED, no_passphrase)
        assert make.counted(self.book) == before
        made = set(self.folder.rglob("*")) - set(files)
        assert not [path for path in made if "work-history" in path.name]
        with self.book.reading() as conn:
            assert editions_of(conn, self.own) == []
        return raised.value


@pytest.fixture
def small(empty_file: Path, tmp_path: Path) -> Iterator[Small]:
    book = opened(copied_book(empty_file, tmp_path / "book.sqlite"))
    made = make.shop(book)
    yield Small(book, tmp_path, made.own, made.own_findings[0])
    book.close()


def _picture(*, place: bool = False) -> bytes:
    """Give a JPEG with a device's number in it, and where it was taken."""
    exif = Image.Exif()
    exif[0xA431] = "serial 00317"
    if place:
        exif[0x8825] = {1: "N", 2: (51.0, 30.0, 25.6), 3: "W", 4: (0.0, 7.0, 40.0)}
    file = io.BytesIO()
    image = Image.radial_gradient("L").resize((64, 48)).convert("RGB")
    image.save(file, "JPEG", exif=exif)
    return file.getvalue()


def _plant(small: Small) -> None:
    """Put one private thing of each sort where a buyer would read it."""
    make.add(small.book, "charge", "C-1", make.charge(small.own, "4711.25"))
    first = make.one(small.book, "finding", "F-1").entry
    note = replace(first, private_note=Words(NOTE), words=Words("the part cost 4,711.25"))
    make.add(small.book, "finding", "F-1", note)
    small.keep("garage.jpg", _picture(place=True), "the roof", DocumentKind.PHOTOGRAPH, seen=False)
    small.keep("yard.jpg", _picture(), "seen in Werth's yard", DocumentKind.PHOTOGRAPH, seen=True)
    small.words("Photographed at 51.5071, -0.1278.")
    left = Outcome(vehicle=small.own, finding=small.finding, ended=Ended.LEFT_ALONE,
                   ended_on=make.DAY, reason=Words(f"Left as it is. {NOTE}"))  # fmt: skip
    make.add(small.book, "outcome", "O-9", left)


def _codes(refusal: LeakFound) -> dict[str, tuple[str, str]]:
    """Read the printed lines: what each code stands for, by the code."""
    lines = re.findall(r"^ +([a-z0-9]{8})  (.*)$", str(refusal), re.MULTILINE)
    sorts = [(code, next(sort for sort in Sort if f"{sort.value} " in text), text)
             for code, text in lines]  # fmt: skip
    return {code: (sort, text) for code, sort, text in sorts}


def test_each_sort_of_private_thing_stops_a_release_and_is_named(small: Small) -> None:
    _plant(small)
    found = _codes(small.stopped())
    by_sort = dict(found.values())
    assert set(by_sort) == set(Sort) - {Sort.METADATA}
    for sort, text in PLANTED.items():
        assert text in by_sort[sort], sort


def test_the_printed_code_lets_that_one_pass_and_no_other(small: Small) -> None:
    _plant(small)
    left = set(_codes(small.stopped()))
    assert len(left) >= len(Sort) - 1
    first, *others = sorted(left)
    passed = [small.passes(first)]
    assert set(_codes(small.stopped())) == set(others)
    passed += [small.passes(code) for code in others]
    made = release(small.book, WANTED, no_passphrase)
    assert isinstance(made, Made)
    with small.book.reading() as conn:
        (edition,) = editions_of(conn, small.own)
    assert set(edition.entry.let_pass) == set(passed)


@pytest.mark.long
def test_metadata_that_a_picture_kept_stops_it_too(
    small: Small, monkeypatch: pytest.MonkeyPatch
) -> None:
    small.keep("yard.jpg", _picture(), "the roof", DocumentKind.PHOTOGRAPH, seen=True)

    def as_it_was(*given: Any) -> list[Ready]:
        return [replace(each, content=_picture()) for each in made_ready(*given)]

    monkeypatch.setattr(history_release, "made_ready", as_it_was)
    assert {sort for sort, _ in _codes(small.stopped()).values()} == {Sort.METADATA}


def test_what_is_read_on_a_page_that_is_handed_out_as_a_picture_is_searched(small: Small) -> None:
    make.add(small.book, "charge", "C-1", make.charge(small.own, "4711.25"))
    letter = typst.compile(b"Paid 4,711.25 for the part.")
    small.keep("letter.pdf", letter, "letter of the maker", DocumentKind.CERTIFICATE, seen=True)
    ((_, text),) = _codes(small.stopped()).values()
    assert "work-history-evidence/001.pdf" in text


def test_let_pass_in_one_text_it_stops_in_another(small: Small) -> None:
    make.add(small.book, "charge", "C-1", make.charge(small.own, "4711.25"))
    small.words("the gauge showed 4711.25")
    (code,) = _codes(small.stopped())
    small.passes(code)
    small.words("we paid 4,711.25", ref="F-10")
    assert code not in _codes(small.stopped())


@pytest.mark.long
def test_a_code_of_another_vehicle_lets_nothing_pass(small: Small) -> None:
    make.add(small.book, "charge", "C-1", make.charge(small.own, "4711.25"))
    small.words("the part cost 4711.25")
    (code,) = _codes(small.stopped())
    let_pass(small.book, "HK", "0008", code, reason="the other one", on=make.DAY)
    assert set(_codes(small.stopped())) == {code}


def test_right_words_are_released_and_note_an_edition(small: Small) -> None:
    make.add(small.book, "charge", "C-1", make.charge(small.own, "4711.25"))
    small.words("Scratched through to the primer, 20 mm.")
    made = release(small.book, WANTED, no_passphrase)
    assert made.number == 1
    with small.book.reading() as conn:
        (edition,) = editions_of(conn, small.own)
        passes = reading.stored(conn, "let pass")
    assert edition.entry.let_pass == ()
    assert passes == []
