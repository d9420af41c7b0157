"""A whole book from one place to another, on SQLite and on PostgreSQL.

The original is read in one consistent state while others write. The copy appears whole or not
at all, after every row, every record of every chain and every kept file was compared.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, exc, inspect, select

from recondition.book import reading, schema
from recondition.book.again import NotKnownWhetherKept
from recondition.book.check import check
from recondition.book.engine import (
    Book,
    files_of,
    hold_named,
    named_book,
    open_any,
    path_of,
)
from recondition.book.errors import (
    BookDamaged,
    BookExists,
    NoFolder,
    ServerSilent,
    shown,
    without_password,
)
from recondition.book.files import place_of
from recondition.book.moving import OWNER_ONLY, gather, join, take_back
from recondition.book.places import BESIDE, refuse_network_drive
from recondition.book.rows import CopyDiffers, copy_rows, follow
from recondition.book.tables import entity, record, stored_file
from recondition.book.tables_logins import PASSING
from recondition.book.translating import translated
from recondition.book.workplace import appear, workplace
from recondition.errors import Refused

_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


class KeptFileMissing(Refused):
    """A kept file of a book that was to be copied or backed up is not there."""

    exit_status = 3

    def __init__(self, kind: str, ref: str, folders: Sequence[Path]) -> None:
        """Name the entry that it belongs to, and where it was looked for."""
        super().__init__(
            f"the file of the {kind} {ref} is missing; it was looked for in "
            f"{' and '.join(dict.fromkeys(map(str, folders)))}",
            todo="Nothing was made. Put it back from a backup; check RECONDITION_FILES. Only if it "
            f"is lost for good: recondition person erase-text {kind} {ref} file --ground '...'",
        )


class NotCopied(Refused):
    """A backup or copy that could not be made or laid out."""

    def __init__(self, to: Path | str, why: Exception) -> None:
        """Name the file and what the system said, without names of its own temporary files."""
        said = getattr(why, "strerror", None) or str(getattr(why, "orig", why)).splitlines()[0]
        said = without_password(str(to), said)
        super().__init__(
            f"{shown(str(to))} could not be written: {said}",
            todo="The book was left as it is. Check the folder and the free space; where a kept "
            "file of the book was changed, 'recondition check' names it.",
        )


@dataclass(frozen=True, slots=True)
class Compared:
    """How much was compared between a book and its copy, and at which schema they are."""

    records: int
    chains: int
    files: int
    schema: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unfinished(Book):
    """A book inside the transaction that fills it: whoever reads it sees what is there so far."""

    conn: Connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give the connection of that transaction."""
        self.conn.info["files"] = self.files
        yield self.conn


@contextmanager
def not_copied(to: Path | str) -> Iterator[None]:
    """Say in plain words what a file system or a database would not take. Raises NotCopied."""
    try:
        yield
    except (OSError, sqlite3.Error, exc.DataError, exc.ProgrammingError) as error:
        raise NotCopied(to, error) from error


@contextmanager
def filling(book: Book) -> Iterator[Connection]:
    """Give the one transaction in which an empty place becomes a book.

    Raises BookExists where a database holds anything already.
    """
    with translated(book.location), book.engine.connect() as conn, conn.begin():
        if inspect(conn).get_table_names():
            raise BookExists(book.location)
        yield conn


def copy_database(book: Book, to: Path, name: Path | None = None) -> None:
    """Copy a book of any schema into a new SQLite file while others may write.

    SQLite's own online copy, or row by row from PostgreSQL; without sessions and the like. What
    is half made stays there: ``to`` lies in a folder that goes, and a refusal speaks of ``name``.
    Raises NotCopied, CopyDiffers.
    """
    with not_copied(name or to):
        to.touch(OWNER_ONLY)
        if book.path is None:
            copy = named_book(str(to), book.files)
            with book.reading() as source, filling(copy) as target:
                fill(source, target, book.location)
            copy.close()
            return
        try:
            _copy_pages(book.path, to)
        except sqlite3.DatabaseError as error:
            if error.sqlite_errorcode & 0xFF in _DAMAGED:
                raise BookDamaged(book.location, str(error)) from error
            raise


def _copy_pages(path: Path, to: Path) -> None:
    """Copy an SQLite book page by page into a new file."""
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(to)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE")
        there = {name for (name,) in target.execute("SELECT name FROM sqlite_master")}
        for table in sorted(PASSING & there):  # nobody is signed in to a copy
            target.execute(f'DELETE FROM "{table}"')  # noqa: S608 - a name of ours
        target.commit()


