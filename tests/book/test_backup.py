"""Backup and restore: the round trip with files, and everything that is refused."""

from __future__ import annotations

import json
import zipfile
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from recondition.book import reading
from recondition.book.backup import BadBackup, NotCopied, OnlySqlite, backup, copy_database, restore
from recondition.book.check import against, check
from recondition.book.engine import open_book
from recondition.book.errors import BookExists
from recondition.book.kinds import KINDS
from recondition.ledger.chain import Head
from tests.book.make import FilledBook, add, charge

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Stored


def everything(book: Book) -> list[Stored[object]]:
    with book.reading() as conn:
        return reading.stored(conn, *KINDS)


def kept_files(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.rglob("*") if file.is_file()}


@pytest.fixture
def archive(whole: FilledBook, tmp_path: Path) -> Path:
    to = tmp_path / "book.backup"
    assert backup(whole.book, to) == 1
    return to


def test_a_book_comes_back_whole_with_its_files(
    whole: FilledBook, archive: Path, tmp_path: Path
) -> None:
    restored = restore(archive, tmp_path / "again.sqlite")
    assert everything(restored) == everything(whole.book)
    assert kept_files(restored.files) == kept_files(whole.book.files) != {}
    assert check(restored).counts == check(whole.book).counts
    assert check(restored).damages == []
    add(restored, "charge", "L-9", charge(whole.ids["0007"]))
    assert len(everything(restored)) == len(everything(whole.book)) + 1


def test_nothing_else_is_left_behind(archive: Path, tmp_path: Path) -> None:
    before = {path.name for path in tmp_path.iterdir()}
    restore(archive, tmp_path / "again.sqlite").close()
    added = {path.name for path in tmp_path.iterdir()} - before
    assert added == {"again.sqlite", "again.sqlite.files"}
    assert not [name for name in before if name.startswith(".")]


def test_a_backup_carries_the_heads(whole: FilledBook, archive: Path) -> None:
    with whole.book.reading() as conn:
        heads = reading.heads(conn)
    with zipfile.ZipFile(archive) as packed:
        noted = [Head(*head) for head in json.loads(packed.read("heads.json"))]
    assert noted == heads
    add(whole.book, "charge", "L-9", charge(whole.ids["0007"]))
    assert against(whole.book, noted).damages == []


def test_neither_backup_nor_restore_overwrites(
    whole: FilledBook, archive: Path, tmp_path: Path
) -> None:
    before = archive.read_bytes()
    with pytest.raises(BookExists):
        backup(whole.book, archive)
    with pytest.raises(BookExists):
        restore(archive, whole.book.path or tmp_path)
    (tmp_path / "left.sqlite.files").mkdir()
    with pytest.raises(BookExists):
        restore(archive, tmp_path / "left.sqlite")
    assert archive.read_bytes() == before
    assert check(whole.book).damages == []


def cut(archive: Path) -> None:
    archive.write_bytes(archive.read_bytes()[:-200])


