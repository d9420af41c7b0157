"""Backup and restore of an SQLite book: one file with the book, its files and its heads.

A backup is made while others write (SQLite's own online copy), verified after writing, and
appears whole or not at all. Restoring never overwrites anything.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import select

from recondition.book import reading, schema
from recondition.book.check import check
from recondition.book.engine import Book, files_of, open_any, upgrade_book, version_of
from recondition.book.errors import BookExists, NotABook
from recondition.book.files import place_of
from recondition.book.tables import stored_file
from recondition.errors import Refused

_BOOK, _HEADS, _FILES = "book.sqlite", "heads.json", "files/"


class OnlySqlite(Refused):
    """A backup of this kind is for SQLite books."""

    def __init__(self) -> None:
        """Say what to do for a PostgreSQL book."""
        super().__init__(
            "this backup copies SQLite books, and the book is on PostgreSQL",
            todo="Use the server's own backup, together with the folder of files.",
        )


class BadBackup(Refused):
    """A file that is not a whole backup."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong with it."""
        super().__init__(f"{path} is not a whole backup: {why}", todo="Take another backup file.")


class NotCopied(Refused):
    """A backup or copy that could not be made or laid out."""

    def __init__(self, to: Path, why: Exception) -> None:
        """Name the file and what the system said, without names of its own temporary files."""
        said = getattr(why, "strerror", None) or str(why)
        super().__init__(
            f"{to} could not be written: {said}",
            todo="The book was left as it is. Check the folder and the free space; where a kept "
            "file of the book is missing, 'recondition check' names it.",
        )


def copy_database(book: Book, to: Path) -> None:
    """Copy an SQLite book's database into a new file while others may write.

    Raises OnlySqlite, NotCopied.
    """
    if book.path is None:
        raise OnlySqlite
    try:
        with closing(sqlite3.connect(book.path)) as source, closing(sqlite3.connect(to)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as error:
        raise NotCopied(to, error) from error


def backup(book: Book, to: Path) -> int:
    """Write a backup; give how many files it holds.

    Raises OnlySqlite, BookExists, NotCopied, BadBackup.
    """
    if to.exists():
        raise BookExists(str(to))
    try:
        with tempfile.TemporaryDirectory(dir=to.absolute().parent, prefix=".backup-") as folder:
            packed, count = _pack(book, Path(folder), to)
            _unpack(packed, Path(folder) / "book", to).close()
            packed.replace(to)
    except OSError as error:
        raise NotCopied(to, error) from error
    return count


def _pack(book: Book, folder: Path, to: Path) -> tuple[Path, int]:
    """Pack a copy of the book, its heads and its files; give the file and how many files.

    ``to`` is what it will be called. Raises NotCopied where a kept file is missing.
    """
    database, packed = folder / _BOOK, folder / "packed"
    copy_database(book, database)
    copied = open_any(str(database))
    with copied.reading() as conn:
        heads = [[head.subject, head.count, head.hash] for head in reading.heads(conn)]
        hashes = sorted(set(conn.execute(select(stored_file.c.sha256)).scalars()))
    copied.close()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.write(database, _BOOK)
        archive.writestr(_HEADS, json.dumps(heads))
        for sha256 in hashes:
            kept = place_of(book.files, sha256)
            if not kept.is_file():
                raise NotCopied(to, FileNotFoundError(f"the kept file {sha256} is not there"))
            archive.write(kept, _FILES + sha256)
    return packed, len(hashes)


def _unpack(packed: Path, to: Path, name: Path) -> Book:
    """Lay a backup out at a new place and check it there. Raises BadBackup.

    Its files go beside it wherever the open book's files lie, so that nothing but the backup
    is looked at. A backup of an older schema is brought to the newest one.
    """
    try:
        with zipfile.ZipFile(packed) as archive:
            if archive.testzip() is not None or _BOOK not in archive.namelist():
                raise BadBackup(name, "its contents do not match their checksums")
            with archive.open(_BOOK) as source, to.open("wb") as target:
                shutil.copyfileobj(source, target)
            book = replace(open_any(str(to)), files=Path(f"{to}.files"))
            for member in archive.namelist():
                if member.startswith(_FILES):
                    _unpack_file(archive, member, book.files, name)
        if version_of(book) != schema.NEWEST:
            upgrade_book(book)
        damages = check(book).damages
    except (OSError, zipfile.BadZipFile, zlib.error, NotABook) as error:
        raise BadBackup(name, str(error)) from error
    if damages:
        raise BadBackup(name, f"{damages[0].what} ({damages[0].where})")
    return book


def _unpack_file(archive: zipfile.ZipFile, member: str, folder: Path, name: Path) -> None:
    """Lay one kept file in its place; its name must be a hash and nothing else."""
    sha256 = member.removeprefix(_FILES)
    if len(sha256) != 64 or not all(sign in "0123456789abcdef" for sign in sha256):  # noqa: PLR2004
        raise BadBackup(name, f"a file in it is called {member!r}")
    place = place_of(folder, sha256)
    place.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(member) as source, place.open("wb") as target:
        shutil.copyfileobj(source, target)


def restore(packed: Path, to: Path) -> Book:
    """Lay a backup out as a new book and check it. Raises BookExists, BadBackup, NotCopied.

    The book appears at its place only after the check; an existing one is never touched.
    Where several books share a folder of files, those of the backup join it.
    """
    files = files_of(str(to))
    if to.exists() or (files.exists() and files == Path(f"{to}.files")):
        raise BookExists(str(to))
    if not packed.is_file():
        raise BadBackup(packed, "there is no such file")
    try:
        with tempfile.TemporaryDirectory(dir=to.absolute().parent, prefix=".restore-") as folder:
            book = _unpack(packed, Path(folder) / "book", packed)
            book.close()
            _move_files(book.files, files)
            Path(folder, "book").replace(to)
    except OSError as error:
        raise NotCopied(to, error) from error
    return open_any(str(to))


def _move_files(source: Path, to: Path) -> None:
    """Move kept files into a folder of files; one that is there already stays."""
    for file in sorted(source.rglob("*")):
        place = place_of(to, file.name)
        if file.is_file() and not place.exists():
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.move(file, place)


def upgrade_with_copy(book: Book) -> Path | None:
    """Copy an SQLite book beside itself, then upgrade it; give where the copy lies."""
    copy = None
    if book.path is not None:
        stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
        copy = book.path.with_name(f"{book.path.name}.before-upgrade-{stamp}")
        copy_database(book, copy)
    upgrade_book(book)
    return copy
