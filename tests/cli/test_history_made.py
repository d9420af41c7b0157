"""Making, checking and withdrawing a work history, as typed."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import editions, reading
from tests.cli.released import files_in, released
from tests.golden import masked, same_as_kept
from tests.places import copied, opened
from tests.running import done, run, stand_in

if TYPE_CHECKING:
    from tests.running import Ran

GOLDEN = Path(__file__).parent / "golden"
DAY = (
    "recondition history --help",
    "recondition history key",
    "recondition history make 0007 --into again --zip",
    "recondition history verify again",
    "recondition history verify again/work-history.zip",
    "recondition history verify out/work-history.html",
    "recondition history verify out/work-history.json --json",
    "recondition history record out/work-history.html finding/2 --into one.json",
    "recondition history verify one.json",
    "recondition history make 0008 --into trial --trial --locale en_US",
    "recondition history verify trial",
    'recondition history consent hours "the shop itself" --vehicle 0007 --given 2021-02-01',
    "recondition history consents 0007",
    "recondition history make 0007 --into next",
    'recondition history withdraw 0007 1 "the chassis was misread" --on 2031-05-01 --into out',
    "recondition history verify out",
    "recondition history editions",
    "recondition check",
)


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


def counted(text: str) -> str:
    """Mask how many records a sheet has: each word of the page adds to them."""
    return re.sub(r'\b\d+(?= records)|(?<=, one of )\d+|(?<="records": ")\d+', "<count>", text)


def test_a_work_history_goes_as_it_was_kept(folder: Path) -> None:
    ran = [run(line) for line in DAY]
    assert {(each.status, each.err) for each in ran} == {(0, "")}, "nor is a bar drawn"
    said = "".join(f"$ {line}\n{each.out}" for line, each in zip(DAY, ran, strict=True))
    same_as_kept(GOLDEN / "day-history.txt", counted(masked(said, folder)))
    again = files_in(folder / "again")
    first = files_in(folder / "out")
    assert first.pop("work-history-withdrawn.json")
    assert again == first


def refused(line: str, status: int, *words: str) -> Ran:
    """Hold that a line ends with a status, and says some words."""
    ran = run(line)
    assert ran.status == status, ran
    for each in words:
        assert each in ran.out + ran.err
    return ran


VERIFY = "recondition history verify"


def test_the_makers_fingerprint_and_the_printed_code_are_held_against_it(folder: Path) -> None:
    (row,) = json.loads(done("recondition history editions 0007 --json"))["Editions"]
    key, code = row["fingerprint"], row["code"]
    said = done(f"{VERIFY} out --fingerprint {key} --code {code}")
    assert "signer unknown" not in said
    assert key in said
    loose = done(f"{VERIFY} out --fingerprint {key.replace('-', '').lower()} --code '{code[:9]} "
                 f"{code[10:].lower()}' --json")  # fmt: skip
    assert json.loads(loose)["signer"] == "known"
    other = "0" * 4 + key[4:]
    refused(f"{VERIFY} out --fingerprint {other}", 3, "another key than the one you named", key)
    refused(f"{VERIFY} out --code 0000{code[4:]}", 3, "not that of this sheet", code)
    for wrong in (key[:-1], key + "0", "somebody", "-".join(["UUUU"] * 8)):
        refused(f"{VERIFY} out --fingerprint {wrong}", 2, f"{wrong!r} is no fingerprint")
    assert folder.is_dir()


def test_what_cannot_be_checked_is_told_from_what_was_changed(folder: Path) -> None:
    (folder / "empty").mkdir()
    (folder / "cut.zip").write_bytes((folder / "out" / "work-history.zip").read_bytes()[:-50])
    refused(f"{VERIFY} out/work-history.pdf", 1, "a PDF alone proves nothing")
    refused(f"{VERIFY} nowhere", 1, "nowhere cannot be checked: No such file or directory")
    refused(f"{VERIFY} empty", 1, "the folder is empty")
    refused(f"{VERIFY} cut.zip", 1, "it is no whole zip")
    refused(f"{VERIFY} out/work-history-evidence/004.txt", 3, "004.txt")
    refused("recondition history record out/work-history.pdf finding/1 --into a.json", 1, "a PDF")
    refused("recondition history record nowhere finding/1 --into a.json", 1, "No such file")
    assert not (folder / "a.json").exists()


def altered(folder: Path, name: str, change: Any) -> Ran:
    """Change a file of a copy of the first edition and check the copy."""
    copy = folder / "altered"
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(folder / "out", copy)
    path = copy / name
    content = change(path.read_bytes())
    path.unlink() if content is None else path.write_bytes(content)
    return run(f"{VERIFY} altered")


def flipped(content: bytes) -> bytes:
    """Change one bit in the middle."""
    middle = len(content) // 2
    return content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1 :]


def test_whatever_was_changed_ends_with_3_and_is_named(folder: Path) -> None:
    names = [name for name in files_in(folder / "out") if not name.endswith(".zip")]
    assert len(names) == 9
    for name in names:
        ran = altered(folder, name, flipped)
        assert (ran.status, ran.err) == (3, "")
        assert ran.out.startswith("altered"), ran.out
        assert f"\n  {name}: " in ran.out
        assert "Proven" not in ran.out
        gone = altered(folder, name, lambda _: None)
        assert gone.status == 3
        assert f"\n  {name}: it is missing" in gone.out
    one = files_in(folder / "out")["work-history-evidence/002.jpg"]
    swapped = altered(folder, "work-history-evidence/001.jpg", lambda _: one)
    assert swapped.status == 3
    assert "work-history-evidence/001.jpg: it was changed" in swapped.out
    told = run(f"{VERIFY} altered --json")
    found = json.loads(told.out)
    assert (told.status, found["holds"], found["unchanged"]) == (3, False, [])
    assert "work-history-evidence/001.jpg" in {fault["where"] for fault in found["faults"]}


def test_a_record_shown_alone_shows_nothing_of_the_others(folder: Path) -> None:
    done("recondition history record out/work-history.json finding/1 --into one.json")
    text = (folder / "one.json").read_text(encoding="utf-8")
    assert "wash swirls" in text
    assert "stripe" not in text
    assert "finding/1" in done(f"{VERIFY} one.json")
    (folder / "one.json").write_text(text.replace("wash swirls", "wash marks"), encoding="utf-8")
    refused(f"{VERIFY} one.json", 3, "one.json")
    page = folder / "out" / "work-history.html"
    page.write_bytes(flipped(page.read_bytes()))
    refused("recondition history record out/work-history.html finding/1 --into b.json", 1,
            "out/work-history.html cannot be checked")  # fmt: skip
    assert not (folder / "b.json").exists()


@pytest.mark.long
def test_a_hit_stops_it_until_it_is_let_pass_by_its_printed_code(folder: Path) -> None:
    done('recondition post labour 0007 1 "wing wiped, 25,000 miles" --findings F-002 '
         "--work-date 2031-02-03")  # fmt: skip
    before = files_in(folder / "out")
    stopped = refused("recondition history make 0007 --into out", 1, "amount '25,000.00 USD'",
                      "let-pass 0007 CODE REASON", "nothing was released")  # fmt: skip
    assert files_in(folder / "out") == before
    (code,) = re.findall(r"^ +(\w{8})  amount", stopped.err, re.MULTILINE)
    done(f'recondition history let-pass 0007 {code} "miles, no price"')
    assert "\nEdition 2. " in done("recondition history make 0007 --into out")
    with opened("shop.book").reading() as conn:
        (passed,) = reading.stored(conn, "let pass")
        made = editions.editions_of(conn, reading.id_of(conn, "vehicle", "0007"))
    assert [each.entry.let_pass for each in made] == [(), (passed.id,)]


def test_without_a_person_it_is_a_trial_copy(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("RECONDITION_PERSON")
    said = done("recondition history make 0008 --into trial")
    assert "A trial copy, no edition. Short code" in said
    assert "Say who releases it (--as)" in said
    (row,) = json.loads(done("recondition history editions --json"))["Editions"]
    assert row["vehicle"] == "0007"
    refused('recondition history withdraw 0007 1 "misread"', 2, "nobody is named")
    refused('recondition history let-pass 0007 abcdefgh "no price"', 2, "nobody is named")
    assert (folder / "trial" / "work-history.pdf").exists()


def test_calls_that_are_wrong(folder: Path) -> None:
    refused("recondition history make 0009 --into out", 1, "0009")
    refused("recondition history make 0007", 2, "--into")
    refused("recondition history make 0007 --into out --locale de_DE", 2, "'de_DE'")
    refused("recondition --as XX history make 0007 --into out", 2, "XX")
    refused('recondition history withdraw 0007 7 "misread"', 1, "7 of vehicle 0007")
    refused('recondition history withdraw 0007 1 " "', 2, "reason")
    refused("recondition history record out/work-history.json finding/7 --into a.json", 1,
            "finding/1, finding/2.")  # fmt: skip
    assert not (folder / "a.json").exists()
