"""Files that appear whole or not at all."""

from __future__ import annotations

import errno
import os
import re
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from recondition.book.files import sync_file, sync_folder
from recondition.errors import Refused


class FileNotWritten(Refused):
    """A file could not be written where it was wanted."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what the system said."""
        super().__init__(
            f"{path} cannot be written: {why}",
            todo="Nothing was written. Choose another place, or check rights and space.",
        )
        self.path, self.why = path, why


@contextmanager
def appearing(path: Path) -> Iterator[Path]:
    """Give a file beside its place, to be written; it is moved there when all went well.

    Folders are made. It reaches the disk before it is moved, and its new name afterwards. What a
    killed run leaves is called ``.writing-`` and something, and may be deleted. Raises
    FileNotWritten; where anything else is raised nothing is left either.
    """
    made = path
    try:
        made = _beside(path)
        try:
            yield made
            sync_file(made)
            made.replace(path)
            sync_folder(path.parent)
        finally:
            made.unlink(missing_ok=True)
    except FileNotWritten as error:
        if error.path == made:  # its own name says nothing to anybody
            raise FileNotWritten(path, error.why) from error
        raise
    except Exception as error:
        why = _why(error)
        if why is None:
            raise
        raise FileNotWritten(path, why) from error


def _beside(path: Path) -> Path:
    """Make an empty file beside a place, and the folders above it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
    os.fchmod(handle, 0o644)
    os.close(handle)
    return Path(name)


def _why(error: Exception) -> str | None:
    """Say why the system did not write, None where it was something else."""
    if isinstance(error, OSError):
        return error.strerror or str(error)
    named = re.fullmatch(r"IO_(E[A-Z]+)", str(error))  # as the library behind worksheets says it
    return os.strerror(getattr(errno, named[1])) if named and hasattr(errno, named[1]) else None


def write_with(path: Path, write: Callable[[Path], object]) -> None:
    """Let ``write`` make a file beside its place and move it there; folders are made.

    Raises FileNotWritten; where ``write`` raises anything else nothing is left either.
    """
    with appearing(path) as made:
        write(made)


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file beside its place and move it there; folders are made. Raises FileNotWritten."""
    write_with(path, lambda made: made.write_bytes(content))


def write_text(path: Path, content: str) -> None:
    """Write a text file in UTF-8. Raises FileNotWritten."""
    write_bytes(path, content.encode())
