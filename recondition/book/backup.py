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
from datetime import UTC, datetime
from pathlib import Path

from recondition.book import reading
from recondition.book.check import check
from recondition.book.engine import Book, open_any, upgrade_book
from recondition.book.errors import BookExists
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


def copy_database(book: Book, to: Path) -> None:
    """Copy an SQLite book's database into a new file while others may write."""
    if book.path is None:
        raise OnlySqlite
    source, target = sqlite3.connect(book.path), sqlite3.connect(to)
    try:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE")
    finally:
        target.close()
        source.close()


def backup(book: Book, to: Path) -> int:
    """Write a backup; give how many files it holds. Raises OnlySqlite, BookExists, BadBackup."""
    if to.exists():
        raise BookExists(str(to))
    with tempfile.TemporaryDirectory(dir=to.absolute().parent, prefix=".backup-") as folder:
        database = Path(folder) / _BOOK
        copy_database(book, database)
        copied = open_any(str(database))
        with copied.reading() as conn:
            heads = [[head.subject, head.count, head.hash] for head in reading.heads(conn)]
            hashes = sorted(set(conn.execute(stored_file.select()).scalars("sha256")))
        copied.close()
        packed = Path(folder) / "packed"
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.write(database, _BOOK)
            archive.writestr(_HEADS, json.dumps(heads))
            for sha256 in hashes:
                archive.write(place_of(book.files, sha256), _FILES + sha256)
        _verify(packed, to)
        packed.replace(to)
    return len(hashes)


def _verify(packed: Path, name: Path) -> None:
    """Unpack a backup beside itself and check the book in it. Raises BadBackup."""
    with tempfile.TemporaryDirectory(dir=packed.parent) as folder:
        book = _unpack(packed, Path(folder) / "book", name)
        damages = check(book).damages
        book.close()
    if damages:
        raise BadBackup(name, f"{damages[0].what} ({damages[0].where})")


def _unpack(packed: Path, to: Path, name: Path) -> Book:
    """Lay a backup's book and files out at a new place."""
    try:
        with zipfile.ZipFile(packed) as archive:
            if archive.testzip() is not None or _BOOK not in archive.namelist():
                raise BadBackup(name, "its contents do not match their checksums")
            with archive.open(_BOOK) as source, to.open("wb") as target:
                shutil.copyfileobj(source, target)
            book = open_any(str(to))
            for member in archive.namelist():
                if member.startswith(_FILES):
                    _unpack_file(archive, member, book.files, name)
    except (OSError, zipfile.BadZipFile) as error:
        raise BadBackup(name, str(error)) from error
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
    """Lay a backup out as a new book and check it. Raises BookExists, BadBackup.

    The book appears at its place only after the check; an existing one is never touched.
    """
    files = Path(f"{to}.files")
    if to.exists() or files.exists():
        raise BookExists(str(to))
    if not packed.is_file():
        raise BadBackup(packed, "there is no such file")
    with tempfile.TemporaryDirectory(dir=to.absolute().parent, prefix=".restore-") as folder:
        book = _unpack(packed, Path(folder) / "book", packed)
        damages = check(book).damages
        book.close()
        if damages:
            raise BadBackup(packed, f"{damages[0].what} ({damages[0].where})")
        if book.files.exists():
            book.files.replace(files)
        Path(folder, "book").replace(to)
    return open_any(str(to))


def upgrade_with_copy(book: Book) -> Path | None:
    """Copy an SQLite book beside itself, then upgrade it; give where the copy lies."""
    copy = None
    if book.path is not None:
        stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
        copy = book.path.with_name(f"{book.path.name}.before-upgrade-{stamp}")
        copy_database(book, copy)
    upgrade_book(book)
    return copy
