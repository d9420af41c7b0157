"""What a backup is made of: a zip of the book, its chain heads, its kept files and its moment.

    book.sqlite     the whole book, whichever engine it lies on
    heads.json      subject, number of records and last hash of each chain
    made.json       format, moment and schema
    files/<hash>    each kept file under its SHA-256

Whoever unpacks one trusts nothing in it: names are compared with these, no name becomes a path,
sizes are held against the free space before anything is written, and checksums as it is read.
"""

from __future__ import annotations

import errno
import json
import shutil
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from recondition.book import reading, schema
from recondition.book.archives import open_zip
from recondition.book.check import check
from recondition.book.copying import hold_files
from recondition.book.damage import Examined
from recondition.book.engine import Book, named_book, open_any, upgrade_book, version_of
from recondition.book.errors import NotABook
from recondition.book.files import place_of
from recondition.book.moving import OWNER_ONLY, found_in
from recondition.book.visits import end_visits
from recondition.errors import Refused
from recondition.ledger.chain import Head

BOOK, HEADS, MADE, FILES = "book.sqlite", "heads.json", "made.json", "files/"
FORMAT = "1"
# Some 200,000 heads: a head for each vehicle and product, of about 120 bytes.
SMALL_MAX_BYTES = 24 * 1024 * 1024
MEMBERS_MAX = 1_000_000
_HASH_SIGNS = 64
_ENCRYPTED = 0x1
# What the library raises on a zip that is damaged or made to harm.
BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError,
           struct.error, ValueError, OverflowError)  # fmt: skip


class BadBackup(Refused):
    """A file that is not a whole backup."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong with it."""
        super().__init__(f"{path} is not a whole backup: {why}", todo="Take another backup file.")
        self.why = why


