"""Where an SQLite book lies: on a network drive or not, and whether it is still there.

The write-ahead log needs memory that all processes share, so that it "does not work over a
network filesystem" (https://www.sqlite.org/wal.html, section 1).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from recondition.book.errors import BookOnNetworkShare, BookTakenAway, NoBook

MOUNTS = Path("/proc/mounts")
# Kinds of file systems whose files other machines may have open at the same time.
NETWORK_KINDS = frozenset({
    "9p", "afs", "beegfs", "ceph", "cifs", "davfs", "gpfs", "lustre", "ncpfs", "nfs", "nfs4",
    "prl_fs", "smb2", "smb3", "smbfs", "vboxsf", "vmhgfs",
})  # fmt: skip
NETWORK_FUSE = re.compile(
    r"fuse\.(ceph|davfs|gluster|gvfs|rclone|s3|smb|sshfs|vmhgfs|curlftpfs|moosefs|seaweed)"
)
# What SQLite keeps beside a book while it is open, or where it was not closed.
BESIDE = ("-wal", "-shm", "-journal")
Identity = tuple[int, int]


def refuse_network_drive(location: str, path: Path) -> None:
    """Refuse a book on a drive that other machines share. Raises BookOnNetworkShare.

    Where the system does not say what is mounted, only Windows' own names tell.
    """
    if re.match(r"(\\\\|//)[^\\/?.]", str(path)):
        raise BookOnNetworkShare(location, "a path that begins with a server's name")
    with suppress(OSError):
        folder = path.resolve().parent  # where a link leads to
        kind = _kind(MOUNTS, folder, folder.stat().st_dev)
        if is_network(kind):
            raise BookOnNetworkShare(location, kind)


@lru_cache(maxsize=64)
def _kind(mounts: Path, folder: Path, _device: int) -> str:
    """Give the kind of file system of a folder; looked up once, while it is on one device."""
    return kind_of(mounts.read_text(encoding="utf-8", errors="surrogateescape"), folder.resolve())


def kind_of(mounts: str, path: Path) -> str:
    """Give the kind of file system that an absolute path lies on, "" where none is known.

    ``mounts`` is the text of /proc/mounts (man 5 proc_mounts, fstab): a later mount lies over an
    earlier one, and blanks in a place are written as octal numbers.
    """
    found, longest = "", -1
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:  # noqa: PLR2004 - device, place and kind
            continue
        place = Path(_unescaped(fields[1]))
        if len(place.parts) >= longest and path.is_relative_to(place):
            found, longest = fields[2], len(place.parts)
    return found


def _unescaped(field: str) -> str:
    """Read the signs that stand as octal numbers in a field of the mounts."""
    return re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), field)


def is_network(kind: str) -> bool:
    """Tell whether files of this kind of file system may be open on several machines."""
    return kind in NETWORK_KINDS or NETWORK_FUSE.match(kind) is not None


def identity_of(path: Path) -> Identity | None:
    """Give what tells the file at a path from another that may lie there later."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def refuse_taken_away(location: str, path: Path, opened: Identity | None) -> None:
    """Refuse a book whose file is no longer the one that was opened. Raises BookTakenAway.

    What was just written then went into a file that nobody finds. A new book has no identity
    before.
    """
    if opened is not None and identity_of(path) != opened:
        raise BookTakenAway(location)


class Held:
    """Which file a book's connection has open."""

    def __init__(self, opened: Identity | None) -> None:
        """Take the file that lies there before the connection is made; None for no file."""
        self.opened = opened

    def on(self, info: dict[Any, Any]) -> None:
        """Note it with a connection, or take from one that was kept what it has open."""
        self.opened = info.setdefault("opened", self.opened)


@contextmanager
def held(location: str, path: Path | None, *, new: bool = False) -> Iterator[Held]:
    """Hold that a book that is written lies on a disk of this machine, and stays there.

    Of a ``new`` one nothing is left where making it fails. None is the path of a book on a
    server. Raises BookOnNetworkShare, NoBook; BookTakenAway when all is done.
    """
    if path is None:
        yield Held(None)
        return
    found = Held(identity_of(path))
    if found.opened is None and not new:
        raise NoBook(location)
    refuse_network_drive(location, path)
    try:
        yield found
    except BaseException:
        if found.opened is None:
            for part in ("", *BESIDE):
                Path(f"{path}{part}").unlink(missing_ok=True)
        raise
    refuse_taken_away(location, path, found.opened)
