"""Drives that other machines share, drives that keep no locks, books that are taken away."""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import closing
from pathlib import Path, PureWindowsPath
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import places
from recondition.book.errors import BookOnNetworkShare, BookTakenAway, NoBook
from recondition.book.places import (
    held,
    is_network,
    kind_of,
    refuse_network_drive,
)
from tests.faults.surroundings import within

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext

    from tests.faults.deeds import Site

# As such files look (man 5 fstab): a desktop, a shop with a shelf of disks, a guest system.
MOUNTS = r"""
sysfs /sys sysfs rw,nosuid,nodev,noexec,relatime 0 0
/dev/nvme0n1p2 / ext4 rw,relatime 0 0
/dev/nvme0n1p3 /srv btrfs rw,relatime,subvol=/srv 0 0
shelf:/export/shop /mnt/shop nfs4 rw,relatime,vers=4.2,proto=tcp,sec=sys 0 0
//shelf/photos /mnt/our\040photos cifs rw,relatime,vers=3.1.1,username=mr 0 0
mr@shelf:/ /mnt/shelf fuse.sshfs rw,nosuid,nodev,user_id=1000,group_id=1000 0 0
gvfsd-fuse /run/user/1000/gvfs fuse.gvfsd-fuse rw,nosuid,nodev 0 0
tmpfs /mnt/shop/local tmpfs rw 0 0
C:\134 /mnt/c 9p rw,noatime,aname=drvfs;path=C:\134;uid=1000 0 0
/dev/sdb1 /media/stick fuseblk rw,nosuid,nodev,relatime 0 0
"""
KINDS = {
    "/shops/shop.book": ("ext4", False),
    "/srv/shop.book": ("btrfs", False),
    "/mnt/shop/shop.book": ("nfs4", True),
    "/mnt/shopping/shop.book": ("ext4", False),
    "/mnt/our photos/shop.book": ("cifs", True),
    "/mnt/shelf/books/shop.book": ("fuse.sshfs", True),
    "/run/user/1000/gvfs/smb-share/shop.book": ("fuse.gvfsd-fuse", True),
    "/mnt/shop/local/shop.book": ("tmpfs", False),
    "/mnt/c/mr/shop.book": ("9p", True),
    "/media/stick/shop.book": ("fuseblk", False),
}


@pytest.mark.parametrize("path", KINDS)
def test_the_kind_of_a_drive_is_read_from_what_is_mounted(path: str) -> None:
    kind = kind_of(MOUNTS, Path(path))
    assert (kind, is_network(kind)) == KINDS[path]


def test_a_later_mount_lies_over_an_earlier_one() -> None:
    assert kind_of("a /x ext4 rw 0 0\nshelf:/ /x nfs rw 0 0\n", Path("/x/shop.book")) == "nfs"
    assert kind_of("", Path("/x/shop.book")) == ""


def test_a_book_on_a_network_drive_is_refused(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(f"shelf:/ {tmp_path} nfs4 rw 0 0\n", encoding="utf-8")
    monkeypatch.setattr(places, "MOUNTS", mounts)
    with pytest.raises(BookOnNetworkShare, match="nfs4") as refusal:
        refuse_network_drive("shop.book", tmp_path / "shop.book")
    assert "PostgreSQL" in refusal.value.todo
    monkeypatch.setattr(places, "MOUNTS", tmp_path / "no such file")
    refuse_network_drive("shop.book", tmp_path / "shop.book")


def test_a_link_does_not_hide_a_network_drive(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    far, near = tmp_path / "far", tmp_path / "near"
    far.mkdir()
    near.mkdir()
    (near / "shop.book").symlink_to(far / "shop.book")
    mounts = tmp_path / "mounts"
    mounts.write_text(f"shelf:/ {far} nfs4 rw 0 0\n", encoding="utf-8")
    monkeypatch.setattr(places, "MOUNTS", mounts)
    with pytest.raises(BookOnNetworkShare, match="nfs4"):
        refuse_network_drive("shop.book", near / "shop.book")


def test_this_machine_s_own_disk_is_no_network_drive(tmp_path: Path) -> None:
    refuse_network_drive("shop.book", tmp_path / "shop.book")


@pytest.mark.parametrize("named", [r"\\shelf\shop\shop.book", "//shelf/shop/shop.book"])
def test_a_server_s_name_before_a_path_is_refused(named: str) -> None:
    path: Any = PureWindowsPath(named)
    with pytest.raises(BookOnNetworkShare, match="server's name"):
        refuse_network_drive(named, path)


CANNOT = "files cannot be locked or shared as they must"


@pytest.mark.parametrize(
    ("lack", "error", "words"),
    [
        pytest.param("no_shared_memory", errno.ENODEV, CANNOT, marks=pytest.mark.long),
        pytest.param("no_locks", errno.EOPNOTSUPP, CANNOT, marks=pytest.mark.long),
        pytest.param("no_locks", errno.ENOSYS, CANNOT, marks=pytest.mark.long),
        # SQLite takes this one for a lock that somebody else holds.
        pytest.param("no_locks", errno.ENOLCK, "written by somebody else", marks=pytest.mark.long),
    ],
)
def test_a_drive_that_cannot_lock_or_share_is_told(
    lack: str, error: int, words: str, context: ForkServerContext, site: Site
) -> None:
    post = ("run", "post", "charge", "0007", "12.00", "towing",
            "--no-finding-because", "transport")  # fmt: skip
    (ran,) = within(context, [("set_limits", 0.1), (lack, error), post], site)
    assert ran.status == 1
    assert words in ran.err
    again, checked = within(context, [post, ("run", "check")], site)
    assert (again.status, checked.status) == (0, 0), again.err + checked.out


def test_the_log_needs_locks_and_shared_memory(tmp_path: Path) -> None:
    """SQLite's own way without locks gives no memory to share, and so no write-ahead log."""
    with closing(sqlite3.connect(f"file:{tmp_path}/b?vfs=unix-none", uri=True)) as raw:
        assert raw.execute("PRAGMA journal_mode=WAL").fetchone() != ("wal",)


def test_a_book_that_is_taken_away_while_it_is_written_is_told(tmp_path: Path) -> None:
    path, other = tmp_path / "shop.book", tmp_path / "other"
    for take in (lambda: other.replace(path), path.unlink):
        path.write_bytes(b"one")
        other.write_bytes(b"two")
        with held("shop.book", path):
            pass
        with pytest.raises(BookTakenAway), held("shop.book", path):
            take()
    path.write_bytes(b"one")
    kept: dict[str, Any] = {}
    with held("shop.book", path) as found:
        found.on(kept)
    other.write_bytes(b"two")
    other.replace(path)  # between two pieces of work on a connection that is kept
    with pytest.raises(BookTakenAway), held("shop.book", path) as found:
        found.on(kept)
    path.unlink()
    with pytest.raises(NoBook), held("shop.book", path):
        path.write_bytes(b"nobody may make a book in passing")
    assert not path.exists()


def test_a_new_book_leaves_nothing_where_making_it_fails(tmp_path: Path) -> None:
    path = tmp_path / "shop.book"

    def half() -> None:
        path.with_name("shop.book-wal").write_bytes(b"half")
        path.write_bytes(b"half of it")
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with pytest.raises(OSError, match="No space"), held("shop.book", path, new=True):
        half()
    assert list(tmp_path.iterdir()) == []
    with held("shop.book", path, new=True):
        path.write_bytes(b"all of it")
    with held("a database on a server", None):
        pass
