"""The folder of kept files: each lies under its own SHA-256, its bytes never touched."""

from __future__ import annotations

import hashlib
import os
import stat
import tempfile
from dataclasses import dataclass
from pathlib import Path

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


def _media_type(path: Path, content: bytes) -> str:
    """Tell what a file is by its first bytes, never by its name."""
    for start, media_type in _SIGNATURES:
        if content.startswith(start):
            return media_type
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
    """Put a file in its place, whole or not at all; one that is there already stays."""
    place = place_of(folder, incoming.sha256)
    if place.exists():
        return
    place.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".incoming-")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(incoming.content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).replace(place)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
