"""What the check command says of a damaged book, and of a file that can no longer be opened."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from recondition.book import guards
from recondition.book.check import check
from recondition.book.damage import KEPT_MAX, Examined
from tests.book.tampering import raw_file, tamper
from tests.running import run

if TYPE_CHECKING:
    from pathlib import Path

    from tests.book.make import FilledBook
    from tests.running import Ran


@pytest.fixture(params=["sqlite"])
def in_file(whole: FilledBook) -> FilledBook:
    """Give a filled book that is a file of SQLite."""
    return whole


def checked(filled: FilledBook, more: str = "") -> Ran:
    filled.book.close()
    return run(f"recondition check --book {filled.book.location} {more}")


COST = "UPDATE line SET cost_minor = 1 WHERE record_id = (SELECT id FROM entity WHERE ref = 'L-2')"


def test_damage_is_told_with_what_it_touches_and_what_to_do(in_file: FilledBook) -> None:
    tamper(in_file.book, COST)
    ran = checked(in_file)
    told = ran.out.replace("\n    ", " ")
    assert ran.status == 3
    assert "\nDamage: cost_minor is 1 here, 3998 in its chain\n  where: table line," in told
    assert "\n  touches: part L-2 of vehicle 0007; period 2031-03; released editions" in told
    assert "\n  do: The entry itself is whole in its chain; this copy of it" in told
    assert "No damage" not in told
    assert max(map(len, ran.out.splitlines())) <= 80


def test_damage_is_told_as_json_with_the_same_parts(in_file: FilledBook) -> None:
    tamper(in_file.book, COST)
    ran = checked(in_file, "--json")
    told = json.loads(ran.out)
    assert (ran.status, set(told)) == (3, {"looked_at", "damage", "more_damage", "notes"})
    assert set(told["damage"][0]) == {"what", "where", "touches", "do"}


def test_a_note_is_no_damage(in_file: FilledBook) -> None:
    (in_file.book.files / "notes.txt").write_text("by hand", encoding="utf-8")
    ran = checked(in_file)
    assert ran.status == 0
    assert "Note: files that no entry names: 1\n" in ran.out
    assert ran.out.endswith("No damage was found.\n")


def start_of(path: Path, content: bytes, at: int = 0) -> None:
    with path.open("r+b") as file:
        file.seek(at)
        file.write(content)


@pytest.mark.parametrize(
    ("content", "at"),
    [(b"\0" * 16, 0), (b"\xff" * 8, 100), (b"\x03", 59), (b"CREATE TABEL", 0)],
    ids=["no head", "no first page", "another encoding", "text"],
)
def test_a_file_that_was_a_book_and_cannot_be_opened_is_damage(
    in_file: FilledBook, content: bytes, at: int
) -> None:
    in_file.book.close()
    assert in_file.book.path is not None
    start_of(in_file.book.path, content, at)
    ran = checked(in_file)
    assert (ran.status, ran.err) == (3, "")
    assert "Damage: the database cannot be" in ran.out
    assert "empty book" not in ran.out
    assert "restore" in ran.out


def test_a_book_cut_short_is_damage(in_file: FilledBook) -> None:
    """As a copy that ended half-way: what is still there is looked at."""
    in_file.book.close()
    path = in_file.book.path
    assert path is not None
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])
    ran = checked(in_file)
    assert (ran.status, ran.err) == (3, "")


@pytest.mark.parametrize("label", ["0003", "0099", "none"])
def test_a_book_under_the_number_of_another_schema_is_damage(
    in_file: FilledBook, label: str
) -> None:
    with raw_file(in_file.book) as raw:
        raw.execute("UPDATE alembic_version SET version_num = ?", (label,))
    ran = checked(in_file)
    assert ran.status == 3
    assert f"Damage: the schema is named {label}, not" in ran.out


def test_a_file_that_never_was_a_book_is_refused_as_before(tmp_path: Path) -> None:
    other = tmp_path / "notes.txt"
    other.write_text("telephone numbers", encoding="utf-8")
    assert run(f"recondition check --book {other}").status == 2


GARBLED = {
    "text in no encoding": "UPDATE record SET canonical = CAST(x'ff00fe' AS TEXT)",
    "a blob for a text": "UPDATE record SET canonical = x'00', subject = CAST(subject AS BLOB)",
    "a number for a text": "UPDATE line SET period = 7, kind = 1.5",
    "a text for a number": "UPDATE record SET sequence = 'no ' || sequence",
    "a text for a salt": "UPDATE free_text SET salt = 'salt'",
    "a short salt": "UPDATE stored_file SET salt = x'00'",
    "signs that steer a terminal": "UPDATE entity SET ref = ref || char(27) || '[2J'",
    "a flag that is neither": "UPDATE panel SET no_touch = 7",
    "json too deep": "UPDATE record SET canonical = (SELECT replace(hex(zeroblob(20000)), '0', "
    "'['))",
    "a moment in no encoding": "UPDATE record SET recorded_at = CAST(x'ff' AS TEXT)",
    "a name in no encoding": "UPDATE entity SET id = CAST(x'ff' AS TEXT) || id",
    "heads of no number": "UPDATE chain_head SET count = 'many', hash = x'00'",
    "exports of no text": "UPDATE export_batch SET upto = '[', lines = 'many'",
}


@pytest.mark.long
@pytest.mark.parametrize("garbled", GARBLED)
def test_cells_that_hold_rubbish_are_told_and_stop_nothing(
    in_file: FilledBook, garbled: str
) -> None:
    tamper(in_file.book, GARBLED[garbled])
    ran = checked(in_file)
    assert (ran.status, ran.err) == (3, "")
    assert "Looked at" in ran.out
    assert all(sign.isprintable() or sign == "\n" for sign in ran.out)
    ran.out.encode()


@pytest.mark.parametrize("moment", ["0001-01-01T00:00:00+00:00", "9999-12-31T23:59:59+00:00"])
def test_a_moment_at_the_ends_of_time_is_told(in_file: FilledBook, moment: str) -> None:
    """Nothing can be added to such a moment, or taken off it."""
    tamper(in_file.book, f"UPDATE record SET recorded_at = '{moment}'")  # noqa: S608 - of our own making
    ran = checked(in_file)
    told = ran.out.replace("\n    ", " ")
    assert (ran.status, ran.err) == (3, "")
    assert f"it was recorded at no moment with a zone: {moment}" in told
    assert "cannot be" not in told


def test_what_was_posted_is_told_before_guards_which_are_told_together(
    in_file: FilledBook,
) -> None:
    tamper(in_file.book, COST)
    known = guards.expected("sqlite")
    with raw_file(in_file.book) as raw:
        for guard in known:
            raw.execute(f'DROP TRIGGER "{guard.name}"')
    ran = checked(in_file)
    told = ran.out.replace("\n    ", " ")
    first, *_, last = [row for row in told.splitlines() if row.startswith("Damage: ")]
    assert first.startswith("Damage: cost_minor is 1 here")
    named = ", ".join(guard.name for guard in known[:3])
    assert last == (
        f"Damage: {len(known)} guards are missing or altered: {named} ... (--json names all)"
    )
    assert told.count("guard") == 1
    all_told = json.loads(checked(in_file, "--json").out)["damage"]
    assert sum("guard" in damage["what"] for damage in all_told) == len(known)


def test_what_the_database_says_is_told_in_one_line(in_file: FilledBook) -> None:
    with raw_file(in_file.book) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        raw.execute("DELETE FROM sqlite_master WHERE name LIKE 'ix_%'")
    told = checked(in_file).out.replace("\n    ", " ")
    assert "the database reports: " in told
    assert "[U+000A]" not in told


def test_a_missing_file_says_where_it_was_looked_for_and_the_way_out(in_file: FilledBook) -> None:
    (kept,) = [path for path in in_file.book.files.rglob("*") if path.is_file()]
    kept.unlink()
    told = " ".join(checked(in_file).out.split())
    assert f"in {in_file.book.files}" in told
    way_out = "recondition person erase-text document D-1 file --ground 'the file is lost'"
    assert way_out in told
    assert run(f"{way_out} --book {in_file.book.location} --as HK").status == 0
    assert check(in_file.book).damages == []


def test_of_very_many_damages_the_first_are_listed_and_all_counted(in_file: FilledBook) -> None:
    examined = Examined()
    for number in range(KEPT_MAX + 5):
        examined.found(f"damage {number}", "here")
    assert (len(examined.damages), examined.more) == (KEPT_MAX, 5)
    tamper(in_file.book, "UPDATE free_text SET content = content || 'x'")
    found = len(check(in_file.book).damages)
    assert found > 100
    assert f"And {found - 100} damages more" in checked(in_file).out
