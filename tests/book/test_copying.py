"""Copies between SQLite and PostgreSQL: equal rows, equal heads, all or nothing."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import sqlite3
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import insert, inspect, select, text

from recondition.book import copying, reading, schema
from recondition.book.backup import backup, restore, upgrade_with_copy
from recondition.book.check import against, check
from recondition.book.columns import METADATA
from recondition.book.copying import KeptFileMissing, NotCopied, copy_book, filling
from recondition.book.engine import Book, create_book, named_book, open_any, open_book
from recondition.book.errors import BookExists, NoBook, NoFolder
from recondition.book.rows import CopyDiffers
from tests.book.make import FilledBook, add, charge, shop
from tests.book.test_schema import everything

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.ledger.chain import Head
    from tests.postgres import Databases

BOTH = pytest.mark.parametrize("to", ["sqlite", pytest.param("postgresql", marks=pytest.mark.long)])

FILES = "RECONDITION_FILES"


@dataclass
class Places:
    """Gives free places of either engine, in a folder of the test's own."""

    folder: Path
    databases: Callable[[], Databases]
    made: int = 0

    def free(self, engine: str) -> str:
        """Give a place at which nothing lies."""
        self.made += 1
        if engine == "sqlite":
            return str(self.folder / f"copy{self.made}.sqlite")
        os.environ[FILES] = os.environ[FILES] or str(self.folder / "recondition.files")
        return self.databases()(f"copy{self.made}{abs(hash(self.folder))}")


