"""The life of a work history: made, made again, superseded, withdrawn, written."""

from __future__ import annotations

import html
import io
import json
import re
import shutil
import zipfile
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import editions, reading
from recondition.book.editions import MovedOn
from recondition.book.keys import no_passphrase, place_of_key
from recondition.book.public import material_of, source_of
from recondition.book.questions import vehicle_of
from recondition.history.proof import File
from recondition.history.sheet import Issue, Sheet, build
from recondition.history.verifying import proof_in
from recondition.reports.checking import checked, said
from recondition.reports.history_files import ZIP, write_release
from recondition.reports.history_release import Made, Wanted, release
from recondition.reports.public_files import made_ready
from recondition.reports.whole import FileNotWritten
from tests.cli.released import MADE_ON, colours, files_in, make, released
from tests.pdf_text import pages_of
from tests.places import copied, opened
from tests.running import done, run, stand_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from recondition.book.engine import Book

pytestmark = pytest.mark.long

EVIDENCE = "work-history-evidence"


@pytest.fixture
def folder(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """Stand in a copy of the folder with the book and, in ``out``, its first edition."""
    for name in ("RECONDITION_FILES", "RECONDITION_KEY", "RECONDITION_KEY_PASSPHRASE"):
        monkeypatch.delenv(name, raising=False)
    work = copied(released(tmp_path_factory), tmp_path / "work")
    stand_in(work, monkeypatch)
    return work


@pytest.fixture
def book(folder: Path) -> Iterator[Book]:
    book = opened(folder / "shop.book")
    yield book
    book.close()


def contents(made: Made) -> dict[str, bytes]:
    return {file.path: file.content for file in made.files}


def noted(book: Book, car: str = "0007") -> list[Any]:
    with book.reading() as conn:
        vehicle = reading.id_of(conn, "vehicle", car)
        return [each.entry for each in editions.editions_of(conn, vehicle)]


def words(made: Made) -> str:
    """Give the text of the page, without its data."""
    page = contents(made)["work-history.html"].decode()
    bare = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(bare).split())


def pdf_words(made: Made) -> str:
    return " ".join(" ".join(pages_of(contents(made)["work-history.pdf"])).split())


def test_made_again_after_private_entries_it_is_the_same_to_the_byte(
    folder: Path, book: Book
) -> None:
    first = files_in(folder / "out")
    done('recondition post charge 0007 312.40 "carriage" --no-finding-because transport')
    done("recondition terms set 0007 hammer 21000/26000/31000 41")
    done('recondition finding add 0008 roof "chip" --severity 1')
    later = make(book, made_on=MADE_ON + timedelta(days=40))
    write_release(later, folder / "again", zipped=True)
    assert files_in(folder / "again") == first
    (edition,) = noted(book)
    assert (edition.number, edition.made_on, later.number) == (1, MADE_ON, 1)
    assert (edition.code, edition.fingerprint) == (later.code, later.fingerprint)


def test_a_public_change_makes_an_edition_that_names_the_one_before(
    folder: Path, book: Book
) -> None:
    (first,) = noted(book)
    done('recondition finding add 0007 roof "bird lime" --severity 1 --found 2021-03-01')
    done('recondition finding add 0007 "left front wing" "stripe torn twice" --severity 4 '
         "--found 2031-02-01 --ref F-002")  # fmt: skip
    second = make(book, made_on=MADE_ON + timedelta(days=1))
    assert [entry.number for entry in noted(book)] == [1, 2]
    assert second.proof["head"]["edition"] == "2"
    assert second.proof["head"]["supersedes"] == first.head
    text = words(second)
    assert "Edition 2" in text
    assert first.code in text
    today = book.now().astimezone().date()
    late = f"recorded on {today.day} {today:%B %Y}"
    assert text.count(late) >= 1
    assert late in pdf_words(second)
    assert "stripe torn twice" in text
    assert "torn side stripe" in text, "what was said before stays visible"
    write_release(second, folder / "out")
    verdict = checked(folder / "out")
    assert verdict.holds
    assert verdict.head is not None
    assert (verdict.head["edition"], verdict.beside) == ("2", [])
    assert not (folder / "out" / ZIP).exists(), "the zip was of the edition before"


