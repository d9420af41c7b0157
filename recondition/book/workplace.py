"""A folder of its own for what a run makes, and how what is made appears at its place.

The folder can be read by its owner alone and goes with the run. One that a killed run left is
known by its lock, which nobody holds, and goes with the next run in the same place. Folders
called ``.backup-``, ``.restore-``, ``.copy-`` or ``.rehearse-`` and something may be deleted
while no run is on.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from recondition.book.errors import BookExists
from recondition.book.files import sync_file, sync_folder

try:
    import fcntl
except ImportError:  # a system without such locks: what a killed run left stays there
    fcntl = None  # type: ignore[assignment]

_LOCK = "lock"


@contextmanager
def workplace(beside: Path, purpose: str) -> Iterator[Path]:
    """Give an empty folder in another one, for a purpose such as ``backup``. Raises OSError."""
    prefix = f".{purpose}-"
    _sweep(beside, prefix)
    with tempfile.TemporaryDirectory(dir=beside, prefix=prefix) as name:
        folder = Path(name)
        with (folder / f"{_LOCK}.new").open("w") as lock:
            _hold(lock)
            (folder / f"{_LOCK}.new").rename(folder / _LOCK)
            yield folder


def _hold(lock: IO[str]) -> bool:
    """Lock an open file for this process; tell whether it was free."""
    if fcntl is None:
        return False
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _sweep(beside: Path, prefix: str) -> None:
    """Delete the folders of killed runs: they have a lock, and nobody holds it."""
    for lock in beside.glob(f"{prefix}*/{_LOCK}"):
        try:
            with lock.open("r+") as held:
                free = _hold(held)
        except OSError:
            continue
        if free:
            shutil.rmtree(lock.parent, ignore_errors=True)


def appear(made: Path, to: Path) -> None:
    """Give a finished file its name; it and the name are on the disk when this returns.

    What lies there is never replaced: raises BookExists, or OSError.
    """
    sync_file(made)
    try:
        os.link(made, to)
    except FileExistsError as error:
        raise BookExists(str(to)) from error
    except OSError as error:  # a medium that knows no second names
        if to.exists():
            raise BookExists(str(to)) from error
        made.replace(to)
    made.unlink(missing_ok=True)
    sync_folder(to.absolute().parent)
