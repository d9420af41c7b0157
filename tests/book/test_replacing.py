"""Restoring in the place of a book: it is set aside whole, nobody writes in it, none is lost."""

from __future__ import annotations

import os
import sqlite3
import sys
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from recondition.book import aside, engine
from recondition.book.backup import backup, restore_instead
from recondition.book.check import check
from recondition.book.copying import NotCopied
from recondition.book.engine import named_book, open_book
from recondition.book.errors import BookExists, BookInUse, NoBook, NotABook
from recondition.book.packing import BadBackup
from tests.book.make import FilledBook, add, charge, counted

if TYPE_CHECKING:
    from pathlib import Path

NO_DATABASE = b"SQLite format 3\0" + b"no database at all" * 500


@pytest.fixture
def later(whole: FilledBook, tmp_path: Path) -> Path:
    """Give a backup of the filled book, in which another line was posted since."""
    backup(whole.book, tmp_path / "book.backup")
    add(whole.book, "charge", "L-9", charge(whole.ids["0007"]))
    return tmp_path / "book.backup"


def lying(whole: FilledBook) -> Path:
    assert whole.book.path is not None
    return whole.book.path


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_the_old_book_lies_aside_whole_with_its_files(
    whole: FilledBook, later: Path, tmp_path: Path
) -> None:
    (tmp_path / "whole.sqlite.key").write_text("the shop's own")
    records = counted(whole.book)
    book, old = restore_instead(later, str(whole.book.path))
    assert old is not None
    assert names(tmp_path) == {
        "book.backup", "whole.sqlite", "whole.sqlite.files", "whole.sqlite.key",
        old.name, f"{old.name}.files",
    }  # fmt: skip
    assert old.name.startswith("whole.sqlite.replaced-")
    before = open_book(str(old))
    assert (counted(before), counted(book)) == (records, records - 1)
    assert check(before).damages == check(book).damages == []


def test_where_no_book_lies_it_is_an_ordinary_restore(later: Path, tmp_path: Path) -> None:
    book, old = restore_instead(later, tmp_path / "free.sqlite")
    assert old is None
    assert check(book).damages == []


def test_a_damaged_backup_leaves_the_book_where_it_is(
    whole: FilledBook, later: Path, tmp_path: Path
) -> None:
    later.write_bytes(later.read_bytes()[:-500])
    before = names(tmp_path)
    with pytest.raises(BadBackup):
        restore_instead(later, str(whole.book.path))
    assert names(tmp_path) == before
    assert check(whole.book).damages == []


def test_it_is_refused_while_somebody_is_at_work(
    whole: FilledBook, later: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(aside, "BUSY_SECONDS", 0.2)
    before = names(tmp_path)
    with whole.book.writing() as conn:
        conn.exec_driver_sql("SELECT 1")
        with pytest.raises(BookInUse):
            restore_instead(later, str(whole.book.path))
    with whole.book.reading() as conn:
        conn.exec_driver_sql("SELECT count(*) FROM record")
        with pytest.raises(BookInUse):
            restore_instead(later, str(whole.book.path))
    assert names(tmp_path) - {"whole.sqlite-wal", "whole.sqlite-shm"} == before - {
        "whole.sqlite-wal", "whole.sqlite-shm"
    }  # fmt: skip
    add(whole.book, "charge", "L-10", charge(whole.ids["0007"]))
    assert check(whole.book).damages == []


def test_whoever_opened_the_old_book_before_cannot_write_in_it_afterwards(
    whole: FilledBook, later: Path
) -> None:
    with closing(sqlite3.connect(str(whole.book.path), isolation_level=None)) as straggler:
        book, old = restore_instead(later, str(whole.book.path))
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            straggler.execute("PRAGMA journal_mode=WAL")
        straggler.execute("BEGIN IMMEDIATE")
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            straggler.execute("UPDATE entity SET ref = 'lost' WHERE ref = 'L-2'")
        straggler.execute("ROLLBACK")
    assert check(book).damages == check(open_book(str(old))).damages == []


def test_what_is_no_database_any_more_is_set_aside_too(later: Path, tmp_path: Path) -> None:
    damaged = tmp_path / "damaged.sqlite"
    damaged.write_bytes(NO_DATABASE)
    book, old = restore_instead(later, damaged)
    assert old is not None
    assert old.read_bytes() == NO_DATABASE
    assert check(book).damages == []


def test_what_never_was_a_book_is_not_set_aside(later: Path, tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear owner, the car is ready.")
    with pytest.raises(NotABook, match="does not begin as one"):
        restore_instead(later, letter)
    assert letter.read_text() == "Dear owner, the car is ready."


def test_a_book_lies_there_at_every_moment(whole: FilledBook, later: Path) -> None:
    """Whatever kills it, the old book or the new one has the name."""
    path, found, on = lying(whole), [True], [True]

    def looking(name: str, _: object) -> None:
        if on and name in ("os.rename", "os.link", "os.remove", "open"):
            found.append(path.exists())

    sys.addaudithook(looking)
    book, old = restore_instead(later, path)
    on.clear()
    assert len(found) > 10
    assert all(found)
    assert old is not None
    assert not path.samefile(old)
    assert check(book).damages == []


def test_where_a_medium_knows_no_second_names_it_is_renamed(
    whole: FilledBook, later: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unknown(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", unknown)
    book, old = restore_instead(later, lying(whole))
    assert check(book).damages == check(open_book(str(old))).damages == []


def test_a_book_that_is_gone_and_lies_aside_is_named(whole: FilledBook, tmp_path: Path) -> None:
    lying(whole).rename(tmp_path / "whole.sqlite.replaced-20310304T050607Z")
    with pytest.raises(NoBook) as refused:
        open_book(str(whole.book.path))
    assert "whole.sqlite.replaced-20310304T050607Z: rename it" in refused.value.todo


def test_what_fails_on_the_way_puts_the_old_book_back(
    whole: FilledBook, later: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    records, path = counted(whole.book), tmp_path / "whole.sqlite"
    before = names(tmp_path)

    def full(*_: object) -> None:
        message = "No space left on device"
        raise OSError(message)

    monkeypatch.setattr(aside, "sync_file", full)
    with pytest.raises(NotCopied, match="No space"):
        restore_instead(later, path)
    monkeypatch.undo()
    assert names(tmp_path) - {"whole.sqlite-wal", "whole.sqlite-shm"} <= before
    assert counted(named_book(str(path), engine.files_of(str(path)))) == records


def test_what_somebody_made_there_meanwhile_stays(
    whole: FilledBook, later: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    records, path, moved = counted(whole.book), lying(whole), aside.sync_folder

    def taken(folder: Path) -> None:
        moved(folder)
        path.unlink()
        path.write_text("somebody else's")

    monkeypatch.setattr(aside, "sync_folder", taken)
    with pytest.raises(BookExists) as refused:
        restore_instead(later, path)
    monkeypatch.undo()
    assert path.read_text() == "somebody else's"
    (old,) = tmp_path.glob("whole.sqlite.replaced-*Z")
    assert f"lies at {old}" in refused.value.todo
    assert counted(open_book(str(old))) == records
    assert check(open_book(str(old))).damages == []