class NoRoom(Refused):
    """A backup that holds more than there is room for where it would be laid out."""

    def __init__(self, path: Path, needed: int, free: int) -> None:
        """Name the backup and both sizes."""
        super().__init__(
            f"{path} holds {needed:,} bytes, and where it would be laid out {free:,} are free",
            todo="Nothing was written. Make room, or take another disk. Where the shop cannot have "
            "that much, the file was tampered with: take another backup.",
        )


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A backup laid out in a folder: the book, and the moment and schema it was made at.

    The moment is empty where the backup does not say.
    """

    book: Book
    made_at: str
    schema: str


def pack(database: Path, folders: Sequence[Path], to: Path, moment: datetime) -> int:
    """Pack an SQLite book and its kept files; give how many files.

    ``folders`` are those the files may lie in. Raises KeptFileMissing, OSError.
    """
    copied = open_any(str(database))
    made = {"format": FORMAT, "made_at": moment.isoformat(), "schema": version_of(copied)}
    with copied.reading() as conn:
        heads = [[head.subject, head.count, head.hash] for head in reading.heads(conn)]
        hashes = hold_files(conn, folders)
    copied.close()
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as archive:
        archive.write(database, BOOK)
        archive.writestr(HEADS, json.dumps(heads))
        archive.writestr(MADE, json.dumps(made))
        for sha256 in hashes:  # pictures and PDF are compressed already
            archive.write(found_in(folders, sha256), FILES + sha256, zipfile.ZIP_STORED)
    return len(hashes)


def unpack(packed: Path, work: Path, name: Path) -> LaidOut:
    """Lay a backup out in an empty folder; it is yet to be checked.

    Its files go beside it wherever the open book's files lie, so that nothing but the backup is
    looked at. A backup of an older schema is brought to the newest one. ``name`` is what is said
    of it. Raises BadBackup, NoRoom, OSError.
    """
    with broken(name), packed.open("rb") as stream, open_zip(stream, MEMBERS_MAX) as archive:
        members = archive.infolist()
        for why in _faults(members):
            raise BadBackup(name, why)
        needed, free = sum(info.file_size for info in members), shutil.disk_usage(work).free
        if needed > free:
            raise NoRoom(name, needed, free)
        book = named_book(str(work / "book"), work / "book.files")
        _extract(archive, BOOK, work / "book")
        for info in members:
            if info.filename.startswith(FILES):
                _extract(archive, info.filename, place_of(book.files, info.filename[len(FILES) :]))
        heads = heads_noted(archive) or []
        made_at = _made_at(archive)
    return _readable(book, heads, made_at, name)


@contextmanager
def broken(name: Path) -> Iterator[None]:
    """Say of a file that it is no whole backup where a library cannot read it.

    What the disk says while something is written stays an OSError. Raises BadBackup.
    """
    try:
        yield
    except BROKEN as error:
        raise BadBackup(name, str(error) or "its contents cannot be read") from error
    except OSError as error:
        if error.errno not in (None, errno.EINVAL):  # a place in the file that cannot be
            raise
        raise BadBackup(name, "its contents cannot be read") from error


def _faults(members: Sequence[zipfile.ZipInfo]) -> Iterator[str]:
    """Say what no backup of ours would hold."""
    names = [info.filename for info in members]
    if BOOK not in names:
        yield "there is no book in it"
    if len(set(names)) < len(names):
        yield "a file is in it twice"
    for info in members:
        if info.filename not in (BOOK, HEADS, MADE) and not _is_kept(info.filename):
            yield f"a file in it is called {info.filename!r}"
        if stat.S_ISLNK(info.external_attr >> 16):
            yield f"{info.filename} in it is a link"
        if info.flag_bits & _ENCRYPTED:
            yield f"{info.filename} in it has a password"
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            yield f"{info.filename} in it is compressed in a way that is not known here"
        if info.filename in (HEADS, MADE) and info.file_size > SMALL_MAX_BYTES:
            yield f"{info.filename} in it has {info.file_size:,} bytes"


def _is_kept(name: str) -> bool:
    """Tell whether a name is that of a kept file: a hash and nothing else."""
    sha256 = name.removeprefix(FILES)
    return (
        name.startswith(FILES)
        and len(sha256) == _HASH_SIGNS
        and all(sign in "0123456789abcdef" for sign in sha256)
    )


def _extract(archive: zipfile.ZipFile, member: str, place: Path) -> None:
    """Write one member, never more than its declared size; the library compares its checksum."""
    place.parent.mkdir(parents=True, exist_ok=True)
    place.touch(OWNER_ONLY)
    with archive.open(member) as source, place.open("wb") as target:
        shutil.copyfileobj(source, target, 1024 * 1024)


def heads_noted(archive: zipfile.ZipFile) -> list[Head] | None:
    """Read the heads beside the book in a backup; None where there are none. Raises ValueError."""
    match _small(archive, HEADS):
        case None:
            return None
        case [*rows]:
            return [_head(row) for row in rows]
    message = "its list of heads is none"
    raise ValueError(message)


def _head(row: Any) -> Head:  # noqa: ANN401 - JSON holds anything
    """Read one head of a list: whose chain it is, how many records, the hash of the last."""
    match row:
        case [str(subject), int(count), str(last)] if not isinstance(count, bool):
            return Head(subject, count, last)
    message = "its list of heads holds something else"
    raise ValueError(message)


def _made_at(archive: zipfile.ZipFile) -> str:
    """Read when a backup was made; '' where it does not say."""
    made = _small(archive, MADE)
    return str(made.get("made_at", "")) if isinstance(made, dict) else ""


def _small(archive: zipfile.ZipFile, member: str) -> Any:  # noqa: ANN401 - JSON holds anything
    """Read a small member; None where it is not there, as in the earliest backups."""
    if member not in archive.namelist():
        return None
    size = archive.getinfo(member).file_size
    if size > SMALL_MAX_BYTES:
        message = f"{member} in it has {size:,} bytes"
        raise ValueError(message)
    try:
        return json.loads(archive.read(member))
    except RecursionError as error:
        message = f"{member} in it is nested too deeply"
        raise ValueError(message) from error


def _readable(book: Book, noted: list[Head], made_at: str, name: Path) -> LaidOut:
    """Open what was laid out, bring it to the newest schema and compare its heads.

    Nobody is signed in to it, whatever its sessions were when it was made.
    """
    try:
        found = version_of(book)
        if found != schema.NEWEST:
            upgrade_book(book)
        with book.reading() as conn:
            heads = reading.heads(conn)
        with book.writing() as conn:
            end_visits(conn)
    except Refused as error:
        raise BadBackup(name, error.what) from error
    if noted and noted != heads:
        raise BadBackup(name, "its chain heads are not those of the book in it")
    return LaidOut(book, made_at, found)


def looked_through(laid: LaidOut, name: Path) -> Examined:
    """Check a backup that was laid out. Raises BadBackup where it cannot even be read."""
    try:
        return check(laid.book)
    except NotABook as error:
        raise BadBackup(name, error.what) from error


def hold_whole(laid: LaidOut, name: Path) -> None:
    """Hold that a backup that was laid out has no damage. Raises BadBackup."""
    for damage in looked_through(laid, name).damages:
        laid.book.close()
        raise BadBackup(name, f"{damage.what} ({damage.where})")
