"""Backup and restore of a book on either engine: one file with the book, its files, its heads.

A backup is made while others write, encrypted if asked, unpacked and checked after writing, and
appears whole or not at all. Whichever engine it was made on, it is restored on either. Restoring
never overwrites anything: an existing book is set aside first, and only if that was asked for.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from recondition.book.aside import NotSetAside, set_aside, take_place
from recondition.book.copying import (
    copy_database,
    folders_of,
    lay_out,
    not_copied,
    place_for,
    refuse_taken,
)
from recondition.book.engine import Book, files_of, open_any, path_of, upgrade_book
from recondition.book.errors import BookExists, NotABook, shown
from recondition.book.moving import OWNER_ONLY, join, sha256_of, take_back
from recondition.book.packing import BadBackup, LaidOut, hold_whole, pack, unpack
from recondition.book.sealing import Ask, BackupLocked, is_sealed, passphrase_given, seal, unseal
from recondition.book.workplace import appear, workplace
from recondition.errors import Refused

__all__ = ["DamagedNotBackedUp", "NoBackup", "backup", "copy_beside", "copy_database", "opened",
           "restore", "restore_instead", "upgrade_with_copy"]  # fmt: skip


class NoBackup(Refused):
    """There is no backup at the place named."""

    exit_status = 2

    def __init__(self, path: Path) -> None:
        """Name the place."""
        super().__init__(f"there is no backup at {path}", todo="Name the file of a backup.")


class DamagedNotBackedUp(Refused):
    """A book that is damaged was to be backed up."""

    exit_status = 3

    def __init__(self, location: str, why: str) -> None:
        """Name the book and what is wrong with it."""
        super().__init__(
            f"the book {shown(location)} is damaged: {why}",
            todo="No backup was made. Run 'recondition check'.",
        )


def backup(book: Book, to: Path, passphrase: str | None = None) -> int:
    """Write a backup, under a passphrase where one is given; give how many files it holds.

    It can be read by its owner alone. Raises BookExists, NotCopied, KeptFileMissing,
    DamagedNotBackedUp, BookDamaged, CopyDiffers, BadBackup, NoRoom; nothing is left then. One
    under a passphrase is made beside the book, and lies nowhere else before it is encrypted.
    """
    if to.exists():
        raise BookExists(str(to))
    at = to.absolute().parent
    with not_copied(to), workplace(at, "backup") as beside:
        if passphrase is None:
            packed, count = _packed(book, to, None, beside)
            appear(packed, to)
            return count
        with workplace(_at_home(book), "backup") as work:  # what can be read stays here
            packed, count = _packed(book, to, passphrase, work)
            brought = beside / "sealed"
            brought.touch(OWNER_ONLY)
            shutil.copyfile(packed, brought)
            if sha256_of(brought) != sha256_of(packed):
                raise BadBackup(to, "it is not what was written")
            appear(brought, to)
    return count


def _packed(book: Book, to: Path, passphrase: str | None, work: Path) -> tuple[Path, int]:
    """Make and check a backup in a folder to work in; give it, and how many files it holds."""
    database, packed = work / "copy", work / "packed"
    copy_database(book, database, to)
    try:
        count = pack(database, folders_of(book), packed, book.now())
    except NotABook as error:
        raise DamagedNotBackedUp(book.location, error.what) from error
    database.unlink()
    if passphrase is not None:
        plain, packed = packed, work / "sealed"
        seal(plain, packed, passphrase)
        plain.unlink()
    with opened(packed, work, lambda: passphrase, to) as laid:
        try:
            hold_whole(laid, to)
        except BadBackup as error:
            raise DamagedNotBackedUp(book.location, error.why) from error
    packed.chmod(OWNER_ONLY)
    return packed, count


def _at_home(book: Book) -> Path:
    """Give the folder of a book, where it may be read anyway; else that for temporary files."""
    home = (book.path or book.files).absolute().parent
    own = book.path is not None or book.files.is_absolute()
    return home if own and os.access(home, os.W_OK) else Path(tempfile.gettempdir())


@contextmanager
def opened(packed: Path, work: Path, ask: Ask, name: Path) -> Iterator[LaidOut]:
    """Decrypt a backup where it has to be, and lay it out in a new folder inside ``work``.

    ``ask`` gives the passphrase. Raises BackupLocked, BadBackup, NoRoom, OSError.
    """
    if is_sealed(packed):
        passphrase = ask()
        if not passphrase:
            raise BackupLocked(name, given=False)
        plain = work / "plain"
        unseal(packed, plain, passphrase, name)
        packed = plain
    folder = work / "laid out"
    folder.mkdir()
    laid = unpack(packed, folder, name)
    try:
        yield laid
    finally:
        laid.book.close()


def restore(packed: Path, to: Path | str, ask: Ask = passphrase_given) -> Book:
    """Lay a backup out as a new book, at a path or in an empty PostgreSQL database.

    The book appears at its place only after the check; an existing one is never touched. Its
    files join those that lie there. Raises NoBackup, BookExists, NoFolder, BadBackup,
    BackupLocked, NoRoom, NotCopied, CopyDiffers.
    """
    location = str(to)
    refuse_taken(location, " With --replace the book that lies there is set aside.")
    with _checked(packed, location, ask) as (laid, work):
        _appear(laid, location, work)
    return open_any(location)


def restore_instead(
    packed: Path, to: Path | str, ask: Ask = passphrase_given
) -> tuple[Book, Path | None]:
    """Lay a backup out in the place of a book, which is set aside; give also where that lies now.

    The old book is not touched before the backup was checked. None where there was no book.
    Raises what ``restore`` raises, NotSetAside, BookInUse.
    """
    location = str(to)
    path = path_of(location)
    if path is None:
        raise NotSetAside
    if not path.is_file():
        return restore(packed, to, ask), None
    with _checked(packed, location, ask) as (laid, work), set_aside(path) as aside:
        _appear(laid, location, work, aside)
    return open_any(location), aside


@contextmanager
def _checked(packed: Path, location: str, ask: Ask) -> Iterator[tuple[LaidOut, Path]]:
    """Give a backup laid out near the place it is for and found whole, and a folder to work in."""
    if not packed.is_file():
        raise NoBackup(packed)
    with (
        not_copied(location),
        workplace(place_for(location), "restore") as work,
        opened(packed, work, ask, packed) as laid,
    ):
        hold_whole(laid, packed)
        yield laid, work


def _appear(laid: LaidOut, location: str, work: Path, aside: Path | None = None) -> None:
    """Put a book that was laid out and checked in its place, from which one was set aside."""
    if path_of(location) is None:
        with laid.book.reading() as source:
            lay_out(source, laid.book, location, work)
        return
    laid.book.close()
    placed = join(laid.book.files, files_of(location))
    made, to = Path(laid.book.location), Path(location)
    try:
        if aside is None:
            appear(made, to)
        else:
            take_place(made, to, aside)
    except BaseException:
        take_back(placed)
        raise


def upgrade_with_copy(book: Book) -> Path:
    """Copy a book beside itself, then bring it to the newest schema; give where the copy lies.

    Raises NotCopied, CopyDiffers; the book is as it was then.
    """
    copy = copy_beside(book, "upgrade")
    upgrade_book(book)
    return copy


def copy_beside(book: Book, before: str) -> Path:
    """Copy a book as it is into an SQLite file beside it; give where that lies.

    A PostgreSQL book is copied beside its folder of files. ``before`` is what is to be done to
    the book; the kept files stay where they are. Raises NotCopied, CopyDiffers.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S.%fZ")
    beside = book.path or book.files
    copy = beside.with_name(f"{beside.name}.before-{before}-{stamp}")
    with not_copied(copy):
        copy.absolute().parent.mkdir(parents=True, exist_ok=True)
        with workplace(copy.absolute().parent, "copy") as work:
            copy_database(book, work / "book", copy)
            if book.path is not None:
                shutil.copymode(book.path, work / "book")
            appear(work / "book", copy)
    return copy
