"""What checking says of what was released: proven, known, withdrawn, missing, too much."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from recondition.book import editions
from recondition.book.keys import no_passphrase
from recondition.history import folder, proof, strictly, verifying
from recondition.history import wording_proof as wp
from recondition.history.folder import (
    EVIDENCE,
    HTML,
    JSON,
    MANIFEST,
    PDF,
    RELEASED,
    WITHDRAWN,
    check_folder,
    check_one,
)
from recondition.history.proof import File
from recondition.history.signing import Signer, fingerprint_of
from recondition.history.verifying import check_html, check_json, check_manifest
from recondition.reports import checking
from recondition.reports.history_files import zip_of
from recondition.reports.history_release import write_withdrawal
from tests.history.forging import FOREIGN, signed_anew
from tests.history.released import MADE_ON, Released, released


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Released:
    """Give what was released."""
    return released(tmp_path_factory, empty_file)


@pytest.fixture
def copy(made: Released, tmp_path: Path) -> Path:
    """Give the folder of the first edition as somebody received it."""
    return shutil.copytree(made.folder, tmp_path / "received")


def test_an_untouched_folder_holds_and_says_what_is_proven(made: Released, copy: Path) -> None:
    verdict = checking.checked(copy)
    count = verdict.head["records"] if verdict.head else ""
    assert verdict.faults == []
    assert int(count) > 100
    assert verdict.unchanged == [
        f"{count} records in {JSON}",
        f"every byte of {JSON}",
        f"{count} records in {HTML}",
        f"every byte of {HTML}",
        f"10 files named in {RELEASED}",
    ]
    assert (verdict.code, verdict.fingerprint) == (made.code, made.fingerprint)
    assert not verdict.known
    assert (verdict.withdrawn, verdict.beside) == ("", [])
    said = checking.said(copy, verdict)
    assert said[0] == f"Tavorel Lisse, TL 3 004 217: edition 1, 2031-04-02. Short code {made.code}."
    assert wp.unknown_signer(made.fingerprint) in said
    assert said[-1] == wp.NOT_PROVEN


def test_packed_it_holds_as_well(made: Released, tmp_path: Path) -> None:
    packed = tmp_path / "sent.zip"
    packed.write_bytes(zip_of(File(path, content) for path, content in made.files.items()))
    verdict = checking.checked(packed)
    assert verdict == check_folder(made.files)
    assert verdict.holds


@pytest.mark.parametrize("name", [HTML, JSON])
def test_the_page_or_the_json_alone_holds(name: str, made: Released, tmp_path: Path) -> None:
    alone = tmp_path / "renamed.txt"
    alone.write_bytes(made.files[name])
    verdict = checking.checked(alone, fingerprint=made.fingerprint, code=made.code)
    assert verdict.holds
    assert verdict.known
    assert [line.rpartition(" ")[2] for line in verdict.unchanged] == ["renamed.txt"] * 2
    assert verdict.unchanged[1] == "every byte of renamed.txt"
    assert wp.known_signer(made.fingerprint) in checking.said(alone, verdict)


def test_page_json_and_manifest_give_the_same_head_and_records(made: Released) -> None:
    page, data = check_html(made.files[HTML]), check_json(made.files[JSON])
    listed = check_manifest(made.files[MANIFEST], MANIFEST)
    assert page.head == data.head == listed.head
    assert page.records == data.records
    assert [each["leaf"] for each in page.records] == [each["leaf"] for each in listed.records]
    assert not page.faults + data.faults + listed.faults
    names = [each["record"]["name"] for each in page.records]
    assert {"about", "vehicle", "finding/3", "work/1", "part/1", "measure/1", "evidence/6"} <= {
        *names
    }
    assert len(set(names)) == len(names)


def test_with_the_right_fingerprint_the_signer_is_known(made: Released, copy: Path) -> None:
    for typed in (made.fingerprint, made.fingerprint.lower().replace("-", " ")):
        verdict = checking.checked(copy, fingerprint=typed)
        assert (verdict.holds, verdict.known) == (True, True)
        assert wp.known_signer(made.fingerprint) in checking.said(copy, verdict)
    assert checking.said_json(copy, verdict)["signer"] == "known"


def test_another_fingerprint_is_a_fault(made: Released, copy: Path) -> None:
    verdict = checking.checked(copy, fingerprint=fingerprint_of(FOREIGN.public))
    assert [fault.where for fault in verdict.faults] == ["the key"]
    assert made.fingerprint in verdict.faults[0].what
    assert not verdict.known
    said = "\n".join(checking.said(copy, verdict))
    assert wp.NOT_TO_BE_TRUSTED in said
    assert wp.PROVEN not in said


def test_the_printed_code_is_held_against_the_sheet(made: Released, copy: Path) -> None:
    assert checking.checked(copy, code=made.code.lower().replace("-", "")).holds
    verdict = checking.checked(copy / HTML, code="0000-0000-0000-0000")
    assert [fault.where for fault in verdict.faults] == ["the short code"]
    assert made.code in verdict.faults[0].what


def test_a_notice_of_withdrawal_is_read(made: Released, copy: Path, tmp_path: Path) -> None:
    book = made.book(tmp_path)
    editions.withdraw(book, "HK", "0007", 1, reason="a wrong panel", on=MADE_ON)
    write_withdrawal(book, "0007", 1, copy, no_passphrase)
    book.close()
    verdict = checking.checked(copy)
    assert verdict.holds
    assert verdict.withdrawn == wp.was_withdrawn("1", "2031-04-02", "a wrong panel")
    assert verdict.withdrawn in checking.said(copy, verdict)
    second = made.folder_of("second")
    beside = check_folder(second | {WITHDRAWN: (copy / WITHDRAWN).read_bytes()})
    assert (beside.holds, beside.withdrawn) == (True, "")
    assert beside.beside == [f"{WITHDRAWN} (of another edition)"]


def notice(made: Released, signer: Signer) -> str:
    return proof.withdrawal_of(
        head=made.release["head"], edition="1", withdrawn_on="2031-05-01", reason="no",
        signer=signer,
    )  # fmt: skip


def test_a_notice_by_another_key_is_a_fault(made: Released) -> None:
    verdict = check_folder(made.files | {WITHDRAWN: notice(made, FOREIGN).encode()})
    assert [fault.where for fault in verdict.faults] == [WITHDRAWN]
    assert "another key" in verdict.faults[0].what
    assert verdict.withdrawn == ""


@pytest.mark.parametrize(("old", "new"), [("no", "yes"), ("2031-05", "2031-06"), ("1", "2")])
def test_a_notice_that_was_changed_is_a_fault(made: Released, old: str, new: str) -> None:
    changed = notice(made, FOREIGN).replace(f'"{old}', f'"{new}').encode()
    verdict = check_folder(made.files | {WITHDRAWN: changed})
    assert [fault.where for fault in verdict.faults] == [WITHDRAWN]
    assert "the signature does not fit" in verdict.faults[0].what


def test_a_file_more_is_a_fault_among_the_evidence_and_told_elsewhere(
    made: Released, copy: Path
) -> None:
    (copy / "letter.txt").write_text("Dear buyer,", encoding="utf-8")
    verdict = checking.checked(copy)
    assert verdict.holds
    assert verdict.beside == ["letter.txt"]
    assert wp.not_covered("letter.txt") in checking.said(copy, verdict)
    more = f"{EVIDENCE}007.jpg"
    (copy / more).write_bytes(made.files[f"{EVIDENCE}001.jpg"])
    verdict = checking.checked(copy)
    assert [(fault.where, fault.what) for fault in verdict.faults] == [
        (more, "it is no part of what was signed")
    ]


@pytest.mark.parametrize("name", [RELEASED, MANIFEST, HTML, PDF, JSON, f"{EVIDENCE}005.txt"])
def test_what_is_missing_is_named(name: str, made: Released) -> None:
    verdict = check_folder({path: file for path, file in made.files.items() if path != name})
    assert {fault.where for fault in verdict.faults} == {name}
    assert "it is missing" in verdict.faults[0].what


def test_an_empty_folder_holds_nothing() -> None:
    verdict = check_folder({})
    assert [fault.where for fault in verdict.faults] == [MANIFEST, RELEASED]
    assert verdict.unchanged == []


def pretty(whole: dict[str, Any]) -> bytes:
    return strictly.pretty(whole).encode()


def reordered(content: bytes, part: str) -> bytes:
    """Turn the names of the first file that a list names around: another text, the same meaning."""
    whole = strictly.read(content.decode())
    first = whole[part][0]
    whole[part][0] = dict(reversed(first.items()))
    return pretty(whole)


@pytest.mark.parametrize(
    ("name", "part"), [(RELEASED, "files"), (MANIFEST, "files"), (MANIFEST, "records")]
)
def test_the_same_written_in_another_order_is_a_fault(name: str, part: str, made: Released) -> None:
    changed = reordered(made.files[name], part)
    assert strictly.read(changed.decode()) == strictly.read(made.files[name].decode())
    verdict = check_folder(made.files | {name: changed})
    assert name in {fault.where for fault in verdict.faults}
    if name == MANIFEST:
        assert check_manifest(changed, MANIFEST).faults


def test_a_release_of_another_edition_is_named(made: Released) -> None:
    for other in ("second", "other"):
        changed = made.folder_of(other)[RELEASED]
        verdict = check_folder(made.files | {RELEASED: changed})
        assert (RELEASED, folder.OTHER_EDITION) in {(f.where, f.what) for f in verdict.faults}


@pytest.mark.parametrize("name", [HTML, JSON, MANIFEST])
def test_a_part_of_another_edition_is_named(name: str, made: Released) -> None:
    verdict = check_folder(made.files | {name: made.folder_of("second")[name]})
    assert {fault.where for fault in verdict.faults} == {name}
    assert folder.NOT_THIS_EDITION in {fault.what for fault in verdict.faults}


@pytest.mark.parametrize(("said", "to"), [("code", "0000-0000-0000-0000"), ("edition", "2")])
def test_a_release_that_the_maker_himself_signed_wrongly_is_named(
    said: str, to: str, made: Released, tmp_path: Path
) -> None:
    """Even the holder of the key cannot name another code or edition beside the same head."""
    book = made.book(tmp_path)
    from recondition.book.keys import open_key, signer  # noqa: PLC0415 - only here

    own = signer(open_key(book, no_passphrase))
    book.close()
    whole = made.release | {said: to}
    del whole["signature"]
    signed = whole | {"signature": own.signature("recondition release 1", whole)}
    verdict = check_folder(made.files | {RELEASED: pretty(signed)})
    assert {fault.where for fault in verdict.faults} == {RELEASED}


def test_the_second_edition_names_the_first(made: Released) -> None:
    first = check_json(made.files[JSON])
    second = check_json(made.folder_of("second")[JSON])
    assert first.head is not None
    assert second.head is not None
    assert second.head["supersedes"] == proof.head_hash(first.head).hex()
    assert (first.head["supersedes"], second.head["edition"]) == ("", "2")
    assert second.code != first.code


def test_made_again_unchanged_it_is_the_same_to_the_byte(made: Released, tmp_path: Path) -> None:
    from recondition.reports.history_release import Wanted, release  # noqa: PLC0415 - as above

    book = made.book(tmp_path)
    again = release(book, Wanted(vehicle="0008", made_on=MADE_ON, author="HK"), no_passphrase)
    book.close()
    assert {file.path: file.content for file in again.files} == made.folder_of("other")


def test_signed_anew_by_another_key_only_the_fingerprint_tells(made: Released) -> None:
    theirs = signed_anew(made.files, "no fault found")
    verdict = check_folder(theirs)
    assert verdict.holds
    assert verdict.fingerprint == fingerprint_of(FOREIGN.public) != made.fingerprint
    assert verdict.code != made.code
    folder.against(verdict, fingerprint=made.fingerprint)
    assert [fault.where for fault in verdict.faults] == ["the key"]
    for name, check in ((HTML, check_html), (JSON, check_json)):
        assert check(theirs[name]).faults == []
        alone = check_one(name, theirs[name])
        folder.against(alone, fingerprint=made.fingerprint, code=made.code)
        assert [fault.where for fault in alone.faults] == ["the key", "the short code"]


@pytest.mark.parametrize("name", [HTML, JSON, MANIFEST, RELEASED])
def test_one_part_signed_by_another_key_is_named(name: str, made: Released) -> None:
    theirs = signed_anew(made.files, "no fault found")
    verdict = check_folder(made.files | {name: theirs[name]})
    assert name in {fault.where for fault in verdict.faults}


def test_a_verdict_takes_the_first_head_that_it_finds() -> None:
    verdict = folder.Verdict()
    found = verifying.Found("a")
    verdict.take(found)
    assert (verdict.head, verdict.code) == (None, "")
    verdict.take(replace(found, head={"a": "b"}, key=b"k" * 32))
    verdict.take(replace(found, head={"a": "c"}, key=b"k" * 32))
    assert verdict.head == {"a": "b"}
