"""The folder of kept files: each lies under its own SHA-256, its bytes never touched."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from recondition.book.errors import shown
from recondition.errors import Refused

SIZE_MAX_BYTES = 100 * 1024 * 1024
PDF_END_BYTES = 2048

_SIGNATURES = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"%PDF-", "application/pdf"),
)


class FileNotKept(Refused):
    """A file that cannot be kept with the book."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong with it."""
        super().__init__(
            f"the file {shown_name(path)} cannot be kept: {why}",
            todo="Give a JPEG, PNG, PDF or plain text file of at most 100 MB.",
        )


class FolderNotWritable(Refused):
    """The folder of kept files cannot take another one: rights, a full disk, no folder."""

    def __init__(self, folder: Path, why: str) -> None:
        """Name the folder and what the system said."""
        super().__init__(
            f"the folder of kept files {folder} cannot be written: {why}",
            todo="Nothing was written, in the book neither. Check the rights and the free space "
            "there; RECONDITION_FILES names another folder.",
        )


class FolderNotNamed(Refused):
    """Documents of a book on a server, and no folder that is the same for everybody."""

    exit_status = 2

    def __init__(self, location: str, folder: Path) -> None:
        """Name the book and the folder that would be another one in each place."""
        super().__init__(
            f"where the documents of {shown(location)} lie is not said: {folder} is another folder "
            "wherever one stands",
            todo="Nothing was written. Set RECONDITION_FILES to a whole path, the same for "
            "everybody: export RECONDITION_FILES=/srv/shop-files",
        )


class FolderGone(Refused):
    """The folder that was named for a book's documents is not there, and it has documents."""

    def __init__(self, folder: Path) -> None:
        """Name the folder."""
        super().__init__(
            f"the folder of kept files {folder} is not there, and the book has documents already",
            todo="Nothing was written. Check RECONDITION_FILES, and whether the disk is there that "
            "they lie on. Only where they are lost for good, make the folder anew.",
        )


@dataclass(frozen=True, slots=True)
class Incoming:
    """A file about to be kept: its bytes, their SHA-256 and what they are."""

    content: bytes
    sha256: str
    media_type: str


def shown_name(path: Path) -> str:
    """Write a file's name so that no sign in it can act on a terminal."""
    return "".join(sign if sign.isprintable() else f"[U+{ord(sign):04X}]" for sign in path.name)


def read_incoming(path: Path, *, picture: bool = False) -> Incoming:
    """Read a file that a document names; a ``picture`` must be one. Raises FileNotKept."""
    content = _read(path)
    media_type = _media_type(path, content)
    if picture and not media_type.startswith("image/"):
        raise FileNotKept(path, "it is no JPEG or PNG picture")
    if media_type.startswith("image/"):
        from recondition.book.pictures import fault_of  # noqa: PLC0415 - loads Pillow

        fault = fault_of(content)
        if fault:
            raise FileNotKept(path, fault)
    if media_type == "application/pdf" and b"%%EOF" not in content[-PDF_END_BYTES:]:
        raise FileNotKept(path, "the PDF is cut short")
    return Incoming(content, hashlib.sha256(content).hexdigest(), media_type)


def _read(path: Path) -> bytes:
    """Read an ordinary file of a size that is kept; a link or a device is none."""
    try:
        found = path.lstat()
        if not stat.S_ISREG(found.st_mode):
            raise FileNotKept(path, "it is no ordinary file but a link, a folder or a device")
        if found.st_size > SIZE_MAX_BYTES:
            raise FileNotKept(path, f"it has {found.st_size:,} bytes")
        content = path.read_bytes()
    except OSError as error:
        raise FileNotKept(path, error.strerror or "it cannot be read") from error
    if not content:
        raise FileNotKept(path, "it is empty")
    return content


def known_type(start: bytes) -> str:
    """Tell what a picture or PDF is by its first bytes; '' for anything else."""
    return next((kind for signs, kind in _SIGNATURES if start.startswith(signs)), "")


def _media_type(path: Path, content: bytes) -> str:
    """Tell what a file is by its first bytes, never by its name."""
    known = known_type(content)
    if known:
        return known
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        raise FileNotKept(path, "its kind is not known here") from None
    if "\0" in text:
        raise FileNotKept(path, "its kind is not known here")
    return "text/plain"


def place_of(folder: Path, sha256: str) -> Path:
    """Name where a file of this hash lies."""
    return folder / sha256[:2] / sha256


def keep(folder: Path, incoming: Incoming) -> None:
    """Put a file in its place, whole or not at all; one that is there already stays.

    File and name are on the disk when this returns, so before the record that rests on them.
    What a killed run leaves is called ``.incoming-`` and something. Raises FolderNotWritable.
    """
    place = place_of(folder, incoming.sha256)
    try:
        if not place.exists():
            _make_folders(place.parent)
            _put(place, incoming.content)
        sync_folder(place.parent)
    except (FileExistsError, NotADirectoryError) as error:
        raise FolderNotWritable(folder, "a file lies in its place") from error
    except OSError as error:
        raise FolderNotWritable(folder, error.strerror or str(error)) from error


def _make_folders(folder: Path) -> None:
    """Make a folder with those above it, each of them on the disk."""
    if not folder.is_dir():
        _make_folders(folder.parent)
        folder.mkdir(exist_ok=True)
        sync_folder(folder.parent)


def _put(place: Path, content: bytes) -> None:
    """Write a file beside its place and move it there."""
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".incoming-")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).replace(place)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise


def sync_file(path: Path) -> None:
    """Wait until a file's content is on the disk. Raises OSError, on a full disk for instance."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disk, where the system has a way to wait."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with suppress(PermissionError):  # one may write into a folder that one may not read
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        except OSError as error:
            if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some shares know no such thing
                raise
        finally:
            os.close(handle)
