"""Bad surroundings for a process: small disks, disks to be read only, lost rights, no locks.

A child of the warm process leaves the mounts of all others (man 7 mount_namespaces), so that
what it mounts goes with it, and does there what is asked step by step.
"""

from __future__ import annotations

import ctypes
import os
import platform
import shutil
import struct
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.book import again, engine
from tests.faults import deeds
from tests.faults.deeds import Site
from tests.running import Ran, told

if TYPE_CHECKING:
    from multiprocessing.connection import Connection as Pipe
    from multiprocessing.context import ForkServerContext

    # The name of a function of this module, and what it is given.
    Step = tuple[Any, ...]

WAIT_SECONDS = 60.0
# Linux, uapi: linux/sched.h, linux/mount.h, linux/capability.h, linux/prctl.h, linux/seccomp.h
_NEW_USER, _NEW_MOUNTS = 0x10000000, 0x00020000
_READ_ONLY, _REMOUNT, _BIND, _RECURSIVE, _PRIVATE = 1, 32, 4096, 16384, 1 << 18
_CAPABILITIES = 0x20080522
_NO_NEW_RIGHTS, _SECCOMP, _FILTER = 38, 22, 2
_LOAD, _EQUAL, _ANSWER = 0x20, 0x15, 0x06
_REFUSE, _ALLOW = 0x00050000, 0x7FFF0000
_AND, _SET_LOCK, _SHARED = 0x54, 6, 1
_CALLS = {"x86_64": {"fcntl": 72, "mmap": 9}, "aarch64": {"fcntl": 25, "mmap": 222}}


def _ask(name: str, *given: Any) -> None:
    """Call the C library. Raises OSError."""
    library = ctypes.CDLL(None, use_errno=True)
    if getattr(library, name)(*given):
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()), name)


def _mount(kind: bytes, place: Path, flags: int, more: bytes = b"") -> None:
    _ask("mount", kind, os.fsencode(place), kind, ctypes.c_ulong(flags), more)


def leave() -> None:
    """Leave the mounts of the other processes; who is not root becomes it in a world apart."""
    user, group = os.getuid(), os.getgid()
    _ask("unshare", _NEW_MOUNTS | (_NEW_USER if user else 0))
    if user:
        Path("/proc/self/setgroups").write_text("deny", encoding="ascii")
        Path("/proc/self/uid_map").write_text(f"0 {user} 1", encoding="ascii")
        Path("/proc/self/gid_map").write_text(f"0 {group} 1", encoding="ascii")
    _mount(b"none", Path("/"), _RECURSIVE | _PRIVATE)


def disk(place: Path, size_bytes: int) -> None:
    """Put a disk of a size over a folder, with what lies in the folder on it."""
    place.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=place.parent) as beside:
        shutil.copytree(place, beside, dirs_exist_ok=True)
        _mount(b"tmpfs", place, 0, f"size={size_bytes}".encode())
        shutil.copytree(beside, place, dirs_exist_ok=True)


def fill(place: Path, but_bytes: int = 0) -> None:
    """Fill the disk of a folder, but for some bytes."""
    with (place / "ballast").open("wb", buffering=0) as stream:
        block = 1 << 16
        while block:
            try:
                stream.write(bytes(block))
            except OSError:
                block //= 2
        stream.truncate(stream.tell() - but_bytes)


def free(place: Path) -> None:
    """Take away what fills a disk."""
    (place / "ballast").unlink()


def read_only(place: Path) -> None:
    """Let the disk of a folder be read alone."""
    _ask("mount", os.fsencode(place), os.fsencode(place), None, ctypes.c_ulong(_BIND), None)
    flags = ctypes.c_ulong(_BIND | _REMOUNT | _READ_ONLY)
    _ask("mount", None, os.fsencode(place), None, flags, None)


def writable(place: Path) -> None:
    """Let it be written again."""
    _ask("umount", os.fsencode(place))


def rights(place: Path, mode: int) -> None:
    """Change what may be done with a file or folder."""
    place.chmod(mode)


def rights_of_book(book: Path, mode: int) -> None:
    """Change what may be done with a book and the files that SQLite has made beside it."""
    for path in book.parent.glob(f"{book.name}*"):
        path.chmod(mode)


def powerless() -> None:
    """Give up every power over rights that root has, so that they hold for this process too."""
    head = struct.pack("=Ii", _CAPABILITIES, 0)
    _ask("capset", head, bytes(24))


def no_locks(error: int) -> None:
    """Let each lock on a file fail with this number, as on a drive that keeps none."""
    _fail([
        (_LOAD, 0, 0, 0),  # the number of the call
        (_EQUAL, 0, 3, _CALLS[platform.machine()]["fcntl"]),
        (_LOAD, 0, 0, 24),  # its second argument, the lower half
        (_EQUAL, 0, 1, _SET_LOCK),
    ], error)  # fmt: skip


def no_shared_memory(error: int) -> None:
    """Let no memory be shared over a file, as on a drive that cannot."""
    _fail([
        (_LOAD, 0, 0, 0),
        (_EQUAL, 0, 4, _CALLS[platform.machine()]["mmap"]),
        (_LOAD, 0, 0, 40),  # its fourth argument
        (_AND, 0, 0, _SHARED),
        (_EQUAL, 0, 1, _SHARED),
    ], error)  # fmt: skip


def _fail(found: list[tuple[int, int, int, int]], error: int) -> None:
    """Let the kernel answer with an error where a program finds a call."""
    program = [*found, (_ANSWER, 0, 0, _REFUSE | error), (_ANSWER, 0, 0, _ALLOW)]
    code = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *line) for line in program))
    head = struct.pack("=HxxxxxxQ", len(program), ctypes.addressof(code))
    _ask("prctl", _NO_NEW_RIGHTS, 1, 0, 0, 0)
    _ask("prctl", _SECCOMP, _FILTER, head, 0, 0)


def set_limits(seconds: float) -> None:
    """Let nobody wait longer than this for others."""
    again.SECONDS = engine.BUSY_SECONDS = seconds  # type: ignore[assignment]


def run(*words: str) -> Ran:
    """Run a command."""
    return told(lambda: sys.exit(deeds.run(*words)))


def names(place: Path) -> Ran:
    """List what lies in a folder."""
    return Ran(0, "\n".join(sorted(path.name for path in place.iterdir())), "")


def child(steps: list[Step], site: Site, pipe: Pipe) -> None:
    """Take the steps one after another and tell what the commands among them said."""
    deeds.settle_in(site)
    leave()
    found = [globals()[name](*given) for name, *given in steps]
    pipe.send([each for each in found if isinstance(each, Ran)])


def within(context: ForkServerContext, steps: list[Step], site: Site) -> list[Ran]:
    """Take steps in a process of its own; give what each command in them said."""
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=child, args=(steps, site, theirs))
    process.start()
    theirs.close()
    try:
        assert ours.poll(WAIT_SECONDS), "the steps do not end"
        return list(ours.recv())
    finally:
        process.kill()
        process.join()
        process.close()
        ours.close()