def test_a_withdrawn_edition_says_so_wherever_it_is_looked_at(folder: Path, book: Book) -> None:
    why = "the chassis number was misread"
    said_then = done(f'recondition history withdraw 0007 1 "{why}" --on 2031-04-01')
    assert said_then == "edition 1 of vehicle 0007: withdrawn on 2031-04-01\n"
    again = run(f'recondition history withdraw 0007 1 "{why}"')
    assert (again.status, again.out) == (1, "")
    late = done('recondition history withdraw 0007 1 "other words" --into out').splitlines()
    assert late == [
        "edition 1 of vehicle 0007 was withdrawn already, on 2031-04-01.",
        "The notice says what was said then.",
        "out/work-history-withdrawn.json",
    ]
    verdict = checked(folder / "out")
    assert verdict.holds
    told = f"Edition 1 was withdrawn on 2031-04-01: {why}"
    assert told in said(folder / "out", verdict)
    (row,) = json.loads(done("recondition history editions --json"))["Editions"]
    assert (row["withdrawn"], row["why"]) == ("2031-04-01", why)

    second = make(book, made_on=date(2031, 4, 2))
    assert second.number == 2
    assert why in words(second)
    assert "withdrawn" in pdf_words(second)
    shutil.copytree(folder / "out", folder / "old")
    write_release(second, folder / "out")
    assert not (folder / "out" / "work-history-withdrawn.json").exists()
    assert checked(folder / "out").withdrawn == ""
    notice = folder / "old" / "work-history-withdrawn.json"
    shutil.copy(notice, folder / "out")
    beside = checked(folder / "out")
    assert beside.holds
    assert beside.beside == ["work-history-withdrawn.json (of another edition)"]
    notice.write_text(notice.read_text(encoding="utf-8").replace("misread", "right"), "utf-8")
    altered = checked(folder / "old")
    assert [fault.where for fault in altered.faults] == ["work-history-withdrawn.json"]


def test_a_withdrawal_is_searched_before_it_is_noted(folder: Path) -> None:
    told = "Hana Kess misread it"
    ran = run(f'recondition history withdraw 0007 1 "{told}" --into out')
    assert ran.status == 1
    assert "name 'Hana Kess' (person HK, name)" in ran.err
    assert not (folder / "out" / "work-history-withdrawn.json").exists()
    assert "withdrawn" not in done("recondition history editions 0007").replace("Withdrawn", "")
    code = re.search(r"^ +(\w{8})  name", ran.err, re.MULTILINE)
    assert code is not None
    done(f'recondition history let-pass 0007 {code[1]} "she agreed"')
    done(f'recondition history withdraw 0007 1 "{told}" --into out')
    assert told in checked(folder / "out").withdrawn


def test_with_another_key_it_is_another_edition_and_that_is_said(book: Book) -> None:
    place_of_key(book).unlink()
    made = make(book, "MR")
    assert made.number == 2
    (first, second) = noted(book)
    assert first.fingerprint != second.fingerprint == made.fingerprint
    assert any("another key" in remark for remark in made.remarks)


def test_a_trial_copy_is_noted_nowhere_and_follows_its_locale(folder: Path, book: Book) -> None:
    done('recondition finding add 0007 roof "bird lime" --severity 1 --found 2031-02-01')
    trial = make(book, None, locale="en_US")
    assert (trial.number, len(noted(book))) == (None, 1)
    head = trial.proof["head"]
    assert (head["edition"], head["supersedes"]) == ("", "")
    for text in (words(trial), pdf_words(trial)):
        assert "March 4, 2031" in text
        assert "4 March 2031" not in text
        assert "lowest 3.9 mil (99 \u00b5m)" in text
    assert "rial copy" in words(trial)
    write_release(trial, folder / "trial")
    assert checked(folder / "trial").holds
    assert "a trial copy" in " ".join(said(folder / "trial", checked(folder / "trial")))