@pytest.fixture
def places(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Places:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(FILES, os.environ.get(FILES, ""))  # set once a place is on a server
    return Places(tmp_path, lambda: request.getfixturevalue("new_database"))


def heads(book: Book) -> list[Head]:
    with book.reading() as conn:
        return sorted(reading.heads(conn), key=lambda head: head.subject)


def same(one: str, other: str) -> bool:
    """Tell whether two books hold the same rows and heads and are both whole."""
    first, second = open_any(one), open_any(other)
    with first.reading() as a, second.reading() as b:
        assert everything(a) == everything(b)
        assert schema.found(a) == schema.found(b)
    assert heads(first) == heads(second) != []
    return check(first).damages == check(second).damages == []


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def empty(location: str) -> bool:
    """Tell whether nothing was left at a place."""
    book = named_book(location, Path())
    if book.path is not None:
        return not book.path.exists()
    with filling(book):
        return True


def test_a_copy_holds_the_same_rows_heads_and_files(whole: FilledBook, places: Places) -> None:
    before = names(places.folder)
    found = copy_book(whole.book.location, "copy.sqlite")
    with whole.book.reading() as conn:
        records = sum(head.count for head in reading.heads(conn))
    assert (found.records, found.chains, found.files) == (records, len(heads(whole.book)), 1)
    assert same(whole.book.location, "copy.sqlite")
    assert names(places.folder) - before == {"copy.sqlite", "copy.sqlite.files"}
    copy = open_book("copy.sqlite")
    add(copy, "charge", "L-9", charge(whole.ids["0007"]))
    assert against(copy, heads(whole.book)).damages == []


@pytest.mark.long
def test_to_the_server_to_another_and_back_nothing_changes(
    whole: FilledBook, places: Places
) -> None:
    first, second = places.free("postgresql"), places.free("postgresql")
    copy_book(whole.book.location, first)
    copy_book(first, second)
    copy_book(second, "back.sqlite")
    assert same(whole.book.location, "back.sqlite")
    assert same(first, second)
    copy = open_book(second)
    add(copy, "charge", "L-9", charge(whole.ids["0007"]))
    assert against(copy, heads(whole.book)).damages == []
    with pytest.raises(Exception, match="never changed"), copy.writing() as conn:
        conn.execute(text("UPDATE line SET purpose = 'other'"))


@BOTH
def test_what_is_there_is_never_written_over(
    whole: FilledBook, places: Places, to: str, tmp_path: Path
) -> None:
    taken = places.free(to)
    create_book(taken).close()
    with pytest.raises(BookExists):
        copy_book(whole.book.location, taken)
    with open_book(taken).reading() as conn:
        assert reading.heads(conn) == []
    with pytest.raises(NoBook):
        copy_book("nowhere.sqlite", places.free("sqlite"))
    with pytest.raises(NoFolder):
        copy_book(whole.book.location, str(tmp_path / "no folder" / "copy.sqlite"))


@pytest.mark.long
def test_a_database_with_other_tables_is_not_taken(whole: FilledBook, places: Places) -> None:
    taken = named_book(places.free("postgresql"), places.folder)
    with taken.engine.begin() as conn:
        conn.execute(text("CREATE TABLE bees (name TEXT)"))
    with pytest.raises(BookExists):
        copy_book(whole.book.location, taken.location)


def tampered(whole: FilledBook, statement: str) -> None:
    """Change rows behind the guards, which are put back."""
    guards = "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'"
    with closing(sqlite3.connect(whole.book.location, isolation_level=None)) as raw:
        kept = raw.execute(guards).fetchall()
        for name, _, _ in kept:
            raw.execute(f'DROP TRIGGER "{name}"')
        raw.execute(statement)
        for _, table, sql in kept:
            if "DROP" not in statement or table != "share":
                raw.execute(sql)


DAMAGES = {
    "a text of the chain": "UPDATE record SET canonical = canonical || ' ' WHERE sequence = 2 "
    "AND subject = 'shop'",
    "a cut tail": "DELETE FROM record WHERE rowid = (SELECT rowid FROM record "
    "WHERE subject = 'shop' ORDER BY sequence DESC LIMIT 1)",
    "a head": "UPDATE chain_head SET count = count + 1 WHERE subject = 'shop'",
    "no head": "DELETE FROM chain_head WHERE subject = 'shop'",
    "a column": "UPDATE line SET cost_minor = cost_minor + 1 WHERE kind = 'labour'",
    "a text": "UPDATE free_text SET content = 'another' WHERE field = 'ref'",
    "a type": "UPDATE line SET cost_minor = 'many' WHERE kind = 'labour'",
    "a salt": "UPDATE free_text SET salt = 'salted' WHERE field = 'ref'",
    "no table": "DROP TABLE share",
    "another column": "ALTER TABLE share ADD COLUMN surplus TEXT",
}

QUICK = {"a text of the chain", "a salt", "another column"}


@pytest.mark.parametrize(
    "damage",
    [pytest.param(name, marks=[] if name in QUICK else pytest.mark.long) for name in DAMAGES],
)
def test_a_damaged_book_gives_no_copy(whole: FilledBook, places: Places, damage: str) -> None:
    tampered(whole, DAMAGES[damage])
    before = names(places.folder)
    with pytest.raises((CopyDiffers, NotCopied)):
        copy_book(whole.book.location, "copy.sqlite")
    assert names(places.folder) == before


@pytest.mark.long
@pytest.mark.parametrize("damage", ["a type", "a column"])
def test_a_damaged_book_gives_no_copy_on_a_server(
    whole: FilledBook, places: Places, damage: str
) -> None:
    tampered(whole, DAMAGES[damage])
    to, before = places.free("postgresql"), names(places.folder)
    with pytest.raises((CopyDiffers, NotCopied)):
        copy_book(whole.book.location, to)
    assert names(places.folder) == before
    assert empty(to)


@pytest.mark.long
@pytest.mark.parametrize("to", ["sqlite", "postgresql"])
def test_what_fails_on_the_way_leaves_nothing(
    whole: FilledBook, places: Places, to: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    place, before = places.free(to), names(places.folder)

    def full(*_: object) -> None:
        message = "No space left on device"
        raise OSError(message)

    for name in ("gather", "join", "copy_rows"):
        with monkeypatch.context() as patched:
            patched.setattr(copying, name, full)
            with pytest.raises(NotCopied, match="No space left"):
                copy_book(whole.book.location, place)
        assert names(places.folder) - {"recondition.files"} == before
        assert empty(place)
    (kept,) = [file for file in whole.book.files.rglob("*") if file.is_file()]
    kept.write_bytes(b"another picture")
    with pytest.raises(NotCopied, match="was changed"):
        copy_book(whole.book.location, place)
    kept.unlink()
    with pytest.raises(KeptFileMissing, match=r"file of the document .* is missing"):
        copy_book(whole.book.location, place)
    assert empty(place)


@pytest.mark.long
def test_a_shared_folder_of_files_serves_both(
    whole: FilledBook, places: Places, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The files are found beside the book, too, when the folder is named only now."""
    monkeypatch.setenv("RECONDITION_FILES", str(places.folder / "shared"))
    copy_book(whole.book.location, "copy.sqlite")
    kept = {path.name for path in (places.folder / "shared").rglob("*") if path.is_file()}
    assert len(kept) == 1
    copy_book("copy.sqlite", "third.sqlite")
    assert {p.name for p in (places.folder / "shared").rglob("*") if p.is_file()} == kept
    assert check(open_book("third.sqlite")).damages == []
    assert not (places.folder / "third.sqlite.files").exists()


def older(location: str, revision: str, whole: FilledBook) -> None:
    """Make a book of an earlier schema with what it can hold of a filled one."""
    made = named_book(location, Path())
    with whole.book.reading() as source, filling(made) as conn:
        schema.upgrade(conn, revision)
        columns = inspect(conn).get_multi_columns()
        held = {name: [c["name"] for c in found] for (_, name), found in columns.items()}
        for table in METADATA.sorted_tables:
            if table.name in held:
                some = select(*(table.c[name] for name in held[table.name]))
                rows = [dict(row) for row in source.execute(some).mappings()]
                conn.execute(insert(table), rows)
    made.close()


@pytest.mark.long
@pytest.mark.parametrize("revision", [schema.REVISIONS[0], schema.REVISIONS[-2]])
def test_an_older_book_is_copied_as_it_is_and_upgraded_there(
    whole: FilledBook, places: Places, revision: str
) -> None:
    old, there = places.free("sqlite"), places.free("postgresql")
    older(old, revision, whole)
    shutil.copytree(whole.book.files, f"{old}.files")
    assert copy_book(old, there).schema == revision
    copy = upgrade_with_copy(open_any(there))
    assert copy.absolute().parent == places.folder
    with open_any(str(copy)).reading() as one, open_any(old).reading() as other:
        assert everything(one) == everything(other)
        assert schema.found(one) == revision
    assert heads(open_book(there)) == heads(open_any(old))


@pytest.mark.long
def test_a_backup_of_one_engine_is_restored_on_the_other(
    filled: FilledBook, places: Places
) -> None:
    assert backup(filled.book, places.folder / "book.backup") == 1
    to = places.free("sqlite" if filled.book.path is None else "postgresql")
    restore(places.folder / "book.backup", to).close()
    assert same(filled.book.location, to)
    with pytest.raises(BookExists):
        restore(places.folder / "book.backup", to)


def _posts(location: str, vehicle: str, posted: Path, stop: Path) -> None:
    """Post line after line until told to stop; note each when it is kept."""
    book, number = open_book(location), 0
    with posted.open("a", encoding="utf-8") as acknowledged:
        while not stop.exists():
            number += 1
            add(book, "charge", f"W-{number}", charge(vehicle))
            acknowledged.write(f"{json.dumps(number)}\n")
            acknowledged.flush()


def posted_before(posted: Path, least: int) -> int:
    """Wait until so many lines are posted; give how many there are."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        count = len(posted.read_text(encoding="utf-8").splitlines()) if posted.exists() else 0
        if count >= least:
            return count
        time.sleep(0.02)
    raise AssertionError(least)


@pytest.mark.long
@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_a_backup_while_another_process_posts_is_the_book_at_one_moment(
    places: Places, engine: str
) -> None:
    location = places.free(engine)
    book = create_book(location)
    vehicle = shop(book).own
    book.close()
    posted, stop = places.folder / "posted", places.folder / "stop"
    writer = multiprocessing.get_context("spawn").Process(
        target=_posts, args=(location, vehicle, posted, stop)
    )
    writer.start()
    try:
        before = posted_before(posted, 3)
        backup(open_book(location), places.folder / "book.backup")
        after = posted_before(posted, before + 3)
    finally:
        stop.touch()
        writer.join(60)
    restored = restore(places.folder / "book.backup", "again.sqlite")
    with restored.reading() as conn:
        refs = {ref for ref in reading.all_refs(conn, "charge") if ref.startswith("W-")}
    assert before <= len(refs) <= after
    assert refs == {f"W-{number}" for number in range(1, len(refs) + 1)}
    assert against(open_book(location), heads(restored)).damages == []
    assert check(restored).damages == check(open_book(location)).damages == []