def flip(archive: Path) -> None:
    content = bytearray(archive.read_bytes())
    content[len(content) // 3] ^= 0xFF
    archive.write_bytes(content)


def other_words(archive: Path) -> None:
    archive.write_text("Dear owner, the car is ready.")


def rewritten(archive: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    """Write a backup again, well-formed, with other contents."""
    with zipfile.ZipFile(archive) as old:
        members = {name: old.read(name) for name in old.namelist()}
    change(members)
    with zipfile.ZipFile(archive, "w") as new:
        for name, content in members.items():
            new.writestr(name, content)


def without_book(archive: Path) -> None:
    rewritten(archive, lambda members: members.__delitem__("book.sqlite"))


def with_other_book(archive: Path) -> None:
    rewritten(archive, lambda members: members.update({"book.sqlite": b"Dear owner" * 99}))


def half_a_book(archive: Path) -> None:
    def halve(members: dict[str, bytes]) -> None:
        members["book.sqlite"] = members["book.sqlite"][: len(members["book.sqlite"]) // 2]

    rewritten(archive, halve)


def without_a_file(archive: Path) -> None:
    def drop(members: dict[str, bytes]) -> None:
        del members[next(name for name in members if name.startswith("files/"))]

    rewritten(archive, drop)


def with_a_file_elsewhere(archive: Path) -> None:
    rewritten(archive, lambda members: members.update({"files/../../escaped": b"x"}))


@pytest.mark.parametrize(
    "damage",
    [cut, flip, other_words, without_book, with_other_book, half_a_book, without_a_file,
     with_a_file_elsewhere],
)  # fmt: skip
def test_a_damaged_backup_is_refused_and_leaves_nothing(
    archive: Path, tmp_path: Path, damage: Callable[[Path], None]
) -> None:
    damage(archive)
    before = {path.name for path in tmp_path.rglob("*")}
    with pytest.raises(BadBackup, match="is not a whole backup"):
        restore(archive, tmp_path / "again.sqlite")
    assert {path.name for path in tmp_path.rglob("*")} == before


def test_a_backup_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadBackup, match="no such file"):
        restore(tmp_path / "none", tmp_path / "again.sqlite")


def test_a_place_that_is_not_there_is_refused(
    whole: FilledBook, archive: Path, tmp_path: Path
) -> None:
    with pytest.raises(NotCopied):
        backup(whole.book, tmp_path / "no folder" / "book.backup")
    with pytest.raises(NotCopied):
        restore(archive, tmp_path / "no folder" / "again.sqlite")
    with pytest.raises(NotCopied):
        copy_database(whole.book, tmp_path / "no folder" / "copy.sqlite")


def test_a_damaged_book_is_not_backed_up(whole: FilledBook, tmp_path: Path) -> None:
    with whole.book.writing() as conn:
        conn.execute(text("UPDATE entity SET ref = 'L-2b' WHERE ref = 'L-2'"))
    with pytest.raises(BadBackup, match="L-2b"):
        backup(whole.book, tmp_path / "damaged.backup")
    (kept,) = [file for file in whole.book.files.rglob("*") if file.is_file()]
    kept.unlink()
    with pytest.raises(NotCopied, match=kept.name):
        backup(whole.book, tmp_path / "damaged.backup")
    assert not (tmp_path / "damaged.backup").exists()


def test_a_backup_is_made_while_somebody_writes(whole: FilledBook, tmp_path: Path) -> None:
    """What is written and not yet kept is not in it; the writer is not disturbed."""
    before = len(everything(whole.book))
    with whole.book.writing() as conn:
        conn.execute(text("UPDATE entity SET ref = 'half done' WHERE ref = 'L-2'"))
        backup(whole.book, tmp_path / "meanwhile.backup")
        conn.execute(text("UPDATE entity SET ref = 'L-2' WHERE ref = 'half done'"))
    restored = restore(tmp_path / "meanwhile.backup", tmp_path / "again.sqlite")
    assert len(everything(restored)) == before
    assert check(restored).damages == check(whole.book).damages == []


def test_a_shared_folder_of_files_is_joined_and_never_taken(
    whole: FilledBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RECONDITION_FILES may hold the files of several books."""
    shared = tmp_path / "shared"
    whole.book.files.rename(shared)
    (shared / "other.txt").write_text("another book's")
    monkeypatch.setenv("RECONDITION_FILES", str(shared))
    book = open_book(whole.book.location)
    backup(book, tmp_path / "book.backup")
    before = kept_files(shared)
    (tmp_path / "elsewhere").mkdir()
    restored = restore(tmp_path / "book.backup", tmp_path / "elsewhere" / "again.sqlite")
    assert (restored.files, kept_files(shared)) == (shared, before)
    assert not (tmp_path / "elsewhere" / "again.sqlite.files").exists()
    assert check(restored).damages == []
    monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "new"))
    moved = restore(tmp_path / "book.backup", tmp_path / "elsewhere" / "third.sqlite")
    assert len(kept_files(moved.files)) == 1
    assert check(moved).damages == []


def test_only_an_sqlite_book_is_copied_by_us(fresh: Callable[[str], str], tmp_path: Path) -> None:
    book = open_book(fresh("postgresql"))
    with pytest.raises(OnlySqlite):
        backup(book, tmp_path / "book.backup")
    assert list(tmp_path.iterdir()) == []
