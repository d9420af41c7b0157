"""Backup, restore, rehearsal and copy, as typed."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest

from recondition.book.check import check
from recondition.book.engine import open_book
from tests.cli.test_history_terminal import at_a_terminal
from tests.golden import masked
from tests.places import place
from tests.running import done, run

# The blank behind a question comes once nothing is shown of what is typed.
NEW, AGAIN = "Passphrase for the backup: ", "Repeat for confirmation: "
ASKED = "Passphrase of the backup: "
PARKED = 'recondition post charge 0007 15 "parking" --no-finding-because storage'


@pytest.mark.usefixtures("shop")
def test_a_rehearsal_says_what_is_in_it_and_what_would_be_lost() -> None:
    done("recondition backup shop.backup")
    said = done("recondition rehearse shop.backup")
    assert "It can be restored" in said
    assert "has no record that the backup has not" in said
    done(PARKED)
    assert "has 1 record more" in done("recondition rehearse shop.backup")
    found = json.loads(done("recondition rehearse shop.backup --json"))
    assert (found["newer_in_the_book"], found["damage"], found["another_history"]) == (1, [], [])
    assert found["records"] > found["chains"] > found["files"] > 0
    said = done("recondition rehearse shop.backup --book nowhere.book")
    assert "It was compared with no book: " in said


@pytest.mark.usefixtures("shop")
def test_a_rehearsal_of_a_newer_backup_ends_with_3() -> None:
    done("recondition backup early.backup")
    done("recondition restore early.backup --book early.sqlite")
    done(PARKED)
    done("recondition backup shop.backup")
    ran = run("recondition rehearse shop.backup --book early.sqlite")
    assert ran.status == 3
    assert "Lacking: the backup has 1 record that the book lacks" in ran.out
    assert "where: vehicle 0007\n  do: Is --book the book" in ran.out


@pytest.mark.usefixtures("shop")
def test_a_plain_backup_is_said_to_be_so_where_a_passphrase_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("RECONDITION_PASSPHRASE", "by the weir")
    assert "It is not encrypted" in done("recondition backup shop.backup")


@pytest.mark.usefixtures("shop")
def test_a_damaged_backup_ends_a_rehearsal_with_3() -> None:
    done("recondition backup shop.backup")
    content = Path("shop.backup").read_bytes()
    Path("shop.backup").write_bytes(content[:-1000])
    ran = run("recondition rehearse shop.backup")
    assert ran.status == 3
    assert "Damage: shop.backup is not a whole backup" in ran.out
    ran = run("recondition rehearse shop.backup --json")
    assert (ran.status, len(json.loads(ran.out)["damage"])) == (3, 1)
    assert run("recondition rehearse nowhere.backup").status == 2


@pytest.mark.usefixtures("shop")
def test_a_restore_takes_the_place_of_a_book_only_if_told_so() -> None:
    done("recondition backup shop.backup")
    said = done("recondition restore shop.backup --book back.sqlite")
    assert "Its documents lie in back.sqlite.files." in said
    assert "put the old key file at back.sqlite.key; without it the next sheet has" in said
    Path("file.sqlite.key").write_text("the old one")
    said = done("recondition restore shop.backup --book file.sqlite --replace")
    assert "key" not in said
    ran = run("recondition restore shop.backup --book back.sqlite")
    assert ran.status == 2
    assert "already" in ran.err
    assert "With --replace the book that lies there is set aside" in ran.err


def test_the_book_that_was_there_lies_aside(shop: Path) -> None:
    done("recondition backup shop.backup")
    back = str(shop / "back.sqlite")
    done(f"recondition restore shop.backup --book {back}")
    said = done(f"recondition restore shop.backup --book {back} --replace")
    (aside,) = [line.split(" lies at ")[1] for line in said.splitlines() if "was there" in line]
    assert Path(aside.rstrip(".")).is_file()
    assert "No damage" in done(f"recondition check --book {back}")


@pytest.mark.usefixtures("shop")
def test_a_passphrase_is_asked_for_at_a_terminal_only() -> None:
    ran = run("recondition backup shop.backup --encrypt")
    assert ran.status == 2
    assert "RECONDITION_PASSPHRASE" in ran.err
    assert not Path("shop.backup").exists()


@pytest.mark.long
@pytest.mark.usefixtures("shop")
def test_an_encrypted_backup_is_restored_with_its_passphrase(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    status, shown = at_a_terminal(
        "recondition backup shop.backup --encrypt", (NEW, "by the weir"), (AGAIN, "by the weir")
    )
    assert (status, "it is encrypted" in shown, "weir" in shown) == (0, True, False), shown
    with zipfile.ZipFile("shop.backup") as archive:
        assert sorted(archive.namelist()) == ["backup.age", "key.age"]
    status, shown = at_a_terminal("recondition rehearse shop.backup", (ASKED, "at the mill"))
    assert status == 2
    assert "the passphrase does not fit" in shown
    monkeypatch.setenv("RECONDITION_PASSPHRASE", "by the weir")
    done("recondition restore shop.backup --book back.sqlite")


def test_a_copy_says_what_was_compared(shop: Path) -> None:
    done("recondition backup shop.backup")
    done("recondition restore shop.backup --book back.sqlite")
    said = masked(done(f"recondition book copy {place('back.sqlite')} copy.sqlite"), shop)
    assert said.startswith("The copy lies at copy.sqlite. Compared: ")
    assert "put the old key file at" in said
    assert check(open_book("copy.sqlite")).damages == []
