"""Backup and restore: the round trip with files, and everything that is refused."""

from __future__ import annotations

import json
import shutil
import stat
import struct
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import text

from recondition.book import backup as backups
from recondition.book import reading
from recondition.book.backup import DamagedNotBackedUp, NoBackup, backup, copy_beside, restore
from recondition.book.check import against, check
from recondition.book.copying import KeptFileMissing, NotCopied, copy_database
from recondition.book.engine import open_book
from recondition.book.errors import BookExists, BookNotReadable, NoFolder
from recondition.book.kinds import KINDS
from recondition.book.packing import BadBackup, NoRoom
from recondition.book.sealing import seal
from recondition.ledger.chain import Head
from tests.book.make import FilledBook, add, charge
from tests.places import copied_book, opened

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Stored


def everything(book: Book) -> list[Stored[object]]:
    with book.reading() as conn:
        return reading.stored(conn, *KINDS)


def kept_files(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.rglob("*") if file.is_file()}


@pytest.fixture(scope="module")
def packed(filled_folder: tuple[Path, Any], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("packed")
    book = opened(copied_book(filled_folder[0] / "book.sqlite", folder / "book.sqlite"))
    assert backup(book, folder / "book.backup") == 1
    book.close()
    assert {path.name for path in folder.iterdir()} - {"book.sqlite"} == {
        "book.sqlite.files", "book.backup"
    }  # fmt: skip
    return folder / "book.backup"


@pytest.fixture
def archive(packed: Path, tmp_path: Path) -> Path:
    """Give a backup of what the filled book holds."""
    return Path(shutil.copy(packed, tmp_path / "book.backup"))


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
    (tmp_path / "left.sqlite-wal").write_bytes(b"of a book that is gone")
    with pytest.raises(BookExists, match="left"):
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


def test_only_its_owner_can_read_a_backup(packed: Path) -> None:
    assert stat.S_IMODE(packed.stat().st_mode) == 0o600


def modes(folder: Path) -> set[int]:
    return {stat.S_IMODE(file.stat().st_mode) for file in folder.rglob("*") if file.is_file()}


def test_what_is_restored_is_its_owners_alone(archive: Path, tmp_path: Path) -> None:
    restored = restore(archive, tmp_path / "again.sqlite")
    assert restored.path is None or stat.S_IMODE(restored.path.stat().st_mode) == 0o600
    assert modes(restored.files) == {0o600}


def test_a_copy_beside_a_book_is_open_to_as_many(whole: FilledBook) -> None:
    if whole.book.path is not None:
        whole.book.path.chmod(0o640)
    mode = stat.S_IMODE(copy_beside(whole.book, "upgrade").stat().st_mode)
    assert mode == (0o600 if whole.book.path is None else 0o640)


@pytest.mark.long
def test_what_is_to_be_sealed_is_never_readable_beside_its_place(
    whole: FilledBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    seen: list[list[str]] = []

    def noting(plain: Path, to: Path, passphrase: str) -> None:
        seal(plain, to, passphrase)
        seen.append(sorted(path.name for path in stick.rglob("*") if path.is_file()))

    monkeypatch.setattr(backups, "seal", noting)
    backup(whole.book, stick / "book.backup", "by the weir")
    assert seen == [["lock"]]
    assert modes(stick) == {0o600}
    assert restore(stick / "book.backup", tmp_path / "again.sqlite", lambda: "by the weir")


def test_heads_that_are_not_the_books_are_found(archive: Path, tmp_path: Path) -> None:
    rewritten(archive, lambda members: members.update({"heads.json": b'[["shop", 3, "00"]]'}))
    with pytest.raises(BadBackup, match="its chain heads are not those"):
        restore(archive, tmp_path / "again.sqlite")


def with_members(archive: Path, change: Callable[[zipfile.ZipInfo], None], name: str) -> None:
    """Add one more member to a backup, made as no backup of ours is."""
    info = zipfile.ZipInfo(name)
    change(info)
    with zipfile.ZipFile(archive, "a") as packed:
        packed.writestr(info, b"more")


def a_link(archive: Path) -> None:
    def linked(info: zipfile.ZipInfo) -> None:
        info.external_attr = (stat.S_IFLNK | 0o777) << 16

    with_members(archive, linked, f"files/{'a' * 64}")


def packed_otherwise(archive: Path) -> None:
    def otherwise(info: zipfile.ZipInfo) -> None:
        info.compress_type = zipfile.ZIP_LZMA

    with_members(archive, otherwise, f"files/{'a' * 64}")


def twice(archive: Path) -> None:
    with pytest.warns(UserWarning, match="Duplicate"):
        with_members(archive, lambda _: None, "heads.json")


def with_a_password(archive: Path) -> None:
    """Say in the list and before each member that it is encrypted."""
    content = archive.read_bytes()
    for mark, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        parts = content.split(mark)
        content = mark.join([parts[0], *(part[: at - 4] + b"\x01" + part[at - 3 :]
                                         for part in parts[1:])])  # fmt: skip
    archive.write_bytes(content)


def with_a_long_list(archive: Path) -> None:
    """Say of the list of contents that it takes four thousand million bytes."""
    content = archive.read_bytes()
    at = content.rindex(b"PK\x05\x06") + 12
    archive.write_bytes(content[:at] + struct.pack("<L", 0xFFFFFFF0) + content[at + 4 :])


def deep(archive: Path) -> None:
    rewritten(archive, lambda members: members.update({"made.json": b"[" * 100_000}))


def no_list(archive: Path) -> None:
    rewritten(archive, lambda members: members.update({"heads.json": b"5"}))


def no_heads(archive: Path) -> None:
    rewritten(archive, lambda members: members.update({"heads.json": b'[1, ["a", "b"]]'}))


@pytest.mark.parametrize(
    "trick",
    [a_link, packed_otherwise, twice, with_a_password, with_a_long_list, deep, no_list, no_heads],
)
def test_a_zip_made_to_harm_is_refused_and_leaves_nothing(
    archive: Path, tmp_path: Path, trick: Callable[[Path], None]
) -> None:
    trick(archive)
    before = {path.name for path in tmp_path.rglob("*")}
    with pytest.raises(BadBackup, match="is not a whole backup"):
        restore(archive, tmp_path / "again.sqlite")
    assert {path.name for path in tmp_path.rglob("*")} == before


@pytest.mark.parametrize(
    "name",
    ["/etc/recondition", "..\\up", "C:\\book", "files/", f"FILES/{'a' * 64}", "book.sqlite/"],
)
def test_a_name_that_no_backup_has_is_refused(archive: Path, tmp_path: Path, name: str) -> None:
    with_members(archive, lambda _: None, name)
    with pytest.raises(BadBackup, match="a file in it is called"):
        restore(archive, tmp_path / "again.sqlite")
    assert [path.name for path in tmp_path.iterdir()] == ["book.backup"]


def test_a_backup_that_grows_to_more_than_the_disk_is_refused_before_it_grows(
    archive: Path, tmp_path: Path
) -> None:
    """What grows past what it declares is cut there by the library, and its checksum is wrong."""
    size, beyond = archive.stat().st_size, 9 * 1024**4
    content = bytearray(archive.read_bytes())
    at = content.rindex(b"PK\x01\x02")
    extra = struct.pack("<HHQ", 1, 8, beyond)
    content[at + 24 : at + 28] = b"\xff" * 4
    struct.pack_into("<H", content, at + 30, len(extra))
    (named,) = struct.unpack_from("<H", content, at + 28)
    content[at + 46 + named : at + 46 + named] = extra
    end = content.rindex(b"PK\x05\x06")
    (listed,) = struct.unpack_from("<L", content, end + 12)
    struct.pack_into("<L", content, end + 12, listed + len(extra))
    archive.write_bytes(content)
    assert archive.stat().st_size == size + len(extra)
    before = set(tmp_path.rglob("*"))
    with pytest.raises(NoRoom, match="holds 9,"):
        restore(archive, tmp_path / "again.sqlite")
    assert set(tmp_path.rglob("*")) == before


def test_a_backup_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NoBackup, match="no backup at"):
        restore(tmp_path / "none", tmp_path / "again.sqlite")


def test_a_place_that_is_not_there_is_refused(
    whole: FilledBook, archive: Path, tmp_path: Path
) -> None:
    with pytest.raises(NotCopied):
        backup(whole.book, tmp_path / "no folder" / "book.backup")
    with pytest.raises(NoFolder):
        restore(archive, tmp_path / "no folder" / "again.sqlite")
    with pytest.raises((NotCopied, BookNotReadable)):  # from a server it is made as a book is
        copy_database(whole.book, tmp_path / "no folder" / "copy.sqlite")


def test_a_damaged_book_is_not_backed_up(whole: FilledBook, tmp_path: Path) -> None:
    with whole.book.writing() as conn:
        conn.execute(text("UPDATE entity SET ref = 'L-2b' WHERE ref = 'L-2'"))
    with pytest.raises(DamagedNotBackedUp, match="L-2b") as refused:
        backup(whole.book, tmp_path / "damaged.backup")
    assert refused.value.exit_status == 3
    (kept,) = [file for file in whole.book.files.rglob("*") if file.is_file()]
    kept.unlink()
    with pytest.raises(KeptFileMissing, match=r"file of the document .* is missing"):
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