def fill(source: Connection, target: Connection, location: str) -> tuple[str, int, int]:
    """Lay the book at ``location`` out in an empty database, at its own schema.

    Gives the schema, and how many records and chains were compared. Raises CopyDiffers.
    """
    revision = str(schema.found(source))
    schema.upgrade(target, revision)
    copy_rows(source, target, location)
    return revision, *follow(target, reading.heads(source), location)


def copy_book(location: str, to: str) -> Compared:
    """Copy a book, with its kept files, to a free place: a path or a PostgreSQL URL.

    An older book is copied as it is. Raises NoBook, NotABook, BookExists, NoFolder, CopyDiffers,
    NotCopied; nothing is left then.
    """
    refuse_taken(to)
    book = open_any(location)
    with not_copied(to), workplace(place_for(to), "copy") as work, book.reading() as source:
        compared = lay_out(source, book, to, work)
    book.close()
    return compared


def hold_files(conn: Connection, folders: Sequence[Path]) -> list[str]:
    """Hold that every kept file of a book is there; give their hashes. Raises KeptFileMissing."""
    hashes = kept_hashes(conn)
    for sha256 in hashes:
        if not any(place_of(folder, sha256).is_file() for folder in folders):
            whose = (
                select(entity.c.kind, entity.c.ref)
                .join(record, record.c.entity == entity.c.id)
                .join(stored_file, stored_file.c.record_id == record.c.id)
                .where(stored_file.c.sha256 == sha256)
            )
            kind, ref = conn.execute(whose).first() or ("document", sha256)
            raise KeptFileMissing(kind, ref, folders)
    return hashes


def refuse_taken(to: str, also: str = "") -> None:
    """Hold that a path is free and its folder there; ``also`` is what can be done else.

    What SQLite left of an earlier book beside the path would be read as a part of the new one.
    Raises BookExists, NoFolder, BookOnNetworkShare.
    """
    path = path_of(to)
    if path is None:
        return
    refuse_network_drive(to, path)
    for name in ("", *BESIDE):
        there = Path(f"{path}{name}")
        if there.exists():
            raise BookExists(str(there), "" if name else also)
    if not path.absolute().parent.is_dir():
        raise NoFolder(to)


def place_for(to: str) -> Path:
    """Give the folder to work in: beside an SQLite book, beside the files of another."""
    path = path_of(to)
    folder = (files_of(to) if path is None else path).absolute().parent
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def lay_out(source: Connection, book: Book, to: str, work: Path) -> Compared:
    """Make a copy of a book at a free place, from a transaction that reads it.

    ``work`` is an empty folder. Raises BookExists, CopyDiffers, FolderNotNamed, KeptFileMissing,
    OSError; nothing is left then. Only where a server falls silent at the very end
    (NotKnownWhetherKept) files stay: the book may have been kept.
    """
    files = files_of(to)
    hashes = hold_files(source, folders_of(book))
    if hashes:
        hold_named(to, files)
    made = named_book(to, work / "book.files")
    if made.path is not None:
        made = named_book(str(work / "book"), work / "book.files")
        (work / "book").touch(OWNER_ONLY)
    placed: list[Path] = []
    ending = False
    try:
        with filling(made) as target:
            revision, records, chains = fill(source, target, book.location)
            count = gather(hashes, folders_of(book), made.files)
            _hold_whole(made, target, revision, book.location)
            placed = join(made.files, files)
            ending = True
        made.close()
        if made.path is not None:
            appear(made.path, Path(to))
    except BaseException as error:
        if ending and isinstance(error, ServerSilent):
            raise NotKnownWhetherKept(to) from error
        take_back(placed)
        raise
    return Compared(records, chains, count, revision)


def folders_of(book: Book) -> Sequence[Path]:
    """List where the kept files of a book may lie: in its folder, else beside an SQLite book."""
    return [book.files, *([Path(f"{book.path}.files")] if book.path is not None else [])]


def kept_hashes(conn: Connection) -> list[str]:
    """List the hashes of the kept files; a book of the first schema has none."""
    if not inspect(conn).has_table(stored_file.name):
        return []
    query = select(stored_file.c.sha256).distinct().order_by(stored_file.c.sha256)
    return list(conn.execute(query).scalars())


def _hold_whole(made: Book, target: Connection, revision: str, location: str) -> None:
    """Check the copy before it is kept; of an older schema only its chains can be."""
    if revision != schema.NEWEST:
        return
    unfinished = _Unfinished(made.location, made.engine, made.files, made.now, conn=target)
    for damage in check(unfinished).damages:
        raise CopyDiffers(location, f"{damage.what} ({damage.where})")
