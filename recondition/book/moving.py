"""Bringing kept files from one folder to another: by their hash, whole, and on the disk."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path

from recondition.book.files import place_of, sync_file, sync_folder

OWNER_ONLY = 0o600


def sha256_of(path: Path) -> str:
    """Give the hash of a file's bytes, read piece by piece. Raises OSError."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def found_in(folders: Sequence[Path], sha256: str) -> Path:
    """Give where a kept file lies, in the first folder that has it. Raises FileNotFoundError."""
    for folder in folders:
        place = place_of(folder, sha256)
        if place.is_file():
            return place
    message = f"the kept file {sha256} is not there"
    raise FileNotFoundError(message)


def gather(hashes: Iterable[str], folders: Sequence[Path], to: Path) -> int:
    """Copy kept files into a new folder; give how many.

    Raises OSError where one is missing or is not what its name says.
    """
    count = 0
    for sha256 in hashes:
        place = place_of(to, sha256)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.touch(OWNER_ONLY)
        shutil.copyfile(found_in(folders, sha256), place)
        if sha256_of(place) != sha256:
            message = f"the kept file {sha256} was changed"
            raise OSError(message)
        count += 1
    return count


def join(source: Path, to: Path) -> list[Path]:
    """Move every kept file of a folder into another; give those that were not there before.

    A file there whose bytes are not those that its name says gives way to the right one. What
    was moved is on the disk when this returns. Raises OSError, and nothing was moved then.
    """
    placed: list[Path] = []
    try:
        for file in sorted(path for path in source.rglob("*") if path.is_file()):
            place = place_of(to, file.name)
            there = place.is_file()
            if there and sha256_of(place) == file.name:
                continue
            _move(file, place)
            placed += [] if there else [place]
        for folder in sorted({place.parent for place in placed}):
            sync_folder(folder)
        if placed:
            sync_folder(to)
            sync_folder(to.absolute().parent)
    except BaseException:
        take_back(placed)
        raise
    return placed


def _move(file: Path, place: Path) -> None:
    """Move one file, by way of a copy beside its place where that is another disk."""
    place.parent.mkdir(parents=True, exist_ok=True)
    sync_file(file)
    with suppress(OSError):
        file.replace(place)
        return
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".incoming-")
    os.close(handle)
    try:
        shutil.copyfile(file, name)
        sync_file(Path(name))
        Path(name).replace(place)
    finally:
        Path(name).unlink(missing_ok=True)


def take_back(placed: Iterable[Path]) -> None:
    """Delete files that were just moved, and the folders that are empty then."""
    for place in placed:
        place.unlink(missing_ok=True)
        with suppress(OSError):
            place.parent.rmdir()
            place.parent.parent.rmdir()