def test_a_file_that_is_no_longer_public_leaves_the_folder_and_nothing_else_does(
    folder: Path, book: Book
) -> None:
    mine = {f"{EVIDENCE}/notes.txt": b"mine", f"{EVIDENCE}/0.jpg": b"mine", "letter.txt": b"mine",
            f"{EVIDENCE}/004.doc": b"mine"}  # fmt: skip
    for path, content in mine.items():
        (folder / "out" / path).write_bytes(content)
    (folder / "out" / EVIDENCE / "009.jpg").mkdir()
    done('recondition document add 0007 before.jpg photograph "bonnet on arrival" --ref D-001 '
         "--panel bonnet --who-may-see-it evidence --taken-at 2031-02-01T09:00+00:00")  # fmt: skip
    made = make(book)
    write_release(made, folder / "out")
    assert files_in(folder / "out") == contents(made) | mine
    assert (folder / "out" / EVIDENCE / "009.jpg").is_dir()
    names = [name for name in files_in(folder / "out") if name.startswith(f"{EVIDENCE}/00")]
    assert names == [f"{EVIDENCE}/{name}" for name in ("001.jpg", "002.pdf", "003.txt", "004.doc")]


def test_two_vehicles_lie_in_two_folders(folder: Path, book: Book) -> None:
    write_release(make(book, car="0008"), folder / "other")
    verdict, first = checked(folder / "other"), checked(folder / "out")
    assert verdict.holds
    assert first.holds
    assert verdict.head is not None
    assert verdict.head["designation"] == "1971 Orlanda Brisa coupe"
    assert verdict.fingerprint == first.fingerprint
    assert [len(noted(book, car)) for car in ("0007", "0008")] == [1, 1]


def test_a_zip_holds_the_same_files_and_verifies(folder: Path) -> None:
    packed = (folder / "out" / ZIP).read_bytes()
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        inside = {name: archive.read(name) for name in archive.namelist()}
        assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    beside = files_in(folder / "out")
    assert beside.pop(ZIP) == packed
    assert inside == beside
    assert checked(folder / "out" / ZIP).holds


def sheet(book: Book) -> Sheet:
    """Build the sheet of 0007 as it is now, without its files."""
    with book.reading() as conn:
        source = source_of(conn, vehicle_of(conn, "0007"), MADE_ON)
    return build(replace(source, documents=()), Issue(1, MADE_ON, "en_GB"), {})


def test_each_consent_shows_its_own_and_nothing_more(book: Book) -> None:
    held = {
        "hours": ("hours=Decimal", ""),
        "person": ("Mara Ridd", " --person MR"),
        "firm": ("Halm Decals", " --firm S-001"),
        "product names": ("Fine cut 4", ""),
    }

    def shown() -> set[str]:
        work = repr(sheet(book).work)
        return {name for name, (text, _) in held.items() if text in work}

    assert shown() == set()
    for number, (name, (_, whom)) in enumerate(held.items(), 1):
        line = f'recondition history consent "{name}" asked --given 2031-01-01{whom}'
        done(f"{line} --vehicle 0007")
        assert shown() == {name}
        done(f"{line} --vehicle 0007 --withdrawn 2031-03-04 --ref K-{number:03}")
        assert shown() == set()


def handed_out(book: Book) -> dict[str, bytes]:
    """Give the listed files as they would be handed out, by title."""
    with book.reading() as conn:
        material = material_of(conn, vehicle_of(conn, "0007"), MADE_ON)
    ready = made_ready(material.files, lambda _done, _of: None)
    return {
        kept.document.entry.title: each.content
        for kept, each in zip(material.files, ready, strict=True)
    }


def test_a_hidden_place_is_burnt_into_its_picture_and_no_other(book: Book) -> None:
    before = handed_out(book)
    done('recondition history hide D-001 0 0 50 50 "plate of another car"')
    after = handed_out(book)
    changed = {title for title, content in after.items() if content != before[title]}
    assert changed == {"bonnet on arrival"}
    was, now = colours(before["bonnet on arrival"]), colours(after["bonnet on arrival"])
    assert was((20, 20)) == was((80, 80))
    assert max(abs(a - b) for a, b in zip(now((20, 20)), now((80, 80)), strict=True)) > 30
    assert max(abs(a - b) for a, b in zip(now((80, 80)), was((80, 80)), strict=True)) < 6
    done('recondition history hide D-001 0 0 50 50 "plate of another car" --ref RD-001 --off yes')
    assert handed_out(book) == before


def test_what_is_recorded_while_it_is_made_stops_it(folder: Path, book: Book) -> None:
    done('recondition finding add 0007 roof "bird lime" --severity 1')
    told: list[str] = []

    def meanwhile(what: str, _done: int, _of: int | None) -> None:
        if not told:
            done('recondition finding add 0007 roof "chip" --severity 1')
        told.append(what)

    wanted = Wanted(vehicle="0007", made_on=MADE_ON, author="MR", told=meanwhile)
    with pytest.raises(MovedOn, match="0007"):
        release(book, wanted, no_passphrase)
    assert len(noted(book)) == 1
    assert list(dict.fromkeys(told)) == [
        "pictures", "page", "page, PDF and JSON", "searching what was made",
    ]  # fmt: skip
    assert checked(folder / "out").holds


def test_a_place_that_is_taken_leaves_what_was_there(folder: Path) -> None:
    before = files_in(folder / "out")
    files = tuple(File(path, content + b" ") for path, content in before.items())
    proof = proof_in(before["work-history.json"])
    made = Made(files, proof, 1, "")
    taken = folder / "out" / "work-history-manifest.json"
    content = taken.read_bytes()
    taken.unlink()
    taken.mkdir()
    with pytest.raises(FileNotWritten, match=r"work-history-manifest\.json.*a folder lies there"):
        write_release(made, folder / "out")
    taken.rmdir()
    taken.write_bytes(content)
    assert files_in(folder / "out") == before
    (folder / "file").write_text("in the way")
    for place in ("file", "file/below"):
        with pytest.raises(FileNotWritten, match=place):
            write_release(made, folder / place)
    shutil.rmtree(folder / "out" / EVIDENCE)
    (folder / "out" / EVIDENCE).write_text("in the way")
    with pytest.raises(FileNotWritten, match=EVIDENCE):
        write_release(made, folder / "out")
    assert [each.name for each in (folder / "out").glob(".writing-*")] == []


@pytest.mark.long
def test_on_a_server_it_is_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    new_database: Callable[..., str], empty_database: str,
) -> None:  # fmt: skip
    stand_in(tmp_path, monkeypatch, book=new_database("released", empty_database))
    monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
    monkeypatch.delenv("RECONDITION_KEY", raising=False)
    done('recondition person add MR "Mara Ridd" preparer')
    done('recondition vehicle add 0007 "1967 Dunmarch Warden estate"')
    done('recondition finding add 0007 bonnet "wash swirls" --severity 2')
    assert "Edition 1." in done("recondition history make 0007 --into out")
    assert (tmp_path / "files.key").exists()
    first = files_in(tmp_path / "out")
    assert "Edition 1." in done("recondition history make 0007 --into out")
    assert files_in(tmp_path / "out") == first
    done('recondition finding add 0007 roof "chip" --severity 1')
    assert "Edition 2." in done("recondition history make 0007 --into out")
    assert checked(tmp_path / "out").holds
